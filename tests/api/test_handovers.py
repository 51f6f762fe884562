"""A shift is handed over: open, late, odd, promised, silenced; and somebody reads it."""

from datetime import datetime

import pytest
from django.db import transaction
from django.db.utils import IntegrityError
from django.test import Client

from stock.models import Fact, FactText, Handover, HandoverReading, Task, writing_projections
from stock.rebuild import rebuild
from tests.floor import Floor
from tests.visit import Visit, words

pytestmark = pytest.mark.django_db

PLACED = "2027-01-11T08:00:00+00:00"
LATE = "2027-01-14T08:30:00+00:00"


@pytest.fixture(scope="module")
def opened(kept_for_module):
    floor = Floor.open(
        Client(), "2027-01-11T07:00:00+00:00", zone="Europe/Lisbon", containers=2, kits=2
    )
    floor.place(16, "R1-01", "A-1", at=PLACED)
    floor.walk.at(LATE)
    room = floor.walk.get(f"sites/{floor.walk.site}/rooms")["rooms"][0]["uid"]
    wrong = {"container": floor.uids["R1-01"], "what": "the heater hums"}
    body = {"room": room, "looked_at": [floor.uids["R1-01"]], "exceptions": [wrong]}
    floor.walk.post("rounds", body)
    return floor


@pytest.fixture
def site(floor):
    return floor.walk.site


@pytest.fixture
def visit(floor):
    return Visit.by(floor.walk.person, LATE)


@pytest.fixture
def other(floor):
    return Visit.by(floor.walk.as_person("Ola", "keeper").person, LATE)


def handed(visit, site, **said):
    answer = visit.press("hand-over", site, **said)
    return str(Handover.objects.get().fact), answer


def test_the_record_says_what_is_late_taken_and_odd_and_people_say_the_rest(visit, other, site):
    other.press("take", Task.objects.get(what="move").uid)

    before = visit.read("hand-over", site)
    _, answer = handed(visit, site, odd="A smell of gas.", promised="A call at ten.")
    text = visit.follow(answer)

    for page in (before, text):
        assert "Move all animals into a ready container" in page
        assert "R1-01: the heater hums" in page
    assert "Move all animals into a ready container, Ola" in before
    assert "Odd A smell of gas. Promised A call at ten." in text
    assert "Silenced" not in text
    body = Fact.objects.get(kind="shift_handed_over").body
    assert (body["taken"], body["closed"]) == ([str(Task.objects.get(what="move").uid)], [])


def test_what_people_say_can_be_erased_and_is_not_in_the_entry(visit, site):
    uid, _ = handed(visit, site, odd="Ola was unwell.")

    assert FactText.objects.get(fact=uid, name="odd").value == "Ola was unwell."
    assert b"unwell" not in bytes(Fact.objects.get(uid=uid).entry)


def test_the_next_person_confirms_having_read_it_and_nobody_their_own(visit, other, site):
    uid, _ = handed(visit, site)
    own_shift, shift = visit.read("shift", site), other.read("shift", site)
    offered = other.read("handover", site, uid)
    own = visit.press("handover", site, uid)
    done = other.press("handover", site, uid)
    again = other.press("handover", site, uid)

    assert "Read it and say so." in shift
    assert "Read it and say so." not in own_shift
    assert "I have read it" in offered
    assert (own.status_code, "Somebody else reads what you handed over." in words(own)) == (
        409,
        True,
    )
    assert (done.status_code, again.status_code) == (302, 302)
    assert HandoverReading.objects.count() == 1
    assert "Read it and say so." not in other.read("shift", site)
    assert "Ola, Thu 14 Jan 2027 08:30" in visit.read("handover", site, uid)


def test_over_rest_the_same_and_a_rebuild_makes_the_same_rows(floor, site):
    keeper = floor.walk.as_person("Ola", "keeper").at(LATE)
    made = floor.walk.at(LATE).post(f"sites/{site}/handovers", {"silenced": "The gas alarm."})
    own = floor.walk.refused(f"handovers/{made['handover']['uid']}/readings")
    keeper.post(f"handovers/{made['handover']['uid']}/readings", {})
    (shown,) = floor.walk.get(f"sites/{site}/handovers")["handovers"]
    rows = (list(Handover.objects.values()), list(HandoverReading.objects.values()))

    rebuild(datetime.fromisoformat(LATE))

    assert (own.status, own.code) == (403, "own_action")
    assert (shown["silenced"], shown["read_by"][0]["name"]) == ("The gas alarm.", "Ola")
    assert shown["late"][0]["where"] == "R1-01"
    assert shown["found_odd"] == [{"where": "R1-01", "what": "the heater hums"}]
    assert (list(Handover.objects.values()), list(HandoverReading.objects.values())) == rows


def test_nobody_reads_one_twice_whatever_writes_it(visit, other, site):
    uid, _ = handed(visit, site)
    other.press("handover", site, uid)
    row = HandoverReading.objects.get()

    with pytest.raises(IntegrityError), transaction.atomic(), writing_projections():
        HandoverReading.objects.create(
            fact=Fact.objects.first().uid, handover_id=uid, by=row.by, at=row.at
        )
