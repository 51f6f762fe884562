"""What a task says on a slip, and for whom it is."""

from zoneinfo import ZoneInfo

import pytest

from protocols.tasks import What, Work
from stock.queries.work_words import task_text

SIGN = "Look closely: a second person. A sign was seen."
JUMPED = "Look closely. An animal had jumped out."


@pytest.mark.parametrize(("why", "said"), [("sign_seen", SIGN), ("jumped", JUMPED)])
def test_only_a_sign_is_looked_at_by_a_second_person(why, said):
    work = Work(key="look", what=What.CLOSE_LOOK, why=why)

    assert task_text(work, ZoneInfo("Europe/Berlin")) == said
