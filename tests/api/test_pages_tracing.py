"""Traces on pages: asked from a batch's page or by a code, drawn, and read as a table."""

import pytest
from django.test import Client

from stock.models import Batch, Trace
from tests.floor import Floor
from tests.visit import Visit

PLACED = "2027-01-11T08:00:00+00:00"
NOW = "2027-01-14T12:00:00+00:00"


@pytest.fixture(scope="module")
def opened(kept_for_module):
    floor = Floor.open(
        Client(), "2027-01-11T07:00:00+00:00", zone="Europe/Lisbon", containers=3, kits=3
    )
    first = floor.place(5, "R1-01", "A-1", at=PLACED)
    floor.move(first, "R1-02", "B-1", [5], at="2027-01-14T07:00:00+00:00")
    floor.uids["first"] = first
    floor.walk.at(NOW)
    return floor


@pytest.fixture
def visit(floor):
    return Visit.by(floor.walk.person, NOW)


def test_from_the_page_of_a_batch_to_a_picture_and_its_table(floor, visit):
    batch, site = floor.uids["first"], floor.walk.site
    page = visit.get("batch", batch).content.decode()
    form = visit.get("traces", site, query=f"?of={batch}").content.decode()
    led = visit.press("traces", site, of=batch, direction="forward")
    row = Trace.objects.get()
    shown = visit.get("trace", row.uid).content.decode()

    assert f"/sites/{site}/traces?of={batch}" in page
    assert f'value="{batch}"' in form
    assert led.url == f"/traces/{row.uid}"
    assert '<svg class="picture touches"' in shown
    assert "the same container" in shown
    assert row.digest in shown
    assert "R1-02" in visit.read("trace", row.uid)


def test_a_code_on_a_label_is_as_good_and_a_wrong_one_is_said(floor, visit):
    code = Batch.objects.get().code
    right = visit.press("traces", floor.walk.site, of=code, direction="back")
    wrong = visit.press("traces", floor.walk.site, of="RSYW-C6T1", direction="back")

    assert right.status_code == 302
    assert "Nothing here bears this code." in wrong.content.decode()
    assert "1" in visit.read("traces", floor.walk.site)


def test_a_keeper_makes_no_traces(floor):
    keeper = floor.walk.as_person("Ida", "keeper")

    assert Visit.by(keeper.person, NOW).get("traces", floor.walk.site).status_code == 403


def test_each_batch_is_decided_on_and_the_rest_stands_among_the_questions(floor, visit):
    site = floor.walk.site
    visit.press("traces", site, of=floor.uids["R1-01"], direction="forward")
    trace, batch = Trace.objects.get().uid, floor.uids["first"]

    without = visit.press("trace-decide", trace, batch, decision="watch", why="")
    led = visit.press("trace-decide", trace, batch, decision="affected", why="The same water.")

    assert "Write something." in without.content.decode()
    assert "affected" in visit.follow(led)
    assert "Trace of" not in visit.read("questions", site)
    assert "The same water." in visit.read("batch", batch)


def test_from_the_page_of_a_container_and_of_a_kit_as_well_but_not_for_keepers(floor, visit):
    keeper = Visit.by(floor.walk.as_person("Ida", "keeper").person, NOW)
    for page, label in (("container", "R1-01"), ("kit", "A-1")):
        uid = floor.uids[label]
        way = f"/sites/{floor.walk.site}/traces?of={uid}"

        assert way in visit.get(page, uid).content.decode()
        assert way not in keeper.get(page, uid).content.decode()
