"""As of which entry of the record book a report speaks: the newest, one by number, or a day."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from protocols import tree
from protocols.hours import wall
from stock.models import Batch, Fact
from stock.queries.ledger import size_of
from stock.queries.tree_proofs import edge_at


@dataclass(frozen=True, slots=True)
class Known:
    """An entry, the last one that counts, and the moment at which batches are judged.

    `known_by` is a ledger position, -1 where the record book held nothing yet; `newest` says
    that nobody asked for an earlier one.
    """

    known_by: int
    at: datetime
    newest: bool

    @property
    def size(self) -> int:
        """How many entries count."""
        return self.known_by + 1


def known_now(site: UUID, now: datetime) -> Known:
    """Everything that the record book holds. One query."""
    return Known(size_of(site) - 1, now, newest=True)


def known_by_entry(site: UUID, position: int) -> Known:
    """As it was when this entry had been made; the position must be one. One query."""
    recorded = Fact.objects.values_list("recorded_at", flat=True).get(log=site, seq=position)
    return Known(position, recorded, newest=False)


def known_on(site: UUID, day: date, zone: ZoneInfo, now: datetime) -> Known:
    """As it was known at the end of a day of the site; now if that day goes on. One query."""
    end = min(wall(day + timedelta(days=1), 0, zone), now)
    rows = Fact.objects.filter(log=site, recorded_at__lt=end).order_by("-seq")
    position = rows.values_list("seq", flat=True).first()
    return Known(-1 if position is None else position, end, newest=False)


def root_of(site: UUID, size: int) -> str:
    """The root of the record book's first `size` entries, as hex. Two queries."""
    return tree.root(edge_at(site, size)).hex()


def batch_by_code(site: UUID, code: str) -> UUID | None:
    """The batch of this code at a site. One query."""
    return Batch.objects.filter(site=site, code=code).values_list("uid", flat=True).first()
