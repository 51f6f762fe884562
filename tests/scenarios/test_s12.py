"""S-12: the net of rack 2 used in rack 5."""

import pytest
from django.test import Client

from tests.certified import kept
from tests.floor import Floor

READY = "2027-02-03T10:00:00+01:00"
SEEN, TOLD = "2027-02-11T11:20:00+01:00", "2027-02-11T12:05:00+01:00"
LATER = "2027-02-11T14:00:00+01:00"


@pytest.fixture(scope="module")
def story(django_db_setup, django_db_blocker):
    """Batch K on its eighth day in R1-03, batch F on its second in R1-04, told at 12:05."""
    with kept(django_db_blocker):
        floor = Floor.open(Client(), READY, containers=4, kits=4)
        make_net(floor)
        day_8 = floor.place(12, "R1-01", "A-1", at="2027-02-03T12:00:00+01:00")
        floor.move(day_8, "R1-02", "B-1", [12], at="2027-02-06T10:00:00+01:00")
        floor.move(day_8, "R1-03", "A-2", [12], at="2027-02-09T08:00:00+01:00")
        day_2 = floor.place(9, "R1-04", "B-2", at="2027-02-10T09:00:00+01:00")
        yield floor, day_8, day_2, tell(floor)


@pytest.fixture(autouse=True)
def _under_the_test_clock(db, settings):
    settings.TEST_CLOCK = True


@pytest.fixture
def floor(story):
    story[0].walk.at(TOLD)
    return story[0]


@pytest.fixture
def day_8(story):
    return story[1]


@pytest.fixture
def day_2(story):
    return story[2]


@pytest.fixture
def told(story):
    return story[3]


def make_net(floor):
    """Clean, and seen dry on the day before."""
    here = f"sites/{floor.walk.site}/pieces"
    floor.uids["N-2"] = floor.walk.post(here, {"label": "N-2", "type": "net"})["piece"]["uid"]
    floor.disinfect("N-2", at="2027-02-03T11:00:00+01:00")
    floor.see_dry("N-2", at="2027-02-03T11:30:00+01:00")


def tell(floor):
    """The shift lead says at 12:05 what the helper did at 11:20."""
    helper = floor.walk.as_person("Ben", "keeper")
    lead = floor.walk.as_person("Ola", "keeper").at(TOLD)
    body = {
        "from": floor.uids["R1-04"],
        "to": floor.uids["R1-03"],
        "way": "tool",
        "thing": floor.uids["N-2"],
        "performed_at": SEEN,
        "doer": helper.person,
    }
    return {**lead.post("contacts", body), "lead": lead.person, "helper": helper.person}


def entry(floor, batch, fact):
    entries = floor.walk.get(f"batches/{batch}/history")["entries"]
    return next(one for one in entries if one["uid"] == fact["uid"])


def decide(floor, told, decision):
    (deviation,) = told["deviations"]
    body = {"decision": decision, "known": deviation["numbers"], "reason": "the net was new"}
    return floor.walk.at(LATER).post(f"deviations/{deviation['uid']}/decisions", body)


def test_s12_1_one_entry_keeps_reporter_and_helper_apart(floor, told, day_8):
    seen = entry(floor, day_8, told["fact"])

    assert (seen["kind"], seen["performed_at"]) == ("contact_seen", "2027-02-11T10:20:00Z")
    assert seen["recorded_at"] == "2027-02-11T11:05:00Z"
    assert (seen["doer"], seen["messenger"]) == (told["helper"], told["lead"])


def test_s12_2_the_batch_it_came_to_is_asked_about_and_not_broken(floor, told, day_8):
    batch = floor.batch(day_8, LATER)
    check = floor.walk.get(f"batches/{day_8}/certificate-check")

    assert [(one["batch"], one["rule"]) for one in told["deviations"]] == [
        (day_8, "contact_tool")
    ]
    assert (batch["series"]["state"], batch["past_series"]) == ("unproven", [])
    assert "deviation_open" in [one["code"] for one in check["reasons"]]
    (exposure,) = told["exposures"]
    assert (exposure["batch"], exposure["way"], exposure["grade"]) == (day_8, "tool", "likely")


@pytest.mark.parametrize(
    ("decision", "state", "number"), [("keep", "unbroken", 1), ("restart", "waiting", 2)]
)
def test_s12_2_a_manager_keeps_or_restarts_it(floor, told, day_8, decision, state, number):
    decide(floor, told, decision)

    series = floor.batch(day_8)["series"]

    assert (series["state"], series["number"]) == (state, number)


def test_s12_3_the_other_batch_is_not_affected_in_that_direction(floor, told, day_2):
    batch = floor.batch(day_2, LATER)

    assert (batch["series"]["state"], batch["deviations"]) == ("unbroken", [])


def test_s12_3_the_net_is_dirty_for_both(floor, told):
    before = floor.walk.get(f"pieces/{floor.uids['N-2']}?at=2027-02-11T10:19:59Z")
    net = floor.walk.get(f"pieces/{floor.uids['N-2']}")

    assert (before["state"], net["state"]) == ("ready", "dirty")
    assert [one["rule"] for one in net["why"]] == ["contact"]


def test_s12_4_both_histories_show_it(floor, told, day_2, day_8):
    assert entry(floor, day_2, told["fact"]) == entry(floor, day_8, told["fact"])


def test_s12_4_so_does_what_touched_what_that_day(floor, told, day_8):
    here = f"sites/{floor.walk.site}/contacts"

    (one,) = floor.walk.get(f"{here}?day=2027-02-11")["contacts"]

    assert (one["from"]["label"], one["to"]["label"]) == ("R1-04", "R1-03")
    assert (one["thing"]["label"], one["grade"]) == ("N-2", "likely")
    before = entry(floor, day_8, told["fact"])["seq"] - 1
    assert floor.walk.get(f"{here}?day=2027-02-10")["contacts"] == []
    assert floor.walk.get(f"{here}?day=2027-02-11&known_by={before}")["contacts"] == []
