"""Signs, contacts and incidents mean the same in whichever order they are told."""

from itertools import permutations

import pytest

from stock.models import DeviationRow
from tests.stock.test_any_order import END, ground, outcome
from tests.tell import Story

pytestmark = pytest.mark.django_db


def tale(floor):
    """A sign on one batch, a contact with the other, a jump; both move away from it."""
    story = Story(floor, now=END)
    ill, other = story.place(12, at=0), story.place(9, at=1)
    here, _ = other.place
    story._tell("sign_seen", {"batch": ill.uid, "signs": ["velvet"], "affected": 1}, 5)
    story._tell("contact_seen", {"from": ill.uid, "to": here, "way": "tool"}, 6)
    story._tell("incident_recorded", {"container": here, "kind": "jumped", "what": {}}, 7)
    story.move(other, 30)
    story.move(ill, 40)
    return story


def test_whatever_is_told_first_the_same_questions_are_open_at_the_end(db):
    story = tale(ground())
    whole = range(len(story.told))
    orders = list(permutations(whole))[::560]

    expected = outcome(story, whole)

    assert "'proximity'" in str(expected[0]["DeviationRow"])
    assert "'contact_tool'" in str(expected[0]["DeviationRow"])
    assert "close_look" in str(expected[0]["Task"])
    assert [one for one in orders if outcome(story, one) != expected] == []


def test_told_backwards_and_judged_at_each_step_they_are_open_as_well(db):
    story = tale(ground())
    story.deliver(range(len(story.told))[::-1])

    rules = sorted(DeviationRow.objects.values_list("rule", flat=True).distinct())
    assert {"contact_tool", "proximity", "sign_seen"} <= set(rules)
