"""What is out of domain is refused with its name, its value and what is allowed."""

from decimal import Decimal

import pytest

from protocols import water
from protocols.water import OutOfDomain, answer_with_flags

TEMPERATE = {"salinity": 33, "temperature_c": 25}
SALT = {"volume_l": 40, **TEMPERATE}
AMMONIA = {"ph": 8.1, **TEMPERATE}
GRAVITY = {"sample_temperature_c": 25, "reference_temperature_c": 25}
BLEACH = {"volume_l": 20, "strength_percent": 5, "strength_basis": "available_chlorine_w/v"}
BOX = {"shape": "box", "length_cm": 50, "width_cm": 30}
RAISE = {"volume_l": 40, "salinity_from": 30, "salinity_to": 35, "temperature_c": 25}
LOWER = {**RAISE, "salinity_from": 35, "salinity_to": 30, "mode": "add"}
FED = {
    "fish_mass_g": 50,
    "feed_percent_bw_day": 2,
    "protein_fraction": 0.45,
    "hours": 72,
    "volume_l": 40,
}

# Both sides of every bound: what is refused, and its neighbour that is not.
BOUNDS = [
    ("density_kg_m3", TEMPERATE, "salinity", -0.01, 0),
    ("density_kg_m3", TEMPERATE, "salinity", 50.01, 50),
    ("density_kg_m3", TEMPERATE, "temperature_c", -2.01, -2),
    ("density_kg_m3", TEMPERATE, "temperature_c", 45.01, 45),
    ("nh3_fraction", AMMONIA, "ph", -0.01, 0),
    ("nh3_fraction", AMMONIA, "ph", 14.01, 14),
    ("salinity_from_sg", GRAVITY, "specific_gravity", 0.9995, 0.9997),
    ("salinity_from_sg", GRAVITY, "specific_gravity", 1.0378, 1.0377),
    ("salinity_from_conductivity", {"temperature_c": 25}, "conductivity_ms_cm", -0.1, 0),
    ("salinity_from_conductivity", {"temperature_c": 45}, "conductivity_ms_cm", 100.1, 100),
    ("salinity_from_conductivity", {"temperature_c": 25}, "conductivity_ms_cm", 75, 70),
    ("salinity_from_nacl_refractometer", {}, "reading_ppt", 52.2, 52.1),
    ("o2_saturation_mg_l", TEMPERATE, "pressure_hpa", 299, 300),
    ("o2_saturation_mg_l", TEMPERATE, "pressure_hpa", 1101, 1100),
    ("o2_saturation_mg_l", TEMPERATE, "altitude_m", -431, -430),
    ("o2_saturation_mg_l", TEMPERATE, "altitude_m", 9001, 9000),
    ("salt_mass_g", SALT, "volume_l", 0, 0.001),
    ("salt_mass_g", SALT, "dry_fraction", 0, 0.05),
    ("salt_mass_g", SALT, "dry_fraction", 1.01, 1),
    (
        "salt_mass_g",
        {**SALT, "volume_basis": "source_water", "dry_fraction": 0.03},
        "salinity",
        30,
        29,
    ),
    ("salt_to_raise_g", RAISE, "salinity_to", 29.9, 30),
    ("water_to_lower_l", LOWER, "salinity_to", 35.1, 35),
    ("water_to_lower_l", LOWER, "salinity_to", 0, 0.1),
    ("salinity_after_evaporation", SALT, "evaporated_l", 40, 1),
    ("hypochlorite_volume_ml", BLEACH, "target_mg_l", 50001, 50000),
    ("hypochlorite_volume_ml", BLEACH, "target_mg_l", -1, 0),
    ("acid_dilution_ml", {"final_volume_l": 1, "stock_percent": 5}, "target_percent", 6, 5),
    ("contact_time_min", {"ct_mg_min_l": 2000}, "residual_mg_l", 0, 1),
    ("tan_accumulated_mg_l", FED, "protein_fraction", 1.1, 1),
    ("tan_accumulated_mg_l", FED, "hours", -1, 0),
    ("tan_after_water_change_mg_l", {"tan_mg_l": 2}, "fraction", 1.1, 1),
    ("dose_mass_g", {"volume": 40, "current_mg_l": 1}, "target_mg_l", 0.9, 1),
    ("dose_mass_g", {"volume": 40, "target_mg_l": 1}, "purity", 0, 1),
    ("container_volume_l", {**BOX, "full_height_cm": 40}, "fill_height_cm", 41, 40),
    ("container_volume_l", {**BOX, "fill_height_cm": 10}, "width_cm", 0, 1),
    ("fill_height_cm", {**BOX, "full_height_cm": 40}, "volume_l", 60.1, 60),
    ("topoff_volume_l", {**BOX, "full_mark_cm": 30}, "level_drop_cm", 31, 30),
]


@pytest.mark.parametrize(("quantity", "others", "name", "bad", "good"), BOUNDS)
def test_a_bound_is_refused_on_one_side_and_answered_on_the_other(
    quantity, others, name, bad, good
):
    function = getattr(water, quantity)
    with pytest.raises(OutOfDomain) as refused:
        function(**{**others, name: bad})

    assert refused.value.name == name
    assert refused.value.value == f"{bad:g}"
    assert refused.value.allowed
    assert function(**{**others, name: good}) >= 0


@pytest.mark.parametrize(
    "value", [None, "33", True, float("nan"), float("inf"), -float("inf"), 10**400, [33], 3j]
)
def test_what_is_no_finite_number_is_refused(value):
    with pytest.raises(OutOfDomain) as refused:
        water.density_kg_m3(salinity=value, temperature_c=25)

    assert refused.value.name == "salinity"


def test_an_exact_decimal_is_a_number_like_others():
    exact = water.density_kg_m3(salinity=Decimal("33.0"), temperature_c=Decimal(25))

    assert exact == water.density_kg_m3(**TEMPERATE)


def test_all_faults_are_told_at_once():
    with pytest.raises(OutOfDomain) as refused:
        water.salt_mass_g(volume_l=0, salinity=51, salt="red", volume_basis="some")

    names = [one.name for one in refused.value.faults]
    assert names == ["salt", "volume_l", "salinity", "temperature_c", "volume_basis"]


@pytest.mark.parametrize(
    ("quantity", "given", "meant"),
    [
        ("density_kg_m3", {**TEMPERATE, "temperature_c": 78}, "25.6 C (78 F)"),
        ("density_kg_m3", {**TEMPERATE, "temperature_c": 298.15}, "25.0 C (298.15 K)"),
        ("density_kg_m3", {**TEMPERATE, "salinity": 53}, "a conductivity of 53 mS/cm"),
        ("salinity_from_sg", {**GRAVITY, "specific_gravity": 33}, "salinity 33"),
        ("salinity_from_sg", {**GRAVITY, "specific_gravity": 1.24}, "1.024"),
        ("salinity_from_sg", {**GRAVITY, "specific_gravity": 1024}, "1.024"),
        ("nh3_fraction", {**AMMONIA, "ph": 25}, "a temperature of 25 C"),
        ("nh3_fraction", {**AMMONIA, "ph": 81}, "8.1"),
        (
            "salinity_from_conductivity",
            {"conductivity_ms_cm": 50100, "temperature_c": 25},
            "50.1 mS/cm (50100 uS/cm)",
        ),
        ("salt_mass_g", {**SALT, "dry_fraction": 90}, "0.9 (90 %)"),
        ("tan_accumulated_mg_l", {**FED, "protein_fraction": 45}, "0.45 (45 %)"),
        ("o2_saturation_mg_l", {**TEMPERATE, "pressure_hpa": 29.92}, "1013.2 hPa (29.92 inHg)"),
        (
            "volume_to_litres",
            {"value": 5, "unit": "gallon"},
            "us_gal (3.785 L) or imp_gal (4.546 L)",
        ),
    ],
)
def test_a_value_in_another_unit_is_asked_back(quantity, given, meant):
    with pytest.raises(OutOfDomain) as refused:
        getattr(water, quantity)(**given)

    assert refused.value.did_you_mean == meant
    assert f"Did you mean {meant}?" in str(refused.value)


@pytest.mark.parametrize(
    ("quantity", "given", "names"),
    [
        (
            "hypochlorite_volume_ml",
            {**BLEACH, "target_mg_l": 200, "strength_basis": "naocl_w/w"},
            ["density_g_ml"],
        ),
        (
            "container_volume_l",
            {"shape": "box", "fill_height_cm": 3},
            ["length_cm", "width_cm"],
        ),
        (
            "o2_saturation_mg_l",
            {**TEMPERATE, "pressure_hpa": 1000, "altitude_m": 100},
            ["altitude_m"],
        ),
        (
            "salinity_after_mix",
            {
                "volume1_l": 0,
                "salinity1": 1,
                "volume2_l": 0,
                "salinity2": 1,
                "temperature_c": 25,
            },
            ["volume2_l"],
        ),
    ],
)
def test_what_one_argument_asks_of_another_is_named(quantity, given, names):
    with pytest.raises(OutOfDomain) as refused:
        getattr(water, quantity)(**given)

    assert [one.name for one in refused.value.faults] == names


def test_an_answer_without_end_is_none():
    with pytest.raises(OutOfDomain):
        water.salt_mass_g(volume_l=1e308, salinity=35, temperature_c=25)


@pytest.mark.parametrize(
    ("quantity", "given", "flags"),
    [
        ("density_kg_m3", {"salinity": 42, "temperature_c": 40}, []),
        ("density_kg_m3", {"salinity": 42.1, "temperature_c": -1}, ["unusual", "unusual"]),
        ("pka_ammonium_total", {"salinity": 40.1, "temperature_c": 25}, ["unusual"]),
        ("nh3_fraction", {**AMMONIA, "ph": 6.4}, ["unusual"]),
        ("nh3_fraction", {**AMMONIA, "salinity": 19.9}, ["extrapolated"]),
        ("nh3_fraction", {**AMMONIA, "salinity": 19.9, "ph_scale": "total"}, []),
        ("salinity_from_sg", {**GRAVITY, "specific_gravity": 0.9998}, ["clamped"]),
        ("tan_accumulated_mg_l", {**FED, "feed_percent_bw_day": 0}, ["fasted"]),
        ("ct_mg_min_l", {"start_mg_l": 100, "end_mg_l": 120, "minutes": 10}, ["rising"]),
    ],
)
def test_what_is_answered_all_the_same_is_flagged(quantity, given, flags):
    assert [one.flag for one in answer_with_flags(quantity, **given).flags] == flags
