"""Databases doctored by somebody with every right, hashes included: `verify` finds them out."""

import pytest
from django.db import connection

from protocols import entries, tree
from protocols.checkpoint import checkpoint, sign_note
from protocols.signing import new_key
from stock import checkpoints, keys, triggers
from stock.as_written import page_as_written
from stock.models import Checkpoint, Fact, FactText, Log
from stock.queries.tree_proofs import edge_at
from stock.verify import verify
from tests.make import START, make, make_container, make_shop

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def shop():
    shop = make_shop()
    make_container(shop)
    make(shop, "rooms", "Hall", light_on="08:00", light_off="20:00")
    checkpoints.seal(shop.site, START)
    assert verify(Log.objects.get(uid=shop.site)) is None
    return shop


def doctored(site, doctor):
    """Enter other rows, and make leaves, numbers and edge fit, as a superuser can."""
    rows = doctor(list(Fact.objects.filter(log=site).order_by("seq")))
    triggers.drop(connection)
    with connection.cursor() as cursor:
        cursor.execute("delete from fact_subject")
    FactText.objects.all()._raw_delete(FactText.objects.db)
    Fact.objects.filter(log=site)._raw_delete(Fact.objects.db)
    growing = tree.Growing()
    for seq, row in enumerate(rows):
        said = {**entries.read_entry(bytes(row.entry)), "seq": seq, "body": row.body}
        row.seq, row.entry = seq, entries.entry_bytes(said)
        row.leaf = tree.leaf_hash(row.entry)
        growing.add(row.leaf)
    Fact.objects.bulk_create(rows)
    triggers.install(connection)
    Log.objects.filter(uid=site).update(size=growing.size, edge=growing.edge().to_text())
    return verify(Log.objects.get(uid=site))


def relabelled(rows):
    row = next(one for one in rows if one.kind == "room_set")
    row.body = {**row.body, "label": "Cellar"}
    return rows


def without_the_third(rows):
    return [one for one in rows if one.seq != 2]


def test_what_is_made_to_fit_but_not_changed_is_found_whole(shop):
    assert doctored(shop.site, lambda rows: rows) is None


def test_an_entry_changed_with_its_hashes_is_found_by_the_page_sealed_over_it(shop):
    size = Checkpoint.objects.get().size
    wrong = doctored(shop.site, relabelled)

    assert (wrong.seq, wrong.why) == (size - 1, "the page sealed here has another root")


def test_an_entry_removed_and_the_rest_renumbered_is_found(shop):
    make(shop, "rooms", "Loft", light_on="08:00", light_off="20:00")
    wrong = doctored(shop.site, without_the_third)

    assert wrong.why == "the page sealed here has another root"


def test_an_entry_removed_at_the_end_is_missed_by_the_page_that_was_sealed(shop):
    wrong = doctored(shop.site, lambda rows: rows[:-1])

    assert wrong.why == "entries are missing that were sealed"


def test_a_page_of_another_record_book_is_found(shop):
    checkpoints.seal(shop.organisation, START)
    other = Checkpoint.objects.get(log=shop.organisation).note
    Checkpoint.objects.filter(log=shop.site).update(note=other)

    assert "another record book" in verify(Log.objects.get(uid=shop.site)).why


def test_a_page_sealed_with_a_strangers_key_is_found(shop):
    name, size = keys.origin(shop.site), Checkpoint.objects.get().size
    note = sign_note(checkpoint(name, edge_at(shop.site, size)), name, new_key())
    Checkpoint.objects.update(note=note)

    assert "not signed by a key of this service" in verify(Log.objects.get(uid=shop.site)).why


def test_whole_pages_are_read_the_quick_way(shop):
    for log in Log.objects.all():
        page = page_as_written(log.uid, -1, 100)
        assert page is not None
        assert page.size == log.size


def test_the_first_of_several_wrong_entries_is_named(shop):
    triggers.drop(connection)
    with connection.cursor() as cursor:
        cursor.execute("update fact set offset_min = 7 where seq >= 2")
    triggers.install(connection)
    wrong = verify(Log.objects.get(uid=shop.site))

    assert (wrong.seq, "offset_min" in wrong.why) == (2, True)
