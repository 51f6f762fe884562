"""EPCIS documents of whatever happened: their quantities alone close, as the record's do."""

import json
import random
from datetime import timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest
from django.db import transaction
from jsonschema import Draft7Validator, FormatChecker

from api.exports.epcis import documents
from protocols.epcis import tallied
from stock.models import Balance, Log
from stock.queries.audit import Span
from tests.foreign import epcis_schema
from tests.stock.test_any_order import END, ground, tale
from tests.stock.test_many_stories import happened, tell

pytestmark = pytest.mark.django_db
STORIES = range(900, 908)
HERE = ("received", "alive", "unaccounted")
GONE = ("sold", "on_the_way")


def exported(site, size=None):
    """The one document of all that this site's record book holds."""
    days = timedelta(days=800)
    span = Span(site, END - days, END + days, ZoneInfo("UTC"))
    size = Log.objects.get(uid=site).size if size is None else size
    (document,) = documents(site, span, size)
    return json.loads(b"".join(document.lines()))


def stories(floor):
    """Each story, told in an order of its own, and gone again behind it."""
    for number in STORIES:
        chance = random.Random(number)  # noqa: S311  a story, no secret
        story = tale(floor, happened(chance))
        with transaction.atomic():
            log = Log.objects.get(uid=floor.shop.site)
            for n in chance.sample(story.order, len(story.told)):
                tell(story, log, n)
            log.save()
            yield number
            transaction.set_rollback(True)


def on_record(place_of):
    """How many are at these places, by holder; nobody is no entry."""
    found = {}
    for row in Balance.objects.filter(place__in=place_of):
        found[row.holder] = found.get(row.holder, 0) + row.n
    return {uid: n for uid, n in found.items() if n}


def told(tally, part):
    return {UUID(name[-36:]): of[part] for name, of in tally.items() if of[part]}


def test_the_events_alone_say_who_is_here_and_who_was_sent(db):
    floor = ground()
    check = Draft7Validator(epcis_schema(), format_checker=FormatChecker())
    for number in stories(floor):
        document = exported(floor.shop.site)
        faults = [
            f"{list(one.path)}: {one.message[:200]}" for one in check.iter_errors(document)
        ]
        assert faults == [], number
        tally = tallied(document["epcisBody"]["eventList"])
        assert told(tally, "here") == on_record(HERE), number
        assert told(tally, "sent") == on_record(GONE), number
