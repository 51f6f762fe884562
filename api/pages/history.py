"""Histories: the record book of a site, and what was told of one batch."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from api.language import local_text
from api.pages.parts import Told
from api.pages.sentence_forms import Name
from api.pages.sentences import sentence
from api.pages.shell import Here, here, page, show
from api.pages.words import plain
from protocols.clocks import OffsetMissing, Unreadable, corrected, elapsed_text, read_moment
from protocols.uids import uid_or_none
from stock import access
from stock.queries.batch_seen import batch_head
from stock.queries.contacts import told_where_it_was
from stock.queries.told import Entry, Page, entries_about, entries_of_log

LATE = timedelta(minutes=5)
PERFORMED = "performed_at"
LONGEST_POSITION = 18  # digits: more is no position of any record book


@page
@require_safe
def record_book(request: HttpRequest, site: UUID) -> HttpResponse:
    """The record book of the site: every entry, newest first."""
    at = here(request, site)
    found = entries_of_log(site, before=_before(request))
    late = reverse("late-entries", args=[site]) if at.may(access.READERS) else ""
    context = {"lines": lines(found, at), "late": late, **_pager(request, found)}
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
        "lines": lines(found, at),
        **_pager(request, found),
    }
    return show(request, at, "batch_history", context)


def lines(found: Page, at: Here) -> list[Told]:
    """Entries as lines; what a later one corrected or withdrew is struck through.

    Beside it stands what was said instead, what it was before, by whom and why.
    """
    words = _words_about(found.entries)
    return [_line(one, found, at, words.get(str(one.uid), [])) for one in found.entries]


def _line(one: Entry, found: Page, at: Here, words: Sequence[Entry]) -> Told:
    zone = at.zone

    def name(uid: object) -> str:
        return found.names.get(str(uid), _("something here no longer"))

    text = sentence(one.kind, one.body, name, at.units)
    if one.kind == "fact_corrected":
        text = _("Corrected: {corrected}").format(
            corrected=correction_text(one.body, name, zone)
        )
    return Told(
        at=one.performed_at,
        text=text,
        by=_by(one, found, zone),
        remarks=(
            *(_said_later(word, found, name, zone) for word in words),
            *_from_device(one, name, zone),
            *_remarks(one),
        ),
        replaced=bool(words),
    )


def correction_text(body: Mapping[str, Any], name: Name, zone: ZoneInfo) -> str:
    """Which field, its new value and the one before."""
    field = str(body["field"]).strip("/").split("/")[0]
    what = _("when it happened") if field == PERFORMED else plain(field)
    new, old = (_value(body.get(one), name, zone) for one in ("new", "old"))
    return _("{what} is {new}, before {old}").format(what=what, new=new, old=old)


def _value(value: Any, name: Name, zone: ZoneInfo) -> str:
    if value is None:
        return _("nothing")
    if isinstance(value, list):
        return _(" and ").join(_value(one, name, zone) for one in value)
    text = str(value)
    if uid_or_none(text) is not None:
        return name(text)
    try:
        return local_text(read_moment(text)[0], zone)
    except (Unreadable, OffsetMissing):
        return plain(text)


def _said_later(word: Entry, found: Page, name: Name, zone: ZoneInfo) -> str:
    """A later word about a line: what it says instead, who said so, when and why."""
    who = found.names.get(str(word.doer), _("somebody"))
    when = local_text(word.performed_at, zone)
    if word.kind == "fact_withdrawn":
        text = _("Withdrawn by {who}, {when}").format(who=who, when=when)
    else:
        text = _("By {who}, {when}: {corrected}").format(
            who=who, when=when, corrected=correction_text(word.body, name, zone)
        )
    return f"{text}. {word.reason}" if word.reason else text


def _by(one: Entry, found: Page, zone: ZoneInfo) -> str:
    """Who did it, who told it, and when the service learnt of it."""
    doer = found.names.get(str(one.doer), _("somebody"))
    text = doer
    if beside := [found.names.get(str(uid), "somebody") for uid in one.body.get("with", ())]:
        text += _(" with {listed}").format(listed=_(" and ").join(beside))
    if one.messenger != one.doer:
        text += _(", told by {messenger}").format(
            messenger=found.names.get(str(one.messenger), _("somebody"))
        )
    gap = one.recorded_at - one.performed_at
    if gap > LATE:
        told = local_text(one.recorded_at, zone)
        text += _(", recorded {told}, {gap} later").format(told=told, gap=elapsed_text(gap))
    return _("{text} · entry {seq}").format(text=text, seq=one.seq + 1)


def _from_device(one: Entry, name: Name, zone: ZoneInfo) -> Iterable[str]:
    """Of an entry made on a tablet: its number, what its clock showed, what that means."""
    if one.device is None or one.raw_at is None:
        return
    said = {"tablet": name(one.device), "no": one.entry_no}
    said["raw"] = local_text(one.raw_at, zone)
    if one.clock_offset_ms is None:
        text = _("Entry %(no)s of %(tablet)s, whose clock showed %(raw)s and was not measured.")
    else:
        said["corrected"] = local_text(corrected(one.raw_at, one.clock_offset_ms), zone)
        text = _(
            "Entry %(no)s of %(tablet)s, whose clock showed %(raw)s: that is %(corrected)s."
        )
    yield text % said
    if one.delivered:
        yield _("Brought by another than who did it. A manager confirms it.")


def _remarks(one: Entry) -> Iterable[str]:
    if one.standing == "emergency":
        yield _("It had to be done at once.")
    if one.reason:
        yield one.reason
    for aside in one.insist:
        yield _("Set aside: {rule}, because {reason}").format(
            rule=plain(aside["rule"]), reason=aside["reason"]
        )
    if one.note:
        yield one.note


def _words_about(entries: Iterable[Entry]) -> dict[str, list[Entry]]:
    """Corrections and withdrawals by the report they are about, the oldest first."""
    found: dict[str, list[Entry]] = {}
    for one in sorted(entries, key=lambda entry: entry.seq):
        if one.kind in ("fact_withdrawn", "fact_corrected"):
            found.setdefault(str(one.body.get("of")), []).append(one)
    return found


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
