"""When a piece or a container may be used, by what people did and saw."""

from decimal import Decimal

import pytest

from protocols.judged import State
from protocols.order import happenings
from protocols.readiness import Use, readiness
from protocols.ruled import DryingRule, RulesHistory
from protocols.told import When
from tests.protocols.story import BEN, HOUR, hour, tell, uid

RULE = DryingRule(24 * HOUR, Decimal(200), HOUR)
TUB, HEATER, KIT = uid("tub"), uid("heater"), uid("kit A")


def utc(moment):
    return moment.isoformat().replace("+00:00", "Z")


def disinfected(ended=2.0, subject=TUB, **given):
    body = {
        "subjects": [str(subject)],
        "cleaned": True,
        "agent": "chlorine",
        "mg_per_l": "200",
        "measured": True,
        "started_at": utc(hour(ended - 1)),
        "ended_at": utc(hour(ended)),
        "rinsed": True,
    }
    return tell(f"disinfected {ended} {subject}", "disinfected", hour(ended), **(body | given))


def seen_dry(hours=8.0, subject=TUB, **given):
    return tell(f"dry {hours}", "seen_dry", hour(hours), subjects=[str(subject)], **given)


def found_wet(hours, subject=TUB, **given):
    return tell(f"wet {hours}", "found_wet", hour(hours), subjects=[str(subject)], **given)


def ready(*facts, at, seconds=0, subject=TUB, **given):
    told = happenings(facts, at=hour(10_000), rules=RulesHistory())
    return readiness(told, subject=subject, drying=RULE, at=hour(at, seconds), **given)


def use(began, ended=None):
    return Use(When.exactly(hour(began)), None if ended is None else When.exactly(hour(ended)))


def rules_of(found):
    return [one.rule for one in found.why]


# -- the way to ready -----------------------------------------------------------------------


def test_new_things_are_dirty():
    found = ready(at=0)

    assert (found.state, found.since, found.ready_at) == (State.DIRTY, None, None)
    assert rules_of(found) == ["disinfected"]


def test_disinfected_is_not_dry_however_long_ago():
    found = ready(disinfected(2), at=2 + 46, seconds=300)

    assert (found.state, found.since, found.ready_at) == (State.DISINFECTED, hour(2), None)
    assert found.why[0].text == "Disinfected 46:05 h ago, but nobody has seen it dry."


@pytest.mark.parametrize(
    ("seconds", "state"),
    [(-86400, State.DRYING), (-1, State.DRYING), (0, State.READY), (1, State.READY)],
)
def test_ready_a_day_after_a_person_saw_it_dry(seconds, state):
    found = ready(disinfected(2), seen_dry(8), at=32, seconds=seconds)

    assert found.state is state
    assert found.ready_at == hour(32)
    assert found.is_ready is (state is State.READY)


def test_while_drying_it_says_for_how_long_of_how_long():
    found = ready(disinfected(2), seen_dry(8), at=27)

    assert (found.since, rules_of(found)) == (hour(8), ["drying"])
    assert found.why[0].text == "Dry for 19:00 of 24:00."
    assert found.why[0].numbers == {"dry_s": 68400, "needed_s": 86400}


def test_seen_dry_again_the_first_sighting_counts():
    assert ready(disinfected(2), seen_dry(8), seen_dry(20), at=32).is_ready


@pytest.mark.parametrize("facts", [[seen_dry(8)], [seen_dry(1), disinfected(2)]])
def test_dry_before_it_was_disinfected_is_not_ready(facts):
    assert not ready(*facts, at=500).is_ready


def test_a_dry_sighting_told_late_counts_from_when_it_was_told_until_confirmed():
    sighting = seen_dry(8, recorded=hour(31))
    word = tell("word", "confirmed", hour(31), of=sighting.uid, doer=BEN)

    assert ready(disinfected(2), sighting, at=31).state is State.DRYING
    assert ready(disinfected(2), sighting, at=31).ready_at == hour(55)
    assert ready(disinfected(2), sighting, at=30).state is State.DISINFECTED
    assert ready(disinfected(2), sighting, word, at=32).is_ready


# -- what a disinfection must be ------------------------------------------------------------


@pytest.mark.parametrize(
    ("given", "fault"),
    [
        ({"cleaned": False}, "cleaned"),
        ({"agent": "vinegar"}, "agent"),
        ({"measured": False}, "strength"),
        ({"mg_per_l": None}, "strength"),
        ({"mg_per_l": "199.9"}, "strength"),
        ({"started_at": utc(hour(1, 1))}, "contact"),
        ({"rinsed": False}, "rinsed"),
    ],
)
def test_a_disinfection_that_falls_short_leaves_it_dirty_and_says_why(given, fault):
    found = ready(disinfected(2, **given), seen_dry(8), at=100)

    assert (found.state, rules_of(found)) == (State.DIRTY, [fault])


@pytest.mark.parametrize(
    "given",
    [
        {"mg_per_l": "200.0"},
        {"agent": "Bleach"},
        {"rinsed": False, "neutralised": True},
        {"started_at": utc(hour(0))},
    ],
)
def test_a_disinfection_that_just_suffices_counts(given):
    assert ready(disinfected(2, **given), seen_dry(8), at=32).is_ready


def test_everything_that_falls_short_is_said_at_once():
    short = disinfected(2, cleaned=False, mg_per_l="50", rinsed=False)

    assert rules_of(ready(short, at=9)) == ["cleaned", "strength", "rinsed"]


def test_vinegar_cleans_and_makes_a_ready_thing_wet_again():
    rinse = disinfected(40, agent="vinegar")

    found = ready(disinfected(2), seen_dry(8), rinse, at=41)

    assert (found.state, rules_of(found)) == (State.DISINFECTED, ["agent"])


# -- in use and after -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("at", "state", "since"),
    [
        (39, State.READY, 32),
        (40, State.IN_USE, 40),
        (99, State.IN_USE, 40),
        (100, State.DIRTY, 100),
        (500, State.DIRTY, 100),
    ],
)
def test_used_from_the_placement_and_dirty_from_the_move_on(at, state, since):
    found = ready(disinfected(2), seen_dry(8), at=at, uses=[use(40, 100)])

    assert (found.state, found.since) == (state, hour(since))


def test_still_in_use_it_stays_so():
    assert ready(disinfected(2), seen_dry(8), at=500, uses=[use(40)]).state is State.IN_USE


def test_left_and_used_again_in_one_second_it_is_in_use():
    assert ready(at=100, uses=[use(40, 100), use(100)]).state is State.IN_USE


def test_an_uncertain_use_lasts_from_its_earliest_to_its_latest_moment():
    uncertain = Use(When(hour(40), hour(45)), When(hour(100), hour(110)))

    found = [ready(at=at, uses=[uncertain]).state for at in (39, 40, 109, 110)]

    assert found == [State.DIRTY, State.IN_USE, State.IN_USE, State.DIRTY]


def test_disinfected_while_in_use_is_not_disinfected():
    facts = [disinfected(50), seen_dry(101)]

    assert ready(*facts, at=300, uses=[use(40, 100)]).state is State.DIRTY


def test_after_a_use_it_goes_the_whole_way_again():
    facts = [disinfected(2), seen_dry(8), disinfected(103), seen_dry(110)]

    found = [ready(*facts, at=at, uses=[use(40, 100)]).state for at in (102, 104, 111, 134)]

    assert found == [State.DIRTY, State.DISINFECTED, State.DRYING, State.READY]


def test_single_use_pieces_are_used_up():
    facts = [disinfected(2), seen_dry(8), disinfected(103), seen_dry(110)]

    during = ready(*facts, at=50, uses=[use(40, 100)], single_use=True)
    found = ready(*facts, at=300, uses=[use(40, 100)], single_use=True)

    assert during.state is State.IN_USE
    assert (found.state, rules_of(found)) == (State.DEFECTIVE, ["single_use"])
