"""Every reckoning, typed by somebody in a browser without script."""

import pytest
from playwright.sync_api import expect

from protocols.water import QUANTITIES
from tests.walk import Walk

SALT = {"volume_l": "10,566882", "salinity": "1.024857", "temperature_c": "77"}
BUCKET = {"bottom_diameter_cm": "25", "top_diameter_cm": "30", "full_height_cm": "36"}
FED = {
    "fish_mass_g": "50",
    "feed_percent_bw_day": "2",
    "protein_fraction": "45",
    "hours": "3",
    "volume_l": "40",
}
FED_IN = {"protein_fraction": "%", "hours": "d"}
WARM = {"temperature_c": "25", "salinity": "33"}

# What is typed, in which units or with which choice, and what is then read.
TYPED = {
    "salt_mass_g": (
        {**SALT, "dry_fraction": "92"},
        {
            "volume_l": "us_gal",
            "salinity": "SG 25/25",
            "temperature_c": "[degF]",
            "dry_fraction": "%",
        },
        "1473 g",
    ),
    "salt_to_raise_g": (
        {"volume_l": "40", "salinity_from": "30", "salinity_to": "35", "temperature_c": "25"},
        {},
        "236.9 g",
    ),
    "water_to_lower_l": (
        {"volume_l": "40", "salinity_from": "35", "salinity_to": "16", "temperature_c": "25"},
        {"mode": "replace"},
        "21.97 L",
    ),
    "salinity_after_mix": (
        {
            "volume1_l": "30",
            "salinity1": "35",
            "volume2_l": "10",
            "salinity2": "0",
            "temperature_c": "25",
        },
        {},
        "26.42",
    ),
    "topoff_volume_l": (
        {
            "full_mark_cm": "30",
            "level_drop_cm": "15",
            "length_cm": "0.6",
            "width_cm": "11.811024",
        },
        {"shape": "box", "level_drop_cm": "mm", "length_cm": "m", "width_cm": "in"},
        "2.7 L",
    ),
    "salinity_after_evaporation": (
        {"volume_l": "40", "salinity": "35", "evaporated_l": "2", "temperature_c": "25"},
        {},
        "36.79",
    ),
    "density_kg_m3": (WARM | {"salinity": "35"}, {}, "1023.3 kg/m3"),
    "salinity_from_sg": ({"specific_gravity": "1,024"}, {"convention": "SG 25/4"}, "35.83"),
    "salinity_from_hydrometer": (
        {
            "reading": "1.024",
            "water_temperature_c": "27",
            "calibration_temperature_c": "25",
            "reference_temperature_c": "25",
        },
        {},
        "32.62",
    ),
    "salinity_from_nacl_refractometer": ({"reading_ppt": "36.5"}, {}, "35"),
    "salinity_from_conductivity": (
        {"conductivity_ms_cm": "50000", "temperature_c": "25"},
        {"conductivity_ms_cm": "uS/cm"},
        "32.73",
    ),
    "specific_gravity": ({"salinity": "35"}, {"convention": "SG 60/60 F"}, "1.0269"),
    "conductivity_ms_cm": ({"salinity": "35", "temperature_c": "25"}, {}, "53.07 mS/cm"),
    "refractive_index": ({"salinity": "35", "temperature_c": "20"}, {}, "1.33941"),
    "nh3_n_mg_l": (
        {**WARM, "tan_mg_l": "0.607941", "ph": "8.1"},
        {"tan_mg_l": "mg/L NH3"},
        "0.0249 mg/L NH3-N",
    ),
    "nh3_fraction": ({**WARM, "ph": "8.1"}, {}, "4.97 %"),
    "tan_accumulated_mg_l": (FED, FED_IN, "3.1 mg/L TAN-N"),
    "nh3_n_after_hours_mg_l": ({**FED, **WARM, "ph": "8.1"}, FED_IN, "0.154 mg/L NH3-N"),
    "tan_after_water_change_mg_l": ({"tan_mg_l": "2", "fraction": "0.5"}, {}, "1 mg/L TAN-N"),
    "ammonia_unit_convert": (
        {"value": "1"},
        {"from_unit": "N", "to_unit": "NH3"},
        "1.216 mg/L",
    ),
    "pka_ammonium_total": ({"temperature_c": "25", "salinity": "35"}, {}, "9.246"),
    "o2_percent_saturation": (
        {"do_mg_l": "6", "temperature_c": "25", "salinity": "34"},
        {},
        "88.1 %",
    ),
    "o2_saturation_mg_l": (
        {"temperature_c": "26", "salinity": "33", "altitude_m": "3280.84"},
        {"altitude_m": "ft"},
        "5.948 mg/L",
    ),
    "pressure_from_altitude_hpa": ({"altitude_m": "1000"}, {}, "898.7 hPa"),
    "hypochlorite_volume_ml": (
        {
            "volume_l": "20",
            "target_mg_l": "200",
            "strength_percent": "8.25",
            "density_g_ml": "1.11",
        },
        {"strength_basis": "naocl_w/w"},
        "45.86 mL",
    ),
    "thiosulfate_mass_g": ({"volume_l": "20", "chlorine_mg_l": "200"}, {}, "28 g"),
    "contact_time_min": ({"ct_mg_min_l": "2000", "residual_mg_l": "200"}, {}, "10 min"),
    "ct_mg_min_l": (
        {"start_mg_l": "200", "end_mg_l": "150", "minutes": "10"},
        {"method": "exponential_decay"},
        "1738 mg*min/L",
    ),
    "acid_dilution_ml": (
        {"final_volume_l": "10", "target_percent": "1", "stock_percent": "5"},
        {},
        "2000 mL",
    ),
    "acetic_acid_mol_l": ({"acidity_percent_wv": "5"}, {}, "0.8326 mol/L"),
    "dose_mass_g": (
        {"volume": "10", "target_mg_l": "10"},
        {"volume_unit": "us_gal"},
        "0.3785 g",
    ),
    "liquid_dose_ml": (
        {"volume_l": "40", "target_mg_l": "0.5", "product_mg_ml": "10"},
        {},
        "2 mL",
    ),
    "formalin_volume_ml": (
        {"volume_l": "40", "target": "25"},
        {"basis": "formalin_v/v_ppm"},
        "1 mL",
    ),
    "active_fraction": ({}, {"compound": "copper_sulfate_pentahydrate"}, "0.2545"),
    "ppm_mass_to_mg_l": (
        {"ppm": "2", "salinity": "35", "temperature_c": "25"},
        {},
        "2.047 mg/L",
    ),
    "container_volume_l": ({**BUCKET, "fill_height_cm": "30"}, {"shape": "frustum"}, "17.32 L"),
    "fill_height_cm": (
        {"diameter_cm": "30", "volume_l": "4.3993845"},
        {"shape": "cylinder", "volume_l": "imp_gal"},
        "28.29 cm",
    ),
    "volume_to_litres": ({"value": "5"}, {"unit": "us_gal"}, "18.93 L"),
}


@pytest.fixture
def site(client, settings, transactional_db):
    settings.TEST_CLOCK = True
    return Walk.begin(client, "2027-01-11T07:00:00+00:00").site


@pytest.fixture
def floor(site):
    """`look` signs in somebody of this shop; nothing of its floor is needed."""
    return site


def fill(page, fields, choices):
    for name, value in fields.items():
        page.fill(f"#id_{name}", value)
    for name, value in choices.items():
        beside = page.locator(f"#id_{name}_in").count()
        page.select_option(f"#id_{name}_in" if beside else f"#id_{name}", value)
    page.click("main button.action")


def test_every_reckoning_is_typed_and_read_without_script(look, site):
    looking, wrong = look(java_script_enabled=False), {}

    for name, (fields, choices, expected) in TYPED.items():
        page = looking.open(f"reckon-{name}", site)
        fill(page, fields, choices)
        said = page.locator("main").inner_text()
        if page.locator(".answer").count():
            said = " ".join(page.locator(".answer").inner_text().split())
        if expected not in said:
            wrong[name] = said

    assert wrong == {}
    assert set(TYPED) == set(QUANTITIES)
    assert looking.faults == []


def test_what_was_refused_shows_no_number_and_keeps_what_was_typed(look, site):
    looking = look()
    page = looking.open("reckon", site)
    page.click("text=Salt for a volume of water")

    fill(page, {"volume_l": "40", "salinity": "33", "temperature_c": "78"}, {})

    looking.sees("Did you mean 25.6 C (78 F)?")
    expect(page.locator(".answer")).to_have_count(0)
    assert page.input_value("#id_volume_l") == "40"


def test_bleach_and_acid_are_warned_of_beside_both(look, site):
    looking = look()

    for name in ("hypochlorite_volume_ml", "acid_dilution_ml", "thiosulfate_mass_g"):
        looking.open(f"reckon-{name}", site)
        looking.sees("Never bleach and acid (vinegar), ammonia water or formalin together")
