"""A code after the password: pages, tokens, and what a site asks it for."""

import json
from datetime import datetime, timedelta

import pyotp
import pytest
from django.test import Client

from protocols.proofs import Proof
from stock.doors import second_factor
from stock.doors.tries import subject
from stock.models import Attempt, Person, RecoveryCode, Token
from tests.floor import Floor
from tests.visit import Visit, words
from tests.walk import Walk

pytestmark = pytest.mark.django_db

NOW = datetime.fromisoformat("2027-01-20T09:00:00+00:00")
SECRET = "JBSWY3DPEHPK3PXPJBSWY3DPEHPK3PXP"


@pytest.fixture(scope="module")
def opened(kept_for_module):
    return Floor.open(Client(), NOW.isoformat(), containers=0, kits=0, ready=False)


@pytest.fixture
def walk(floor):
    return floor.walk.at(NOW)


@pytest.fixture
def mara(walk):
    return Person.objects.get(uid=walk.person)


def code(at=NOW):
    return pyotp.TOTP(SECRET).at(at)


def set_up(person, at=NOW):
    codes = second_factor.set_up(person, secret=SECRET, code=code(at), at=at)
    person.refresh_from_db()
    return codes


def tokens(walk, at=NOW, **more):
    said = {"email": "mara@example.org", "password": "correct horse", **more}
    return Walk(walk.client, at.isoformat()).send("POST", "tokens", said)


def coded(answer):
    return answer.status_code, json.loads(answer.content).get("code")


# -- Tokens ------------------------------------------------------------------------------------


def test_a_token_asks_for_the_code_of_whoever_has_one(walk, mara):
    before = tokens(walk)
    set_up(mara)
    later = NOW + timedelta(minutes=1)
    answers = [tokens(walk, later, **more) for more in ({}, {"code": "000000"})]
    right = tokens(walk, later, code=code(later))

    assert before.status_code == 201
    assert [coded(one) for one in answers] == [(401, "second_factor")] * 2
    assert json.loads(answers[0].content)["reasons"][0]["pointer"] == "/code"
    assert right.status_code == 201
    assert sorted(Token.objects.filter(person=mara).values_list("proof", flat=True)) == [
        "password",
        "password",
        "second_factor",
    ]


def test_no_code_counts_twice(walk, mara):
    set_up(mara)
    later = NOW + timedelta(minutes=1)
    said = [tokens(walk, later, code=code(later)).status_code for _ in range(2)]

    assert said == [201, 401]


@pytest.mark.parametrize(("seconds", "status"), [(-30, 201), (30, 201), (-60, 401), (90, 401)])
def test_a_code_may_be_one_step_beside_the_clock(walk, mara, seconds, status):
    set_up(mara)
    later = NOW + timedelta(minutes=10)

    answer = tokens(walk, later, code=code(later + timedelta(seconds=seconds)))

    assert answer.status_code == status


def test_each_recovery_code_stands_for_it_once(walk, mara):
    first, *_ = set_up(mara)
    said = [tokens(walk, code=first.lower().replace("-", " ")).status_code for _ in range(2)]

    assert said == [201, 401]
    assert RecoveryCode.objects.count() == 9


def test_codes_are_guessed_eight_times_in_a_quarter_of_an_hour(walk, mara):
    set_up(mara)
    later = NOW + timedelta(minutes=1)
    wrong = [coded(tokens(walk, later, code="000000")) for _ in range(8)]
    closed = tokens(walk, later, code=code(later))
    after = NOW + timedelta(minutes=16)

    assert wrong == [(401, "second_factor")] * 8
    assert coded(closed) == (429, "too_many")
    assert closed["Retry-After"] == "900"
    assert tokens(walk, after, code=code(after)).status_code == 201


def test_a_password_is_guessed_ten_times_in_a_quarter_of_an_hour(walk):
    wrong = [coded(tokens(walk, password=f"guess {n}")) for n in range(10)]
    closed = tokens(walk)
    other = tokens(walk, email="nobody@example.org")
    page = Visit(Client(), NOW.isoformat()).press(
        "sign-in", email="mara@example.org", password="correct horse"
    )

    assert wrong == [(401, "not_signed_in")] * 10
    assert coded(closed) == (429, "too_many")
    assert coded(other) == (401, "not_signed_in")
    assert page.status_code == 429
    assert tokens(walk, NOW + timedelta(minutes=16)).status_code == 201


def test_from_one_place_many_addresses_are_guessed_a_hundred_times(walk, settings):
    place = subject("place", "203.0.113.9")
    Attempt.objects.create(subject=place, since=NOW, failed=100)
    said = {"email": "mara@example.org", "password": "correct horse"}

    answer = walk.client.post(
        "/api/v1/tokens",
        said,
        content_type="application/json",
        headers={"Fillmark-Now": NOW.isoformat()},
        REMOTE_ADDR="203.0.113.9",
    )

    assert coded(answer) == (429, "too_many")


def test_the_secret_is_not_to_be_read_in_the_table(walk, mara, settings):
    set_up(mara)

    assert SECRET not in str(Person.objects.values())
    settings.SECRET_KEY = "another key, as if that file had been lost"
    later = NOW + timedelta(minutes=1)
    assert tokens(walk, later, code=code(later)).status_code == 401


# -- What a site asks it for -------------------------------------------------------------------


def test_a_site_may_ask_for_it_where_something_is_set_up(walk, mara):
    rules = {"rules": {"second_factor_needed": True}}
    here = f"sites/{walk.site}"
    walk.send("PUT", f"{here}/rules", rules, **{"If-Match": '"0"'})
    by_password = walk.refused(f"{here}/rooms", {"label": "Hall 2"})
    by_hands = walk.get(f"{here}/rules")
    set_up(mara)
    later = NOW + timedelta(minutes=1)
    walk.at(later).token = tokens(walk, later, code=code(later)).json()["token"]

    assert (by_password.status, by_password.code) == (401, "second_factor")
    assert by_hands["rules"]["second_factor_needed"]
    assert walk.post(f"{here}/rooms", {"label": "Hall 2"})["room"]["label"] == "Hall 2"


def test_taking_the_records_away_asks_for_it_as_well(walk):
    span = "from=2027-01-01T00:00:00Z&to=2027-02-01T00:00:00Z"
    records = f"sites/{walk.site}/records?{span}"
    free = walk.send("GET", records)
    free.getvalue()
    rules = {"rules": {"second_factor_needed": True}}
    walk.send("PUT", f"sites/{walk.site}/rules", rules, **{"If-Match": '"0"'})

    assert free.status_code == 200
    assert coded(walk.send("GET", records)) == (401, "second_factor")


# -- Pages -------------------------------------------------------------------------------------


def test_on_pages_it_is_set_up_asked_for_and_ended(walk, mara):
    visit = Visit.by(walk.person, NOW.isoformat())
    visit.press("own-sign-in", walk.site, what="second-factor")
    page = visit.get("second-factor", walk.site)
    secret = page.context["secret"].replace(" ", "")
    codes = words(visit.press("second-factor", walk.site, code=pyotp.TOTP(secret).at(NOW)))

    later = NOW + timedelta(minutes=1)
    fresh = Visit(Client(), later.isoformat())
    led = fresh.press("sign-in", email=mara.email, password="correct horse", next="/somewhere")
    nobody = fresh.get("shift", walk.site).status_code
    wrong = fresh.press("sign-in-code", code="000000").status_code
    let_in = fresh.press("sign-in-code", code=pyotp.TOTP(secret).at(later))
    proof = fresh.client.session["proof"]
    fresh.at = (later + timedelta(minutes=1)).isoformat()
    now = pyotp.TOTP(secret).at(later + timedelta(minutes=1))
    fresh.press("own-sign-in", walk.site, what="end", code=now)

    assert "Write these down" in codes
    assert (led.url, nobody, wrong) == ("/sign-in/code", 302, 400)
    assert (let_in.url, proof) == ("/somewhere", Proof.SECOND_FACTOR)
    assert Person.objects.get(uid=mara.uid).second_factor == ""


def test_the_password_waits_ten_minutes_for_its_code(walk, mara):
    set_up(mara)
    visit = Visit(Client(), NOW.isoformat())
    visit.press("sign-in", email=mara.email, password="correct horse")
    visit.at = (NOW + timedelta(minutes=11)).isoformat()

    assert visit.get("sign-in-code").url == "/sign-in"
