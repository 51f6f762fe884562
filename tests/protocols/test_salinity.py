"""Practical salinity from specific gravity and conductivity."""

from decimal import Decimal

import pytest

from protocols.salinity import (
    Convention,
    NoSalinity,
    from_conductivity,
    from_specific_gravity,
    read_convention,
)

COMMON = Convention(25.0, 25.0)


@pytest.mark.parametrize(
    ("text", "convention"),
    [
        ("25/25", COMMON),
        (" 25/25 C ", COMMON),
        ("20 / 20", Convention(20.0, 20.0)),
        ("25/4 °C", Convention(25.0, 4.0)),
        ("77/77 F", COMMON),
        ("59/59F", Convention(15.0, 15.0)),
        ("17.5/17.5", Convention(17.5, 17.5)),
    ],
)
def test_a_convention_says_temperatures_of_sample_and_reference(text, convention):
    assert read_convention(text) == convention


@pytest.mark.parametrize("text", ["", "25", "sea water", "25/25 K", "25/"])
def test_what_is_no_convention_is_not_guessed(text):
    with pytest.raises(NoSalinity):
        read_convention(text)


# Values of the table of common conventions at S = 35 and at 1.0240.
@pytest.mark.parametrize(
    ("value", "convention", "salinity"),
    [
        ("1.02637", "25/25", "35.00"),
        ("1.02661", "20/20", "35.00"),
        ("1.02686", "60/60 F", "35.00"),
        ("1.02690", "15/15", "35.00"),
        ("1.02337", "25/4", "35.00"),
        ("1.0240", "25/25", "31.86"),
        ("1.0240", "20/20", "31.58"),
        ("1.0240", "60/60 F", "31.28"),
        ("1.0240", "25/4", "35.83"),
        ("1.009", "25/25", "11.96"),
        ("1.0000", "25/25", "0.00"),
        ("0.9997", "25/25", "0.00"),
    ],
)
def test_a_specific_gravity_means_a_salinity_by_its_convention(value, convention, salinity):
    found = from_specific_gravity(Decimal(value), read_convention(convention))

    assert abs(found - Decimal(salinity)) <= Decimal("0.02")


def test_a_thousandth_of_specific_gravity_is_the_difference_that_a_match_allows():
    one, two = (from_specific_gravity(Decimal(sg), COMMON) for sg in ("1.024", "1.025"))

    assert Decimal("1.2") < two - one < Decimal("1.4")


@pytest.mark.parametrize("value", ["0.99", "1.0399", "24"])
def test_no_sea_water_is_so_light_or_so_heavy(value):
    with pytest.raises(NoSalinity):
        from_specific_gravity(Decimal(value), COMMON)


@pytest.mark.parametrize(
    ("ms_cm", "temperature_c", "salinity"),
    [
        ("42.914", "15", "35.00"),  # the definition, to the change of temperature scale
        ("53.071", "25", "35.00"),
        ("50.0", "25", "32.73"),
        ("20.0", "22", "12.74"),
        ("20.535", "26", "12.00"),
        ("48.8", "25", "31.86"),
        ("0", "25", "0.00"),
        ("1.5", "25", "0.75"),
    ],
)
def test_a_conductivity_means_a_salinity_at_its_temperature(ms_cm, temperature_c, salinity):
    found = from_conductivity(Decimal(ms_cm), Decimal(temperature_c))

    assert abs(found - Decimal(salinity)) <= Decimal("0.03")


@pytest.mark.parametrize("ms_cm", ["-1", "100"])
def test_no_sea_water_conducts_so(ms_cm):
    with pytest.raises(NoSalinity):
        from_conductivity(Decimal(ms_cm), Decimal(25))
