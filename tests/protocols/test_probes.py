"""What probes send: even runs, gaps that prove nothing, silence and values that do not move."""

from datetime import UTC, datetime, timedelta

import pytest

from protocols.probes import differing, is_silent, read_table, runs, series_of, stuck_since

START = datetime(2027, 1, 7, 6, tzinfo=UTC)
HEAD = "time,probe,container,quantity,unit,value\n"


def table(*rows):
    lines = (f"2027-01-07T0{h}:{m:02}:00Z,P-1,R1-01,temperature,Cel,{v}" for h, m, v in rows)
    return read_table(HEAD + "\n".join(lines), at="/csv")


def test_a_gap_ends_a_series_and_begins_another():
    found = runs(START, 600, ["25.0", "25.1", None, None, "25.2"])

    assert [(one.start, one.values, one.at) for one in found] == [
        (START, ("25.0", "25.1"), (0, 1)),
        (START + timedelta(minutes=40), ("25.2",), (4,)),
    ]


def test_nothing_but_gaps_is_no_series():
    assert runs(START, 600, [None, None]) == ()


def test_rows_in_any_order_are_even_series():
    rows = table((6, 20, "25.2"), (6, 0, "25.0"), (6, 10, "25.1"), (6, 30, ""), (6, 40, "25.4"))

    found = [(run.start.minute, run.step_s, run.values) for _, run in series_of(rows)]

    assert found == [(0, 600, ("25.0", "25.1", "25.2")), (40, 600, ("25.4",))]


def test_a_value_out_of_step_is_a_series_of_its_own():
    rows = table((6, 0, "25.0"), (6, 10, "25.1"), (6, 13, "25.1"), (6, 23, "25.2"))

    assert [run.values for _, run in series_of(rows)] == [("25.0", "25.1"), ("25.1", "25.2")]


def test_two_values_for_one_moment_are_asked_back():
    rows = table((6, 0, "25.0"), (6, 0, "25.1"))

    assert [one.pointer for one in differing(rows, at="/csv")] == ["/csv/2"]


@pytest.mark.parametrize(
    ("text", "code", "pointer"),
    [
        ("", "missing_column", "/csv"),
        ("time,probe\n", "missing_column", "/csv"),
        (HEAD, "unreadable", "/csv"),
        (HEAD + "2027-01-07T06:00:00,P,C,ph,[pH],8\n", "offset_missing", "/csv/1/time"),
        (HEAD + "soon,P,C,ph,[pH],8\n", "unreadable", "/csv/1/time"),
        (HEAD + "2027-01-07T06:00:00Z,P,,ph,[pH],8\n", "missing", "/csv/1/container"),
        (HEAD + '"2027-01-07T06:00:00Z,P,C,ph\n', "unreadable", "/csv"),
    ],
)
def test_a_table_that_cannot_be_read_is_refused_at_its_row(text, code, pointer):
    (reason,) = read_table(text, at="/csv")

    assert (reason.code, reason.pointer) == (code, pointer)


@pytest.mark.parametrize(("seconds", "silent"), [(3600, False), (3601, True)])
def test_silent_is_longer_than_the_site_waits(seconds, silent):
    assert is_silent(START, START + timedelta(seconds=seconds), after_s=3600) is silent


def same(minutes, *, value="25.1", step=10):
    return [(START + timedelta(minutes=n), value) for n in range(0, minutes + 1, step)]


@pytest.mark.parametrize(("minutes", "stuck"), [(720, True), (710, False)])
def test_stuck_is_the_same_value_for_so_long(minutes, stuck):
    assert (stuck_since(same(minutes), after_s=43200) is not None) is stuck


def test_one_other_value_among_them_begins_anew():
    values = same(720)
    values[60] = (values[60][0], "25.2")

    assert stuck_since(values, after_s=43200) is None


def test_few_values_far_apart_prove_nothing():
    assert stuck_since(same(720, step=180), after_s=43200) is None
