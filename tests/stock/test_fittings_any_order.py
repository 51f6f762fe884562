"""Pieces that go from kit to kit, break, are wet: told in any order it ends the same."""

import os
from datetime import timedelta
from uuid import uuid4

import pytest
from django.db import transaction
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from protocols.clocks import utc_text
from stock import rebuild, rejudge
from stock.doors.sites import DeviceAsked, set_device
from stock.judging.reach import bring_up_to_date, judging_later
from stock.models import DeviationRow, Parked, Piece, Reliance, StayRow, Task, Upkeep
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
from tests.tell import Ground, Story

pytestmark = pytest.mark.django_db
# Longer on purpose: FILLMARK_STORIES=500 tries so many, other ones each time.
STORIES = int(os.environ.get("FILLMARK_STORIES", "0"))
END = START + timedelta(hours=400)
PLACES, BATCHES, PIECES = 6, 2, 4
TABLES = {
    Piece: ("uid", "kit", "defective"),
    Upkeep: ("subject", "state", "since", "ready_at"),
    StayRow: ("uid", "batch", "container", "kit", "began_earliest", "ended_latest"),
    DeviationRow: ("uid", "batch", "rule", "cause", "numbers", "open"),
    Reliance: ("batch", "subject", "until"),
    Parked: ("fact",),
}
happenings = st.lists(
    st.tuples(
        st.sampled_from(["move", "fit", "fit", "break", "wet", "clean", "dry"]),
        st.integers(0, 5),
        st.integers(0, 5),
        st.integers(0, 30),
    ),
    min_size=2,
    max_size=9,
)


class Workshop(Story):
    """A story of equipment: which piece was put where, and what was done to it."""

    def fit(self, piece, kit, at):
        body = {"piece": piece, "kit": kit, "container": None, "replaces": None}
        self._tell("piece_fitted", body, at)

    def broke(self, piece, at):
        self._tell("piece_defective", {"piece": piece, "what": "cracked"}, at)

    def about(self, kind, kit, at):
        self._tell(kind, {"subjects": [kit]}, at)

    def clean(self, kit, at):
        body = {
            "subjects": [kit],
            "cleaned": True,
            "agent": "chlorine",
            "mg_per_l": "200",
            "measured": True,
            "started_at": utc_text(self._at(at - 1)),
            "ended_at": utc_text(self._at(at)),
            "rinsed": True,
            "neutralised": None,
        }
        self._tell("disinfected", body, at)


def ground():
    """Places with a kit each, which batches take in turn; pieces go where they are put."""
    shop = make_shop(at=START)
    rack = make_rack(shop)
    places = [
        (
            make_container(shop, f"R1-{n:02}", rack=rack),
            make(shop, "kits", f"A-{n}", needs=["heater"]),
        )
        for n in range(PLACES)
    ]
    pieces = [
        make(shop, "pieces", f"H-{n}", type="heater", single_use=False) for n in range(PIECES)
    ]
    device = uuid4()
    set_device(asking(shop.manager), asked=DeviceAsked(uid=device, site=shop.site, label="T"))
    other = make_person(shop, "Ola", "keeper")
    return Ground(shop, make_line(shop, 100), places, [device], other), pieces


def tale(floor, pieces, happened):
    story = Workshop(floor, now=END)
    batches = [story.place(12, at=n) for n in range(BATCHES)]
    at = float(BATCHES)
    for what, one, other, hours in happened:
        at += hours
        kit, piece = floor.places[one][1], pieces[other % PIECES]
        if what == "move":
            story.move(batches[one % BATCHES], at)
        elif what == "fit":
            story.fit(piece, kit, at)
        elif what == "break":
            story.broke(piece, at)
        elif what == "clean":
            story.clean(kit, at)
        else:
            story.about({"wet": "found_wet", "dry": "seen_dry"}[what], kit, at)
    return story


def rows():
    """What follows, and what is to be done by it; not what was to be done on the way."""
    found = {
        model.__name__: sorted(map(repr, model._default_manager.values_list(*columns)))
        for model, columns in TABLES.items()
    }
    tasks = Task.objects.filter(state="open").values_list("key", "limit")
    return {**found, "Task": sorted(map(repr, tasks))}


def all_at_once(story):
    """What follows when it is told as it happened, and judged at the end."""
    with transaction.atomic():
        with judging_later():
            story.deliver(story.order)
        bring_up_to_date(END)
        told = rows()
        transaction.set_rollback(True)
    return told


def one_by_one(story, order):
    """The same told in this order, each piece of news followed to whomever it reaches."""
    with transaction.atomic():
        story.deliver(order)
        told, wrong = rows(), rejudge.check(END)
        transaction.set_rollback(True)
    assert wrong == []
    return told


def test_equipment_ends_the_same_in_whichever_order_it_is_told(engine):
    floor, pieces = ground()

    @settings(
        max_examples=STORIES or {"sqlite": 8, "postgresql": 4}[engine],
        derandomize=not STORIES,
        print_blob=True,
        deadline=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(happened=happenings, data=st.data())
    def holds(happened, data):
        story = tale(floor, pieces, happened)
        order = data.draw(st.permutations(story.order))

        assert one_by_one(story, order) == all_at_once(story)

    holds()


def test_told_backwards_it_is_made_again_as_it_was_told(db):
    floor, pieces = ground()
    happened = [("fit", 0, 0, 1), ("clean", 1, 0, 2), ("dry", 1, 0, 2), ("fit", 1, 0, 9)]
    story = tale(floor, pieces, [*happened, ("move", 0, 0, 40), ("wet", 1, 0, 2)])

    story.deliver(story.order[::-1])

    assert rebuild.check(END) == []
