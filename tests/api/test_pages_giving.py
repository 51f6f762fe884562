"""Giving something on pages: under which protocol, what stands against it, and its clock."""

import pytest

from stock.models import Fact
from tests.make import START, make_batch, make_container, make_person, make_shop
from tests.visit import Visit, words

pytestmark = pytest.mark.django_db

NOON = START.replace(hour=12).isoformat()


@pytest.fixture
def shop(settings):
    settings.TEST_CLOCK = True
    return make_shop()


@pytest.fixture
def here(shop):
    container = make_container(shop, "R1-01")
    return container, make_batch(shop, container=container)


def visit(shop, role="manager"):
    who = shop.manager if role == "manager" else make_person(shop, "Vera", role)
    return Visit.by(str(who.uid), NOON)


def test_what_is_given_under_a_protocol_stands_with_its_clock(shop, here):
    container, batch = here
    look = visit(shop)

    assert "Copper, ionic (copper-ionic@1)" in look.read("give", container)
    form = look.read("give-one", container, "copper-ionic@1")
    assert form.index("Copper kills invertebrates") < form.index("How much")
    assert "0.15 to 0.20 mg/L, counted as free copper" in form
    assert "Stop at once when: gasping" in form

    dose = {"product": "copper sulfate", "amount": "0.18", "unit": "mg/L"}
    look.follow(look.press("give-one", container, "copper-ionic@1", **dose))
    text = look.read("treatments", batch)
    assert "0:00 h in range, 336:00 h are left." in text
    assert "Copper nobody measured it" in text
    assert "copper sulfate 0.18 mg/L" in text


def test_a_prescription_is_asked_for_at_its_field_and_a_veterinarian_needs_none(shop, here):
    container, _ = here
    dose = {"product": "chloroquine", "amount": "10", "unit": "mg/L"}
    refused = visit(shop).press("give-one", container, "chloroquine@1", **dose)

    assert refused.status_code == 409
    assert "needs a veterinarian: name the prescription." in words(refused)
    vet = visit(shop, "veterinarian")
    assert vet.press("give-one", container, "chloroquine@1", **dose).status_code == 302
    assert Fact.objects.get(kind="dose_given").body["protocol"] == "chloroquine"


def test_what_must_not_meet_is_said_before_it_is_mixed(shop, here):
    container, _ = here
    look = visit(shop)
    copper = {"product": "copper sulfate", "amount": "0.18", "unit": "mg/L"}
    look.press("give-one", container, "copper-ionic@1", **copper)
    binder = {"product": "thiosulfate", "amount": "5", "unit": "g"}
    refused = look.press("give-one", container, "none", **binder)

    assert refused.status_code == 409
    assert "turns copper into a form that is more poisonous" in words(refused)
    assert look.get("give-one", container, "transfer-288@1").status_code == 404
