"""A shop with a supplier and a species: what deliveries and packing lists start from."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from stock import clock
from stock.doors.people import NewPerson, Place, make_organisation
from tests.api.intake.lists import NINE
from tests.walk import Problem, Walk


@pytest.fixture
def walk(transactional_db, client, settings, tmp_path):
    settings.TEST_CLOCK = True
    settings.DATA = tmp_path
    return Walk.begin(client, NINE)


@pytest.fixture
def supplier(walk):
    terms = {"doa": 7200, "short": 86_400}
    body = {"name": "Sample Atoll Aquatics", "claim_terms": terms}
    return walk.post("suppliers", body)["supplier"]["uid"]


@pytest.fixture
def species(walk):
    return walk.post("species", {"scientific_name": "Gramma loreto"})["species"]["uid"]


@pytest.fixture
def consignments(walk):
    return f"sites/{walk.site}/consignments"


@pytest.fixture
def enter(walk, supplier, species, consignments):
    """Enter a small delivery with one line; the consignment."""

    def enter(listed=20, **more):
        line = {"species": species, "listed": listed, **more.pop("line", {})}
        body = {"supplier": supplier, "lines": [line], **more}
        return walk.post(consignments, body)["consignment"]

    return enter


@pytest.fixture
def send(walk, supplier):
    """Upload a packing list; the raw answer."""

    def send(content, name="list.csv", *, by=walk, **fields):
        data = content if isinstance(content, bytes) else content.encode()
        form = {"supplier": supplier, "file": SimpleUploadedFile(name, data), **fields}
        headers = {"Fillmark-Now": by.now, "Authorization": f"Bearer {by.token}"}
        return by.client.post(f"/api/v1/sites/{walk.site}/imports", form, headers=headers)

    return send


@pytest.fixture
def preview(send):
    """Upload a packing list; the import."""

    def preview(content, name="list.csv", **fields):
        answer = send(content, name, **fields)
        if answer.status_code >= 400:
            raise Problem(answer.status_code, answer.json())
        return answer.json()["import"]

    return preview


@pytest.fixture
def attach(walk):
    """Upload a document; the raw answer."""

    def attach(content, name="photo.jpg", *, by=walk, site=walk.site):
        headers = {"Fillmark-Now": by.now, "Authorization": f"Bearer {by.token}"}
        form = {"file": SimpleUploadedFile(name, content)}
        return by.client.post(f"/api/v1/sites/{site}/files", form, headers=headers)

    return attach


@pytest.fixture
def stranger(walk, client):
    """Somebody with an organisation of their own."""
    boss = NewPerson("Ines", "ines@example.org", "correct horse")
    made = make_organisation(
        name="Elsewhere", person=boss, site=Place("Yard", "Europe/Lisbon"), at=clock.now()
    ).body
    return Walk(
        client, walk.now, made["token"], made["site"]["uid"], made["organisation"]["uid"]
    )
