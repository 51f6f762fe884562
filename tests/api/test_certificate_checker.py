"""A buyer checks a certificate with a program that needs nothing of ours."""

import subprocess
import sys

import pytest
from django.test import Client

from api.exports.certificate_checker import Wrong, check_address, check_file
from api.public.checker import CHECKER
from tests.certified import Buyer, certify, kept, ready_floor


@pytest.fixture(scope="module")
def story(django_db_setup, django_db_blocker):
    with kept(django_db_blocker):
        floor, batch = ready_floor(Client())
        yield floor.walk, certify(floor, batch, 20)


@pytest.fixture(autouse=True)
def _under_the_test_clock(story, db, settings):
    settings.TEST_CLOCK = True


@pytest.fixture
def buyer(story):
    return Buyer(story[0].now)


def fetcher(buyer, **instead):
    """What the service answers, but for addresses that end in a name of `instead`."""

    def fetch(address):
        for end, data in instead.items():
            if address.endswith(end):
                return data
        return buyer.get(address).content

    return fetch


def test_a_valid_one_passes_line_by_line_also_as_a_file(story, buyer):
    url = story[1]["url"]
    lines = list(check_address(url.replace("/c/", "/C/"), fetcher(buyer)))
    keys = buyer.get("/.well-known/jwks.json").content
    of_file = list(check_file(buyer.token(url).encode(), keys))

    assert [one for one in lines if one.startswith("ok")] == [
        f"ok    signed: {story[1]['number']}, 20 of Amphiprion ocellaris",
        "ok    it is not withdrawn",
        "ok    it is not suspended",
    ]
    assert of_file[-1] == f"      not asked whether it still stands today: open {url}"


def test_a_suspended_one_is_not_to_be_relied_on(story, buyer):
    walk, certificate = story
    walk.post(f"certificates/{certificate['uid']}/suspensions", {"reason": "asked"})
    told = []

    with pytest.raises(Wrong, match="do not rely on it now"):
        told.extend(check_address(certificate["url"], fetcher(buyer)))
    assert "NO    it is suspended" in told


def test_what_was_changed_or_belongs_to_another_is_wrong(story, buyer):
    url = story[1]["url"]
    head, body, signature = buyer.token(url).split(".")
    forged = f"{head}.{body}.{signature[::-1]}".encode()
    nobody = b'{"keys": []}'

    with pytest.raises(Wrong, match="signature of the certificate does not fit"):
        list(check_address(url, fetcher(buyer, jwt=forged)))
    with pytest.raises(Wrong, match="key that the seller does not publish"):
        list(check_address(url, fetcher(buyer, **{"jwks.json": nobody})))
    other = f"{url[:-32]}{'a' * 32}"
    with pytest.raises(Wrong, match="text of another certificate"):
        list(check_address(other, fetcher(buyer, jwt=buyer.token(url).encode())))


def test_the_file_that_is_offered_runs_by_itself(story, buyer, tmp_path):
    program = tmp_path / "check-certificate.py"
    program.write_bytes(buyer.get("/check-certificate.py").content)
    (tmp_path / "c.jwt").write_text(buyer.token(story[1]["url"]))
    (tmp_path / "k.json").write_bytes(buyer.get("/.well-known/jwks.json").content)
    command = [sys.executable, "-I", program, tmp_path / "c.jwt", "--keys", tmp_path / "k.json"]

    done = subprocess.run(command, capture_output=True, text=True, check=False)

    assert program.read_bytes() == CHECKER.read_bytes()
    assert (done.returncode, done.stdout.startswith("ok    signed")) == (0, True)
