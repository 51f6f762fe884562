"""Tables for the tests of packing lists, written as the text of a file."""

from datetime import date

from protocols.list_values import Row, Sheet, Table
from protocols.lists import Understood, understand

TODAY = date(2027, 3, 1)


def rows_of(*lines, separator=","):
    return tuple(
        Row(number, tuple(line.split(separator)), "", line.count(separator) + 1)
        for number, line in enumerate(lines, start=1)
        if line.strip(separator)
    )


def table_of(*lines, separator=",", told=None):
    """A CSV file of these lines; `told` is the separator that reading found, if another."""
    rows = rows_of(*lines, separator=separator)
    return Table("csv", (Sheet("", rows),), {"separator": told or separator})


def read(*lines, separator=",", told=None, **given) -> Understood:
    given.setdefault("today", TODAY)
    return understand(table_of(*lines, separator=separator, told=told), **given)


def codes(understood):
    """Where each problem is and what it is."""
    return [(one.row, one.column, one.code) for one in understood.problems]


def asked(understood):
    return [question.key for question in understood.questions]
