"""The only reader of time. Everything else is told what time it is."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import UTC, datetime
from uuid import UUID

from django.conf import settings
from django.db.models import Max

from stock.models import ClockMoment
from stock.refusals import Refused, refuse

_named: ContextVar[datetime | None] = ContextVar("named_moment", default=None)


@contextmanager
def named(moment: datetime | None) -> Iterator[None]:
    """Let `moment` be the present inside the block; only under the test clock."""
    token = _named.set(moment if settings.TEST_CLOCK else None)
    try:
        yield
    finally:
        _named.reset(token)


def now(log: UUID | None = None) -> datetime:
    """The present in UTC, whole seconds.

    Under the test clock: the moment the request named, else the one last stored for this
    log (a site's or an organisation's), else the latest stored anywhere, else the real time.
    """
    if settings.TEST_CLOCK:
        return _named.get() or _stored(log) or _stored(None) or _real()
    return _real()


def advance(log: UUID, moment: datetime) -> None:
    """Store the moment of a writing request under the test clock; it never goes back."""
    if not settings.TEST_CLOCK:
        return
    stored = _stored(log)
    if stored is not None and moment < stored:
        raise Refused(
            refuse(
                "clock_back",
                "The test clock only goes forward.",
                stored=stored,
                named=moment,
            )
        )
    ClockMoment.objects.update_or_create(log=log, defaults={"moment": moment})


def _stored(log: UUID | None) -> datetime | None:
    rows = ClockMoment.objects.all() if log is None else ClockMoment.objects.filter(log=log)
    found: datetime | None = rows.aggregate(latest=Max("moment"))["latest"]
    return found


def _real() -> datetime:
    return datetime.now(UTC).replace(microsecond=0)
