"""An inspector's visit: how long it may last, and the list of what was shown in it."""

import hashlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import rfc8785

from protocols.clocks import utc_text
from protocols.values import Reason

LONGEST = timedelta(hours=72)


@dataclass(frozen=True, slots=True)
class Page:
    """Something that was shown: which report, when, how, and the digest of its exact table."""

    n: int
    at: datetime
    report: str
    how: str  # screen, pdf, spreadsheet, exact
    begins: datetime
    ends: datetime
    known_by: int
    sha256: str


def may_open(
    begins: datetime,
    ends: datetime,
    *,
    reports: Sequence[str],
    known: Iterable[str],
    lasts: timedelta,
) -> Iterator[Reason]:
    """What stands against letting somebody see these reports of these days for so long."""
    if not begins < ends:
        yield Reason("unreadable", "visit", "The first day comes first.", pointer="/to")
    if not timedelta(0) < lasts <= LONGEST:
        text = "A visit lasts 72 hours at most."
        yield Reason("unreadable", "visit", text, pointer="/hours")
    if not reports or not set(reports) <= set(known):
        text = "Choose among the reports that there are."
        yield Reason("unreadable", "visit", text, pointer="/reports")


def digest_of(pages: Iterable[Page]) -> str:
    """SHA-256 over the list of what was shown, as RFC 8785 JSON, as hex."""
    return hashlib.sha256(rfc8785.dumps([_plain(one) for one in pages])).hexdigest()


def _plain(page: Page) -> Mapping[str, str | int]:
    return {
        "n": page.n,
        "at": utc_text(page.at),
        "report": page.report,
        "how": page.how,
        "from": utc_text(page.begins),
        "to": utc_text(page.ends),
        "known_by": page.known_by,
        "sha256": page.sha256,
    }
