"""S-06: two gobies go into a running series."""

import pytest
from django.test import Client

from tests.floor import Floor

JOIN_AT = "2027-02-08T15:00:00+01:00"
INSIST = [{"rule": "joins_running_series", "reason": "there is no other room"}]


@pytest.fixture
def told(begun, db):
    return begun[0].again(), *begun[1:]


@pytest.fixture(scope="module")
def begun(kept_for_module):
    """Ten with two moves; two of another supplier are received."""
    floor = Floor.open(
        Client(), "2027-02-01T08:00:00+01:00", zone="Europe/Madrid", containers=4, kits=4
    )
    batch = floor.place(10, "R1-01", "A-1", at="2027-02-01T09:00:00+01:00")
    floor.move(batch, "R1-02", "B-1", [10], at="2027-02-04T08:30:00+01:00")
    floor.move(batch, "R1-03", "A-2", [10], at="2027-02-07T08:00:00+01:00")
    floor.supplier = floor.walk.post("suppliers", {"name": "Reef Line"})["supplier"]["uid"]
    line = floor.receive(2, at="2027-02-08T14:30:00+01:00")
    floor.read("R1-03", at="2027-02-08T14:50:00+01:00")
    floor.walk.at(JOIN_AT)
    body = {
        "from": [{"line": line, "count": 2}],
        "container": floor.uids["R1-03"],
        "kit": floor.uids["B-2"],
        "counts": [2],
        "protocol": "transfer-288@1",
        "performed_at": JOIN_AT,
    }
    return floor, batch, body


def test_s06_two_gobies_go_into_a_running_series(told):
    floor, batch, body = told
    book = f"sites/{floor.walk.site}/ledger"
    before = len(floor.walk.get(book)["entries"])

    # S-06.1: refused first, with what it would do.
    refused = floor.walk.refused("batches", body)
    reasons = {one["code"]: one for one in refused.body["reasons"]}
    assert "adding fish restarts all 12" in reasons["joins_running_series"]["text"]
    assert refused.body["consequence"]["earliest_end_before"] == "2027-02-13T08:00:00Z"
    assert refused.body["consequence"]["earliest_end"] == "2027-02-20T14:00:00Z"
    assert len(floor.walk.get(book)["entries"]) == before

    answer = floor.walk.post("batches", {**body, "insist": INSIST})
    joined = answer["batch"]

    # S-06.2: all twelve share one new series.
    assert joined["counts"]["alive"] == 12
    assert (joined["series"]["number"], joined["series"]["moves"]) == (1, 0)
    assert joined["series"]["started_at"] == "2027-02-08T14:00:00Z"
    assert joined["series"]["earliest_end"] == "2027-02-20T14:00:00Z"
    # S-06.3: the next limit stays that of who was there.
    assert joined["stay"]["limit"] == "2027-02-10T07:00:00Z"
    # S-06.4: the ten keep their moves under the ended series; both suppliers are listed.
    ended = floor.batch(batch)
    assert (ended["state"], ended["why"]) == ("closed", "joined")
    assert ended["past_series"][-1]["state"] == "broken"
    assert (ended["past_series"][-1]["moves"], ended["past_series"][-1]["why"]) == (2, "joined")
    suppliers = {one["supplier"] for one in joined["origins"]}
    assert suppliers == {"Sample Atoll Export", "Reef Line"}


def test_s06_1_nobody_but_a_manager_can_insist(told):
    floor, _, body = told
    keeper = floor.walk.as_person("Ola", "keeper")

    refused = keeper.refused("batches", {**body, "insist": INSIST})

    assert refused.code == "joins_running_series"
