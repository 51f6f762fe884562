"""What readings are worth, in whichever order readings and checks are told."""

from dataclasses import replace
from datetime import timedelta
from itertools import permutations

import pytest

from protocols.values import Standing
from stock import rebuild
from stock.doors.measured import Value
from stock.doors.questions import correct_fact, withdraw_fact
from stock.doors.readings import Comparison, check_instrument, take_readings
from stock.models import Fact, Instrument, InstrumentCheck, WaterReading
from stock.queries.readings import container_readings
from stock.refusals import NotFound, Refused
from tests.make import START, asking, make, make_container, make_person, make_shop

pytestmark = pytest.mark.django_db(transaction=True)

HOUR = timedelta(hours=1)
TOLD = START + 24 * HOUR


@pytest.fixture
def shop():
    return make_shop()


@pytest.fixture
def container(shop):
    return make_container(shop)


@pytest.fixture
def meter(shop):
    return make(shop, "instruments", "S-1", quantities=["salinity"])


def told(shop, hours):
    """Told a day later, of so many hours after the start."""
    return asking(
        shop.manager,
        TOLD,
        performed_at=START + hours * HOUR,
        standing=Standing.HAPPENED,
        reason="told later",
    )


def check(shop, meter, hours, got="35"):
    compared = Comparison("35 ppt fluid", expected="35", got=got)
    return check_instrument(told(shop, hours), instrument=meter, compared=compared)


def read(shop, container, meter, hours, value="33.0"):
    one = Value(container, "salinity", value, "1", instrument=meter)
    return take_readings(told(shop, hours), site=shop.site, values=[one])


def doubts():
    rows = WaterReading.objects.order_by("performed_at")
    return {(row.performed_at - START) // HOUR: row.in_doubt for row in rows}


@pytest.mark.parametrize("order", list(permutations(range(4))))
def test_doubt_does_not_depend_on_the_order_in_which_things_are_told(
    shop, container, meter, order
):
    tell = [
        lambda: read(shop, container, meter, 2),
        lambda: check(shop, meter, 3),
        lambda: read(shop, container, meter, 4),
        lambda: check(shop, meter, 5, got="32"),
    ]
    answers = [tell[place]() for place in order]

    assert [one.status for one in answers] == [201] * 4
    assert doubts() == {2: False, 4: True}
    assert Instrument.objects.get().passed is False


def test_a_failed_check_in_between_doubts_only_up_to_the_checks_around_it(
    shop, container, meter
):
    check(shop, meter, 1)
    [read(shop, container, meter, hours) for hours in (0, 2, 4, 6)]
    check(shop, meter, 5)

    check(shop, meter, 3, got="30")

    assert doubts() == {0: False, 2: True, 4: True, 6: False}
    assert rebuild.check(TOLD) == []


def test_the_newest_check_by_its_own_time_is_the_instrument_s(shop, meter):
    check(shop, meter, 5)
    check(shop, meter, 3, got="30")

    found = Instrument.objects.get()
    assert (found.checked_at, found.passed) == (START + 5 * HOUR, True)
    assert InstrumentCheck.objects.count() == 2


def test_values_stay_as_they_were_typed(shop, container, meter):
    read(shop, container, meter, 2, value="33.00")
    check(shop, meter, 5, got="30")

    assert WaterReading.objects.get().value == "33.00"
    assert Fact.objects.get(kind="reading_taken").body["value"] == "33.00"


def test_readings_are_shown_newest_first_and_only_up_to_the_moment(shop, container, meter):
    [read(shop, container, meter, hours) for hours in (2, 4, 6)]

    asked = {"site": shop.site, "quantity": "salinity", "at": START + 4 * HOUR}
    shown = container_readings(container, **asked)

    assert [one["performed_at"] for one in shown] == [START + 4 * HOUR, START + 2 * HOUR]


def test_several_readings_are_all_kept_or_none(shop, container, meter):
    values = [
        Value(container, "salinity", "33.0", "1", instrument=meter),
        Value(container, "salinity", "333", "1", instrument=meter),
    ]

    with pytest.raises(Refused) as refused:
        take_readings(told(shop, 2), site=shop.site, values=values)

    assert refused.value.reasons[0].pointer == "/readings/1/value"
    assert not Fact.objects.filter(kind="reading_taken").exists()


def test_water_of_another_site_is_not_there(shop, meter):
    elsewhere = make_container(make_shop())

    with pytest.raises(NotFound):
        read(shop, elsewhere, meter, 2)


def test_an_instrument_of_another_site_is_not_there(shop, container):
    elsewhere = make(make_shop(), "instruments", "S-1", quantities=["salinity"])

    with pytest.raises(NotFound):
        read(shop, container, elsewhere, 2)


# -- Words about readings and checks -----------------------------------------------------------


def second_person(shop):
    return asking(make_person(shop, "Eve", "manager"), TOLD, standing=Standing.HAPPENED)


def test_a_corrected_value_is_the_value_and_the_old_one_stays_in_the_book(
    shop, container, meter
):
    read(shop, container, meter, 2, value="33.0")
    fact = Fact.objects.get(kind="reading_taken")

    correct_fact(told(shop, 3), fact=fact.uid, field="value", new="30.3")

    assert WaterReading.objects.get().value == "30.3"
    assert Fact.objects.get(kind="reading_taken").body["value"] == "33.0"
    assert rebuild.check(TOLD) == []


def test_a_failed_check_that_was_none_doubts_nothing_once_a_second_person_says_so(
    shop, container, meter
):
    read(shop, container, meter, 2)
    check(shop, meter, 3, got="30")
    fact = Fact.objects.get(kind="instrument_checked")

    withdraw_fact(told(shop, 3), fact=fact.uid)
    before = doubts()
    withdraw_fact(replace(second_person(shop), reason="wrong bottle"), fact=fact.uid)

    assert (before, doubts()) == ({2: True}, {2: False})
    assert Instrument.objects.get().passed is None
    assert rebuild.check(TOLD) == []
