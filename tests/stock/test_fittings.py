"""Pieces over time: told late, in any order, corrected or taken back, broken."""

from datetime import timedelta
from itertools import permutations
from uuid import UUID

import pytest

from protocols.values import Standing
from stock import rebuild, rejudge
from stock.doors.fittings import Fitting, fit_piece, mark_defective
from stock.doors.questions import confirm_fact, correct_fact, withdraw_fact
from stock.models import Batch, DeviationRow, Piece, Upkeep
from stock.refusals import Refused
from tests.make import START, asking, make, make_batch, make_container, make_person, make_shop
from tests.stock.telling import HOUR

pytestmark = pytest.mark.django_db(transaction=True)

TOLD = START + timedelta(days=1)


@pytest.fixture
def shop():
    return make_shop()


@pytest.fixture
def heater(shop):
    return make(shop, "pieces", "H-1", type="heater", single_use=False)


@pytest.fixture
def kits(shop):
    return [make(shop, "kits", label, needs=["heater"]) for label in ("A-1", "B-1")]


def late(shop, at, told=TOLD, **more):
    """What happened at `at`, told a day later."""
    happened = {"standing": Standing.HAPPENED, "reason": "told later"}
    return asking(shop.manager, told, performed_at=at, **happened, **more)


def fit(shop, piece, at, **where):
    return fit_piece(late(shop, at), fitting=Fitting(piece=piece, **where))


def uid_of(told):
    return UUID(told.body["fact"]["uid"])


def kit_of(piece):
    return Piece.objects.get(uid=piece).kit_id


def state_of(thing):
    return Upkeep.objects.get(subject=thing).state


@pytest.mark.parametrize("order", list(permutations(range(3))))
def test_a_piece_belongs_where_it_was_fitted_last_in_whichever_order_that_is_told(
    shop, heater, kits, order
):
    other = make(shop, "pieces", "H-2", type="heater", single_use=False)
    tell = [
        lambda: fit(shop, heater, START + HOUR, kit=kits[0]),
        lambda: fit(shop, heater, START + 2 * HOUR, kit=kits[1]),
        lambda: fit(shop, other, START + 3 * HOUR, kit=kits[1], replaces=heater),
    ]

    told = [tell[place]() for place in order]

    assert [one.body["fact"]["parked"] for one in told] == [False] * 3
    belongs = {row.label: row.kit_id for row in Piece.objects.all()}
    assert belongs == {"H-1": None, "H-2": kits[1]}
    assert rebuild.check(START + timedelta(days=2)) == []


@pytest.mark.parametrize("defect_first", [True, False])
def test_a_broken_piece_that_was_fitted_nevertheless_breaks_its_kit(
    shop, heater, kits, defect_first
):
    tell = [
        lambda: mark_defective(late(shop, START + HOUR), piece=heater, what="cracked"),
        lambda: fit(shop, heater, START + 2 * HOUR, kit=kits[0]),
    ]

    told = [one() for one in (tell if defect_first else reversed(tell))]

    assert [one.body["fact"]["parked"] for one in told] == [False, False]
    assert (kit_of(heater), state_of(kits[0])) == (kits[0], "defective")


def test_before_it_broke_it_could_be_fitted(shop, heater, kits):
    mark_defective(asking(shop.manager, START + 3 * HOUR), piece=heater, what="cracked")

    asked = asking(
        shop.manager, START + 4 * HOUR, performed_at=START + 2 * HOUR, reason="told later"
    )
    told = fit_piece(asked, fitting=Fitting(piece=heater, kit=kits[0]))

    assert told.status == 201
    with pytest.raises(Refused, match="defective"):
        fit_piece(asking(shop.manager, START + 4 * HOUR), fitting=Fitting(heater, kits[0]))


def test_a_fitting_taken_back_leaves_the_piece_where_it_was(shop, heater, kits):
    fit(shop, heater, START + HOUR, kit=kits[0])
    wrong = uid_of(fit(shop, heater, START + 2 * HOUR, kit=kits[1]))
    second = make_person(shop, "Ola", "manager")

    withdraw_fact(asking(second, TOLD, reason="it was another heater"), fact=wrong)

    assert kit_of(heater) == kits[0]
    assert (state_of(kits[0]), state_of(kits[1])) == ("dirty", "incomplete")
    assert rebuild.check(TOLD) == []


def test_a_fitting_whose_time_is_corrected_counts_from_then(shop, heater, kits):
    fit(shop, heater, START + 2 * HOUR, kit=kits[0])
    first = uid_of(fit(shop, heater, START + HOUR, kit=kits[1]))
    new = (START + 3 * HOUR).isoformat().replace("+00:00", "Z")

    said = correct_fact(
        asking(shop.manager, TOLD, reason="misread"), fact=first, field="performed_at", new=new
    )
    unsure = kit_of(heater)
    second = make_person(shop, "Ola", "keeper", TOLD)
    confirm_fact(asking(second, TOLD), fact=uid_of(said))

    assert (unsure, kit_of(heater)) == (kits[0], kits[1])
    assert rebuild.check(TOLD) == []


def test_another_kit_makes_it_another_report(shop, heater, kits):
    fitted = uid_of(fit(shop, heater, START + HOUR, kit=kits[0]))

    with pytest.raises(Refused, match="tell it anew"):
        correct_fact(
            asking(shop.manager, TOLD, reason="wrong kit"),
            fact=fitted,
            field="kit",
            new=str(kits[1]),
        )


def test_told_late_that_it_was_elsewhere_its_kit_was_incomplete_when_it_was_used(
    shop, heater, kits
):
    fit(shop, heater, START, kit=kits[0])
    before = make_batch(shop, 3, kit=kits[1], at=START + HOUR)
    after = make_batch(shop, 4, kit=kits[0], at=START + 3 * HOUR)

    told = fit(shop, heater, START + 2 * HOUR, kit=kits[1])

    codes = dict(Batch.objects.values_list("uid", "code"))
    reached = {one["code"] for one in told.body["reached"]}
    assert reached == {codes[before], codes[after]}
    asked = DeviationRow.objects.get(batch=after, rule="kit_not_ready")
    assert asked.numbers["state"] == "incomplete"
    assert DeviationRow.objects.filter(batch=before, rule="heater_swapped").exists()
    assert rejudge.check(TOLD) == []


def test_a_heater_put_into_a_container_without_a_kit_is_asked_about_there(shop, heater):
    container = make_container(shop)
    batch = make_batch(shop, 3, container=container)

    told = fit(shop, heater, START + HOUR, container=container)

    assert told.body["container"]["state"] == "in_use"
    assert told.body["piece"]["state"] == "in_use"
    assert DeviationRow.objects.get(rule="heater_swapped").batch_id == batch
