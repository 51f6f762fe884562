"""No page asks the database more than 8 times, for one row or for 500; none of them writes."""

from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from stock.models import (
    Balance,
    Batch,
    Certificate,
    Consignment,
    Container,
    DeviationRow,
    HoldRow,
    Kit,
    Line,
    Missing,
    Origin,
    Parked,
    StayRow,
    Task,
    Upkeep,
    writing_projections,
)
from tests.floor import Floor
from tests.visit import Visit

pytestmark = pytest.mark.django_db

PLACED = "2027-01-11T08:00:00+00:00"
NOW = "2027-01-11T10:00:00+00:00"
MANY = 500
MOST = 8
# Beside them it is worked out how many a container takes; who began a move and works here.
# Shift and Questions say what tablets hold, Shift which room is closed and who handed over;
# who hands over sees all of it.
MORE = {
    "place": 5,
    "move": 8,
    "emergency-move": 1,
    "batch": 8,
    "slip": 1,
    "shift": 4,
    "hand-over": 3,
    "questions": 4,
    "erasing": 2,
}


@pytest.fixture(scope="module")
def opened(kept_for_module):
    floor = Floor.open(
        Client(), "2027-01-11T07:00:00+00:00", zone="Europe/Lisbon", containers=2, kits=2
    )
    floor.receive(5, at="2027-01-11T07:30:00+00:00")
    batch = floor.place(16, "R1-01", "A-1", at=PLACED)
    walk = floor.walk.at(NOW)
    walk.post(f"batches/{batch}/signs", {"signs": ["white_spots"], "affected": 2})
    walk.post(f"batches/{batch}/holds", {"why": "Wait."})
    ends = {"from": floor.uids["R1-02"], "to": floor.uids["R1-01"]}
    walk.post("contacts", {**ends, "way": "tool", "thing": floor.pieces["A-1"][0]})
    walk.post(f"batches/{batch}/missing", {"count": 1})
    loss = {"batch": batch, "fate": "dead", "count": 99, "found_at": NOW, "cause": ["unknown"]}
    walk.post("losses", {"lines": [loss], "standing": "happened"})
    return floor


@pytest.fixture
def addresses(floor):
    """Every page that is looked at, by its name."""
    site, batch = floor.walk.site, Batch.objects.get()
    line = Line.objects.first()
    about = {
        "site": site,
        "batch": batch.uid,
        "consignment": line.consignment_id,
        "line": line.uid,
        "kit": floor.uids["A-1"],
        "container": floor.uids["R1-01"],
        "question": DeviationRow.objects.get(rule="sign_seen").uid,
        "report": Parked.objects.get().fact_id,
        "hold": HoldRow.objects.get().fact,
        "missing": Missing.objects.get().fact,
        "task": Task.objects.filter(what="move").first().uid,
    }
    return {name: reverse(name, args=[about[of]]) for name, of in PAGES.items()}


PAGES = {
    "shift": "site",
    "room": "site",
    "unpacking": "site",
    "kits": "site",
    "questions": "site",
    "certifiable": "site",
    "record-book": "site",
    "protocols": "site",
    "units": "site",
    "scan": "site",
    "tablets": "site",
    "own-sign-in": "site",
    "people": "site",
    "labels": "site",
    "paper": "site",
    "calls": "site",
    "add-address": "site",
    "close-rooms": "site",
    "call-settings": "site",
    "probes": "site",
    "send-probe-values": "site",
    "reckon": "site",
    "reckon-salt_mass_g": "site",
    "late-entries": "site",
    "reports": "site",
    "taking-away": "site",
    "traces": "site",
    "visits": "site",
    "erasing": "site",
    "webhooks": "site",
    "add-webhook": "site",
    "place-legal-hold": "site",
    "tell-contact": "site",
    "make-round": "site",
    "feed": "site",
    "hand-over": "site",
    "touched": "site",
    "send-list": "site",
    "disinfect": "site",
    "see-dry": "site",
    "find-wet": "site",
    "fit-piece": "site",
    "mark-defective": "site",
    "tell-make": "site",
    "tell-fill": "site",
    "tell-salt": "site",
    "consignment": "consignment",
    "deliver": "consignment",
    "place": "consignment",
    "count-line": "line",
    "batch": "batch",
    "history": "batch",
    "move": "batch",
    "emergency-move": "batch",
    "split": "batch",
    "join": "batch",
    "carry-over": "batch",
    "where-from": "batch",
    "treatments": "batch",
    "loss": "batch",
    "count-batch": "batch",
    "sign": "batch",
    "exposures": "batch",
    "hold": "batch",
    "lift-hold": "hold",
    "found": "missing",
    "presume-lost": "missing",
    "kit": "kit",
    "container": "container",
    "read-water": "container",
    "give": "container",
    "incident": "container",
    "neighbours": "container",
    "withdraw-question": "question",
    "hand-back": "task",
    "slip": "task",
    "settle": "report",
}


@pytest.fixture
def visit(floor):
    return Visit.by(floor.walk.person, NOW)


@pytest.fixture
def crowd(floor):
    """500 more of everything, each in a container of its own."""
    with writing_projections():
        containers = copied(Container.objects.get(label="R1-01"), label=True, code=True)
        kits = copied(Kit.objects.get(label="A-1"), label=True, code=True)
        for what, sample in (("container", containers), ("kit", kits)):
            Upkeep.objects.bulk_create(
                Upkeep(subject=one.uid, site_id=floor.walk.site, what=what, state="ready")
                for one in sample
            )
        batches = copied(Batch.objects.get(), code=True)
        consignments = copied(Consignment.objects.first())
        lines = copied(Line.objects.first(), consignment=consignments)
        copied(StayRow.objects.get(), batch=batches, container=containers, kit=kits)
        copied(Origin.objects.first(), batch=batches, line=lines)
        copied(DeviationRow.objects.get(rule="sign_seen"), batch=batches)
        copied(HoldRow.objects.get(), batch=batches)
        Balance.objects.bulk_create(
            Balance(holder=one.uid, place="alive", n=16) for one in batches
        )
    tasks = copied(Task.objects.filter(what="move").first(), key=True)
    for task, batch in zip(tasks, batches, strict=True):
        task.batch = batch.uid
    Task.objects.bulk_update(tasks, ["batch"])


def copied(sample, **differs):
    """500 rows like this one, under names of their own."""
    model = type(sample)
    columns = {
        field.attname: getattr(sample, field.attname) for field in model._meta.concrete_fields
    }
    key = model._meta.pk.attname
    rows = []
    for n in range(MANY):
        changed = {
            name: value[n] if isinstance(value, list) else f"{name}-{n}"
            for name, value in differs.items()
        }
        own = {} if key == "id" else {key: uuid4()}
        kept = {name: value for name, value in columns.items() if name != "id"}
        for name in changed:
            kept.pop(f"{name}_id", None)
        fact = {"fact": uuid4()} if "fact" in kept and key != "fact" else {}
        cause = {"cause": uuid4()} if "cause" in kept else {}
        rows.append(model(**{**kept, **own, **fact, **cause, **changed}))
    return model.objects.bulk_create(rows)


def asked(visit, address):
    """The queries of one look at a page."""
    with CaptureQueriesContext(
        connection,
    ) as queries:
        answer = visit.client.get(address, headers={"Fillmark-Now": NOW})
    assert answer.status_code == 200, answer.content[:300]
    return [one["sql"] for one in queries]


def within(numbers):
    return all(number <= MOST + MORE.get(name, 0) for name, number in numbers.items())


def over(numbers):
    return {name: n for name, n in numbers.items() if not within({name: n})}


def test_one_row_takes_few_queries(visit, addresses):
    numbers = {name: len(asked(visit, address)) for name, address in addresses.items()}

    assert within(numbers), over(numbers)


def test_500_rows_take_as_few(visit, addresses, crowd):
    numbers = {name: len(asked(visit, address)) for name, address in addresses.items()}

    assert within(numbers), over(numbers)
    assert Batch.objects.count() == MANY + 1


def test_looking_changes_nothing(visit, addresses):
    said = [sql for address in addresses.values() for sql in asked(visit, address)]

    assert [sql for sql in said if not sql.lstrip("(").startswith("SELECT")] == []


def test_a_late_move_takes_one_more_to_know_who_works_here(visit, addresses):
    late = addresses["move"].replace("/move", "/late-move")

    assert len(asked(visit, late)) <= MOST + 1


def test_what_answers_to_a_question_would_do_is_judged_in_a_fixed_number(visit, crowd):
    """Each answer is judged in memory, from what is read once."""
    row = DeviationRow.objects.get(rule="sign_seen", batch__code__regex="^[^c]")

    assert len(asked(visit, reverse("question", args=[row.uid]))) <= 30


def test_a_check_of_a_certificate_is_judged_afresh_in_a_fixed_number(visit, floor, crowd):
    """The one page that trusts nothing that is kept."""
    address = reverse("certificate-check", args=[Batch.objects.get(code__regex="^[^c]").uid])

    assert len(asked(visit, address)) <= 30
    assert not Certificate.objects.exists()
