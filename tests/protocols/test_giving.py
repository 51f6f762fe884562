"""What may be given to whom, in which water, with what is in it already."""

from decimal import Decimal

import pytest

from protocols.library.giving import Animals, DoseAsked, WaterWith, agents_in, may_give
from protocols.library.meeting import WaterNow
from protocols.library.values import Agent
from protocols.versions import definition

CLOWN = Animals("Amphiprion ocellaris", frozenset({"anemonefish"}))
SHARK = Animals("Chiloscyllium punctatum", frozenset({"Sharks"}))
COOL = WaterWith(WaterNow(temperature_c=Decimal("21.0"), oxygen_percent=Decimal("95")))
WARM = WaterWith(WaterNow(temperature_c=Decimal("25.0"), oxygen_percent=Decimal("95")))
HOT = WaterWith(WaterNow(temperature_c=Decimal("27.1"), oxygen_percent=Decimal("95")))
KEEPER, VET = {"keeper"}, {"veterinarian"}


def reasons(key, amount="0.2", unit="mg/L", *, animals=(CLOWN,), water=WARM, **more):
    asked = DoseAsked(
        more.get("product", "as labelled"), Decimal(amount), unit, more.get("prescribed", False)
    )
    by = definition(key) if key else None
    return list(may_give(asked, by, animals, water, more.get("roles", KEEPER)))


def rules(*args, **more):
    return {one.rule for one in reasons(*args, **more)}


def with_before(*agents, salinity=None):
    return WaterWith(WARM.now, salinity and Decimal(salinity), frozenset(agents))


@pytest.mark.parametrize(
    ("key", "amount", "unit", "more", "expected"),
    [
        ("copper-ionic@1", "0.20", "mg/L", {}, set()),
        ("copper-ionic@1", "0.21", "mg/L", {}, {"dose_too_much"}),
        ("copper-ionic@1", "5", "mL", {}, set()),
        ("copper-ionic@1", "0.2", "mg/L", {"animals": (CLOWN, SHARK)}, {"group_refused"}),
        ("chloroquine@1", "10", "mg/L", {}, {"veterinarian_needed"}),
        ("chloroquine@1", "10", "mg/L", {"prescribed": True}, set()),
        ("chloroquine@1", "10", "mg/L", {"roles": VET}, set()),
        ("formalin-short@1", "250", "mL/m3", {"water": COOL}, set()),
        ("formalin-short@1", "250", "mL/m3", {}, {"dose_too_much", "formalin_strong"}),
        ("formalin-short@1", "150", "mL/m3", {}, set()),
        ("formalin-short@1", "150", "mL/m3", {"water": WaterWith(WaterNow())}, {"dose_water"}),
        ("formalin-long@1", "15", "mL/m3", {"water": HOT}, {"formalin_warm", "dose_water"}),
        ("peroxide@1", "75", "mg/L", {"water": HOT}, {"peroxide_warm", "dose_water"}),
        (
            "copper-ionic@1",
            "0.2",
            "mg/L",
            {"water": with_before(Agent.REDUCING_BINDER)},
            {"copper_with_binder"},
        ),
        (
            "copper-ionic@1",
            "0.2",
            "mg/L",
            {"water": with_before(salinity="26.9")},
            {"copper_with_hyposalinity"},
        ),
        ("copper-ionic@1", "0.2", "mg/L", {"water": with_before(salinity="27.0")}, set()),
        (
            None,
            "5",
            "mL",
            {"product": "Thiosulfate", "water": with_before(Agent.COPPER_CHELATED)},
            {"copper_with_binder"},
        ),
        (None, "5", "mL", {"product": "vitamins", "water": HOT}, set()),
    ],
)
def test_what_stands_against_a_dose(key, amount, unit, more, expected):
    assert rules(key, amount, unit, **more) == expected


def test_a_veterinarian_may_set_aside_whom_it_is_never_for_but_nobody_what_must_not_meet():
    (refused,) = reasons("copper-ionic@1", animals=(SHARK,))
    (clash,) = reasons("copper-ionic@1", water=with_before(Agent.REDUCING_BINDER))

    assert refused.may_insist == ("veterinarian",)
    assert refused.numbers == {"group": "sharks", "species": SHARK.name}
    assert clash.may_insist == ()
    assert clash.code == "must_not_meet"


def test_what_met_before_is_not_held_against_the_next_dose():
    there = with_before(Agent.COPPER_IONIC, Agent.REDUCING_BINDER)

    assert rules("praziquantel@1", "2", prescribed=True, water=there) == set()


@pytest.mark.parametrize(
    ("product", "agents"),
    [
        ("Chelated copper, 25 g/L", {Agent.COPPER_CHELATED}),
        ("Household bleach 8 %", {Agent.BLEACH}),
        ("vitamins", set()),
    ],
)
def test_a_product_is_known_by_its_words(product, agents):
    assert agents_in(product) == agents
