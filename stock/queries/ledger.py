"""The record book itself: its entries, and its root as far as it goes."""

import json
from typing import Any
from uuid import UUID

from protocols import checkpoint, tree
from stock import keys
from stock.models import Fact, Log

PAGE_MOST = 500


def entries_page(log: UUID, *, after: int, limit: int) -> dict[str, Any]:
    """Entries after a ledger position (-1 for all), as they were written. Two queries."""
    rows = Fact.objects.filter(log=log, seq__gt=after).order_by("seq")
    found = list(rows.values_list("seq", "entry", "leaf")[: min(limit, PAGE_MOST)])
    return {
        "entries": [
            {"seq": seq, "leaf": bytes(leaf).hex(), "entry": json.loads(bytes(entry))}
            for seq, entry, leaf in found
        ],
        "size": Log.objects.values_list("size", flat=True).get(uid=log),
    }


def size_of(log: UUID) -> int:
    """How many entries a record book holds; none where there is no such book. One query."""
    return Log.objects.filter(uid=log).values_list("size", flat=True).first() or 0


def signed_checkpoint(log: UUID) -> str:
    """The record book's size and root as a signed note. One query."""
    row = Log.objects.get(uid=log)
    name = keys.origin(log)
    text = checkpoint.checkpoint(name, tree.Edge.from_text(row.edge, row.size))
    return checkpoint.sign_note(text, name, keys.private_key("checkpoint"))
