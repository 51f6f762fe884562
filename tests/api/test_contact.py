"""What a tablet asks and tells by itself: network, who is here, what it still holds."""

import pytest
from django.test import Client

from stock.models import DeviceReport, Notice
from tests.make import make_person, make_shop
from tests.visit import Visit

pytestmark = pytest.mark.django_db

NOW = "2027-01-20T14:10:00+00:00"
REPORT = {
    "sent_at": "2027-01-20T14:57:00+00:00",  # 47 minutes ahead
    "unsent": 4,
    "last_entry_no": 6,
    "oldest_unsent_at": "2027-01-20T14:47:00+00:00",
    "monotonic_ms": 5000,
}


@pytest.fixture(scope="module")
def kept_shop(kept_for_module):
    shop = make_shop()
    return shop, make_person(shop, "Ida", "keeper")


@pytest.fixture
def shop(kept_shop, db, settings):
    settings.TEST_CLOCK = True
    return kept_shop[0]


@pytest.fixture
def visit(shop):
    """A manager at a tablet that was enrolled just now."""
    visit = Visit.by(str(shop.manager.uid), NOW)
    visit.press("tablets", shop.site, label="Tablet 3", whose="shared")
    return visit


def post(visit, address, body):
    headers = {"Fillmark-Now": visit.at}
    answer = visit.client.post(address, body, content_type="application/json", headers=headers)
    return answer.status_code, answer.json()


def test_contact_says_the_time_a_token_and_who_there_is(visit, shop, kept_shop):
    found = visit.get("contact").json()

    assert found["now"] == "2027-01-20T14:10:00Z"
    assert found["people"] == [{"uid": str(shop.manager.uid), "name": "Mara"}]
    assert [one["name"] for one in found["everybody"]] == ["Ida", "Mara"]
    assert (found["signed_in"], found["last_entry_no"], bool(found["csrf"])) == (True, 0, True)


def test_signed_out_it_still_answers_and_never_leads_to_a_sign_in_page(visit):
    visit.client.post("/sign-out")
    answer = visit.get("contact")

    assert (answer.status_code, answer["Content-Type"]) == (200, "application/json")
    assert (answer.json()["signed_in"], answer.json()["people"]) == (False, [])
    assert answer.json()["device"]


def test_a_browser_that_is_no_tablet_is_told_of_nobody(shop):
    found = Client().get("/tablet/contact").json()

    assert (found["device"], found["everybody"], found["people"]) == (None, [], [])


def test_a_report_measures_the_clock_and_says_what_is_missing(visit):
    visit.client.post("/sign-out")
    status, said = post(visit, "/tablet/reports", REPORT)

    assert status == 200
    assert said["clock_offset_ms"] == -47 * 60_000
    assert said["missing"] == [1, 2, 3, 4, 5, 6]
    row = DeviceReport.objects.get()
    assert row.oldest_unsent_at.isoformat() == "2027-01-20T14:00:00+00:00"
    assert visit.get("contact").json()["last_entry_no"] == 6


def test_three_reports_in_a_row_with_unsent_entries_leave_one_notice(visit):
    for minute in range(10, 15):
        visit.at = f"2027-01-20T14:{minute}:00+00:00"
        post(visit, "/tablet/reports", REPORT | {"sent_at": visit.at})
    post(visit, "/tablet/reports", REPORT | {"unsent": 0, "sent_at": visit.at})

    (notice,) = Notice.objects.filter(kind="entries_held")
    assert (notice.body["label"], notice.body["unsent"]) == ("Tablet 3", 4)
    assert DeviceReport.objects.get().held_reports == 0


@pytest.mark.parametrize(
    "wrong",
    [{"unsent": -1}, {"unsent": "4"}, {"sent_at": "14:57"}, {"more": 1}, {"unsent": None}],
)
def test_a_report_that_cannot_be_read_is_a_problem_at_its_field(visit, wrong):
    status, problem = post(visit, "/tablet/reports", REPORT | wrong)

    assert (status, problem["reasons"][0]["pointer"]) == (400, f"/{next(iter(wrong))}")
    assert not DeviceReport.objects.exists()


def test_a_browser_that_is_no_tablet_reports_nothing(shop):
    stranger = Visit.by(str(shop.manager.uid), NOW)

    assert post(stranger, "/tablet/reports", REPORT)[0] == 404
