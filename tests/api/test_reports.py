"""The nine reports that an inspector asks for, each as it was known on a day."""

import csv
import hashlib
import io

import pytest
from django.test import Client

from stock.queries.reports import REPORTS
from tests.floor import Floor
from tests.pdf import words_in
from tests.visit import Visit

pytestmark = pytest.mark.django_db

PLACED = "2027-01-05T09:00:00+01:00"
LATE = "2027-01-08T13:00:00+01:00"  # 76 hours after it
NOW = "2027-01-10T09:00:00+01:00"
SPAN = "from=2027-01-01T00:00:00Z&to=2027-02-01T00:00:00Z"
DOSE = {"product": "=Praziquantel", "amount": "0.12", "unit": "g", "lot": "B-77"}
EXPIRES = {"expires": "2028-01-31", "prescription": "V-19"}


@pytest.fixture(scope="module")
def opened(kept_for_module):
    """Twenty came, two dead; a late move that somebody keeps; three died, then it was two."""
    floor = Floor.open(Client(), "2027-01-05T08:00:00+01:00", containers=3, kits=3)
    line = floor.receive(20, at=PLACED, doa=2)
    batch = floor.place(18, "R1-01", "A-1", at=PLACED, line=line)
    floor.uids["batch"] = batch
    walk = floor.walk.at("2027-01-06T09:00:00+01:00")
    walk.post(f"containers/{floor.uids['R1-01']}/doses", {**DOSE, **EXPIRES})
    floor.move(batch, "R1-02", "B-1", [18], at=LATE, standing="happened")
    found = walk.at("2027-01-08T14:00:00+01:00").get(f"batches/{batch}")["batch"]
    over = next(one for one in found["deviations"] if one["rule"] == "stay_over")
    decision = {"decision": "keep", "known": over["numbers"], "reason": "The heater failed."}
    second = walk.as_person("Vera", "veterinarian").at(walk.now)
    second.post(f"deviations/{over['uid']}/decisions", decision)
    loss = {"batch": batch, "fate": "dead", "count": 3, "cause": ["handling", "jump"]}
    lost = walk.at("2027-01-09T08:00:00+01:00").post("losses", {"lines": [loss]})
    floor.uids["loss"] = lost["fact"]["uid"]
    correction = {"field": "count", "new": 2, "reason": "One was counted twice."}
    second.at(NOW).post(f"facts/{floor.uids['loss']}/corrections", correction)
    walk.at(NOW)
    return floor


def asked(floor, name, query=""):
    """The rows of a report, by the names of its columns."""
    found = floor.walk.get(f"sites/{floor.walk.site}/reports?report={name}&{SPAN}{query}")
    names = [one["name"] for one in found["columns"]]
    return [dict(zip(names, row, strict=True)) for row in found["rows"]]


def test_there_are_nine_and_each_can_be_asked_for(floor):
    listed = floor.walk.get(f"sites/{floor.walk.site}/reports")["reports"]

    assert [one["name"] for one in listed] == list(REPORTS)
    assert len(listed) == 9
    assert all(asked(floor, name) for name in REPORTS if name not in EMPTY)


EMPTY = ("late-entries", "certificates")


def test_the_balance_of_a_line_and_of_a_batch_closes(floor):
    line, batch = asked(floor, "mass-balance")

    assert [line[n] for n in ("received", "dead_on_arrival", "placed")] == [20, 2, 18]
    assert [batch[n] for n in ("placed", "alive", "dead", "container")] == [18, 16, 2, "R1-02"]
    assert (line["difference"], batch["difference"]) == (0, 0)


def test_a_stay_over_its_limit_says_what_was_decided_by_whom_and_why(floor):
    late, running = asked(floor, "intervals")

    assert (late["stay"], late["limit"], late["over"]) == (76 * 3600, 72 * 3600, 4 * 3600)
    assert (late["verdict"], late["decided"], late["decided_by"]) == ("over", "keep", "Vera")
    assert late["reason"] == "The heater failed."
    assert (running["container"], running["ended"], running["decided"]) == ("R1-02", None, None)


def test_before_each_use_it_is_known_how_it_was_disinfected_and_dry_since_when(floor):
    first = asked(floor, "equipment")[0]

    assert (first["label"], first["agent"], first["mg_per_l"]) == ("R1-01", "chlorine", "200")
    assert (first["contact"], first["dry_for"], first["state"]) == (3600, 25 * 3600, "ready")
    pieces = [one["label"] for one in asked(floor, "equipment") if one["kit"] == "A-1"]
    assert pieces == ["A-1 air_line", "A-1 heater"]


def test_deaths_say_cause_and_that_the_number_was_put_right(floor):
    doa, lost = asked(floor, "deaths")

    assert (doa["fate"], doa["count"]) == ("dead_on_arrival", 2)
    assert (lost["cause"], lost["cause_more"]) == ("handling", "jump")
    assert (lost["count"], lost["state"]) == (2, "corrected")


def test_who_stayed_missing_stands_under_their_batch_also_where_only_that_is_asked(floor):
    batch = floor.uids["batch"]
    missed = floor.walk.post(f"batches/{batch}/missing", {"count": 1})["missing"]["uid"]
    floor.walk.post(
        f"missing/{missed}/findings",
        {"count": 1, "alive": False, "container": floor.uids["R1-02"]},
    )
    code = floor.batch(batch)["code"]

    only = asked(floor, "deaths", f"&batch={code}")

    assert [one["fate"] for one in only] == ["dead_on_arrival", "dead", "found_dead"]
    assert (only[-1]["batch"], only[-1]["count"]) == (code, 1)


def test_a_dose_says_for_how_many_it_was_and_how_strong(floor):
    (dose,) = asked(floor, "medicines")

    assert (dose["alive"], dose["dose"]) == (18, "2.00 mg/L")
    assert (dose["lot"], dose["expires"], dose["prescription"]) == (
        "B-77",
        "2028-01-31",
        "V-19",
    )


def test_a_reading_says_when_its_instrument_was_checked(floor):
    readings = [one for one in asked(floor, "water") if one["what"] == "reading_taken"]

    assert len(readings) == 6
    assert {one["check"] for one in readings} == {"passed"}
    assert all(one["checked"] for one in readings)


def test_a_correction_shows_old_value_new_value_and_why(floor):
    decided, corrected = asked(floor, "corrections")

    assert (decided["what"], decided["new"]) == ("deviation_decided", "keep")
    assert [corrected[n] for n in ("of", "old", "new")] == ["loss_recorded", 3, 2]
    assert (corrected["why"], corrected["by"]) == ("One was counted twice.", "Vera")


def test_as_known_on_an_earlier_day_the_correction_was_not_made(floor):
    then = "&known_on=2027-01-09"

    assert asked(floor, "corrections", then)[-1]["what"] == "deviation_decided"
    assert [(one["count"], one["state"]) for one in asked(floor, "deaths", then)][-1] == (
        3,
        None,
    )
    assert asked(floor, "mass-balance", then)[1]["dead"] == 3


def test_as_known_before_the_move_was_told_the_stay_goes_on(floor):
    (only,) = asked(floor, "intervals", "&known_on=2027-01-07")

    assert (only["ended"], only["decided"], only["verdict"]) == (None, None, None)
    assert {one["batch"] for one in asked(floor, "water", "&known_on=2027-01-07")} != set()


def test_a_day_before_the_book_began_knows_nothing(floor):
    for name in REPORTS:
        assert asked(floor, name, "&known_on=2026-01-01") == []


def test_only_one_batch_is_told_of_where_only_that_is_asked(floor):
    other = floor.place(5, "R1-03", "A-2", at="2027-01-10T10:00:00+01:00")
    code = floor.batch(other)["code"]

    assert {one["batch"] for one in asked(floor, "intervals", f"&batch={code}")} == {code}
    assert asked(floor, "medicines", f"&batch={code}") == []
    assert len(asked(floor, "intervals")) == 3


def file(floor, how, name="medicines"):
    answer = floor.walk.send(
        "GET", f"sites/{floor.walk.site}/reports?report={name}&{SPAN}&as={how}"
    )
    assert answer.status_code == 200, answer.content
    return answer.getvalue() if answer.streaming else answer.content


def test_two_kinds_of_table_differ_by_name_and_in_what_a_spreadsheet_could_run(floor):
    exact, safe = (
        next(csv.DictReader(io.StringIO(file(floor, how).decode(), newline="")))
        for how in ("exact", "spreadsheet")
    )

    assert (exact["product"], safe["product"]) == ("=Praziquantel", "'=Praziquantel")
    assert exact["given_utc"] == "2027-01-06T08:00:00Z"
    assert safe["given_local"] == "Wed 6 Jan 2027 09:00 CET"


def test_paper_bears_the_digest_of_the_exact_table_and_where_the_book_stood(floor):
    paper = file(floor, "pdf")

    said = words_in(paper)
    assert hashlib.sha256(file(floor, "exact")).hexdigest() in said
    assert "Praziquantel" in said
    assert "signature" in said
    assert paper == file(floor, "pdf")


def test_the_page_says_as_of_which_entry_it_speaks_and_offers_the_files(floor):
    visit = Visit.by(floor.walk.person, NOW)

    now = visit.get("report", floor.walk.site, "intervals").content.decode()
    then = "?first=2027-01-01&last=2027-01-31&known_on=2027-01-07"
    before = visit.get("report", floor.walk.site, "intervals", query=then).content.decode()

    assert "As known now, by entry" in now
    assert "As it was known on Fri 8 Jan 2027 00:00" in before
    assert "over the limit" in now
    assert "over the limit" not in before
    assert "as=exact" in now


@pytest.mark.parametrize(
    "wrong",
    ["known_on=2027-13-01", "known_on=2027-01-07&known_by=1", "batch=none", "as=odt"],
)
def test_nonsense_is_refused_at_its_name(floor, wrong):
    answer = floor.walk.send(
        "GET", f"sites/{floor.walk.site}/reports?report=water&{SPAN}&{wrong}"
    )

    assert (answer.status_code, answer.json()["code"]) == (400, "unreadable")
