"""S-17: three dead on arrival, and a window of two hours to claim for them.

Sending a claim, and its evidence, has no door yet: the last expectations wait for it.
"""

import pytest
from django.test import Client

from tests.floor import Floor
from tests.visit import Visit
from tests.working import task

SIGNED, COUNTED = "2027-03-04T07:12:00+01:00", "2027-03-04T07:55:00+01:00"
DEADLINE, REMIND = "2027-03-04T08:12:00Z", "2027-03-04T07:42:00Z"
TERMS = {"doa": 2 * 3600}


@pytest.fixture(scope="module")
def opened(kept_for_module):
    """Forty are on the list; at 07:55 three of them are dead."""
    floor = Floor.open(
        Client(), "2027-03-04T07:00:00+01:00", zone="Europe/Amsterdam", containers=2, kits=2
    )
    walk = floor.walk.at(SIGNED)
    supplier = walk.post("suppliers", {"name": "Sample Reef", "claim_terms": TERMS})
    line = {"species": floor.species, "listed": 40, "boxes": ["1"]}
    body = {"supplier": supplier["supplier"]["uid"], "lines": [line]}
    made = walk.post(f"sites/{walk.site}/consignments", body)["consignment"]
    walk.post(f"consignments/{made['uid']}/deliveries", {"delivered_at": SIGNED})
    floor.uids |= {"consignment": made["uid"], "line": made["lines"][0]["uid"]}
    walk.at(COUNTED).post(f"lines/{floor.uids['line']}/counts", {"received": 40, "doa": 3})
    return floor


def test_s17_1_the_deadline_counts_from_the_delivery_and_not_from_unpacking(floor):
    floor.walk.at(COUNTED)

    claim = task(floor.walk, "prepare_claim")

    assert (claim["limit"], claim["planned"]) == (DEADLINE, REMIND)
    assert claim["left_s"] == (60 + 17) * 60
    assert claim["numbers"]["dead"] == 3


def test_s17_1_the_shift_counts_down_to_it(floor):
    site = floor.walk.site
    visit = Visit.by(floor.walk.person, COUNTED)

    shift = visit.read("shift", site)
    visit.at = "2027-03-04T09:12:01+01:00"
    over = visit.read("shift", site)

    assert "1:17 left Prepare the claim" in shift
    assert "limit Thu 4 Mar 2027 09:12 CET" in shift
    assert "Photograph every dead animal in its bag before the bag is opened." in shift
    assert over.index("Over the limit") < over.index("Prepare the claim")


def test_s17_2_the_dead_are_neither_placed_nor_losses_of_the_series(floor):
    batch = floor.place(
        37, "R1-01", "A-1", at="2027-03-04T08:30:00+01:00", line=floor.uids["line"]
    )

    counts = floor.batch(batch)["counts"]
    line = floor.walk.get(f"consignments/{floor.uids['consignment']}")["consignment"]["lines"]

    assert (counts["alive"], counts["dead"]) == (37, 0)
    assert (line[0]["doa"], line[0]["received"]) == (3, 40)
