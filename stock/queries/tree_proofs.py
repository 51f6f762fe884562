"""Proofs of a record book: that an entry stands in it, and that it only ever grew."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any
from uuid import UUID

from django.db.models import Q

from protocols import checkpoint, tree
from protocols.tree_proofs import (
    Span,
    Subtree,
    consistency,
    inclusion,
    proof_text,
)
from stock import keys
from stock.models import Checkpoint, Fact, KeptSubtree, Log
from stock.refusals import NotFound, Refused, refuse

PAGE_MOST = 500


def roots(log: UUID, spans: Sequence[Span]) -> list[bytes]:
    """The root of each span of leaves. Two queries, however long the record book is.

    What is not kept is worked out from its leaves.
    """
    wanted = {one for span in spans for one in span.subtrees}
    found = _kept(log, [one for one in wanted if one.is_kept])
    found |= _from_leaves(log, [one for one in wanted if one not in found])
    return [span.root([found[one] for one in span.subtrees]) for span in spans]


def edge_at(log: UUID, size: int) -> tree.Edge:
    """The right edge of a record book as it was with so many entries. Two queries."""
    subtrees = Span(0, size).subtrees
    found = _kept(log, [one for one in subtrees if one.is_kept])
    found |= _from_leaves(log, [one for one in subtrees if one not in found])
    return tree.Edge(size, tuple(found[one] for one in subtrees))


def _kept(log: UUID, wanted: Iterable[Subtree]) -> dict[Subtree, bytes]:
    places = Q(pk=None)
    for one in wanted:
        places |= Q(level=one.level, position=one.position)
    rows = KeptSubtree.objects.filter(places, log=log)
    return {
        Subtree(level, position): bytes(root)
        for level, position, root in rows.values_list("level", "position", "root")
    }


def _from_leaves(log: UUID, wanted: Sequence[Subtree]) -> dict[Subtree, bytes]:
    if not wanted:
        return {}
    places = Q(pk=None)
    for one in wanted:
        places |= Q(seq__gte=one.first, seq__lt=one.stop)
    rows = Fact.objects.filter(places, log=log).order_by("seq").values_list("seq", "leaf")
    leaves = {seq: bytes(leaf) for seq, leaf in rows}
    return {
        one: tree.root(tree.edge_of([leaves[n] for n in range(one.first, one.stop)]))
        for one in wanted
    }


def note_at(log: UUID, size: int) -> str:
    """A signed checkpoint of the record book as it was with so many entries. Two queries."""
    name = keys.origin(log)
    text = checkpoint.checkpoint(name, edge_at(log, size))
    return checkpoint.sign_note(text, name, keys.private_key("checkpoint"))


def book_of(entry: UUID) -> UUID:
    """The record book in which an entry stands. One query. Raises NotFound."""
    log = Fact.objects.filter(uid=entry).values_list("log", flat=True).first()
    if log is None:
        raise NotFound
    return log


def inclusion_shown(log: UUID, entry: UUID, size: int | None) -> dict[str, Any]:
    """That this entry stands in the record book of so many entries (now, unless told).

    Raises Refused for a size at which it was not entered yet, or that the book has not reached.
    """
    row = Fact.objects.values("seq", "leaf").get(uid=entry, log=log)
    size = _size_in(log, size, least=row["seq"] + 1)
    hashes = roots(log, inclusion(row["seq"], size))
    return {
        "entry": str(entry),
        "index": row["seq"],
        "size": size,
        "leaf": bytes(row["leaf"]).hex(),
        "root": tree.root(edge_at(log, size)).hex(),
        "hashes": [one.hex() for one in hashes],
        "checkpoint": note_at(log, size),
    }


def inclusion_text(shown: Mapping[str, Any]) -> str:
    """The same as text that carries all it needs."""
    hashes = [bytes.fromhex(one) for one in shown["hashes"]]
    return proof_text(shown["index"], hashes, shown["checkpoint"])


def consistency_shown(log: UUID, first: int, size: int | None) -> dict[str, Any]:
    """That the first so many entries begin the book as it was, or is, with more of them."""
    size = _size_in(log, size, least=1)
    if not 0 < first <= size:
        text = f"Name a size from 1 to {size}."
        raise Refused(refuse("unreadable", text, pointer="/older", size=size))
    return {
        "older": first,
        "size": size,
        "older_root": tree.root(edge_at(log, first)).hex(),
        "root": tree.root(edge_at(log, size)).hex(),
        "hashes": [one.hex() for one in roots(log, consistency(first, size))],
        "checkpoint": note_at(log, size),
    }


def checkpoints_page(log: UUID, *, after: int) -> dict[str, Any]:
    """The sealed pages of sizes above `after`, oldest first. One query."""
    rows = Checkpoint.objects.filter(log=log, size__gt=after).order_by("size")
    return {"checkpoints": list(rows.values("size", "note", "made_at")[:PAGE_MOST])}


def _size_in(log: UUID, size: int | None, *, least: int) -> int:
    most = Log.objects.values_list("size", flat=True).get(uid=log)
    if size is None:
        return most
    if not least <= size <= most:
        text = f"Name a size from {least} to {most}."
        raise Refused(refuse("unreadable", text, pointer="/size", least=least, most=most))
    return size
