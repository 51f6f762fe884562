"""Every read as of a moment, and as known by a position of the record book."""

from datetime import datetime, timedelta
from urllib.parse import urlencode

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from stock.models import Log
from tests.certified import kept
from tests.floor import Floor

PLACED = datetime.fromisoformat("2027-01-05T09:00:00+01:00")
HOUR = timedelta(hours=1)
MOVED = PLACED + 70 * HOUR
NOW = MOVED + 30 * HOUR
# These are about the work to be done, which no record book holds.
OF_WORK = ("planned", "planned_local", "task_uid")
FAILED = {"standard": "reference", "expected": "25.0", "got": "26.4", "passed": False}
LATE = {"standing": "happened", "reason": "Found on the list at the sink."}


class Story:
    """A batch that was placed and moved; then a loss, a swap and wet pieces, told late."""

    def __init__(self, floor):
        self.floor, self.walk = floor, floor.walk
        self.seen = []
        self.batch = floor.place(10, "R1-01", "A-1", at=PLACED)
        self.look()
        floor.move(self.batch, "R1-02", "B-1", [10], at=MOVED)
        self.look()
        self.walk.at(NOW)
        lost = {
            "batch": self.batch,
            "fate": "dead",
            "count": 2,
            "cause": [],
            "certainty": "sure",
        }
        found = (PLACED + 20 * HOUR).isoformat()
        line = {**lost, "found_at": found}
        self.loss = self.tell("losses", {"lines": [line], "performed_at": found, **LATE})
        self.tell(
            f"pieces/{floor.pieces['A-2'][0]}/fittings",
            {"kit": floor.uids["B-1"], "performed_at": (MOVED - HOUR).isoformat(), **LATE},
        )
        self.tell("wet-findings", {"subjects": [floor.uids["A-1"]]})
        self.another_batch()
        self.tell(f"instruments/{floor.uids['T-1']}/checks", FAILED)
        read = floor.walk.get(f"containers/{floor.uids['R1-02']}/readings")["readings"][-1]
        warmer = {"field": "value", "new": "26.5", "reason": "Misread."}
        self.tell(f"facts/{read['uid']}/corrections", warmer)
        new = {"field": "count", "new": 3, "reason": "There were three."}
        self.tell(f"facts/{self.loss['fact']['uid']}/corrections", new)

    def another_batch(self):
        """Placed where the first one had been and moved on from there, both told late."""
        uids, line = self.floor.uids, self.floor.receive(5, at=NOW)
        placed = {
            "from": [{"line": line, "count": 5}],
            "container": uids["R1-01"],
            "kit": uids["A-2"],
            "counts": [5],
            "performed_at": (MOVED + 2 * HOUR).isoformat(),
            **LATE,
        }
        batch = self.tell("batches", placed)["batch"]
        moved = {
            "ended_stay": batch["stay"]["uid"],
            "to_container": uids["R1-03"],
            "kit": uids["A-1"],
            "counts": [5],
            "performed_at": (MOVED + 9 * HOUR).isoformat(),
            **LATE,
        }
        self.tell(f"batches/{batch['uid']}/moves", moved)

    def tell(self, path, body):
        told = self.walk.post(path, body)
        self.look()
        return told

    @property
    def paths(self):
        site, uids = self.walk.site, self.floor.uids
        return [
            f"batches/{self.batch}",
            f"batches/{self.batch}/history",
            f"batches/{self.batch}/certificate-check",
            f"batches?site={site}",
            f"deviations?site={site}",
            f"sites/{site}/balances",
            f"sites/{site}/supplier-losses",
            *(f"kits/{uids[label]}" for label in ("A-1", "B-1")),
            *(f"containers/{uids[label]}" for label in ("R1-01", "R1-03")),
            *(f"containers/{uids[label]}/readings" for label in ("R1-01", "R1-02")),
            f"instruments/{uids['T-1']}",
            f"pieces/{self.floor.pieces['A-2'][0]}",
        ]

    def look(self):
        """Read everything, and remember when and up to which entry."""
        known = Log.objects.get(uid=self.walk.site).size - 1
        self.seen.append((self.walk.now, known, {path: self.read(path) for path in self.paths}))

    def read(self, path, **query):
        asked = {name: one for name, one in query.items() if one is not None}
        joint = "&" if "?" in path else "?"
        answer = self.walk.get(f"{path}{joint}{urlencode(asked)}" if asked else path)
        # The thing itself is shown as it is set up now.
        for name in ("piece", "kit", "container"):
            if isinstance(answer.get(name), dict):
                del answer[name]
        return without(answer)


def without(value):
    """The same without what is about work."""
    if isinstance(value, dict):
        return {name: without(one) for name, one in value.items() if name not in OF_WORK}
    return [without(one) for one in value] if isinstance(value, list) else value


@pytest.fixture(scope="module")
def told(django_db_setup, django_db_blocker):
    with kept(django_db_blocker):
        yield Story(Floor.open(Client(), PLACED.isoformat(), containers=3, kits=3))


@pytest.fixture
def story(told, db, settings):
    settings.TEST_CLOCK = True
    return told


def test_as_known_then_everything_reads_as_it_did_then(story):
    for now, known, seen in story.seen:
        again = {path: story.read(path, at=now, known_by=known) for path in story.paths}
        for path in story.paths:
            assert again[path] == seen[path], (now, path)


def test_known_by_the_newest_entry_is_the_plain_read(story):
    newest = story.seen[-1][1]

    for path in story.paths:
        assert story.read(path, known_by=newest) == story.read(path), path


def counts(story, **query):
    return story.read(f"batches/{story.batch}", **query)["batch"]["counts"]


def test_how_many_lived_at_a_past_moment_by_all_that_is_known_now(story):
    before, after = (PLACED + n * HOUR for n in (19, 21))

    assert counts(story, at=before.isoformat()) == {
        "placed": 10,
        "alive": 10,
        "dead": 0,
        "unaccounted": 0,
    }
    assert counts(story, at=after.isoformat())["alive"] == 7


def test_a_correction_is_invisible_before_its_entry(story):
    corrected = story.seen[-1][1]

    assert counts(story, known_by=corrected)["dead"] == 3
    assert counts(story, known_by=corrected - 1)["dead"] == 2


def test_what_was_not_placed_or_not_known_of_is_not_listed(story):
    page = f"batches?site={story.walk.site}"

    assert story.read(page, at=(PLACED - HOUR).isoformat())["batches"] == []
    assert story.read(page, known_by=3)["batches"] == []
    assert len(story.read(page)["batches"]) == 2


@pytest.mark.parametrize("position", ["-1", "x", "1.5", "99999", "9" * 30])
def test_a_position_that_the_record_book_has_not_reached_is_refused_at_its_field(
    story, position
):
    for path in story.paths:
        joint = "&" if "?" in path else "?"
        answer = story.walk.send("GET", f"{path}{joint}known_by={position}")
        assert answer.status_code == 400, path
        assert answer.json()["reasons"][0]["pointer"] == "/known_by"


def test_a_position_is_one_of_a_site_that_must_be_named(story):
    for path in ("batches", "deviations"):
        answer = story.walk.send("GET", f"{path}?known_by=3")
        assert (answer.status_code, answer.json()["code"]) == (400, "unreadable")


def test_reading_the_past_asks_the_database_a_fixed_number_of_times(story):
    for path in story.paths:
        with CaptureQueriesContext(connection) as queries:
            story.read(path, at=NOW.isoformat(), known_by=story.seen[-1][1])
        assert len(queries) <= 45, (path, len(queries))
