"""What stands once stands once: labels, roles, questions, ledger positions, certificates."""

from uuid import uuid4

import pytest
from django.db import IntegrityError

from stock.models import (
    Answer,
    Certificate,
    Container,
    DeviationRow,
    Fact,
    Instrument,
    Kit,
    Piece,
    Rack,
    Role,
    Room,
    Site,
    System,
    Task,
    writing_projections,
)
from tests.make import START, make, make_batch, make_container, make_rack, make_shop
from tests.stock.raw import change, copy, twice

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop():
    return make_shop()


@pytest.fixture
def batch(shop):
    return make_batch(shop, 20)


def test_a_ledger_position_is_taken_once(shop):
    newest = Fact.objects.filter(log=shop.site).latest("seq")

    with pytest.raises(IntegrityError, match=twice("seq")):
        copy(newest, uid=uuid4())


def test_a_fact_is_entered_once(shop):
    newest = Fact.objects.filter(log=shop.site).latest("seq")

    with pytest.raises(IntegrityError, match=twice("uid")):
        copy(newest, seq=newest.seq + 1)


@pytest.mark.parametrize(
    ("sort", "model", "body", "changes"),
    [
        ("rooms", Room, {"light_on": "08:00", "light_off": "20:00"}, {}),
        ("systems", System, {"status": "clean"}, {}),
        ("kits", Kit, {"needs": []}, {"code": "another"}),
        ("pieces", Piece, {"type": "heater", "single_use": False}, {"code": "another"}),
        ("instruments", Instrument, {"quantities": ["salinity"]}, {"code": "another"}),
    ],
)
def test_a_label_is_on_one_thing_of_its_sort(shop, sort, model, body, changes):
    uid = make(shop, sort, "X-1", **body)

    with pytest.raises(IntegrityError, match=twice("label")):
        copy(model.objects.get(uid=uid), uid=uuid4(), **changes)


def test_a_label_is_on_one_rack(shop):
    rack = Rack.objects.get(uid=make_rack(shop, "R1"))

    with pytest.raises(IntegrityError, match=twice("label")):
        copy(rack, uid=uuid4())


@pytest.mark.parametrize(
    ("same", "changes"), [("label", {"code": "another"}), ("code", {"label": "R1-02"})]
)
def test_neither_label_nor_code_is_on_two_containers(shop, same, changes):
    container = Container.objects.get(uid=make_container(shop, "R1-01"))

    with pytest.raises(IntegrityError, match=twice(same)):
        copy(container, uid=uuid4(), **changes)


def test_another_site_may_use_the_same_label(shop):
    room = Room.objects.get(uid=make(shop, "rooms", "X", light_on="08:00", light_off="20:00"))

    copy(room, uid=uuid4(), site=make_shop().site)

    assert Room.objects.filter(label="X").count() == 2


def test_a_role_is_held_once(shop):
    with pytest.raises(IntegrityError, match=twice("role")):
        copy(Role.objects.get(site=shop.site))


def test_a_deviation_is_asked_once(batch):
    with pytest.raises(IntegrityError, match=twice("cause")):
        copy(DeviationRow.objects.filter(batch=batch).first(), uid=uuid4())


def test_a_request_key_is_answered_once(batch):
    with pytest.raises(IntegrityError, match=twice("key")):
        copy(Answer.objects.first())


@pytest.fixture
def task(shop):
    return Task.objects.create(
        uid=uuid4(), site_id=shop.site, key="move:x", what="move", made_at=START
    )


def test_a_piece_of_work_is_open_once(task):
    with pytest.raises(IntegrityError, match=twice("key")):
        copy(task, uid=uuid4(), state="taken")


def test_a_piece_of_work_that_is_done_may_come_again(task):
    copy(task, uid=uuid4(), state="done")

    assert Task.objects.filter(key="move:x").count() == 2


# -- Certificates ----------------------------------------------------------------------------


@pytest.fixture
def certificate(shop, batch):
    """A standing certificate of the batch; what it says is not the matter here."""
    site = Site.objects.get(uid=shop.site)
    with writing_projections():
        return Certificate.objects.create(
            uid=uuid4(),
            version=1,
            site=site,
            organisation_id=site.organisation_id,
            batch_id=batch,
            number="C-2027-0041",
            year=2027,
            counter=41,
            count=20,
            issued_at=START,
            token_sha256="a" * 64,
            revocation_index=1,
            suspension_index=1,
        )


ANOTHER = {
    "counter": 42,
    "token_sha256": "b" * 64,
    "revocation_index": 2,
    "suspension_index": 2,
}


@pytest.mark.parametrize(
    "same", ["counter", "token_sha256", "revocation_index", "suspension_index"]
)
def test_neither_number_nor_token_nor_status_is_used_twice(shop, certificate, same):
    changes = {name: value for name, value in ANOTHER.items() if name != same}

    with pytest.raises(IntegrityError, match=twice(same)):
        copy(certificate, uid=uuid4(), batch=make_batch(shop, 5), **changes)


def test_a_batch_has_one_standing_certificate(certificate):
    with pytest.raises(IntegrityError, match=twice("batch_id")):
        copy(certificate, uid=uuid4(), **ANOTHER)


def test_after_a_revoked_one_a_batch_may_have_another_certificate(certificate):
    change(certificate, state="revoked")

    copy(certificate, uid=uuid4(), **ANOTHER)

    assert Certificate.objects.count() == 2
