"""Packing lists applied: answered, entered once, learnt from."""

import json
from pathlib import Path

import pytest

from stock import clock, rebuild
from stock.models import Consignment, Fact, Line, Log, Supplier
from stock.verify import verify
from tests.api.intake.lists import DATES, PLAIN, apply, printed

FIXTURES = Path(__file__).resolve().parents[3] / "fixtures"


def test_a_list_that_is_applied_makes_a_consignment(walk, preview):
    consignment = apply(walk, preview(PLAIN))

    assert (consignment["waybill"], consignment["list_version"]) == ("999-1", 1)
    assert printed(consignment) == [("1", "Gramma loreto", 15), ("2", "Chromis viridis", 5)]
    assert verify(Log.objects.get(uid=walk.site)) is None
    assert rebuild.check(clock.now()) == []


def test_applying_twice_is_one_consignment(walk, preview):
    listing = preview(PLAIN)
    consignment = apply(walk, listing)

    problem = walk.refused(f"imports/{listing['uid']}/applications", {})

    assert (problem.status, problem.code) == (409, "already_applied")
    assert problem.body["existing"]["uid"] == consignment["uid"]
    assert Consignment.objects.count() == 1


def test_the_same_request_twice_is_answered_twice_and_done_once(walk, preview):
    path = f"imports/{preview(PLAIN)['uid']}/applications"
    first = walk.post(path, {}, key="tap")

    again = walk.send("POST", path, {}, key="tap")

    assert (again.status_code, again["Idempotent-Replay"]) == (200, "true")
    assert json.loads(again.content) == first


def test_a_file_that_was_applied_says_so_when_it_is_sent_again(walk, preview):
    consignment = apply(walk, preview(PLAIN))

    existing = preview(PLAIN, "again.csv")["existing"]

    assert (existing["uid"], existing["same_file"]) == (consignment["uid"], True)
    assert existing["differences"] == []


def test_the_same_file_under_another_supplier_is_still_one_consignment(walk, preview):
    consignment = apply(walk, preview(PLAIN))
    other = walk.post("suppliers", {"name": "Another"})["supplier"]["uid"]

    listing = preview(PLAIN, supplier=other)
    problem = walk.refused(f"imports/{listing['uid']}/applications", {})

    assert listing["existing"]["uid"] == consignment["uid"]
    assert problem.code == "already_applied"


def test_a_list_with_problems_is_refused_with_all_of_them(walk, preview):
    listing = preview("Box,Species,Qty\n1,Gramma loreto,x\n2,,5\n")

    problem = walk.refused(f"imports/{listing['uid']}/applications", {})

    assert (problem.status, problem.code) == (409, "problem_open")
    told = [one["numbers"]["problem"] for one in problem.body["reasons"]]
    assert told == ["unreadable", "missing"]
    assert not Consignment.objects.exists()


def test_an_open_question_is_refused_until_it_is_answered(walk, preview):
    listing = preview(DATES)

    problem = walk.refused(f"imports/{listing['uid']}/applications", {})
    applied = apply(walk, listing, answers={"date_order": "day_first"})

    assert [one["key"] for one in listing["questions"]] == ["date_order"]
    assert (problem.status, problem.code) == (409, "question_open")
    assert problem.body["reasons"][0]["pointer"] == "/answers/date_order"
    assert applied["listed"] == 10


def test_an_answer_is_kept_for_the_supplier_once_the_list_is_applied(walk, supplier, preview):
    listing = preview(DATES, answers=json.dumps({"date_order": "day_first"}))
    before = Supplier.objects.get().date_order

    apply(walk, listing)

    shown = walk.get(f"suppliers/{supplier}")["supplier"]
    assert (before, shown["date_order"]) == (None, "day_first")
    assert shown["name"] == "Sample Atoll Aquatics"
    assert preview(DATES.replace("5,03", "6,03"))["questions"] == []
    assert rebuild.check(clock.now()) == []


def test_nothing_is_kept_for_the_supplier_where_nothing_was_answered(walk, preview):
    apply(walk, preview(PLAIN))

    assert Fact.objects.filter(kind="supplier_set").count() == 1


def test_headings_that_no_entry_could_hold_are_not_kept(walk, preview):
    listing = preview(PLAIN)
    headings = {str(n): "ignore" for n in range(4000)}

    problem = walk.refused(
        f"imports/{listing['uid']}/applications", {"answers": {"mapping": headings}}
    )

    assert (problem.status, problem.code) == (413, "too_large")
    assert not Consignment.objects.exists()


def test_a_species_that_a_person_names_is_entered_with_the_line(walk, preview):
    species = walk.post("species", {"scientific_name": "Gramma loreto"})["species"]["uid"]
    listing = preview("Species,Qty\nRoyal gramma,5\n")

    applied = apply(walk, listing, answers={"species": {"Royal gramma": species}})

    assert applied["lines"][0]["species"] == species


@pytest.mark.parametrize(
    ("name", "lines", "listed"),
    [
        ("lautan-contoh.csv", 46, 132),
        ("ejemplo-del-golfo.csv", 10, 48),
        ("sample-atoll.xlsx", 10, 27),
    ],
)
def test_lists_of_every_make_are_read_and_applied(walk, preview, name, lines, listed):
    listing = preview((FIXTURES / name).read_bytes(), name)

    applied = apply(walk, listing)

    assert listing["questions"] == []
    assert (applied["lines_listed"], applied["listed"]) == (lines, listed)
    assert rebuild.check(clock.now()) == []


def test_a_list_in_another_encoding_asks_which(walk, preview):
    data = "Caja;Especie;Cantidad\n1;Pez ángel;5\n".encode("windows-1252")

    listing = preview(data)
    answered = preview(data, answers=json.dumps({"encoding": "windows-1252"}))

    question = listing["questions"][0]
    assert (question["key"], listing["problems"][0]["row"]) == ("encoding", 2)
    assert {"value": "windows-1252", "shows": "1;Pez ángel;5"} in question["choices"]
    assert answered["lines"][0]["text"] == "Pez ángel"
    assert apply(walk, answered)["lines"][0]["text"] == "Pez ángel"


def test_a_formula_in_a_list_stays_the_text_that_it_is(walk, preview):
    applied = apply(walk, preview('Species,Qty\n"=HYPERLINK(""x"")",5\n'))

    assert applied["lines"][0]["text"] == '=HYPERLINK("x")'


def test_a_price_stays_with_the_line(walk, preview):
    applied = apply(walk, preview(PLAIN))

    assert [line["price"] for line in applied["lines"]] == ["2.10", "0.65"]
    assert set(Line.objects.values_list("price", flat=True)) == {"2.10", "0.65"}


def test_a_list_longer_than_an_entry_is_several_facts(walk, preview):
    rows = "".join(f"{n // 20},Goby {n},1\n" for n in range(900))

    applied = apply(walk, preview("Box,Species,Qty\n" + rows))

    assert applied["listed"] == 900
    assert Fact.objects.filter(kind="list_applied").count() > 1
    assert rebuild.check(clock.now()) == []
