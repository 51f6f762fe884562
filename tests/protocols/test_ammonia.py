"""What a reading of ammonia means, and what an alarm asks for."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from uuid import UUID

import pytest

from protocols.ammonia import (
    FREE,
    TOTAL,
    Ammonia,
    Beside,
    Dosed,
    Sample,
    Span,
    alarms_in,
    assess,
    binds_ammonia,
)
from protocols.tasks import What, work_key
from protocols.values import Rules
from tests.protocols.situations import HOUR, PLACED, R1_01, R1_02, batch, due, only

ALARM = Rules().nh3_n_alarm_mg_l
AT = datetime(2027, 2, 10, 18, 0, tzinfo=UTC)
PH = Beside(UUID(int=71), Decimal("8.1"), AT)
WARMTH = Beside(UUID(int=72), Decimal(26), AT)
SALT = Beside(UUID(int=73), Decimal(33), AT)


def total(value="1.0", at=AT, uid=1, where=R1_01, **more):
    known = {"ph": PH, "temperature": WARMTH, "salinity": SALT, **more}
    return Sample(UUID(int=uid), where, TOTAL, Decimal(value), at, **known)


def free(value, at, uid=2, **more):
    return Sample(UUID(int=uid), R1_01, FREE, Decimal(value), at, **more)


def test_nh3_follows_from_ph_temperature_and_salinity():
    found = assess(total())

    assert found.nh3_n_mg_l == pytest.approx(0.0535, abs=0.0005)
    assert found.most_mg_l == pytest.approx(0.0535 * 1.15, abs=0.0006)
    assert (found.assumed, found.marks) == ((), ())
    assert found.numbers()["used"] == {
        "ph": str(PH.uid),
        "temperature": str(WARMTH.uid),
        "salinity": str(SALT.uid),
    }


def test_as_what_a_kit_reports_and_the_scale_of_the_ph_count():
    as_n = assess(total()).nh3_n_mg_l

    assert assess(total(reported_as="NH3")).nh3_n_mg_l == pytest.approx(
        as_n / 1.21588, rel=1e-4
    )
    assert assess(total(reported_as="NH4")).nh3_n_mg_l == pytest.approx(
        as_n / 1.28785, rel=1e-4
    )
    on_total = assess(total(ph=replace(PH, scale="total"))).nh3_n_mg_l
    assert on_total == pytest.approx(1.36 * as_n, rel=0.01)


def test_what_nobody_read_is_assumed_on_the_careful_side_and_said():
    found = assess(total(ph=None, temperature=None, salinity=None))

    assert found.assumed == ("ph", "temperature", "salinity")
    assert found.nh3_n_mg_l > 1.9 * assess(total()).nh3_n_mg_l
    assert found.marks[0] == "no pH was read: 8.4 assumed"
    assert found.numbers()["ph"] == "8.4"


@pytest.mark.parametrize(
    ("since", "marks"),
    [
        (timedelta(minutes=40), ("total test, 40 min after a binder: can read high",)),
        (timedelta(hours=3), ("total test, 3:00 after a binder: can read high",)),
        (timedelta(hours=48), ("total test, 48:00 after a binder: can read high",)),
        (timedelta(hours=48, minutes=1), ()),
        (timedelta(minutes=-1), ()),
    ],
)
def test_a_total_test_after_a_binder_can_read_high(since, marks):
    assert assess(total(binders=(Dosed("Sample Bind", AT - since),))).marks == marks


@pytest.mark.parametrize(
    ("product", "why", "told", "binds"),
    [
        ("Sample Bind", None, None, True),
        ("X-1", "binding conditioner", None, True),
        ("X-1", None, None, False),
        ("X-1", None, True, True),
        ("Binder of leaves", None, False, False),
    ],
)
def test_what_binds_ammonia(product, why, told, binds):
    assert binds_ammonia(product, why, told) is binds


@pytest.mark.parametrize(("value", "over"), [("0.80", False), ("0.82", True), ("1.0", True)])
def test_the_upper_end_of_the_error_alarms(value, over):
    assert assess(total(value)).is_over(ALARM) is over


@pytest.mark.parametrize(("value", "over"), [("0.049", False), ("0.05", True)])
def test_free_ammonia_alarms_as_it_was_read(value, over):
    assert assess(free(value, AT)).is_over(ALARM) is over


STAY = Span(R1_01, AT - 35 * HOUR)


def alarms(*samples, stays=(STAY,)):
    return alarms_in(stays, map(assess, samples), ALARM)


def test_an_alarm_stands_until_a_reading_below_it():
    (standing,) = alarms(total())
    (ended,) = alarms(total(), free("0.01", AT + HOUR))
    (held,) = alarms(total(), free("0.06", AT + HOUR))

    assert (standing.is_open, ended.is_open, held.is_open) == (True, False, True)
    assert held.newest.sample.quantity == FREE


def test_time_alone_ends_no_alarm_and_leaving_the_container_does():
    (left,) = alarms(total(), stays=(Span(R1_01, STAY.begins, AT + HOUR),))

    assert not left.is_open
    assert alarms(total(where=R1_02)) == ()
    assert alarms(total(at=STAY.begins - HOUR)) == ()


def test_values_near_in_time_tell_of_one_alarm_and_later_ones_of_another():
    again = [total(at=AT + hours * HOUR, uid=hours + 1) for hours in (0, 12, 25)]

    assert len(alarms(*again[:2])) == 1
    assert [one.is_open for one in alarms(*again)] == [False, True]


def alarmed(*samples, **given):
    stay = Span(R1_01, PLACED)
    found = alarms_in((stay,), map(assess, samples), ALARM)
    return batch(ammonia=Ammonia(found, Decimal(60)), **given)


def test_an_alarm_stands_above_everything_and_asks_for_free_ammonia_at_once():
    found = due(alarmed(total(at=PLACED + 35 * HOUR)), at=PLACED + 35 * HOUR)

    assert (found[0].what, found[0].why, found[0].first) == (What.READING, FREE, True)
    assert found[0].planned == PLACED + 35 * HOUR
    assert found[0].key == work_key(What.READING, R1_01, UUID(int=1), FREE)


def test_two_ways_are_offered_with_what_they_do_to_the_series():
    change, move = due(alarmed(total(at=PLACED + 35 * HOUR)))[0].numbers["offers"]

    assert (change["kind"], change["effect_on_series"]) == ("water_change", "none")
    assert (change["percent"], change["litres"]) == (70, "42.0")
    assert (move["kind"], move["stay_s"]) == ("move", 35 * 3600)
    assert move["limit_if_now"] == "2027-01-09T20:00:00Z"
    assert move["earliest_end"] == "2027-01-17T09:00:00Z"
    assert (move["moves_at_limit"], move["moves_if_now"]) == (4, 5)


def test_where_nobody_read_the_ph_it_is_asked_for_as_well():
    found = due(alarmed(total(at=PLACED + HOUR, ph=None)))

    assert {(one.why, one.first) for one in found if one.what is What.READING} == {
        (FREE, True),
        ("ph", True),
    }


def test_the_second_alarm_of_a_series_questions_the_stocking():
    first, second = total(at=PLACED + HOUR), total(at=PLACED + 30 * HOUR, uid=9)

    asked = only(What.REVIEW_STOCKING, due(alarmed(first, second)))

    assert asked.key.endswith(str(UUID(int=9)))
    assert (asked.container, asked.numbers["alarms"]) == (R1_01, 2)
    assert What.REVIEW_STOCKING not in {one.what for one in due(alarmed(first))}
