"""What was said of a move so far, for whoever goes on with it on another tablet."""

from datetime import datetime
from uuid import UUID

import pytest
from django.db import IntegrityError, transaction
from django.test import Client

from stock.doors.begun_moves import keep_begun_move
from stock.models import BegunMove, Person, StayRow
from stock.queries.begun_moves import begun_move
from stock.rebuild import rebuild
from stock.refusals import NotFound, Refused
from tests.floor import Floor

PLACED = "2027-01-11T08:00:00+00:00"
AT = datetime.fromisoformat("2027-01-14T07:00:00+00:00")
LATER = datetime.fromisoformat("2027-01-14T07:05:00+00:00")


@pytest.fixture(scope="module")
def opened(kept_for_module):
    floor = Floor.open(
        Client(), "2027-01-11T07:00:00+00:00", zone="Europe/Lisbon", containers=3, kits=3
    )
    floor.uids["batch"] = floor.place(16, "R1-01", "A-1", at=PLACED)
    for name in ("Ada", "Ben"):
        floor.uids[name] = floor.walk.as_person(name, "keeper").person
    floor.uids["Eve"] = floor.walk.as_person("Eve", "auditor").person
    return floor


@pytest.fixture
def keep(floor):
    def keep(who, step, known=0, at=AT, stay=None, **values):
        batch = floor.uids["batch"]
        return keep_begun_move(
            Person.objects.get(uid=floor.uids[who]),
            batch=UUID(batch),
            stay=stay or StayRow.objects.get(batch=batch).uid,
            step=step,
            values=values,
            known=known,
            at=at,
        )

    return keep


def test_whoever_goes_on_finds_what_was_said_and_both_are_named(keep):
    first = keep("Ada", "fed", container=["c2"])
    then = keep("Ben", "out", known=first.version, at=LATER, container=["c2"], earlier=["16"])

    found = begun_move(then.stay)
    assert (found.step, found.values) == ("out", {"container": ["c2"], "earlier": ["16"]})
    assert (found.began, found.last) == ("Ada", "Ben")
    assert (found.began_at, found.saved_at) == (AT, LATER)


def test_nobody_overwrites_what_they_have_not_seen(keep):
    first = keep("Ada", "fed")
    keep("Ben", "out", known=first.version)

    with pytest.raises(Refused) as refused:
        keep("Ada", "carry", known=first.version)

    assert refused.value.code == "changed"
    assert begun_move(first.stay).step == "out"


def test_the_same_again_changes_nothing(keep):
    first = keep("Ada", "fed", container=["c2"])

    assert keep("Ada", "fed", container=["c2"]).version == first.version


def test_it_is_gone_once_the_move_is_told_and_is_not_begun_again(floor, keep):
    stay = keep("Ada", "fed").stay

    floor.move(floor.uids["batch"], "R1-02", "B-1", [16], at=AT)

    assert begun_move(stay) is None
    with pytest.raises(Refused) as refused:
        keep("Ada", "out", stay=stay)
    assert refused.value.code == "stay_ended"


def test_only_whoever_works_there_begins_one(keep):
    with pytest.raises(Refused) as refused:
        keep("Eve", "fed")
    assert refused.value.code == "wrong_role"
    with pytest.raises(NotFound):
        keep("Ada", "fed", stay=UUID(int=7))


def test_it_cannot_be_saved_before_it_was_begun(keep):
    keep("Ada", "fed")

    with pytest.raises(IntegrityError), transaction.atomic():
        BegunMove.objects.update(began_at=LATER)


def test_a_rebuild_leaves_it_alone(keep):
    stay = keep("Ada", "fed").stay
    rebuild(LATER)

    assert begun_move(stay).step == "fed"
