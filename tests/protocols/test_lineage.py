"""Which happenings concern a batch, with what it inherited."""

import pytest

from protocols.lineage import history, placements
from protocols.order import happenings
from protocols.ruled import RulesHistory
from protocols.told import Lineage, Link, When
from tests.protocols.story import BATCH, Story, container, hour, kit, stay, tell, uid

PARENT, GRAND, OTHER = uid("parent"), uid("grandparent"), uid("other")


def told(*facts):
    return happenings(facts, at=hour(1000), rules=RulesHistory())


def count(hours, batch):
    return tell(f"count {hours} {batch}", "counted", hour(hours), batch=batch, counts=[1])


def link(parent, child, hours):
    return Link(parent, child, uid(f"split {hours}"), hour(hours))


def names(found):
    return [one.uid for one in found.happenings]


def test_a_batch_of_its_own_has_its_own_history():
    own, other = count(1, BATCH), count(2, OTHER)

    found = history(BATCH, told(own, other), Lineage({}))

    assert names(found) == [own.uid]
    assert found.family == {BATCH}


@pytest.mark.parametrize(("hours", "inherited"), [(9, True), (10, True), (11, False)])
def test_what_happened_to_a_parent_before_the_split_is_inherited(hours, inherited):
    links = Lineage({BATCH: (link(PARENT, BATCH, 10),)})
    fact = count(hours, PARENT)

    found = history(BATCH, told(fact), links)

    assert names(found) == ([fact.uid] if inherited else [])
    assert found.family == {BATCH, PARENT}


def test_inheritance_goes_back_as_far_as_there_are_parents():
    links = Lineage(
        {
            BATCH: (link(PARENT, BATCH, 10), link(OTHER, BATCH, 10)),
            PARENT: (link(GRAND, PARENT, 5),),
        }
    )
    facts = [count(4, GRAND), count(6, GRAND), count(8, OTHER), count(9, PARENT)]

    found = history(BATCH, told(*facts), links)

    assert names(found) == [facts[0].uid, facts[2].uid, facts[3].uid]


def test_what_names_no_batch_may_concern_it():
    contact = tell(
        "contact", "contact_seen", hour(1), **{"from": OTHER, "to": container(0), "way": "tool"}
    )
    found_ = tell(
        "found",
        "found_again",
        hour(2),
        of=uid("x"),
        count=1,
        container=container(0),
        alive=True,
    )

    assert names(history(BATCH, told(contact, found_), Lineage({}))) == [
        contact.uid,
        found_.uid,
    ]


def test_splits_and_joins_concern_everybody_they_name():
    split = tell(
        "split",
        "batch_split",
        hour(1),
        body={"batch": str(PARENT), "parts": [{"batch": str(BATCH)}]},
    )
    joined = tell(
        "joined", "batches_joined", hour(2), body={"members": [str(OTHER)], "batch": str(BATCH)}
    )
    elsewhere = tell(
        "elsewhere",
        "batches_joined",
        hour(3),
        body={"members": [str(OTHER)], "batch": str(GRAND)},
    )

    found = history(BATCH, told(split, joined, elsewhere), Lineage({}))

    assert names(found) == [split.uid, joined.uid]


def test_placements_say_what_must_be_known():
    story = Story()
    placed = story.placed()
    moved = story.moved(70)
    story.lost(71)

    first, second = placements(history(BATCH, told(*story.facts), Lineage({})))

    assert (first.stay, first.container, first.kit) == (stay(0), container(0), kit(0))
    assert (first.by, first.source, first.batch) == (placed.uid, None, BATCH)
    assert (second.stay, second.container, second.kit) == (stay(1), container(1), kit(1))
    assert (second.by, second.source) == (moved.uid, container(0))
    assert second.when == When.exactly(hour(70))
