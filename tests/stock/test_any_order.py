"""The order in which reports come never matters: a true story, delivered in any order."""

import os
from datetime import timedelta
from uuid import uuid4

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from stock import rebuild, rejudge
from stock.doors.sites import DeviceAsked, set_device
from stock.judging.reach import bring_up_to_date, judging_later
from stock.models import (
    Balance,
    Batch,
    DeviationRow,
    Dispatch,
    Kin,
    Log,
    Loss,
    Missing,
    Origin,
    Parked,
    Reliance,
    StayRow,
    Task,
    Upkeep,
)
from stock.sums import wrong_sums
from stock.verify import verify
from tests.make import (
    START,
    asking,
    make,
    make_container,
    make_line,
    make_person,
    make_rack,
    make_shop,
)
from tests.tell import MINUTE, Ground, Story

pytestmark = pytest.mark.django_db
# Longer on purpose: FILLMARK_STORIES=20000 tries so many, other ones each time.
STORIES = int(os.environ.get("FILLMARK_STORIES", "0"))
END = START + timedelta(hours=900)
PLACES, BATCHES = 7, 4
TABLES = {
    Batch: ("uid", "state", "limit", "closed_at", "placed_at", "protocol", "earliest_end"),
    StayRow: ("uid", "batch", "container", "kit", "began_earliest", "ended_latest", "ended_by"),
    DeviationRow: ("uid", "batch", "rule", "cause", "effect", "open"),
    Dispatch: ("uid", "count", "returned"),
    Kin: ("batch", "of", "how"),
    Loss: ("fact", "batch", "count"),
    Missing: ("fact", "batch", "count", "open", "container", "searched_at"),
    Origin: ("batch", "line", "count"),
    Parked: ("fact",),
    Reliance: ("batch", "subject", "until"),
    Task: ("key", "what", "limit", "planned", "state"),
    Upkeep: ("subject", "state", "since", "ready_at"),
}
WHAT = (
    "move move move split join again lose mistype nobody miss leave find bear send back "
    "count sign touch empty clean"
)


def stories(longest):
    """What happens, to whom, how many, after how many hours, and one more choice."""
    one = st.tuples(
        st.sampled_from(WHAT.split()),
        st.integers(0, 7),
        st.integers(1, 3),
        st.sampled_from([0, 0, 1, 3, 9, 30, 71]),
        st.booleans(),
    )
    return st.lists(one, min_size=1, max_size=longest)


def ground():
    """A shop with tablets, and fewer places than a story has stays: they are used again."""
    shop = make_shop(at=START)
    rack = make_rack(shop)
    places = [
        (make_container(shop, f"R1-{n:02}", rack=rack), make(shop, "kits", f"A-{n}", needs=[]))
        for n in range(PLACES)
    ]
    names = [make_device(shop, f"Tablet {n}") for n in range(3)]
    other = make_person(shop, "Ola", "keeper")
    return Ground(shop, make_line(shop, 100), places, names, other)


def make_device(shop, label):
    device = uuid4()
    asked = DeviceAsked(uid=device, site=shop.site, label=label)
    set_device(asking(shop.manager), asked=asked)
    return device


def tale(ground, happened):
    """What happened one after the other; what cannot have happened is left out."""
    story, at = Story(ground, now=END), 0.0
    for _ in range(2):
        story.place(12, at)
    for what, which, count, hours, yes in happened:
        at += hours
        happen(story, what, story.batches[which % len(story.batches)], count, at, yes)
    return story


def happen(story, what, batch, count, at, yes):
    if what == "move" and story.free:
        story.move(batch, at)
    elif what == "leave" and story.free and batch.alive > count:
        story.move(batch, at, missing=count)
    elif what == "split" and story.free and batch.alive > count:
        story.split(batch, count, at)
    elif what == "join" and len(story.batches) > 1:
        other = next(one for one in story.batches if one is not batch)
        story.join(batch, other, at)
    elif what == "again" and batch.moved_by and batch.alive > count:
        story.tell_again(batch, at + 5 * MINUTE, count - 1, yes)
    elif what == "find" and story.missing:
        story.find(at, yes)
    elif what == "back" and story.sent:
        story.take_back(at)
    else:
        to_one(story, what, batch, count, at, yes)


def to_one(story, what, batch, count, at, yes):
    if what in ("lose", "miss", "send") and batch.alive > count:
        getattr(story, what)(batch, count, at)
    elif what == "mistype" and batch.alive > count + 1:
        story.lose_mistyped(batch, count, at)
    elif what == "nobody":
        story.lose_nobody(batch, at)
    elif what == "bear":
        story.bear(batch, count, at)
    elif what == "count":
        story.count(batch, at)
    elif what == "sign":
        story.see_sign(batch, at, yes)
    elif what == "touch":
        story.touch(batch, story.batches[0], at)
    elif what in ("empty", "clean") and story.free:
        getattr(story, what)(story.free[-1][0], at)


def rows():
    """Everything that follows, whatever the order of the rows."""
    found = {
        model.__name__: sorted(map(repr, model._default_manager.values_list(*columns)))
        for model, columns in TABLES.items()
    }
    there = Balance.objects.exclude(n=0).values_list("holder", "place", "n")
    return {**found, "Balance": sorted(map(repr, there))}


def outcome(story, order, repeats=()):
    """What follows from a delivery, which is then undone."""
    with transaction.atomic():
        with judging_later():
            story.deliver(order, repeats)
        bring_up_to_date(END)
        told = rows(), [verify(log) for log in Log.objects.all()]
        wrong = [*rejudge.check(END), *wrong_sums()]
        transaction.set_rollback(True)
    assert wrong == []
    return told


def test_a_true_story_ends_the_same_in_whichever_order_it_is_told(engine):
    floor = ground()

    @settings(
        max_examples=STORIES or {"sqlite": 20, "postgresql": 8}[engine],
        derandomize=not STORIES,
        print_blob=True,
        deadline=None,
        suppress_health_check=list(HealthCheck),
    )
    @given(happened=stories(24), data=st.data())
    def holds(happened, data):
        story = tale(floor, happened)
        order = data.draw(st.permutations(story.order))
        repeats = data.draw(st.lists(st.sampled_from(story.order), max_size=3))

        as_it_was = outcome(story, story.order)
        assert as_it_was[0]["Parked"] == []
        assert outcome(story, order, repeats) == as_it_was

    holds()


def test_a_story_told_backwards_is_made_again_as_it_was_told(db):
    story = tale(ground(), [("miss", 0, 2, 9, 0), ("move", 0, 1, 30, 0), ("find", 0, 2, 9, 1)])
    story.deliver(reversed(story.order))

    assert not Parked.objects.exists()
    assert rebuild.check(END) == []
