"""Reports of animals, as they follow from everything that was told of their family.

Rows of a family are a function of its facts in the order of happenings; so they come out the
same in whichever order the facts were told. A fact is taken if with it everything on record
still fits, together with as many of the parked ones as fit then.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from uuid import UUID

from protocols.accounts import NOTES
from protocols.amended import EVER
from protocols.animals import KINDS, Animals, animals
from protocols.order import happenings
from protocols.ruled import RulesHistory
from protocols.values import Reason
from protocols.versions import Versions
from stock.apply.animal_rows import bring_in_line
from stock.apply.families import Family, family_of
from stock.apply.goings import Overdrawn, Plan, plan
from stock.apply.in_the_way import InTheWay, make_sure_nobody_is_in_the_way
from stock.apply.named_here import are_here, is_somebody_there
from stock.apply.registry import applies
from stock.apply.words import amended, report_of, value_of
from stock.models import NEVER_JOINED, Batch, Fact, Parked
from stock.queries.protocols import versions_at
from stock.queries.sites import rules_history
from stock.refusals import CannotApply, refuse

# With more than this waiting for a family, not every one is tried by itself.
TRIED_ALONE = 8
RESTS_ON_IT = refuse(
    "contradicts_record",
    "Later reports rest on this one: correct it, or take those back first.",
)


@dataclass(frozen=True, slots=True)
class Taken:
    """A choice of facts that fits as a whole, and what follows from it."""

    facts: tuple[Fact, ...]
    found: Animals
    plan: Plan


@applies(*sorted(KINDS - {"parked_settled"}))
def tell(fact: Fact) -> list[Fact]:
    """Take a report of animals; the parked reports that fit with it.

    Raises CannotApply where it does not fit what is on record.
    """
    are_here(fact, fact.body)
    return _take(fact)


def tell_settled(settlement: Fact) -> list[Fact]:
    """Take the settlement of a report, which from here on counts as it says."""
    return _take(settlement)


def tell_word(note: Fact) -> list[Fact]:
    """Take a word about a report of animals, if it is one."""
    report = report_of(note)
    if report.kind not in KINDS:
        return []
    _may_be_said(note, report)
    return _take(note)


def _may_be_said(note: Fact, report: Fact) -> None:
    """What a word makes of a report is a report still, and the same one."""
    change = amended(note)
    if change is None:
        return
    _stands_as_settled(report)
    if change.after is not None:
        are_here(report, change.after)
    if change.before and change.after and change.is_another_report:
        text = "That makes it another report: take it back and tell it anew."
        raise CannotApply(refuse("contradicts_record", text))


def _stands_as_settled(report: Fact) -> None:
    """Words about a settled report come too late: the settlement says what counts."""
    if report.kind == "parked_settled" and not Parked.objects.filter(fact=report).exists():
        text = "Counts rest on this settlement: tell anew what was wrong with it."
        raise CannotApply(refuse("contradicts_record", text))
    if Parked.objects.filter(fact=report).exclude(settled_by=None).exists():
        text = "Somebody settled this report: what was wrong with it is told anew."
        raise CannotApply(refuse("contradicts_record", text))


def _take(fact: Fact) -> list[Fact]:
    family, rules = family_of(fact.log_id, [fact]), rules_history(fact.log_id)
    while True:
        try:
            taken = _with_most(fact, family, rules, _versions(fact, family))
            break
        except InTheWay as occupied:
            wider = _wider(fact, family, occupied)
            if wider is None:
                raise
            family = wider
    return _keep(fact, family, taken)


def _wider(fact: Fact, family: Family, occupied: InTheWay) -> Family | None:
    """The family together with those in the way, if something is parked about them.

    Two that each wait for the other to leave can only be taken together.
    """
    others = family_of(fact.log_id, [], occupied.batches)
    if not others.waiting or occupied.batches <= family.batches:
        return None
    every = {one.uid: one for one in (*family.kept, *others.kept)}
    waiting = {one.uid: one for one in (*family.waiting, *others.waiting)}
    return Family(
        tuple(sorted(every.values(), key=lambda one: one.seq)),
        tuple(sorted(waiting.values(), key=lambda one: one.seq)),
    )


def _versions(fact: Fact, family: Family) -> Versions:
    """The protocol versions of everybody in the family."""
    placed = (one for one in (fact, *family.kept, *family.waiting) if "protocol" in one.body)
    keys = {f"{one.body['protocol']}@{one.body['version']}" for one in placed}
    return versions_at(fact.log_id, keys)


def _with_most(fact: Fact, family: Family, rules: RulesHistory, versions: Versions) -> Taken:
    """With as many of those that wait as fit; alone if it must be."""
    kept = tuple(one for one in family.kept if one.uid != fact.uid)
    waiting = tuple(one for one in family.waiting if one.uid != fact.uid and _is_possible(one))
    for more in _choices(waiting):
        try:
            return _with(fact, kept, more, rules, versions)
        except CannotApply:
            if not more:
                raise
    raise AssertionError("the last choice is none")


def _choices(waiting: tuple[Fact, ...]) -> Iterator[tuple[Fact, ...]]:
    if len(waiting) > 1:
        yield waiting
    yield from ((one,) for one in waiting[:TRIED_ALONE])
    yield ()


def _is_possible(one: Fact) -> bool:
    """Whether a report or word that waits may be taken at all."""
    try:
        if one.kind in NOTES:
            _may_be_said(one, report_of(one))
        else:
            are_here(one, one.body)
    except CannotApply:
        return False
    return True


def _with(
    fact: Fact,
    kept: Sequence[Fact],
    more: tuple[Fact, ...],
    rules: RulesHistory,
    versions: Versions,
) -> Taken:
    """These together, without those of `more` that do not fit."""
    while True:
        facts = (*kept, fact, *more)
        found, reasons = _follow(facts, rules, versions)
        _refuse_misfits(fact, kept, reasons)
        bad = {one.uid for one in more if one.uid in reasons}
        if not bad:
            try:
                return Taken(facts, found, _possible(fact, kept, more, found))
            except (Overdrawn, InTheWay) as error:
                bad = set(error.by & {one.uid for one in more})
                if not bad:
                    raise
        more = tuple(one for one in more if one.uid not in bad)


def _follow(
    facts: Sequence[Fact], rules: RulesHistory, versions: Versions
) -> tuple[Animals, dict[UUID, Reason]]:
    """What follows, and the facts that do not fit with their reasons."""
    told = happenings(map(value_of, facts), at=EVER, rules=rules)
    found = animals(told, versions)
    reasons = {
        account.uid: found.misfits[one.uid]
        for one in told
        if one.uid in found.misfits
        for account in one.accounts
    }
    return found, reasons


def _refuse_misfits(fact: Fact, kept: Sequence[Fact], reasons: dict[UUID, Reason]) -> None:
    if fact.uid in reasons:
        raise CannotApply(reasons[fact.uid])
    hurt = [one.uid for one in kept if one.uid in reasons]
    if not hurt:
        return
    another = fact.kind in NOTES and report_of(fact).uid not in hurt
    if another or reasons[hurt[0]].code == "not_found":
        raise CannotApply(RESTS_ON_IT)
    raise CannotApply(reasons[hurt[0]])


def _possible(fact: Fact, kept: Sequence[Fact], more: Sequence[Fact], found: Animals) -> Plan:
    """How the animals go, once it is sure that they can."""
    if fact.kind in NOTES:
        named = Family(tuple(kept), ()).batches - found.begun.keys()
        if Batch.objects.filter(uid__in=named).exists():
            raise CannotApply(RESTS_ON_IT)
    is_somebody_there(fact, found)
    make_sure_nobody_is_in_the_way(found)
    return plan(fact, {one.uid for one in (fact, *more)}, found)


def _keep(fact: Fact, family: Family, taken: Taken) -> list[Fact]:
    """Write what follows; the parked reports that fit now.

    One that was taken back asks for nothing any more: that settles it.
    """
    bring_in_line(fact, taken.facts, taken.found, taken.plan)
    waited = {one.uid for one in family.waiting}
    fitting = [one for one in taken.facts if one.uid in waited and one.uid != fact.uid]
    Parked.objects.filter(fact__in=[one.uid for one in fitting]).delete()
    _keep_void(fact, taken)
    return fitting


def _keep_void(fact: Fact, taken: Taken) -> None:
    """Joins made by rule that were none are left out of what is judged, until they are some."""
    joins = {one.uid for one in taken.facts if one.kind == "batches_joined"}
    if not joins:
        return
    rows = Parked.objects.filter(fact__in=joins, code=NEVER_JOINED)
    rows.exclude(fact__in=taken.found.void).delete()
    known = set(rows.values_list("fact", flat=True))
    Parked.objects.bulk_create(
        Parked(
            fact_id=uid,
            site_id=fact.log_id,
            code=NEVER_JOINED,
            why="Those to be joined had left by then.",
            settled_by=fact.uid,
        )
        for uid in sorted(taken.found.void - known)
    )
