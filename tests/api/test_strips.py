"""Strips of time: hours stand where they belong, lateness and restarts are in sight."""

from datetime import UTC, datetime, time, timedelta
from xml.etree import ElementTree
from zoneinfo import ZoneInfo

import pytest

from api.pages import pictures
from api.pages.pictures import ChainStay, Watch

NOON = datetime(2027, 1, 11, 12, tzinfo=UTC)


def hours(count: float) -> timedelta:
    return timedelta(hours=count)


LIMIT = NOON + hours(72)
CHAIN = [
    ChainStay("R1-01", NOON, NOON + timedelta(hours=73), NOON + timedelta(hours=72), "over"),
    ChainStay("R1-02", NOON + timedelta(hours=73), limit=NOON + timedelta(hours=145), series=2),
]


def read(svg: str) -> ElementTree.Element:
    return ElementTree.fromstring(svg)  # noqa: S314 our own picture


def classed(svg: str, name: str) -> list[ElementTree.Element]:
    return [one for one in read(svg).iter() if name in (one.get("class") or "").split()]


def nights(now: datetime, limit: datetime | None = LIMIT, **more) -> str:
    return pictures.three_nights(NOON, limit, now, **more)


def chain(**more) -> str:
    return pictures.series_strip(CHAIN, now=NOON + hours(100), **more)


def marks(svg: str) -> dict[str, str]:
    return {
        shape.get("class", ""): place.get("x", "")
        for place in read(svg).iter("svg")
        for shape in place.iter("path")
    }


def test_limit_now_and_planned_stand_at_their_hours():
    svg = nights(NOON + hours(36), planned=NOON + hours(54))

    assert marks(svg) == {"post": "100%", "planned": "75%", "now": "50%"}


def test_a_shorter_limit_stands_inside_the_three_nights():
    assert marks(nights(NOON, NOON + hours(48)))["post"] == "66.67%"


def test_past_the_limit_the_strip_goes_on_in_ink():
    assert classed(nights(NOON + hours(73)), "ink")
    assert not classed(nights(NOON + hours(72)), "ink")


def test_a_stay_that_ended_has_no_now():
    svg = nights(NOON + hours(200), ended=NOON + hours(71))

    assert "now" not in marks(svg)
    assert not classed(svg, "ink")


def test_a_stay_that_has_not_begun_is_no_stay():
    with pytest.raises(ValueError, match="starts before"):
        nights(NOON - hours(1))


def test_dark_hours_follow_the_clocks_of_the_place():
    zone = ZoneInfo("Europe/Berlin")
    begins = datetime(2027, 3, 27, 12, tzinfo=UTC)

    (dark,) = pictures.dark_hours(
        begins, begins + hours(24), light_off=time(20), light_on=time(8), zone=zone
    )

    # The clocks go forward in this night: one hour less of it.
    assert (dark.begins, dark.ends - dark.begins) == (begins + hours(7), hours(11))
    assert dark.label == "Sat 27"


# -- Chain of stays ----------------------------------------------------------------------------


def test_a_restart_is_a_step_down_with_a_torn_end():
    assert len(classed(chain(), "torn")) == len(classed(chain(), "drop")) == 1
    assert [one.text for one in classed(chain(), "row-name")] == ["Series 1", "Series 2"]


def test_the_hours_past_a_limit_are_ink():
    (late,) = classed(chain(), "ink")

    assert late.get("width") == "1%"


def test_an_observation_that_a_sign_stopped_is_torn_too():
    watch = Watch(NOON + hours(73), NOON + hours(90), stopped=True)

    assert len(classed(chain(watch=watch), "torn")) == 2


def test_without_stays_there_is_no_picture():
    assert pictures.series_strip([], now=NOON) == ""
