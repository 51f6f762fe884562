"""The mixing room: what is left of makes and salt, and which water went where."""

from datetime import timedelta
from uuid import UUID

import pytest
from django.db import IntegrityError

from protocols.values import Standing
from stock import rebuild
from stock.doors.care import care_for
from stock.doors.kits import Disinfection, disinfect
from stock.doors.mixing import check_make, make_water, weigh_salt
from stock.doors.questions import confirm_fact, correct_fact, withdraw_fact
from stock.doors.things import SORTS
from stock.models import Container, Draw, Make, SaltStock
from stock.queries.mixing import lots_seen, make_seen
from stock.queries.shared_water import makes_of_batch, reached_by
from stock.refusals import NotFound, Refused
from tests.make import (
    START,
    asking,
    make,
    make_batch,
    make_container,
    make_person,
    make_shop,
    move,
)
from tests.stock.raw import change, twice

pytestmark = pytest.mark.django_db

HOUR = timedelta(hours=1)
MADE = {
    "vat": "Vat 1",
    "salt_lot": "L-7",
    "volume_l": "200",
    "salinity": "33.0",
    "temperature_c": "25.5",
    "total_chlorine_mg_l": "0",
}
HAPPENED = {"standing": Standing.HAPPENED, "reason": "told later"}


@pytest.fixture
def shop():
    return make_shop()


@pytest.fixture
def lot(shop):
    known = {"dry_fraction": "0.9", "dry_fraction_from": "measured", "in_use": True}
    return make(shop, "salt-lots", "L-7", product="Sea salt", **known)


def mix(shop, at=START, **body):
    answer = make_water(asking(shop.manager, at), site=shop.site, body={**MADE, **body})
    return UUID(answer.body["make"]["uid"])


def fill(shop, container, water, litres="60", at=START + HOUR, care="fillings", **how):
    body = {"make": str(water), "volume_l": litres}
    return care_for(asking(shop.manager, at, **how), container=container, care=care, body=body)


def left(water, at=START + 24 * HOUR):
    return str(make_seen(water, at).standing.left_l.normalize())


def test_what_is_left_of_a_make_is_what_was_not_drawn_since_it_was_measured(shop):
    water, container = mix(shop), make_container(shop)
    fill(shop, container, water, "60")
    fill(shop, container, water, "20", at=START + 3 * HOUR, care="water-changes")

    before = left(water, START + 2 * HOUR)
    checked = {"volume_l": "130", "total_chlorine_mg_l": "0.1"}
    check_make(asking(shop.manager, START + 2 * HOUR), make=water, body=checked)

    assert (before, left(water)) == ("1.4E+2", "1.1E+2")
    assert rebuild.check(START + 24 * HOUR) == []


def test_more_than_is_left_is_refused_when_asked_and_warned_of_when_it_happened(shop):
    water, container = mix(shop), make_container(shop)

    with pytest.raises(Refused) as refused:
        fill(shop, container, water, "211")
    nearly = fill(shop, container, water, "210")
    told = fill(shop, container, water, "60", **HAPPENED)

    assert [one.code for one in refused.value.reasons] == ["water_short"]
    assert nearly.body["warnings"] == []
    assert told.body["warnings"][0]["numbers"]["left_l"] == "-10"
    assert str(make_seen(water, START + HOUR).standing.overdrawn_l.normalize()) == "7E+1"


def test_rows_follow_words_about_what_was_told(shop):
    ola = make_person(shop, "Ola", "keeper")
    water, container = mix(shop), make_container(shop)
    filled = UUID(fill(shop, container, water).body["fact"]["uid"])
    mixed = Make.objects.get().fact
    later, why = START + 2 * HOUR, {"reason": "misread"}

    correct_fact(asking(shop.manager, later, **why), fact=filled, field="volume_l", new="50")
    correct_fact(asking(shop.manager, later, **why), fact=mixed, field="volume_l", new="180")
    corrected = left(water)
    gone = withdraw_fact(asking(shop.manager, later, **why), fact=filled)
    confirm_fact(asking(ola, later), fact=UUID(gone.body["fact"]["uid"]))

    assert (corrected, left(water)) == ("1.3E+2", "1.8E+2")
    assert rebuild.check(later) == []


def test_salt_is_what_came_and_was_weighed_less_what_makes_took(shop, lot):
    def kilos(at):
        return [one.left_kg and round(one.left_kg, 2) for one in lots_seen(shop.site, at)]

    nothing = kilos(START)
    weigh_salt(asking(shop.manager, START), lot=lot, what="received", mass_kg="50")
    mix(shop, lot=str(lot), salt_kg="7.5")
    reckoned = mix(shop, at=START + HOUR, lot=str(lot))
    weigh_salt(asking(shop.manager, START + 9 * HOUR), lot=lot, what="counted", mass_kg="30")

    assert nothing == [None]
    # 200 L of salinity 33 at 25.5 C: 7.53 kg of this lot.
    assert [str(one) for one in kilos(START) + kilos(START + HOUR)] == ["42.50", "34.97"]
    assert [str(one) for one in kilos(START + 9 * HOUR)] == ["30.00"]
    assert Make.objects.get(uid=reckoned).salt_lot == "L-7"
    assert rebuild.check(START + 9 * HOUR) == []


def test_water_is_traced_to_everybody_it_was_with_and_back(shop):
    water, first, second = mix(shop), make_container(shop, "A"), make_container(shop, "B")
    fill(shop, first, water)
    batch = make_batch(shop, 10, container=first, at=START + 2 * HOUR)
    fill(shop, second, water, at=START + 3 * HOUR)
    move(shop, batch, (10,), container=second, at=START + 4 * HOUR)
    at = START + 5 * HOUR

    reached = reached_by(water, at)
    makes = makes_of_batch(batch, at)

    assert [one["container_label"] for one in reached["containers"]] == ["A", "B"]
    assert [one["container_label"] for one in reached["batches"]] == ["A", "B"]
    assert [(one["make"], one["container_label"]) for one in makes] == [
        (str(water), "A"),
        (str(water), "B"),
    ]
    assert [one["container_label"] for one in makes_of_batch(batch, START + 3 * HOUR)] == ["A"]


def test_water_that_was_let_go_reached_nobody_who_came_later(shop):
    water, container = mix(shop), make_container(shop)
    fill(shop, container, water)
    done = Disinfection(
        True, "chlorine", "200", True, START + HOUR, START + 2 * HOUR, rinsed=True
    )
    disinfect(
        asking(shop.manager, START + 2 * HOUR), site=shop.site, subjects=[container], done=done
    )
    make_batch(shop, 10, container=container, at=START + 3 * HOUR)

    assert reached_by(water, START + 4 * HOUR)["batches"] == []


def test_containers_of_one_system_share_their_water(shop):
    system = make(shop, "systems", "Main", status="unknown")
    one, two = (_in_system(shop, system, label) for label in ("A", "B"))
    water = mix(shop)
    fill(shop, one, water)
    batch = make_batch(shop, 10, container=two, at=START + 2 * HOUR)

    (reached,) = reached_by(water, START + 3 * HOUR)["batches"]

    assert (reached["uid"], reached["by_system"]) == (str(batch), True)
    assert [one["make"] for one in makes_of_batch(batch, START + 3 * HOUR)] == [str(water)]


def _in_system(shop, system, label):
    beside = make_container(shop, f"beside {label}")
    body = {"x_m": "0", "y_m": "0", "z_m": "0", "shape": "box", "fill_mark_l": "60"}
    rack = Container.objects.get(uid=beside).rack_id
    kept = {"lid": True, "air_stone": True, "in_use": True, "system": str(system)}
    return make(shop, "containers", label, rack=str(rack), **body, **kept)


def test_a_make_or_lot_of_another_site_is_not_there(shop, lot):
    stranger = make_shop()
    water = mix(shop)

    with pytest.raises(NotFound):
        fill(stranger, make_container(stranger), water)
    with pytest.raises(NotFound):
        mix(stranger, lot=str(lot))
    with pytest.raises(NotFound):
        weigh_salt(asking(stranger.manager), lot=lot, what="counted", mass_kg="1")


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("volume_l", "0"),
        ("salinity", "51"),
        ("temperature_c", "46"),
        ("total_chlorine_mg_l", "-1"),
        ("salt_kg", "-1"),
        ("mixed_at", START + HOUR),
    ],
)
def test_a_figure_that_cannot_be_is_refused_at_its_field_even_if_it_happened(shop, name, value):
    asked = asking(shop.manager, START, standing=Standing.HAPPENED)

    with pytest.raises(Refused) as refused:
        make_water(asked, site=shop.site, body={**MADE, name: value})

    assert [(one.code, one.pointer) for one in refused.value.reasons] == [
        ("unreadable", f"/{name}")
    ]
    assert not Make.objects.exists()


def test_the_database_refuses_what_weighs_or_holds_nothing(shop, lot):
    water = mix(shop, lot=str(lot))
    fill(shop, make_container(shop), water)
    weigh_salt(asking(shop.manager), lot=lot, what="counted", mass_kg="1")

    with pytest.raises(IntegrityError, match="make_holds_something"):
        change(Make.objects.get(), volume_l=0)
    with pytest.raises(IntegrityError, match="draw_takes_something"):
        change(Draw.objects.get(), volume_l=0)
    with pytest.raises(IntegrityError, match="salt_weighs_something"):
        change(SaltStock.objects.get(), mass_kg=-1)


@pytest.mark.parametrize(
    ("sort", "body"),
    [
        ("salt-lots", {"product": "S", "dry_fraction": "0.9", "dry_fraction_from": "label"}),
        (
            "bleaches",
            {
                "product": "B",
                "strength_percent": "5",
                "strength_basis": "trade_percent",
                "strength_from": "label",
            },
        ),
    ],
)
def test_a_label_stands_once_at_a_site(shop, sort, body):
    make(shop, sort, "X", in_use=True, **body)
    other = make(shop, sort, "Y", in_use=True, **body)

    with pytest.raises(IntegrityError, match=twice("label")):
        change(SORTS[sort].model.objects.get(uid=other), label="X")


def test_a_strength_by_weight_needs_a_density_and_a_percent_is_no_fraction(shop):
    strong = {"product": "B", "strength_percent": "8.25", "strength_from": "label"}
    with pytest.raises(Refused) as refused:
        make(shop, "bleaches", "X", in_use=True, strength_basis="naocl_w/w", **strong)
    known = {"dry_fraction": "90", "dry_fraction_from": "label", "in_use": True}
    with pytest.raises(Refused) as too_much:
        make(shop, "salt-lots", "X", product="S", **known)

    assert refused.value.reasons[0].pointer == "/density_g_ml"
    assert too_much.value.reasons[0].pointer == "/dry_fraction"
