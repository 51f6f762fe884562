"""Rounds and feeding: one touch for each container, forms only for what is not well."""

import pytest
from django.test import Client

from stock.models import Fact
from tests.floor import Floor
from tests.visit import Visit, words

pytestmark = pytest.mark.django_db

PLACED = "2027-01-11T08:00:00+00:00"
NOW = "2027-01-11T18:00:00+00:00"


@pytest.fixture(scope="module")
def opened(kept_for_module):
    floor = Floor.open(
        Client(), "2027-01-11T07:00:00+00:00", zone="Europe/Lisbon", containers=3, kits=2
    )
    floor.uids["first"] = floor.place(16, "R1-01", "A-1", at=PLACED)
    floor.uids["second"] = floor.place(9, "R1-02", "B-1", at=PLACED)
    return floor


@pytest.fixture
def site(floor):
    return floor.walk.site


@pytest.fixture
def visit(floor):
    return Visit.by(floor.walk.person, NOW)


def look(floor, **seen):
    """The fields of a round: what was touched for each container."""
    return {f"look_{floor.uids[label.replace('_', '-')]}": said for label, said in seen.items()}


def test_one_touch_for_each_container_tells_who_was_seen_and_who_ate(floor, visit, site):
    done = visit.press(
        "make-round", site, **look(floor, R1_01="ate", R1_02="not_eating"), empty="on"
    )

    assert "A round of Hall is recorded." in visit.follow(done)
    body = Fact.objects.get(kind="round_made").body
    first, second, third = (floor.uids[f"R1-0{n}"] for n in (1, 2, 3))
    assert body["looked_at"] == [first, second, third]
    assert (body["ate"], body["not_eating"], body["exceptions"]) == ([first], [second], [])


def test_a_round_shows_no_number_that_a_count_should_come_to(visit, site):
    text = visit.read("make-round", site)

    assert "R1-01" in text
    assert "16" not in text.replace("16:00", "")


def test_an_exception_leads_to_the_form_that_tells_the_rest(floor, visit, site):
    wrong = {f"wrong_{floor.uids['R1-01']}": ["not all seen", "lid"]}
    silent = visit.press("make-round", site, **look(floor, R1_01="wrong"))
    told = visit.press("make-round", site, **look(floor, R1_01="wrong"), **wrong)
    page = visit.client.get(told.url, headers={"Fillmark-Now": NOW})

    assert "Say what it is." in words(silent)
    assert "not all seen; lid" in words(page)
    assert f"/batches/{floor.uids['first']}/count" in page.content.decode()
    assert f"/containers/{floor.uids['R1-01']}/incident" in page.content.decode()
    assert f"/batches/{floor.uids['first']}/loss" not in page.content.decode()
    assert Fact.objects.get(kind="round_made").body["not_all_seen"] == [floor.uids["R1-01"]]


def test_a_round_without_a_touch_is_no_round(visit, site):
    answer = visit.press("make-round", site)

    assert answer.status_code == 400
    assert "Nothing was touched" in words(answer)
    assert not Fact.objects.filter(kind="round_made").exists()


def test_a_loss_knows_when_they_were_last_seen_alive(floor, visit, site):
    visit.press("make-round", site, **look(floor, R1_01="ate"))
    visit.press(
        "make-round",
        site,
        **look(floor, R1_02="wrong"),
        **{f"wrong_{floor.uids['R1-02']}": "not all seen"},
    )
    visit.at = "2027-01-11T20:00:00+00:00"

    seen = visit.get("loss", floor.uids["first"]).content.decode()
    not_all = visit.get("loss", floor.uids["second"]).content.decode()
    page = visit.read("batch", floor.uids["first"])
    over_rest = floor.batch(floor.uids["second"], at=visit.at)["last_seen"]

    assert 'value="2027-01-11T18:00:00"' in seen
    assert 'value="2027-01-11T08:00:00"' in not_all
    assert "All were last seen alive Mon 11 Jan 2027 18:00 WET, on a round." in page
    assert (over_rest["at"], over_rest["how"]) == ("2027-01-11T08:00:00Z", "placed")


def test_a_withdrawn_round_saw_nobody(floor, visit, site):
    visit.press("make-round", site, **look(floor, R1_01="ate"))
    uid = Fact.objects.get(kind="round_made").uid
    floor.walk.at(NOW).post(f"facts/{uid}/withdrawals", {"reason": "It was the other room."})

    assert floor.batch(floor.uids["first"], at=NOW)["last_seen"]["how"] == "placed"


def test_one_walk_with_food_feeds_many(floor, visit, site):
    chosen = [floor.uids["R1-01"], floor.uids["R1-02"]]
    nothing = visit.press("feed", site, containers=chosen)
    done = visit.press("feed", site, containers=chosen, other="mysis", amount_g="1,5")

    assert "Say what was fed." in words(nothing)
    assert "2 containers are fed." in visit.follow(done)
    told = Fact.objects.filter(kind="fed").order_by("seq")
    assert [one.body for one in told] == [
        {"container": uid, "food": "mysis", "amount_g": "1.5"} for uid in chosen
    ]
    assert "mysis" in visit.read("feed", site)


def test_feeding_is_all_or_nothing_over_rest(floor):
    mine = {"container": floor.uids["R1-01"], "food": "mysis"}
    foreign = {"container": floor.walk.person, "food": "mysis"}

    refused = floor.walk.at(NOW).refused("feedings", {"feedings": [mine, foreign]})

    assert (refused.status, Fact.objects.filter(kind="fed").count()) == (404, 0)
