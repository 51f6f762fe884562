import pytest

from protocols.list_values import Row, Sheet, Table
from protocols.lists import understand
from tests.protocols.listed import TODAY, asked, codes, read


@pytest.mark.parametrize(
    "total",
    ["Total,,40", ",Total,40", ",TOTAL FISH,40", "Suma total,,40", ",Total 40,", ",Gesamt,40"],
)
def test_a_total_is_checked_and_never_a_species(total):
    understood = read("Box,Species,Qty", "1,Chromis viridis,15", "2,Gramma loreto,25", total)

    assert not understood.problems
    assert [note.code for note in understood.notes] == ["total"]
    assert understood.listed == 40


def test_a_total_that_the_lines_do_not_give_is_told():
    understood = read(
        "Box,Species,Qty", "1,Chromis viridis,15", "2,Gramma loreto,23", ",Total,40"
    )

    assert codes(understood) == [(4, "Qty", "sum_differs")]
    assert "40" in understood.problems[0].detail
    assert "38" in understood.problems[0].detail
    assert understood.may_be_applied


def test_sums_of_boxes_and_of_all_are_both_right():
    understood = read(
        "Box,Species,Qty",
        "1,Chromis viridis,15",
        ",Subtotal,15",
        "2,Gramma loreto,25",
        ",Subtotal,25",
        ",Grand total,40",
    )

    assert not understood.problems
    assert [note.code for note in understood.notes] == ["total", "total", "total"]


@pytest.mark.parametrize("row", [",Total boxes: 3,", ",Total weight kg 48,", ",Total USD,250"])
def test_totals_of_other_things_are_not_compared(row):
    understood = read("Box,Species,Qty", "1,Chromis viridis,15", row)

    assert not understood.problems
    assert understood.listed == 15


def test_a_species_that_begins_like_a_total_is_a_line():
    assert read("Species,Qty", "Sumatra goby,4").listed == 4


@pytest.mark.parametrize(
    "heading", ["Box 3,,", ",BOX NO. 3,", ",Box: 3,", "3,,", ",Caja nº 3,"]
)
def test_a_heading_of_a_box_holds_for_the_lines_below(heading):
    understood = read("Box,Species,Qty", heading, ",Chromis viridis,12", ",Gramma loreto,6")

    assert [line.box for line in understood.lines] == ["3", "3"]
    assert not understood.questions


def test_a_fish_named_after_a_box_is_no_box():
    understood = read("Box,Species,Qty", "1,Boxfish,1")

    assert [line.text for line in understood.lines] == ["Boxfish"]


def test_rows_without_a_box_below_one_with_a_box_are_asked():
    lines = ("Box,Species,Qty", "1,Chromis viridis,12", ",Gramma loreto,6")

    understood = read(*lines)

    assert asked(understood) == ["box_blank"]
    assert understood.questions[0].choices[0].shows == "Row 3 is in box 1, as the row above it"
    assert [line.box for line in read(*lines, answers={"box_blank": "same"}).lines] == [
        "1",
        "1",
    ]
    assert [line.box for line in read(*lines, answers={"box_blank": "none"}).lines] == [
        "1",
        None,
    ]


def test_a_list_without_any_box_is_not_asked():
    understood = read("Box,Species,Qty", ",Chromis viridis,12", ",Gramma loreto,6")

    assert not understood.questions


def test_a_merged_box_holds_for_its_rows_and_a_merged_quantity_counts_once():
    rows = (
        Row(1, ("Box", "Species", "Qty"), "ttt"),
        Row(2, ("1", "Chromis viridis", "12"), "ntn"),
        Row(3, ("1", "Gramma loreto", "12"), "mtm"),
    )

    understood = understand(Table("xlsx", (Sheet("List", rows),)), today=TODAY)

    assert [(line.box, line.listed) for line in understood.lines] == [("1", 12)]
    assert codes(understood) == [(3, "Qty", "missing")]


def test_a_lone_name_is_a_missing_quantity_until_people_call_it_a_title():
    lines = ("Box,Species,Qty", ",DAMSELS,", "1,Chromis viridis,12")

    understood = read(*lines)
    titled = read(*lines, answers={"lone_texts": "titles"})

    assert asked(understood) == ["lone_texts"]
    assert codes(understood) == [(2, "Qty", "missing")]
    assert not titled.problems
    assert [note.code for note in titled.notes] == ["left_out"]


def test_people_can_say_that_a_lone_name_is_a_line():
    understood = read("Box,Species,Qty", ",Boxfish,", answers={"lone_texts": "lines"})

    assert not understood.questions
    assert codes(understood) == [(2, "Qty", "missing")]


def test_rows_that_name_no_animals_are_left_out_and_told():
    understood = read("Box,Species,Qty", "1,Chromis viridis,12", "Thank you for your order,,")

    assert not understood.problems
    assert understood.notes[0].detail == "Rows that name no animals are left out: 3."


def test_a_row_with_a_price_but_no_animals_is_a_problem():
    understood = read("Box,Species,Qty,Price", "1,,,12.00")

    assert codes(understood) == [(2, "Species", "missing"), (2, "Qty", "missing")]


def test_a_total_below_a_box_heading_may_be_that_of_the_box():
    understood = read(
        "Box,Species,Qty",
        "Box 1,,",
        ",Chromis viridis,15",
        "Box 2,,",
        ",Gramma loreto,25",
        ",Total,25",
    )

    assert not understood.problems
