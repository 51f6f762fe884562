"""What may be placed out of its bags."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from protocols.judged import Readiness, Reading, State
from protocols.matching import Water
from protocols.permissions import may_place
from protocols.ruled import Rules
from protocols.versions import protocol
from protocols.worlds import AskedLine, AskedPlacement, Equipment, Occupant, World
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


def codes(found):
    return [one.code for one in found]


def line(count=20, available=20, label="line 1"):
    return AskedLine(uid(label), label, count, available)


def placing(*lines, counts=(), **given):
    now = replace(world(source=None, source_water=None, stay=None, limit=None), **given)
    return may_place(AskedPlacement(lines or (line(),), tuple(counts)), now)


def test_what_was_received_alive_may_be_placed():
    assert placing(counts=[20]) == ()
    assert placing() == ()


@pytest.mark.parametrize(("count", "found"), [(37, []), (38, ["more_than_received"])])
def test_no_more_are_placed_than_were_received_alive(count, found):
    reasons = placing(line(count, 37))

    assert codes(reasons) == found


def test_each_line_that_is_overdrawn_is_named():
    reasons = placing(line(1, 1), line(9, 8, "line 2"), balance=10)

    assert [(one.pointer, one.text) for one in reasons] == [
        ("/from/1/count", "line 2: at most 8 can be placed; you entered 9.")
    ]


def test_placing_counts_are_blind_too():
    assert codes(placing(counts=[19])) == ["count_again"]
    assert codes(placing(counts=[19, 19])) == []


def test_at_a_placement_only_the_target_is_read():
    assert codes(placing(target_water=Water())) == ["reading_missing", "reading_missing"]


def test_placing_with_a_batch_that_is_there_restarts_everybody():
    before = datetime(2027, 1, 20, tzinfo=UTC)
    there = Occupant(uid("other"), "B-2027-7", 10, NOW, before, limit=NOW)
    (found,) = placing(
        line(2), balance=2, target=thing("R2-05", Readiness(State.IN_USE), occupant=there)
    )

    assert (found.code, found.may_insist) == ("joins_running_series", ("manager",))
    assert found.text == "R2-05 holds a running series; adding fish restarts all 12."
    assert found.numbers == {
        "batch": str(uid("other")),
        "together": 12,
        "earliest_end_before": "2027-01-20T00:00:00Z",
        "earliest_end": "2027-01-28T09:30:00Z",
        "limit": "2027-01-16T09:30:00Z",
    }
