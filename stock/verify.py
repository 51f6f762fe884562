"""Is the ledger what it was? Every entry is read again, in constant memory."""

from collections.abc import Iterator
from dataclasses import dataclass
from uuid import UUID

from protocols import entries, tree
from protocols.clocks import utc_text
from stock.models import Fact, Log

_COMPARED = ("kind", "doer", "messenger", "standing", "about", "body")


@dataclass(frozen=True, slots=True)
class Wrong:
    """The first entry of a log that is not what was written, and in which way."""

    log: UUID
    seq: int
    why: str


def verify(log: Log) -> Wrong | None:
    """Follow a record book from its first entry to its tree's edge; None if all is well."""
    edge = tree.Edge()
    for expected, fact in enumerate(_facts(log)):
        if fact.seq != expected:
            return Wrong(log.uid, expected, "this entry is missing")
        if why := _differs(fact):
            return Wrong(log.uid, fact.seq, why)
        edge = tree.append(edge, bytes(fact.leaf))
    if edge.size != log.size:
        return Wrong(log.uid, edge.size, "entries are missing at the end")
    if edge.to_text() != log.edge:
        return Wrong(log.uid, edge.size - 1, "the tree does not end in the kept edge")
    return None


def _facts(log: Log) -> Iterator[Fact]:
    return Fact.objects.filter(log=log).order_by("seq").iterator(chunk_size=500)


def _differs(fact: Fact) -> str | None:
    entry = bytes(fact.entry)
    if tree.leaf_hash(entry) != bytes(fact.leaf):
        return "the entry is not the one that was hashed"
    told = entries.read_entry(entry)
    if told["uid"] != str(fact.uid) or told["seq"] != fact.seq:
        return "the row names another entry"
    for name in _COMPARED:
        kept = getattr(fact, name)
        if told.get(name) != (str(kept) if isinstance(kept, UUID) else kept):
            return f"the column {name} does not say what the entry says"
    for name in ("performed_at", "recorded_at"):
        if told[name] != utc_text(getattr(fact, name)):
            return f"the column {name} does not say what the entry says"
    return None
