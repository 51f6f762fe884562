"""Histories: the record book of a site, and what was told of one batch."""

from collections.abc import Iterable
from datetime import timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_safe

from api.pages.parts import Told
from api.pages.sentences import sentence
from api.pages.shell import here, page, show
from api.pages.words import plain
from protocols.clocks import elapsed_text, local_text
from stock import access
from stock.queries.batch_seen import batch_head
from stock.queries.contacts import told_where_it_was
from stock.queries.told import Entry, Page, entries_about, entries_of_log

LATE = timedelta(minutes=5)
LONGEST_POSITION = 18  # digits: more is no position of any record book


@page
@require_safe
def record_book(request: HttpRequest, site: UUID) -> HttpResponse:
    """The record book of the site: every entry, newest first."""
    at = here(request, site)
    found = entries_of_log(site, before=_before(request))
    late = reverse("late-entries", args=[site]) if at.may(access.READERS) else ""
    context = {"lines": lines(found, at.zone), "late": late, **_pager(request, found)}
    return show(request, at, "record_book", context, current="record-book")


@page
@require_safe
def batch_history(request: HttpRequest, uid: UUID) -> HttpResponse:
    """What was told of a batch, newest first."""
    batch = batch_head(uid)
    at = here(request, batch.site_id)
    told = [uid, *told_where_it_was(uid)]
    found = entries_about(at.site.uid, told, before=_before(request))
    context = {
        "batch": batch,
        "touched": reverse("touched", args=[at.site.uid]),
        "lines": lines(found, at.zone),
        **_pager(request, found),
    }
    return show(request, at, "batch_history", context)


def lines(found: Page, zone: ZoneInfo) -> list[Told]:
    """Entries as lines; what a later one corrected or withdrew is struck through."""
    replaced = _replaced(found.entries)
    return [_line(one, found, zone, replaced=str(one.uid) in replaced) for one in found.entries]


def _line(one: Entry, found: Page, zone: ZoneInfo, *, replaced: bool) -> Told:
    def name(uid: object) -> str:
        return found.names.get(str(uid), "something here no longer")

    return Told(
        at=one.performed_at,
        text=sentence(one.kind, one.body, name),
        by=_by(one, found, zone),
        remarks=tuple(_remarks(one)),
        replaced=replaced,
    )


def _by(one: Entry, found: Page, zone: ZoneInfo) -> str:
    """Who did it, who told it, and when the service learnt of it."""
    doer = found.names.get(str(one.doer), "somebody")
    text = doer
    if one.messenger != one.doer:
        text += f", told by {found.names.get(str(one.messenger), 'somebody')}"
    gap = one.recorded_at - one.performed_at
    if gap > LATE:
        told = local_text(one.recorded_at, zone)
        text += f", recorded {told}, {elapsed_text(gap)} later"
    return f"{text} \u00b7 entry {one.seq + 1}"


def _remarks(one: Entry) -> Iterable[str]:
    if one.standing == "emergency":
        yield "It had to be done at once."
    if one.reason:
        yield one.reason
    for aside in one.insist:
        yield f"Set aside: {plain(aside['rule'])}, because {aside['reason']}"
    if one.note:
        yield one.note


def _replaced(entries: Iterable[Entry]) -> set[str]:
    kinds = ("fact_withdrawn", "fact_corrected")
    return {str(one.body.get("of")) for one in entries if one.kind in kinds}


def _before(request: HttpRequest) -> int | None:
    text = request.GET.get("before", "")
    return (
        int(text)
        if text.isascii() and text.isdigit() and len(text) < LONGEST_POSITION
        else None
    )


def _pager(request: HttpRequest, found: Page) -> dict[str, str]:
    older = f"{request.path}?before={found.before}" if found.before is not None else ""
    return {"older": older, "newer": request.path if "before" in request.GET else ""}
