"""Traces over REST: forward and back along contacts in time, kept, and found again."""

import pytest
from django.test import Client

from tests.floor import Floor

PLACED = "2027-01-11T08:00:00+00:00"
MOVED = "2027-01-14T07:00:00+00:00"
LATER = "2027-01-15T13:00:00+00:00"


@pytest.fixture(scope="module")
def opened(kept_for_module):
    """One batch moved out of R1-01; another moved in there, and nobody had cleaned it. A third
    stands far away, in a container and with a kit that nobody shares."""
    floor = Floor.open(
        Client(), "2027-01-11T07:00:00+00:00", zone="Europe/Lisbon", containers=9, kits=9
    )
    first = floor.place(5, "R1-01", "A-1", at=PLACED)
    second = floor.place(6, "R1-04", "A-3", at=PLACED)
    third = floor.place(7, "R1-09", "A-4", at="2027-01-11T09:00:00+00:00")
    floor.move(first, "R1-02", "B-1", [5], at=MOVED)
    floor.move(second, "R1-01", "B-3", [6], at="2027-01-14T09:00:00+00:00", standing="happened")
    floor.disinfect("R1-04", at="2027-01-14T10:00:00+00:00")
    floor.see_dry("R1-04", at="2027-01-14T11:00:00+00:00")
    floor.walk.at("2027-01-15T12:00:00+00:00")
    fourth = floor.place(8, "R1-04", "A-2", at="2027-01-15T12:00:00+00:00")
    floor.walk.at(LATER)
    floor.uids |= {"first": first, "second": second, "third": third, "fourth": fourth}
    return floor


def ask(floor, of, direction="forward", **more):
    body = {"of": floor.uids[of], "direction": direction, **more}
    return floor.walk.post(f"sites/{floor.walk.site}/traces", body)["trace"]


def reached(floor, found):
    """Grades by name, of the batches and containers that were found."""
    names = {uid: name for name, uid in floor.uids.items()}
    kinds = ("batch", "container")
    return {names[one["name"]]: one["grade"] for one in found["found"] if one["kind"] in kinds}


def test_forward_it_leads_along_the_container_to_whoever_came_later(floor):
    found = ask(floor, "first")
    grades = reached(floor, found)
    (second,) = [one for one in found["found"] if one["name"] == floor.uids["second"]]

    assert grades["R1-01"] == grades["second"] == "strong"
    assert [step["way"] for step in second["way"]] == ["same_container", "same_container"]
    assert second["at"] == "2027-01-14T09:00:00Z"


def test_nothing_goes_back_in_time(floor):
    """What the second batch had before it came into R1-01 is nothing to the first."""
    assert reached(floor, ask(floor, "second")).get("first") in (None, "possible")
    assert reached(floor, ask(floor, "first", "back")).get("second") in (None, "possible")
    assert reached(floor, ask(floor, "second", "back"))["first"] == "strong"


def test_whoever_shared_nothing_is_reached_by_one_merely_possible_contact_at_most(floor):
    """Hands of a day, an instrument, a neighbour: else everything would reach everything."""
    found = {one["name"]: one for one in ask(floor, "first")["found"]}
    third = found.get(floor.uids["third"])

    assert third is None or third["grade"] == "possible"
    for one in found.values():
        carried = [step["way"] in ("person_day", "instrument") for step in one["way"]]
        grades = [step["grade"] for step in one["way"]].count("possible")
        assert grades <= (2 if any(carried) else 1)


def test_the_same_question_has_the_same_answer_and_is_kept_once(floor):
    first = ask(floor, "first")
    again = ask(floor, "first")
    shown = floor.walk.get(f"traces/{first['uid']}")["trace"]
    listed = floor.walk.get(f"sites/{floor.walk.site}/traces")["traces"]

    assert again == first == shown
    assert [one["uid"] for one in listed] == [first["uid"]]
    assert len(first["digest"]) == 64


def test_as_it_was_known_before_the_move_was_told(floor):
    book = floor.walk.get(f"sites/{floor.walk.site}/ledger?limit=500")["entries"]
    moved = [one["seq"] for one in book if one["entry"]["kind"] == "batch_moved"]
    before = ask(floor, "first", known_by=moved[1] - 1)

    assert reached(floor, before).get("second") != "strong"
    assert before["known_by"] == moved[1] - 1


def test_what_was_disinfected_and_seen_dry_between_leads_no_further(floor):
    """The fourth came into R1-04 after the second, but it had been cleaned."""
    grades = reached(floor, ask(floor, "second"))

    assert grades["R1-04"] == "strong"
    assert grades.get("fourth") != "strong"


def test_buyers_of_what_was_reached_are_listed(floor):
    sold = {"count": 2, "buyer": "Coral House"}
    floor.walk.post(
        f"batches/{floor.uids['second']}/dispatches", {**sold, "standing": "happened"}
    )
    (gone,) = ask(floor, "first")["dispatches"]

    assert (gone["count"], gone["buyer"]) == (2, "Coral House")


def test_what_the_record_book_says_nothing_of_is_not_there(floor):
    path = f"sites/{floor.walk.site}/traces"
    unknown = {"of": "00000000-0000-7000-8000-000000000000", "direction": "back"}
    turned = {
        "of": floor.uids["first"],
        "direction": "back",
        "since": LATER,
        "until": PLACED,
    }

    assert floor.walk.refused(path, unknown).status == 404
    assert floor.walk.refused(path, turned).code == "unreadable"
    assert floor.walk.refused(path, {**unknown, "direction": "up"}).status == 400


def decide(floor, trace, batch, decision, why="It shared the container."):
    body = {"batch": floor.uids[batch], "decision": decision, "reason": why}
    return floor.walk.post(f"traces/{trace['uid']}/decisions", body)["trace"]


def test_a_decision_on_every_batch_closes_it_and_the_newest_word_counts(floor):
    trace = ask(floor, "first")
    found = [one["batch"] for one in trace["batches"]]
    names = {uid: name for name, uid in floor.uids.items()}

    for uid in found:
        assert decide(floor, trace, names[uid], "watch")["open"] is (uid != found[-1])
    again = decide(floor, trace, names[found[0]], "not_affected")

    assert trace["open"] is True
    assert [one["decision"] for one in again["batches"]] == [
        "not_affected",
        *["watch"] * (len(found) - 1),
    ]
    assert again["open"] is False


def test_an_affected_batch_is_put_on_hold_once_and_others_are_not(floor):
    trace = ask(floor, "first")

    decide(floor, trace, "second", "affected")
    decide(floor, trace, "second", "affected", "Seen again.")

    holds = [floor.batch(floor.uids[one])["holds"] for one in ("second", "third")]
    assert [[one["why"] for one in each] for each in holds] == [
        ["It shared the container."],
        [],
    ]


def test_a_missing_reason_and_an_unknown_batch_are_refused(floor):
    trace = ask(floor, "fourth", "back")
    path = f"traces/{trace['uid']}/decisions"
    body = {"batch": floor.uids["third"], "decision": "watch"}

    problem = floor.walk.refused(path, body)

    assert "reason_missing" in [one["code"] for one in problem.body["reasons"]]
    body["batch"] = "01a00000-0000-7000-8000-000000000000"
    assert floor.walk.refused(path, {**body, "reason": "So."}).status == 404


def test_a_keeper_decides_on_no_trace(floor):
    trace = ask(floor, "first")
    keeper = floor.walk.as_person("Ida", "keeper")
    body = {"batch": floor.uids["second"], "decision": "watch", "reason": "So."}

    assert keeper.refused(f"traces/{trace['uid']}/decisions", body).status == 403
