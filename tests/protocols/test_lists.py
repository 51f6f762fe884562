from datetime import date

import pytest

from protocols.list_values import Row, Sheet, Table
from protocols.lists import ListedLine, understand
from tests.protocols.listed import TODAY, asked, codes, read, rows_of

HEADINGS = "Box,Bag,Code,Trade name,Scientific name,Size,Qty,Price,Origin,Wild/captive"


def test_a_line_has_everything_that_is_printed():
    understood = read(
        HEADINGS, "1,1-02,LC-1,Ocellaris clownfish,Amphiprion ocellaris,M,5,2.10,ID,C"
    )

    assert understood.lines == (
        ListedLine(
            row=2,
            text="Ocellaris clownfish",
            listed=5,
            box="1",
            bag="1-02",
            code="LC-1",
            scientific_name="Amphiprion ocellaris",
            size="M",
            price="2.10",
            origin="ID",
            wild=False,
        ),
    )
    assert understood.may_be_applied


def test_species_and_quantity_are_all_that_is_needed():
    understood = read("Species,Quantity", "Chromis viridis,12")

    assert [(line.text, line.listed) for line in understood.lines] == [("Chromis viridis", 12)]
    assert understood.may_be_applied


def test_a_scientific_name_alone_is_the_species():
    understood = read("Latin name,Pcs", "Gramma loreto,6")

    assert [line.text for line in understood.lines] == ["Gramma loreto"]


@pytest.mark.parametrize(
    ("quantity", "code"),
    [
        ("2.5", "not_whole"),
        ("0", "not_positive"),
        ("-3", "not_positive"),
        ("a dozen", "unreadable"),
        ("1e3", "unreadable"),
        ("", "missing"),
        ("100001", "too_large"),
        ("9" * 40, "unreadable"),
    ],
)
def test_a_quantity_that_is_no_number_of_animals_is_a_problem(quantity, code):
    understood = read("Box,Species,Qty", f"1,Chromis viridis,{quantity}")

    assert codes(understood) == [(2, "Qty", code)]
    assert understood.problems[0].value == quantity
    assert not understood.lines
    assert not understood.may_be_applied


def test_the_largest_quantity_is_taken():
    assert read("Species,Qty", "Chromis viridis,100000").listed == 100_000


def test_every_bad_row_is_told_at_once_and_good_rows_are_still_shown():
    understood = read(
        "Box,Species,Qty,Price",
        "1,Chromis viridis,x,1.00",
        "1,Gramma loreto,6,2.00",
        "1,,4,2.00",
        "1,Zebrasoma flavescens,-1,dear",
    )

    assert codes(understood) == [
        (2, "Qty", "unreadable"),
        (4, "Species", "missing"),
        (5, "Qty", "not_positive"),
        (5, "Price", "unreadable"),
    ]
    assert [line.row for line in understood.lines] == [3]


def test_a_price_below_nothing_is_a_problem_and_a_gift_is_none():
    understood = read(
        "Species,Qty,Price", "Chromis viridis,6,-1.00", "Gramma loreto,1,0", "Salarias,1,"
    )

    assert codes(understood) == [(2, "Price", "not_positive")]
    assert [line.price for line in understood.lines] == [None, "0", None]


def test_a_whole_number_with_decimals_is_whole():
    assert read("Species,Qty", "Chromis viridis,12.0").listed == 12


def test_a_unit_beside_the_number_is_no_problem():
    understood = read("Species,Qty,Price", "Chromis viridis,12 pcs,USD 0.65")

    assert [(line.listed, line.price) for line in understood.lines] == [(12, "0.65")]


def test_bags_times_animals_in_each_are_the_quantity():
    understood = read("Species,Bags,Qty per bag", "Chromis viridis,3,10")

    assert understood.listed == 30


def test_a_product_that_is_not_the_printed_quantity_is_told():
    understood = read("Species,Bags,Qty per bag,Total qty", "Chromis viridis,3,10,40")

    assert codes(understood) == [(2, "Total qty", "sum_differs")]
    assert understood.listed == 40
    assert understood.may_be_applied


@pytest.mark.parametrize(
    ("word", "wild"),
    [("W", True), ("wild", True), ("C", False), ("Tank-raised", False), ("", None)],
)
def test_wild_and_captive_are_told_apart(word, wild):
    understood = read("Species,Qty,W/C", f"Chromis viridis,12,{word}")

    assert understood.lines[0].wild is wild
    assert not understood.problems


def test_an_unknown_word_for_wild_is_told_and_left_open():
    understood = read("Species,Qty,Source", "Chromis viridis,12,pond")

    assert understood.lines[0].wild is None
    assert codes(understood) == [(2, "Source", "unknown_word")]
    assert understood.may_be_applied


def test_unseen_characters_and_spaces_are_left_out_of_texts():
    understood = read("\ufeff\u200bBox,Species,Qty", "\u20601\xa0,Gramma\u00a0 lore\u200bto ,6")

    assert [(line.box, line.text) for line in understood.lines] == [("1", "Gramma loreto")]


def test_letters_with_accents_have_one_form():
    understood = read("Species,Qty", "Gobio neo\u0301n,6")

    assert understood.lines[0].text == "Gobio neón"


def test_lost_letters_are_a_problem():
    understood = read("Species,Qty", "Gobio ne\ufffdn,6")

    assert codes(understood) == [(2, "Species", "unreadable")]


@pytest.mark.parametrize(
    ("column", "length", "code"),
    [("Species", 200, None), ("Species", 201, "too_long"), ("Size", 61, "too_long")],
)
def test_texts_have_a_greatest_length(column, length, code):
    understood = read(f"{column},Qty,Latin name", f"{'x' * length},6,Gramma loreto")

    assert [problem.code for problem in understood.problems] == ([code] if code else [])


def test_equal_rows_are_pointed_out_and_kept():
    understood = read("Box,Bag,Species,Qty", "1,1,Chromis viridis,10", "1,1,Chromis viridis,10")

    assert codes(understood) == [(3, None, "twice")]
    assert understood.listed == 20
    assert understood.may_be_applied


def test_equal_fish_in_another_bag_are_no_double():
    understood = read("Box,Bag,Species,Qty", "1,1,Chromis viridis,10", "1,2,Chromis viridis,10")

    assert not understood.problems


def test_a_row_with_more_fields_than_headings_is_a_problem():
    understood = read("Species,Qty,Price", "Chromis viridis,12,0,65")

    assert (2, None, "unreadable") in codes(understood)
    assert not understood.may_be_applied


def test_the_waybill_of_the_column_is_the_waybill_of_the_list():
    understood = read("AWB,Species,Qty", "999-12345675,Chromis viridis,12")

    assert understood.waybill == "999-12345675"


def test_a_second_waybill_is_told():
    understood = read("AWB,Species,Qty", "999-1,Chromis viridis,12", "999-2,Gramma loreto,6")

    assert codes(understood) == [(3, "AWB", "several_waybills")]


def test_the_title_tells_waybill_and_arrival():
    understood = read(
        "An invented exporter",
        "AWB: 999-12345675,,Arrival date,2027-03-05",
        "Species,Qty,Size,Price",
        "Chromis viridis,12,M,1.00",
    )

    assert understood.waybill == "999-12345675"
    assert understood.arrives == date(2027, 3, 5)
    assert understood.lines[0].arrives == date(2027, 3, 5)


def test_real_numbers_of_a_spreadsheet_are_never_asked_about():
    rows = (
        Row(1, ("Species", "Qty", "Price"), "ttt"),
        Row(2, ("Chromis viridis", "12", "1.125"), "tnn"),
    )

    understood = understand(Table("xlsx", (Sheet("List", rows),)), today=TODAY)

    assert not understood.questions
    assert understood.lines[0].price == "1.125"


def test_the_sheet_that_is_a_packing_list_is_found():
    notes = Sheet("Terms", rows_of("Claims,Within two hours"))
    listed = Sheet("List", rows_of("Species,Qty", "Chromis viridis,12"))

    understood = understand(Table("xlsx", (notes, listed)), today=TODAY)

    assert understood.form["sheet"] == "List"
    assert understood.listed == 12


def test_two_sheets_that_could_be_the_list_are_asked():
    one = Sheet("Monday", rows_of("Species,Qty", "Chromis viridis,12"))
    two = Sheet("Friday", rows_of("Species,Qty", "Gramma loreto,6"))
    table = Table("xlsx", (one, two))

    understood = understand(table, today=TODAY)
    answered = understand(table, today=TODAY, answers={"sheet": "Friday"})

    assert asked(understood) == ["sheet"]
    assert [choice.value for choice in understood.questions[0].choices] == ["Monday", "Friday"]
    assert not understood.lines
    assert [line.text for line in answered.lines] == ["Gramma loreto"]


def test_a_table_without_rows_lacks_both_columns():
    understood = understand(Table("csv", (Sheet("", ()),)), today=TODAY)

    assert [problem.value for problem in understood.problems] == ["species", "quantity"]
    assert not understood.may_be_applied


def test_a_list_of_headings_alone_may_not_be_applied():
    assert not read("Species,Qty").may_be_applied


def test_a_title_right_above_the_headings_is_no_part_of_them():
    understood = read("AWB,AB-CD", "Species,Qty", "Chromis viridis,12")

    assert understood.waybill == "AB-CD"
    assert understood.form["header_row"] == 2


def test_a_decimal_comma_of_the_supplier_does_not_reach_real_numbers():
    rows = (
        Row(1, ("Species", "Qty", "Price"), "ttt"),
        Row(2, ("Chromis viridis", "12", "1.125"), "tnn"),
    )
    table = Table("xlsx", (Sheet("List", rows),))

    understood = understand(table, today=TODAY, settings={"decimal": ","})

    assert understood.lines[0].price == "1.125"
