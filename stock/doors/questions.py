"""Decisions about deviations, and words about earlier facts: said, never written over."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from protocols.clocks import Unreadable, parse_utc, utc_text
from protocols.second_person import may_confirm, may_decide
from protocols.values import Deviation, Judgement, Reason
from stock import access
from stock.answers import Answered
from stock.doors.door import Asking, Door, enter
from stock.judging.facts import value_of
from stock.judging.load import judged
from stock.ledger import Told
from stock.models import DeviationRow, Fact
from stock.queries.batches import shown_deviation
from stock.refusals import NotFound, Refused, refuse

PERFORMED = "performed_at"


@dataclass(frozen=True, slots=True)
class Question:
    """A deviation as it is judged now, and who decided the same about it before."""

    deviation: Deviation
    agreed_by: frozenset[UUID]


def decide_deviation(
    asking: Asking,
    *,
    deviation: UUID,
    decision: str,
    known: Mapping[str, Any],
    from_this_stay: bool,
) -> Answered:
    """A manager's or veterinarian's answer to an open question, on the numbers they knew."""
    row = DeviationRow.objects.filter(uid=deviation).first()
    if row is None:
        raise NotFound
    access.site_for(asking.person, row.site_id, access.DECIDERS)
    body = {
        "batch": row.batch_id,
        "rule": row.rule,
        "cause": row.cause,
        "known": dict(known),
        "decision": decision,
        "from": "this_stay" if from_this_stay else None,
    }

    def ask(found: Question) -> Iterator[Reason]:
        if not asking.reason:
            yield refuse("reason_missing", "Say why you decide so.", pointer="/reason")
        yield from may_decide(
            asking.person.uid, found.deviation, known, agreed_by=found.agreed_by
        )

    def show(found: Question) -> dict[str, Any]:
        now = _find(judged(row.batch_id, asking.now), row)
        return {"deviation": shown_deviation(now), "batch": str(row.batch_id)}

    return enter(
        asking,
        row.site_id,
        Door(
            load=lambda log: _question(row, asking, decision),
            ask=ask,
            tell=lambda found: (Told("deviation_decided", body, texts=asking.texts),),
            show=show,
        ),
    )


def confirm_fact(asking: Asking, *, fact: UUID) -> Answered:
    """A second person says that it was so."""
    return _say(
        asking,
        fact,
        "confirmed",
        body={},
        ask=lambda found: _may_confirm(asking, found),
    )


def _may_confirm(asking: Asking, found: Fact) -> tuple[Reason, ...]:
    """Nothing that was told as done lets somebody confirm what is theirs."""
    is_manager = "manager" in access.roles_at(asking.person, found.log_id)
    reasons = may_confirm(asking.person.uid, value_of(found), is_manager=is_manager)
    if reasons and found.delivered:
        raise Refused(*reasons)
    return reasons


def contradict_fact(asking: Asking, *, fact: UUID, what: str) -> Answered:
    """Somebody says that it was not so."""
    return _say(asking, fact, "fact_contradicted", body={"what": what})


def withdraw_fact(asking: Asking, *, fact: UUID) -> Answered:
    """It did not happen. Needs a reason, and a second person where that changes a series."""
    return _say(asking, fact, "fact_withdrawn", body={}, ask=lambda found: _with_reason(asking))


def correct_fact(asking: Asking, *, fact: UUID, field: str, new: Any) -> Answered:
    """Another value for one field of a report; the old one stays, and who said which."""
    row = Fact.objects.filter(uid=fact).first()
    if row is None:
        raise NotFound
    old = _value_at(row, field)

    def ask(found: Fact) -> Iterator[Reason]:
        yield from _with_reason(asking)
        if field == PERFORMED and not _is_time(new):
            yield refuse("unreadable", "This is no time.", pointer="/new")
        if field != PERFORMED and old is None:
            yield refuse("unreadable", "The report has no such field.", pointer="/field")

    body = {"field": field, "old": old, "new": new}
    return _say(asking, fact, "fact_corrected", body=body, ask=ask)


def _say(
    asking: Asking,
    fact: UUID,
    kind: str,
    *,
    body: Mapping[str, Any],
    ask: Any = None,
) -> Answered:
    """Enter a word about an earlier fact of a site."""
    found = Fact.objects.select_related("log").filter(uid=fact).first()
    if found is None or not found.log.is_of_site:
        raise NotFound
    access.site_for(asking.person, found.log_id, access.HANDS)
    return enter(
        asking,
        found.log_id,
        Door(
            load=lambda log: found,
            ask=ask or (lambda _: ()),
            tell=lambda _: (Told(kind, {"of": fact, **body}, about=fact, texts=asking.texts),),
            show=lambda _: {"about": str(fact), "batches": _batches_of(found)},
        ),
    )


def _with_reason(asking: Asking) -> Sequence[Reason]:
    if asking.reason:
        return ()
    return (refuse("reason_missing", "Say why.", pointer="/reason"),)


def _question(row: DeviationRow, asking: Asking, decision: str) -> Question:
    """The deviation judged afresh, and who decided the same before."""
    said = Fact.objects.filter(
        kind="deviation_decided",
        subjects__subject=row.batch_id,
        body__rule=row.rule,
        body__cause=str(row.cause),
        body__decision=decision,
    )
    agreed = frozenset(said.values_list("doer", flat=True))
    return Question(_find(judged(row.batch_id, asking.now), row), agreed)


def _find(judgement: Judgement, row: DeviationRow) -> Deviation:
    for one in judgement.deviations:
        if (one.rule, one.cause) == (row.rule, row.cause):
            return one
    raise NotFound


def _value_at(fact: Fact, field: str) -> Any:
    """What a report says in a field: `performed_at`, or a pointer into its body."""
    if field == PERFORMED:
        return utc_text(fact.performed_at)
    value: Any = fact.body
    for name in field.strip("/").split("/"):
        if isinstance(value, list) and name.isdecimal() and int(name) < len(value):
            value = value[int(name)]
        elif isinstance(value, Mapping) and name in value:
            value = value[name]
        else:
            return None
    return value


def _is_time(value: Any) -> bool:
    try:
        parse_utc(str(value))
    except Unreadable:
        return False
    return True


def _batches_of(fact: Fact) -> list[str]:
    named = [fact.body.get("batch"), *(one.get("batch") for one in fact.body.get("parts", []))]
    return sorted({str(one) for one in named if one})
