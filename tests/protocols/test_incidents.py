"""Which incidents leave a lid to be fixed."""

from datetime import timedelta

import pytest

from protocols.incidents import jumped_alive, leaves_lid_off, looks_due
from tests.protocols.story import START


@pytest.mark.parametrize(
    ("kind", "what", "off"),
    [
        ("jump", {}, True),
        ("jumped", {"handled_by": "Ada"}, True),
        ("jump", {"lid": "sound"}, False),
        ("jump", {"lid": "shifted"}, True),
        ("lid_off", {}, True),
        ("heater_failed", {"lid": "cracked"}, True),
        ("heater_failed", {"lid": True}, False),
        ("heater_failed", {"lid": False}, True),
        ("heater_failed", {}, False),
        ("solid_waste", {}, False),
    ],
)
def test_a_jump_or_a_lid_that_is_not_sound(kind, what, off):
    assert leaves_lid_off(kind, what) is off


@pytest.mark.parametrize(
    ("kind", "what", "alive"),
    [
        ("jumped", {}, True),
        ("jump", {"alive": True}, True),
        ("jumped", {"alive": False}, False),
        ("lid_off", {}, False),
    ],
)
def test_what_jumped_lives_unless_it_is_said_not_to(kind, what, alive):
    assert jumped_alive(kind, what) is alive


@pytest.mark.parametrize(
    ("looked", "left"),
    [
        ([], [1, 2]),
        ([-5], [1, 2]),
        ([19], [1, 2]),
        ([20], [2]),
        ([20, 289], [2]),
        ([290], []),
    ],
)
def test_a_look_counts_from_a_quarter_of_an_hour_before_its_time(looked, left):
    moments = [START + timedelta(minutes=one) for one in looked]

    assert [number for number, _ in looks_due(START, moments)] == left
