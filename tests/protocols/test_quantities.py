"""What a measured value must say before it is kept."""

from decimal import Decimal
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from protocols.quantities import (
    QUANTITIES,
    InstrumentKnown,
    Measured,
    faults,
    in_own_unit,
    passes,
)

METER = UUID(int=7)
KNOWN = InstrumentKnown("M-1", frozenset(QUANTITIES), "25/25")


def pointers(measured, instrument=KNOWN):
    return [one.pointer for one in faults(measured, instrument, at="/readings/0")]


@pytest.mark.parametrize(
    "measured",
    [
        Measured("temperature", "25.6", "Cel"),
        Measured("temperature", "78.1", "[degF]"),
        Measured("salinity", "33.0", "1", METER),
        Measured("specific_gravity", "1.0235", "1", METER),
        Measured("conductivity", "50.1", "mS/cm"),
        Measured("ph", "8.10", "[pH]", ph_scale="NBS"),
        Measured("total_ammonia", "0.25", "mg/L", reported_as="NH3"),
        Measured("nitrite", "0", "mg/L"),
        Measured("oxygen_saturation", "96", "%"),
    ],
)
def test_a_value_with_its_unit_and_what_belongs_to_it_is_taken(measured):
    assert pointers(measured) == []


@pytest.mark.parametrize(
    ("measured", "pointer"),
    [
        (Measured("salt", "33", "1"), "quantity"),
        (Measured("temperature", "25.6", "K"), "unit"),
        (Measured("temperature", "78.1", "Cel"), "value"),
        (Measured("temperature", "25.6", "[degF]"), "value"),
        (Measured("conductivity", "50100", "mS/cm"), "value"),
        (Measured("specific_gravity", "1.25", "1", METER), "value"),
        (Measured("nitrate", "-1", "mg/L"), "value"),
        (Measured("nitrate", "NaN", "mg/L"), "value"),
        (Measured("nitrate", "some", "mg/L"), "value"),
        (Measured("ph", "8.1", "[pH]"), "ph_scale"),
        (Measured("ph", "8.1", "[pH]", ph_scale="blue"), "ph_scale"),
        (Measured("oxygen", "6.5", "mg/L", ph_scale="NBS"), "ph_scale"),
        (Measured("total_ammonia", "0.25", "mg/L"), "reported_as"),
        (Measured("nitrite", "0.1", "mg/L", reported_as="NH3"), "reported_as"),
    ],
)
def test_what_cannot_be_meant_is_named_at_its_field(measured, pointer):
    assert pointers(measured) == [f"/readings/0/{pointer}"]


@pytest.mark.parametrize("quantity", ["salinity", "specific_gravity"])
def test_salinity_and_specific_gravity_say_their_instrument(quantity):
    value = {"salinity": "33.0", "specific_gravity": "1.024"}[quantity]

    assert pointers(Measured(quantity, value, "1"), None) == ["/readings/0/instrument"]


def test_an_instrument_that_measures_something_else_is_not_the_one_that_was_meant():
    thermometer = InstrumentKnown("T-1", frozenset({"temperature"}))

    assert pointers(Measured("salinity", "33.0", "1", METER), thermometer) == [
        "/readings/0/instrument"
    ]


def test_a_specific_gravity_without_a_convention_says_nothing():
    glass = InstrumentKnown("R-2", frozenset({"specific_gravity"}), None)

    assert pointers(Measured("specific_gravity", "1.024", "1", METER), glass) == [
        "/readings/0/instrument"
    ]


def test_a_slip_is_told_with_the_range_it_left():
    (fault,) = faults(Measured("conductivity", "50100", "mS/cm"), KNOWN)

    assert fault.numbers == {
        "value": "50100",
        "least": "0",
        "most": "100",
        "did_you_mean": "50.1 mS/cm (50100 uS/cm)",
    }


@pytest.mark.parametrize(
    ("measured", "meant"),
    [
        (Measured("specific_gravity", "33", "1", METER), "salinity 33"),
        (Measured("specific_gravity", "1.24", "1", METER), "1.024"),
        (Measured("ph", "25", "[pH]", ph_scale="NBS"), "a temperature of 25 C"),
        (Measured("ph", "81", "[pH]", ph_scale="NBS"), "8.1"),
        (Measured("temperature", "78.1", "Cel"), "25.6 C (78.1 F)"),
        (Measured("temperature", "25.6", "[degF]"), "25.6 C (78.1 F)"),
        (Measured("salinity", "53", "1", METER), "a conductivity of 53 mS/cm"),
    ],
)
def test_a_reading_in_another_unit_is_asked_back(measured, meant):
    (fault,) = faults(measured, KNOWN)

    assert fault.numbers["did_you_mean"] == meant
    assert fault.text.endswith(f"Did you mean {meant}?")


@pytest.mark.parametrize(
    "measured",
    [Measured("nitrate", "-1", "mg/L"), Measured("ph", "-3", "[pH]", ph_scale="NBS")],
)
def test_where_nobody_can_guess_nothing_is_asked(measured):
    (fault,) = faults(measured, KNOWN)

    assert "did_you_mean" not in fault.numbers


@pytest.mark.parametrize(
    ("value", "unit", "expected"),
    [("25.6", "Cel", "25.6"), ("32", "[degF]", "0"), ("77", "[degF]", "25")],
)
def test_temperatures_are_compared_in_celsius(value, unit, expected):
    assert in_own_unit("temperature", Decimal(value), unit) == (
        "temperature",
        Decimal(expected),
    )


@pytest.mark.parametrize(
    ("quantity", "unit"), [("temperature", "K"), ("salt", "1"), ("specific_gravity", "1")]
)
def test_what_means_nothing_by_itself_is_not_compared(quantity, unit):
    assert in_own_unit(quantity, Decimal("1.024"), unit) is None


@pytest.mark.parametrize(
    ("quantity", "expected", "got", "passed"),
    [
        ("specific_gravity", "1.0264", "1.0235", False),
        ("specific_gravity", "1.0264", "1.0254", True),
        ("salinity", "35", "36.0", True),
        ("salinity", "35", "36.1", False),
        ("temperature", "25.0", "24.5", True),
        ("temperature", "25.0", "25.6", False),
        ("conductivity", "53.0", "51.5", True),
        ("conductivity", "53.0", "51.4", False),
        ("turbidity", "1", "1.0", True),
        ("turbidity", "1", "1.1", False),
    ],
)
def test_an_instrument_passes_when_it_is_near_enough_to_the_standard(
    quantity, expected, got, passed
):
    assert passes(quantity, expected=expected, got=got) is passed


DECIMALS = st.decimals(-10, 200, places=3).map(str)


@given(st.sampled_from(sorted(QUANTITIES)), DECIMALS, DECIMALS)
def test_a_check_does_not_mind_in_which_direction_an_instrument_is_off(quantity, standard, off):
    below, above = (str(Decimal(standard) + sign * Decimal(off)) for sign in (-1, 1))

    assert passes(quantity, expected=standard, got=below) == passes(
        quantity, expected=standard, got=above
    )
