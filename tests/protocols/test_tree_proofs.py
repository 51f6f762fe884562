"""Proofs put together from subtrees, against those made from all leaves."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from protocols import tree
from protocols.checkpoint import checkpoint, sign_note
from protocols.tree_proofs import Span, Subtree, consistency, inclusion, proof_text
from tests.protocols.test_checkpoint import KEY, NAME

SIZES = st.integers(1, 150)


def made(size):
    return [tree.leaf_hash(str(number).encode()) for number in range(size)]


def hashes(spans, leaves):
    """The root of each span, by way of its complete subtrees."""
    return tuple(
        span.root(
            [tree.root(tree.edge_of(leaves[one.first : one.stop])) for one in span.subtrees]
        )
        for span in spans
    )


@given(SIZES, st.data())
def test_an_inclusion_proof_is_the_one_made_from_all_leaves(size, data):
    index, leaves = data.draw(st.integers(0, size - 1)), made(size)
    assert hashes(inclusion(index, size), leaves) == tree.inclusion_proof(leaves, index)


@given(SIZES, st.data())
def test_a_consistency_proof_is_the_one_made_from_all_leaves(size, data):
    first, leaves = data.draw(st.integers(1, size)), made(size)
    assert hashes(consistency(first, size), leaves) == tree.consistency_proof(leaves, first)


@given(SIZES)
def test_what_a_leaf_completes_is_the_root_of_that_many_leaves(size):
    leaves = made(size)
    done = tree.completed(tree.edge_of(leaves[:-1]), leaves[-1])
    for level, found in enumerate(done, 1):
        assert found == tree.root(tree.edge_of(leaves[size - (1 << level) :]))
    assert len(done) == ((size & -size).bit_length() - 1)


def test_a_span_of_a_large_tree_is_a_handful_of_subtrees():
    span = Span(0, 1_000_000)
    assert sum(one.stop - one.first for one in span.subtrees) == 1_000_000
    assert len(span.subtrees) == (1_000_000).bit_count()
    assert span.subtrees[0] == Subtree(19, 0)
    assert len(inclusion(123_456, 1_000_000)) == 20


@pytest.mark.parametrize(("index", "size"), [(-1, 4), (4, 4), (0, 0)])
def test_there_is_no_proof_of_a_leaf_that_is_not_there(index, size):
    with pytest.raises(ValueError, match="no such leaf"):
        inclusion(index, size)


@pytest.mark.parametrize(("first", "size"), [(0, 4), (5, 4), (0, 0)])
def test_an_empty_tree_or_a_larger_one_begins_nothing(first, size):
    with pytest.raises(ValueError, match="the older tree"):
        consistency(first, size)


def test_a_proof_as_text_is_the_published_example():
    leaves = [tree.leaf_hash(f'{{"n":{number}}}'.encode()) for number in (1, 2, 3)]
    note = sign_note(checkpoint(NAME, tree.edge_of(leaves)), NAME, KEY)

    assert proof_text(2, hashes(inclusion(2, 3), leaves), note) == (
        "c2sp.org/tlog-proof@v1\n"
        "index 2\n"
        "dO+aU3TNHb6ltFGsMUHSuzgLRsU+pBLN8TmQC09+FCI=\n"
        "\n"
        "reef.example/log\n"
        "3\n"
        "dF3ODCIwENED2Kh0PXPdJuO6ASBJpTqq7O6yHA6Q4UA=\n"
        "\n"
        "— reef.example/log 19T0PBVLvX9rP+KqXOzaUumaRxQB6lbUfHtXgcEkzTveWKfmkEYrLmRD4PrjUBB"
        "mmyXOGTIvf7gBCKtFLAxzTrGZJAk=\n"
    )


@given(SIZES)
def test_a_tree_that_grows_leaf_by_leaf_has_the_edge_of_all(size):
    growing = tree.Growing()
    for leaf in made(size):
        growing.add(leaf)
    assert growing.edge() == tree.edge_of(made(size))
