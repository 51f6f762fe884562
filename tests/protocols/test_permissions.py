"""What may be moved and placed: every reason at once, and what would be possible instead."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from protocols.judged import Readiness, Reading, State
from protocols.matching import Water
from protocols.permissions import may_move
from protocols.ruled import Alternative, Reason, Rules
from protocols.versions import protocol
from protocols.worlds import AskedMove, Equipment, Occupant, World
from tests.protocols.story import stay, uid

BERLIN = ZoneInfo("Europe/Berlin")
NOW = datetime(2027, 1, 16, 9, 30, tzinfo=UTC)  # Sat 10:30 in Berlin
LIMIT = datetime(2027, 1, 16, 15, 0, tzinfo=UTC)  # Sat 16:00 there
READY = Readiness(State.READY, NOW, NOW)


def thing(label, readiness=READY, **given):
    return Equipment(uid(label), label, readiness, **given)


def read(where, salinity="33.0", temperature="26.0", age=timedelta(0)):
    def one(quantity, value):
        name = uid(f"{where} {quantity} {value}")
        return Reading(name, uid(where), quantity, Decimal(value), NOW - age, None, "good")

    return Water(one("salinity", salinity), one("temperature", temperature))


def world(**given):
    known = {
        "at": NOW,
        "zone": BERLIN,
        "rules": Rules(),
        "protocol": protocol("transfer-288@1"),
        "target": thing("R1-03"),
        "kit": thing("B-1"),
        "target_water": read("R1-03"),
        "balance": 20,
        "source": thing("R1-02"),
        "source_water": read("R1-02"),
        "stay": stay(1),
        "limit": LIMIT,
    }
    return World(**(known | given))


def moved(now, counts=(20,), missing=0, ended=None):
    return may_move(AskedMove(ended or stay(1), tuple(counts), missing), now)


def codes(found):
    return [one.code for one in found]


def test_with_everything_in_order_a_move_is_allowed():
    assert moved(world()) == ()


def test_every_reason_is_said_at_once():
    now = world(
        target=thing("R1-03", Readiness(State.DIRTY)),
        kit=thing("B-1", Readiness(State.DIRTY)),
        target_water=Water(),
    )

    assert codes(moved(now, counts=[19])) == [
        "container_not_ready",
        "kit_not_ready",
        "reading_missing",
        "reading_missing",
        "count_again",
    ]


def test_a_stay_that_somebody_ended_is_all_that_is_said():
    now = world(kit=None)

    assert codes(moved(now, ended=stay(0))) == ["stay_ended"]


def test_of_a_closed_batch_nothing_is_moved():
    assert codes(moved(world(closed=True, stay=None))) == ["batch_closed"]


# -- containers -----------------------------------------------------------------------------


def test_a_move_goes_to_another_container():
    (found,) = moved(world(target=thing("R1-02"), ready_containers=(thing("R1-04"),)))

    assert found.code == "same_container"
    assert found.instead == (Alternative("container", uid("R1-04"), "R1-04"),)


def test_two_batches_never_share_a_container_by_a_move():
    there = Occupant(uid("other"), "B-2027-7", 12, NOW - timedelta(days=1))
    (found,) = moved(world(target=thing("R1-03", occupant=there)))

    assert (found.code, found.may_insist) == ("container_occupied", ())
    assert found.text == "B-2027-7 is in R1-03 since Fri 15 Jan 2027 10:30 CET."


def test_a_container_in_which_animals_are_missing_is_searched_first():
    (found,) = moved(world(target=thing("R1-03", Readiness(State.DIRTY), search_open=True)))

    assert found.code == "not_searched"


def test_a_dirty_container_says_why_and_what_else():
    why = Reason("not_ready", "disinfected", "It was not disinfected since.")
    dirty = Readiness(State.DIRTY, NOW, None, (why,))
    (found,) = moved(
        world(target=thing("R1-03", dirty), ready_containers=(thing("R1-04"), thing("R1-05")))
    )

    assert (found.code, found.rule, found.may_insist) == (
        "container_not_ready",
        "container_not_ready",
        ("manager",),
    )
    assert found.text == (
        "R1-03 is not ready: It was not disinfected since. Ready now: R1-04, R1-05."
    )
    assert [one.label for one in found.instead] == ["R1-04", "R1-05"]


# -- kits -----------------------------------------------------------------------------------

ACROSS = datetime(2027, 2, 7, 7, 0, tzinfo=UTC)


def test_a_kit_in_use_says_where_since_when_and_what_is_ready():
    used = Readiness(State.IN_USE, ACROSS, None)
    (found,) = moved(
        world(
            kit=thing("A-3", used, where="R1-02"),
            ready_kits=(thing("A-1"), thing("B-2")),
        )
    )

    assert (found.code, found.may_insist, found.pointer) == ("kit_in_use", (), "/kit")
    assert found.text == (
        "A-3 is in use in R1-02 since Sun 7 Feb 2027 08:00 CET. Ready now: A-1, B-2."
    )
    assert [one.label for one in found.instead] == ["A-1", "B-2"]


# Seen dry 15:30 in Berlin the day before.
DRYING = Readiness(
    State.DRYING,
    datetime(2027, 1, 15, 14, 30, tzinfo=UTC),
    datetime(2027, 1, 16, 14, 30, tzinfo=UTC),
    (Reason("not_ready", "drying", "Dry for 19:00 of 24:00.", numbers={"dry_s": 68400}),),
)


def test_a_kit_not_dry_for_long_enough_says_when_it_is_and_how_near_the_limit():
    (found,) = moved(world(kit=thing("B-3", DRYING), ready_kits=(thing("A-1"),)))

    assert (found.code, found.may_insist) == ("kit_not_ready", ("manager",))
    assert found.text == (
        "B-3 is not ready: Dry for 19:00 of 24:00. Ready Sat 16 Jan 2027 15:30 CET, "
        "0:30 before the limit. Ready now: A-1."
    )
    assert found.numbers == {
        "state": "drying",
        "dry_s": 68400,
        "ready_at": "2027-01-16T14:30:00Z",
        "before_limit_s": 1800,
    }
    assert found.instead == (
        Alternative("kit", uid("A-1"), "A-1"),
        Alternative("move", uid("B-3"), "B-3", DRYING.ready_at, LIMIT),
    )


def test_a_kit_ready_only_after_the_limit_is_no_way_out():
    early = LIMIT - timedelta(hours=1)
    (found,) = moved(world(kit=thing("B-3", DRYING), limit=early))

    assert found.instead == ()
    assert found.numbers["before_limit_s"] == -1800
    assert "0:30 after the limit" in found.text


def test_a_kit_ready_exactly_at_the_limit_is_a_way_out():
    (found,) = moved(world(kit=thing("B-3", DRYING), limit=DRYING.ready_at))

    assert found.instead[0].begins == found.instead[0].ends == DRYING.ready_at
    assert "0:00 before the limit" in found.text


def test_without_a_limit_it_may_be_waited_for():
    (found,) = moved(world(kit=thing("B-3", DRYING), limit=None))

    assert found.instead == (Alternative("move", uid("B-3"), "B-3", DRYING.ready_at, None),)


@pytest.mark.parametrize(
    ("state", "code", "insist"),
    [
        (State.DIRTY, "kit_not_ready", ("manager",)),
        (State.DISINFECTED, "kit_not_ready", ("manager",)),
        (State.INCOMPLETE, "kit_incomplete", ("manager",)),
        (State.DEFECTIVE, "piece_defective", ()),
    ],
)
def test_each_state_of_a_kit_has_its_code(state, code, insist):
    (found,) = moved(world(kit=thing("B-3", Readiness(state))))

    assert (found.code, found.rule, found.may_insist) == (code, code, insist)


def test_a_move_names_its_kit():
    (found,) = moved(world(kit=None, ready_kits=(thing("A-1"),)))

    assert (found.code, found.instead[0].label) == ("kit_not_ready", "A-1")


# -- water and counts -----------------------------------------------------------------------


def test_water_is_matched_between_source_and_target():
    found = moved(world(target_water=read("R1-03", "34.5")))

    assert codes(found) == ["water_mismatch"]


@pytest.mark.parametrize(
    ("left_s", "found"), [(3601, ["count_again"]), (3600, []), (0, []), (-5, [])]
)
def test_close_to_the_limit_a_count_delays_no_move(left_s, found):
    now = world(limit=NOW + timedelta(seconds=left_s))

    assert codes(moved(now, counts=[24])) == found


def test_in_an_observation_no_limit_is_near():
    assert codes(moved(world(limit=None), counts=[24])) == ["count_again"]


def test_no_answer_to_a_wrong_count_holds_the_right_one():
    (found,) = moved(world(balance=23), counts=[24])

    assert "23" not in f"{found.text} {found.numbers} {found.instead}"
