"""Makes of water and recipes: both sides of every boundary, and what a scale can weigh."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from uuid import UUID

import pytest

from protocols.makes import (
    Drawn,
    Make,
    MakeChecked,
    draw_reasons,
    fit_for_fish,
    standing,
)
from protocols.mixing import (
    SaltUse,
    Strength,
    bath,
    measurable_ml,
    recipe,
    salt_left,
    salt_to_add_kg,
    water_to_add_l,
    weighable_g,
    weighable_kg,
)
from protocols.slip_amounts import SaltUsed, bring_to
from protocols.values import Rules
from protocols.water_needs import Water

NOON = datetime(2027, 1, 5, 12, tzinfo=UTC)
HOUR, SECOND = timedelta(hours=1), timedelta(seconds=1)
D = Decimal
MAKE = Make(UUID(int=1), "V1", D(200), D(33), D(25), D(0), NOON, NOON)


def at(moment, checks=(), drawn=()):
    return standing(MAKE, checks, drawn, moment)


def test_the_newest_figures_count_and_draws_since_the_volume_was_measured():
    checks = [
        MakeChecked(NOON + HOUR, volume_l=D(150), salinity=D("33.4")),
        MakeChecked(NOON + 2 * HOUR, temperature_c=D(26)),
    ]
    drawn = [Drawn(NOON + n * HOUR, D(10)) for n in range(4)]

    found = at(NOON + 2 * HOUR, checks, drawn)

    assert (found.left_l, found.salinity, found.temperature_c) == (D(130), D("33.4"), D(26))
    assert at(NOON, checks, drawn).left_l == 190


@pytest.mark.parametrize(("litres", "short"), [("110", False), ("110.1", True)])
def test_rough_volumes_allow_a_twentieth_more(litres, short):
    found = at(NOON, drawn=[Drawn(NOON, D(100))])

    assert [one.code for one in draw_reasons(found, D(litres))] == ["water_short"] * short


@pytest.mark.parametrize(
    ("mixed", "chlorine", "codes"),
    [
        (12 * HOUR, "0.019", []),
        (12 * HOUR - SECOND, "0.019", ["water_young"]),
        (12 * HOUR, "0.02", ["chlorine_left"]),
        (HOUR, "1", ["water_young", "chlorine_left"]),
    ],
)
def test_fish_need_water_that_is_mixed_and_holds_no_chlorine(mixed, chlorine, codes):
    checked = MakeChecked(NOON, total_chlorine_mg_l=D(chlorine))

    found = fit_for_fish(at(NOON + mixed, [checked]), Rules())

    assert [one.code for one in found] == codes


def test_a_site_may_ask_for_less_and_chlorine_tested_in_the_container_goes_before():
    found = at(NOON + HOUR, [MakeChecked(NOON, total_chlorine_mg_l=D(1))])

    assert fit_for_fish(found, Rules(mixed_least_s=3600), chlorine_tested=True) == ()


def test_a_recipe_says_what_can_be_weighed():
    asked = {"salinity": D(33), "temperature_c": D(25), "dry_fraction": D("0.92")}

    assert recipe(D(40), **asked).salt_kg == D("1.475")
    assert recipe(D(40), **asked, volume_basis="source_water").salt_kg == D("1.490")
    with pytest.raises(ValueError, match="dry_fraction"):
        recipe(D(40), **{**asked, "dry_fraction": D(92)})


def test_a_make_is_raised_with_salt_and_lowered_with_fresh_water():
    thirty, more = D(30), {"temperature_c": D(25)}

    raised = salt_to_add_kg(
        D(40), salinity_from=thirty, salinity_to=D(35), dry_fraction=D("0.9"), **more
    )

    assert raised == D("0.237")
    assert water_to_add_l(D(40), salinity_from=D(35), salinity_to=thirty, **more) == D("6.8")


def test_a_bath_is_never_weaker_than_asked():
    strong = Strength(D("8.25"), "naocl_w/w", D("1.11"))

    found = bath(D(20), strong, target_mg_l=D(200), contact=HOUR)

    # 45.86 mL and 28.001 g, up to the next mark and the next step of the scale.
    assert (found.bleach_ml, found.thiosulfate_g) == (D(46), D("28.5"))


@pytest.mark.parametrize(
    ("rounded", "amount", "shown"),
    [
        (weighable_kg, "2.2577", "2.260"),
        (weighable_kg, "22.577", "22.58"),
        (weighable_kg, "0.2374", "0.237"),
        (weighable_kg, "150.2", "150.0"),
        (weighable_g, "28.0", "28.0"),
        (weighable_g, "84.004", "85"),
        (measurable_ml, "228.6", "230"),
    ],
)
def test_amounts_are_those_of_a_scale_or_a_jug(rounded, amount, shown):
    assert rounded(D(amount)) == D(shown)


def test_salt_is_what_was_weighed_last_and_came_and_went_since():
    used = [SaltUse(NOON, D(5)), SaltUse(NOON + 2 * HOUR, D(4))]
    received = [(NOON - HOUR, D(25)), (NOON + 3 * HOUR, D(10))]

    assert salt_left((), (), used) is None
    assert salt_left(received, (), used) == 26
    assert salt_left(received, [(NOON, D(18))], used) == 24


@pytest.mark.parametrize(
    ("wanted", "said"),
    [
        ("33.3", ""),
        ("34", "add 0.237 kg of salt"),
        ("31", "add 13.2 L of fresh water"),
    ],
)
def test_what_brings_a_make_to_the_salinity_that_is_wanted(wanted, said):
    salt = SaltUsed(D("0.9"))

    text = bring_to(at(NOON), Water(D(wanted), D(25)), salt)

    assert (said in text) if said else text == ""
