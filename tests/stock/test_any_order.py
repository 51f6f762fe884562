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
    Log,
    Loss,
    Missing,
    Parked,
    Reliance,
    StayRow,
    Task,
)
from stock.verify import verify
from tests.make import START, asking, make, make_container, make_line, make_rack, make_shop
from tests.tell import Ground, Story

pytestmark = pytest.mark.django_db
# Longer on purpose: FILLMARK_STORIES=20000 tries so many, other ones each time.
STORIES = int(os.environ.get("FILLMARK_STORIES", "0"))
END = START + timedelta(hours=400)
EACH, BATCHES = 5, 2
TABLES = {
    Balance: ("holder", "place", "n"),
    Batch: ("uid", "state", "limit", "closed_at", "placed_at"),
    StayRow: ("uid", "batch", "container", "kit", "began_earliest", "ended_latest", "ended_by"),
    DeviationRow: ("uid", "batch", "rule", "cause", "effect", "open"),
    Missing: ("fact", "count", "open", "container"),
    Loss: ("fact", "count"),
    Parked: ("fact",),
    Reliance: ("batch", "subject", "until"),
    Task: ("key", "what", "limit", "planned", "state"),
}
happenings = st.lists(
    st.tuples(
        st.sampled_from(["move", "move", "lose", "miss", "find", "dead", "bear"]),
        st.integers(0, BATCHES - 1),
        st.integers(1, 2),
        st.integers(0, 30),
    ),
    min_size=1,
    max_size=14,
)


def ground():
    """A shop with tablets; every batch of a story has containers and kits of its own."""
    shop = make_shop(at=START)
    rack = make_rack(shop)
    places = [
        (make_container(shop, f"R1-{n:02}", rack=rack), make(shop, "kits", f"A-{n}", needs=[]))
        for n in range(EACH * BATCHES)
    ]
    names = [make_device(shop, f"Tablet {n}") for n in range(3)]
    return Ground(shop, make_line(shop, 100), places, names)


def make_device(shop, label):
    device = uuid4()
    asked = DeviceAsked(uid=device, site=shop.site, label=label)
    set_device(asking(shop.manager), asked=asked)
    return device


def tale(ground, happened):
    """What happened one after the other; what cannot have happened is left out."""
    story = Story(ground, now=END, each=EACH)
    batches = [story.place(12, at=n) for n in range(BATCHES)]
    lost, at = [], float(BATCHES)
    for what, which, count, hours in happened:
        batch, at = batches[which], at + hours
        happen(story, what, batch, count, at, lost)
    return story


def happen(story, what, batch, count, at, lost):
    if what == "move":
        story.move(batch, at)
    elif what == "bear":
        story.bear(batch, count, at)
    elif what in ("lose", "miss") and batch.alive > count:
        uid = getattr(story, what)(batch, count, at)
        lost += [(batch, uid, count)] if what == "miss" else []
    elif what in ("find", "dead") and lost:
        whose, uid, missed = lost.pop()
        story.find(whose, uid, missed, at, alive=what == "find")


def rows():
    """Everything that follows, whatever the order of the rows."""
    return {
        model.__name__: sorted(map(repr, model._default_manager.values_list(*columns)))
        for model, columns in TABLES.items()
    }


def outcome(story, order, repeats=()):
    """What follows from a delivery, which is then undone."""
    with transaction.atomic():
        with judging_later():
            story.deliver(order, repeats)
        bring_up_to_date(END)
        told = rows(), [verify(log) for log in Log.objects.all()]
        wrong = rejudge.check(END)
        transaction.set_rollback(True)
    assert wrong == []
    return told


def test_a_true_story_ends_the_same_in_whichever_order_it_is_told(engine):
    floor = ground()

    @settings(
        max_examples=STORIES or {"sqlite": 40, "postgresql": 12}[engine],
        derandomize=not STORIES,
        print_blob=True,
        deadline=None,
        suppress_health_check=list(HealthCheck),
    )
    @given(happened=happenings, data=st.data())
    def holds(happened, data):
        story = tale(floor, happened)
        whole = range(len(story.told))
        order = data.draw(st.permutations(whole))
        repeats = data.draw(st.lists(st.sampled_from(whole), max_size=3))

        assert outcome(story, order, repeats) == outcome(story, whole)

    holds()


def test_a_story_told_backwards_is_made_again_as_it_was_told(db):
    story = tale(ground(), [("miss", 0, 2, 9), ("move", 0, 1, 30), ("find", 0, 2, 9)])
    story.deliver(range(len(story.told))[::-1])

    assert not Parked.objects.exists()
    assert rebuild.check(END) == []
