"""Questions: the manager's morning list, what lapses first at the top."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Protocol
from uuid import UUID
from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from api.language import later, local_text
from api.pages import numbers
from api.pages.accounts import accounts_table
from api.pages.carrying import carry_over_table
from api.pages.delivered import brought
from api.pages.held import held
from api.pages.links import link, when
from api.pages.parts import Action, Objection, Table, Way
from api.pages.question import CONFIRMED, confirmation
from api.pages.sentences import sentence
from api.pages.shell import Here, here, page, show
from api.pages.words import plain
from protocols.clocks import elapsed_text
from protocols.deadlines import review_by
from protocols.values import RulesHistory
from stock.queries.accounts import Account, accounts_by_cause
from stock.queries.questions_seen import (
    MissingSeen,
    ParkedSeen,
    open_questions,
    parked_reports,
    still_missing,
)
from stock.queries.sites import rules_history
from stock.queries.traces import begun_traces

REVIEW = later("Done in an emergency: to be looked at")
SECOND = later("Waiting for a second person")
MISSING = later("Nobody has found them")
ANEW = later("A series began anew, unless it is kept")
TWICE = later("Told in two ways")
DECIDE = later("A series or a certificate hangs on these")
PARKED = later("Reported, does not fit yet")
TRACED = later("Traces with batches that nobody has decided on")
# In the order in which they lapse, or cost a series most.
ORDER = (REVIEW, SECOND, MISSING, ANEW, TWICE, DECIDE, PARKED, TRACED)


class Asked(Protocol):
    """A deviation, as its row or a judgement says it."""

    @property
    def uid(self) -> UUID: ...
    @property
    def rule(self) -> str: ...
    @property
    def effect(self) -> str: ...
    @property
    def numbers(self) -> dict[str, Any]: ...


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the list: what is asked, until when, and what can be done at once."""

    text: str
    way: Way | None
    numbers: str = ""
    since: str = ""
    until: str = ""
    confirm: Action | None = None
    accounts: Table | None = None


@page
@require_safe
def questions(request: HttpRequest, site: UUID) -> HttpResponse:
    at = here(request, site)
    rows = open_questions(site)
    rules = rules_history(site)
    missing = still_missing(site, rules, at.now)
    parked, names = parked_reports(site)
    told = accounts_by_cause(one.cause for one in rows if one.rule == "two_accounts")
    lines: dict[str, list[Line]] = {heading: [] for heading in ORDER}
    for row in rows:
        if row.effect != "warns":
            lines[_heading(row)].append(_asked(row, rules, told, at))
    lines[MISSING] += [_missing(one, at) for one in missing]
    others = [Line(**one) for one in brought(at)]
    lines[SECOND] += others
    lines[PARKED] = [_parked(one, names, at) for one in parked]
    traced = begun_traces(site)
    lines[TRACED] = [_traced(one) for one in traced]
    context = {
        "groups": [(heading, found) for heading, found in lines.items() if found],
        "warning": Table(
            _("Worth knowing"),
            (_("Batch"), _("What"), _("Numbers"), _("Since")),
            [_warning(one, at) for one in rows if one.effect == "warns"],
        ),
        "held": held(at),
        "carry_over": carry_over_table(site, at),
        "count": len(others) + len(rows) + len(missing) + len(parked) + len(traced),
    }
    return show(request, at, "questions", context, current="questions")


def _traced(one: Mapping[str, Any]) -> Line:
    text = _("Trace of {name}: {left} to decide").format(name=one["label"], left=one["left"])
    return Line(text, Way(_("Decide"), reverse("trace", args=[one["uid"]])))


def objection_of(one: Asked, zone: ZoneInfo) -> Objection:
    """An open question beside the batch it is about."""
    return Objection(
        text=f"{plain(one.rule)}.".capitalize(),
        blocks=one.effect != "warns",
        numbers=numbers.said(one.numbers, zone),
        task=Way(_("What is known of it"), reverse("question", args=[one.uid])),
    )


def _heading(row: Any) -> str:
    if row.rule == "emergency_review":
        return REVIEW
    if row.rule in CONFIRMED:
        return SECOND
    if row.rule == "two_accounts":
        return TWICE
    if row.rule == "parked":
        return PARKED
    return ANEW if row.effect == "broke" else DECIDE


def _asked(row: Any, rules: RulesHistory, told: Mapping[UUID, list[Account]], at: Here) -> Line:
    accounts = told.get(row.cause, [])
    return Line(
        text=f"{row.batch.code}: {plain(row.rule)}.",
        way=Way(_do(row, at), reverse("question", args=[row.uid])),
        numbers=numbers.said(row.numbers, at.zone),
        since=_("since {at}").format(at=local_text(row.at, at.zone)),
        until=_until(row, rules, at),
        confirm=confirmation(row, at, back="questions"),
        accounts=accounts_table(accounts, at) if len(accounts) > 1 else None,
    )


def _do(row: Any, at: Here) -> str:
    if not at.decides or row.by == at.person.uid:
        return _("What is known of it")
    return _("See what each answer would do, and decide")


def _until(row: Any, rules: RulesHistory, at: Here) -> str:
    """When it lapses: a review by its hours, what a series hangs on with the next move."""
    if row.rule == "emergency_review":
        return _by(_("to be looked at"), review_by(row.at, rules.at(row.at)), at)
    if row.batch.limit is not None and row.rule != "parked":
        return _by(_("the next move is due"), row.batch.limit, at)
    return ""


def _by(what: str, moment: datetime, at: Here) -> str:
    left = moment - at.now
    said = f"{elapsed_text(abs(left))} {'left' if left >= timedelta(0) else 'over'}"
    return _("{what} by {moment}, {said}").format(
        what=what, moment=local_text(moment, at.zone), said=said
    )


def _missing(one: MissingSeen, at: Here) -> Line:
    due = one.presumable_from <= at.now
    may = due and at.manages
    name = "presume-lost" if may else "found"
    text = _("Presume them lost, or search on") if may else _("Say that they are found")
    until = (
        ""
        if due
        else _("presumed lost at the earliest {text}").format(
            text=_text(one.presumable_from, at)
        )
    )
    return Line(
        text=_("{code}: {open} not found in {container}.").format(
            code=one.code, open=one.open, container=one.container
        ),
        way=Way(text, reverse(name, args=[one.fact])) if at.works else None,
        since=_("since {at}").format(at=local_text(one.at, at.zone)),
        until=until or _("looked for long enough"),
    )


def _parked(one: ParkedSeen, names: Mapping[str, str], at: Here) -> Line:
    told = sentence(
        one.kind, one.body, lambda uid: names.get(str(uid), "something else"), at.units
    )
    whose = names.get(str(one.body.get("batch")), "")
    may = at.decides and at.person.uid not in one.tellers
    return Line(
        text=f"{whose}: {told}." if whose else f"{told}.",
        way=Way(_("Settle it"), reverse("settle", args=[one.fact])) if may else None,
        numbers=one.why,
        since=local_text(one.performed_at, at.zone),
        until=""
        if may or not at.decides
        else _("You told it: somebody else has to settle it."),
    )


def _warning(one: Any, at: Here) -> tuple[object, ...]:
    return (
        link(one.batch.code, "batch", one.batch_id),
        link(plain(one.rule), "question", one.uid),
        numbers.said(one.numbers, at.zone),
        when(one.at, at.zone),
    )


def _text(moment: datetime, at: Here) -> str:
    return local_text(moment, at.zone)
