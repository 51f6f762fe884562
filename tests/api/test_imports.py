"""Packing lists over REST: looked through, answered, applied, sent again."""

import hashlib
import json
import stat
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from stock import clock, rebuild
from stock.doors.people import NewPerson, Place, make_organisation
from stock.files import path_of
from stock.models import Consignment, Fact, Import, Line, Log, StoredFile, Supplier
from stock.verify import verify
from tests.api.test_limits import Unread
from tests.stock import workbooks
from tests.walk import Problem, Walk

pytestmark = pytest.mark.django_db(transaction=True)

FIXTURES = Path(__file__).resolve().parent.parent.parent / "fixtures"
PLAIN = """\
AWB,Box,Species,Qty,Price
999-1,1,Gramma loreto,15,2.10
999-1,2,Chromis viridis,5,0.65
"""
DATES = """\
Box,Species,Qty,Arrival
1,Gramma loreto,5,03/04/2027
1,Chromis viridis,5,04/04/2027
"""


@pytest.fixture
def walk(client, settings, tmp_path):
    settings.TEST_CLOCK = True
    settings.DATA = tmp_path
    return Walk.begin(client, "2027-03-01T09:00:00+01:00")


@pytest.fixture
def supplier(walk):
    return walk.post("suppliers", {"name": "Ejemplo del Golfo"})["supplier"]["uid"]


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


def apply(walk, listing, **body):
    return walk.post(f"imports/{listing['uid']}/applications", body)["consignment"]


def numbers(consignment):
    return [(line["box"], line["text"], line["listed"]) for line in consignment["lines"]]


# -- Looking through -----------------------------------------------------------------------


def test_a_preview_shows_every_line_and_enters_nothing(walk, preview):
    listing = preview(PLAIN)

    assert [(line["box"], line["text"], line["listed"]) for line in listing["lines"]] == [
        ("1", "Gramma loreto", 15),
        ("2", "Chromis viridis", 5),
    ]
    assert (listing["waybill"], listing["listed"]) == ("999-1", 20)
    assert listing["understood"]["separator"] == ","
    assert listing["may_be_applied"] is True
    assert "existing" not in listing
    assert not Consignment.objects.exists()
    assert not Fact.objects.filter(kind="list_applied").exists()


def test_the_original_is_kept_for_the_service_alone(preview):
    listing = preview(PLAIN)

    original = path_of(listing["sha256"])
    assert hashlib.sha256(original.read_bytes()).hexdigest() == listing["sha256"]
    assert stat.S_IMODE(original.stat().st_mode) == 0o600
    assert stat.S_IMODE(original.parent.stat().st_mode) == 0o700
    stored = StoredFile.objects.get()
    assert (stored.sha256, stored.kind, stored.name) == (listing["sha256"], "csv", "list.csv")


def test_the_same_file_sent_again_is_the_same_import(send):
    first, again = send(PLAIN), send(PLAIN, "copy.csv")

    assert (first.status_code, again.status_code) == (201, 200)
    assert first.json()["import"]["uid"] == again.json()["import"]["uid"]
    assert StoredFile.objects.count() == 1


def test_every_problem_of_a_row_is_told_at_its_column(preview):
    listing = preview("Box,Species,Qty,Price\n1,Gramma loreto,x,1\n2,,5,1\n3,Goby,4,dear\n")

    told = [(one["row"], one["column"], one["code"]) for one in listing["problems"]]
    assert told == [
        (2, "Qty", "unreadable"),
        (3, "Species", "missing"),
        (4, "Price", "unreadable"),
    ]
    assert listing["may_be_applied"] is False


def test_a_list_is_matched_with_species_that_one_name_means(walk, preview):
    body = {"scientific_name": "Gramma loreto", "trade_names": ["Royal gramma"]}
    species = walk.post("species", body)["species"]["uid"]

    lines = preview("Species,Qty\nRoyal gramma,5\nRoyal grama,5\n")["lines"]

    assert (lines[0]["species"], lines[0]["candidates"]) == (species, [])
    assert lines[1]["species"] is None
    assert lines[1]["candidates"][0]["species"] == species


def test_a_preview_can_be_read_again(walk, preview):
    listing = preview(PLAIN)

    assert walk.get(f"imports/{listing['uid']}")["import"] == listing


# -- Applying ------------------------------------------------------------------------------


def test_a_list_that_is_applied_makes_a_consignment(walk, preview):
    consignment = apply(walk, preview(PLAIN))

    assert (consignment["waybill"], consignment["list_version"]) == ("999-1", 1)
    assert numbers(consignment) == [("1", "Gramma loreto", 15), ("2", "Chromis viridis", 5)]
    assert verify(Log.objects.get(uid=walk.site)) is None
    assert rebuild.check(clock.now()) == []


def test_applying_twice_is_one_consignment(walk, preview):
    listing = preview(PLAIN)
    consignment = apply(walk, listing)

    problem = walk.refused(f"imports/{listing['uid']}/applications", {})

    assert (problem.status, problem.code) == (409, "already_applied")
    assert problem.body["existing"]["uid"] == consignment["uid"]
    assert Consignment.objects.count() == 1


def test_the_same_request_twice_is_answered_twice_and_done_once(walk, preview):
    path = f"imports/{preview(PLAIN)['uid']}/applications"
    first = walk.post(path, {}, key="tap")

    again = walk.send("POST", path, {}, key="tap")

    assert (again.status_code, again["Idempotent-Replay"]) == (200, "true")
    assert json.loads(again.content) == first


def test_a_file_that_was_applied_says_so_when_it_is_sent_again(walk, preview):
    consignment = apply(walk, preview(PLAIN))

    existing = preview(PLAIN, "again.csv")["existing"]

    assert (existing["uid"], existing["same_file"]) == (consignment["uid"], True)
    assert existing["differences"] == []


def test_the_same_file_under_another_supplier_is_still_one_consignment(walk, preview):
    consignment = apply(walk, preview(PLAIN))
    other = walk.post("suppliers", {"name": "Another"})["supplier"]["uid"]

    listing = preview(PLAIN, supplier=other)
    problem = walk.refused(f"imports/{listing['uid']}/applications", {})

    assert listing["existing"]["uid"] == consignment["uid"]
    assert problem.code == "already_applied"


def test_a_list_with_problems_is_refused_with_all_of_them(walk, preview):
    listing = preview("Box,Species,Qty\n1,Gramma loreto,x\n2,,5\n")

    problem = walk.refused(f"imports/{listing['uid']}/applications", {})

    assert (problem.status, problem.code) == (409, "problem_open")
    told = [one["numbers"]["problem"] for one in problem.body["reasons"]]
    assert told == ["unreadable", "missing"]
    assert not Consignment.objects.exists()


def test_an_open_question_is_refused_until_it_is_answered(walk, preview):
    listing = preview(DATES)

    problem = walk.refused(f"imports/{listing['uid']}/applications", {})
    applied = apply(walk, listing, answers={"date_order": "day_first"})

    assert [one["key"] for one in listing["questions"]] == ["date_order"]
    assert (problem.status, problem.code) == (409, "question_open")
    assert problem.body["reasons"][0]["pointer"] == "/answers/date_order"
    assert applied["listed"] == 10


def test_an_answer_is_kept_for_the_supplier_once_the_list_is_applied(walk, supplier, preview):
    listing = preview(DATES, answers=json.dumps({"date_order": "day_first"}))
    before = Supplier.objects.get().date_order

    apply(walk, listing)

    shown = walk.get(f"suppliers/{supplier}")["supplier"]
    assert (before, shown["date_order"]) == (None, "day_first")
    assert shown["name"] == "Ejemplo del Golfo"
    assert preview(DATES.replace("5,03", "6,03"))["questions"] == []
    assert rebuild.check(clock.now()) == []


def test_nothing_is_kept_for_the_supplier_where_nothing_was_answered(walk, preview):
    apply(walk, preview(PLAIN))

    assert Fact.objects.filter(kind="supplier_set").count() == 1


def test_headings_that_no_entry_could_hold_are_not_kept(walk, preview):
    listing = preview(PLAIN)
    headings = {str(n): "ignore" for n in range(4000)}

    problem = walk.refused(
        f"imports/{listing['uid']}/applications", {"answers": {"mapping": headings}}
    )

    assert (problem.status, problem.code) == (413, "too_large")
    assert not Consignment.objects.exists()


def test_a_species_that_a_person_names_is_entered_with_the_line(walk, preview):
    species = walk.post("species", {"scientific_name": "Gramma loreto"})["species"]["uid"]
    listing = preview("Species,Qty\nRoyal gramma,5\n")

    applied = apply(walk, listing, answers={"species": {"Royal gramma": species}})

    assert applied["lines"][0]["species"] == species


@pytest.mark.parametrize(
    ("name", "lines", "listed"),
    [
        ("lautan-contoh.csv", 46, 132),
        ("ejemplo-del-golfo.csv", 10, 48),
        ("sample-atoll.xlsx", 10, 27),
    ],
)
def test_lists_of_every_make_are_read_and_applied(walk, preview, name, lines, listed):
    listing = preview((FIXTURES / name).read_bytes(), name)

    applied = apply(walk, listing)

    assert listing["questions"] == []
    assert (applied["lines_listed"], applied["listed"]) == (lines, listed)
    assert rebuild.check(clock.now()) == []


def test_a_list_in_another_encoding_asks_which(walk, preview):
    data = "Caja;Especie;Cantidad\n1;Pez ángel;5\n".encode("windows-1252")

    listing = preview(data)
    answered = preview(data, answers=json.dumps({"encoding": "windows-1252"}))

    question = listing["questions"][0]
    assert (question["key"], listing["problems"][0]["row"]) == ("encoding", 2)
    assert {"value": "windows-1252", "shows": "1;Pez ángel;5"} in question["choices"]
    assert answered["lines"][0]["text"] == "Pez ángel"
    assert apply(walk, answered)["lines"][0]["text"] == "Pez ángel"


def test_a_formula_in_a_list_stays_the_text_that_it_is(walk, preview):
    applied = apply(walk, preview('Species,Qty\n"=HYPERLINK(""x"")",5\n'))

    assert applied["lines"][0]["text"] == '=HYPERLINK("x")'


def test_a_price_stays_with_the_line(walk, preview):
    applied = apply(walk, preview(PLAIN))

    assert [line["price"] for line in applied["lines"]] == ["2.10", "0.65"]
    assert set(Line.objects.values_list("price", flat=True)) == {"2.10", "0.65"}


def test_a_list_longer_than_an_entry_is_several_facts(walk, preview):
    rows = "".join(f"{n // 20},Goby {n},1\n" for n in range(900))

    applied = apply(walk, preview("Box,Species,Qty\n" + rows))

    assert applied["listed"] == 900
    assert Fact.objects.filter(kind="list_applied").count() > 1
    assert rebuild.check(clock.now()) == []


# -- Later versions ------------------------------------------------------------------------

LATER = PLAIN.replace("2,Chromis viridis,5", "2,Chromis viridis,4") + "999-1,3,Goby,3,1.00\n"


def test_a_later_list_of_a_waybill_shows_what_differs(walk, preview):
    first = apply(walk, preview(PLAIN))

    existing = preview(LATER)["existing"]

    assert (existing["uid"], existing["list_version"]) == (first["uid"], 1)
    assert existing["same_file"] is False
    assert [(one["kind"], one["fields"]) for one in existing["differences"]] == [
        ("changed", ["listed"]),
        ("added", []),
    ]


def test_differences_are_accepted_before_a_later_list_is_applied(walk, preview):
    first = apply(walk, preview(PLAIN))
    listing = preview(LATER)
    keys = [one["key"] for one in listing["existing"]["differences"]]

    problem = walk.refused(
        f"imports/{listing['uid']}/applications", {"differences_accepted": keys[:1]}
    )
    second = apply(walk, listing, differences_accepted=keys)

    assert (problem.status, problem.code) == (409, "difference_open")
    assert [one["numbers"]["difference"] for one in problem.body["reasons"]] == keys[1:]
    assert (second["uid"], second["list_version"]) == (first["uid"], 2)
    assert [line["uid"] for line in second["lines"]][:2] == [
        line["uid"] for line in first["lines"]
    ]
    assert [line["listed"] for line in second["lines"]] == [15, 4, 3]


def test_counts_do_not_change_by_a_later_list(walk, preview):
    lines = apply(walk, preview(PLAIN))["lines"]
    walk.post(f"lines/{lines[0]['uid']}/counts", {"received": 14, "doa": 1})
    walk.post(f"lines/{lines[1]['uid']}/counts", {"received": 5, "doa": 0})
    shorter = preview("AWB,Box,Species,Qty,Price\n999-1,1,Gramma loreto,14,2.10\n")

    keys = [one["key"] for one in shorter["existing"]["differences"]]
    second = apply(walk, shorter, differences_accepted=keys)

    told = [(line["listed"], line["received"], line["doa"]) for line in second["lines"]]
    assert told == [(14, 14, 1), (0, 5, 0)]
    assert (second["short"], second["over"]) == (0, 5)
    assert rebuild.check(clock.now()) == []


def test_a_list_that_says_the_same_in_another_file_is_already_applied(walk, preview):
    apply(walk, preview(PLAIN))
    listing = preview(PLAIN.replace("\n", "\r\n"))

    problem = walk.refused(f"imports/{listing['uid']}/applications", {})

    assert problem.code == "already_applied"


def test_an_older_version_sent_again_is_already_applied(walk, preview):
    apply(walk, preview(PLAIN))
    listing = preview(LATER)
    keys = [one["key"] for one in listing["existing"]["differences"]]
    apply(walk, listing, differences_accepted=keys)

    old = preview(PLAIN)
    problem = walk.refused(f"imports/{old['uid']}/applications", {})

    assert (old["existing"]["same_file"], problem.code) == (True, "already_applied")


def test_a_list_follows_a_small_delivery_on_the_same_waybill(walk, supplier, preview):
    lines = [{"text": "Gramma loreto", "listed": 15, "boxes": ["1"]}]
    body = {"supplier": supplier, "waybill": "999-1", "lines": lines}
    first = walk.post(f"sites/{walk.site}/consignments", body)["consignment"]

    listing = preview(PLAIN)
    keys = [one["key"] for one in listing["existing"]["differences"]]
    second = apply(walk, listing, differences_accepted=keys)

    assert (second["uid"], second["list_version"]) == (first["uid"], 2)
    assert second["lines"][0]["uid"] == first["lines"][0]["uid"]


def test_a_species_matched_by_hand_outlives_a_later_list(walk, preview):
    line = apply(walk, preview(PLAIN))["lines"][0]["uid"]
    species = walk.post("species", {"scientific_name": "Gramma brasiliensis"})["species"]
    walk.post(f"lines/{line}/species", {"species": species["uid"]})
    listing = preview(LATER)

    keys = [one["key"] for one in listing["existing"]["differences"]]
    second = apply(walk, listing, differences_accepted=keys)

    assert second["lines"][0]["species"] == species["uid"]


# -- Bad input -----------------------------------------------------------------------------


def wide(book, sheet):
    sheet.write_row(0, 0, ["Species", "Qty"])
    sheet.write(1, 16_383, "far")


@pytest.mark.parametrize(
    ("content", "status", "code"),
    [
        (b"", 415, "not_a_table"),
        (b"hello", 415, "not_a_table"),
        (b"%PDF-1.7 x", 415, "not_a_table"),
        (b"\x89PNG\r\n\x1a\n\x00", 415, "not_a_table"),
        (b"Species,Qty\n\x00,1\n", 415, "not_a_table"),
        (b"Species,Qty\n" + b"," * 1_000_000, 413, "too_large"),
        (workbooks.workbook(wide), 413, "too_large"),
        (workbooks.FAR_APART, 413, "too_large"),
        (workbooks.repacked(**{workbooks.SHEET: b" " * 200_000_000}), 413, "too_large"),
        (workbooks.SMALL[:400], 400, "unreadable"),
        (b'Species,Qty\n"Gramma', 400, "unreadable"),
    ],
)
def test_a_file_that_is_no_packing_list_is_refused_and_not_kept(
    send, tmp_path, content, status, code
):
    answer = send(content, "list.xlsx")

    assert (answer.status_code, answer.json()["code"]) == (status, code)
    assert answer.json()["reasons"][0]["pointer"] == "/file"
    assert [one for one in (tmp_path / "files").rglob("*") if one.is_file()] == []
    assert not Import.objects.exists()
    assert not StoredFile.objects.exists()


def test_a_table_without_the_needed_columns_names_them(preview):
    listing = preview("Colour,Shape\nred,round\n")

    told = [(one["code"], one["value"]) for one in listing["problems"]]
    assert told == [("missing_column", "species"), ("missing_column", "quantity")]
    assert listing["may_be_applied"] is False


@pytest.mark.parametrize(
    ("fields", "pointer"),
    [
        ({"supplier": "x"}, "/supplier"),
        ({"answers": "day first"}, "/answers"),
        ({"answers": "[1]"}, "/answers"),
        ({"answers": "[" * 20_000}, "/answers"),
        ({"answers": '{"date_order": 1.5}'}, "/answers/date_order"),
        ({"answers": '{"sheet": "a\\u0000b"}'}, "/answers/sheet"),
        ({"file": "no file"}, "/file"),
        ({"colour": "blue"}, "/colour"),
    ],
)
def test_bad_fields_are_named(send, fields, pointer):
    answer = send(PLAIN, **fields)

    assert answer.status_code == 400
    assert answer.json()["reasons"][0]["pointer"] == pointer


@pytest.mark.parametrize(
    "answers",
    [
        {"date_order": "never"},
        {"decimal": "'"},
        {"mapping": []},
        {"mapping": {"Qty": "colour"}},
        {"mapping": {"Qty": []}},
        {"species": "Gramma"},
        {"sheet": "No such"},
        {"box_blank": {}},
        {"column_species": "Qty"},
        {"encoding": "klingon"},
        {"encoding": 8},
    ],
)
def test_answers_that_answer_nothing_do_no_harm(send, answers):
    answer = send(PLAIN, answers=json.dumps(answers))

    assert answer.status_code == 201


def test_an_upload_of_two_hundred_megabytes_is_refused_unread(walk):
    answer = walk.client.post(
        f"/api/v1/sites/{walk.site}/imports",
        content_type="multipart/form-data; boundary=x",
        headers={"Authorization": f"Bearer {walk.token}"},
        **{"wsgi.input": Unread(), "CONTENT_LENGTH": "200000000"},
    )

    assert (answer.status_code, answer.json()["code"]) == (413, "too_large")


def test_a_request_that_is_no_form_is_refused(walk):
    problem = walk.refused(f"sites/{walk.site}/imports", {"supplier": "x"})

    assert (problem.status, problem.code) == (400, "unreadable")


def test_an_original_that_is_gone_is_asked_for_again(walk, preview):
    listing = preview(PLAIN)
    path_of(listing["sha256"]).unlink()

    problem = walk.refused(f"imports/{listing['uid']}/applications", {})

    assert (problem.status, problem.code) == (400, "unreadable")
    assert "send the file again" in problem.body["detail"]


# -- Who may -------------------------------------------------------------------------------


@pytest.mark.parametrize("who", ["keeper", "auditor", "veterinarian"])
def test_managers_send_and_apply_lists(walk, send, preview, who):
    listing = preview(PLAIN)
    other = walk.as_person("Ola", who)

    sent = send(PLAIN, by=other)
    applied = other.send("POST", f"imports/{listing['uid']}/applications", {})

    assert (sent.status_code, applied.status_code) == (403, 403)
    assert not Consignment.objects.exists()


@pytest.fixture
def stranger(walk, client):
    boss = NewPerson("Ines", "ines@example.org", "correct horse")
    made = make_organisation(
        name="Elsewhere", person=boss, site=Place("Yard", "Europe/Lisbon"), at=clock.now()
    ).body
    return Walk(client, walk.now, made["token"], made["site"]["uid"])


def test_another_shop_s_imports_are_not_there(walk, send, preview, stranger):
    listing = preview(PLAIN)

    sent = send(PLAIN, by=stranger)
    read = stranger.send("GET", f"imports/{listing['uid']}")
    applied = stranger.send("POST", f"imports/{listing['uid']}/applications", {})

    assert (sent.status_code, read.status_code, applied.status_code) == (404, 404, 404)


def test_another_shop_s_supplier_and_species_are_not_there(walk, send, stranger):
    supplier = stranger.post("suppliers", {"name": "Theirs"})["supplier"]["uid"]
    species = stranger.post("species", {"scientific_name": "A b"})["species"]["uid"]

    by_supplier = send(PLAIN, supplier=supplier)
    by_species = send(PLAIN, answers=json.dumps({"species": {"Gramma loreto": species}}))

    assert (by_supplier.status_code, by_species.status_code) == (404, 404)


# -- Documents -----------------------------------------------------------------------------

JPEG = b"\xff\xd8\xff\xe0" + b"x" * 100


@pytest.fixture
def attach(walk):
    def attach(content, name="photo.jpg", *, by=walk, site=walk.site):
        headers = {"Fillmark-Now": by.now, "Authorization": f"Bearer {by.token}"}
        form = {"file": SimpleUploadedFile(name, content)}
        return by.client.post(f"/api/v1/sites/{site}/files", form, headers=headers)

    return attach


@pytest.mark.parametrize(
    ("content", "kind"),
    [
        (JPEG, "jpeg"),
        (b"\x89PNG\r\n\x1a\n" + b"x" * 20, "png"),
        (b"%PDF-1.7\n", "pdf"),
        (b"RIFF\x00\x00\x00\x00WEBPVP8 ", "webp"),
        (b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00", "heic"),
    ],
)
def test_a_document_is_kept_by_what_is_in_it(attach, content, kind):
    kept = attach(content, "evidence.exe").json()

    assert (kept["kind"], kept["size"]) == (kind, len(content))
    assert path_of(kept["sha256"]).read_bytes() == content
    assert kept["received_at"] == "2027-03-01T08:00:00Z"


@pytest.mark.parametrize(
    "content", [b"", b"<svg onload=x>", b"GIF89a", b"MZ", b"RIFF\x00\x00\x00\x00WAVE"]
)
def test_what_is_no_document_is_refused_and_not_kept(attach, tmp_path, content):
    answer = attach(content, "photo.jpg")

    assert (answer.status_code, answer.json()["code"]) == (415, "not_a_document")
    assert [one for one in (tmp_path / "files").rglob("*") if one.is_file()] == []


def test_a_document_over_its_limit_is_refused_and_not_kept(attach, settings, tmp_path):
    settings.FILE_MOST_BYTES = 50

    answer = attach(JPEG)

    assert (answer.status_code, answer.json()["code"]) == (413, "too_large")
    assert [one for one in (tmp_path / "files").rglob("*") if one.is_file()] == []


def test_the_same_photo_twice_is_one_file(attach):
    first, again = attach(JPEG), attach(JPEG, "same.jpg")

    assert first.json() == again.json()
    assert StoredFile.objects.count() == 1


def test_documents_are_for_those_who_work_at_the_site(walk, attach, stranger):
    auditor = walk.as_person("Ola", "auditor")

    by_auditor, by_stranger = attach(JPEG, by=auditor), attach(JPEG, by=stranger)

    assert (by_auditor.status_code, by_stranger.status_code) == (403, 404)
