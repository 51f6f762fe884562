"""The ledger's tree against the vectors of RFC 6962 and against its own properties."""

import base64
import hashlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from protocols import tree
from protocols.tree import Edge

# The eight leaves that implementations of Certificate Transparency are tested with.
STANDARD = [
    bytes.fromhex(one)
    for one in (
        "",
        "00",
        "10",
        "2021",
        "3031",
        "40414243",
        "5051525354555657",
        "606162636465666768696a6b6c6d6e6f",
    )
]
STANDARD_ROOTS = [
    "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
    "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
    "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
    "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
    "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
    "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
]
LEAVES = [tree.leaf_hash(one) for one in STANDARD]
SIZES = st.integers(1, 40)


def made(size):
    return [tree.leaf_hash(str(number).encode()) for number in range(size)]


def root_of(leaves):
    """The definition of RFC 6962 §2.1, word for word, without the edge."""
    if not leaves:
        return hashlib.sha256(b"").digest()
    if len(leaves) == 1:
        return leaves[0]
    split = 1
    while split * 2 < len(leaves):
        split *= 2
    return tree.node_hash(root_of(leaves[:split]), root_of(leaves[split:]))


@pytest.mark.parametrize("size", range(1, 9))
def test_the_roots_of_the_standard_leaves_are_the_published_ones(size):
    assert tree.root(tree.edge_of(LEAVES[:size])).hex() == STANDARD_ROOTS[size - 1]


def test_the_hashes_of_a_leaf_and_a_node_are_the_published_ones():
    leaf = tree.leaf_hash(b"L123456").hex()
    node = tree.node_hash(b"N123", b"N456").hex()

    assert (leaf[:8], leaf[-4:]) == ("395aa064", "4d56")
    assert (node[:8], node[-4:]) == ("aa217fe8", "6bbb")


def test_the_root_of_nothing_is_the_hash_of_nothing():
    assert tree.root(Edge()) == tree.EMPTY_ROOT == hashlib.sha256(b"").digest()


def test_three_entries_give_the_known_root_and_proof():
    leaves = [tree.leaf_hash(f'{{"n":{n}}}'.encode()) for n in (1, 2, 3)]

    root = base64.b64encode(tree.root(tree.edge_of(leaves))).decode()
    (sibling,) = tree.inclusion_proof(leaves, 2)

    assert root == "dF3ODCIwENED2Kh0PXPdJuO6ASBJpTqq7O6yHA6Q4UA="
    assert base64.b64encode(sibling).decode() == "dO+aU3TNHb6ltFGsMUHSuzgLRsU+pBLN8TmQC09+FCI="


@given(st.integers(0, 70))
def test_carrying_the_edge_on_gives_the_root_of_the_whole(size):
    leaves = made(size)

    assert tree.root(tree.edge_of(leaves)) == root_of(leaves)


@given(st.integers(0, 70))
def test_an_edge_is_read_back_from_its_text(size):
    edge = tree.edge_of(made(size))

    assert Edge.from_text(edge.to_text(), size) == edge


@pytest.mark.parametrize(
    ("text", "size"),
    [("", 1), ("00" * 32, 0), ("00" * 32, 3), ("00" * 31, 1), ("xy" * 32, 1), ("", -1)],
)
def test_a_text_and_a_size_that_do_not_belong_together_make_no_edge(text, size):
    with pytest.raises(ValueError, match=r"hash|hex"):
        Edge.from_text(text, size)


@given(SIZES, st.data())
def test_every_inclusion_proof_verifies(size, data):
    index = data.draw(st.integers(0, size - 1))
    leaves = made(size)

    proof = tree.inclusion_proof(leaves, index)

    assert tree.verify_inclusion(leaves[index], index, size, proof, root_of(leaves))


@given(SIZES, st.data())
def test_every_consistency_proof_verifies(size, data):
    first = data.draw(st.integers(1, size))
    leaves = made(size)

    proof = tree.consistency_proof(leaves, first)

    older, newer = root_of(leaves[:first]), root_of(leaves)
    assert tree.verify_consistency(first, size, older, newer, proof)


def flipped(data, hashes):
    """The hashes with one bit of one of them turned over."""
    place = data.draw(st.integers(0, len(hashes) - 1))
    bit = data.draw(st.integers(0, 255))
    number = int.from_bytes(hashes[place], "big") ^ 1 << bit
    return [*hashes[:place], number.to_bytes(32, "big"), *hashes[place + 1 :]]


@given(SIZES, st.data())
def test_an_inclusion_proof_with_one_bit_turned_over_fails(size, data):
    index = data.draw(st.integers(0, size - 1))
    leaves = made(size)
    proof = tree.inclusion_proof(leaves, index)

    leaf, root, *turned = flipped(data, [leaves[index], root_of(leaves), *proof])

    assert not tree.verify_inclusion(leaf, index, size, turned, root)


@given(st.integers(2, 40), st.data())
def test_a_consistency_proof_with_one_bit_turned_over_fails(size, data):
    first = data.draw(st.integers(1, size - 1))
    leaves = made(size)
    proof = tree.consistency_proof(leaves, first)

    roots = [root_of(leaves[:first]), root_of(leaves)]
    older, newer, *turned = flipped(data, [*roots, *proof])

    assert not tree.verify_consistency(first, size, older, newer, turned)


@given(SIZES, st.data())
def test_a_leaf_is_not_shown_at_another_place(size, data):
    index = data.draw(st.integers(0, size - 1))
    other = data.draw(st.integers(-1, size).filter(lambda one: one != index))
    leaves = made(size)
    proof = tree.inclusion_proof(leaves, index)

    assert not tree.verify_inclusion(leaves[index], other, size, proof, root_of(leaves))


@given(SIZES, st.data())
def test_a_proof_that_is_longer_or_shorter_fails(size, data):
    index = data.draw(st.integers(0, size - 1))
    leaves = made(size)
    proof = tree.inclusion_proof(leaves, index)

    longer = (*proof, leaves[0])
    assert not tree.verify_inclusion(leaves[index], index, size, longer, root_of(leaves))
    assert size == 1 or not tree.verify_inclusion(
        leaves[index], index, size, proof[:-1], root_of(leaves)
    )


def test_a_tree_is_no_deeper_and_no_flatter_than_its_size():
    deeper = tree.node_hash(LEAVES[1], LEAVES[0])
    flatter = tree.node_hash(LEAVES[0], LEAVES[1])

    assert not tree.verify_inclusion(LEAVES[0], 0, 1, (LEAVES[1],), deeper)
    assert not tree.verify_inclusion(LEAVES[0], 0, 4, (LEAVES[1],), flatter)
    assert not tree.verify_consistency(2, 8, LEAVES[0], flatter, (LEAVES[1],))


def test_nothing_is_proven_of_a_tree_without_leaves():
    empty = tree.EMPTY_ROOT

    assert not tree.verify_inclusion(LEAVES[0], 0, 0, (), LEAVES[0])
    assert not tree.verify_consistency(0, 0, empty, empty, ())
    assert not tree.verify_consistency(0, 1, empty, LEAVES[0], ())
    with pytest.raises(ValueError, match="no such leaf"):
        tree.inclusion_proof([], 0)
    with pytest.raises(ValueError, match="at least one leaf"):
        tree.consistency_proof(LEAVES, 0)


def test_an_older_tree_is_not_larger():
    older, newer = root_of(LEAVES), root_of(LEAVES[:4])

    assert not tree.verify_consistency(8, 4, older, newer, ())
    with pytest.raises(ValueError, match="no more than the newer"):
        tree.consistency_proof(LEAVES[:4], 8)


def test_equal_sizes_need_equal_roots_and_no_proof():
    root = root_of(LEAVES)

    assert tree.verify_consistency(8, 8, root, root, ())
    assert not tree.verify_consistency(8, 8, root, LEAVES[0], ())
    assert not tree.verify_consistency(8, 8, root, root, (root,))


def test_growth_without_a_proof_is_not_believed():
    assert not tree.verify_consistency(3, 8, root_of(LEAVES[:3]), root_of(LEAVES), ())
    assert not tree.verify_consistency(4, 8, root_of(LEAVES[:4]), root_of(LEAVES), ())


@pytest.mark.parametrize("size", [0, 31, 33, 64])
def test_a_hash_of_another_length_proves_nothing(size):
    # As concatenation has no seams, 31 bytes on one side and 33 on the other hash alike.
    left, right = LEAVES[0], LEAVES[1]
    joined = left + right
    root = tree.node_hash(left, right)

    assert not tree.verify_inclusion(joined[:size], 0, 2, (joined[size:],), root)
    assert not tree.verify_consistency(1, 2, joined[:size], root, (joined[size:],))


def test_the_head_of_a_batch_is_pinned():
    expected = hashlib.sha256(
        b"fillmark/batch-head/v1\n" + b"\0\0\0\0\0\0\0\x02" + LEAVES[0] + LEAVES[1]
    )

    assert tree.batch_head(LEAVES[:2], 2) == expected.digest()


def test_the_head_of_a_batch_tells_order_and_number():
    heads = {
        tree.batch_head(LEAVES[:2], 2),
        tree.batch_head([LEAVES[1], LEAVES[0]], 2),
        tree.batch_head(LEAVES[:1], 1),
        tree.batch_head([], 0),
    }

    assert len(heads) == 4


@pytest.mark.parametrize(("leaves", "count"), [(LEAVES[:2], 3), ([b"short"], 1)])
def test_a_batch_is_not_sealed_under_another_count_or_with_a_cut_hash(leaves, count):
    with pytest.raises(ValueError, match="number of leaf hashes"):
        tree.batch_head(leaves, count)
