"""What may be done with equipment: disinfecting, seeing dry, reading with an instrument."""

import pytest

from protocols.judged import Readiness, State
from protocols.matching import Checked
from protocols.upkeep import may_disinfect, may_read_with, may_see_dry
from protocols.worlds import Equipment, Occupant
from tests.protocols.story import HOUR, hour, uid

DIRTY = Readiness(State.DIRTY)
USED = Readiness(State.IN_USE)


def thing(label, readiness=DIRTY, **given):
    return Equipment(uid(label), label, readiness, **given)


def test_dirty_things_may_be_disinfected():
    assert may_disinfect([thing("R1-01"), thing("A-1")]) == ()


def test_what_must_be_searched_is_searched_first():
    (found,) = may_disinfect([thing("A-1"), thing("R2-03", search_open=True)])

    assert (found.code, found.pointer, found.task) == ("not_searched", "/subjects/1", "search")


def test_nothing_in_use_is_disinfected():
    there = Occupant(uid("batch"), "B-2027-7", 12, hour(0))

    found = may_disinfect(
        [thing("R1-01", USED, occupant=there), thing("A-1", USED, where="R1-01")]
    )

    assert [(one.code, one.text) for one in found] == [
        ("container_occupied", "R1-01 is occupied by B-2027-7."),
        ("kit_in_use", "A-1 is in use in R1-01."),
    ]


@pytest.mark.parametrize(
    ("gap_s", "was_on_shift", "codes"),
    [(0, False, []), (3600, False, []), (3601, False, ["not_on_shift"]), (90000, True, [])],
)
def test_dryness_told_late_comes_from_who_was_there(gap_s, was_on_shift, codes):
    found = may_see_dry(hour(0), hour(0, gap_s), was_on_shift=was_on_shift, late_after=HOUR)

    assert [one.code for one in found] == codes


@pytest.mark.parametrize(
    ("checks", "codes"),
    [
        ([], []),
        ([(0, True)], []),
        ([(0, False)], ["instrument_failed"]),
        ([(0, True), (5, False)], ["instrument_failed"]),
        ([(0, False), (5, True)], []),
        ([(10, False)], ["instrument_failed"]),
        ([(0, True), (11, False)], []),
    ],
)
def test_after_a_failed_check_an_instrument_is_checked_before_it_is_read(checks, codes):
    known = [Checked(hour(hours), passed) for hours, passed in checks]

    assert [one.code for one in may_read_with("R-2", known, hour(10))] == codes
