"""From an empty service to the first batch in its first container, on pages alone."""

import pytest

from stock import clock
from stock.doors.people import make_setup_code
from stock.models import (
    Batch,
    Consignment,
    Container,
    Instrument,
    Kit,
    Person,
    Piece,
    Rack,
    Room,
    Site,
    Species,
    Supplier,
)
from tests.make import make_person, make_shop
from tests.visit import Visit, words

pytestmark = pytest.mark.django_db

MONDAY = "2027-01-04T08:00:00+00:00"
TUESDAY = "2027-01-05T10:00:00+00:00"


@pytest.fixture
def visit(client, settings):
    """The manager of a service that was empty a moment ago."""
    settings.TEST_CLOCK = True
    first = {
        "name": "Northlight Reef",
        "site": "Harbour Street",
        "zone": "Europe/Lisbon",
        "person": "Mara",
        "email": "mara@example.org",
        "password": "correct horse",
        "setup_code": make_setup_code(clock.now()),
    }
    client.post("/first-run", first, headers={"Fillmark-Now": MONDAY})
    return Visit.by("mara@example.org", MONDAY)


@pytest.fixture
def set_up(visit):
    def set_up(what, **fields):
        answer = visit.press(f"set-up-{what}", Site.objects.get().uid, **fields)
        assert answer.status_code == 302, words(answer)

    return set_up


@pytest.fixture
def furnished(set_up, visit):
    """One container and one kit, disinfected, seen dry, with their water read."""
    site = Site.objects.get()
    set_up("room", label="Hall", light_on="08:00", light_off="20:00")
    set_up("rack", label="R1", room=Room.objects.get().uid, x_m="0", y_m="0")
    set_up(
        "container",
        label="R1-01",
        rack=Rack.objects.get().uid,
        x_m="0,5",
        z_m="0",
        shape="box",
        fill_mark_l="60",
        lid="on",
        air_stone="on",
    )
    set_up("kit", label="A-1", needs=["heater"])
    set_up("piece", label="A-1 heater", type="heater", kit=Kit.objects.get().uid)
    set_up("instrument", label="T-1", quantities=["temperature"])
    set_up("instrument", label="S-1", quantities=["salinity"])
    set_up("supplier", name="Sample Atoll", doa="2")
    set_up("species", scientific_name="Gramma loreto", trade_names="Royal gramma, Gramma")
    things = [Container.objects.get().uid, Kit.objects.get().uid]
    visit.at = "2027-01-04T09:00:00+00:00"
    visit.press(
        "disinfect",
        site.uid,
        subjects=things,
        cleaned="on",
        agent="chlorine",
        mg_per_l="200",
        measured="on",
        started="2027-01-04T08:00",
        ended="2027-01-04T09:00",
        rinsed="on",
    )
    visit.press("see-dry", site.uid, subjects=things)
    visit.at = TUESDAY
    return site.uid


def test_an_empty_service_grows_to_its_first_batch_without_a_program(furnished, visit):
    thermometer, refractometer = Instrument.objects.order_by("-label")
    visit.press(
        "read-water",
        Container.objects.get().uid,
        temperature="25,6",
        temperature_by=thermometer.uid,
        salinity="33",
        salinity_by=refractometer.uid,
    )
    visit.press(
        "small-delivery",
        furnished,
        supplier=Supplier.objects.get().uid,
        species_1=Species.objects.get().uid,
        listed_1="12",
    )
    consignment = Consignment.objects.get()
    line = consignment.lines.get().uid
    visit.press("deliver", consignment.uid)
    visit.press("count-line", line, received="12", doa="1")

    answer = visit.press(
        "place",
        consignment.uid,
        **{f"line-{line}": "11"},
        container=Container.objects.get().uid,
        kit=Kit.objects.get().uid,
        protocol="transfer-288@1",
    )

    assert answer.status_code == 302, words(answer)
    assert f"{Batch.objects.get().code} in R1-01" in visit.follow(answer)


def test_what_was_set_up_bears_what_was_typed(furnished):
    container, piece = Container.objects.get(), Piece.objects.get()

    assert (container.x_m, container.fill_mark_l, container.lid) == ("0.5", "60", True)
    assert piece.kit == Kit.objects.get()
    assert Supplier.objects.get().claim_terms == {"doa": 7200}
    assert Species.objects.get().trade_names == ["Royal gramma", "Gramma"]


def test_a_label_that_is_taken_is_said_at_its_field(set_up, visit):
    set_up("kit", label="A-1")

    answer = visit.press("set-up-kit", Site.objects.get().uid, label="A-1")

    assert answer.status_code == 400
    assert "A-1 is the label of another one here." in words(answer)


def test_a_new_person_signs_in_with_their_role(set_up, client):
    set_up(
        "person",
        name="Kim",
        email="Kim@example.org",
        password="battery staple",
        roles=["keeper"],
    )

    given = {"email": "kim@example.org", "password": "battery staple"}
    answer = client.post("/sign-in", given, follow=True)

    assert "Kim, keeper" in words(answer)


def test_an_address_signs_in_only_one_person(set_up, visit):
    again = {"name": "Other", "email": "mara@example.org", "password": "battery staple"}

    answer = visit.press("set-up-person", Site.objects.get().uid, **again, roles=["keeper"])

    assert "Somebody signs in with this address." in words(answer)
    assert Person.objects.count() == 1


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({}, "Say what came."),
        ({"listed_1": "5"}, "Choose one."),
        ({"listed_1": "-5"}, "It must be 1 or more."),
    ],
)
def test_a_small_delivery_says_what_is_missing(furnished, visit, given, said):
    supplier = Supplier.objects.get().uid

    answer = visit.press("small-delivery", furnished, supplier=supplier, **given)

    assert answer.status_code == 400
    assert said in words(answer)


def test_a_keeper_sets_nothing_up(settings):
    settings.TEST_CLOCK = True
    shop = make_shop()
    visit = Visit.by(str(make_person(shop, "Kim", "keeper").uid), MONDAY)

    assert visit.get("set-up", shop.site).status_code == 403
    assert "Set up" not in visit.read("shift", shop.site)
