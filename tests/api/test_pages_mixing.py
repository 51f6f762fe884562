"""The mixing room as it is read and pressed, without script."""

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from stock.models import Bleach, Draw, Make, SaltLot, SaltStock
from tests.floor import Floor
from tests.visit import Visit

PLACED = "2027-02-08T09:00:00+01:00"


@pytest.fixture(scope="module")
def opened(kept_for_module):
    return Floor.open(Client(), PLACED, containers=3, kits=3)


@pytest.fixture
def site(floor):
    return floor.walk.site


@pytest.fixture
def visit(floor):
    return Visit.by(floor.walk.person, PLACED)


@pytest.fixture
def stocked(visit, site):
    """A lot of 25 kg, a bottle of bleach, and a make of 100 L."""
    lot = {"label": "L-7", "product": "Sea salt", "dry_fraction": "0,92"}
    how = {"dry_fraction_from": "measured", "measured_at": "2027-02-01T09:00"}
    visit.follow(visit.press("set-up-salt-lot", site, **lot, **how))
    strong = {"strength_percent": "8.25", "strength_basis": "naocl_w/w", "density_g_ml": "1.11"}
    known = {"strength_from": "label", "opened_on": "2027-01-20"}
    visit.follow(
        visit.press("set-up-bleach", site, label="B-1", product="Bleach", **strong, **known)
    )
    salt = SaltLot.objects.get().uid
    visit.follow(visit.press("tell-salt", site, lot=salt, what="received", mass_kg="25"))
    mixed = {"vat": "Vat 1", "lot": salt, "volume_l": "100", "volume_basis": "final"}
    water = {"salinity": "33", "temperature_c": "25.6", "total_chlorine_mg_l": "0"}
    visit.follow(visit.press("tell-make", site, **mixed, **water, mixed="2027-02-07T20:00"))
    return visit


def test_what_is_pressed_is_kept(stocked, floor, site):
    make = Make.objects.get()
    where = {"container": floor.uids["R1-01"], "make": make.uid, "what": "fillings"}

    shown = stocked.follow(stocked.press("tell-fill", site, **where, volume_l="60"))
    stocked.at = "2027-02-08T09:01:00+01:00"
    measured = stocked.follow(stocked.press("check-make", make.uid, volume_l="35"))

    assert (Draw.objects.get().volume_l, SaltStock.objects.get().mass_kg) == (60, 25)
    assert (make.lot.label, Bleach.objects.get().strength_basis) == ("L-7", "naocl_w/w")
    assert "Vat 1" in shown
    assert "40 of 100 L" in shown
    assert "35 of 100 L" in measured
    assert "R1-01 filled" in measured


def test_the_room_says_what_is_needed_and_how_it_is_made(stocked, floor, site):
    batch = floor.place(20, "R1-01", "A-1", at=PLACED)
    floor.move(batch, "R1-02", "B-1", [20], at="2027-02-11T08:00:00+01:00")
    stocked.at = "2027-02-11T08:00:00+01:00"

    shown = stocked.read("mixing", site)

    assert "100 L stand ready; more is needed from Wed 17 Feb" in shown
    assert "lot L-7, dry fraction 0.92, measured" in shown
    assert "20 L 0.735 kg 33 25.6" in shown
    own = {"temperature": "[degF]", "salinity": "SG 25/25", "volume": "us_gal", "mass": "lb"}
    assert stocked.press("units", site, **own).status_code == 302
    assert "5.3 US gal 1.62 lb SG 25/25 1.0249 78.1 °F" in stocked.read("mixing", site)
    assert "Bath of 60 L, to the mark: 140 mL of B-1 (8.25 % NaOCl w/w, by its label)" in shown
    assert "chlorine gas" in shown
    assert "about 21.3" in shown


def test_a_slip_on_the_shift_page_says_the_amounts(stocked, floor, site):
    floor.place(20, "R1-01", "A-1", at=PLACED)

    assert "60 L of water with 2.210 kg of salt, for salinity 33" in stocked.read("shift", site)
    stocked.press(
        "units", site, temperature="Cel", salinity="SG 25/25", volume="us_gal", mass="oz"
    )
    assert "15.9 US gal of water with 77.96 oz of salt, for SG 25/25 1.0249" in stocked.read(
        "shift", site
    )


def test_more_than_is_left_is_asked_back_at_its_field(stocked, floor, site):
    where = {"container": floor.uids["R1-01"], "make": Make.objects.get().uid}

    answer = stocked.press("tell-fill", site, **where, what="fillings", volume_l="160")

    assert answer.status_code in (400, 409)
    assert "check how much stands there" in answer.content.decode()
    assert not Draw.objects.exists()


def test_the_water_of_a_batch_leads_to_its_makes(stocked, floor, site):
    make = Make.objects.get().uid
    where = {"container": floor.uids["R1-01"], "make": make, "what": "fillings"}
    stocked.press("tell-fill", site, **where, volume_l="60")
    batch = floor.place(20, "R1-01", "A-1", at=PLACED)

    assert "Vat 1 R1-01" in stocked.read("batch-water", batch)
    assert floor.batch(batch)["code"] in stocked.read("make", make)


def test_somebody_who_only_reads_is_offered_no_form(floor, site):
    reader = floor.walk.as_person("Rae", "auditor")
    visit = Visit.by(reader.person, PLACED)

    assert "Tell a make" not in visit.read("mixing", site)
    assert visit.get("tell-make", site).status_code == 403


def test_the_room_asks_the_database_as_often_for_many_as_for_one(stocked, floor, site):
    floor.place(20, "R1-01", "A-1", at=PLACED)
    few = _asked(stocked, site)
    floor.place(20, "R1-02", "B-1", at=PLACED)
    for _ in range(3):
        mixed = {"vat": "Vat 2", "salt_lot": "another", "volume_l": "100"}
        water = {"salinity": "33", "temperature_c": "25.6", "total_chlorine_mg_l": "0"}
        stocked.press("tell-make", site, **mixed, **water, volume_basis="final")

    # It looks at makes, salt, bleach, containers, work and hours: more than other pages.
    assert _asked(stocked, site) == few <= 20


def _asked(visit, site):
    with CaptureQueriesContext(connection) as queries:
        visit.client.get(reverse("mixing", args=[site]), headers={"Fillmark-Now": visit.at})
    return len(queries)
