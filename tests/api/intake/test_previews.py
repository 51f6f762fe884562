"""Packing lists looked through: everything is told and nothing is entered."""

import hashlib
import stat

from stock.files import path_of
from stock.models import Consignment, Fact, StoredFile
from tests.api.intake.lists import PLAIN


def test_a_preview_shows_every_line_and_enters_nothing(walk, preview):
    listing = preview(PLAIN)

    assert [(line["box"], line["text"], line["listed"]) for line in listing["lines"]] == [
        ("1", "Gramma loreto", 15),
        ("2", "Chromis viridis", 5),
    ]
    assert (listing["waybill"], listing["listed"]) == ("999-1", 20)
    assert listing["understood"]["separator"] == ","
    assert listing["may_be_applied"] is True
    assert "existing" not in listing
    assert not Consignment.objects.exists()
    assert not Fact.objects.filter(kind="list_applied").exists()


def test_the_original_is_kept_for_the_service_alone(preview):
    listing = preview(PLAIN)

    original = path_of(listing["sha256"])
    assert hashlib.sha256(original.read_bytes()).hexdigest() == listing["sha256"]
    assert stat.S_IMODE(original.stat().st_mode) == 0o600
    assert stat.S_IMODE(original.parent.stat().st_mode) == 0o700
    stored = StoredFile.objects.get()
    assert (stored.sha256, stored.kind, stored.name) == (listing["sha256"], "csv", "list.csv")


def test_the_same_file_sent_again_is_the_same_import(send):
    first, again = send(PLAIN), send(PLAIN, "copy.csv")

    assert (first.status_code, again.status_code) == (201, 200)
    assert first.json()["import"]["uid"] == again.json()["import"]["uid"]
    assert StoredFile.objects.count() == 1


def test_every_problem_of_a_row_is_told_at_its_column(preview):
    listing = preview("Box,Species,Qty,Price\n1,Gramma loreto,x,1\n2,,5,1\n3,Goby,4,dear\n")

    told = [(one["row"], one["column"], one["code"]) for one in listing["problems"]]
    assert told == [
        (2, "Qty", "unreadable"),
        (3, "Species", "missing"),
        (4, "Price", "unreadable"),
    ]
    assert listing["may_be_applied"] is False


def test_a_list_is_matched_with_species_that_one_name_means(walk, preview):
    body = {"scientific_name": "Gramma loreto", "trade_names": ["Royal gramma"]}
    species = walk.post("species", body)["species"]["uid"]

    lines = preview("Species,Qty\nRoyal gramma,5\nRoyal grama,5\n")["lines"]

    assert (lines[0]["species"], lines[0]["candidates"]) == (species, [])
    assert lines[1]["species"] is None
    assert lines[1]["candidates"][0]["species"] == species


def test_a_preview_can_be_read_again(walk, preview):
    listing = preview(PLAIN)

    assert walk.get(f"imports/{listing['uid']}")["import"] == listing
