"""The moment a reader asks about: `at` by performed time, `known_by` by ledger position."""

from datetime import date, datetime
from uuid import UUID

from rest_framework.request import Request

from api.rest.inputs import at_field
from stock import clock
from stock.refusals import Refused, refuse

# Days that every zone has whole, and a week around them.
FIRST_DAY, LAST_DAY = date(1900, 1, 1), date(9000, 1, 1)


def moment_of(request: Request, log: UUID | None) -> datetime:
    """`at` of the query, else the present of this record book."""
    return moment_in(request, "at") or clock.now(log)


def moment_in(request: Request, name: str) -> datetime | None:
    """A time in the query; None where it is not there."""
    text = request.query_params.get(name)
    if text is None:
        return None
    # A plus sign that nobody quoted arrives as a space.
    moment: datetime = at_field(text.replace(" ", "+"), name)[0]
    return moment


def day_of(request: Request) -> date | None:
    """`day` of the query, such as 2027-02-11; None where it is not there."""
    text = request.query_params.get("day")
    if text is None:
        return None
    try:
        day = date.fromisoformat(text)
    except ValueError:
        day = date.min
    if not FIRST_DAY <= day <= LAST_DAY:
        raise Refused(refuse("unreadable", "Name a day: 2027-02-11.", pointer="/day"))
    return day


def known_by_of(request: Request) -> int | None:
    text = request.query_params.get("known_by")
    if text is None:
        return None
    if not text.isdecimal():
        raise Refused(refuse("unreadable", "Name a ledger position.", pointer="/known_by"))
    return int(text)
