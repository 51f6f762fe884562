"""Names and notes can be erased, but for what a legal hold covers; every proof still holds."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from django.core.management import call_command
from django.test import Client

from protocols.retention import years_after
from stock.models import Answer, Call, Fact, FactText, Log, Notice, Person
from stock.verify import verify
from tests.floor import Floor
from tests.visit import Visit

pytestmark = pytest.mark.django_db

PLACED = "2027-01-05T09:00:00+01:00"
NOW = "2027-01-06T09:00:00+01:00"
WHY = {"reason": "They asked for it."}
KEPT = {"insist": [{"rule": "kept_until", "reason": "They asked for it."}]}


@pytest.fixture(scope="module")
def opened(kept_for_module):
    """Two batches; of one a note names Zoë, who told it and has left since."""
    floor = Floor.open(Client(), "2027-01-05T08:00:00+01:00", containers=2, kits=2)
    floor.uids["one"] = floor.place(6, "R1-01", "A-1", at=PLACED)
    floor.uids["other"] = floor.place(7, "R1-02", "B-1", at=PLACED)
    zoe = joined(floor)
    sign = {"signs": ["white_spots"], "affected": 1, "note": "Zoë saw it by torch light."}
    told = zoe.post(f"batches/{floor.uids['one']}/signs", sign)
    floor.uids |= {"zoe": zoe.person, "sign": told["fact"]["uid"]}
    floor.walk.at(NOW)
    return floor


def joined(floor):
    """Zoë, a keeper, with a name that is not ASCII."""
    walk = floor.walk.at(NOW)
    signs_in = {"email": "zoe@example.org", "password": "correct horse"}
    roles = [{"site": walk.site, "role": "keeper"}]
    made = walk.post("people", {"name": "Zoë", **signs_in, "roles": roles})
    token = walk.post("tokens", signs_in)["token"]
    return replace(walk, token=token, person=made["person"]["uid"])


def leaves(floor):
    """Zoë's account is ended."""
    put = {"roles": [], "ended_at": NOW}
    walk = floor.walk
    answer = walk.send("PUT", f"people/{floor.uids['zoe']}", put)
    assert answer.status_code in (200, 201), answer.content


def erases(floor, uid, **more):
    return floor.walk.post(
        f"sites/{floor.walk.site}/erased-texts", {"facts": [uid], **WHY, **more}
    )


def holds(floor, *batches):
    made = floor.walk.post(
        f"sites/{floor.walk.site}/legal-holds",
        {"batches": [floor.uids[one] for one in batches], "reason": "A court asks for it."},
    )
    return made["legal_hold"]["uid"]


def whole(floor):
    """Every record book holds, and every table is what follows from it."""
    assert [verify(log) for log in Log.objects.all()] == [None, None]
    call_command("rebuild", "--check")


def test_a_name_goes_from_everywhere_and_the_record_book_still_holds(floor):
    leaves(floor)

    floor.walk.post(f"people/{floor.uids['zoe']}/erasure", WHY)

    row = Person.objects.get(uid=floor.uids["zoe"])
    assert "Zo" not in row.name + row.email
    assert not any(
        "Zo\\u00eb" in str(one.body) or "Zoë" in str(one.body) for one in Answer.objects.all()
    )
    history = Visit.by(floor.walk.person, NOW).read("record-book", floor.walk.site)
    assert row.name in history
    whole(floor)


def test_who_still_works_here_keeps_their_name(floor):
    refused = floor.walk.refused(f"people/{floor.uids['zoe']}/erasure", WHY)

    assert refused.code == "contradicts_record"
    assert Person.objects.get(uid=floor.uids["zoe"]).name == "Zoë"


def test_a_note_that_is_still_kept_goes_only_on_purpose(floor):
    path = f"sites/{floor.walk.site}/erased-texts"

    assert floor.walk.refused(path, {"facts": [floor.uids["sign"]], **WHY}).code == "too_early"
    assert (
        floor.walk.refused(path, {"facts": [floor.uids["sign"]], **KEPT}).code
        == "reason_missing"
    )
    erases(floor, floor.uids["sign"], **KEPT)

    assert not FactText.objects.filter(fact=floor.uids["sign"]).exists()
    assert Fact.objects.get(kind="texts_erased").body == {"of": [floor.uids["sign"]]}
    whole(floor)


@pytest.mark.parametrize("covered", [("one",), ()])
def test_what_a_legal_hold_covers_is_not_erased_by_anybody(floor, covered):
    hold = holds(floor, *covered)
    path = f"sites/{floor.walk.site}/erased-texts"
    body = {"facts": [floor.uids["sign"]], **WHY, **KEPT}
    leaves(floor)

    assert floor.walk.refused(path, body).code == "legal_hold"
    assert floor.walk.refused(f"people/{floor.uids['zoe']}/erasure", WHY).code == "legal_hold"
    assert FactText.objects.filter(fact=floor.uids["sign"]).exists()

    floor.walk.post(f"legal-holds/{hold}/lifting", WHY)
    erases(floor, floor.uids["sign"], **KEPT)
    whole(floor)


def test_a_hold_over_another_batch_covers_nothing_of_this_one(floor):
    holds(floor, "other")

    erases(floor, floor.uids["sign"], **KEPT)

    assert not FactText.objects.filter(fact=floor.uids["sign"]).exists()


def test_the_sweep_says_once_a_year_what_need_not_be_kept_and_erases_nothing(floor):
    walk, batch = floor.walk, floor.uids["one"]
    loss = {"batch": batch, "fate": "culled", "count": 6, "cause": ["unknown"]}
    walk.post("losses", {"lines": [loss]})
    walk.at("2037-01-07T09:00:00+01:00").token = ""
    signs_in = {"email": "mara@example.org", "password": "correct horse"}
    walk.token = walk.post("tokens", signs_in)["token"]
    walk.post("test-clock/sweeps", {"site": walk.site})
    walk.at("2037-01-08T09:00:00+01:00").post("test-clock/sweeps", {"site": walk.site})

    (told,) = Notice.objects.filter(kind="erasable")
    assert told.body["reports_with_texts"] == 1
    assert Call.objects.filter(kind="erasable").count() == 1
    assert FactText.objects.filter(fact=floor.uids["sign"]).exists()
    erases(floor, floor.uids["sign"])


def test_a_keeper_erases_nothing(floor):
    keeper = floor.walk.as_person("Ola", "keeper")

    refused = keeper.refused(
        f"sites/{floor.walk.site}/erased-texts", {"facts": [floor.uids["sign"]], **WHY}
    )

    assert refused.code == "wrong_role"


def test_it_is_looked_for_and_erased_on_pages(floor):
    leaves(floor)
    visit, site = Visit.by(floor.walk.person, NOW), floor.walk.site

    assert "Zoë" in visit.read("erasing", site)
    found = visit.read("erase-texts", site, query="?word=zo%C3%AB")
    assert "Zoë saw it by torch light." in found
    address = f"/sites/{site}/erasing/texts?word=zo%C3%AB"
    aside = {"set_aside": "kept_until", "why_aside": "They asked for it."}
    fields = {"facts": floor.uids["sign"], **WHY, **aside, "request_key": "erase-1"}
    visit.client.post(address, fields, headers={"Fillmark-Now": NOW})
    visit.press("erase-name", site, floor.uids["zoe"], **WHY)

    assert not FactText.objects.filter(fact=floor.uids["sign"]).exists()
    assert "Zoë" not in visit.read("erasing", site)


def test_the_same_day_years_later():
    leap = years_after(datetime(2028, 2, 29, tzinfo=UTC), 10)

    assert (leap.year, leap.month, leap.day) == (2038, 3, 1)
