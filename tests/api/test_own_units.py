"""Units that one person reads in: what is kept stays as it was typed."""

from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from api.pages.amounts import litres, reading
from api.pages.own_water import in_own_units
from api.pages.stocking import too_full
from protocols.units import PERSONAL, Units
from protocols.values import Reason
from stock.models import Container, Fact, Person, WaterReading
from tests.api.asked.mixing import SALT_LOT
from tests.certified import kept
from tests.floor import Floor
from tests.visit import Visit, words

pytestmark = pytest.mark.django_db

NOW = "2027-01-11T08:00:00+00:00"
AMERICAN = {
    "temperature": "[degF]",
    "salinity": "SG 25/25",
    "volume": "us_gal",
    "mass": "lb",
}


@pytest.fixture(scope="module")
def shop(django_db_setup, django_db_blocker):
    with kept(django_db_blocker):
        yield Floor.open(Client(), "2027-01-11T07:00:00+00:00", containers=1, kits=1)


@pytest.fixture
def floor(shop, db, settings):
    settings.TEST_CLOCK = True
    shop.walk.at(NOW)
    return shop


@pytest.fixture
def visit(floor):
    return Visit.by(floor.walk.person, NOW)


def choose(visit, floor, **chosen):
    assert visit.press("units", floor.walk.site, **{**AMERICAN, **chosen}).status_code == 302


def test_units_are_chosen_from_every_page(visit, floor):
    page = visit.get("shift", floor.walk.site)

    assert reverse("units", args=[floor.walk.site]) in page.content.decode()


def test_a_page_is_read_in_the_units_of_whoever_looks(visit, floor):
    container = floor.uids["R1-01"]
    floor.read("R1-01", at=NOW)
    kept_before = list(WaterReading.objects.order_by("uid").values_list("value", "unit"))
    metric = visit.read("container", container)

    choose(visit, floor)
    american = visit.read("container", container)

    assert "60 L" in metric
    assert "33.0" in metric
    assert "15.9 US gal" in american
    assert "SG 25/25 1.0249" in american
    assert "78.1 °F" in american
    assert (
        list(WaterReading.objects.order_by("uid").values_list("value", "unit")) == kept_before
    )


def test_water_is_read_in_either_unit_and_kept_as_typed(visit, floor):
    container = floor.uids["R1-01"]
    thermometer = floor.walk.get(f"sites/{floor.walk.site}/instruments")["instruments"]
    by = {one["label"]: one["uid"] for one in thermometer}
    first = next(uid for label, uid in by.items() if label.startswith("T"))
    choose(visit, floor)

    form = visit.get("read-water", container).content.decode()
    assert '<option value="[degF]" selected>' in form
    assert '<option value="SG" selected>' not in form, "no instrument here shows one"
    answer = visit.press(
        "read-water",
        container,
        temperature="78,1",
        temperature_in="[degF]",
        temperature_by=first,
    )

    assert answer.status_code == 302, words(answer)
    row = WaterReading.objects.order_by("-performed_at").first()
    assert (row.value, row.unit) == ("78.1", "[degF]")


def test_fahrenheit_typed_as_celsius_is_asked_back(visit, floor):
    answer = visit.press("read-water", floor.uids["R1-01"], temperature="78.1")

    assert "Did you mean 25.6 C (78.1 F)?" in words(answer)


def test_a_specific_gravity_beside_which_a_salinity_was_typed_is_asked_back(visit, floor):
    answer = visit.press("read-water", floor.uids["R1-01"], salinity="33", salinity_in="SG")

    assert "Did you mean salinity 33?" in words(answer)


def test_so_it_is_over_rest_with_its_numbers(floor):
    wrong = {"container": floor.uids["R1-01"], "quantity": "ph", "value": "25", "unit": "[pH]"}

    refused = floor.walk.refused("readings", {"readings": [{**wrong, "ph_scale": "NBS"}]})

    (reason,) = refused.body["reasons"]
    assert (refused.code, reason["pointer"]) == ("unreadable", "/readings/0/value")
    assert reason["numbers"]["did_you_mean"] == "a temperature of 25 C"


def test_a_fill_mark_in_gallons_is_kept_in_litres(visit, floor):
    rack = floor.walk.get(f"sites/{floor.walk.site}/racks")["racks"][0]["uid"]

    answer = visit.press(
        "set-up-container",
        floor.walk.site,
        label="R1-90",
        rack=rack,
        x_m="0",
        z_m="0",
        shape="box",
        fill_mark_l="10",
        fill_mark_l_in="us_gal",
    )

    assert answer.status_code == 302, words(answer)
    assert Container.objects.get(label="R1-90").fill_mark_l == "37.854118"


def test_an_instrument_of_specific_gravity_says_its_convention(visit, floor):
    told = {"label": "G-1", "quantities": ["specific_gravity"]}

    refused = visit.press("set-up-instrument", floor.walk.site, **told)
    taken = visit.press("set-up-instrument", floor.walk.site, **told, convention="25/25")

    assert "Without its convention" in words(refused)
    assert taken.status_code == 302


def test_units_are_chosen_over_rest_too(floor):
    walk = floor.walk

    answer = walk.send("PUT", "units", {"temperature": "[degF]"})

    assert answer.json() == {"units": {"temperature": "[degF]"}}
    assert walk.get("units") == {"units": {"temperature": "[degF]"}}
    assert Person.objects.get(uid=walk.person).units == {"temperature": "[degF]"}


@pytest.mark.parametrize(
    ("units", "given", "text"),
    [
        ({}, ("temperature", "25.60", "Cel"), "25.60 °C"),
        ({}, ("temperature", "77", "[degF]"), "25.0 °C"),
        (AMERICAN, ("temperature", "25.6", "Cel"), "78.1 °F"),
        (AMERICAN, ("salinity", "33.0", "1"), "SG 25/25 1.0249"),
        (AMERICAN, ("ph", "8.1", "[pH]"), "8.1"),
        (AMERICAN, ("total_ammonia", "0.25", "mg/L"), "0.25 mg/L"),
        (AMERICAN, ("specific_gravity", "1.024", "1", "25/25"), "SG 25/25 1.024"),
        ({}, ("specific_gravity", "1.024", "1", "25/25"), "salinity 31.86 (SG 25/25 1.024)"),
        ({}, ("specific_gravity", "1.024", "1"), "1.024, nobody said by which convention"),
    ],
)
def test_a_reading_is_said(units, given, text):
    assert reading(Units(units), *given) == text


def test_what_is_chosen_but_not_offered_any_more_is_read_as_it_is_kept():
    assert litres(Units({"volume": "firkin"}), "60") == "60 L"
    assert Units({"salinity": "SG 25/25"}).says("salinity", Decimal(50)).startswith("SG")
    assert set(PERSONAL) == set(AMERICAN)


OUT = {"quantity": "temperature", "value": "29.0", "least": "24", "most": "27"}
APART = {
    "quantity": "temperature",
    "source": "25.0",
    "target": "26.5",
    "difference": "1.5",
    "allowed": "1.0",
    "direction": "target_higher",
    "correction": "lower_target",
}
SALTIER = {**APART, "quantity": "salinity", "source": "33.0", "target": "35.0"}


@pytest.mark.parametrize(
    ("code", "numbers", "text"),
    [
        (
            "out_of_range",
            OUT,
            "Temperature in the target is 84.2 °F, allowed 75.2 °F to 80.6 °F.",
        ),
        (
            "water_mismatch",
            APART,
            "Temperature of the target is 79.7 °F, of the source 77.0 °F: 2.7 °F higher, "
            "allowed 1.8 °F: lower the target, then read it again.",
        ),
        (
            "water_mismatch",
            SALTIER,
            "Salinity of the target is SG 25/25 1.0264, of the source SG 25/25 1.0249: 1.5 of "
            "salinity higher, allowed 1.0 of salinity: lower the target, then read it again.",
        ),
        ("reading_old", {"quantity": "temperature"}, "As the rule says it."),
    ],
)
def test_what_a_rule_says_of_water_is_said_in_own_units(code, numbers, text):
    reason = Reason(code, code, "As the rule says it.", numbers=numbers)

    assert in_own_units(reason, Units(AMERICAN)).text == text
    assert in_own_units(reason, Units({})) == reason


def test_a_reckoning_begins_in_own_units(visit, floor):
    choose(visit, floor)

    form = visit.get("reckon-salt_mass_g", floor.walk.site).content.decode()

    assert '<option value="us_gal" selected>' in form
    assert '<option value="SG 25/25" selected>' in form


def test_salt_is_weighed_in_either_unit_and_kept_in_kilograms(visit, floor):
    lot = floor.walk.post(f"sites/{floor.walk.site}/salt-lots", SALT_LOT)["salt_lot"]["uid"]
    choose(visit, floor)
    page = visit.get("tell-salt", floor.walk.site).content.decode()
    assert '<option value="lb" selected>' in page

    answers = [
        visit.press("tell-salt", floor.walk.site, lot=lot, what="received", **typed)
        for typed in ({"mass_kg": "25.0"}, {"mass_kg": "10", "mass_kg_in": "lb"})
    ]

    assert [one.status_code for one in answers] == [302, 302], words(answers[0])
    told = Fact.objects.filter(kind="salt_received").order_by("seq")
    assert [one.body["mass_kg"] for one in told] == ["25.0", "4.5359237"]
    book = visit.read("record-book", floor.walk.site)
    assert "55.12 lb of salt came" in book
    assert "10.00 lb of salt came" in book


def test_the_record_book_is_read_in_own_units(visit, floor):
    floor.read("R1-01", at=NOW)
    floor.walk.post(f"containers/{floor.uids['R1-01']}/top-ups", {"volume_l": "18"})
    assert "R1-01 topped up, 18 L" in visit.read("record-book", floor.walk.site)

    choose(visit, floor)

    book = visit.read("record-book", floor.walk.site)
    assert "R1-01 topped up, 4.8 US gal" in book
    assert "temperature 78.1 °F" in book


def test_what_may_be_changed_is_said_in_own_units():
    stocking = {
        "text": "NH3-N reaches the alarm of 0.05 mg/L after 31 h.",
        "ways": [
            {"text": "At most 12 in this container.", "numbers": {"count": 12}},
            {
                "text": "A container of at least 90 L takes all 20.",
                "numbers": {"volume_l": 90},
            },
            {
                "text": "Change 30 % of the water (18 L) after 30 h.",
                "numbers": {"percent": 30, "litres": 18.0, "after_h": 30, "times": 1},
            },
        ],
    }

    said = too_full(stocking, Units({"volume": "us_gal"}))

    assert "A container of at least 23.8 US gal takes all 20." in said
    assert "Change 30 % of the water (4.8 US gal) after 30 h." in said
    assert "At most 12 in this container." in said
    assert "(18 L)" in too_full(stocking, Units({}))
