from datetime import date

from hypothesis import given
from hypothesis import strategies as st

from protocols.list_text import clean
from protocols.list_values import Row, Sheet, Table
from protocols.lists import KnownSpecies, match_species, understand
from tests.protocols.listed import TODAY, read

WORDS = st.sampled_from(
    [
        *("", "Box", "Box 3", "Bag", "Species", "Latin name", "Qty", "Qty per bag", "Bags"),
        *("Price", "ETA", "Order date", "AWB", "AWB: 1", "Total", "Total 40", "12", "-1"),
        *("1,250", "12,50", "2.5", "03/04/2027", "13/04/2027", "2027-04-03", "W", "=1+1"),
        *("Chromis viridis", "\ufeff"),
    ]
)
CELLS = st.lists(WORDS | st.text(max_size=12), max_size=8).map(tuple)
ROWS = st.builds(
    Row, st.integers(1, 10_000), CELLS, st.text("tndm", max_size=8), st.integers(0, 9)
)
SHEETS = st.builds(Sheet, st.text(max_size=5), st.lists(ROWS, max_size=12).map(tuple))
TABLES = st.builds(Table, st.just("csv"), st.lists(SHEETS, max_size=3).map(tuple))
ANSWERS = st.dictionaries(
    st.sampled_from(
        ["date_order", "decimal", "sheet", "mapping", "column_quantity", "lone_texts"]
    ),
    WORDS | st.none() | st.integers() | st.dictionaries(WORDS, WORDS | st.just("quantity")),
)


@given(TABLES, ANSWERS, ANSWERS, st.dates())
def test_no_table_and_no_answer_breaks_the_reading(table, answers, settings, today):
    understood = understand(table, today=today, answers=answers, settings=settings)

    assert all(1 <= line.listed <= 100_000 and line.text for line in understood.lines)
    rows = {row.number for sheet in table.sheets for row in sheet.rows}
    assert {line.row for line in understood.lines} <= rows
    assert {problem.row for problem in understood.problems} <= rows | {None}


@given(st.lists(st.integers(1, 500), min_size=1, max_size=20))
def test_the_animals_of_a_list_are_the_sum_of_its_rows(counts):
    rows = [f"{place},Chromis viridis,{count}" for place, count in enumerate(counts)]

    understood = read("Bag,Species,Qty", *rows, f",Total,{sum(counts)}")

    assert understood.listed == sum(counts)
    assert not understood.problems


@given(st.dates(date(2000, 1, 1), date(2099, 12, 31)), st.sampled_from("/.-"))
def test_a_date_is_read_as_it_was_written(day, mark):
    text = day.strftime(f"%d{mark}%m{mark}%Y")

    understood = read(
        "Species,Qty,ETA", f"Chromis,1,{text}", answers={"date_order": "day_first"}
    )

    assert understood.lines[0].arrives == day


@given(st.text())
def test_cleaning_a_text_twice_changes_nothing(text):
    once = clean(text)

    assert clean(once) == once
    assert once == once.strip()


@given(st.text(max_size=40), st.text(max_size=40))
def test_any_text_may_be_looked_up_among_the_species(text, scientific_name):
    known = [KnownSpecies("1", "Chromis viridis", ("Blue-green chromis", ""))]

    match = match_species(text, known, scientific_name=scientific_name)

    assert match.exact in (None, known[0])


def test_a_question_that_is_answered_is_not_asked_again():
    lines = (
        "Box;Species;Qty;Price;ETA",
        "1;Chromis;1;1,250;03/04/2027",
        ";DAMSELS;;;",
        ";G;1;;",
    )
    understood = read(*lines, separator=";")
    answers = {question.key: question.choices[0].value for question in understood.questions}

    answered = read(*lines, separator=";", answers=answers, today=TODAY)

    assert set(answers) == {"date_order", "decimal", "box_blank", "lone_texts"}
    assert answered.may_be_applied
