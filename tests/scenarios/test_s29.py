"""S-29: forty on the list, thirty-eight in the bags."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from tests.floor import Floor

UNPACKED = "2027-03-16T10:00:00+01:00"
DELIVERED = "2027-03-16T09:30:00+01:00"
LIST = "AWB,Box,Species,Qty,Price\n{rows}"
FORTY = ("1,Amphiprion ocellaris,15", "2,Amphiprion ocellaris,15", "3,Amphiprion ocellaris,10")
FOUND = {"1": (15, 1), "2": (13, 0), "3": (10, 0)}
TERMS = {"doa": 7200, "short": 86_400}


@pytest.fixture(scope="module")
def opened(kept_for_module):
    floor = Floor.open(Client(), UNPACKED, containers=3, kits=3)
    body = {"name": "Lautan Contoh", "claim_terms": TERMS}
    floor.supplier = floor.walk.post("suppliers", body)["supplier"]["uid"]
    return floor


def send_list(floor, rows):
    """Upload a packing list of these rows; its import."""
    text = LIST.format(rows="".join(f"999-29,{row},2.10\n" for row in rows))
    form = {"supplier": floor.supplier, "file": SimpleUploadedFile("l.csv", text.encode())}
    headers = {
        "Fillmark-Now": floor.walk.now,
        "Authorization": f"Bearer {floor.walk.token}",
    }
    address = f"/api/v1/sites/{floor.walk.site}/imports"
    return floor.walk.client.post(address, form, headers=headers).json()["import"]


def apply_list(floor, rows):
    """Apply such a list, whatever it says differently; its consignment."""
    listing = send_list(floor, rows)
    differing = listing.get("existing", {}).get("differences", [])
    body = {"differences_accepted": [one["key"] for one in differing]}
    return floor.walk.post(f"imports/{listing['uid']}/applications", body)["consignment"]


def count(floor, consignment, found):
    for line in consignment["lines"]:
        received, doa = found[line["box"]]
        floor.walk.post(f"lines/{line['uid']}/counts", {"received": received, "doa": doa})


def count_boxes(floor, line, found):
    """Count a line out of its boxes, one after the other; the last answer."""
    for box, (received, doa) in found.items():
        count = {"box": box, "received": received, "doa": doa}
        told = floor.walk.post(f"lines/{line}/counts", count)
    return told


@pytest.fixture
def consignment(floor):
    """The list of forty, delivered and unpacked."""
    applied = apply_list(floor, FORTY)
    path = f"consignments/{applied['uid']}/deliveries"
    floor.walk.post(path, {"delivered_at": DELIVERED})
    return applied


@pytest.fixture
def unpacked(floor, consignment):
    count(floor, consignment, FOUND)
    return consignment


def shown(floor, consignment):
    return floor.walk.get(f"consignments/{consignment['uid']}")["consignment"]


def sources(consignment, *counts):
    pairs = zip(consignment["lines"], counts, strict=True)
    return {"from": [{"line": line["uid"], "count": n} for line, n in pairs], "line": "-"}


def test_s29_1_listed_received_dead_on_arrival_and_placed_stay_apart(floor, unpacked):
    floor.place(37, "R1-01", "A-1", at=UNPACKED, **sources(unpacked, 14, 13, 10))

    now = shown(floor, unpacked)
    numbers = [now[name] for name in ("listed", "received", "doa", "placed", "left")]
    assert numbers == [40, 38, 1, 37, 0]


def test_s29_2_what_is_short_is_pinned_to_its_box(floor, unpacked):
    now = shown(floor, unpacked)

    assert (now["short"], now["over"]) == (2, 0)
    assert {box["box"]: box["short"] for box in now["boxes"]} == {"1": 0, "2": 2, "3": 0}


def test_s29_3_short_and_dead_are_different_claims_with_their_own_deadlines(floor, unpacked):
    doa, short = shown(floor, unpacked)["claim_deadlines"]

    assert (doa["kind"], doa["text"]) == ("doa", "Dead on arrival")
    assert (short["kind"], short["text"]) == ("short", "Fewer than listed")
    assert doa["at"] == "2027-03-16T10:30:00Z"
    assert short["at"] == "2027-03-17T08:30:00Z"


def test_s29_4_at_most_thirty_seven_are_placed(floor, unpacked):
    floor.read("R1-01", at=UNPACKED)
    body = {
        "container": floor.uids["R1-01"],
        "kit": floor.uids["A-1"],
        "counts": [38],
        "from": sources(unpacked, 15, 13, 10)["from"],
    }

    problem = floor.walk.refused("batches", body)

    assert (problem.status, problem.code) == (409, "more_than_received")
    assert shown(floor, unpacked)["left"] == 37


def test_s29_5_one_more_than_listed_is_recorded_as_over(floor, consignment):
    count(floor, consignment, FOUND | {"2": (16, 0)})

    now = shown(floor, consignment)

    assert (now["received"], now["short"], now["over"]) == (41, 0, 1)
    assert {box["box"]: box["over"] for box in now["boxes"]} == {"1": 0, "2": 1, "3": 0}


def test_s29_6_the_extra_fish_has_the_same_origin_and_adds_no_price(floor, consignment):
    count(floor, consignment, FOUND | {"2": (16, 0)})

    batch = floor.place(40, "R1-01", "A-1", at=UNPACKED, **sources(consignment, 14, 16, 10))

    origin = next(one for one in floor.batch(batch)["origins"] if one["count"] == 16)
    assert origin["line"] == consignment["lines"][1]["uid"]
    line = shown(floor, consignment)["lines"][1]
    assert (line["listed"], line["price"]) == (15, "2.10")


def test_s29_7_a_corrected_list_is_a_new_version_and_no_count_changes(floor, unpacked):
    corrected = (FORTY[0], FORTY[1].replace("15", "13"), FORTY[2])

    second = apply_list(floor, corrected)

    assert (second["uid"], second["list_version"]) == (unpacked["uid"], 2)
    assert (second["listed"], second["received"], second["doa"]) == (38, 38, 1)
    assert (second["short"], second["over"]) == (0, 0)


def test_s29_8_one_line_for_three_boxes_says_the_same(floor):
    boxes = [{"box": "1", "listed": 15}, {"box": "2", "listed": 15}, {"box": "3", "listed": 10}]
    line = {"species": floor.species, "listed": 40, "boxes": boxes}
    body = {"supplier": floor.supplier, "lines": [line]}
    made = floor.walk.post(f"sites/{floor.walk.site}/consignments", body)["consignment"]

    told = count_boxes(floor, made["lines"][0]["uid"], FOUND)

    assert [told[name] for name in ("listed", "received", "doa", "short")] == [40, 38, 1, 2]
    assert [box["short"] for box in told["line"]["boxes"]] == [0, 2, 0]
