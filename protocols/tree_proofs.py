"""Proofs from a record book too long to read whole: which subtrees they are made of.

A proof is a list of roots of spans of leaves, from the leaf upwards (RFC 6962 §2.1.1, §2.1.2).
Every span is put together from complete subtrees; those of `KEPT_LEVEL` and above are kept
beside the entries, so that a proof reads a few rows however long the record book is.
"""

import base64
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from protocols import tree

# Subtrees of 64 leaves and more are kept: one row for about 32 entries.
KEPT_LEVEL = 6
TLOG_PROOF = "c2sp.org/tlog-proof@v1"


@dataclass(frozen=True, slots=True, order=True)
class Subtree:
    """A complete subtree: 2**level leaves from the leaf `position` * 2**level on."""

    level: int
    position: int

    @property
    def first(self) -> int:
        """Its first leaf."""
        return self.position << self.level

    @property
    def stop(self) -> int:
        """The leaf behind its last."""
        return (self.position + 1) << self.level

    @property
    def is_kept(self) -> bool:
        return self.level >= KEPT_LEVEL


@dataclass(frozen=True, slots=True)
class Span:
    """The leaves first <= n < stop, as the tree splits them."""

    first: int
    stop: int

    @property
    def subtrees(self) -> tuple[Subtree, ...]:
        """The complete subtrees it is put together from, largest first."""
        return tuple(_subtrees(self.first, self.stop))

    def root(self, hashes: Sequence[bytes]) -> bytes:
        """Its root, from the roots of its subtrees in their order."""
        return tree.root(tree.Edge(self.stop - self.first, tuple(hashes)))


def _subtrees(first: int, stop: int) -> Iterator[Subtree]:
    while first < stop:
        level = (stop - first).bit_length() - 1
        yield Subtree(level, first >> level)
        first += 1 << level


def inclusion(index: int, size: int) -> tuple[Span, ...]:
    """The spans whose roots lead from leaf `index` to the root of `size` leaves.

    Raises ValueError where there is no such leaf.
    """
    if not 0 <= index < size:
        raise ValueError("no such leaf")
    return tuple(_inclusion(index, 0, size))


def _inclusion(index: int, first: int, stop: int) -> Iterator[Span]:
    if stop - first == 1:
        return
    middle = first + tree.split(stop - first)
    if index < middle:
        yield from _inclusion(index, first, middle)
        yield Span(middle, stop)
    else:
        yield from _inclusion(index, middle, stop)
        yield Span(first, middle)


def consistency(first: int, size: int) -> tuple[Span, ...]:
    """The spans whose roots show that the first `first` leaves begin the tree of `size`.

    Raises ValueError where the older tree is empty or larger than the newer.
    """
    if not 0 < first <= size:
        raise ValueError("the older tree has at least one leaf and no more than the newer")
    return tuple(_consistency(first, Span(0, size), known=True))


def _consistency(size: int, within: Span, *, known: bool) -> Iterator[Span]:
    if size == within.stop:
        if not known:
            yield within
        return
    middle = within.first + tree.split(within.stop - within.first)
    left, right = Span(within.first, middle), Span(middle, within.stop)
    if size <= middle:
        yield from _consistency(size, left, known=known)
        yield right
    else:
        yield from _consistency(size, right, known=False)
        yield left


def proof_text(index: int, hashes: Sequence[bytes], checkpoint: str) -> str:
    """An inclusion proof as text that carries all it needs: c2sp.org/tlog-proof.

    `checkpoint` is the signed note of the tree that the hashes lead to.
    """
    lines = [TLOG_PROOF, f"index {index}", *(base64.b64encode(one).decode() for one in hashes)]
    return "\n".join([*lines, "", checkpoint])
