"""Protocols over REST: what one says, a new one made from it, and a system without fish."""

from hashlib import sha256

import pytest

from protocols.versions import text_of
from tests.walk import Walk

pytestmark = pytest.mark.django_db(transaction=True)

NOW = "2027-01-04T08:00:00+01:00"
TEXT = text_of("warm-288@1").replace("version = 1\n", "version = 101\n")
LONGER = TEXT.replace("observation_s = 1209600", "observation_s = 1814400")


@pytest.fixture
def walk(client, settings):
    settings.TEST_CLOCK = True
    return Walk.begin(client, NOW)


def test_one_is_read_as_a_whole_with_what_the_linter_says(walk):
    (one,) = walk.get("protocols?protocol=copper-ionic@1")["protocols"]

    assert one["stage"] == "ramp"
    assert one["text"] == text_of("copper-ionic@1")
    assert one["sha256"] == sha256(one["text"].encode()).hexdigest()
    assert one["says"]["clock"]["range"] == ["0.15", "0.25"]
    assert one["findings"] == []
    assert walk.get("protocols?protocol=warm-288@101")["protocols"] == []


def test_a_text_is_checked_before_it_is_frozen_and_known_by_its_key_afterwards(walk):
    asked = {"made_from": "warm-288@1", "text": LONGER}
    checked = walk.send("POST", "protocol-checks", asked).json()

    assert [one["member"] for one in checked["changes"]] == ["version", "observation_s"]
    assert {one["level"] for one in checked["findings"]} == {"warning"}

    frozen = walk.post("protocols", asked)["protocol"]
    assert frozen["protocol"] == "warm-288@101"
    assert frozen["made_from"] == "warm-288@1"
    listed = {one["protocol"]: one for one in walk.get("protocols")["protocols"]}
    assert listed["warm-288@101"]["sha256"] == sha256(LONGER.encode()).hexdigest()


def test_what_is_unsafe_is_refused_with_rule_numbers_and_source(walk):
    text = TEXT.replace("drying_s = 86400", "drying_s = 43200")
    answer = walk.send("POST", "protocols", {"made_from": "warm-288@1", "text": text})

    assert answer.status_code == 409
    (reason,) = answer.json()["reasons"]
    assert (reason["code"], reason["rule"]) == ("protocol_unsafe", "drying_short")
    assert reason["numbers"]["drying_h"] == "12"
    assert "Hirazawa" in reason["numbers"]["source"]
    assert reason["pointer"] == "/text"


def test_a_system_without_fish_tells_since_when_and_against_what(walk):
    system = walk.post(f"sites/{walk.site}/systems", {"label": "Left"})["system"]["uid"]
    walk.at("2027-03-30T08:00:00+02:00")
    found = walk.get(f"systems/{system}/fallow")
    first = found["organisms"][0]

    assert found["since"] == "2027-01-04T07:00:00Z"
    assert (first["state"], first["days"]) == ("long_enough", 76)
    assert first["ends_at"] == "2027-03-21T07:00:00Z"
    poor = walk.get(f"systems/{system}/fallow?poor_oxygen=true")["organisms"]
    assert {one["state"] for one in poor} == {"no_figure"}
    answer = walk.send("GET", f"systems/{system}/fallow?protocol=copper-ionic@1")
    assert answer.status_code == 400
