"""The record book and the records over REST."""

import csv
import io
import json
import zipfile

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from protocols import checkpoint, tree
from stock import keys
from stock.models import Log
from tests.floor import Floor

pytestmark = pytest.mark.django_db(transaction=True)

PLACED = "2027-01-05T09:00:00+01:00"
SPAN = "from=2027-01-01T00:00:00Z&to=2027-02-01T00:00:00Z"


@pytest.fixture
def floor(client, settings, tmp_path):
    settings.TEST_CLOCK = True
    settings.KEYS = tmp_path
    return Floor.open(client, "2027-01-05T08:00:00+01:00", containers=2, kits=2)


@pytest.fixture
def files(floor):
    """The records after one batch was placed, moved and lost an animal; by file name."""
    batch = floor.place(10, "R1-01", "A-1", at=PLACED)
    floor.move(batch, "R1-02", "B-1", [10], at="2027-01-08T08:00:00+01:00")
    loss = {
        "batch": batch,
        "fate": "dead",
        "count": 1,
        "cause": ["=HYPERLINK(1)", "jump"],
        "certainty": "seen",
        "found_at": "2027-01-08T08:00:00+01:00",
    }
    floor.walk.post("losses", {"lines": [loss]})
    answer = floor.walk.send("GET", f"sites/{floor.walk.site}/records?{SPAN}")
    with zipfile.ZipFile(io.BytesIO(b"".join(answer.streaming_content))) as archive:
        return {name: archive.read(name).decode() for name in archive.namelist()}


def rows(text):
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_the_records_hold_stays_with_their_elapsed_hours(files):
    first, second = rows(files["stays.csv"])

    assert (first["container"], first["kit"], first["stay"]) == ("R1-01", "A-1", "71:00")
    assert (second["container"], second["ended_utc"]) == ("R1-02", "")


def test_the_sum_of_all_transfers_is_what_is_alive(files):
    moved = rows(files["transfers.csv"])

    came = sum(int(one["count"]) for one in moved if one["to_place"] == "alive")
    left = sum(int(one["count"]) for one in moved if one["from_place"] == "alive")
    assert came - left == 9


def test_no_cell_is_a_formula_and_the_rule_is_said(files):
    (lost,) = rows(files["losses.csv"])

    assert lost["cause"] == "'=HYPERLINK(1) / jump"
    assert "apostrophe" in files["README.txt"]


def test_the_same_span_gives_the_same_bytes(floor):
    path = f"sites/{floor.walk.site}/records?{SPAN}"

    once = b"".join(floor.walk.send("GET", path).streaming_content)
    again = b"".join(floor.walk.send("GET", path).streaming_content)

    assert once == again


@pytest.mark.parametrize(
    "span",
    ["", "from=2027-01-01T00:00:00Z", "from=2027-01-02T00:00:00Z&to=2027-01-01T00:00:00Z"],
)
def test_a_span_that_is_none_is_refused(floor, span):
    answer = floor.walk.send("GET", f"sites/{floor.walk.site}/records?{span}")

    assert (answer.status_code, json.loads(answer.content)["code"]) == (400, "unreadable")


def test_the_entries_of_the_record_book_hash_to_its_signed_root(floor):
    site = floor.walk.site
    page = floor.walk.get(f"sites/{site}/ledger")
    note = floor.walk.send("GET", f"sites/{site}/ledger/checkpoint").content.decode()

    leaves = [bytes.fromhex(one["leaf"]) for one in page["entries"]]
    log = Log.objects.get(uid=site)
    assert len(leaves) == page["size"] == log.size
    key: Ed25519PrivateKey = keys.private_key("checkpoint")
    name = keys.origin(log.uid)
    text = checkpoint.verify_note(note, checkpoint.vkey(name, key.public_key()))
    assert text == checkpoint.checkpoint(name, tree.edge_of(leaves))


def test_entries_come_a_page_at_a_time(floor):
    page = floor.walk.get(f"sites/{floor.walk.site}/ledger?after=1&limit=3")

    assert [one["seq"] for one in page["entries"]] == [2, 3, 4]


def test_a_keeper_does_not_take_the_record_book_away(floor):
    keeper = floor.walk.as_person("Ola", "keeper")

    answer = keeper.send("GET", f"sites/{floor.walk.site}/records?{SPAN}")

    assert answer.status_code == 403
