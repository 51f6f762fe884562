"""Deadlines of claims, reviews, searches and lids."""

from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from protocols.deadlines import (
    ClaimDeadline,
    claim_deadlines,
    lights_off_after,
    may_presume_lost,
    presumable_from,
    review_by,
)
from protocols.values import Rules
from tests.protocols.staffed import BERLIN, local

AMSTERDAM = ZoneInfo("Europe/Amsterdam")
DELIVERED = local(AMSTERDAM, "2027-03-04 07:12")
MISSING = datetime(2027, 2, 17, 8, tzinfo=UTC)
SECOND = timedelta(seconds=1)


def test_a_claim_window_runs_from_the_delivery():
    (doa,) = claim_deadlines(DELIVERED, {"doa": 7200})

    assert doa == ClaimDeadline("doa", local(AMSTERDAM, "2027-03-04 09:12"))
    assert doa.remind_at == local(AMSTERDAM, "2027-03-04 08:42")


def test_the_claim_that_lapses_first_stands_first():
    deadlines = claim_deadlines(DELIVERED, {"short": 86400, "doa": 7200})

    assert [one.kind for one in deadlines] == ["doa", "short"]


@pytest.mark.parametrize(
    ("evidence", "late_by"),
    [("08:02", timedelta(0)), ("09:12", timedelta(0)), ("09:30", timedelta(minutes=18))],
)
def test_evidence_outside_the_window_says_by_how_much(evidence, late_by):
    (doa,) = claim_deadlines(DELIVERED, {"doa": 7200})

    assert doa.late_by(local(AMSTERDAM, f"2027-03-04 {evidence}")) == late_by


def test_an_emergency_is_reviewed_within_the_hours_of_the_site():
    assert review_by(MISSING, Rules()) == MISSING + timedelta(hours=12)
    assert review_by(MISSING, Rules(review_within_s=3600)) == MISSING + timedelta(hours=1)


def test_the_missing_may_be_presumed_lost_after_48_hours():
    closes = MISSING + timedelta(hours=48)

    assert presumable_from(MISSING, Rules()) == closes
    assert may_presume_lost(MISSING, Rules(), at=closes)
    assert not may_presume_lost(MISSING, Rules(), at=closes - SECOND)


def test_a_site_may_search_for_longer():
    longer = Rules(missing_close_after_s=259200)

    assert not may_presume_lost(MISSING, longer, at=MISSING + timedelta(hours=48))


@pytest.mark.parametrize(
    ("at", "dark"),
    [
        ("2027-02-14 06:55", "2027-02-14 21:30"),
        ("2027-02-14 21:29", "2027-02-14 21:30"),
        ("2027-02-14 21:30", "2027-02-15 21:30"),
        ("2027-03-27 22:00", "2027-03-28 21:30"),
    ],
)
def test_the_light_goes_off_at_its_wall_time(at, dark):
    found = lights_off_after(local(BERLIN, at), time(21, 30), BERLIN)

    assert found == local(BERLIN, dark)


def test_a_light_that_goes_off_at_a_time_left_out_goes_off_at_the_change():
    found = lights_off_after(local(BERLIN, "2027-03-28 01:00"), time(2, 30), BERLIN)

    assert found == local(BERLIN, "2027-03-28 03:00")
