"""However reports come, what is on record is what follows from all of them at once."""

import os

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from protocols.accounts import NOTES
from protocols.amended import EVER
from protocols.animals import KINDS, animals
from protocols.order import happenings
from protocols.values import RulesHistory
from stock import rejudge
from stock.apply.words import value_of
from stock.judging.reach import bring_up_to_date, judging_later
from stock.models import Balance, Fact, Log, Loss, Missing, Parked, StayRow
from stock.verify import verify
from tests.stock.test_any_order import END, ground, stories, tale

pytestmark = pytest.mark.django_db
# Longer on purpose: FILLMARK_STORIES=20000 tries so many, other ones each time.
STORIES = int(os.environ.get("FILLMARK_STORIES", "0"))


def on_record():
    """Balances, stays, who is missing and lost, as the tables have them."""
    there = Balance.objects.exclude(n=0).exclude(place__in=("received", "doa"))
    return {
        "balances": set(there.values_list("holder", "place", "n")) - lines(),
        "stays": set(StayRow.objects.values_list("uid", "batch", "container", "ended_by")),
        "missing": set(Missing.objects.values_list("fact", "count", "open")),
        "lost": set(Loss.objects.values_list("fact", "count")),
    }


def lines():
    """What came out of bags is no animal of a batch yet."""
    return set(
        Balance.objects.filter(place="outside", n__lt=0).values_list("holder", "place", "n")
    )


def what_follows():
    """The same, from all facts in the order of happenings."""
    told = map(value_of, Fact.objects.filter(kind__in=KINDS | NOTES))
    found = animals(happenings(told, at=EVER, rules=RulesHistory()))
    assert not found.misfits
    sums = {}
    for one in found.gone:
        sums[one.begin] = sums.get(one.begin, 0) - one.count
        sums[one.end] = sums.get(one.end, 0) + one.count
    return {
        "balances": {
            (spot.holder, spot.place, n)
            for spot, n in sums.items()
            if n and spot.place not in ("received", "outside")
        },
        "stays": {
            (one.uid, one.batch, one.container, one.ended_by) for one in found.stood.values()
        },
        "missing": {(one.by, one.count, one.open) for one in found.missed.values()},
        "lost": {(one.by, one.count) for one in found.lost.values()},
    }


@pytest.mark.parametrize("longest", [12, 24])
def test_what_is_on_record_follows_from_all_that_was_told(engine, longest):
    floor = ground()

    @settings(
        max_examples=STORIES or {"sqlite": 150, "postgresql": 90}[engine],
        derandomize=not STORIES,
        print_blob=True,
        deadline=None,
        suppress_health_check=list(HealthCheck),
    )
    @given(happened=stories(longest), data=st.data())
    def holds(happened, data):
        story = tale(floor, happened)
        order = data.draw(st.permutations(story.order))
        with transaction.atomic():
            with judging_later():
                story.deliver(order, repeats=order[:1])
            bring_up_to_date(END)
            assert not Parked.objects.exists()
            assert on_record() == what_follows()
            assert rejudge.check(END) == []
            assert [verify(log) for log in Log.objects.all()] == [None, None]
            transaction.set_rollback(True)

    holds()
