"""What bears a code: found however it is written, refused misread, nowhere if foreign."""

import pytest
from django.test import Client

from protocols.codes import short_code
from stock.models import Batch, Container, Line
from tests.floor import Floor
from tests.make import make_container, make_shop
from tests.visit import Visit, words
from tests.walk import Problem

pytestmark = pytest.mark.django_db

NOW = "2027-01-11T10:00:00+00:00"


@pytest.fixture(scope="module")
def opened(kept_for_module):
    floor = Floor.open(
        Client(), "2027-01-11T07:00:00+00:00", zone="Europe/Lisbon", containers=2, kits=2
    )
    floor.place(16, "R1-01", "A-1", at="2027-01-11T08:00:00+00:00")
    return floor


@pytest.fixture
def visit(floor):
    return Visit.by(floor.walk.person, NOW)


def told(floor, code):
    return floor.walk.get(f"sites/{floor.walk.site}/codes?code={code}")["things"]


def test_a_code_is_found_however_it_is_written(floor):
    code = Container.objects.get(label="R1-01").code
    ways = (code, code.lower(), code.replace("-", ""), code.replace("-", "%20"))

    assert {one["label"] for way in ways for one in told(floor, way)} == {"R1-01"}


def test_every_sort_that_bears_a_label_has_a_code_of_its_own(floor):
    every = floor.walk.get(f"sites/{floor.walk.site}/codes")["things"]

    assert {one["what"] for one in every} == {
        "container",
        "kit",
        "piece",
        "instrument",
        "batch",
        "bag",
    }
    assert len({one["code"] for one in every}) == len(every)
    assert all(told(floor, one["code"]) == [one] for one in every)


def test_who_is_in_a_container_stands_beside_its_code(floor):
    batch, kit = Batch.objects.get(), floor.uids["A-1"]

    (found,) = told(floor, Container.objects.get(label="R1-01").code)

    assert found["beside"] == sorted([str(batch.uid), kit])
    assert told(floor, Container.objects.get(label="R1-02").code)[0]["beside"] == []


def refused(floor, code):
    with pytest.raises(Problem) as caught:
        told(floor, code)
    return caught.value


def misread(code):
    return f"{'7' if code[0] != '7' else '8'}{code[1:]}"


def test_a_misread_code_is_refused_and_an_unknown_one_is_not_there(floor):
    unknown = short_code("00000000-0000-7000-8000-000000000000")

    wrong = refused(floor, misread(Container.objects.get(label="R1-01").code))
    nowhere = refused(floor, unknown)

    assert (wrong.status, wrong.code) == (400, "code_unsound")
    assert (nowhere.status, nowhere.code) == (404, "not_found")


def test_a_code_of_another_shop_is_not_there(floor):
    code = Container.objects.get(uid=make_container(make_shop(), "R1-01")).code
    looked = Visit.by(floor.walk.person, NOW).get(
        "scan", floor.walk.site, query=f"?code={code}"
    )

    assert refused(floor, code).status == 404
    assert looked.status_code == 404


@pytest.mark.parametrize(
    ("sort", "page"), [("container", "containers"), ("batch", "batches"), ("kit", "kits")]
)
def test_a_typed_code_opens_the_page_of_its_thing(visit, floor, sort, page):
    every = floor.walk.get(f"sites/{floor.walk.site}/codes")["things"]
    thing = next(one for one in every if one["what"] == sort)

    answer = visit.get("scan", floor.walk.site, query=f"?code={thing['code']}")

    assert (answer.status_code, answer.url) == (302, f"/{page}/{thing['uid']}")


def test_the_page_says_what_is_wrong_with_a_code(visit, floor):
    bag = Line.objects.first().code
    wrong = visit.get("scan", floor.walk.site, query=f"?code={misread(bag)}")
    short = visit.get("scan", floor.walk.site, query="?code=K7Q")

    assert (wrong.status_code, short.status_code) == (400, 400)
    assert "misread or mistyped" in words(wrong)
    assert "eight letters and digits" in words(short)
