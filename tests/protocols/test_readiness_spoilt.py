"""What spoils readiness, what must be searched first, and pieces of a kit."""

from dataclasses import replace
from decimal import Decimal

import pytest

from protocols.judged import State
from protocols.order import happenings
from protocols.readiness import Membership, Search, Use, readiness
from protocols.ruled import DryingRule, RulesHistory
from protocols.told import When
from tests.protocols.story import HOUR, hour, tell, uid

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


# -- what spoils it -------------------------------------------------------------------------


def test_found_wet_it_must_be_seen_dry_again():
    facts = [disinfected(2), seen_dry(8), found_wet(40)]

    wet = ready(*facts, at=41)
    again = ready(*facts, seen_dry(45), at=69)

    assert (wet.state, wet.since, rules_of(wet)) == (State.DISINFECTED, hour(40), ["seen_dry"])
    assert again.is_ready


def test_a_contradicted_sighting_never_was_one_at_any_moment():
    sighting = seen_dry(8)
    wet = found_wet(60, contradicts=str(sighting.uid))

    assert ready(disinfected(2), sighting, at=40).is_ready
    assert ready(disinfected(2), sighting, wet, at=40).state is State.DISINFECTED


@pytest.mark.parametrize(
    ("wet", "between", "ready_then"),
    [
        (60, (), False),  # the use before the finding was of a wet thing
        (60, (disinfected(50),), True),  # made wet anew in between: that says nothing
        (7.9, (), True),  # before it was called dry
    ],
)
def test_found_wet_later_it_was_not_ready_when_it_was_used(wet, between, ready_then):
    told = [disinfected(2), seen_dry(8), *between, found_wet(wet)]

    before = ready(*told, at=40, uses=[use(40.1, 45)])

    assert before.is_ready is ready_then
    if not ready_then:
        assert [one.text for one in before.why] == [
            "It was called dry, but was found wet later."
        ]


def test_found_wet_after_a_second_look_only_that_one_is_denied():
    told = [disinfected(2), seen_dry(8), disinfected(40), seen_dry(42), found_wet(70)]

    assert ready(*told, at=33).is_ready
    assert ready(*told, at=67).state is State.DISINFECTED


@pytest.mark.parametrize("role", ["to", "thing"])
def test_a_contact_makes_it_dirty(role):
    body = {"from": str(uid("batch")), "to": str(uid("other")), "way": "tool", role: str(TUB)}
    contact = tell("contact", "contact_seen", hour(40), **body)

    found = ready(disinfected(2), seen_dry(8), contact, at=41)

    assert (found.state, rules_of(found)) == (State.DIRTY, ["contact"])


def test_a_defective_piece_stays_defective():
    broken = tell("broken", "piece_defective", hour(50), piece=str(HEATER), what="no heat")
    facts = [disinfected(2, HEATER), seen_dry(8, HEATER), broken, disinfected(103, HEATER)]

    found = ready(*facts, at=500, subject=HEATER, uses=[use(40, 100)])

    assert (found.state, found.since) == (State.DEFECTIVE, hour(50))


@pytest.mark.parametrize(
    ("chlorine", "state"),
    [("0", State.READY), ("0.019", State.READY), ("0.02", State.DISINFECTED)],
)
def test_at_filling_total_chlorine_must_be_nil(chlorine, state):
    filled = tell(
        "filled", "filled", hour(33), container=str(TUB), total_chlorine_mg_l=chlorine
    )

    assert ready(disinfected(2), seen_dry(8), filled, at=34).state is state


def test_filled_without_a_test_it_is_as_ready_as_before():
    filled = tell("filled", "filled", hour(33), container=str(TUB), volume_l="60")

    assert ready(disinfected(2), seen_dry(8), filled, at=34).is_ready


def test_a_later_test_may_find_the_chlorine_gone():
    filled = tell("filled", "filled", hour(33), container=str(TUB), total_chlorine_mg_l="0.5")
    strip = tell(
        "strip",
        "reading_taken",
        hour(35),
        container=str(TUB),
        quantity="total_chlorine",
        value="0",
    )
    warm = replace(strip, uid=uid("warm"), body={**strip.body, "quantity": "temperature"})

    assert not ready(disinfected(2), seen_dry(8), filled, warm, at=36).is_ready
    assert ready(disinfected(2), seen_dry(8), filled, strip, at=36).is_ready


# -- searches -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("search", "state"),
    [
        (Search(hour(0)), State.DIRTY),
        (Search(hour(0), hour(1)), State.READY),
        (Search(hour(1), None), State.DIRTY),
        (Search(hour(5), None), State.READY),
    ],
)
def test_what_must_be_searched_is_not_disinfected_before(search, state):
    found = ready(disinfected(2), seen_dry(8), at=40, searches=[search])

    assert found.state is state


def test_the_open_search_is_said():
    found = ready(disinfected(2), at=40, searches=[Search(hour(0))])

    assert rules_of(found) == ["not_searched"]


# -- as part of a kit -----------------------------------------------------------------------


def test_what_was_done_to_its_kit_was_done_to_the_piece_in_it():
    facts = [disinfected(2, KIT), seen_dry(8, KIT)]
    within = [Membership(KIT, hour(0))]

    assert ready(*facts, at=32, subject=HEATER, within=within).is_ready
    assert ready(*facts, at=32, subject=HEATER).state is State.DIRTY


@pytest.mark.parametrize(
    ("began", "ended", "state"),
    [
        (3, None, State.DIRTY),  # came in after the disinfection
        (0, 7, State.DISINFECTED),  # left before the kit was seen dry
        (0, 8, State.DISINFECTED),
        (0, 9, State.READY),
    ],
)
def test_only_while_the_piece_was_in_it(began, ended, state):
    facts = [disinfected(2, KIT), seen_dry(8, KIT)]
    within = [Membership(KIT, hour(began), None if ended is None else hour(ended))]

    assert ready(*facts, at=40, subject=HEATER, within=within).state is state


def test_what_names_something_else_is_no_concern():
    facts = [disinfected(2, uid("other tub")), seen_dry(8)]

    assert ready(*facts, at=40).state is State.DIRTY
