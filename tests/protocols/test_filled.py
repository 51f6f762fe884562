"""What stands in a container before animals come, and which of its makes is the worst."""

from decimal import Decimal

import pytest

from protocols.filled import MakeKnown, fillings, make_reasons
from protocols.makes import Make, MakeChecked
from protocols.order import happenings
from protocols.ruled import Rules, RulesHistory
from tests.protocols.story import hour, tell, uid

TUB, OTHER, OLD, NEW = uid("tub"), uid("other"), uid("old make"), uid("new make")


def filled(make, at, kind="filled", **more):
    body = {"container": TUB, "make": make, "volume_l": "60", **more}
    return tell(f"{kind} {at}", kind, hour(at), **body)


def wetted(kind, at, where=TUB):
    if kind == "emptied":
        return tell(f"{kind} {at}", kind, hour(at), container=where, searched=False)
    return tell(f"{kind} {at}", kind, hour(at), subjects=[str(where)])


def stands(*facts, at=9.0):
    told = happenings(facts, at=hour(at), rules=RulesHistory())
    return fillings(told, TUB, hour(at))


def make(uid, mixed, chlorine="0", *checks):
    figures = (Decimal(200), Decimal(33), Decimal(25), Decimal(chlorine))
    return MakeKnown(Make(uid, "V1", *figures, hour(mixed), hour(mixed)), checks)


@pytest.mark.parametrize("kind", ["emptied", "disinfected", "seen_dry"])
def test_what_was_let_go_is_there_no_more(kind):
    still = stands(filled(OLD, 1), wetted("seen_dry", 2, OTHER), filled(NEW, 3, "topped_up"))
    gone = stands(filled(OLD, 1), wetted(kind, 2), filled(NEW, 3))

    assert [one.make for one in still] == [OLD, NEW]
    assert [one.make for one in gone] == [NEW]


def test_what_comes_later_is_not_there_yet():
    assert stands(filled(OLD, 1), filled(NEW, 9.5)) == stands(filled(OLD, 1))


def test_chlorine_tested_in_the_container_speaks_for_what_was_there_then():
    test = {"quantity": "total_chlorine", "value": "0", "unit": "mg/L"}
    read = tell("read", "reading_taken", hour(2), container=TUB, **test)

    found = stands(filled(OLD, 1), read, filled(NEW, 3, "water_changed"))

    assert [one.chlorine_tested for one in found] == [True, False]
    assert stands(filled(OLD, 1, total_chlorine_mg_l="0"))[0].chlorine_tested


def test_the_worst_of_several_makes_is_named_once():
    found = stands(filled(OLD, 1), filled(NEW, 3, "topped_up"))
    makes = {OLD: make(OLD, -1), NEW: make(NEW, 2)}

    (young,) = make_reasons(found, makes, Rules(), hour(9))

    assert (young.code, young.numbers["mixed_s"]) == ("water_young", 7 * 3600)
    assert make_reasons(found, makes, Rules(), hour(14)) == ()


def test_chlorine_is_that_of_the_make_when_it_was_drawn():
    late, early = (MakeChecked(hour(at), total_chlorine_mg_l=Decimal(0)) for at in (2, 0.5))
    found = stands(filled(OLD, 1))

    drawn_before = make_reasons(found, {OLD: make(OLD, -20, "0.5", late)}, Rules(), hour(9))
    drawn_after = make_reasons(found, {OLD: make(OLD, -20, "0.5", early)}, Rules(), hour(9))

    assert [one.code for one in drawn_before] == ["chlorine_left"]
    assert drawn_after == ()


def test_a_make_that_nobody_knows_any_more_is_no_reason():
    assert make_reasons(stands(filled(OLD, 1)), {}, Rules(), hour(9)) == ()
