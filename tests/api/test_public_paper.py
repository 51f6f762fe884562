"""A certificate on paper, and the code on the bag: short, and leading to what is true today."""

import pytest
import segno
from django.test import Client

from api.exports.certificate_pdf import Part, Sheet, write_certificate
from tests import pdf
from tests.certified import Buyer, certify, kept, ready_floor


@pytest.fixture(scope="module")
def story(django_db_setup, django_db_blocker):
    with kept(django_db_blocker):
        floor, batch = ready_floor(Client())
        yield floor.walk, certify(floor, batch, 20)


@pytest.fixture(autouse=True)
def _under_the_test_clock(story, db, settings):
    settings.TEST_CLOCK = True


def test_it_prints_on_one_or_two_pages_the_same_bytes_twice(story):
    walk, certificate = story
    first, again = (Buyer(walk.now).get(f"{certificate['url']}?format=pdf") for _ in range(2))

    assert first["Content-Type"] == "application/pdf"
    assert first["Cache-Control"] == "no-store"
    assert first.content == again.content
    assert len(pdf.pages(first.content)) in (1, 2)


def test_a_suspended_one_prints_otherwise(story):
    walk, certificate = story
    url = f"{certificate['url']}?format=pdf"
    valid = Buyer(walk.now).get(url).content
    walk.post(f"certificates/{certificate['uid']}/suspensions", {"reason": "asked"})

    assert Buyer(walk.now).get(url).content != valid


def test_what_does_not_fit_on_two_pages_is_left_out(tmp_path):
    moves = Part("Moves", columns=("When", "In time?"), rows=[("Monday", "yes")] * 200)
    sheet = Sheet(
        "C-1",
        "Valid",
        "It stands.",
        ("Now.",),
        "https://a/c/b",
        "HTTPS://A/C/B",
        (moves,),
        "",
        "{n}",
        "",
    )
    with (tmp_path / "long.pdf").open("wb") as file:
        write_certificate(sheet, file)

    assert len(pdf.pages((tmp_path / "long.pdf").read_bytes())) == 2


def test_the_code_on_a_bag_is_small_enough_to_scan_when_wet():
    address = "https://certificates.shop.example/C/".upper() + "A2" * 16

    assert segno.make(address, error="m", micro=False).version <= 5
