"""The water on the page of a batch: ammonia ahead with readings on it, ranges behind."""

from datetime import UTC, datetime, timedelta
from xml.etree import ElementTree

import pytest
from django.test import Client
from django.urls import reverse

from api.pages.pictures.scale import Scale
from api.pages.pictures.waters import (
    AmmoniaShown,
    Level,
    Measured,
    Part,
    ammonia_curve,
    range_strip,
)
from tests.floor import Floor
from tests.visit import Visit

OPENED = "2027-01-11T07:00:00+00:00"
PLACED = "2027-01-11T08:00:00+00:00"
READ = "2027-01-12T14:00:00+00:00"
SEEN = "2027-01-12T15:00:00+00:00"
NOON = datetime(2027, 1, 11, 12, tzinfo=UTC)


@pytest.fixture(scope="module")
def opened(kept_for_module):
    """16 of 4 cm in 60 L; total ammonia was read after 30 hours, a third was changed then."""
    floor = Floor.open(Client(), OPENED, zone="Europe/Lisbon", containers=2, kits=2)
    line = floor.receive(16, at=PLACED, length_cm="4")
    floor.uids["batch"] = floor.place(16, "R1-01", "A-1", at=PLACED, line=line)
    values = (
        ("total_ammonia", "1.1", "mg/L"),
        ("ph", "8.1", "[pH]"),
        ("temperature", "26", "Cel"),
    )
    more = {"total_ammonia": {"reported_as": "N"}, "ph": {"ph_scale": "NBS"}}
    readings = [
        {
            "container": floor.uids["R1-01"],
            "quantity": quantity,
            "value": value,
            "unit": unit,
            **more.get(quantity, {}),
        }
        for quantity, value, unit in values
    ]
    floor.walk.at(READ).post("readings", {"readings": readings})
    return floor


@pytest.fixture
def floor(opened):
    return opened.again()


@pytest.fixture(autouse=True)
def _under_the_test_clock(db, settings):
    settings.TEST_CLOCK = True


def read(svg):
    return ElementTree.fromstring(svg)  # noqa: S314 our own picture


def classed(svg, name):
    return [one for one in read(svg).iter() if name in (one.get("class") or "").split()]


def test_the_page_of_a_batch_tells_ammonia_ahead_and_as_it_was_read(floor):
    text = Visit.by(floor.walk.person, SEEN).read("batch", floor.uids["batch"])

    assert "From the last reading on, NH3-N is over the alarm of 0.05 mg/L." in text
    assert "Amphiprion ocellaris of 4 cm, about 1.5 g each, up to 30 % more or less" in text
    assert "total 1.1" in text
    assert "over the alarm" in text


def test_the_page_of_a_batch_tells_hours_inside_outside_and_unknown(floor):
    """Temperature was read at the placement and 30 hours later: the gap proves nothing."""
    visit = Visit.by(floor.walk.person, SEEN)
    page = visit.client.get(
        reverse("batch", args=[floor.uids["batch"]]), headers={"Fillmark-Now": SEEN}
    ).content.decode()

    table = page[page.index("Temperature and salinity during this stay") :]
    assert "24.0 °C to 28.0 °C" in table
    assert 'data-column="Unknown" class="number">31:00' in table


def test_a_form_that_puts_them_in_shows_what_ready_containers_take(floor):
    visit = Visit.by(floor.walk.person, SEEN)

    moving = visit.read("move", floor.uids["batch"])

    assert "L: R1-02" in moving
    assert "ammonia" in moving
    # Counts are typed blind: the number of animals stands nowhere on this page.
    assert "16" not in moving


# -- The pictures ------------------------------------------------------------------------------

SCALE = Scale(NOON, NOON + timedelta(hours=72))


def curve(**more):
    line = (Level(NOON, 0.0), Level(NOON + timedelta(hours=72), 0.08))
    return ammonia_curve(
        AmmoniaShown(SCALE, NOON, 0.05, planned=line, **more), says="It rises."
    )


def test_readings_stand_at_their_time_and_those_over_the_alarm_are_filled():
    half = NOON + timedelta(hours=36)
    shown = curve(
        measured=(
            Measured(half, 0.06, 0.07, free=False, over=True),
            Measured(half, 0.01, 0.01, free=True, over=False),
        )
    )

    places = [one.get("x") for one in read(shown) if one.tag.endswith("svg")]
    assert places == ["50%", "50%"]
    assert len(classed(shown, "over")) == 1
    total, free = classed(shown, "reading")
    assert (total.tag, free.tag) == ("circle", "path")


def test_what_is_higher_is_drawn_higher_and_the_alarm_between():
    shown = curve()
    (line,) = classed(shown, "curve")
    (alarm,) = classed(shown, "alarm-line")

    assert float(line.get("y2")) < float(alarm.get("y1")) < float(line.get("y1"))
    assert "It rises." in shown


def test_the_whole_stay_is_drawn_and_said_in_words():
    parts = (
        Part(NOON, NOON + timedelta(hours=36), "inside"),
        Part(NOON + timedelta(hours=36), NOON + timedelta(hours=72), "unknown"),
    )

    shown = range_strip(parts, SCALE, "Temperature")

    assert [one.get("width") for one in classed(shown, "part")] == ["50%", "50%"]
    assert "inside, unknown" in shown
