"""Which piece belongs where, what must be searched first, and readiness kept as moments."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from protocols.values import State
from stock import rebuild
from stock.judging.equipment import load_equipment
from stock.judging.upkeep import drying_rule, refresh, state_of
from stock.models import Batch, Container, Fact, Kit, Piece, Upkeep
from stock.queries.kits import equipment_state, states
from stock.queries.sites import rules_history
from tests.floor import Floor
from tests.make import make_shop

pytestmark = pytest.mark.django_db(transaction=True)

PLACED = datetime(2027, 1, 5, 8, tzinfo=UTC)
MOVED = datetime(2027, 1, 7, 8, tzinfo=UTC)
HOUR = timedelta(hours=1)


@pytest.fixture
def shop():
    return make_shop()


@pytest.fixture
def floor(client, settings):
    """A batch moved from R1-01 with kit A-1 to R1-02 with kit B-1; one fish was not found."""
    settings.TEST_CLOCK = True
    floor = Floor.open(client, "2027-01-05T07:00:00+00:00", containers=3, kits=2)
    batch = floor.place(5, "R1-01", "A-1", at=PLACED)
    floor.move(batch, "R1-02", "B-1", [4], at=MOVED, missing=1)
    return floor


@pytest.mark.parametrize("left", ["R1-01", "A-1"])
def test_where_an_animal_is_missing_nothing_is_disinfected_before_a_search(floor, left):
    problem = floor_refuses(floor, left)

    container = floor.uids["R1-01"]
    unsearched = floor.walk.refused(f"containers/{container}/emptyings", {"searched": False})
    floor.walk.post(f"containers/{container}/emptyings", {"searched": True})
    floor.disinfect(left, at=MOVED + 3 * HOUR)

    assert (problem.status, problem.code) == (409, "not_searched")
    assert (unsearched.status, unsearched.code) == (409, "not_searched")
    state = floor.walk.get(f"{'kits' if left == 'A-1' else 'containers'}/{floor.uids[left]}")
    assert state["state"] == "disinfected"


@pytest.mark.parametrize(
    ("used", "code"), [("R1-02", "container_occupied"), ("B-1", "kit_in_use")]
)
def test_what_is_in_use_is_not_disinfected(floor, used, code):
    assert floor_refuses(floor, used).code == code


def test_an_occupied_container_is_not_emptied(floor):
    path = f"containers/{floor.uids['R1-02']}/emptyings"

    assert floor.walk.refused(path, {"searched": True}).code == "container_occupied"


def floor_refuses(floor, label):
    """The problem that disinfecting this meets, two hours after the move."""
    ended = MOVED + 2 * HOUR
    body = {
        "subjects": [floor.uids[label]],
        "cleaned": True,
        "agent": "chlorine",
        "started_at": (ended - HOUR).isoformat(),
        "ended_at": ended.isoformat(),
    }
    return floor.walk.at(ended).refused("disinfections", body)


def test_a_piece_was_used_from_when_it_was_fitted_to_a_kit_in_use(floor):
    walk = floor.walk
    body = {"label": "H-22", "type": "heater"}
    heater = walk.post(f"sites/{walk.site}/pieces", body)["piece"]["uid"]
    swapped = {"kit": floor.uids["B-1"], "replaces": floor.pieces["B-1"][0]}
    walk.at(MOVED + 2 * HOUR).post(f"pieces/{heater}/fittings", swapped)

    new = walk.at(MOVED + 3 * HOUR).get(f"pieces/{heater}")
    old = walk.get(f"pieces/{floor.pieces['B-1'][0]}")

    assert (new["state"], old["state"]) == ("in_use", "dirty")
    assert [(one["container_label"], one["from"], one["to"]) for one in new["uses"]] == [
        ("R1-02", "2027-01-07T10:00:00Z", None)
    ]
    assert [(one["from"], one["to"]) for one in old["uses"]] == [
        ("2027-01-07T08:00:00Z", "2027-01-07T10:00:00Z")
    ]


def test_what_was_wet_after_all_reaches_the_batches_that_used_it(floor):
    dry = Fact.objects.get(kind="seen_dry").uid

    told = floor.walk.at(MOVED + HOUR).post(
        "wet-findings", {"subjects": [floor.uids["B-1"]], "contradicts": str(dry)}
    )

    batch = Batch.objects.get()
    (subject,) = told["subjects"]
    assert subject["reached"] == [{"uid": str(batch.uid), "code": batch.code}]
    assert {one["batch"] for one in told["deviations"]} == {str(batch.uid)}
    assert "kit_not_ready" in {one["rule"] for one in told["deviations"]}


def test_what_is_kept_of_readiness_says_the_same_as_the_facts(floor):
    floor.walk.post(f"containers/{floor.uids['R1-01']}/emptyings", {"searched": True})
    floor.disinfect("R1-01", "A-1", at=MOVED + 2 * HOUR)
    floor.see_dry("R1-01", at=MOVED + 3 * HOUR)

    moments = [MOVED + 3 * HOUR, MOVED + 27 * HOUR - timedelta(seconds=1), MOVED + 27 * HOUR]
    kept = [{row.subject: state_of(row, at) for row in Upkeep.objects.all()} for at in moments]

    assert kept == [judged(floor, at) for at in moments]
    assert (
        len(kept[0]) == Container.objects.count() + Kit.objects.count() + Piece.objects.count()
    )
    assert [one[uid_of(floor, "R1-01")] for one in kept] == [
        State.DRYING,
        State.DRYING,
        State.READY,
    ]
    assert rebuild.check(MOVED + 30 * HOUR) == []


def uid_of(floor, label):
    return Container.objects.get(uid=floor.uids[label]).uid


def judged(floor, at):
    """The state of everything at a moment, from the facts themselves."""
    uids = [uid for sort in (Container, Kit, Piece) for uid in uids_of(sort)]
    found = load_equipment(uids, rules=rules_history(floor.walk.site), at=at)
    drying = drying_rule()
    return {
        **{uid: found.container(uid, drying, at).state for uid in uids_of(Container)},
        **{uid: found.kit(uid, drying, at).state for uid in uids_of(Kit)},
        **{uid: found.piece(uid, drying, at).state for uid in uids_of(Piece)},
    }


def uids_of(sort):
    return list(sort.objects.values_list("uid", flat=True))


def test_reading_and_keeping_states_takes_as_many_queries_for_many_as_for_one(floor):
    site, at = floor.walk.site, MOVED + HOUR
    one, many = uids_of(Kit)[:1], [*uids_of(Kit), *uids_of(Container)]
    how = {
        "zone": ZoneInfo("Europe/Berlin"),
        "drying": drying_rule(),
        "at": at,
        "since": PLACED,
    }

    assert count(lambda: states(site, one, **how)) == count(lambda: states(site, many, **how))
    assert count(lambda: refresh(site, one, at)) == count(lambda: refresh(site, many, at))


def test_a_kit_with_its_pieces_and_uses_takes_a_fixed_number_of_queries(floor):
    kit = Kit.objects.get(uid=floor.uids["B-1"])
    how = {"zone": ZoneInfo("Europe/Berlin"), "drying": drying_rule()}

    queries = count(lambda: equipment_state(kit, at=MOVED, now=MOVED, **how))

    assert queries <= 16


def count(call):
    with CaptureQueriesContext(connection) as queries:
        call()
    return len(queries)
