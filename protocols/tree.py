"""The ledger's tree: leaves, right edge, root and proofs (RFC 6962 §2.1).

Everything here is frozen: one different byte would disown every checkpoint, proof and
certificate already given away. Hashes are SHA-256, 32 bytes.
"""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Self

HASH_SIZE = 32
EMPTY_ROOT = hashlib.sha256(b"").digest()
BATCH_HEAD = b"fillmark/batch-head/v1\n"


def leaf_hash(entry: bytes) -> bytes:
    """H(0x00 || entry): the prefix keeps a leaf from being passed off as a node."""
    return hashlib.sha256(b"\x00" + entry).digest()


def leaf_hashes(entries: Sequence[bytes]) -> list[bytes]:
    """The leaf hash of each of many entries."""
    sha256 = hashlib.sha256
    return [sha256(b"\x00" + one).digest() for one in entries]


def node_hash(left: bytes, right: bytes) -> bytes:
    """H(0x01 || left || right)."""
    return hashlib.sha256(b"\x01" + left + right).digest()


@dataclass(frozen=True, slots=True)
class Edge:
    """The right edge of a tree: the roots of its complete subtrees, largest first.

    There is one for every 1 in the binary form of `size`, so a log of a thousand million
    entries is carried on with at most 30 hashes.
    """

    size: int = 0
    hashes: tuple[bytes, ...] = ()

    def __post_init__(self) -> None:
        if self.size < 0 or len(self.hashes) != self.size.bit_count():
            raise ValueError(f"an edge of size {self.size} has {self.size.bit_count()} hashes")
        if any(len(one) != HASH_SIZE for one in self.hashes):
            raise ValueError("a hash is 32 bytes long")

    def to_text(self) -> str:
        """The hashes in hex, one after the other, for a column beside the size."""
        return b"".join(self.hashes).hex()

    @classmethod
    def from_text(cls, text: str, size: int) -> Self:
        """Back from `to_text`; raises ValueError where text and size do not belong together."""
        data = bytes.fromhex(text)
        pieces = range(0, len(data), HASH_SIZE)
        return cls(size, tuple(data[one : one + HASH_SIZE] for one in pieces))


def completed(edge: Edge, leaf: bytes) -> tuple[bytes, ...]:
    """The roots of the subtrees that one more leaf hash completes: of 2, 4, 8 … leaves."""
    found, size, before = [leaf], edge.size, list(edge.hashes)
    while size & 1:
        found.append(node_hash(before.pop(), found[-1]))
        size >>= 1
    return tuple(found[1:])


def append(edge: Edge, leaf: bytes) -> Edge:
    """The edge after one more leaf hash."""
    merged = completed(edge, leaf)
    kept = edge.hashes[: len(edge.hashes) - len(merged)]
    return Edge(edge.size + 1, (*kept, merged[-1] if merged else leaf))


class Growing:
    """A tree that is only added to, leaf by leaf, for reading long record books again."""

    __slots__ = ("_hashes", "size")

    def __init__(self) -> None:
        self.size = 0
        self._hashes: list[bytes] = []

    def add(self, leaf: bytes) -> None:
        size, hashes = self.size, self._hashes
        while size & 1:
            leaf = node_hash(hashes.pop(), leaf)
            size >>= 1
        hashes.append(leaf)
        self.size += 1

    def extend(self, leaves: Sequence[bytes]) -> None:
        """The same for many leaf hashes: whole subtrees are hashed level by level."""
        done = 0
        while done < len(leaves):
            level = (len(leaves) - done).bit_length() - 1
            if self.size:  # a subtree begins at a multiple of its own size
                level = min(level, (self.size & -self.size).bit_length() - 1)
            self._add_subtree(_whole(leaves[done : done + (1 << level)]), level)
            done += 1 << level

    def _add_subtree(self, found: bytes, level: int) -> None:
        above, hashes = self.size >> level, self._hashes
        while above & 1:
            found = node_hash(hashes.pop(), found)
            above >>= 1
        hashes.append(found)
        self.size += 1 << level

    def edge(self) -> Edge:
        return Edge(self.size, tuple(self._hashes))


def _whole(leaves: Sequence[bytes]) -> bytes:
    """The root of a complete subtree, from its leaf hashes."""
    sha256, level = hashlib.sha256, list(leaves)
    while len(level) > 1:
        pairs = zip(level[::2], level[1::2], strict=True)
        level = [sha256(b"\x01" + left + right).digest() for left, right in pairs]
    return level[0]


def root(edge: Edge) -> bytes:
    """The root hash of the tree with this edge; `EMPTY_ROOT` for no leaves."""
    if not edge.hashes:
        return EMPTY_ROOT
    *others, found = edge.hashes
    for left in reversed(others):
        found = node_hash(left, found)
    return found


def edge_of(leaves: Sequence[bytes]) -> Edge:
    """The edge of a whole tree, from its leaf hashes in order."""
    edge = Edge()
    for leaf in leaves:
        edge = append(edge, leaf)
    return edge


def inclusion_proof(leaves: Sequence[bytes], index: int) -> tuple[bytes, ...]:
    """The siblings from leaf hash `index` up to the root (RFC 6962 §2.1.1)."""
    if not 0 <= index < len(leaves):
        raise ValueError("no such leaf")
    if len(leaves) == 1:
        return ()
    middle = split(len(leaves))
    left, right = leaves[:middle], leaves[middle:]
    if index < middle:
        return (*inclusion_proof(left, index), root(edge_of(right)))
    return (*inclusion_proof(right, index - middle), root(edge_of(left)))


def consistency_proof(leaves: Sequence[bytes], first: int) -> tuple[bytes, ...]:
    """That the first `first` leaf hashes begin the tree of all `leaves` (RFC 6962 §2.1.2)."""
    if not 0 < first <= len(leaves):
        raise ValueError("the older tree has at least one leaf and no more than the newer")
    return _subproof(leaves, first, known=True)


def _subproof(leaves: Sequence[bytes], first: int, *, known: bool) -> tuple[bytes, ...]:
    if first == len(leaves):
        return () if known else (root(edge_of(leaves)),)
    middle = split(len(leaves))
    left, right = leaves[:middle], leaves[middle:]
    if first <= middle:
        return (*_subproof(left, first, known=known), root(edge_of(right)))
    return (*_subproof(right, first - middle, known=False), root(edge_of(left)))


def split(size: int) -> int:
    """The largest power of two below `size`."""
    return 1 << (size - 1).bit_length() - 1


def verify_inclusion(
    leaf: bytes, index: int, size: int, proof: Sequence[bytes], root_hash: bytes
) -> bool:
    """Whether the leaf hash stands at `index` of the tree of `size` (RFC 9162 §2.1.3.2)."""
    if not 0 <= index < size or not _are_hashes(leaf, root_hash, *proof):
        return False
    node, last, found = index, size - 1, leaf
    for sibling in proof:
        if last == 0:
            return False
        if node & 1 or node == last:
            found = node_hash(sibling, found)
            node, last = _past_left_turns(node, last)
        else:
            found = node_hash(found, sibling)
        node, last = node >> 1, last >> 1
    return last == 0 and found == root_hash


def _past_left_turns(node: int, last: int) -> tuple[int, int]:
    """Climb the levels on which the node has no sibling, as it is the last of its level."""
    while not node & 1 and node:
        node, last = node >> 1, last >> 1
    return node, last


def verify_consistency(
    first: int, second: int, first_root: bytes, second_root: bytes, proof: Sequence[bytes]
) -> bool:
    """Whether the tree of `first` leaves begins that of `second` (RFC 9162 §2.1.4.2).

    A tree without leaves proves nothing, so size 0 is refused.
    """
    if not 0 < first <= second or not _are_hashes(first_root, second_root, *proof):
        return False
    if first == second:
        return not proof and first_root == second_root
    path = tuple(proof)
    if first.bit_count() == 1:
        path = (first_root, *path)
    return bool(path) and _consistent(first, second, first_root, second_root, path)


def _consistent(
    first: int, second: int, first_root: bytes, second_root: bytes, path: tuple[bytes, ...]
) -> bool:
    node, last = _past_ones(first - 1, second - 1)
    older = newer = path[0]
    for sibling in path[1:]:
        if last == 0:
            return False
        if node & 1 or node == last:
            older, newer = node_hash(sibling, older), node_hash(sibling, newer)
            node, last = _past_left_turns(node, last)
        else:
            newer = node_hash(newer, sibling)
        node, last = node >> 1, last >> 1
    return last == 0 and older == first_root and newer == second_root


def _past_ones(node: int, last: int) -> tuple[int, int]:
    while node & 1:
        node, last = node >> 1, last >> 1
    return node, last


def _are_hashes(*hashes: bytes) -> bool:
    return all(len(one) == HASH_SIZE for one in hashes)


def batch_head(leaf_hashes: Sequence[bytes], count: int) -> bytes:
    """One hash that seals a batch: all its entries, in ledger order, and how many they are.

    SHA-256 over `fillmark/batch-head/v1` and a line feed, `count` as 8 bytes big-endian, and
    the leaf hashes one after the other. It shows later that no entry of the batch was left
    out, which proofs of single entries cannot. Raises ValueError where `count` differs.
    """
    if count != len(leaf_hashes) or not _are_hashes(*leaf_hashes):
        raise ValueError("count must be the number of leaf hashes of 32 bytes")
    return hashlib.sha256(
        BATCH_HEAD + count.to_bytes(8, "big") + b"".join(leaf_hashes)
    ).digest()
