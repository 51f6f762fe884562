"""Kits as views on their pieces at a moment."""

import pytest

from protocols.fittings import (
    FittedPiece,
    kit_readiness,
    memberships,
    pieces_of,
    uses_of_piece,
)
from protocols.judged import Readiness, State
from protocols.order import happenings
from protocols.readiness import Membership, Use
from protocols.ruled import Reason, RulesHistory
from protocols.told import When
from tests.protocols.story import hour, tell, uid

KIT, OTHER, TUB = uid("kit A"), uid("kit B"), uid("tub")
HEATER, SPARE = uid("heater"), uid("spare")


def fitted(hours, piece, **where):
    return tell(f"fit {hours}", "piece_fitted", hour(hours), piece=piece, **where)


def spans(*facts):
    return memberships(happenings(facts, at=hour(1000), rules=RulesHistory()))


def test_a_piece_belongs_where_it_was_fitted_last():
    found = spans(fitted(1, HEATER, kit=KIT), fitted(5, HEATER, kit=OTHER))

    assert found[HEATER] == (
        Membership(KIT, hour(1), hour(5)),
        Membership(OTHER, hour(5)),
    )


@pytest.mark.parametrize(("at", "pieces"), [(0, ()), (1, (HEATER,)), (4, (HEATER,)), (5, ())])
def test_the_pieces_of_a_kit_are_those_of_the_moment(at, pieces):
    found = spans(fitted(1, HEATER, kit=KIT), fitted(5, HEATER, kit=OTHER))

    assert pieces_of(KIT, found, hour(at)) == pieces


def test_a_replaced_piece_leaves_the_kit():
    found = spans(fitted(1, HEATER, kit=KIT), fitted(5, SPARE, kit=KIT, replaces=HEATER))

    assert pieces_of(KIT, found, hour(6)) == (SPARE,)
    assert found[HEATER][-1].ended == hour(5)


def test_a_piece_may_stand_in_a_container_without_a_kit():
    found = spans(fitted(1, HEATER, container=TUB))

    assert found[HEATER] == (Membership(TUB, hour(1)),)


def test_a_piece_fitted_nowhere_has_left_where_it_was():
    found = spans(fitted(1, HEATER, kit=KIT), fitted(5, HEATER))

    assert found[HEATER] == (Membership(KIT, hour(1), hour(5)),)


def at(hours):
    return When.exactly(hour(hours))


@pytest.mark.parametrize(
    ("began", "ended", "expected"),
    [
        (0, None, Use(at(10), at(20))),
        (15, None, Use(at(15), at(20))),
        (0, 15, Use(at(10), at(15))),
        (0, 10, None),
        (20, None, None),
        (0, 20, Use(at(10), at(20))),
    ],
)
def test_a_piece_is_in_use_while_its_kit_is_and_it_is_in_it(began, ended, expected):
    span = Membership(KIT, hour(began), None if ended is None else hour(ended))

    found = uses_of_piece([span], {KIT: [Use(at(10), at(20))]})

    assert found == (() if expected is None else (expected,))


@pytest.mark.parametrize(
    ("ended", "expected"), [(None, Use(at(10))), (15, Use(at(10), at(15)))]
)
def test_a_use_that_goes_on_ends_for_the_piece_when_it_is_taken_out(ended, expected):
    span = Membership(KIT, hour(0), None if ended is None else hour(ended))

    assert uses_of_piece([span], {KIT: [Use(at(10))]}) == (expected,)


# -- readiness of a kit ---------------------------------------------------------------------

READY = Readiness(State.READY, hour(24), hour(24))
DRYING = Readiness(
    State.DRYING, hour(6), hour(30), (Reason("not_ready", "drying", "Dry for 1:00."),)
)
DIRTY = Readiness(State.DIRTY, hour(3))
DEFECTIVE = Readiness(State.DEFECTIVE, hour(2))


def piece(readiness, type_="heater", label="H-1"):
    return FittedPiece(uid(label), label, type_, readiness)


def kit(*pieces, needs=("heater",), **given):
    return kit_readiness(needs, pieces, at=hour(28), **given)


@pytest.mark.parametrize(
    ("others", "state"),
    [
        ([], State.READY),
        ([READY], State.READY),
        ([DRYING], State.DRYING),
        ([DRYING, DIRTY], State.DIRTY),
        ([DRYING, Readiness(State.DISINFECTED)], State.DISINFECTED),
        ([DIRTY, Readiness(State.IN_USE)], State.IN_USE),
        ([DIRTY, DEFECTIVE], State.DEFECTIVE),
    ],
)
def test_a_kit_is_what_the_worst_of_its_pieces_is(others, state):
    pieces = [piece(one, "shelter", f"S-{number}") for number, one in enumerate(others)]

    assert kit(piece(READY), *pieces).state is state


def test_a_kit_is_ready_when_its_last_piece_is():
    found = kit(piece(READY), piece(DRYING, "shelter", "S-1"))

    assert (found.ready_at, found.since) == (hour(30), hour(24))
    assert [one.text for one in found.why] == ["S-1: Dry for 1:00."]


def test_a_piece_that_needs_more_than_time_leaves_open_when():
    assert kit(piece(READY), piece(DIRTY, "shelter", "S-1")).ready_at is None


@pytest.mark.parametrize(
    ("needs", "state", "missing"),
    [
        (("heater",), State.READY, []),
        (("heater", "lid"), State.INCOMPLETE, ["No lid in it."]),
        (("heater", "heater"), State.INCOMPLETE, ["No heater in it."]),
    ],
)
def test_what_a_kit_needs_must_be_in_it(needs, state, missing):
    found = kit(piece(READY), needs=needs)

    assert (found.state, [one.text for one in found.why]) == (state, missing)


def test_a_defective_piece_is_not_what_a_kit_needs():
    found = kit(piece(DEFECTIVE))

    assert (found.state, [one.rule for one in found.why]) == (
        State.DEFECTIVE,
        ["kit_incomplete"],
    )


@pytest.mark.parametrize(
    ("use", "state"),
    [
        (Use(at(20)), State.IN_USE),
        (Use(at(20), at(28)), State.READY),
        (Use(at(20), When(hour(27), hour(29))), State.IN_USE),
        (Use(at(28)), State.IN_USE),
        (Use(at(29)), State.READY),
    ],
)
def test_a_kit_in_a_container_is_in_use(use, state):
    assert kit(piece(READY), uses=[use]).state is state


def test_a_kit_without_pieces_is_what_is_told_of_it_itself():
    assert kit(needs=(), own=READY) == READY
    assert kit(needs=()).state is State.DIRTY
    assert kit(needs=("heater",), own=READY).state is State.INCOMPLETE
