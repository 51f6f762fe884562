"""Every page, for nobody, for a stranger and for every role: generated from the routes."""

import re
from uuid import UUID

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from api.pages.routes import urlpatterns
from stock.models import (
    Batch,
    Certificate,
    Consignment,
    Container,
    DeviationRow,
    Device,
    Export,
    Fact,
    HoldRow,
    Import,
    Kit,
    Line,
    Make,
    Missing,
    PaperSheet,
    Parked,
    Room,
    System,
    Task,
    Trace,
    Webhook,
    writing_projections,
)
from tests.floor import Floor
from tests.make import make_person, make_shop
from tests.visit import Visit

pytestmark = pytest.mark.django_db

NOW = "2027-01-11T10:00:00+00:00"
# Before anybody is known: sign-in, the language, and a tablet that asks who is there.
OPEN_TO_ALL = ("sign-", "first-run", "language", "tablet/")
ROUTES = {
    one.name: str(one.pattern)
    for one in urlpatterns
    if str(one.pattern) not in ("", "tablet") and not str(one.pattern).startswith(OPEN_TO_ALL)
}
# What each address names by its first word.
TABLES = {
    "consignments": (Consignment, "uid"),
    "packing-lists": (Import, "uid"),
    "lines": (Line, "uid"),
    "batches": (Batch, "uid"),
    "holds": (HoldRow, "fact"),
    "missing": (Missing, "fact"),
    "tasks": (Task, "uid"),
    "makes": (Make, "uid"),
    "systems": (System, "uid"),
    "kits": (Kit, "uid"),
    "containers": (Container, "uid"),
    "questions": (DeviationRow, "uid"),
    "reports": (Parked, "fact_id"),
    "certificates": (Certificate, "uid"),
    "tablets": (Device, "uid"),
    "rooms": (Room, "uid"),
    "paper": (PaperSheet, "uid"),
    "records": (Export, "uid"),
    "traces": (Trace, "uid"),
    "webhooks": (Webhook, "uid"),
}
# What has no row of its own is named by the fact that began it.
BEGUN = {
    "visits": ("visit_opened", "visit"),
    "legal-holds": ("legal_hold_placed", "legal_hold"),
}
EMPTY_LIST: dict[str, object] = {
    "understood": {},
    "lines": [],
    "problems": [],
    "questions": [],
    "notes": [],
    "settings": {},
    "waybill": None,
    "arrives": None,
    "listed": 0,
    "may_be_applied": False,
}
MADE = {
    "vat": "V1",
    "salt_lot": "L1",
    "volume_l": "200",
    "salinity": "33",
    "temperature_c": "26",
    "total_chlorine_mg_l": "0",
}
HOOK = {
    "label": "Shop program",
    "address": "https://example.org/events",
    "kinds": ["hold.placed"],
}
VISIT = {
    "visitor": "Ansel",
    "authority": "Coast office",
    "reports": ["water"],
    "batches": [],
    "hours": 4,
}
NOBODY = UUID("01890000-0000-7000-8000-000000000000")
METHODS = ("get", "post")
# How a question begins; a long report comes through a cursor, which only reads.
QUESTIONS = ("SELECT", "DECLARE")
# In which units somebody reads, how they sign in and where they are called, is theirs alone.
THEIR_OWN = {
    *("units", "own-sign-in", "second-factor"),
    *("read-calls", "make-calendar", "end-calendar"),
    *("add-address", "test-address", "remove-address"),
}
# What is asked of the record book changes nothing in it.
READERS_TOO = {"traces", "taking-away"}


@pytest.fixture(scope="module")
def opened(kept_for_module):
    floor = Floor.open(
        Client(), "2027-01-11T07:00:00+00:00", zone="Europe/Lisbon", containers=2, kits=2
    )
    batch = floor.place(16, "R1-01", "A-1", at="2027-01-11T08:00:00+00:00")
    walk = floor.walk.at(NOW)
    walk.post(f"sites/{walk.site}/systems", {"label": "Left", "status": "unknown"})
    walk.post(f"sites/{walk.site}/makes", MADE)
    walk.post(f"sites/{walk.site}/devices", {"label": "Tablet 1"})
    walk.post(f"batches/{batch}/signs", {"signs": ["white_spots"], "affected": 2})
    walk.post(f"batches/{batch}/holds", {"why": "Wait."})
    walk.post(f"batches/{batch}/missing", {"count": 1})
    loss = {"batch": batch, "fate": "dead", "count": 99, "found_at": NOW, "cause": ["unknown"]}
    walk.post("losses", {"lines": [loss], "standing": "happened"})
    here = f"sites/{walk.site}"
    span = {"from": "2027-01-10T10:00:00+00:00", "to": NOW}
    walk.post(f"{here}/traces", {"of": batch, "direction": "forward"})
    walk.post(f"{here}/exports", span)
    walk.post(f"{here}/webhooks", HOOK)
    walk.post(f"{here}/visits", {**VISIT, **span})
    walk.post(f"{here}/legal-holds", {"batches": [batch], "reason": "A court asks for it."})
    Import.objects.create(
        uid=UUID(int=1),
        site=walk.site,
        supplier=floor.supplier,
        sha256="0" * 64,
        read=EMPTY_LIST,
        made_at=NOW,
    )
    PaperSheet.objects.create(
        uid=UUID(int=3), site=walk.site, code="P-1", made_at=NOW, lines=[], photos=[]
    )
    with writing_projections():
        Certificate.objects.create(
            uid=UUID(int=2),
            version=1,
            site_id=walk.site,
            organisation_id=walk.organisation,
            batch_id=batch,
            number="C-2027-0001",
            year=2027,
            counter=1,
            count=16,
            issued_at=NOW,
            token_sha256="0" * 64,
            revocation_index=1,
            suspension_index=1,
        )
    return floor


def address(pattern, uid=None):
    """An address of the route, naming something of the floor, or what is told."""
    first = pattern.split("/")[0]
    uid = uid or named(first)
    pattern = re.sub(r"<uuid:\w+>", str(uid), pattern).replace("<slug:name>", "intervals")
    return "/" + re.sub(r"<int:\w+>", "1", pattern)


def named(first):
    if first == "sites":
        return Batch.objects.get().site_id
    if first in BEGUN:
        kind, name = BEGUN[first]
        return Fact.objects.get(kind=kind).body[name]
    table, column = TABLES[first]
    return getattr(table.objects.first(), column)


def answers(client, uid=None, methods=METHODS):
    """The status of every route by both methods; a route that knows one only says 405."""
    # Named before the first is pressed: some of them take away what others name.
    addresses = {name: address(pattern, uid) for name, pattern in ROUTES.items()}
    return {
        (name, method): getattr(client, method)(
            addresses[name], headers={"Fillmark-Now": NOW}
        ).status_code
        for name in ROUTES
        for method in methods
    }


def test_nobody_is_led_to_sign_in(floor):
    statuses = answers(Client())

    assert {pair: one for pair, one in statuses.items() if one != 302} == {}


def test_a_stranger_finds_nothing_that_is_not_theirs(floor):
    stranger = make_shop().manager

    statuses = answers(Visit.by(str(stranger.uid), NOW).client)

    assert {pair: one for pair, one in statuses.items() if one not in (404, 405)} == {}


def test_what_is_not_there_is_answered_like_what_is_not_theirs(floor):
    statuses = answers(Visit.by(floor.walk.person, NOW).client, NOBODY)

    assert {pair: one for pair, one in statuses.items() if one not in (404, 405)} == {}


@pytest.mark.parametrize("role", ["keeper", "manager", "veterinarian", "auditor"])
def test_no_role_meets_an_error(floor, role):
    person = floor.walk.as_person("Kim", role)

    statuses = answers(Visit.by(person.person, NOW).client)

    assert max(statuses.values()) < 500
    assert {statuses[name, "get"] for name in ("shift", "room", "batch", "questions")} == {200}


def test_looking_at_any_page_writes_nothing(floor):
    manager = Visit.by(floor.walk.person, NOW).client

    with CaptureQueriesContext(connection) as queries:
        answers(manager, methods=["get"])

    said = [one["sql"] for one in queries]
    assert [sql for sql in said if not sql.lstrip("(").startswith(QUESTIONS)] == []


def test_an_auditor_changes_nothing(floor):
    person = floor.walk.as_person("Otto", "auditor")

    statuses = answers(Visit.by(person.person, NOW).client)

    posted = {name: one for (name, method), one in statuses.items() if method == "post"}
    assert {name for name, one in posted.items() if one not in (403, 405)} == (
        THEIR_OWN | READERS_TOO
    )


def test_a_person_without_any_role_is_told_so(floor):
    shop = make_shop()
    person = make_person(shop, "Gone", "keeper")
    with writing_projections():
        person.roles.all().delete()

    answer = Visit.by(str(person.uid), NOW).client.get("/")

    assert b"You have no role at any site" in answer.content
