"""A great many stories, told to the record book and the tables alone: no doors, no judgements.

    FILLMARK_MANY=20000 FILLMARK_SEED=7 pytest -s tests/stock/test_many_stories.py

tells so many with numbers that begin there, and prints the first.
"""

import os
import random

import pytest
from django.db import IntegrityError, transaction

from protocols.values import Standing
from stock import ledger
from stock.apply import DOES_NOT_FIT, apply_then_parked, park
from stock.ledger import DeviceEntry, Envelope
from stock.models import Log, Parked
from stock.names import new_uid
from stock.refusals import CannotApply
from tests.stock.test_any_order import END, WHAT, ground, tale
from tests.stock.test_function_of_facts import on_record, what_follows

pytestmark = pytest.mark.django_db

MANY = int(os.environ.get("FILLMARK_MANY", "20"))
SEED = int(os.environ.get("FILLMARK_SEED", "500"))
HOURS = (0, 0, 1, 3, 9, 30, 71)


def happened(chance):
    """What happens, to whom, how many, after how many hours, and one more choice."""
    return [
        (
            chance.choice(WHAT.split()),
            chance.randint(0, 7),
            chance.randint(1, 3),
            chance.choice(HOURS),
            chance.random() < 0.5,
        )
        for _ in range(chance.randint(1, 24))
    ]


def tell(story, log, n):
    """Enter one report and apply it, or park it, as the door does with what happened."""
    at, told, person = story.told[n]
    device = story.ground.devices[n % len(story.ground.devices)]
    envelope = Envelope(
        doer=person.uid,
        messenger=person.uid,
        performed_at=at,
        offset_min=0,
        recorded_at=END,
        standing=Standing.HAPPENED,
        group=new_uid(END),
        device=DeviceEntry(device, n, at, 0),
    )
    fact = ledger.append(log, envelope, told)
    try:
        apply_then_parked(fact)
    except CannotApply as misfit:
        park(fact, misfit.reason)
    except IntegrityError:
        park(fact, DOES_NOT_FIT)


def test_many_stories_leave_what_follows_from_their_facts(db):
    floor = ground()
    print(f"{MANY} stories from {SEED}")  # noqa: T201  which ones they were
    wrong = []
    for number in range(SEED, SEED + MANY):
        chance = random.Random(number)  # noqa: S311  a story, no secret
        story = tale(floor, happened(chance))
        order = chance.sample(story.order, len(story.told))
        with transaction.atomic():
            log = Log.objects.get(uid=floor.shop.site)
            for n in order:
                tell(story, log, n)
            if Parked.objects.exists() or on_record() != what_follows():
                wrong.append(number)
                print(f"not {number}")  # noqa: T201
            transaction.set_rollback(True)
    assert wrong == []
