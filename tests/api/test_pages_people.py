"""Who works here, as managers see and change it."""

import pytest

from stock.doors.people import Place, add_site, change_person
from stock.models import Fact, Person, Token
from stock.refusals import Refused
from tests.make import START, asking, make_person, make_shop
from tests.visit import Visit

pytestmark = pytest.mark.django_db

NOW = "2027-01-20T09:00:00+00:00"


@pytest.fixture(scope="module")
def kept_shop(kept_for_module):
    shop = make_shop()
    return shop, make_person(shop, "Ida", "keeper")


@pytest.fixture
def shop(kept_shop, db, settings):
    settings.TEST_CLOCK = True
    return kept_shop[0]


@pytest.fixture
def ida(kept_shop, db):
    return Person.objects.get(uid=kept_shop[1].uid)


@pytest.fixture
def visit(shop):
    return Visit.by(str(shop.manager.uid), NOW)


def roles(person):
    return sorted(person.roles.values_list("role", flat=True))


def test_everybody_with_a_role_is_named_with_how_they_sign_in(shop, visit, ida):
    text = visit.read("people", shop.site)

    assert f"Ida {ida.email} keeper password Change" in text


def test_other_roles_are_a_fact(shop, visit, ida):
    visit.press("person", shop.site, ida.uid, roles=["keeper", "veterinarian"])

    assert roles(ida) == ["keeper", "veterinarian"]
    assert Fact.objects.filter(kind="person_set").latest("seq").doer == shop.manager.uid


def test_what_they_may_do_at_another_site_stays(shop, visit, ida):
    made = add_site(asking(shop.manager), place=Place("Annex", "Europe/Berlin"))
    annex = made.body["site"]["uid"]
    both = [{"site": annex, "role": "auditor"}, {"site": shop.site, "role": "keeper"}]
    change_person(asking(shop.manager), uid=ida.uid, roles=both, ended_at=None)

    visit.press("person", shop.site, ida.uid, roles=["veterinarian"])

    assert roles(ida) == ["auditor", "veterinarian"]


def test_nobody_changes_what_somebody_may_do_at_a_site_they_do_not_manage(shop, ida):
    made = add_site(asking(shop.manager), place=Place("Annex", "Europe/Berlin"))
    both = [
        {"site": made.body["site"]["uid"], "role": "manager"},
        {"site": shop.site, "role": "keeper"},
    ]
    change_person(asking(shop.manager), uid=ida.uid, roles=both, ended_at=None)

    with pytest.raises(Refused, match="role does not allow"):
        change_person(asking(ida), uid=shop.manager.uid, roles=[], ended_at=START)


def test_nobody_stops_managing_or_ends_themselves(shop, visit):
    mara = shop.manager
    fewer = visit.press("person", shop.site, mara.uid, roles=["keeper"])
    ended = visit.press("end-person", shop.site, mara.uid)

    assert b"you would be shut out by yourself" in fewer.content
    assert b"you would be shut out by yourself" in ended.content
    assert roles(mara) == ["manager"]


def test_a_first_pin_code_is_given_and_a_weak_one_is_not(shop, visit, ida):
    weak = [
        visit.press("first-pin", shop.site, ida.uid, pin=pin).status_code
        for pin in ("1234", "8888", "12", "43210", "abcd")
    ]
    visit.press("first-pin", shop.site, ida.uid, pin="2580")
    ida.refresh_from_db()

    assert weak == [400] * 5
    assert ida.pin_to_change
    assert "2580" not in ida.pin
    assert "first PIN code, not used yet" in visit.read("people", shop.site)


def test_no_tablet_keeps_a_password_or_a_pin_code_to_send_it_later(shop, visit, ida):
    pages = (("first-pin", shop.site, ida.uid), ("set-up-person", shop.site))

    assert [b"data-entry" in visit.get(*page).content for page in pages] == [False, False]
    assert b"data-entry" in visit.get("tell-contact", shop.site).content


def test_an_ended_account_is_out_at_once(shop, visit, ida):
    theirs = Visit.by(str(ida.uid), NOW)
    before = theirs.get("shift", shop.site).status_code
    visit.press("end-person", shop.site, ida.uid)

    assert (before, theirs.get("shift", shop.site).status_code) == (200, 302)
    assert not Token.objects.filter(person=ida).exists()
    assert ida.email not in visit.read("people", shop.site)


def test_a_keeper_does_not_see_who_signs_in_how(shop, ida):
    assert Visit.by(str(ida.uid), NOW).get("people", shop.site).status_code == 403
