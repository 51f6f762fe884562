"""Round trips, directions, series, and other formulas that are known to agree or to differ."""

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from protocols import water

ROOT = Path(__file__).parents[3]
SALINITIES = st.floats(0, 50)
TEMPERATURES = st.floats(-2, 45)
VOLUMES = st.floats(0.1, 10_000)


@given(SALINITIES, TEMPERATURES, st.sampled_from([4, 15, 15.5556, 20, 25]))
def test_a_specific_gravity_gives_back_the_salinity(salinity, sample, reference):
    temperatures = {"sample_temperature_c": sample, "reference_temperature_c": reference}
    shown = water.specific_gravity(salinity=salinity, **temperatures)

    found = water.salinity_from_sg(specific_gravity=shown, **temperatures)

    assert found == pytest.approx(salinity, abs=1e-6)


@given(st.floats(0.05, 50), st.floats(0, 35))
def test_a_conductivity_gives_back_the_salinity(salinity, temperature):
    shown = water.conductivity_ms_cm(salinity=salinity, temperature_c=temperature)

    found = water.salinity_from_conductivity(
        conductivity_ms_cm=min(shown, 100), temperature_c=temperature
    )

    assert found == pytest.approx(salinity, abs=1e-4)


@given(st.floats(5, 60), st.floats(5, 60), st.floats(5, 100), st.floats(0, 1))
def test_a_fill_height_gives_back_the_volume(bottom, top, rim, part):
    bucket = {
        "shape": "frustum",
        "bottom_diameter_cm": bottom,
        "top_diameter_cm": top,
        "full_height_cm": rim,
    }
    litres = water.container_volume_l(fill_height_cm=rim * part, **bucket)

    assert water.fill_height_cm(volume_l=litres, **bucket) == pytest.approx(
        rim * part, abs=1e-6
    )


@given(SALINITIES, SALINITIES, TEMPERATURES)
def test_more_salt_is_heavier_and_conducts_better(one, two, temperature):
    less, more = sorted((one, two))

    for quantity in (water.density_kg_m3, water.conductivity_ms_cm):
        assert (
            quantity(salinity=less, temperature_c=temperature)
            <= quantity(salinity=more, temperature_c=temperature) + 1e-9
        )


@given(
    st.floats(6.5, 9.4), st.floats(0, 39), SALINITIES, st.sampled_from(["NBS", "total", "free"])
)
def test_ammonia_is_worse_in_warm_water_and_at_a_high_ph(ph, temperature, salinity, scale):
    def part(ph, temperature):
        return water.nh3_fraction(
            ph=ph, ph_scale=scale, temperature_c=temperature, salinity=salinity
        )

    assert 0 < part(ph, temperature) < part(ph + 0.1, temperature) < 1
    assert part(ph, temperature) < part(ph, temperature + 1)


@given(st.floats(0, 39), st.floats(0, 41), st.floats(0, 3000))
def test_warm_salty_and_high_water_holds_less_oxygen(temperature, salinity, altitude):
    def holds(temperature, salinity, altitude):
        return water.o2_saturation_mg_l(
            temperature_c=temperature, salinity=salinity, altitude_m=altitude
        )

    here = holds(temperature, salinity, altitude)
    assert holds(temperature + 1, salinity, altitude) < here
    assert holds(temperature, salinity + 1, altitude) < here
    assert holds(temperature, salinity, altitude + 10) < here


@given(VOLUMES, st.floats(1, 41), st.floats(1, 41), st.floats(0, 40), st.floats(0.5, 1))
def test_salt_for_fresh_water_is_salt_to_raise_it_in_two_steps(volume, one, two, t, dry):
    """Weighed at once or in two steps: the salt is the same, as no salt is lost."""
    first, last = sorted((one, two))
    density = water.density_kg_m3(salinity=0, temperature_c=t)
    at_once = water.salt_to_raise_g(
        volume_l=volume, salinity_from=0, salinity_to=last, temperature_c=t, dry_fraction=dry
    )
    begun = water.salt_mass_g(
        volume_l=volume,
        salinity=first,
        temperature_c=t,
        dry_fraction=dry,
        volume_basis="source_water",
    )
    kilos = volume * density / 1000 + begun / 1000
    litres = kilos / water.density_kg_m3(salinity=first, temperature_c=t) * 1000
    more = water.salt_to_raise_g(
        volume_l=litres,
        salinity_from=first,
        salinity_to=last,
        temperature_c=t,
        dry_fraction=dry,
    )

    assert begun + more == pytest.approx(at_once, rel=1e-6)


@given(VOLUMES, st.floats(1, 42), st.floats(0.1, 0.9), st.floats(0, 40))
def test_water_added_to_lower_is_the_mix_of_both(volume, salinity, part, temperature):
    lower = salinity * part
    fresh = water.water_to_lower_l(
        volume_l=volume,
        salinity_from=salinity,
        salinity_to=lower,
        temperature_c=temperature,
        mode="add",
    )
    mixed = water.salinity_after_mix(
        volume1_l=volume,
        salinity1=salinity,
        volume2_l=fresh,
        salinity2=0,
        temperature_c=temperature,
    )

    assert mixed == pytest.approx(lower, rel=1e-6)


SERIES = {
    "density_kg_m3": {},
    "specific_gravity": {"reference_temperature_c": 25},
    "conductivity_ms_cm": {},
    "pka_ammonium_total": {},
    "nh3_fraction": {"ph": 8.1},
    "nh3_n_mg_l": {"ph": 8.1, "tan_mg_l": 0.5},
    "o2_saturation_mg_l": {"altitude_m": 500},
    "o2_percent_saturation": {"do_mg_l": 6},
}


@pytest.mark.parametrize("quantity", SERIES)
def test_a_series_is_answered_like_its_single_values(quantity):
    salinities, temperatures = np.linspace(0, 42, 29), np.linspace(0, 40, 29)
    warm = "sample_temperature_c" if quantity == "specific_gravity" else "temperature_c"
    function, more = getattr(water, quantity), SERIES[quantity]

    found = function(salinity=salinities, **{warm: temperatures}, **more)

    each = [
        function(salinity=float(s), **{warm: float(t)}, **more)
        for s, t in zip(salinities, temperatures, strict=True)
    ]
    assert found == pytest.approx(np.array(each), rel=1e-9, abs=1e-12)


def test_a_series_gives_back_its_salinities():
    salinities, temperatures = np.linspace(0.1, 42, 50), np.linspace(0, 35, 50)
    shown = water.specific_gravity(
        salinity=salinities, sample_temperature_c=temperatures, reference_temperature_c=25.0
    )
    conducted = water.conductivity_ms_cm(salinity=salinities, temperature_c=temperatures)

    by_weight = water.salinity_from_sg(
        specific_gravity=shown, sample_temperature_c=temperatures, reference_temperature_c=25.0
    )
    by_current = water.salinity_from_conductivity(
        conductivity_ms_cm=conducted, temperature_c=temperatures
    )

    assert by_weight == pytest.approx(salinities, abs=1e-6)
    assert by_current == pytest.approx(salinities, abs=1e-4)


@pytest.mark.parametrize("wrong", [-0.1, 51.0, np.nan, np.inf])
def test_one_bad_value_refuses_a_series(wrong):
    with pytest.raises(water.OutOfDomain) as refused:
        water.density_kg_m3(salinity=np.array([33.0, wrong, 34.0]), temperature_c=25.0)

    assert refused.value.value == f"{wrong:g}"


# Other formulas at 25 C, with what is known of how far they are off.
def test_equations_of_state_of_1980_and_2010_agree():
    def density_of_1980(s, t90):
        t = 1.00024 * t90
        fresh = np.polyval(
            [6.536332e-9, -1.120083e-6, 1.001685e-4, -9.09529e-3, 6.793952e-2, 999.842594], t
        )
        salt = np.polyval([5.3875e-9, -8.2467e-7, 7.6438e-5, -4.0899e-3, 0.824493], t)
        bend = np.polyval([-1.6546e-6, 1.0227e-4, -5.72466e-3], t)
        return fresh + salt * s + bend * s**1.5 + 4.8314e-4 * s * s

    salinities, temperatures = (one.ravel() for one in np.mgrid[0:42:9j, 0:40:9j])
    ours = water.density_kg_m3(salinity=salinities, temperature_c=temperatures)

    assert np.abs(ours - density_of_1980(salinities, temperatures)).max() < 0.01


def test_oxygen_of_two_papers_agrees():
    gsw = pytest.importorskip("gsw")
    salinities, temperatures = (one.ravel() for one in np.mgrid[0:42:9j, 0:40:9j])
    other = gsw.O2sol_SP_pt(salinities, temperatures) * 31.9988e-6
    other *= water.density_kg_m3(salinity=salinities, temperature_c=temperatures)
    ours = water.o2_saturation_mg_l(temperature_c=temperatures, salinity=salinities)

    assert np.abs(ours / other - 1).max() < 0.0005


@pytest.mark.parametrize(("temperature", "pka"), [(25, 9.24461), (20, 9.40074)])
def test_the_dissociation_in_fresh_water_is_the_known_one(temperature, pka):
    found = water.pka_ammonium_total(temperature_c=temperature, salinity=0)

    assert found == pytest.approx(pka, abs=5e-6)


def test_a_meter_on_the_buffer_scale_read_as_total_would_overstate_ammonia_by_a_third():
    given = {"ph": 8.1, "temperature_c": 25, "salinity": 35}
    wrong = water.nh3_fraction(ph_scale="total", **given)

    assert 1.30 < wrong / water.nh3_fraction(ph_scale="NBS", **given) < 1.40


def test_the_curve_of_the_environment_agency_reads_higher():
    """Hampson 1977 on the raw reading of the meter: 14 % more at 25 C, salinity 33 to 35."""
    salinity, kelvin = 35, 298.15
    ionic = 19.9273 * salinity / (1000 - 1.005109 * salinity)
    pka = 9.245 + 0.116 * ionic + 0.0324 * (298 - kelvin) + 0.0415 / kelvin
    theirs = 1 / (1 + 10 ** (pka - 8.1))

    ours = water.nh3_fraction(ph=8.1, temperature_c=25, salinity=salinity)
    assert theirs / ours == pytest.approx(1.14, abs=0.02)


@given(st.floats(0, 5), st.floats(5, 30))
def test_all_scales_of_ph_are_one_in_fresh_water(tan, temperature):
    given = {"tan_mg_l": tan, "ph": 8.0, "temperature_c": temperature, "salinity": 0}
    total = water.nh3_n_mg_l(ph_scale="total", **given)

    for scale in ("NBS", "free"):
        assert water.nh3_n_mg_l(ph_scale=scale, **given) == pytest.approx(total, rel=1e-12)


def test_a_reckoning_that_needs_no_density_loads_no_library():
    code = (
        "import sys; from protocols import water; "
        "water.nh3_fraction(ph=8.1, temperature_c=25, salinity=33); "
        "print('numpy' in sys.modules)"
    )
    found = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT
    )
    assert found.stdout.strip() == "False"
