"""Protocols as people read them, and a new version made on a page."""

import pytest

from stock.models import Fact, MadeProtocol
from tests.make import make, make_person, make_shop
from tests.visit import Visit, words

pytestmark = pytest.mark.django_db

MONDAY = "2027-01-04T10:00:00+00:00"


@pytest.fixture
def shop(settings):
    settings.TEST_CLOCK = True
    return make_shop()


@pytest.fixture
def visit(shop):
    return Visit.by(str(shop.manager.uid), MONDAY)


def filled(visit, shop, key):
    """The form as it stands when it is opened."""
    form = visit.get("new-version", shop.site, key).context["form"]
    found = {}
    for name, field in form.fields.items():
        initial = form[name].value()
        if initial is not None and initial is not False:
            found[name] = "on" if initial is True else initial
        assert field.label
    return found


def test_the_list_names_every_version_by_what_it_is_about(visit, shop):
    text = visit.read("protocols", shop.site)

    assert "transfer-288@1" in text
    assert "used unless another is chosen" in text
    assert "Six moves 48 h apart, for water above 28 C" in text
    assert "Copper, ionic" in text


def test_one_is_read_with_cautions_first_in_units_of_people(visit, shop):
    text = visit.read("protocol", shop.site, "copper-ionic@1")

    assert text.index("Copper kills invertebrates") < text.index("What is done")
    assert "Dose of copper ionic 0.15 to 0.20 mg/L, counted as free copper" in text
    assert "Look at copper every 12 h" in text
    assert "Clock: counts between 0.15 to 0.25" in text
    assert "Never for sharks rays invertebrates" in text
    assert "Stop at once when gasping" in text
    assert visit.get("protocol", shop.site, "copper-ionic@101").status_code == 404


def test_the_difference_is_looked_at_before_anything_is_frozen(visit, shop):
    said = {**filled(visit, shop, "warm-288@1"), "observation_s": "21", "title": "Ours"}
    looked = visit.press("new-version", shop.site, "warm-288@1", step="look", **said)

    assert looked.status_code == 200
    assert "Observation 14 days 21 days" in words(looked)
    assert "Freeze warm-288@101" in words(looked)
    assert not Fact.objects.filter(kind="protocol_frozen").exists()

    frozen = visit.press("new-version", shop.site, "warm-288@1", step="freeze", **said)
    text = visit.follow(frozen)
    assert "warm-288@101 is frozen." in text
    assert "made from warm-288@1" in text
    (row,) = MadeProtocol.objects.all()
    assert "observation_s = 1814400" in row.text
    assert "warm-288@102" in visit.read("new-version", shop.site, "warm-288@101")


def test_what_is_unsafe_is_said_and_there_is_nothing_to_freeze(visit, shop):
    said = {**filled(visit, shop, "transfer-288@1"), "stay_limit_s": "73", "title": "Ours"}
    looked = visit.press("new-version", shop.site, "transfer-288@1", step="look", **said)
    frozen = visit.press("new-version", shop.site, "transfer-288@1", step="freeze", **said)

    assert "It may not be frozen Cysts may hatch after 72 h" in words(looked)
    assert "Freeze transfer-288@101" not in words(looked)
    assert frozen.status_code == 409
    assert not MadeProtocol.objects.exists()


def test_the_first_versions_are_given_a_title_when_one_is_made_from_them(visit, shop):
    said = {**filled(visit, shop, "transfer-288@1"), "title": "Ours", "drying_s": "48"}
    frozen = visit.press("new-version", shop.site, "transfer-288@1", step="freeze", **said)

    assert "transfer-288@101 is frozen." in visit.follow(frozen)
    assert "slack_s = 0" in MadeProtocol.objects.get().text


@pytest.mark.parametrize("value", ["", "two", "0.0001", "-3", "9e9", "99999999999"])
def test_nonsense_is_said_and_keeps_nothing(visit, shop, value):
    said = {**filled(visit, shop, "warm-288@1"), "drying_s": value}
    answer = visit.press("new-version", shop.site, "warm-288@1", step="freeze", **said)

    assert answer.status_code == 400
    assert not MadeProtocol.objects.exists()


def test_who_may_not_freeze_is_not_offered_it(shop):
    keeper = Visit.by(str(make_person(shop, "Kim", "keeper").uid), MONDAY)
    vet = Visit.by(str(make_person(shop, "Vera", "veterinarian").uid), MONDAY)

    assert "Make a new version" not in keeper.read("protocol", shop.site, "copper-ionic@1")
    assert keeper.get("new-version", shop.site, "copper-ionic@1").status_code == 403
    assert "Make a new version" in vet.read("protocol", shop.site, "chloroquine@1")
    assert vet.get("new-version", shop.site, "warm-288@1").status_code == 403


def test_a_system_without_fish_has_a_page_with_its_clock(visit, shop):
    system = make(shop, "systems", "Left", status="unknown")
    text = visit.read("fallow", system)

    assert "System Left without fish" in visit.read("protocols", shop.site)
    assert "Left alone since" in text
    assert "Cryptocaryon irritans (marine white spot) 76" in text
    assert "no figure is safe: No time without fish ends it." in text
    poor = visit.read("fallow", system, query="?poor_oxygen=true")
    assert "Sand or rock poor in oxygen" in poor
