"""The record book keeps its bytes, and the database itself refuses to change them."""

import base64

import pytest
from django.db import DatabaseError, connection, transaction

from protocols import tree
from stock import checkpoints, rebuild, triggers
from stock.doors.doses import give_dose
from stock.models import Checkpoint, Fact, FactText, Log, Room
from stock.verify import verify
from tests.make import START, asking, make, make_container, make_shop

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.mark.parametrize("change", ["update fact set kind = 'x'", "delete from fact"])
def test_facts_cannot_be_changed_even_by_raw_sql(change):
    make_shop()

    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        connection.cursor().execute(change)


def test_the_kept_edge_is_the_tree_over_all_leaves():
    shop = make_shop()
    make_container(shop)

    log = Log.objects.get(uid=shop.site)
    leaves = [
        bytes(leaf) for leaf in Fact.objects.filter(log=log).values_list("leaf", flat=True)
    ]
    assert tree.edge_of(leaves).to_text() == log.edge
    assert len(leaves) == log.size


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ("update fact set kind = 'room_set' where seq = 2", "kind"),
        ("update fact set entry = leaf where seq = 2", "not the one that was hashed"),
        ("delete from fact where seq = 2", "missing"),
        ("update fact set offset_min = 7 where seq = 2", "offset_min"),
        ("update fact set reason = 'none' where seq = 2", "reason"),
        ("update fact set doer = messenger, messenger = log where seq = 2", "messenger"),
        ("update fact set files = '[1]' where seq = 2", "files"),
        ("update fact set raw_at = recorded_at where seq = 2", "raw_at"),
    ],
)
def test_verify_names_the_first_wrong_entry(change, why):
    shop = make_shop()
    make_container(shop)
    triggers.drop(connection)
    connection.cursor().execute("delete from fact_subject")
    connection.cursor().execute(change)
    triggers.install(connection)

    wrong = verify(Log.objects.get(uid=shop.site))

    assert wrong is not None
    assert wrong.seq == 2
    assert why in wrong.why


def test_every_trigger_is_there_after_a_migration():
    assert triggers.missing(connection) == []


def test_a_projection_cannot_be_written_past_the_facts():
    shop = make_shop()
    make(shop, "rooms", "Hall", light_on="08:00", light_off="20:00")

    with pytest.raises(TypeError, match="apply"):
        Room.objects.update(label="Cellar")


def test_a_rebuild_gives_the_same_rows():
    shop = make_shop()
    make_container(shop)

    assert rebuild.check(START) == []
    rebuild.rebuild(START)
    assert rebuild.check(START) == []


def test_a_row_changed_past_the_facts_is_found_by_a_rebuild():
    shop = make_shop()
    make(shop, "rooms", "Hall", light_on="08:00", light_off="20:00")
    connection.cursor().execute("update room set light_on = '03:00'")

    assert rebuild.check(START) == ["room"]


def test_verify_finds_a_note_that_was_changed_but_not_one_that_was_erased():
    shop = make_shop()
    dose = {"product": "iodine", "amount": "1", "unit": "mL"}
    asked = asking(shop.manager, START, note="by the door")
    give_dose(asked, container=make_container(shop), body=dose)
    log = Log.objects.get(uid=shop.site)
    note = FactText.objects.filter(fact__log=log).last()
    assert verify(log) is None
    FactText.objects.filter(pk=note.pk).update(value="by the window")
    wrong = verify(log)
    assert (wrong.seq, "text" in wrong.why) == (note.fact.seq, True)
    FactText.objects.filter(pk=note.pk).delete()
    assert verify(log) is None


def test_verify_holds_the_book_against_every_page_that_was_sealed():
    shop = make_shop()
    make_container(shop)
    checkpoints.seal(shop.site, START)
    log = Log.objects.get(uid=shop.site)
    assert verify(log) is None
    page = Checkpoint.objects.get(log=log)
    other = tree.append(tree.Edge(), tree.leaf_hash(b"another"))
    root = base64.b64encode(tree.root(other)).decode()
    Checkpoint.objects.update(note=page.note.replace(page.note.split("\n")[2], root))
    assert "another root" in verify(log).why
