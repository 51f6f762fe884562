"""Signing in to the pages, and the first page of all."""

import pytest
from django.urls import reverse

from stock import clock
from stock.doors.people import make_setup_code
from stock.models import Organisation, Person
from tests.make import make_person, make_shop

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop():
    return make_shop()


def sign_in(client, person, **more):
    given = {"email": person.email, "password": "correct horse", **more}
    return client.post(reverse("sign-in"), given)


def test_a_page_leads_to_sign_in_and_back(client, shop):
    room = reverse("room", args=[shop.site])

    led = client.get(room)
    answer = sign_in(client, shop.manager, next=led.url.partition("next=")[2])

    assert led.url == f"/sign-in?next={room}"
    assert answer.url == room
    assert client.get(room).status_code == 200


def test_sign_in_never_leads_to_a_foreign_address(client, shop):
    assert sign_in(client, shop.manager, next="https://example.org/").url == "/"


def test_the_start_is_the_first_site(client, shop):
    sign_in(client, shop.manager)

    assert client.get("/").url == reverse("shift", args=[shop.site])


@pytest.mark.parametrize(
    ("email", "password"),
    [("mara", "wrong horse"), ("nobody@example.org", "correct horse")],
)
def test_a_wrong_address_and_a_wrong_password_get_the_same_words(client, shop, email, password):
    given = {"email": shop.manager.email if email == "mara" else email, "password": password}

    answer = client.post(reverse("sign-in"), given)

    assert answer.status_code == 400
    assert b"Mail address or password is not right." in answer.content
    assert "sessionid" not in answer.cookies


def test_the_case_of_an_address_does_not_matter(client, shop):
    shop.manager.email = shop.manager.email.upper()

    assert sign_in(client, shop.manager).status_code == 302


def test_somebody_who_left_is_out_at_once(client, shop):
    keeper = make_person(shop, "Ida", "keeper")
    sign_in(client, keeper)

    Person.objects.filter(uid=keeper.uid).update(is_active=False)

    assert client.get(reverse("room", args=[shop.site])).status_code == 302
    assert sign_in(client, keeper).status_code == 400


def test_signing_out_ends_it(client, shop):
    sign_in(client, shop.manager)

    client.post(reverse("sign-out"))

    assert client.get("/").url == "/sign-in?next=/"


def test_pages_are_never_kept_by_a_cache(client, shop):
    sign_in(client, shop.manager)

    kept = {client.get(path)["Cache-Control"] for path in ("/", "/sign-in", "/first-run")}

    assert kept == {"no-store"}


def test_another_organisations_site_is_not_there(client, shop):
    sign_in(client, shop.manager)

    answer = client.get(reverse("room", args=[make_shop().site]))

    assert answer.status_code == 404
    assert b"There is nothing here" in answer.content


# -- First run ---------------------------------------------------------------------------------

FIRST = {
    "name": "Northlight Reef",
    "site": "Harbour Street",
    "zone": "Europe/Lisbon",
    "person": "Mara",
    "email": "Mara@example.org",
    "password": "correct horse",
}


def test_the_set_up_code_makes_organisation_site_and_first_manager(client):
    code = make_setup_code(clock.now())

    answer = client.post("/first-run", {**FIRST, "setup_code": f" {code} "}, follow=True)

    assert answer.status_code == 200
    assert b"Harbour Street" in answer.content
    assert b"Mara, manager" in answer.content


def test_without_an_organisation_every_way_leads_to_the_first_run(client):
    answer = client.get("/", follow=True)

    assert answer.redirect_chain[-1][0] == "/first-run"
    assert b"Whose animals are they?" in answer.content


def test_a_wrong_set_up_code_says_so_and_keeps_what_was_typed(client):
    make_setup_code(clock.now())

    answer = client.post("/first-run", {**FIRST, "setup_code": "guessed"})

    assert answer.status_code == 400
    assert b"This set-up code does not open anything." in answer.content
    assert b"Northlight Reef" in answer.content
    assert not Organisation.objects.exists()


@pytest.mark.parametrize("field", FIRST)
def test_every_field_of_the_first_run_is_needed(client, field):
    code = make_setup_code(clock.now())

    answer = client.post("/first-run", {**FIRST, "setup_code": code, field: ""})

    assert answer.status_code == 400
    assert not Organisation.objects.exists()


def test_the_first_run_is_over_once_there_is_an_organisation(client, shop):
    code = make_setup_code(clock.now())

    assert client.get("/first-run").url == "/sign-in"
    assert client.post("/first-run", {**FIRST, "setup_code": code}).url == "/sign-in"
    assert Organisation.objects.count() == 1
