"""Units that people use: nothing kept is ever changed by showing it."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from protocols.units import SORTS, NoUnit, read_back, shown, to_kept, unit_of

PROPORTIONAL = [
    (sort, unit.name) for sort, units in SORTS.items() for unit in units if not unit.convention
]
GRAVITIES = [unit.name for unit in SORTS["salinity"] if unit.convention]


@given(st.sampled_from(PROPORTIONAL), st.decimals(-2, 45, places=3))
def test_what_is_shown_and_sent_back_unchanged_is_what_was_kept(which, kept):
    unit = unit_of(*which)

    assert read_back(unit, Decimal(shown(unit, kept)), kept) == kept


@given(st.sampled_from(GRAVITIES), st.decimals(0, 49, places=2))
def test_so_is_a_salinity_shown_as_a_specific_gravity(code, kept):
    unit = unit_of("salinity", code)

    assert read_back(unit, Decimal(shown(unit, kept)), kept) == kept


@given(st.sampled_from(PROPORTIONAL), st.decimals(0, 900, places=1))
def test_what_is_typed_in_a_unit_is_read_again_in_it(which, typed):
    """To a millionth of what is kept, which is less than anybody can measure."""
    unit = unit_of(*which)
    again = Decimal(shown(unit, read_back(unit, typed), places=9))

    assert abs(float(again - typed)) <= 1e-6 / float(unit.size)


@pytest.mark.parametrize(
    ("sort", "code", "typed", "kept"),
    [
        ("temperature", "[degF]", "78.1", "25.6111111"),
        ("temperature", "[degF]", "77", "25"),
        ("volume", "us_gal", "10", "37.8541178"),
        ("volume", "imp_gal", "10", "45.4609"),
        ("mass", "lb", "1", "453.59237"),
        ("mass", "oz", "16", "453.59237"),
        ("length", "in", "10", "25.4"),
        ("altitude", "ft", "1000", "304.8"),
        ("pressure", "inHg", "29.92", "1013.2076"),
        ("conductivity", "uS/cm", "50100", "50.1"),
        ("ammonia", "mg/L NH3", "1", "0.822441"),
        ("share", "%", "92", "0.92"),
        ("salinity", "SG 25/25", "1.0240", "31.864"),
        ("salinity", "SG 25/4", "1.0240", "35.8347"),
        ("salinity", "", "33", "33"),
    ],
)
def test_a_value_in_a_unit_is_kept_as(sort, code, typed, kept):
    found = to_kept(unit_of(sort, code), Decimal(typed))

    assert float(found) == pytest.approx(float(kept), rel=1e-4)


@pytest.mark.parametrize(
    ("sort", "code", "kept", "text"),
    [
        ("temperature", "[degF]", "25.6", "78.1"),
        ("temperature", "Cel", "25.60", "25.60"),
        ("volume", "us_gal", "60", "15.9"),
        ("salinity", "SG 25/25", "33", "1.0249"),
        ("salinity", "1", "33.0", "33.0"),
    ],
)
def test_a_kept_value_is_shown_as(sort, code, kept, text):
    assert shown(unit_of(sort, code), Decimal(kept)) == text


@pytest.mark.parametrize(
    ("sort", "code"), [("volume", "gallon"), ("temperature", "K"), ("salinity", "SG")]
)
def test_a_unit_that_is_nobodys_is_not_guessed(sort, code):
    with pytest.raises(NoUnit):
        unit_of(sort, code)
