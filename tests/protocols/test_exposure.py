"""Contacts as graded questions, and neighbours by distance."""

from decimal import Decimal

import pytest

from protocols.exposure import (
    Grade,
    Point,
    Spot,
    Suspected,
    exposures,
    nearest,
    neighbours,
    stood_near,
)
from protocols.order import happenings
from protocols.ruled import RulesHistory
from protocols.told import When
from protocols.whereabouts import Standing
from tests.protocols.story import BATCH, container, hour, tell, uid

SPAN = When(hour(10), hour(20))


def contact(hours, way="tool", to=BATCH, source="other", **given):
    body = {"from": uid(source), "to": to, "way": way} | given
    return tell(f"{way} {hours} {source}", "contact_seen", hour(hours), **body)


def exposed(*facts):
    told = happenings(facts, at=hour(100), rules=RulesHistory())
    return exposures([BATCH, container(0)], told, span=SPAN)


@pytest.mark.parametrize(
    ("way", "grade"),
    [
        ("water", Grade.STRONG),
        ("tool", Grade.LIKELY),
        ("splash", Grade.LIKELY),
        ("hands", Grade.POSSIBLE),
        ("feeding", Grade.POSSIBLE),
        ("other", Grade.POSSIBLE),
    ],
)
def test_each_way_has_its_grade(way, grade):
    fact = contact(12, way, thing=uid("net"))

    (found,) = exposed(fact)

    assert (found.way, found.grade, found.by) == (way, grade, fact.uid)
    assert (found.source, found.thing, found.at) == (uid("other"), uid("net"), hour(12))


@pytest.mark.parametrize(("hours", "count"), [(9.99, 0), (10, 1), (20, 1), (20.01, 0)])
def test_only_contacts_of_the_time_asked_about(hours, count):
    assert len(exposed(contact(hours))) == count


def test_contacts_with_its_container_reach_the_batch_and_those_away_from_it_do_not():
    here = contact(12, to=container(0))
    away = contact(13, to=uid("other"), source="batch")
    other = tell("count", "counted", hour(14), batch=BATCH, counts=[1])

    assert [one.by for one in exposed(here, away, other)] == [here.uid]


def test_the_strongest_come_first_then_the_earliest():
    facts = [
        contact(11, "hands"),
        contact(15, "tool"),
        contact(14, "tool"),
        contact(19, "water"),
    ]

    assert [one.at for one in exposed(*facts)] == [hour(19), hour(14), hour(15), hour(11)]


def point(x, y="0", z="0"):
    """So far from a corner of the room that is not its origin."""
    return Point(Decimal(x) + 5, Decimal(y) + 4, Decimal(z) + 1)


def test_neighbours_are_those_within_the_distance_both_included():
    points = {
        container(0): point("0"),
        container(1): point("0.6"),
        container(2): point("2.4"),
        container(3): point("3.0"),
        container(4): point("3.01"),
        container(5): point("6"),
        container(6): point("1", "1", "1"),
    }

    found = neighbours(container(0), points, within_m=Decimal("3.0"))

    assert found == (
        (container(1), Decimal("0.60")),
        (container(6), Decimal("1.73")),
        (container(2), Decimal("2.40")),
        (container(3), Decimal("3.00")),
    )


# -- who stood near --------------------------------------------------------------------------


def spot(x, room="hall", *, lid=True):
    return Spot(f"{x} m along", uid(room), point(x), lid=lid, air_stone=True)


def standing(batch, number, began, ended=None):
    until = None if ended is None else When.exactly(hour(ended))
    return Standing(uid(batch), container(number), None, When.exactly(hour(began)), until)


def near(other, apart="2.4", room="hall"):
    """What a sign on others, seen at hour 20 of their hours 10 to 30, is to `other`."""
    told = tell("sign", "sign_seen", hour(20), batch=uid("ill"), signs=["velvet"], affected=1)
    (sign,) = happenings([told], at=hour(100), rules=RulesHistory())
    ill = Suspected(sign, standing("ill", 0, 10, 30))
    spots = {container(0): spot("0", lid=False), container(1): spot(apart, room)}
    return stood_near(ill, other, spots, within_m=Decimal("3.0"))


@pytest.mark.parametrize(
    ("began", "ended", "is_near"),
    [(0, 10, False), (0, 11, True), (29, None, True), (30, None, False), (15, 16, True)],
)
def test_only_who_stood_there_in_common_time_was_near(began, ended, is_near):
    assert (near(standing("other", 1, began, ended)) is not None) is is_near


def test_what_is_known_of_it_is_said():
    found = near(standing("other", 1, 25))

    assert found.body["batch"] == str(uid("other"))
    assert found.body["seen_at"] == "2027-01-06T09:00:00Z"
    numbers = found.body["numbers"]
    assert (numbers["metres"], numbers["lid"], numbers["own_lid"]) == ("2.40", False, True)
    assert numbers["together_until"] == "2027-01-06T14:00:00Z"


@pytest.mark.parametrize(
    ("apart", "room", "is_near"),
    [("3.0", "hall", True), ("3.01", "hall", False), ("1", "cellar", False)],
)
def test_near_is_within_the_distance_in_one_room(apart, room, is_near):
    assert (near(standing("other", 1, 0), apart, room) is not None) is is_near


def test_of_two_stays_near_one_sign_the_nearer_is_told():
    far, close = near(standing("other", 1, 0, 15)), near(standing("other", 1, 15), "1.2")

    assert [one.body["numbers"]["metres"] for one in nearest([far, close])] == ["1.20"]
