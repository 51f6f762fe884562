"""The nine reports that inspectors ask for, each with one shape and as it was known."""

from collections.abc import Mapping

from stock.queries.reports.certificates import CERTIFICATES
from stock.queries.reports.corrections import CORRECTIONS
from stock.queries.reports.deaths import DEATHS
from stock.queries.reports.equipment import EQUIPMENT
from stock.queries.reports.form import Asked, Cell, Column, Report, Row, Sort
from stock.queries.reports.intervals import INTERVALS
from stock.queries.reports.late import LATE
from stock.queries.reports.mass_balance import MASS_BALANCE
from stock.queries.reports.medicines import MEDICINES
from stock.queries.reports.water import WATER

__all__ = ["REPORTS", "Asked", "Cell", "Column", "Report", "Row", "Sort"]

REPORTS: Mapping[str, Report] = {
    one.name: one
    for one in (
        MASS_BALANCE,
        INTERVALS,
        EQUIPMENT,
        DEATHS,
        MEDICINES,
        WATER,
        CORRECTIONS,
        LATE,
        CERTIFICATES,
    )
}
