import pytest

from protocols.list_words import field_of
from tests.protocols.listed import asked, codes, read


@pytest.mark.parametrize(
    ("heading", "field"),
    [
        ("Box", "box"),
        ("BOX NO.", "box"),
        ("Box #", "box"),
        ("Caja", "box"),
        ("Nº de caja", "box"),
        ("Karton-Nr.", "box"),
        ("Bag no", "bag"),
        ("Bolsa", "bag"),
        ("Stock code", "code"),
        ("Código", "code"),
        ("Common name", "trade_name"),
        ("Nombre común", "trade_name"),
        ("Especie", "trade_name"),
        ("Nom scientifique", "scientific_name"),
        ("Wissenschaftlicher Name", "scientific_name"),
        ("Größe", "size"),
        ("Size (cm)", "size"),
        ("QTY", "quantity"),
        ("Qty. (pcs)", "quantity"),
        ("Quantité", "quantity"),
        ("Anzahl / Stück", "quantity"),
        ("Qty/bag", "per_bag"),
        ("No. of bags", "bags"),
        ("Unit price USD", "price"),
        ("Precio unitario (EUR)", "price"),
        ("Total price", "amount"),
        ("Country of origin", "origin"),
        ("W/C", "wild"),
        ("Guía aérea", "waybill"),
        ("ETA", "arrival"),
        ("Fecha de llegada", "arrival"),
        ("Order date", "ordered"),
        ("Item", None),
        ("No.", None),
        ("Total", None),
        ("Trade name / Scientific name", None),
        ("", None),
    ],
)
def test_headings_are_known_in_the_spellings_of_the_trade(heading, field):
    assert field_of(heading) == field


def test_unknown_columns_are_listed_and_ignored():
    understood = read("Species,Qty,Tank,CITES", "Chromis viridis,12,A4,no")

    assert understood.form["ignored"] == ["Tank", "CITES"]
    assert understood.may_be_applied


def test_missing_columns_refuse_the_list_with_their_names():
    understood = read("Box,Tank", "1,A4")

    assert codes(understood) == [(1, None, "missing_column"), (1, None, "missing_column")]
    assert [problem.value for problem in understood.problems] == ["species", "quantity"]
    assert not understood.lines
    assert not understood.may_be_applied


def test_a_missing_column_can_be_pointed_at():
    lines = ("Species,Tail count", "Chromis viridis,12", "Gramma loreto,6")

    understood = read(*lines)
    answered = read(*lines, answers={"column_quantity": "Tail count"})

    assert asked(understood) == ["column_quantity"]
    assert understood.questions[0].choices[1].shows == "B: Tail count (12, 6)"
    assert answered.listed == 18
    assert answered.settings["mapping"] == {"Tail count": "quantity"}


def test_what_was_pointed_at_is_known_when_the_supplier_sends_again():
    settings = {"mapping": {"Laji": "trade_name", "Kpl": "quantity"}}

    understood = read("Laji,Kpl", "Chromis viridis,12", settings=settings)

    assert understood.listed == 12
    assert not understood.questions


def test_a_list_in_an_unknown_language_is_asked_for_both_columns():
    understood = read("Laji,Kpl", "Chromis viridis,12")

    assert asked(understood) == ["column_species", "column_quantity"]


def test_two_columns_of_one_kind_are_asked_not_chosen():
    lines = ("Species,Qty,Pcs", "Chromis viridis,12,10")

    understood = read(*lines)
    answered = read(*lines, answers={"column_quantity": "Pcs"})

    assert asked(understood) == ["column_quantity"]
    assert not understood.lines
    assert answered.listed == 10


def test_equal_headings_have_names_of_their_own():
    answered = read(
        "Species,Qty,Qty", "Chromis viridis,12,10", answers={"column_quantity": "Qty (2)"}
    )

    assert answered.listed == 10


def test_an_answer_takes_the_field_from_the_column_that_had_it():
    settings = {"mapping": {"Ordered pcs": "quantity"}}
    lines = ("Species,Ordered pcs,Packed pcs", "Chromis viridis,12,10")

    answered = read(*lines, settings=settings, answers={"column_quantity": "Packed pcs"})

    assert answered.listed == 10
    assert answered.settings["mapping"] == {"Packed pcs": "quantity"}


def test_a_column_can_be_told_to_be_ignored():
    settings = {"mapping": {"Price": "ignore"}}

    understood = read("Species,Qty,Price", "Chromis viridis,12,on request", settings=settings)

    assert understood.lines[0].price is None
    assert understood.form["ignored"] == ["Price"]
    assert understood.may_be_applied


def test_a_mapping_to_something_unknown_changes_nothing():
    settings = {"mapping": {"Qty": "password"}}

    assert read("Species,Qty", "Chromis viridis,12", settings=settings).listed == 12


def test_headings_stand_below_a_title():
    understood = read("Packing list,Box count 3", "", "Box,Species,Qty", "1,Chromis viridis,12")

    assert understood.form["header_row"] == 3
    assert [line.row for line in understood.lines] == [4]


def test_headings_may_take_two_rows():
    understood = read(
        "Bag,Common,Scientific,Unit,Quantity",
        "no.,name,name,price,",
        "1,Royal gramma,Gramma loreto,7.10,3",
    )

    line = understood.lines[0]
    assert (line.bag, line.text, line.scientific_name) == ("1", "Royal gramma", "Gramma loreto")
    assert (line.price, line.listed) == ("7.10", 3)


def test_a_first_line_without_numbers_is_not_taken_for_a_heading():
    understood = read("Box,Species,Qty", "A,Code,x", "B,Gramma loreto,3")

    assert [problem.row for problem in understood.problems] == [2]


def test_units_below_the_headings_are_no_line():
    understood = read("Species,Size,Qty,Price", ",cm,pcs,USD", "Chromis viridis,4,12,0.65")

    assert not understood.problems
    assert understood.listed == 12


def test_headings_that_are_repeated_on_a_new_page_are_no_line():
    understood = read(
        "Box,Species,Qty", "1,Chromis viridis,12", "Box,Species,Qty", "2,Gramma loreto,6"
    )

    assert not understood.problems
    assert [line.row for line in understood.lines] == [2, 4]
