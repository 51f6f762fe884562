"""Probes: values by REST and by tables, by a text of their own; alarms where they fail."""

import json
from datetime import datetime, timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from stock.models import Fact, ProbeSeen, WaterReading
from stock.rebuild import check
from tests.floor import Floor
from tests.visit import Visit

pytestmark = pytest.mark.django_db

PLACED = "2027-01-11T08:00:00+00:00"
NOW = "2027-01-11T10:00:00+00:00"
HEAD = "time,probe,container,quantity,unit,value\n"


@pytest.fixture(scope="module")
def opened(kept_for_module):
    floor = Floor.open(
        Client(), "2027-01-11T07:00:00+00:00", zone="Europe/Lisbon", containers=2, kits=2
    )
    floor.place(16, "R1-01", "A-1", at=PLACED)
    made = {"label": "P-1", "quantities": ["temperature"]}
    probe = floor.walk.post(f"sites/{floor.walk.site}/instruments", made)
    floor.uids["P-1"] = probe["instrument"]["uid"]
    return floor


def hour(n):
    return (datetime.fromisoformat(PLACED) + timedelta(hours=n)).isoformat()


def send(floor, values, *, start=PLACED, step_s=600, container="R1-01", at=NOW):
    body = {
        "probe": floor.uids["P-1"],
        "quantity": "temperature",
        "unit": "Cel",
        "start": start,
        "step_s": step_s,
        "values": values,
    }
    return floor.walk.at(at).post(f"containers/{floor.uids[container]}/reading-series", body)


def alarms(floor, at):
    swept = floor.walk.at(at).post("test-clock/sweeps", {"site": floor.walk.site})
    return [one.split(":")[0] for one in swept["probes"]]


def test_a_gap_is_kept_as_a_gap(floor):
    before = WaterReading.objects.count()

    told = send(floor, ["25.0", "25.1", None, "25.3"])["series"]

    assert (told["readings"], told["gaps"], len(told["uids"])) == (3, 1, 2)
    assert WaterReading.objects.count() == before + 3
    at = WaterReading.objects.get(value="25.3").performed_at
    assert at == datetime.fromisoformat("2027-01-11T08:30:00+00:00")


def test_a_value_that_cannot_be_is_refused_at_its_place_and_nothing_is_kept(floor):
    facts = Fact.objects.count()
    body = {"probe": floor.uids["P-1"], "quantity": "temperature", "unit": "Cel"}
    body |= {"start": PLACED, "step_s": 600, "values": ["25.0", None, "99"]}

    refused = floor.walk.at(NOW).refused(
        f"containers/{floor.uids['R1-01']}/reading-series", body
    )

    assert refused.body["reasons"][0]["pointer"] == "/values/2/value"
    assert Fact.objects.count() == facts


def test_a_table_names_probes_and_containers_by_their_labels(floor):
    rows = "".join(
        f"{hour(n / 2)},P-1,R1-0{1 + n % 2},temperature,Cel,25.{n}\n" for n in range(4)
    )

    told = floor.walk.at(NOW).post(
        f"sites/{floor.walk.site}/probe-values", {"csv": HEAD + rows}
    )

    assert (told["series"]["readings"], len(told["series"]["uids"])) == (4, 2)
    probes = floor.walk.get(f"sites/{floor.walk.site}/probe-values")["probes"]
    assert [(one["container_label"], one["value"], one["state"]) for one in probes] == [
        ("R1-01", "25.2", "probe_sends"),
        ("R1-02", "25.3", "probe_idle"),
    ]
    assert check(datetime.fromisoformat(NOW)) == []


def test_a_row_that_cannot_be_leaves_out_all_of_them(floor):
    rows = f"{PLACED},P-1,R1-01,temperature,Cel,25.0\n{PLACED},T-9,R9-09,temperature,Cel,25.0\n"

    refused = floor.walk.at(NOW).refused(
        f"sites/{floor.walk.site}/probe-values", {"csv": HEAD + rows}
    )

    pointers = [one["pointer"] for one in refused.body["reasons"]]
    assert pointers == ["/csv/2/probe", "/csv/2/container"]
    assert not ProbeSeen.objects.exists()


def test_a_file_is_sent_on_the_page(floor):
    visit = Visit.by(floor.walk.person, NOW)
    file = SimpleUploadedFile(
        "probe.csv", (HEAD + f"{PLACED},P-1,R1-01,temperature,Cel,25.0\n").encode()
    )

    answer = visit.press("send-probe-values", floor.walk.site, file=file)

    assert "P-1 R1-01 temperature 25.0" in visit.follow(answer)
    wrong = visit.press(
        "send-probe-values", floor.walk.site, file=SimpleUploadedFile("x.csv", b"a,b\n1,2\n")
    )
    assert (wrong.status_code, "columns are missing" in wrong.content.decode()) == (400, True)


def test_silence_is_told_once_and_a_gap_proves_nothing(floor):
    send(floor, ["25.0", "25.1"], at="2027-01-11T08:10:00+00:00")

    assert alarms(floor, "2027-01-11T09:10:00+00:00") == []
    assert alarms(floor, "2027-01-11T09:10:01+00:00") == ["probe_silent"]
    assert alarms(floor, "2027-01-11T10:10:01+00:00") == []
    send(floor, ["25.0"], start=hour(3), at=hour(3))
    assert alarms(floor, hour(3)) == []
    assert alarms(floor, hour(5)) == ["probe_silent"]


def test_a_probe_that_hangs_elsewhere_now_is_not_missed_where_it_was(floor):
    send(floor, ["25.0"])
    send(floor, ["25.0"], start=hour(1), container="R1-02")

    assert alarms(floor, hour(9)) == []


def test_the_same_value_again_and_again_is_told_once(floor):
    send(floor, ["25.1"] * 73, at=hour(12))

    assert alarms(floor, hour(12)) == ["probe_stuck"]
    send(floor, ["25.1"] * 6, start=hour(12), at=hour(13))
    assert alarms(floor, hour(13)) == []


# -- By a text of its own ---------------------------------------------------------------------


@pytest.fixture
def gateway(floor):
    """A device of the site, and the text by which it sends."""
    made = floor.walk.post(f"sites/{floor.walk.site}/devices", {"label": "Gateway"})["device"]
    answer = floor.walk.send("PUT", f"devices/{made['uid']}/token", {})
    return made["uid"], answer.json()["token"]


def by_device(floor, token, path, body, method="POST"):
    return Client().generic(
        method,
        f"/api/v1/{path}",
        json.dumps(body),
        content_type="application/json",
        headers={
            "Authorization": f"Bearer {token}",
            "Idempotency-Key": f"{token[-5:]}{path}",
            "Fillmark-Now": NOW,
        },
    )


def test_a_gateway_sends_values_and_nothing_else(floor, gateway):
    site, (_, token) = floor.walk.site, gateway
    table = {"csv": HEAD + f"{PLACED},P-1,R1-01,temperature,Cel,25.0\n"}

    assert by_device(floor, token, f"sites/{site}/probe-values", table).status_code == 201
    for path in (f"sites/{site}/rooms", "tokens", f"sites/{site}/rules"):
        assert by_device(floor, token, path, {}, "GET").status_code in (401, 405)


def test_made_anew_or_ended_the_old_text_is_worth_nothing(floor, gateway):
    site, (device, token) = floor.walk.site, gateway
    table = {"csv": HEAD + f"{PLACED},P-1,R1-01,temperature,Cel,25.0\n"}
    path = f"sites/{site}/probe-values"

    new = floor.walk.send("PUT", f"devices/{device}/token", {}).json()["token"]
    assert by_device(floor, token, path, table).status_code == 401
    seen = floor.walk.send("GET", f"devices/{device}")["ETag"]
    assert by_device(floor, new, path, {**table}).status_code == 201
    ended = {"label": "Gateway", "ended_at": hour(0)}
    floor.walk.send("PUT", f"devices/{device}", ended, **{"If-Match": seen})
    assert by_device(floor, new, path, table).status_code == 401
