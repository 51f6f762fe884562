"""Whatever people tell, in whatever order: the record stays whole, and every sum closes."""

import os

import pytest
from hypothesis import HealthCheck, settings
from hypothesis.stateful import run_state_machine_as_test

from tests.stock.machine_equipment import Equipment
from tests.stock.machine_family import Family
from tests.stock.machine_questions import Questions

pytestmark = pytest.mark.django_db(transaction=True)

# Longer on purpose: FILLMARK_STORIES=500 tries so many stories, other ones each time.
STORIES = int(os.environ.get("FILLMARK_STORIES", "0"))


class Everything(Family, Equipment, Questions):
    """All that can be told in one shop."""


def test_nothing_that_is_told_leaves_the_record_in_pieces(engine):
    stories = STORIES or {"sqlite": 12, "postgresql": 6}[engine]

    run_state_machine_as_test(
        Everything,
        settings=settings(
            max_examples=stories,
            stateful_step_count=30,
            derandomize=not STORIES,
            print_blob=True,
            deadline=None,
            suppress_health_check=list(HealthCheck),
        ),
    )
