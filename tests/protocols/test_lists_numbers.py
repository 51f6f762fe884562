from decimal import Decimal

import pytest

from protocols.list_numbers import read_number
from tests.protocols.listed import asked, codes, read


@pytest.mark.parametrize(
    ("text", "comma", "point"),
    [
        ("12", "12", "12"),
        ("12,50", "12.50", None),
        ("12.50", None, "12.50"),
        ("1,250", "1.250", "1250"),
        ("1.250", "1250", "1.250"),
        ("1.250,00", "1250.00", None),
        ("1,250.00", None, "1250.00"),
        ("1,250,000", None, "1250000"),
        ("0,250", "0.250", None),
        ("1 250,5", "1250.5", None),
        ("1\u00a0250", "1250", "1250"),
        ("-5", "-5", "-5"),
        ("\u22125", "-5", "-5"),
        ("€ 12,50", "12.50", None),
        ("12.50 USD", None, "12.50"),
        ("20 pcs", "20", "20"),
    ],
)
def test_a_number_has_a_reading_for_each_decimal_sign(text, comma, point):
    number = read_number(text)

    assert number.comma == (None if comma is None else Decimal(comma))
    assert number.point == (None if point is None else Decimal(point))


@pytest.mark.parametrize(
    "text", ["", "abc", "1,2,3", "12.50.1", "1e5", "٣", "1-2", ",", "--1", "M5", "1" * 16]
)
def test_texts_that_are_no_numbers(text):
    number = read_number(text)

    assert number.comma is None
    assert number.point is None


def test_a_comma_is_decimal_where_semicolons_separate_and_it_is_told():
    understood = read("Especie;Cantidad;Precio", "Gramma loreto;6;12,50", separator=";")

    assert understood.lines[0].price == "12.50"
    assert understood.form["decimal"] == ","
    assert [note.code for note in understood.notes] == ["decimal"]


def test_a_comma_elsewhere_is_asked():
    lines = ("Species\tQty\tPrice", "Gramma loreto\t6\t12,50")

    understood = read(*lines, separator="\t")
    answered = read(*lines, separator="\t", answers={"decimal": ","})

    assert asked(understood) == ["decimal"]
    assert understood.lines[0].price is None
    assert answered.lines[0].price == "12.50"
    assert answered.settings["decimal"] == ","


def test_the_setting_of_the_supplier_says_what_a_comma_is():
    understood = read(
        "Species\tQty\tPrice",
        "Gramma loreto\t6\t12,50",
        separator="\t",
        settings={"decimal": ","},
    )

    assert not understood.questions
    assert understood.lines[0].price == "12.50"


@pytest.mark.parametrize("separator", [";", "\t"])
def test_a_number_that_could_be_either_is_asked(separator):
    lines = (f"Species{separator}Qty{separator}Price", f"Gramma{separator}6{separator}1,250")

    understood = read(*lines, separator=separator)

    assert asked(understood) == ["decimal"]
    assert [(one.value, one.shows) for one in understood.questions[0].choices] == [
        (",", "decimal comma: 1,250 is 1.250"),
        (".", "decimal point: 1,250 is 1250"),
    ]
    assert not understood.may_be_applied


@pytest.mark.parametrize(("sign", "price"), [(",", "1.250"), (".", "1250")])
def test_the_answer_says_what_it_is(sign, price):
    understood = read(
        "Species;Qty;Price", "Gramma;6;1,250", separator=";", answers={"decimal": sign}
    )

    assert understood.lines[0].price == price


def test_a_quantity_that_could_be_either_is_asked_and_no_problem():
    understood = read("Species;Qty", "Chromis viridis;1,250", separator=";")

    assert asked(understood) == ["decimal"]
    assert not understood.problems
    assert not understood.lines


def test_both_signs_in_one_file_are_asked_and_then_one_of_them_is_a_problem():
    lines = ("Species;Qty;Price", "Gramma;6;12,50", "Chromis;6;0.65")

    assert asked(read(*lines, separator=";")) == ["decimal"]
    assert codes(read(*lines, separator=";", answers={"decimal": ","})) == [
        (3, "Price", "unreadable")
    ]


def test_a_point_is_decimal_without_a_question():
    understood = read("Species,Qty,Price", "Gramma,6,12.50")

    assert understood.lines[0].price == "12.50"
    assert not understood.questions
