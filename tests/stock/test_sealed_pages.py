"""Sealed pages: short proofs out of what is kept, and checkpoints on a timetable."""

from datetime import timedelta
from uuid import uuid4

import pytest

from protocols import tree
from protocols.checkpoint import verify_note, vkey
from protocols.tree_proofs import Span
from stock import checkpoints, keys
from stock.models import Checkpoint, Fact, KeptSubtree, Log
from stock.queries.tree_proofs import (
    consistency_shown,
    edge_at,
    inclusion_shown,
    roots,
)
from stock.refusals import Refused
from tests.make import START, make_shop

pytestmark = pytest.mark.django_db
ENTRIES = 300


@pytest.fixture
def log(db):
    """A record book of 300 entries; only their leaves matter here."""
    log = Log.objects.create(uid=uuid4(), organisation=uuid4(), size=ENTRIES)
    Fact.objects.bulk_create(
        Fact(
            uid=uuid4(),
            log=log,
            seq=seq,
            kind="room_set",
            performed_at=START,
            offset_min=0,
            recorded_at=START,
            doer=log.uid,
            messenger=log.uid,
            standing="happened",
            group=log.uid,
            body={},
            entry=b"",
            leaf=leaf,
        )
        for seq, leaf in enumerate(leaves())
    )
    return log.uid


def leaves(size=ENTRIES):
    return [tree.leaf_hash(str(number).encode()) for number in range(size)]


def test_only_whole_blocks_are_kept_each_once(log):
    assert checkpoints.keep_subtrees(log) == 4 + 2 + 1
    assert checkpoints.keep_subtrees(log) == 0
    assert set(KeptSubtree.objects.values_list("level", "position")) == {
        *((6, n) for n in range(4)),
        (7, 0),
        (7, 1),
        (8, 0),
    }


def test_what_is_kept_bit_by_bit_is_what_would_be_kept_at_once(log):
    Log.objects.filter(uid=log).update(size=130)
    checkpoints.keep_subtrees(log)
    Log.objects.filter(uid=log).update(size=ENTRIES)
    checkpoints.keep_subtrees(log)
    kept = {(level, position): bytes(root) for level, position, root in rows()}

    KeptSubtree.objects.all().delete()
    checkpoints.keep_subtrees(log)

    assert kept == {(level, position): bytes(root) for level, position, root in rows()}


def rows():
    return KeptSubtree.objects.values_list("level", "position", "root")


@pytest.mark.parametrize("swept", [True, False])
def test_a_proof_leads_to_the_root_whether_or_not_it_was_swept(log, swept):
    if swept:
        checkpoints.keep_subtrees(log)
    whole = tree.root(tree.edge_of(leaves()))
    entry = Fact.objects.get(log=log, seq=200)

    shown = inclusion_shown(log, entry.uid, None)

    proof = [bytes.fromhex(one) for one in shown["hashes"]]
    assert shown["root"] == whole.hex()
    assert tree.verify_inclusion(leaves()[200], 200, ENTRIES, proof, whole)
    assert proof == list(tree.inclusion_proof(leaves(), 200))


def test_a_proof_takes_two_queries_however_long_the_book_is(log, django_assert_max_num_queries):
    checkpoints.keep_subtrees(log)
    with django_assert_max_num_queries(2):
        assert roots(log, [Span(0, 256), Span(256, 300)])
    with django_assert_max_num_queries(1):
        assert edge_at(log, 256).size == 256


def test_the_book_is_shown_to_have_only_grown(log):
    checkpoints.keep_subtrees(log)
    shown = consistency_shown(log, 77, 210)
    proof = [bytes.fromhex(one) for one in shown["hashes"]]
    older, newer = (bytes.fromhex(shown[one]) for one in ("older_root", "root"))
    assert tree.verify_consistency(77, 210, older, newer, proof)
    assert older == tree.root(tree.edge_of(leaves(77)))


@pytest.mark.parametrize(("first", "size"), [(0, 10), (11, 10), (1, ENTRIES + 1)])
def test_sizes_that_the_book_never_had_are_refused(log, first, size):
    with pytest.raises(Refused):
        consistency_shown(log, first, size)


def test_a_page_is_sealed_every_hour_in_which_something_was_entered(log):
    assert checkpoints.seal(log, START)
    assert not checkpoints.seal(log, START + timedelta(hours=5)), "nothing was entered"
    (page,) = Checkpoint.objects.all()
    public = vkey(keys.origin(log), keys.private_key("checkpoint").public_key())
    text = verify_note(page.note, public)
    assert text.splitlines()[1] == str(ENTRIES)


def test_after_a_certificate_a_page_is_sealed_at_once(log):
    Log.objects.filter(uid=log).update(size=299)
    checkpoints.seal(log, START)
    Log.objects.filter(uid=log).update(size=ENTRIES)
    soon = START + timedelta(minutes=1)
    assert not checkpoints.seal(log, soon)
    certified = Fact.objects.get(log=log, seq=299)
    copy = {one.attname: getattr(certified, one.attname) for one in Fact._meta.concrete_fields}
    leaf = tree.leaf_hash(b"issued")
    told = {"uid": uuid4(), "seq": 300, "kind": "certificate_issued", "leaf": leaf}
    Fact.objects.bulk_create([Fact(**{**copy, **told})])
    Log.objects.filter(uid=log).update(size=301)
    assert checkpoints.seal(log, soon)


def test_a_sweep_looks_after_site_and_organisation(db):
    shop = make_shop()
    checkpoints.look_after(shop.site, START)
    checkpoints.look_after(shop.site, START)
    assert Checkpoint.objects.count() == 2
