"""Reckonings over REST: units beside numbers, what was meant, nothing kept."""

import pytest
from django.test import Client

from stock.models import Answer, Fact
from tests.api.asked.water import examples
from tests.certified import kept
from tests.walk import Walk

pytestmark = pytest.mark.django_db

SALT = {"volume_l": "40", "salinity": "33", "temperature_c": "25", "dry_fraction": "0.92"}


@pytest.fixture(scope="module")
def walk(django_db_setup, django_db_blocker):
    with kept(django_db_blocker):
        yield Walk.begin(Client(), "2027-01-11T07:00:00+00:00")


def reckon(walk, name, body, status=200):
    answer = walk.send("POST", f"water/{name}", body)
    assert answer.status_code == status, answer.content
    return answer.json()


def test_salt_is_reckoned_with_everything_that_is_to_be_said(walk):
    (said,) = reckon(walk, "salt_mass_g", SALT).values()

    assert float(said["value"]) == pytest.approx(1473.0223, rel=0.003)
    assert (said["unit"], said["flags"]) == ("g", [])
    assert all(said[part] for part in ("says", "formula", "source", "range", "cautions"))


def test_the_same_in_the_units_of_somebody_else(walk):
    theirs = {
        "volume_l": {"value": "10.566882", "unit": "us_gal"},
        "salinity": {"value": "1.02485", "unit": "SG 25/25"},
        "temperature_c": {"value": "77", "unit": "[degF]"},
        "dry_fraction": {"value": "92", "unit": "%"},
    }

    (said,) = reckon(walk, "salt_mass_g", theirs).values()

    assert float(said["value"]) == pytest.approx(1473.0223, rel=0.003)


@pytest.mark.parametrize(
    ("name", "value", "pointer", "meant"),
    [
        ("temperature_c", "78", "/temperature_c", "25.6 C (78 F)"),
        ("temperature_c", {"value": "25", "unit": "[degF]"}, "/temperature_c", "25 C (77.0 F)"),
        ("salinity", {"value": "33", "unit": "SG 25/25"}, "/salinity", "salinity 33"),
        ("dry_fraction", "92", "/dry_fraction", "0.92 (92 %)"),
        (
            "volume_l",
            {"value": "10", "unit": "gallon"},
            "/volume_l/unit",
            "us_gal (3.785 L) or imp_gal (4.546 L)",
        ),
    ],
)
def test_a_value_in_another_unit_is_asked_back_at_its_field(walk, name, value, pointer, meant):
    said = reckon(walk, "salt_mass_g", {**SALT, name: value}, 400)

    (reason,) = said["reasons"]
    assert (reason["code"], reason["pointer"]) == ("unreadable", pointer)
    assert reason["numbers"]["did_you_mean"] == meant
    assert reason["numbers"]["name"] == name


def test_every_bad_field_is_one_reason(walk):
    bad = {"volume_l": "0", "salinity": "x", "temperature_c": "9" * 30, "volume_basis": "red"}

    said = reckon(walk, "salt_mass_g", bad, 400)

    assert [one["pointer"] for one in said["reasons"]] == [f"/{name}" for name in bad]
    assert {one["code"] for one in said["reasons"]} == {"unreadable"}
    assert "value" not in said


def test_an_answer_outside_the_usual_says_so(walk):
    given = {"ph": "8.1", "temperature_c": "25", "salinity": "12"}

    (said,) = reckon(walk, "nh3_fraction", given).values()

    assert [one["flag"] for one in said["flags"]] == ["extrapolated"]


@pytest.mark.parametrize("value", ["1e999999", "1e5", "NaN", "-", "", ".", "٣", "+1"])
def test_what_is_no_plain_number_is_not_read(walk, value):
    said = reckon(walk, "salt_mass_g", {**SALT, "volume_l": value}, 400)

    assert [one["pointer"] for one in said["reasons"]] == ["/volume_l"]


def test_the_catalogue_names_every_quantity_with_what_it_takes(walk):
    found = {one["quantity"]: one for one in walk.get("water")["water"]}

    assert set(found) == set(examples())
    salt = {one["name"]: one for one in found["salt_mass_g"]["inputs"]}
    assert salt["volume_l"]["units"] == ["L", "us_gal", "imp_gal", "m3", "mL"]
    assert salt["volume_basis"] == {
        "name": "volume_basis",
        "required": False,
        "one_of": ["final", "source_water"],
    }


def test_nothing_is_kept(walk):
    before = Fact.objects.count(), Answer.objects.count()

    reckon(walk, "salt_mass_g", SALT)

    assert (Fact.objects.count(), Answer.objects.count()) == before
