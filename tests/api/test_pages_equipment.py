"""Pages about places and equipment: the room, kits, containers, what is done to them."""

import re

import pytest

from stock.models import Upkeep, WaterReading
from tests.floor import Floor
from tests.visit import Visit, words

pytestmark = pytest.mark.django_db

PLACED = "2027-01-11T08:00:00+00:00"
LATER = "2027-01-14T07:40:00+00:00"


@pytest.fixture
def floor(client, settings):
    settings.TEST_CLOCK = True
    return Floor.open(
        client, "2027-01-11T07:00:00+00:00", zone="Europe/Lisbon", containers=2, kits=2
    )


@pytest.fixture
def batch(floor):
    return floor.place(16, "R1-01", "A-1", at=PLACED)


@pytest.fixture
def visit(floor, batch):
    return Visit.by(floor.walk.person, LATER)


@pytest.fixture
def used(floor, batch, visit):
    """A-1 and R1-01 after a move out of them."""
    floor.move(batch, "R1-02", "B-1", [16], at=LATER)


# -- The room ----------------------------------------------------------------------------------


def test_the_room_draws_who_is_where_and_what_is_left(floor, visit, batch):
    page = visit.get("room", floor.walk.site)

    html = page.content.decode()
    assert "1 of 2 occupied, 1 ready" in words(page)
    assert re.search(rf'<a href="/batches/{batch}">.*?R1-01: 0:20 left', html, re.S)
    assert "100 percent of the stay&#x27;s limit has passed" in html
    assert "R1-02: ready. An empty container, ready." in html


def test_over_the_brim_it_is_said_in_words_as_well(floor, visit):
    visit.at = "2027-01-14T09:20:00+00:00"

    text = visit.read("room", floor.walk.site)

    assert "1 over the limit" in text
    assert "R1-01: 1:20 over. The stay is past its limit" in text


def test_the_room_is_a_list_too(floor, visit):
    text = visit.read("room", floor.walk.site)

    assert re.search(r"R1-01 R1 \S+ 0:20 left Thu 14 Jan 2027 08:00 WET A-1", text)


def test_an_empty_room_says_so(client, settings):
    settings.TEST_CLOCK = True
    floor = Floor.open(client, PLACED, containers=0, kits=0, ready=False)

    text = Visit.by(floor.walk.person, PLACED).read("room", floor.walk.site)

    assert "No container stands here yet." in text


# -- Kits and containers -----------------------------------------------------------------------


def test_a_kit_says_where_it_works_and_what_was_told_of_it(floor, visit):
    text = visit.read("kit", floor.uids["A-1"])

    assert "in use since Mon 11 Jan 2027 08:00 WET" in text
    assert "A-1 heater heater in use" in text
    assert "16 placed in R1-01 with kit A-1" in text
    assert "chlorine 200 mg/L, rinsed" in text


def test_after_the_move_the_kit_is_dirty(floor, visit, used):
    assert "dirty since Thu 14 Jan 2027 07:40 WET" in visit.read("kit", floor.uids["A-1"])
    assert "A-1 dirty" in visit.read("kits", floor.walk.site)


def test_a_kit_without_a_piece_it_needs_says_which(floor, visit, used):
    heater = floor.pieces["A-1"][0]
    floor.walk.post(f"pieces/{heater}/defects", {"what": "cracked"})

    text = visit.read("kit", floor.uids["A-1"])

    assert "Missing heater" in text


def test_a_container_says_who_is_in_it_and_its_water(floor, visit):
    text = visit.read("container", floor.uids["R1-01"])

    assert "since Mon 11 Jan 2027 08:00 WET" in text
    assert "salinity 33.0 Mon 11 Jan 2027 08:00 WET S-1" in text


# -- Disinfected, seen dry, found wet ----------------------------------------------------------

CONTACT = {"started": "2027-01-14T08:00", "ended": "2027-01-14T09:00"}
DONE = {"cleaned": "on", "agent": "chlorine", "mg_per_l": "200", "measured": "on"}


def treat(visit, floor, name, *labels, **given):
    subjects = [floor.uids[label] for label in labels]
    return visit.press(name, floor.walk.site, subjects=subjects, **given)


def test_the_way_to_ready_takes_a_person_who_sees_it_dry(floor, visit, used):
    visit.at = "2027-01-14T09:10:00+00:00"
    given = {**CONTACT, **DONE, "rinsed": "on"}
    cleaned = visit.follow(treat(visit, floor, "disinfect", "A-1", **given))
    visit.at = "2027-01-14T15:30:00+00:00"
    dry = visit.follow(treat(visit, floor, "see-dry", "A-1"))

    assert "A-1: disinfected, not seen dry." in cleaned
    assert "A-1: drying. Ready Fri 15 Jan 2027 15:30 WET." in dry
    assert Upkeep.objects.get(subject=floor.uids["A-1"]).state == "drying"


def test_too_weak_is_said_with_its_numbers(floor, visit, used):
    visit.at = "2027-01-14T09:10:00+00:00"
    given = {**CONTACT, **DONE, "mg_per_l": "150,5"}

    answer = treat(visit, floor, "disinfect", "A-1", **given, rinsed="on")

    text = visit.follow(answer)
    assert "A-1: dirty." in text
    assert "Chlorine 150.5 mg/L, needed 200 mg/L." in text


def test_bleach_and_acid_are_warned_of_where_they_are_used(floor, visit):
    text = visit.read("disinfect", floor.walk.site)

    assert "Never both in one room" in text
    assert "Wear gloves" in text


def test_moving_warns_of_mains_and_spines(visit, batch):
    text = visit.read("move", batch)

    assert "unplug heaters and pumps before hands go in" in text
    assert "Venomous spines" in text


def test_what_is_in_use_is_not_offered_for_disinfection(floor, visit):
    html = visit.get("disinfect", floor.walk.site).content.decode()

    assert floor.uids["A-1"] not in html
    assert floor.uids["B-1"] in html


def test_found_wet_says_which_batches_it_reaches(floor, visit, used):
    answer = visit.press("find-wet", floor.walk.site, subjects=[floor.uids["A-1"]])

    assert "It reaches" in visit.follow(answer)


# -- Reading the water -------------------------------------------------------------------------


@pytest.fixture
def bench(client, settings):
    """A container that nobody is in, and instruments in check."""
    settings.TEST_CLOCK = True
    return Floor.open(client, PLACED, zone="Europe/Lisbon", containers=1, kits=0, ready=False)


@pytest.fixture
def reader(bench):
    return Visit.by(bench.walk.person, PLACED)


def read(reader, bench, label="R1-01", **given):
    return reader.press("read-water", bench.uids[label], **given)


def test_values_are_read_with_a_comma_and_kept_as_typed(bench, reader):
    given = {"temperature": "25,60", "temperature_by": bench.uids["T-1"]}

    answer = read(reader, bench, **given)

    assert "The water of R1-01 is read." in reader.follow(answer)
    newest = WaterReading.objects.order_by("-performed_at").first()
    assert (newest.value, newest.unit) == ("25.60", "Cel")


@pytest.mark.parametrize(
    ("given", "field", "said"),
    [
        ({}, "temperature", "Type at least one value."),
        ({"temperature": "warm"}, "temperature", "Type a number such as 25.4."),
        ({"salinity": "33"}, "salinity_by", "instrument"),
        ({"value": "8.1"}, "other", "Say what was measured."),
        ({"other": "ph"}, "value", "Type a number."),
        ({"temperature": "250"}, "temperature", "between"),
    ],
)
def test_what_cannot_be_read_is_said_at_its_field(bench, reader, given, field, said):
    answer = read(reader, bench, **given)

    assert answer.status_code in (400, 409)
    assert said in " ".join(answer.context["form"].errors[field])


def test_ammonia_says_what_it_is_reported_as(bench, reader):
    answer = read(reader, bench, other="total_ammonia-N", value="0.25")

    assert "total ammonia 0.25 mg/L" in reader.follow(answer)
