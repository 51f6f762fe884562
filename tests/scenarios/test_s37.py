"""S-37: the session ended while the tablet was without network."""

import pytest
from django.test import Client

from stock.models import EntryOfDevice, Fact
from tests.floor import Floor
from tests.tablet import Tablet
from tests.visit import Visit

ONLINE, LATER = "2027-01-14T20:31:00+00:00", "2027-01-14T20:40:00+00:00"
PRESSED = [f"2027-01-14T{hour}:00:00+00:00" for hour in (14, 15, 16, 17)]


@pytest.fixture(scope="module")
def opened(kept_for_module):
    floor = Floor.open(
        Client(), "2027-01-13T07:00:00+00:00", zone="Europe/Lisbon", containers=1, kits=1
    )
    floor.uids["batch"] = floor.place(16, "R1-01", "A-1", at="2027-01-13T08:00:00+00:00")
    floor.uids["Ada"] = floor.walk.as_person("Ada", "keeper").person
    floor.uids["tablet"] = Tablet.of(floor).uid
    return floor


def replay(floor, at, **more):
    """Every entry once more, in order; what each is answered."""
    tablet = Tablet(floor.uids["tablet"])
    told = {"count": "1", "fate": "dead", "cause": "unknown", "by": floor.uids["Ada"], "at": at}
    return [
        tablet.send("loss", floor.uids["batch"], pressed=pressed, **told, **more)
        for pressed in PRESSED
    ]


def losses():
    return Fact.objects.filter(kind="loss_recorded").order_by("seq")


def test_s37_four_entries_wait_for_the_sign_in_of_the_same_person(floor):
    boss = Visit.by(floor.walk.person, LATER)
    stale = Client(enforce_csrf_checks=True)
    stale.cookies = Visit.by(floor.walk.person, ONLINE).client.cookies

    # S-37.2: a token from before the sign-in is no answer that ends anything.
    assert {one["answer"] for one in replay(floor, ONLINE, client=stale)} == {"later"}
    # S-37.1, S-37.3: nothing is dropped, nothing is stored as somebody else's.
    for _ in range(3):
        answers = replay(floor, ONLINE, signed_in=floor.walk.person)
        assert {(one["answer"], one["who"]["name"]) for one in answers} == {("sign_in", "Ada")}
    assert not losses().exists()
    # S-37.4: after three tries the others are told.
    held = "Tablet 3 holds 4 entries since Thu 14 Jan 2027 14:00"
    assert held in boss.read("shift", floor.walk.site)
    assert held in boss.read("questions", floor.walk.site)
    notices = floor.walk.at(LATER).get(f"sites/{floor.walk.site}/notices")["notices"]
    (notice,) = (one["body"] for one in notices if one["kind"] == "entries_held")
    assert (notice["unsent"], notice["since"]) == (4, "2027-01-14T14:00:00Z")
    check = floor.walk.get(f"batches/{floor.uids['batch']}/certificate-check")["reasons"]
    (warned,) = (one for one in check if one["code"] == "entries_on_silent_device")
    assert (warned["blocks"], warned["numbers"]["unsent"]) == (False, 4)

    answers = replay(floor, LATER)

    assert [one["answer"] for one in answers] == ["stored"] * 4
    assert [one.performed_at.isoformat() for one in losses()] == PRESSED
    assert {(str(one.doer), one.entry_no) for one in losses()} == {
        (floor.uids["Ada"], no) for no in (1, 2, 3, 4)
    }
    assert set(EntryOfDevice.objects.values_list("answer", flat=True)) == {"stored"}
    assert "Tablet 3 holds" not in boss.read("shift", floor.walk.site)
