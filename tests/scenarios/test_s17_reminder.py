"""S-17: three dead on arrival, two hours to claim: the reminder half an hour before."""

import pytest

from tests.floor import Floor

DELIVERED = "2027-03-04T07:12:00+01:00"


@pytest.fixture
def floor(client):
    floor = Floor.open(
        client, "2027-03-04T06:00:00+01:00", zone="Europe/Amsterdam", containers=1, kits=1
    )
    walk = floor.walk
    walk.send(
        "PUT",
        f"suppliers/{floor.supplier}",
        {"name": "Sample Atoll Export", "claim_terms": {"doa": 7200}},
        **{"If-Match": walk.send("GET", f"suppliers/{floor.supplier}")["ETag"]},
    )
    return floor


def deliver(floor, doa):
    walk = floor.walk.at(DELIVERED)
    lines = [{"species": floor.species, "listed": 40, "boxes": ["1"]}]
    body = {"supplier": floor.supplier, "lines": lines}
    made = walk.post(f"sites/{walk.site}/consignments", body)["consignment"]
    walk.post(f"consignments/{made['uid']}/deliveries", {"delivered_at": DELIVERED})
    walk.at("2027-03-04T07:55:00+01:00")
    walk.post(f"lines/{made['lines'][0]['uid']}/counts", {"received": 40 - doa, "doa": doa})


def told_of_claims(floor, at):
    walk = floor.walk.at(at)
    walk.post("test-clock/sweeps", {"site": walk.site})
    calls = walk.get(f"sites/{walk.site}/calls")["calls"]
    return [
        line
        for one in calls
        if one["kind"] == "reminder"
        for line in one["lines"]
        if "Prepare the claim" in line
    ]


def test_s17_4_a_reminder_at_08_42_where_no_claim_is_prepared(floor):
    deliver(floor, 3)

    assert told_of_claims(floor, "2027-03-04T08:41:59+01:00") == []
    (line,) = told_of_claims(floor, "2027-03-04T08:42:00+01:00")
    assert "limit Thu 4 Mar 2027 09:12 CET" in line


def test_s17_4_no_reminder_where_none_died(floor):
    deliver(floor, 0)

    assert told_of_claims(floor, "2027-03-04T08:42:00+01:00") == []
