"""Facts folded into happenings and put in order, however they arrived."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from protocols.accounts import NOTES, Account, Notes, noted_account, plain_account
from protocols.kinds import rank
from protocols.ruled import RulesHistory
from protocols.settling import as_settled, settlements
from protocols.told import Fact, Happening
from protocols.turns import in_turn
from protocols.uids import as_uid

# Two people who tell the same move may look at their watches differently.
SAME_MOVE = timedelta(minutes=15)
# Fields that name a stay or a fact, which a second account may have named otherwise.
NAMING = ("ended_stay", "stay", "of", "cause")

OrderKey = tuple[datetime, int, int, int, int]


def happenings(
    facts: Iterable[Fact], *, at: datetime, rules: RulesHistory
) -> tuple[Happening, ...]:
    """What happened up to `at`, folded and sorted, whatever the order and repeats of `facts`.

    Corrections, confirmations and withdrawals count whenever they were made. Two accounts of
    one move are one happening, whose time is the hull of both. A report that did not fit the
    record counts as somebody settled it.
    """
    known = {fact.uid: fact for fact in facts}.values()
    notes = Notes(fact for fact in known if fact.kind in NOTES)
    accounts = [
        _account(fact, notes, rules)
        for fact in known
        if fact.kind not in NOTES and not notes.is_withdrawn(fact)
    ]
    settled = settlements(known, notes)
    fitting = [one for one in accounts if one.fact.uid not in settled]
    found = [
        *_folded(fitting, notes),
        *(
            counted
            for one in accounts
            if one.fact.uid in settled
            and (counted := as_settled(_single(one), settled[one.fact.uid]))
        ),
    ]
    told = [one for one in found if one.when.earliest <= at]
    return in_order(told)


def in_order(told: Iterable[Happening]) -> tuple[Happening, ...]:
    """Happenings in their order, and within a second what begins before what goes on."""
    return tuple(in_turn(sorted(told, key=order_key)))


def order_key(happening: Happening) -> OrderKey:
    """Time, then rank of the kind, device, entry number, uid. Never the arrival."""
    return _key(happening.accounts[0], happening.when.earliest, happening.uid)


def _key(fact: Fact, moment: datetime, uid: UUID) -> OrderKey:
    device = fact.device.int if fact.device else -1
    return moment, rank(fact.kind), device, fact.entry_no or 0, uid.int


def _account(fact: Fact, notes: Notes, rules: RulesHistory) -> Account:
    late_after = timedelta(seconds=rules.at(fact.performed_at).late_confirm_after_s)
    if fact.uid in notes.about:
        return noted_account(fact, notes, late_after)
    return plain_account(fact, late_after)


def _folded(accounts: list[Account], notes: Notes) -> list[Happening]:
    moves = [one for one in accounts if one.fact.kind == "batch_moved"]
    groups = _same_moves(moves)
    if len(groups) == len(moves):
        return [_single(one) for one in accounts]
    told = [_single(one) for one in accounts if one.fact.kind != "batch_moved"]
    told += [_merged(group, notes) for group in groups]
    return _renamed(told, _names(groups))


def _single(account: Account) -> Happening:
    fact = account.fact
    return Happening(
        uid=fact.uid,
        kind=fact.kind,
        when=account.when,
        body=account.body,
        accounts=(fact,),
        confirmed_by=account.confirmed_by,
        late_unconfirmed=account.late,
        differs=account.contradicted,
        told=account.told,
        confirmed_at=account.confirmed_at,
        unclear=account.unclear,
    )


def _same_moves(moves: Sequence[Account]) -> list[list[Account]]:
    """Accounts of moves of one batch out of one stay; stays named twice are one stay."""
    same: dict[str, str] = {}
    while True:
        groups: dict[tuple[str, str], list[Account]] = defaultdict(list)
        for move in moves:
            ended = _root(same, str(move.body["ended_stay"]))
            groups[str(move.body["batch"]), ended].append(move)
        before = len(same)
        for group in groups.values():
            if len(group) > 1:
                _join_names(same, [str(one.body["stay"]) for one in group])
        if len(same) == before:
            break
    return [
        sorted(group, key=lambda one: _key(one.fact, one.fact.performed_at, one.fact.uid))
        for group in groups.values()
    ]


def _root(same: Mapping[str, str], name: str) -> str:
    while name in same:
        name = same[name]
    return name


def _join_names(same: dict[str, str], names: list[str]) -> None:
    first, *others = sorted({_root(same, name) for name in names})
    same.update(dict.fromkeys(others, first))


def _merged(group: Sequence[Account], notes: Notes) -> Happening:
    if len(group) == 1:
        return _single(group[0])
    decision = _decision(group, notes)
    accepted = decision and next(
        one for one in group if one.fact.uid == as_uid(decision.body["accepted"])
    )
    kept = [accepted] if accepted else group
    differs = _differ(group)
    when, told = kept[0].when, kept[0].told
    for one in kept:
        when, told = when.hull(one.when), told.hull(one.told)
    return Happening(
        uid=group[0].fact.uid,
        kind=group[0].fact.kind,
        when=when,
        body={**kept[0].body, "stay": group[0].body["stay"]},
        accounts=tuple(one.fact for one in group),
        confirmed_by=tuple({uid: None for one in kept for uid in one.confirmed_by}),
        late_unconfirmed=any(one.late for one in kept),
        differs=accepted is None and differs,
        told=told,
        confirmed_at=min((one.confirmed_at for one in kept if one.confirmed_at), default=None),
        unclear=tuple(sorted({field for one in kept for field in one.unclear})),
        decided_by=decision.uid if decision and differs else None,
    )


def _decision(group: Sequence[Account], notes: Notes) -> Fact | None:
    """Which account stands, by somebody who told none of them: the last such decision."""
    told = {one.fact.uid for one in group}
    involved = {who for one in group for who in one.fact.people}
    decisions = [
        note
        for uid in told
        for note in notes.of("account_decided", uid)
        if note.doer not in involved and as_uid(note.body["accepted"]) in told
    ]
    return max(decisions, key=lambda one: (one.performed_at, one.uid.int), default=None)


def _differ(group: Sequence[Account]) -> bool:
    times = [one.when.earliest for one in group]
    if max(times) - min(times) > SAME_MOVE:
        return True
    first, *others = (move_data(one.body) for one in group)
    return any(one != first for one in others) or any(one.contradicted for one in group)


def move_data(body: Mapping[str, Any]) -> tuple[Any, ...]:
    """What two accounts of one move must agree in besides the time."""
    counts = body.get("counts") or (None,)
    kit = body.get("kit")
    return str(body["container"]), kit and str(kit), counts[-1], body.get("missing", 0)


def _names(groups: Iterable[Sequence[Account]]) -> dict[str, str]:
    """What other accounts call a stay or a move, and what it is called here."""
    names: dict[str, str] = {}
    for group in groups:
        for one in group[1:]:
            names[str(one.body["stay"])] = str(group[0].body["stay"])
            names[str(one.fact.uid)] = str(group[0].fact.uid)
    return names


def _renamed(told: list[Happening], names: Mapping[str, str]) -> list[Happening]:
    return [
        replace(one, body={**one.body, **found})
        if (found := _to_rename(one.body, names))
        else one
        for one in told
    ]


def _to_rename(body: Mapping[str, Any], names: Mapping[str, str]) -> dict[str, str]:
    return {
        field: names[str(body[field])]
        for field in NAMING
        if field in body and str(body[field]) in names
    }
