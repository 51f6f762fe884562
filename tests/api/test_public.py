"""What anybody with the address of a certificate may see, and what nobody may."""

import json
from datetime import UTC, datetime
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client, override_settings

from stock.models import RulesVersion, writing_projections
from tests.certified import Buyer, certify, kept, lose, move_on, open_floor, part
from tests.walk import Walk

# In the past, so that one test can go by the clock on the wall.
PLACED = datetime.fromisoformat("2026-01-05T09:00:00+01:00")
NOW = "2026-02-03T05:00:00+01:00"
LIST = (
    "Box,Trade name,Scientific name,Qty,Unit price USD,Origin,Wild/captive\n"
    "1,Ocellaris clownfish,Amphiprion ocellaris,20,7.35,ID,C\n"
)
EVERYWHERE = ("text/html", "application/json", "application/vc+jwt")


@pytest.fixture(scope="module")
def story(django_db_setup, django_db_blocker, tmp_path_factory):
    """From a packing list with prices to a certificate for 19; one died on the second day."""
    folder = override_settings(DATA=tmp_path_factory.mktemp("data"))
    with kept(django_db_blocker), folder:
        floor = open_floor(Client(), PLACED)
        name_species(floor)
        line = listed(floor)
        batch = floor.place(20, "R1-01", "A-1", at=PLACED, line=line, note="ask Quillfeather")
        lose(floor, batch, 1, at=datetime.fromisoformat("2026-01-06T10:00:00+01:00"))
        move_on(floor, batch, 19, placed=PLACED)
        floor.walk.at(NOW)
        yield floor, batch, certify(floor, batch, 19)


def name_species(floor):
    path = f"species/{floor.species}"
    names = {"trade_names": ["Ocellaris clownfish"], "scientific_name": "Amphiprion ocellaris"}
    seen = floor.walk.send("GET", path)["ETag"]
    floor.walk.send("PUT", path, names, **{"If-Match": seen})


def listed(floor):
    """The line of an applied packing list, counted out of its bag."""
    walk = floor.walk.at(PLACED)
    form = {"supplier": floor.supplier, "file": SimpleUploadedFile("l.csv", LIST.encode())}
    headers = {"Fillmark-Now": walk.now, "Authorization": f"Bearer {walk.token}"}
    sent = walk.client.post(f"/api/v1/sites/{walk.site}/imports", form, headers=headers)
    made = walk.post(f"imports/{sent.json()['import']['uid']}/applications")["consignment"]
    delivered = {"delivered_at": PLACED.isoformat()}
    walk.post(f"consignments/{made['uid']}/deliveries", delivered)
    line = made["lines"][0]["uid"]
    walk.post(f"lines/{line}/counts", {"received": 20, "doa": 0})
    return line


@pytest.fixture(autouse=True)
def _under_the_test_clock(story, db, settings):
    settings.TEST_CLOCK = True


@pytest.fixture
def walk(story):
    return story[0].walk


@pytest.fixture
def certificate(story):
    return story[2]


@pytest.fixture
def url(certificate):
    return certificate["url"]


@pytest.fixture
def buyer():
    return Buyer(NOW)


@pytest.mark.parametrize(
    ("accept", "form"),
    [
        ("text/html", "text/html"),
        ("*/*", "text/html"),
        ("image/png", "text/html"),
        ("application/json", "application/json"),
        ("application/vc+jwt", "application/vc+jwt"),
        ("text/html;q=0.5, application/json", "application/json"),
        ("application/vc+jwt, text/html;q=0.9", "application/vc+jwt"),
    ],
)
def test_the_reader_says_which_form_it_wants(buyer, url, accept, form):
    answer = buyer.get(url, accept)

    assert answer.status_code == 200
    assert answer["Content-Type"].partition(";")[0] == form
    assert "Accept" in answer["Vary"].split(", ")


@pytest.mark.parametrize(
    ("named", "form"),
    [("html", "text/html"), ("json", "application/json"), ("jwt", "application/vc+jwt")],
)
def test_a_link_may_say_it_as_well(buyer, url, named, form):
    assert buyer.get(f"{url}?format={named}")["Content-Type"].startswith(form)


@pytest.mark.parametrize("accept", EVERYWHERE)
def test_it_is_never_kept_nor_listed(buyer, url, accept):
    answer = buyer.get(url, accept)

    assert answer["Cache-Control"] == "no-store"
    assert answer["X-Robots-Tag"] == "noindex, nofollow"
    assert not answer.cookies


@pytest.mark.parametrize("accept", EVERYWHERE)
@pytest.mark.parametrize("code", ["a" * 32, "A1" * 16, "x", "a" * 33, "C-2026-0001"])
def test_an_unknown_address_is_not_there(buyer, accept, code):
    answer = buyer.get(f"/c/{code}", accept)

    assert answer.status_code == 404
    assert answer["X-Robots-Tag"] == "noindex, nofollow"


def test_an_address_in_capitals_is_the_same(buyer, url):
    start, _, code = url.rpartition("/")

    assert buyer.get(f"{start}/{code.upper()}").status_code == 200


@pytest.mark.parametrize("method", ["post", "put", "delete"])
def test_nothing_can_be_sent_there(buyer, url, method):
    path = url.replace("http://testserver", "")

    assert getattr(buyer.client, method)(path).status_code == 405


@pytest.mark.parametrize("accept", EVERYWHERE)
@pytest.mark.parametrize(
    "hidden", ["Mara", "Quillfeather", "Atoll", "7.35", "R1-0", "A-1", "l.csv", "password"]
)
def test_no_person_supplier_price_note_or_place_is_in_the_bytes(buyer, url, accept, hidden):
    said = buyer.get(url, accept).content.decode()

    assert hidden not in said
    assert hidden not in json.dumps(part(buyer.token(url), 1))


def test_another_customer_is_not_in_the_bytes(walk, story, buyer, url):
    sale = {"count": 2, "buyer": "Fenwright", "certificate": story[2]["uid"]}
    walk.post(f"batches/{story[1]}/dispatches", sale)

    assert all("Fenwright" not in buyer.get(url, one).content.decode() for one in EVERYWHERE)


def test_the_carry_over_of_a_batch_is_not_in_the_bytes(walk, story, buyer, url):
    """It was computed, and stays with those who decide."""
    walk.post("test-clock/sweeps", {"site": walk.site, "carry_over": True})
    assert walk.get(f"batches/{story[1]}/carry-over")["carry_over"]["found"]

    for form in EVERYWHERE:
        said = buyer.get(url, form).content.decode().lower()
        assert not [word for word in ("carry", "isolate", "odds", "on_fish") if word in said]
    assert "carry" not in json.dumps(part(buyer.token(url), 1)).lower()


def test_the_data_has_the_form_that_programs_rely_on(buyer, url):
    data = buyer.data(url)

    assert set(data["now"]) >= {"state", "count", "as_of"}
    assert data["now"]["as_of"] == "2026-02-03T04:00:00Z"
    assert set(data["moves"][0]) >= {"at", "verdict", "restarted"}
    assert data["counts"] == {
        "received": 20,
        "doa": 0,
        "placed": 20,
        "losses": {"dead": 1},
        "certified": 19,
    }
    assert "velvet (Amyloodinium ocellatum)" in data["not_covered"]
    assert data["credential"] == part(buyer.token(url), 1)


def test_the_page_says_what_it_is_and_what_it_is_not(buyer, url):
    page = buyer.page(url)

    assert "Northlight Reef (manager)" in page
    assert "It is no official health certificate." in page
    assert "velvet (Amyloodinium ocellatum)" in page
    assert "Cryptocaryon irritans" in page
    assert url in page
    assert "<svg" in page.partition("Check it yourself")[2]


def test_a_page_has_its_price_whatever_the_length_of_the_history(
    buyer, url, django_assert_max_num_queries
):
    # The judgement asks about 21 times, for one batch or fifty; the rest is the certificate,
    # one for what was told of its species since, two for the water they were in, and one for
    # the key that signed it.
    with django_assert_max_num_queries(35):
        buyer.page(url)


def test_papers_that_say_where_from_are_repeated(buyer, url):
    assert "ID, captive bred" in buyer.page(url)
    assert buyer.data(url)["origins"] == [{"origin": "ID", "wild": False}]


def test_a_certificate_under_the_test_clock_says_so(buyer, url):
    assert "TEST, not for real animals." in buyer.page(url)
    assert buyer.data(url)["test"] is True
    assert part(buyer.token(url), 1)["name"].startswith("TEST - ")


def test_without_the_test_clock_nothing_says_test(story, settings, walk):
    walk.post(f"certificates/{story[2]['uid']}/revocations", {"reason": "so"})
    settings.TEST_CLOCK = False
    today = Walk(walk.client, walk.now)
    signs_in = {"email": "mara@example.org", "password": "correct horse"}
    today.token = today.post("tokens", signs_in)["token"]
    made = today.post(f"batches/{story[1]}/certificates", {"count": 19})["certificate"]

    token = Buyer(NOW).token(made["url"])

    assert part(token, 1)["credentialSubject"]["quarantine"]["test"] is False
    assert "TEST" not in json.dumps(part(token, 1))


def in_force(walk, at, *hidden):
    """A rule of the site, as if it had been decided before `at`."""
    with writing_projections():
        RulesVersion.objects.create(
            fact=uuid4(),
            site_id=walk.site,
            seq=0,
            in_force_from=at,
            rules={"public_hides": list(hidden)},
        )


def test_a_rule_that_is_older_than_the_course_hides_days(walk, buyer, url):
    in_force(walk, PLACED.astimezone(UTC), "deaths_by_day")

    assert buyer.data(url)["losses"] is None
    assert "Losses by day" not in buyer.page(url)
    assert buyer.data(url)["counts"]["losses"] == {"dead": 1}


def test_a_rule_that_is_older_than_the_course_hides_where_from(walk, buyer, url):
    in_force(walk, PLACED.astimezone(UTC), "origin")

    assert buyer.data(url)["origins"] == []
    assert "captive bred" not in buyer.page(url)


def test_a_rule_that_is_older_than_the_course_keeps_trade_names_out(walk, story, buyer):
    in_force(walk, PLACED.astimezone(UTC), "species_trade_names")
    walk.post(f"certificates/{story[2]['uid']}/revocations", {"reason": "so"})

    made = walk.post(f"batches/{story[1]}/certificates", {"count": 19})["certificate"]

    assert all(
        "clownfish" not in buyer.get(made["url"], one).content.decode() for one in EVERYWHERE
    )
    assert "clownfish" not in json.dumps(part(buyer.token(made["url"]), 1))


def test_a_rule_made_during_the_course_hides_nothing(walk, buyer, url):
    in_force(walk, datetime(2026, 1, 5, 8, 0, 1, tzinfo=UTC), "deaths_by_day", "origin")

    assert buyer.data(url)["losses"] == [{"on": "2026-01-06", "fate": "dead", "count": 1}]
    assert buyer.data(url)["origins"] != []


def test_a_trade_name_with_markup_is_only_text(walk, story, buyer):
    floor, batch, certificate = story
    path = f"species/{floor.species}"
    names = {"trade_names": ["<script>x</script>"], "scientific_name": "Amphiprion ocellaris"}
    walk.send("PUT", path, names, **{"If-Match": walk.send("GET", path)["ETag"]})
    walk.post(f"certificates/{certificate['uid']}/revocations", {"reason": "so"})
    made = walk.post(f"batches/{batch}/certificates", {"count": 19})["certificate"]

    page = buyer.page(made["url"])

    assert "<script>" not in page
    assert "&lt;script&gt;x&lt;/script&gt;" in page
