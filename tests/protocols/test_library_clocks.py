"""Clocks of the library: hours that count only in range, and days without fish."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from uuid import UUID, uuid4

import pytest
from hypothesis import given
from hypothesis import strategies as st

from protocols.judged import Reading
from protocols.library.fallow import Added, FallowState, left_alone
from protocols.library.in_range import in_range
from protocols.library.values import Clock
from protocols.ruled import Range
from protocols.versions import definition

START = datetime(2027, 1, 4, 8, 0, tzinfo=UTC)
HOUR, DAY = timedelta(hours=1), timedelta(days=1)
TANK = UUID(int=1)
COPPER = Clock(
    "copper", "mg/L", Range(Decimal("0.15"), Decimal("0.25")), 48 * HOUR, True, 12 * HOUR
)


def readings(*pairs, quantity="copper"):
    """Values by the hour at which they were read."""
    return [
        Reading(uuid4(), TANK, quantity, Decimal(value), START + hour * HOUR)
        for hour, value in pairs
    ]


def clock(*pairs, rule=COPPER, at=1000):
    return in_range(readings(*pairs), rule, began=START, at=START + at * HOUR)


def test_hours_between_readings_in_range_count():
    found = clock((0, "0.16"), (12, "0.20"), (24, "0.17"), at=30)

    assert found.counted == 24 * HOUR
    assert found.left == 24 * HOUR
    assert found.unknown == 6 * HOUR
    assert found.needs_reading_by == START + 36 * HOUR
    assert found.done_at is None


def test_it_begins_with_the_first_reading_in_range_and_not_with_the_first_dose():
    found = clock((0, "0.05"), (12, "0.10"), (24, "0.15"), (36, "0.15"), at=36)

    assert found.counts_from == START + 24 * HOUR
    assert found.counted == 12 * HOUR


def test_a_longer_gap_is_unknown_and_never_counts():
    found = clock((0, "0.2"), (12, "0.2"), (24.5, "0.2"), at=24.5)

    assert found.counted == 12 * HOUR
    assert found.unknown == 12.5 * HOUR


def test_a_drop_begins_it_anew_where_the_rule_says_so():
    pairs = ((0, "0.2"), (12, "0.2"), (24, "0.2"), (36, "0.149"), (48, "0.2"), (60, "0.2"))
    kind = Clock("copper", "mg/L", COPPER.allowed, COPPER.needed, False, COPPER.gap_most)

    assert clock(*pairs, at=60).counted == 12 * HOUR
    assert clock(*pairs, at=60).restarts == 1
    assert clock(*pairs, at=60).counts_from == START + 48 * HOUR
    assert clock(*pairs, rule=kind, at=60).counted > 36 * HOUR
    assert clock(*pairs, rule=kind, at=60).restarts == 0


def test_what_was_counted_is_lost_with_the_drop_itself():
    found = clock((0, "0.2"), (12, "0.2"), (24, "0.14"), at=24)

    assert (found.counted, found.counts_from, found.restarts) == (0 * HOUR, None, 1)
    assert found.left == 48 * HOUR


def test_too_much_does_not_count_and_begins_nothing_anew():
    found = clock((0, "0.2"), (12, "0.2"), (24, "0.30"), (36, "0.2"), at=36)

    assert found.counted == 24 * HOUR
    assert found.outside == 12 * HOUR
    assert found.restarts == 0


def test_it_is_full_by_the_reading_that_shows_it_and_stays_so():
    pairs = [(hour, "0.2") for hour in range(0, 61, 12)]
    found = clock(*pairs, (72, "0.01"), at=80)

    assert found.done_at == START + 48 * HOUR
    assert found.counted == found.counted + found.left == 48 * HOUR
    assert found.restarts == 0


def test_without_a_reading_nothing_is_known():
    found = clock(at=10)

    assert (found.counted, found.counts_from, found.newest) == (0 * HOUR, None, None)
    assert found.left == 48 * HOUR


@given(
    st.lists(
        st.tuples(st.integers(0, 200), st.sampled_from(["0.10", "0.15", "0.2", "0.25", "0.3"])),
        max_size=30,
        unique_by=lambda one: one[0],
    ),
    st.integers(0, 220),
)
def test_every_hour_is_counted_once_and_only_what_was_measured_counts(pairs, at):
    found = clock(*sorted(pairs), at=at)

    assert found.counted + found.left >= COPPER.needed
    if found.counts_from is None:
        assert found.counted == 0 * HOUR
        return
    span = (found.done_at or START + at * HOUR) - found.counts_from
    assert found.counted <= found.counted + found.outside + found.unknown == span or (
        found.done_at is not None
    )


# -- A system without fish -----------------------------------------------------------------

FALLOW = definition("fallow-system@1")
ICH = "Cryptocaryon irritans (marine white spot)"


def warm(days, value="27.5", every=10):
    """Read every so many hours."""
    return [readings(*((hour, value) for hour in range(0, days * 24 + 1, every)))]


def fallow(day, temperatures=(), added=(), begins=START, **more):
    found = left_alone(
        FALLOW,
        begins=begins,
        added=added,
        temperatures=temperatures,
        at=START + day * DAY,
        **more,
    )
    return {one.organism.split()[0]: one for one in found.against}


def test_fish_in_it_are_the_end_of_every_clock():
    assert {one.state for one in fallow(99, begins=None).values()} == {FallowState.FISH_IN_IT}


@pytest.mark.parametrize(
    ("temperatures", "days"),
    [([], 76), (warm(80), 45), (warm(80, "26.9"), 76), (warm(80, "20.1"), 76)],
)
def test_how_long_follows_from_the_coldest_and_76_days_where_nobody_measured(
    temperatures, days
):
    running = fallow(days - 0.01, temperatures)["Cryptocaryon"]
    over = fallow(days, temperatures)["Cryptocaryon"]

    assert (running.state, running.days) == (FallowState.RUNNING, days)
    assert over.state is FallowState.LONG_ENOUGH
    assert over.ends_at == START + days * DAY


@pytest.mark.parametrize("value", ["20.0", "15"])
def test_in_cold_water_no_figure_is_safe(value):
    one_cold_night = [*warm(80), readings((300, value))]
    found = fallow(80, one_cold_night)["Cryptocaryon"]

    assert (found.state, found.ends_at) == (FallowState.NO_FIGURE, None)


def test_in_sand_and_rock_poor_in_oxygen_no_figure_is_safe_either():
    found = fallow(200, warm(200), poor_oxygen=True)

    assert {one.state for one in found.values()} == {FallowState.NO_FIGURE}


def test_a_gap_in_the_readings_brings_back_the_longest_figure():
    before, after = warm(20)[0], readings(*((hour, "27.5") for hour in range(600, 1200, 10)))

    assert fallow(50, [before + after])["Cryptocaryon"].days == 76


def test_anything_put_in_begins_it_anew_animal_or_not():
    added = [
        Added(START + 40 * DAY, "live rock"),
        Added(START - DAY, "before"),
        Added(START + 99 * DAY, "later"),
    ]
    found = fallow(50, warm(80), added)["Cryptocaryon"]

    assert found.ends_at == START + 85 * DAY


def test_each_organism_has_its_own_days_and_one_has_none():
    found = fallow(43, warm(80))

    assert found["velvet"].state is FallowState.LONG_ENOUGH
    assert found["flukes"].ends_at == START + 28 * DAY
    assert found["Cryptocaryon"].state is FallowState.RUNNING
    assert found["Uronema"].state is FallowState.NO_FIGURE
    assert fallow(200)["velvet"].state is FallowState.NO_FIGURE
