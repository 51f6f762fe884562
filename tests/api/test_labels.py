"""Labels: what stands on them, on which paper, and that the code is that of the thing."""

import io
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np
import pytest
import segno
from django.test import Client

from api.exports.labels import FORMATS, Label, write_labels
from api.pages.label_words import Saying, labels
from protocols.hazards import Hazard
from protocols.units import Units
from stock.models import Batch, Container, Line
from stock.queries.labels import labels_of
from tests.floor import Floor
from tests.pdf import code_drawn, pages
from tests.visit import Visit, words

pytestmark = pytest.mark.django_db

NOW = datetime(2027, 1, 11, 10, tzinfo=UTC)


@pytest.fixture(scope="module")
def opened(kept_for_module):
    floor = Floor.open(
        Client(), "2027-01-11T07:00:00+00:00", zone="Europe/Lisbon", containers=3, kits=2
    )
    lionfish = {"scientific_name": "Pterois volitans", "groups": [], "trade_names": []}
    floor.species = floor.walk.post("species", lionfish)["species"]["uid"]
    floor.place(16, "R1-01", "A-1", at="2027-01-11T08:00:00+00:00")
    return floor


@pytest.fixture
def visit(floor):
    return Visit.by(floor.walk.person, NOW.isoformat())


def printed(floor, what, of=None):
    said = Saying(ZoneInfo("Europe/Lisbon"), NOW, Units({}), "https://shop.example")
    return labels(labels_of(floor.walk.site, what, of=of, at=NOW), said)


def test_a_container_bears_its_label_as_painted_and_its_code_in_letters(floor):
    first = printed(floor, "container")[0]

    assert first.title == "R1-01"
    assert first.code == Container.objects.get(label="R1-01").code
    assert first.scanned == first.code.replace("-", "")
    assert first.lines == ("Rack R1, Hall", "To the mark 60 L")


def test_a_batch_says_its_limit_what_hurts_and_that_it_is_not_for_sale(floor):
    (batch,) = printed(floor, "batch")

    assert batch.title == "Pterois volitans"
    assert batch.large == "Limit Thu 14 Jan 08:00 WET"
    assert batch.band == "NOT FOR SALE"
    assert batch.marks == ((Hazard.VENOM, "Venom"), (Hazard.SPINES, "Spines"))
    assert "16" not in " ".join(batch.lines), "who counts is not told the number"


def test_a_certified_batch_may_be_sold_and_its_bags_lead_to_the_certificate(floor):
    from stock.models import Certificate, CertificateText, writing_projections

    batch = Batch.objects.get()
    names = ("revocation_index", "suspension_index", "counter", "year", "count")
    with writing_projections():
        certificate = Certificate.objects.create(
            uid=batch.uid,
            version=1,
            site=batch.site,
            organisation_id=batch.site.organisation_id,
            batch=batch,
            number="2027-0001",
            issued_at=NOW,
            token_sha256="0" * 64,
            **dict.fromkeys(names, 1),
        )
    address = "ab" * 16
    CertificateText.objects.create(certificate=certificate.uid, address=address, token="")

    assert printed(floor, "batch")[0].band == ""
    (bag,) = printed(floor, "sold")
    assert (bag.title, bag.code) == ("Pterois volitans", "2027-0001")
    assert bag.scanned == f"HTTPS://SHOP.EXAMPLE/C/{address.upper()}"


def test_labels_are_narrowed_to_what_belongs_to_a_thing(floor):
    kit, consignment = floor.uids["A-1"], Line.objects.first().consignment_id

    assert {one.lines[1] for one in printed(floor, "piece", of=kit)} == {"Kit A-1"}
    assert len(printed(floor, "bag", of=consignment)) == 1
    assert printed(floor, "container", of=kit) == []


@pytest.mark.parametrize(("paper", "number"), [("a4-24", 2), ("a4-14", 3), ("roll-57", 25)])
def test_labels_lie_on_their_paper_and_leave_out_used_places(paper, number):
    file = io.BytesIO()
    some = [Label(f"R1-{n}", "RSYW-C6T1", "RSYWC6T1") for n in range(25)]

    write_labels(some, FORMATS[paper], file, title="Labels", skip=4)

    assert len(pages(file.getvalue())) == number


def test_the_code_on_paper_is_that_of_the_thing():
    file = io.BytesIO()
    label = Label("R1-01", "RSYW-C6T1", "RSYWC6T1")
    write_labels([label], FORMATS["roll-57"], file, title="Labels")

    drawn = code_drawn(pages(file.getvalue())[0], scale=1)

    expected = np.array([bytearray(row) for row in segno.make("RSYWC6T1", error="h").matrix])
    shown = np.frombuffer(drawn.grey, np.uint8).reshape(drawn.height, drawn.width)
    assert (shown[4:-4, 4:-4] == 0).tolist() == (expected == 1).tolist()
    assert segno.make("RSYWC6T1", error="h").version == 1, "large modules read when wet"


def test_a_page_offers_them_and_answers_with_a_pdf(visit, floor):
    site = floor.walk.site
    offered = visit.read("labels", site, query="?what=kit")
    made = visit.get("labels", site, query="?what=kit&paper=roll-62&copies=2")

    assert "A4 sheet, 24 labels" in offered
    assert made["Content-Type"] == "application/pdf"
    assert len(pages(made.content)) == 4


@pytest.mark.parametrize(
    ("query", "status", "said"),
    [
        ("what=cow&paper=a4-24", 400, "Put right"),
        ("what=kit&paper=a4-24&skip=24", 400, "A sheet has 24 labels"),
        ("what=kit&paper=a4-24&copies=41", 400, "At most 40"),
        ("what=sold&paper=a4-24", 404, "Nothing to print"),
    ],
)
def test_what_cannot_be_printed_is_said(visit, floor, query, status, said):
    answer = visit.get("labels", floor.walk.site, query=f"?{query}")

    assert answer.status_code == status
    assert said in words(answer)


def test_over_rest_it_is_the_same_file(floor):
    walk = floor.walk
    path = f"sites/{walk.site}/labels?what=kit&paper=roll-57"
    answer = walk.send("GET", path)

    assert answer.content.startswith(b"%PDF-")
    assert walk.send("GET", f"{path}&copies=0").json()["reasons"][0]["pointer"] == "/copies"
