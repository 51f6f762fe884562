"""Small deliveries without a file, their lines, when they came, and lists of them."""

import pytest

from stock import clock, rebuild
from stock.models import Consignment, Fact, Log
from stock.verify import verify
from tests.api.intake.lists import NINE, line_of, numbers


def test_a_small_delivery_has_supplier_species_and_numbers(walk, enter):
    consignment = enter(20, waybill="999-1", line={"boxes": ["1"]})

    assert (consignment["waybill"], consignment["list_version"]) == ("999-1", 1)
    assert consignment["lines"][0]["text"] == "Gramma loreto"
    assert consignment["lines"][0]["box"] == "1"
    assert numbers(consignment)["listed"] == 20
    assert walk.get(f"consignments/{consignment['uid']}")["consignment"] == consignment


def test_one_waybill_of_a_supplier_is_one_consignment(walk, enter, supplier, consignments):
    first = enter(20, waybill="999-1")

    body = {"supplier": supplier, "waybill": "999-1", "lines": [{"text": "x", "listed": 1}]}
    problem = walk.refused(consignments, body)

    assert (problem.status, problem.code) == (409, "already_applied")
    assert problem.body["existing"]["uid"] == first["uid"]


def test_a_line_may_have_only_the_printed_text(walk, supplier, consignments):
    body = {"supplier": supplier, "lines": [{"text": "Royal gramma", "listed": 3}]}

    line = walk.post(consignments, body)["consignment"]["lines"][0]

    assert (line["text"], line["species"]) == ("Royal gramma", None)


def test_a_line_is_matched_with_a_species_afterwards(walk, supplier, species, consignments):
    body = {"supplier": supplier, "lines": [{"text": "Royal gramma", "listed": 3}]}
    line = line_of(walk.post(consignments, body)["consignment"])

    matched = walk.post(f"lines/{line}/species", {"species": species})

    assert matched["line"]["scientific_name"] == "Gramma loreto"
    assert rebuild.check(clock.now()) == []


def test_a_long_list_is_told_in_several_entries_of_one_group(walk, supplier, consignments):
    lines = [{"text": f"{n} {'x' * 190}", "listed": 1} for n in range(500)]

    made = walk.post(consignments, {"supplier": supplier, "lines": lines})["consignment"]

    facts = Fact.objects.filter(kind="list_applied").order_by("seq")
    assert [fact.body["part"] for fact in facts] == [1, 2, 3, 4]
    assert len({fact.group for fact in facts}) == 1
    assert [line["n"] for line in made["lines"]] == list(range(1, 501))
    assert verify(Log.objects.get(uid=walk.site)) is None
    assert rebuild.check(clock.now()) == []


@pytest.mark.parametrize(
    ("line", "pointer"),
    [
        ({"listed": 0}, "/lines/0/listed"),
        ({"listed": -1}, "/lines/0/listed"),
        ({"listed": 2.5}, "/lines/0/listed"),
        ({"listed": "20"}, "/lines/0/listed"),
        ({"listed": True}, "/lines/0/listed"),
        ({"listed": 1_000_001}, "/lines/0/listed"),
        ({"text": None}, "/lines/0/species"),
        ({"boxes": "1"}, "/lines/0/boxes"),
        ({"boxes": [{"box": "1", "listed": -1}]}, "/lines/0/boxes/0/listed"),
        ({"boxes": [""]}, "/lines/0/boxes/0/box"),
        ({"boxes": ["x" * 61]}, "/lines/0/boxes/0/box"),
        ({"boxes": ["1", "1"]}, "/lines/0/boxes"),
        ({"price": "1"}, "/lines/0/price"),
    ],
)
def test_a_bad_line_is_named_at_its_field(walk, supplier, consignments, line, pointer):
    body = {"supplier": supplier, "lines": [{"text": "Royal gramma", "listed": 20, **line}]}

    problem = walk.refused(consignments, body)

    assert problem.status == 400
    assert problem.body["reasons"][0]["pointer"] == pointer
    assert not Consignment.objects.exists()


def test_boxes_add_up_to_their_line(walk, supplier, consignments):
    boxes = [{"box": "1", "listed": 15}, {"box": "2", "listed": 4}]
    body = {
        "supplier": supplier,
        "lines": [{"text": "Royal gramma", "listed": 20, "boxes": boxes}],
    }

    problem = walk.refused(consignments, body)

    assert (problem.status, problem.code) == (409, "split_sum")
    assert problem.body["reasons"][0]["numbers"] == {"listed": 20, "in_boxes": 19}


def test_windows_for_claims_run_from_the_delivery(walk, enter):
    consignment = enter()
    walk.at("2027-01-05T09:55:00+01:00")

    told = walk.post(
        f"consignments/{consignment['uid']}/deliveries",
        {"delivered_at": "2027-01-05T09:12:00+01:00"},
    )

    doa, short = told["claim_deadlines"]
    assert (doa["kind"], doa["at"], doa["left_s"]) == ("doa", "2027-01-05T10:12:00Z", 4620)
    assert (doa["left_text"], doa["remind_at"]) == ("1:17", "2027-01-05T09:42:00Z")
    assert (short["kind"], short["at"]) == ("short", "2027-01-06T08:12:00Z")
    assert doa["text"] != short["text"]


def test_a_consignment_is_delivered_once(walk, enter):
    path = f"consignments/{enter()['uid']}/deliveries"
    walk.post(path, {"delivered_at": NINE})

    walk.post(path, {"delivered_at": NINE})
    problem = walk.refused(path, {"delivered_at": "2027-01-05T08:59:00+01:00"})

    assert (problem.status, problem.code) == (409, "contradicts_record")


@pytest.mark.parametrize(
    ("told", "code"),
    [
        ("2027-01-05T09:03:00+01:00", "in_future"),
        ("2027-01-05T09:00:00", "offset_missing"),
        ("soon", "unreadable"),
    ],
)
def test_a_delivery_has_a_moment_that_was(walk, enter, told, code):
    path = f"consignments/{enter()['uid']}/deliveries"

    problem = walk.refused(path, {"delivered_at": told})

    assert (problem.status, problem.code) == (400, code)
    assert problem.body["reasons"][0]["pointer"] == "/delivered_at"


def test_consignments_are_listed_newest_first_a_page_at_a_time(walk, enter, consignments):
    made = [
        walk.at(f"2027-01-05T10:{n:02}:00+01:00") and enter(n + 1)["uid"] for n in range(23)
    ]

    first = walk.get(consignments)
    second = walk.get(f"{consignments}?after={first['after']}")

    shown = [one["uid"] for one in first["consignments"] + second["consignments"]]
    assert shown == list(reversed(made))
    assert second["after"] is None


@pytest.mark.parametrize("lines", [1, 40])
def test_a_list_takes_the_same_queries_for_one_line_or_many(
    walk, supplier, consignments, lines, django_assert_max_num_queries
):
    body = [{"text": f"Goby {n}", "listed": 1} for n in range(lines)]
    made = walk.post(consignments, {"supplier": supplier, "lines": body})["consignment"]

    with django_assert_max_num_queries(7):
        walk.get(consignments)
    with django_assert_max_num_queries(9):
        walk.get(f"consignments/{made['uid']}")
