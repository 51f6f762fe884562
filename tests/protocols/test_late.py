"""What counts as told late, under whom, and in which month."""

from datetime import timedelta
from zoneinfo import ZoneInfo

import pytest

from protocols.late import by_person_and_month, late_entries
from protocols.ruled import Rules, RulesHistory
from tests.protocols.story import ADA, BEN, START, hour, tell, uid

HOUR = timedelta(hours=1)
SECOND = timedelta(seconds=1)
DRY = {"subjects": [str(uid("tub"))]}


def dry(name="dry", late=2 * HOUR, **given):
    return tell(name, "seen_dry", hour(10), recorded=hour(10) + late, body=DRY, **given)


NO_RULES = RulesHistory()


def late(*told, words=(), rules=NO_RULES):
    return late_entries(told, words, rules=rules)


@pytest.mark.parametrize(("gap", "found"), [(HOUR, 0), (HOUR + SECOND, 1)])
def test_what_needed_a_reason_was_late(gap, found):
    assert len(late(dry(late=gap))) == found


def test_the_rules_of_when_it_was_told_say_what_is_late():
    rules = RulesHistory(((hour(11), Rules(late_reason_after_s=3 * 3600)),))

    assert late(dry(), rules=rules) == ()
    assert len(late(dry())) == 1


def test_what_a_tablet_sent_later_was_not_told_later():
    told = dry(late=9 * HOUR, raw_at=hour(10), clock_offset_ms=0)

    assert late(told) == ()


@pytest.mark.parametrize(("gap", "waits"), [(12 * HOUR, False), (12 * HOUR + SECOND, True)])
def test_long_after_it_waits_for_a_second_person(gap, waits):
    told = dry(late=gap)
    own = tell("own", "confirmed", hour(30), of=told.uid)
    second = tell("second", "confirmed", hour(31), of=told.uid, doer=BEN)

    (alone,) = late(told, words=[own])
    (together,) = late(told, words=[own, second])

    assert (alone.waits, alone.confirmed) == (waits, ())
    assert not together.waits
    assert [(one.by, one.at) for one in together.confirmed] == [(BEN, hour(31))]


def test_one_request_about_one_moment_is_one_entry():
    group = uid("request")

    (found,) = late(dry("one", group=group), dry("two", group=group))

    assert found.facts == 2


def test_they_stand_under_who_did_it_and_the_month_at_the_place():
    midnight = START.replace(month=2, day=1, hour=0) - HOUR
    told = [
        tell("a", "seen_dry", midnight - 5 * HOUR, recorded=midnight - SECOND, body=DRY),
        tell("b", "seen_dry", midnight - 3 * HOUR, recorded=midnight, body=DRY, doer=BEN),
    ]

    found = by_person_and_month(late(*told), ZoneInfo("Europe/Berlin"))

    assert [(one.person, one.month) for one in found] == [(ADA, "2027-01"), (BEN, "2027-02")]
