from datetime import date

import pytest

from protocols.list_dates import read_date
from protocols.list_values import DATE
from tests.protocols.listed import asked, codes, read

OPEN = ("Species,Qty,Arrival", "Chromis viridis,12,03/04/2027", "Gramma loreto,6,04/04/2027")
SURE = (*OPEN, "Salarias fasciatus,2,13/04/2027")


@pytest.mark.parametrize(
    "text",
    [
        "2027-04-03",
        "2027/4/3",
        "2027-04-03T07:12:00",
        "3 April 2027",
        "03-Apr-2027",
        "April 3, 2027",
        "3 de abril de 2027",
        "3. April 2027",
        "3 avril 2027",
    ],
)
def test_dates_that_can_be_read_one_way_only(text):
    reading = read_date(text)

    assert reading.day_first == reading.month_first == date(2027, 4, 3)


@pytest.mark.parametrize("text", ["03/04/2027", "3.4.2027", "03-04-27", "03/04/2027 07:12"])
def test_dates_that_can_be_read_two_ways(text):
    reading = read_date(text)

    assert (reading.day_first, reading.month_first) == (date(2027, 4, 3), date(2027, 3, 4))
    assert reading.is_open


@pytest.mark.parametrize("text", ["31/02/2027", "2027-13-01", "soon", "", "3/4", "32.1.2027"])
def test_texts_that_are_no_dates(text):
    reading = read_date(text)

    assert reading.day_first is None
    assert reading.month_first is None


def test_a_real_date_of_a_spreadsheet_is_sure():
    assert read_date("2027-04-03", DATE).month_first == date(2027, 4, 3)


def test_an_open_column_is_asked_once_with_both_readings():
    understood = read(*OPEN)

    assert asked(understood) == ["date_order"]
    assert [(one.value, one.shows) for one in understood.questions[0].choices] == [
        ("day_first", "day first: 03/04/2027 is 3 April 2027"),
        ("month_first", "month first: 03/04/2027 is 4 March 2027"),
    ]
    assert [line.arrives for line in understood.lines] == [None, date(2027, 4, 4)]
    assert not understood.may_be_applied


@pytest.mark.parametrize(
    ("order", "first"),
    [("day_first", date(2027, 4, 3)), ("month_first", date(2027, 3, 4))],
)
def test_the_answer_holds_for_the_column_and_is_kept_for_the_supplier(order, first):
    understood = read(*OPEN, answers={"date_order": order})

    assert understood.lines[0].arrives == first
    assert understood.settings["date_order"] == order
    assert not understood.questions
    assert read(*OPEN, settings=understood.settings).lines[0].arrives == first


def test_one_row_that_works_one_way_only_decides_for_all_and_is_told():
    understood = read(*SURE)

    assert not understood.questions
    assert [line.arrives for line in understood.lines] == [
        date(2027, 4, 3),
        date(2027, 4, 4),
        date(2027, 4, 13),
    ]
    assert [note.code for note in understood.notes] == ["date_order"]
    assert "Row 4 (13/04/2027) can only be read day first" in understood.notes[0].detail
    assert "date_order" not in understood.settings


def test_iso_dates_and_a_sure_row_ask_nothing():
    understood = read("Species,Qty,ETA", "Chromis,1,2027-04-03", "Gramma,1,13/04/2027")

    assert not understood.questions
    assert [line.arrives for line in understood.lines] == [date(2027, 4, 3), date(2027, 4, 13)]


def test_rows_that_contradict_each_other_are_asked():
    understood = read("Species,Qty,ETA", "Chromis,1,04/13/2027", "Gramma,1,13/04/2027")

    assert asked(understood) == ["date_order"]


def test_a_row_that_the_given_order_cannot_read_is_a_problem():
    understood = read(*SURE, settings={"date_order": "month_first"})

    assert codes(understood) == [(4, "Arrival", "unreadable")]
    assert "month first" in understood.problems[0].detail


def test_an_answer_that_is_none_is_asked_again():
    assert asked(read(*OPEN, answers={"date_order": "whatever"})) == ["date_order"]


def test_what_is_no_date_is_a_problem():
    understood = read("Species,Qty,ETA", "Chromis,1,soon")

    assert codes(understood) == [(2, "ETA", "unreadable")]


def test_two_open_columns_are_one_question():
    understood = read("Species,Qty,Order date,ETA", "Chromis,1,02/03/2027,03/04/2027")

    assert asked(understood) == ["date_order"]


@pytest.mark.parametrize(("day", "flagged"), [("2027-04-30", False), ("2027-05-01", True)])
def test_more_than_sixty_days_ahead_is_flagged(day, flagged):
    understood = read("Species,Qty,ETA", f"Chromis,1,{day}")

    assert codes(understood) == ([(2, "ETA", "far_future")] if flagged else [])
    assert understood.may_be_applied


@pytest.mark.parametrize(("day", "flagged"), [("2027-02-20", False), ("2027-02-19", True)])
def test_an_arrival_before_its_order_is_flagged(day, flagged):
    understood = read("Species,Qty,Order date,ETA", f"Chromis,1,2027-02-20,{day}")

    assert codes(understood) == ([(2, "ETA", "before_order")] if flagged else [])


def test_the_date_of_the_order_may_be_handed_in():
    understood = read("Species,Qty,ETA", "Chromis,1,2027-02-19", ordered=date(2027, 2, 20))

    assert codes(understood) == [(2, "ETA", "before_order")]


def test_an_arrival_in_the_title_is_checked_as_well():
    understood = read("Arrival date: 2028-01-01", "Species,Qty", "Chromis viridis,1")

    assert codes(understood) == [(1, None, "far_future")]
