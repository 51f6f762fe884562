"""Which animals are where, as a function of everything told: pure, and whatever the order."""

from datetime import UTC, datetime, timedelta
from itertools import permutations
from uuid import UUID, uuid5

import pytest

from protocols.amended import EVER
from protocols.animals import Spot, animals
from protocols.codes import join_of
from protocols.order import happenings
from protocols.values import Fact, RulesHistory

START = datetime(2027, 1, 4, 8, tzinfo=UTC)
NAMES = UUID("6b0c1c1e-4f0f-4a55-8a38-1d6f0f3d2c11")


def uid(name):
    return uuid5(NAMES, name)


def told(name, kind, hours, **body):
    at, who = START + timedelta(hours=hours), uid("Mara")
    return Fact(uid(name), 0, kind, at, at, who, who, body)


def placed(batch, place, hours=0, count=10, **more):
    sources = [{"line": uid("line"), "count": count}]
    body = {"protocol": "transfer-288", "version": 1, "counts": [count], "from": sources}
    return told(
        f"{batch} placed", "batch_placed", hours, **body, **stands(batch, place, place), **more
    )


def moved(batch, ended, place, hours):
    body = {"ended_stay": uid(f"{batch} in {ended}"), "counts": [10], "missing": 0}
    return told(
        f"{batch} to {place}", "batch_moved", hours, **body, **stands(batch, place, place)
    )


def stands(batch, stay, place):
    return {"batch": uid(batch), "stay": uid(f"{batch} in {stay}"), "container": uid(place)}


def lost(batch, count, hours):
    at = (START + timedelta(hours=hours)).strftime("%Y-%m-%dT%H:%M:%SZ")
    body = {"batch": uid(batch), "fate": "dead", "count": count, "found_at": at}
    return told(f"{batch} lost {count}", "loss_recorded", hours, **body)


def joined(fact, hours, came_in="B"):
    body = {
        "members": [uid("A"), uid("B")],
        "came_in": [str(uid(came_in))],
        "told_apart": False,
    }
    return told(fact, "batches_joined", hours, **body, **stands("J", "1", "1"))


def follow(*facts):
    return animals(happenings(facts, at=EVER, rules=RulesHistory()))


def alive(found, *batches):
    return [found.n(uid(one), "alive") for one in batches]


def test_a_loss_before_a_join_is_not_joined_whenever_it_is_told():
    facts = [placed("A", "1"), placed("B", "2"), lost("A", 3, 5), joined("join", 9)]

    for order in permutations(facts):
        found = follow(*order)
        assert (found.misfits, alive(found, "A", "B", "J")) == ({}, [0, 0, 17])


@pytest.mark.parametrize(("loser", "left"), [("A", [0, 0, 17]), ("J", [0, 0, 17])])
def test_in_the_second_of_a_join_its_members_lose_before_and_the_joined_after(loser, left):
    facts = [placed("A", "1"), placed("B", "2"), joined("join", 9), lost(loser, 3, 9)]

    for order in permutations(facts):
        found = follow(*order)
        assert (found.misfits, alive(found, "A", "B", "J")) == ({}, left)


def test_a_loss_in_the_second_of_the_placement_comes_after_it():
    found = follow(lost("A", 10, 0), placed("A", "1"))

    assert found.begun[uid("A")].closed_at == START


def test_a_dispatch_in_the_second_of_a_join_is_of_who_was_not_joined_yet():
    gone = told("gone", "animals_dispatched", 9, dispatch=uid("d"), batch=uid("A"), count=4)

    found = follow(placed("A", "1"), placed("B", "2"), joined("join", 9), gone)

    assert (found.n(uid("A"), "sold"), alive(found, "A", "J")) == (4, [0, 16])


def put_in_with(*more):
    """B put into the container of A, and the join that was made of it by rule."""
    by_rule = join_of(uid("B placed"), uid("B"))
    join = joined("join", 9)
    join = Fact(**{name: getattr(join, name) for name in Fact.__slots__} | {"uid": by_rule})
    return follow(placed("A", "1"), placed("B", "1", 9, joins=True), join, *more)


def test_put_in_with_others_they_are_one_batch():
    found = put_in_with()

    assert (found.void, alive(found, "J")) == (set(), [20])


def test_put_in_where_the_others_had_left_before_they_stand_alone():
    found = put_in_with(moved("A", "1", "3", 8))

    assert (len(found.void), found.misfits) == (1, {})
    assert uid("J") not in found.begun
    assert found.open_stay(uid("B")).container == uid("1")
    assert alive(found, "A", "B") == [10, 10]


def test_what_was_told_of_a_batch_that_never_was_does_not_fit():
    found = put_in_with(moved("A", "1", "3", 8), lost("J", 1, 20))

    assert found.misfits[uid("J lost 1")].code == "not_found"


def test_sums_that_close_at_the_end_need_not_have_closed_in_between():
    born = told("born", "born_here", 8, batch=uid("A"), count=5, estimated=False)

    found = follow(placed("A", "1"), lost("A", 12, 7), born)

    assert (found.misfits, found.n(uid("A"), "alive")) == ({}, 3)


def test_a_split_takes_as_many_as_were_alive_by_then():
    parts = [
        {**stands("C", "1", "1"), "count": 6, "stays_here": True},
        {**stands("D", "2", "2"), "count": 4, "stays_here": False},
    ]
    split = told("split", "batch_split", 9, batch=uid("A"), parts=parts)

    assert follow(placed("A", "1"), split).misfits == {}
    assert follow(placed("A", "1"), lost("A", 1, 5), split).misfits[uid("split")].code == (
        "split_sum"
    )
    assert follow(placed("A", "1"), lost("C", 1, 9), split).n(uid("C"), "alive") == 5


def test_every_going_has_a_way_back_in_the_sums():
    found = follow(placed("A", "1"), lost("A", 3, 5))
    line, here, dead = (
        Spot(uid("line"), "received"),
        Spot(uid("A"), "alive"),
        Spot(uid("A"), "dead"),
    )

    assert {frozenset(pair): abs(n) for pair, n in found.sums().items()} == {
        frozenset((line, here)): 10,
        frozenset((here, dead)): 3,
    }


@pytest.mark.parametrize(("counts", "left"), [((9, 9), 9), ((9, 8), 8), ((8, 9), 8)])
def test_of_two_accounts_the_lower_is_alive_also_where_both_missed_somebody(counts, left):
    accounts = []
    for n, count in enumerate(counts):
        move = moved("A", "1", "2", 8)
        values = {name: getattr(move, name) for name in Fact.__slots__}
        body = {**move.body, "counts": [count], "missing": 1, "stay": uid(f"stay {n}")}
        accounts.append(Fact(**values | {"uid": uid(f"account {n}"), "body": body}))

    found = follow(placed("A", "1"), *accounts)

    assert (found.n(uid("A"), "alive"), found.n(uid("A"), "unaccounted")) == (left, 10 - left)
