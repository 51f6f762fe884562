"""After a report only what it can concern is compared; that is as good as everything."""

import pytest
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext

from stock.judging import tasks
from stock.judging.task_scope import whole_site
from stock.models import DeviationRow, Fact, Log
from tests.stock.moved import (
    HOUR,
    MOVED,
    lose,
    miss,
    moved_once,
    newest_hours,
    nothing_to_change,
    now,
    search,
)
from tests.working import set_hours


@pytest.fixture(scope="module")
def story(django_db_setup, django_db_blocker):
    with moved_once(django_db_blocker) as told:
        yield told


@pytest.fixture(autouse=True)
def _under_the_test_clock(story, db, settings):
    settings.TEST_CLOCK = True


@pytest.fixture
def floor(story):
    story[0].walk.at(MOVED + HOUR)
    return story[0]


@pytest.fixture
def batch(story):
    return story[1]


def tell_nothing(floor, batch):
    return None


def tell_of_missing(floor, batch):
    miss(floor, batch, 2)


def tell_of_a_search(floor, batch):
    miss(floor, batch, 2)
    search(floor)


def disinfect(floor, batch):
    floor.disinfect("R1-01", "A-1", at=MOVED + 3 * HOUR)


def see_dry(floor, batch):
    disinfect(floor, batch)
    floor.see_dry("R1-01", "A-1", at=MOVED + 9 * HOUR)


def find_wet(floor, batch):
    see_dry(floor, batch)
    floor.walk.at(MOVED + 10 * HOUR).post("wet-findings", {"subjects": floor.pieces["A-1"]})


def place_another(floor, batch):
    floor.place(3, "R1-03", "A-2", at=MOVED + HOUR)


def move_again(floor, batch):
    floor.move(batch, "R1-03", "A-2", [24], at=MOVED + 60 * HOUR)


def lose_all(floor, batch):
    lose(floor, batch, 24)


def see_a_sign(floor, batch):
    floor.walk.post(f"batches/{batch}/signs", {"signs": ["white spots"], "affected": 1})


def decide(floor, batch):
    see_a_sign(floor, batch)
    question = DeviationRow.objects.get(rule="sign_seen")
    floor.walk.as_person("Nora", "manager").post(
        f"deviations/{question.uid}/decisions",
        {"decision": "keep", "known": question.numbers, "reason": "sand"},
    )


def correct_the_move(floor, batch):
    fact = Fact.objects.get(kind="batch_moved")
    new = (MOVED + 4 * HOUR).isoformat()
    floor.walk.at(MOVED + 5 * HOUR).post(
        f"facts/{fact.uid}/corrections",
        {"field": "performed_at", "new": new, "reason": "wrong hour"},
    )


def break_a_heater(floor, batch):
    heater = floor.pieces["A-2"][0]
    other = floor.pieces["B-2"][0]
    floor.walk.post(f"pieces/{other}/fittings", {"kit": floor.uids["A-2"], "replaces": heater})


def close_on_sundays(floor, batch):
    set_hours(floor.walk, days=range(6), version=newest_hours(floor))


def touch(floor, batch):
    ends = {"from": batch, "to": floor.uids["R1-03"], "way": "tool"}
    floor.walk.post("contacts", ends)


@pytest.mark.parametrize(
    "tell",
    [
        tell_nothing,
        tell_of_missing,
        tell_of_a_search,
        disinfect,
        see_dry,
        find_wet,
        place_another,
        move_again,
        lose_all,
        see_a_sign,
        decide,
        correct_the_move,
        break_a_heater,
        close_on_sundays,
        touch,
    ],
    ids=lambda tell: tell.__name__,
)
def test_after_any_report_all_tasks_say_what_is_due(floor, batch, tell):
    tell(floor, batch)

    assert nothing_to_change(floor)


def test_how_much_is_read_does_not_depend_on_how_many_batches_there_are(floor, batch):
    few = queries_of_a_comparison(floor)
    floor.place(3, "R1-03", "A-2", at=MOVED + HOUR)
    floor.place(3, "R1-04", "B-2", at=MOVED + HOUR)

    assert queries_of_a_comparison(floor) == few


def queries_of_a_comparison(floor):
    with CaptureQueriesContext(connection) as found:
        tasks.compare(whole_site(floor.walk.site), now(floor))
    return len(found)


def test_one_report_is_followed_in_few_queries(floor, batch):
    log = Log.objects.get(uid=floor.walk.site)
    fact = Fact.objects.filter(kind="reading_taken").latest("seq")

    with transaction.atomic(), CaptureQueriesContext(connection) as found:
        tasks.reconcile(log, [fact], [batch], at=now(floor))

    assert len(found) <= 16
