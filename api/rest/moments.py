"""The moment a reader asks about: `at` by performed time, `known_by` by ledger position."""

from datetime import date, datetime, timedelta
from uuid import UUID

from rest_framework.request import Request

from api.rest.inputs import at_field, person
from protocols.uids import uid_or_none
from stock import access, clock
from stock.queries.as_of import AsOf
from stock.queries.ledger import size_of
from stock.refusals import Refused, refuse

DIGITS_MOST = 18
SPAN_MOST = timedelta(days=5 * 366)

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


def span_of(request: Request) -> tuple[datetime, datetime]:
    """`from` and `to` of the query, at most five years apart."""
    begins, ends = _said_moment(request, "from"), _said_moment(request, "to")
    refuse_no_span(begins, ends)
    return begins, ends


def _said_moment(request: Request, name: str) -> datetime:
    moment = moment_in(request, name)
    if moment is None:
        raise Refused(refuse("unreadable", f"Say {name}.", pointer=f"/{name}"))
    return moment


def day_of(request: Request) -> date | None:
    """`day` of the query, such as 2027-02-11; None where it is not there."""
    return day_in(request, "day")


def day_in(request: Request, name: str) -> date | None:
    """A day in the query; None where it is not there."""
    text = request.query_params.get(name)
    if text is None:
        return None
    try:
        day = date.fromisoformat(text)
    except ValueError:
        day = date.min
    if not FIRST_DAY <= day <= LAST_DAY:
        raise Refused(refuse("unreadable", "Name a day: 2027-02-11.", pointer=f"/{name}"))
    return day


def site_in(request: Request) -> UUID | None:
    """The `site` of the query, if it is one that the asker works at."""
    uid = uid_or_none(request.query_params.get("site") or "")
    known = uid is not None and access.roles_at(person(request), uid)
    return uid if known else None


def then_of(request: Request, log: UUID | None) -> AsOf:
    """What the query asks for: `at`, and `known_by`, a position of this record book."""
    return AsOf(moment_in(request, "at"), known_by_of(request, log))


def known_by_of(request: Request, log: UUID | None) -> int | None:
    """A position that the record book has reached; it must be clear of which it is one."""
    text = request.query_params.get("known_by")
    if text is None:
        return None
    if not (text.isascii() and text.isdigit() and len(text) <= DIGITS_MOST):
        raise Refused(refuse("unreadable", "Name a ledger position.", pointer="/known_by"))
    if log is None:
        said = "Name the site whose record book it is a position of."
        raise Refused(refuse("unreadable", said, pointer="/known_by"))
    position, size = int(text), size_of(log)
    if position >= size:
        said = f"The record book holds {size} entries so far."
        raise Refused(refuse("unreadable", said, pointer="/known_by", size=size))
    return position


def refuse_no_span(begins: datetime, ends: datetime) -> None:
    """Raises Refused for a span that has no length, or is longer than records are given for."""
    if not begins < ends <= begins + SPAN_MOST:
        text = "Say a span of at most five years, its beginning first."
        raise Refused(refuse("unreadable", text, pointer="/to"))
