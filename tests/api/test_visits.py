"""An inspector's visit: what was opened is shown on their own device, listed, and no more."""

import pytest
from django.core.management import call_command
from django.test import Client
from django.urls import reverse

from protocols.visits import digest_of
from stock.models import Fact, FactText, Log, Visit
from stock.queries.visits import pages_of
from stock.verify import verify
from tests.floor import Floor
from tests.visit import Visit as Browser
from tests.visit import words

pytestmark = pytest.mark.django_db

PLACED = "2027-01-05T09:00:00+01:00"
NOW = "2027-01-06T09:00:00+01:00"
ASKED = {
    "visitor": "Ansel Brook",
    "authority": "Coast office",
    "from": "2027-01-01T00:00:00+01:00",
    "to": "2027-01-07T00:00:00+01:00",
    "reports": ["intervals", "water", "deaths"],
    "hours": 4,
}


@pytest.fixture(scope="module")
def opened(kept_for_module):
    floor = Floor.open(Client(), "2027-01-05T08:00:00+01:00", containers=2, kits=2)
    floor.uids["one"] = floor.place(6, "R1-01", "A-1", at=PLACED)
    floor.uids["other"] = floor.place(7, "R1-02", "B-1", at=PLACED)
    floor.walk.at(NOW)
    return floor


class Inspector:
    """Somebody without an account, in a browser of their own."""

    def __init__(self, link, at=NOW):
        self.client, self.at = Client(), at
        self.link = link.replace("http://testserver", "")

    def get(self, address, **query):
        return self.client.get(address, query, headers={"Fillmark-Now": self.at})

    def begin(self):
        self.client.post(self.link, headers={"Fillmark-Now": self.at})
        return self

    def report(self, name, **query):
        return self.get(reverse("visit-report", args=[name]), **query)


def opened_for(floor, **more):
    """The link of a visit, as a manager is told it once, and the visit's uid."""
    made = floor.walk.post(f"sites/{floor.walk.site}/visits", {**ASKED, **more})
    return made["link"], made["visit"]["uid"]


def code(floor, name):
    return floor.batch(floor.uids[name])["code"]


def test_the_link_opens_what_a_manager_chose_and_nothing_else(floor):
    link, _ = opened_for(floor)
    inspector = Inspector(link).begin()

    listed = words(inspector.get(reverse("visit")))

    assert "Stays and their limits" in listed
    assert "Medicines and doses" not in listed
    assert code(floor, "one") in words(inspector.report("intervals"))
    assert inspector.report("medicines").status_code == 404
    site = floor.walk.site
    for name in ("shift", "record-book", "reports", "visits"):
        assert inspector.get(reverse(name, args=[site])).status_code in (302, 401, 403, 404)
    rest = inspector.get(f"/api/v1/sites/{site}/reports", report="intervals")
    assert rest.status_code == 401


def test_a_browser_may_send_the_form_of_the_link(floor):
    """With the policy `no-referrer` it would send the origin "null", which is refused."""
    inspector = Inspector(opened_for(floor)[0])
    page = inspector.get(inspector.link)

    assert page["Referrer-Policy"] == "same-origin"
    assert '<meta name="referrer" content="same-origin">' in page.content.decode()


def test_it_opens_in_one_browser_once(floor):
    link, _ = opened_for(floor)
    first, second = Inspector(link), Inspector(link)

    assert "Records of Hall are opened for you" in words(first.get(first.link))
    first.begin()

    assert second.get(second.link).status_code == 404
    second.begin()
    assert second.get(reverse("visit")).status_code == 404
    assert first.get(reverse("visit")).status_code == 200


def test_only_the_batches_and_days_that_were_opened_are_shown(floor):
    link, _ = opened_for(floor, batches=[floor.uids["one"]])
    inspector = Inspector(link).begin()

    for name in ("intervals", "water"):
        text = words(inspector.report(name))
        assert code(floor, "one") in text
        assert code(floor, "other") not in text
    assert inspector.report("intervals", batch=code(floor, "other")).status_code == 400
    assert inspector.report("intervals", first="2026-12-01").status_code == 400


def test_files_are_taken_only_where_that_was_allowed(floor):
    reading = Inspector(opened_for(floor)[0]).begin()
    taking = Inspector(opened_for(floor, may_take=True)[0]).begin()

    kept = reading.report("intervals", **{"as": "exact"})
    taken = taking.report("intervals", **{"as": "exact"})

    assert kept["Content-Type"].startswith("text/html")
    assert taken["Content-Type"].startswith("text/csv")
    assert taken.getvalue().startswith(b"batch,container")
    assert "Exact, for programs" not in words(reading.report("intervals"))


def test_what_was_shown_is_listed_and_its_digest_is_entered_when_the_visit_is_closed(floor):
    link, uid = opened_for(floor, may_take=True)
    inspector = Inspector(link).begin()
    inspector.report("intervals", known_on="2027-01-05")
    inspector.report("deaths", **{"as": "pdf"})

    listed = floor.walk.get(f"visits/{uid}")["visit"]["pages"]
    floor.walk.post(f"visits/{uid}/closing", {})

    assert [(one["report"], one["how"]) for one in listed] == [
        ("intervals", "screen"),
        ("deaths", "pdf"),
    ]
    closed = Fact.objects.get(kind="visit_closed")
    pages = pages_of(Visit.objects.get(uid=uid))
    assert closed.body == {"visit": uid, "shown": 2, "sha256": digest_of(pages)}
    assert inspector.get(reverse("visit")).status_code == 404
    assert floor.walk.refused(f"visits/{uid}/closing").code == "already_applied"


def test_it_ends_by_itself_and_the_service_enters_what_was_shown(floor):
    link, uid = opened_for(floor)
    inspector = Inspector(link).begin()
    inspector.report("water")
    later = "2027-01-06T13:00:00+01:00"
    inspector.at = later

    assert inspector.get(reverse("visit")).status_code == 404
    swept = floor.walk.at(later).post("test-clock/sweeps", {"site": floor.walk.site})
    assert swept["visits"] == [uid]
    assert Fact.objects.get(kind="visit_closed").body["shown"] == 1


def test_who_came_can_be_erased_and_the_record_book_still_holds(floor):
    _, uid = opened_for(floor)
    FactText.objects.filter(fact__kind="visit_opened").delete()

    assert floor.walk.get(f"visits/{uid}")["visit"]["visitor"] is None
    assert verify(Log.objects.get(uid=floor.walk.site)) is None
    call_command("rebuild", "--check")


def test_a_manager_opens_it_on_a_page_and_hands_on_what_is_shown_once(floor):
    visit = Browser.by(floor.walk.person, NOW)
    fields = {"visitor": "Ansel Brook", "authority": "", "reports": ["water"], "hours": "2"}
    days = {"first": "2027-01-01", "last": "2027-01-06", "batches": code(floor, "one")}

    shown = visit.press("visits", floor.walk.site, **fields, **days)
    link = "/visit/begin/" + shown.content.decode().split("/visit/begin/")[1].split("<")[0]
    inspector = Inspector(link).begin()
    inspector.report("water")

    record = visit.read("visit-record", Visit.objects.get().uid)
    assert "The visit of Ansel Brook" in record
    assert "Water, instruments and makes" in record
    assert "on screen" in record


@pytest.mark.parametrize(
    ("more", "pointer"),
    [
        ({"hours": 73}, "/hours"),
        ({"reports": ["gossip"]}, "/reports/0"),
        ({"to": "2026-12-01T00:00:00Z"}, "/to"),
    ],
)
def test_nonsense_is_refused_at_its_field(floor, more, pointer):
    problem = floor.walk.refused(f"sites/{floor.walk.site}/visits", {**ASKED, **more})

    assert [one["pointer"] for one in problem.body["reasons"]] == [pointer]
    assert not Visit.objects.exists()
