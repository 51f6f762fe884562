"""How many a container takes, before they are placed, and what is told when they are."""

import pytest
from django.test import Client

from tests.floor import Floor

OPENED = "2027-01-11T07:00:00+00:00"
PLACED = "2027-01-11T08:00:00+00:00"
LATER = "2027-01-13T08:00:00+00:00"


@pytest.fixture(scope="module")
def opened(kept_for_module):
    floor = Floor.open(Client(), OPENED, zone="Europe/Lisbon", containers=3, kits=2)
    floor.read("R1-01", at=PLACED)
    return floor


@pytest.fixture
def floor(opened):
    return opened.again()


@pytest.fixture(autouse=True)
def _under_the_test_clock(db, settings):
    settings.TEST_CLOCK = True


def asked(floor, container="R1-01", **query):
    said = {"species": floor.species, "count": 9, "length_cm": 4, **query}
    joined = "&".join(f"{name}={value}" for name, value in said.items() if value is not None)
    return floor.walk.get(f"containers/{floor.uids[container]}/stocking?{joined}")


def set_rules(floor, **rules):
    path = f"sites/{floor.walk.site}/rules"
    tag = floor.walk.send("GET", path).headers["ETag"]
    answer = floor.walk.send("PUT", path, {"rules": rules}, **{"If-Match": tag})
    assert answer.status_code < 300, answer.content


def test_the_number_that_is_said_fits_and_one_more_does_not(floor):
    most = asked(floor)["stocking"]["most"]

    assert asked(floor, count=most)["stocking"]["fits"] is True
    over = asked(floor, count=most + 1)
    assert over["stocking"]["fits"] is False
    assert [(one["code"], one["blocks"]) for one in over["warnings"]] == [("too_full", False)]
    assert "fewer" in [one["kind"] for one in over["stocking"]["ways"]]


def test_what_was_read_counts_and_what_was_not_is_said(floor):
    told = asked(floor)["stocking"]
    unread = asked(floor, container="R1-02")["stocking"]

    assert (told["water"]["temperature_c"], told["water"]["assumed"]) == ("25.6", ["ph"])
    assert unread["water"]["assumed"] == ["temperature", "salinity", "ph"]
    assert told["kinds"][0]["mass_g"] == "1.54"
    assert told["kinds"][0]["mass_error_percent"] == 30
    assert [one["hour"] for one in told["curve"]] == [str(hour) for hour in range(73)]


def test_a_site_knows_better_and_its_height_counts(floor):
    sea = asked(floor)["stocking"]
    own = {"of": "Amphiprion ocellaris", "a": "0.027", "b": "3", "length_cm": "3"}
    set_rules(floor, altitude_m="2000", planning=[own])

    mountain = asked(floor, length_cm=None)["stocking"]

    assert mountain["kinds"][0]["length_from"] == "usual"
    assert (mountain["kinds"][0]["mass_g"], mountain["kinds"][0]["own_values"]) == (
        "0.73",
        True,
    )
    saturation = [float(one["oxygen"]["saturation_mg_l"]) for one in (sea, mountain)]
    assert saturation[1] < 0.8 * saturation[0]


def test_without_a_length_nothing_is_made_up(floor):
    told = asked(floor, length_cm=None)["stocking"]

    assert (told["fits"], told["most"], told["missing"]) == (None, None, "length")


def test_jumpers_want_a_lid(floor):
    label = {"label": "R1-09", "rack": _rack(floor), "lid": False, "fill_mark_l": "60"}
    made = floor.walk.post(f"sites/{floor.walk.site}/containers", label)["container"]["uid"]

    path = f"containers/{made}/stocking?name=Cirrhilabrus+jordani&count=1&length_cm=6"
    told = floor.walk.get(path)

    assert [one["rule"] for one in told["warnings"]] == ["lid_missing"]
    assert told["stocking"]["kinds"][0]["handling"] == ["jumper"]


def _rack(floor):
    return floor.walk.get(f"containers/{floor.uids['R1-01']}")["container"]["rack"]


@pytest.mark.parametrize(
    ("query", "pointer"),
    [
        ("species=nobody&length_cm=4", "/species"),
        ("length_cm=4", "/species"),
        ("name=Chromis&length_cm=400", "/length_cm"),
        ("name=Chromis&length_cm=NaN", "/length_cm"),
        ("name=Chromis&length_cm=4&count=0", "/count"),
        ("name=Chromis&length_cm=4&count=many", "/count"),
        ("name=Chromis&length_cm=4&protocol=none@1", "/protocol"),
    ],
)
def test_nonsense_is_refused_at_its_place(floor, query, pointer):
    path = f"containers/{floor.uids['R1-01']}/stocking?{query}"

    answer = floor.walk.send("GET", path)

    assert answer.status_code == 400
    assert pointer in [one["pointer"] for one in answer.json()["reasons"]]


def test_placing_and_moving_too_many_warns_and_goes_on(floor):
    line = floor.receive(60, at=PLACED, length_cm="5")
    floor.read("R1-01", at=PLACED)
    body = {
        "from": [{"line": line, "count": 60}],
        "container": floor.uids["R1-01"],
        "kit": floor.uids["A-1"],
        "counts": [60],
        "protocol": "transfer-288@1",
    }

    placed = floor.walk.post("batches", body)

    assert [one["code"] for one in placed["warnings"]] == ["too_full"]
    assert placed["stocking"]["kinds"][0]["length_from"] == "counted"
    assert placed["stocking"]["most"] < 60
    assert placed["batch"]["counts"]["alive"] == 60

    batch = placed["batch"]["uid"]
    floor.read("R1-01", "R1-02", at=LATER)
    move = floor.move_body(batch, "R1-02", "B-1", [60])
    check = floor.walk.post(f"batches/{batch}/move-checks", move)
    assert (check["allowed"], [one["code"] for one in check["reasons"]]) == (True, ["too_full"])
    moved = floor.walk.post(f"batches/{batch}/moves", move)
    assert moved["stocking"]["asked"] == 60


def test_a_length_that_no_animal_has_is_refused_when_it_is_counted(floor):
    floor.walk.at(PLACED)
    line = {"species": floor.species, "listed": 3, "boxes": ["1"]}
    made = floor.walk.post(
        f"sites/{floor.walk.site}/consignments", {"supplier": floor.supplier, "lines": [line]}
    )["consignment"]
    floor.walk.post(f"consignments/{made['uid']}/deliveries", {"delivered_at": PLACED})

    refused = floor.walk.refused(
        f"lines/{made['lines'][0]['uid']}/counts", {"received": 3, "length_cm": "0.2"}
    )

    assert (refused.status, refused.body["reasons"][0]["pointer"]) == (400, "/length_cm")
