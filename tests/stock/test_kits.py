"""Which piece belongs where, what must be searched first, and readiness kept as moments."""

from datetime import UTC, datetime, timedelta
from itertools import permutations
from zoneinfo import ZoneInfo

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from protocols.values import Standing, State
from stock import rebuild
from stock.doors.kits import Fitting, fit_piece, mark_defective
from stock.judging.equipment import load_equipment
from stock.judging.upkeep import drying_rule, refresh, state_of
from stock.models import Batch, Container, Fact, Kit, Parked, Piece, Upkeep
from stock.queries.kits import equipment_state, states
from stock.queries.sites import rules_history
from tests.floor import Floor
from tests.make import START, asking, make, make_shop

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


def fit(shop, piece, kit, at, **more):
    """Tell of a fitting a day later."""
    asked = asking(
        shop.manager,
        START + timedelta(days=1),
        performed_at=at,
        standing=Standing.HAPPENED,
        reason="told later",
    )
    return fit_piece(asked, fitting=Fitting(piece=piece, kit=kit, **more))


@pytest.mark.parametrize("order", list(permutations(range(3))))
def test_a_piece_belongs_where_it_was_fitted_last_in_whichever_order_that_is_told(shop, order):
    heater = make(shop, "pieces", "H-1", type="heater", single_use=False)
    other = make(shop, "pieces", "H-2", type="heater", single_use=False)
    kits = [make(shop, "kits", label, needs=["heater"]) for label in ("A-1", "B-1")]
    tell = [
        lambda: fit(shop, heater, kits[0], START + HOUR),
        lambda: fit(shop, heater, kits[1], START + 2 * HOUR),
        lambda: fit(shop, other, kits[1], START + 3 * HOUR, replaces=heater),
    ]

    told = [tell[place]() for place in order]

    assert [one.body["fact"]["parked"] for one in told] == [False] * 3
    belongs = {row.label: row.kit_id for row in Piece.objects.all()}
    assert belongs == {"H-1": None, "H-2": kits[1]}
    assert rebuild.check(START + timedelta(days=2)) == []


def test_a_defective_piece_that_was_fitted_nevertheless_is_parked(shop):
    heater = make(shop, "pieces", "H-1", type="heater", single_use=False)
    kit = make(shop, "kits", "A-1", needs=["heater"])
    mark_defective(asking(shop.manager), piece=heater, what="cracked")

    told = fit(shop, heater, kit, START + HOUR)

    assert told.body["fact"]["parked"] is True
    assert Parked.objects.get().code == "piece_defective"
    assert Piece.objects.get(uid=heater).kit_id is None


def test_a_fitting_before_the_defect_is_told_late_and_fits(shop):
    heater = make(shop, "pieces", "H-1", type="heater", single_use=False)
    kit = make(shop, "kits", "A-1", needs=["heater"])
    mark_defective(asking(shop.manager, START + 3 * HOUR), piece=heater, what="cracked")

    told = fit(shop, heater, kit, START + HOUR)

    assert told.body["fact"]["parked"] is False
    assert Piece.objects.get(uid=heater).kit_id == kit


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
    how = {"zone": ZoneInfo("Europe/Berlin"), "drying": drying_rule(), "at": at}

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
