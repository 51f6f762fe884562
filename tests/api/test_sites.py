"""What a site decides for itself, over REST: rules, hours, shifts, devices; and protocols."""

import hashlib

import pytest

from protocols.versions import DEFINITIONS
from tests.walk import Walk

pytestmark = pytest.mark.django_db(transaction=True)

NOW = "2027-01-04T08:00:00+01:00"
WEEK = [{"day": day, "from": "08:00", "to": "20:00"} for day in (0, 1, 2, 3, 4, 5)]


@pytest.fixture
def walk(client, settings):
    settings.TEST_CLOCK = True
    return Walk.begin(client, NOW)


@pytest.fixture
def rules(walk):
    return f"sites/{walk.site}/rules"


@pytest.fixture
def hours(walk):
    return f"sites/{walk.site}/hours"


def put(walk, path, body, seen):
    return walk.send("PUT", path, body, **{"If-Match": seen})


def test_before_anybody_set_rules_the_careful_defaults_hold(walk, rules):
    answer = walk.send("GET", rules)

    assert answer["ETag"] == '"0"'
    assert answer.json()["rules"]["tolerance_s"] == 0
    assert answer.json()["rules"]["match_salinity"] == "1.4"
    assert answer.json()["history"] == []


def test_rules_are_set_by_who_has_read_the_newest(walk, rules):
    first = put(walk, rules, {"rules": {"tolerance_s": 1800}}, '"0"')
    blind = walk.send("PUT", rules, {"rules": {"tolerance_s": 60}})
    late = put(walk, rules, {"rules": {"tolerance_s": 60}}, '"0"')
    second = put(walk, rules, {"rules": {"tolerance_s": 60}}, first["ETag"])

    statuses = [one.status_code for one in (first, blind, late, second)]
    assert statuses == [201, 428, 412, 201]
    shown = walk.get(rules)
    assert shown["rules"]["tolerance_s"] == 60
    assert [one["rules"] for one in shown["history"]] == [
        {"tolerance_s": 1800},
        {"tolerance_s": 60},
    ]


def test_rules_hold_from_a_moment_on_and_never_for_the_past(walk, rules):
    coming = {"rules": {"tolerance_s": 60}, "in_force_from": "2027-02-01T00:00:00+01:00"}
    past = {"rules": {"tolerance_s": 60}, "in_force_from": "2027-01-04T07:59:59+01:00"}

    refused = put(walk, rules, past, '"0"')
    put(walk, rules, coming, '"0"')

    assert refused.status_code == 400
    assert refused.json()["reasons"][0]["pointer"] == "/in_force_from"
    assert walk.get(rules)["rules"]["tolerance_s"] == 0
    later = walk.get(f"{rules}?at=2027-02-01T00:00:00%2B01:00")
    assert later["rules"]["tolerance_s"] == 60


@pytest.mark.parametrize(
    ("said", "code", "pointer"),
    [
        ({"tolerance_s": 3601}, "unreadable", "/rules/tolerance_s"),
        ({"tolerance_s": "60"}, "unreadable", "/rules/tolerance_s"),
        ({"patience_s": 60}, "unknown_field", "/rules/patience_s"),
    ],
)
def test_a_rule_that_cannot_be_is_named(walk, rules, said, code, pointer):
    answer = put(walk, rules, {"rules": said}, '"0"')

    assert (answer.status_code, answer.json()["code"]) == (400, code)
    assert answer.json()["reasons"][0]["pointer"] == pointer


def test_hours_are_set_with_their_exceptions(walk, hours):
    closed = [{"date": "2027-12-25", "why": "Christmas"}]

    before = walk.send("GET", hours)
    answer = put(walk, hours, {"weekly": WEEK, "exceptions": closed}, before["ETag"])

    assert before["ETag"] == '"0"'
    assert answer.status_code == 201
    shown = walk.get(hours)
    assert (shown["weekly"], shown["exceptions"]) == (WEEK, closed)
    assert walk.send("GET", hours)["ETag"] == answer["ETag"] != '"0"'


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({"weekly": [{"day": 7, "from": "08:00", "to": "20:00"}]}, "/weekly/0/day"),
        ({"weekly": [{"day": 0, "from": "8", "to": "20:00"}]}, "/weekly/0/from"),
        (
            {"weekly": [], "exceptions": [{"date": "2027-02-30", "why": "?"}]},
            "/exceptions/0/date",
        ),
    ],
)
def test_hours_that_cannot_be_are_named(walk, hours, body, pointer):
    answer = put(walk, hours, body, '"0"')

    assert (answer.status_code, answer.json()["code"]) == (400, "unreadable")
    assert answer.json()["reasons"][0]["pointer"] == pointer


def test_shifts_say_who_is_on_from_when_to_when(walk):
    here = f"sites/{walk.site}/shifts"
    keeper = walk.as_person("Ola", "keeper")
    body = {
        "person": keeper.person,
        "from": "2027-01-05T08:00:00+01:00",
        "to": "2027-01-05T16:00:00+01:00",
    }

    made = walk.post(here, body)

    assert made["shift"]["person"] == keeper.person
    assert made["shift"]["from"] == "2027-01-05T07:00:00Z"
    (shown,) = walk.get(here)["shifts"]
    assert (shown["name"], shown["on_call"]) == ("Ola", False)
    assert walk.get(f"{here}?from=2027-01-05T15:00:01Z")["shifts"] == []


@pytest.mark.parametrize(
    ("change", "status"),
    [
        ({"to": "2027-01-05T08:00:00+01:00"}, 400),
        ({"person": "01a2d532-b580-7fff-8fff-ffffffffffff"}, 404),
    ],
)
def test_a_shift_ends_after_it_begins_and_is_of_somebody_here(walk, change, status):
    body = {
        "person": walk.person,
        "from": "2027-01-05T08:00:00+01:00",
        "to": "2027-01-05T16:00:00+01:00",
        **change,
    }

    assert walk.refused(f"sites/{walk.site}/shifts", body).status == status


def test_a_tablet_is_enrolled_named_and_ended(walk):
    here = f"sites/{walk.site}/devices"

    made = walk.post(here, {"label": "Tablet 1"})
    twice = walk.refused(here, {"label": "Tablet 1"})
    path = f"devices/{made['device']['uid']}"
    seen = walk.send("GET", path)["ETag"]
    ended = put(walk, path, {"label": "Tablet 1", "ended_at": NOW}, seen)
    late = put(walk, path, {"label": "Tablet 1"}, seen)

    assert made["fact"]["kind"] == "device_set"
    assert (twice.status, twice.code) == (409, "label_taken")
    assert (ended.status_code, late.status_code) == (201, 412)
    assert walk.get(here)["devices"][0]["ended_at"] == "2027-01-04T07:00:00Z"


@pytest.mark.parametrize(
    ("path", "body"),
    [
        ("shifts", {"person": "01a2d532-b580-7fff-8fff-ffffffffffff", "from": NOW, "to": NOW}),
        ("devices", {"label": "Tablet 1"}),
    ],
)
def test_only_a_manager_decides_for_the_site(walk, path, body):
    keeper = walk.as_person("Ola", "keeper")

    assert keeper.refused(f"sites/{walk.site}/{path}", body).code == "wrong_role"


def test_a_keeper_reads_rules_but_does_not_set_them(walk, rules):
    keeper = walk.as_person("Ola", "keeper")

    assert keeper.send("GET", rules).status_code == 200
    assert put(keeper, rules, {"rules": {}}, '"0"').status_code == 403


@pytest.mark.parametrize("path", ["rules", "hours", "shifts", "devices"])
def test_a_site_that_is_not_one_s_own_is_not_there(walk, path):
    answer = walk.send("GET", f"sites/01a2d532-b580-7fff-8fff-ffffffffffff/{path}")

    assert answer.status_code == 404


def test_protocols_are_told_with_the_digest_of_their_text(walk):
    found = walk.get("protocols")["protocols"]

    assert [one["protocol"] for one in found if one["stage"] == "moves"] == [
        "transfer-288@1",
        "transfer-276@1",
        "transfer-288-21@1",
        "transfer-288-30@1",
        "warm-288@1",
    ]
    assert (found[0]["name"], found[0]["version"]) == ("transfer-288", 1)
    text = (DEFINITIONS / "transfer-288@1.toml").read_bytes()
    assert found[0]["sha256"] == hashlib.sha256(text).hexdigest()
    assert "Plan with 5." in found[0]["warnings"][0]
    assert "velvet" in found[1]["warnings"][0]
