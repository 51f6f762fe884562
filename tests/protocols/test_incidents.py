"""Which incidents leave a lid to be fixed."""

import pytest

from protocols.incidents import leaves_lid_off


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
