"""The audit bag: the same records, the same bytes; whatever is changed in it is found."""

import hashlib
import io
import json
import subprocess
import sys
import zipfile
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import bagit
import csvw
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from api.exports import verifier
from protocols import checkpoint
from protocols.signing import new_key, public_jwk, sign
from stock import keys, rotating
from stock.models import Export, Fact
from tests.certified import certify, kept, ready_floor

SPAN = {"from": "2027-01-01T00:00:00+00:00", "to": "2027-03-01T00:00:00+00:00"}
NOTE = '=HYPERLINK("a") of Quillfeather'


@pytest.fixture(scope="module")
def story(django_db_setup, django_db_blocker, tmp_path_factory):
    from django.conf import settings as own

    before, own.DATA = own.DATA, tmp_path_factory.mktemp("data")
    with kept(django_db_blocker):
        floor, batch = ready_floor(Client())
        photo = SimpleUploadedFile("photo.png", b"\x89PNG\r\n\x1a\n" + b"0" * 64)
        answer = floor.walk.client.post(
            f"/api/v1/sites/{floor.walk.site}/files", {"file": photo}, headers=headers(floor)
        )
        digest = answer.json()["sha256"]
        floor.walk.post(
            "losses",
            {
                "lines": [
                    {
                        "batch": batch,
                        "fate": "dead",
                        "count": 1,
                        "cause": ["unknown"],
                        "certainty": "unknown",
                        "found_at": floor.walk.now,
                    }
                ],
                "note": NOTE,
                "files": [digest],
            },
        )
        certify(floor, batch, 19)
        yield floor, batch, made(floor)
    own.DATA = before


@pytest.fixture(autouse=True)
def _under_the_test_clock(story, db, settings):
    settings.TEST_CLOCK = True


@pytest.fixture
def floor(story):
    return story[0].again()


@pytest.fixture
def bag(story, tmp_path):
    """The bag as a folder of its own, to be changed."""
    with zipfile.ZipFile(io.BytesIO(story[2])) as file:
        file.extractall(tmp_path)
    (folder,) = tmp_path.iterdir()
    return folder


def headers(floor):
    """Those of the manager, for what is no JSON."""
    walk = floor.walk
    return {
        "Fillmark-Now": walk.now,
        "Authorization": f"Bearer {walk.token}",
        "Idempotency-Key": "once",
    }


def made(floor, **span):
    """Ask for a bag, let the timetable make it, and fetch it."""
    walk = floor.walk
    asked = walk.post(f"sites/{walk.site}/exports", {**SPAN, **span})["export"]
    walk.post("test-clock/sweeps", {"site": walk.site})
    seen = walk.get(f"exports/{asked['uid']}")["export"]
    assert seen["state"] == "ready", seen["why"]
    answer = walk.client.get(seen["file"], headers=headers(floor))
    data = b"".join(answer.streaming_content)
    assert hashlib.sha256(data).hexdigest() == seen["sha256"]
    return data


def said(bag, trusted=None):
    """What the program in the bag says of it."""
    try:
        return list(verifier.check(str(bag), trusted))
    except verifier.Wrong as wrong:
        return f"WRONG: {wrong}"


def relisted(bag):
    """Make the manifests fit again, as somebody would who has no key."""
    for name, of in (("manifest-sha256.txt", "data/**/*"), ("tagmanifest-sha256.txt", "*.*")):
        files = [one for one in bag.glob(of) if one.is_file() and "tagman" not in one.name]
        lines = [
            f"{hashlib.sha256(one.read_bytes()).hexdigest()}  {one.relative_to(bag).as_posix()}"
            for one in sorted(files)
        ]
        (bag / name).write_text("\n".join(lines) + "\n")


def resealed(bag, key=None):
    """And the seal, as somebody would who has the key, or one of their own."""
    relisted(bag)
    body = verifier.unbase64((bag / "seal.jws").read_text().split(".")[1])
    digests = {
        name: hashlib.sha256((bag / name).read_bytes()).hexdigest()
        for name in ("manifest-sha256.txt", "bag-info.txt")
    }
    from protocols.signing import seal_bag

    token = seal_bag({**json.loads(body), **digests}, key or keys.private_key("certificate"))
    (bag / "seal.jws").write_text(token + "\n")
    relisted(bag)


def log_of(floor, bag, name="log.jsonl"):
    return bag / "data" / "books" / floor.walk.site / name


# -- A good one --------------------------------------------------------------------------------


def test_its_own_program_checks_it_where_nothing_of_ours_is_installed(story, tmp_path):
    path = tmp_path / "audit.zip"
    path.write_bytes(story[2])
    with zipfile.ZipFile(path) as file:
        (name,) = [one for one in file.namelist() if one.endswith("data/verify.py")]
        program = tmp_path / "verify.py"
        program.write_bytes(file.read(name))
    done = subprocess.run(
        [sys.executable, "-I", str(program), str(path)],
        capture_output=True,
        text=True,
        cwd=tmp_path,
    )

    assert done.returncode == 0, done.stdout + done.stderr
    assert "1 certificates are signed and stand in the record book." in done.stdout
    assert done.stdout.endswith("The bag is what was written.\n")


def test_the_same_records_give_the_same_bytes(story, floor):
    """Also although it was entered meanwhile that somebody exported them."""
    assert Fact.objects.filter(kind="export_made").count() == 1
    assert made(floor) == story[2]


def test_a_foreign_library_accepts_it_as_a_bag(bag):
    assert bagit.Bag(str(bag)).is_valid()


def test_a_foreign_library_reads_its_tables_by_their_descriptions(bag):
    for path in sorted((bag / "data" / "tables").glob("*.json")):
        table = csvw.CSVW(str(path))
        assert table.is_valid, (path.name, table.warnings)
    readings = csvw.CSVW(str(bag / "data/tables/losses.csv-metadata.json")).tables[0]
    assert [row["count"] for row in readings] == [1]


def test_texts_are_exact_as_evidence_and_text_cells_in_the_workbook(floor, bag):
    """S-39: files that no spreadsheet is meant to open keep what was typed."""
    texts = map(json.loads, log_of(floor, bag, "texts.jsonl").read_text().splitlines())
    losses = (bag / "data" / "tables" / "losses.csv").read_bytes()
    with zipfile.ZipFile(bag / "data" / "summary.xlsx") as book:
        cells = b"".join(book.read(one) for one in book.namelist() if "worksheets" in one)

    assert NOTE in [one["text"] for one in texts]
    assert losses.startswith(b'"performed_at_utc","performed_at_local"')
    assert b"<f>" not in cells


def test_entries_of_other_days_are_left_out_and_it_still_leads_to_the_root(floor, tmp_path):
    path = tmp_path / "audit.zip"
    path.write_bytes(made(floor, **{"from": "2027-02-01T00:00:00+00:00"}))
    lines = said(path)

    assert "0 are left out" not in lines[1]
    with zipfile.ZipFile(path) as file:
        (name,) = [
            one for one in file.namelist() if one.endswith(f"{floor.walk.site}/log.jsonl")
        ]
        kinds = [json.loads(one)["kind"] for one in file.read(name).splitlines()]
    assert "batch_placed" not in kinds
    assert "certificate_issued" in kinds


def test_it_holds_after_another_key_took_over_and_two_years_later(
    floor, bag, settings, tmp_path
):
    trusted = floor.walk.client.get("/.well-known/jwks.json").content.decode()
    certificate = settings.KEYS / "certificate.pem"
    before = certificate.read_bytes()
    try:
        certificate.unlink()
        walk = floor.walk.at(datetime.fromisoformat(floor.walk.now) + timedelta(days=730))
        mine = {"email": "mara@example.org", "password": "correct horse"}
        walk.token = replace(walk, token="").post("tokens", mine)["token"]
        later = tmp_path / "later.zip"
        later.write_bytes(made(floor))
        rotated = floor.walk.client.get("/.well-known/jwks.json").content.decode()
    finally:
        certificate.write_bytes(before)

    assert said(bag, trusted)[2] == said(bag, rotated)[2] == said(later, rotated)[2]
    assert len(json.loads(rotated)["keys"]) == 2
    assert said(later, trusted).startswith("WRONG: seal.jws")


def test_it_says_which_certificates_a_key_in_other_hands_signed(floor, settings, tmp_path):
    """And holds once they are signed anew, though their own entry names the first text."""
    for file in settings.KEYS.iterdir():
        (tmp_path / file.name).write_bytes(file.read_bytes())
    settings.KEYS = tmp_path
    path, at = tmp_path / "audit.zip", datetime.fromisoformat(floor.walk.now)
    rotating.compromise(public_jwk(keys.private_key("certificate"))["kid"], at)
    path.write_bytes(made(floor))
    doubtful = said(path)
    rotating.sign_anew(at)
    path.write_bytes(made(floor))

    assert doubtful[3] == "Signed with a key that is in other hands by now: C-2027-0001."
    assert "other hands" not in "".join(said(path))
    assert said(path)[2] == doubtful[2]


# -- Doctored ones -----------------------------------------------------------------------------


def test_a_file_that_was_changed_or_added_is_found(bag):
    (bag / "data" / "README.txt").write_text("All is well.\n")
    changed = said(bag)
    (bag / "data" / "extra.txt").write_text("more\n")
    added = said(bag)
    relisted(bag)

    assert changed == "WRONG: data/README.txt is not the file that was put in"
    assert "does not fit the files: data/extra.txt" in added
    assert said(bag) == "WRONG: manifest-sha256.txt is not the one that was sealed"


def removed(lines):
    return lines[:3] + lines[4:]


def changed(lines):
    return [one.replace(b'"count":20', b'"count":21') for one in lines]


def swapped(lines):
    return [*lines[:3], lines[4], lines[3], *lines[5:]]


@pytest.mark.parametrize("doctor", [removed, changed, swapped])
def test_an_entry_removed_changed_or_swapped_is_found_even_under_a_new_seal(floor, bag, doctor):
    log = log_of(floor, bag)
    log.write_bytes(b"\n".join(doctor(log.read_bytes().splitlines())) + b"\n")
    resealed(bag)

    assert "is not the one that was entered" in said(bag)


def test_another_certificate_is_found(bag):
    (path,) = (bag / "data" / "certificates").iterdir()
    payload = json.loads(verifier.unbase64(path.read_text().split(".")[1]))
    payload["credentialSubject"]["certified"] = 400
    path.write_text(sign(payload, keys.private_key("certificate")))
    resealed(bag)

    assert said(bag).startswith("WRONG: the certificates are not those of the record book")


def test_another_key_is_found(bag):
    stranger = new_key()
    path = bag / "data" / "keys" / "jwks.json"
    from protocols.signing import public_jwk

    trusted = path.read_text()
    path.write_text(json.dumps({"keys": [public_jwk(stranger)]}))
    for one in [*(bag / "data/certificates").iterdir(), *(bag / "data/status").iterdir()]:
        payload = json.loads(verifier.unbase64(one.read_text().split(".")[1]))
        one.write_text(sign(payload, stranger))
    resealed(bag, stranger)

    assert said(bag) == "WRONG: the keys are not those of the record book"
    assert said(bag, trusted) == "WRONG: seal.jws: signed by a key that is not known"


def test_a_checkpoint_of_another_site_is_found(floor, bag):
    path = log_of(floor, bag, "checkpoint.txt")
    text = path.read_text().partition("\n\n")[0] + "\n"
    other = "fillmark/00000000-0000-7000-8000-000000000000"
    text = text.replace(f"fillmark/{floor.walk.site}", other)
    key = keys.private_key("checkpoint")
    path.write_text(checkpoint.sign_note(text, other, key))
    log_of(floor, bag, "vkey.txt").write_text(checkpoint.vkey(other, key.public_key()) + "\n")
    resealed(bag)

    assert said(bag).endswith(f"the checkpoint is that of {other}")


def test_a_document_and_a_text_that_were_exchanged_are_found(floor, bag):
    (photo,) = (bag / "data" / "documents").iterdir()
    before = photo.read_bytes()
    photo.write_bytes(b"another")
    resealed(bag)
    document = said(bag)
    photo.write_bytes(before)
    texts = log_of(floor, bag, "texts.jsonl")
    texts.write_text(texts.read_text().replace("Quillfeather", "Marrowby"))
    resealed(bag)

    assert document.endswith("has another digest than its name")
    assert "is another one" in said(bag)


# -- Asking for one ----------------------------------------------------------------------------


def test_only_so_many_are_made_at_once_and_the_same_one_is_not_asked_for_twice(floor):
    walk = floor.walk
    uids = {
        walk.post(
            f"sites/{walk.site}/exports",
            {**SPAN, "from": f"2027-01-0{n}T00:00:00+00:00"},
        )["export"]["uid"]
        for n in (1, 2, 3, 3)
    }
    refused = walk.refused(
        f"sites/{walk.site}/exports", {**SPAN, "from": "2027-01-04T00:00:00+00:00"}
    )

    assert len(uids) == 3
    assert (refused.status, refused.code) == (429, "too_many")


def test_after_a_week_the_file_is_gone_and_that_it_was_there_stays(floor):
    made(floor)
    walk = floor.walk.at(datetime.fromisoformat(floor.walk.now) + timedelta(days=8))
    walk.post("test-clock/sweeps", {"site": walk.site})
    shown = walk.get(f"sites/{walk.site}/exports")["exports"]

    assert {one["state"] for one in shown} == {"ended"}
    assert shown[0]["file"] is None
    assert walk.send("GET", f"exports/{shown[0]['uid']}/file").status_code == 404


def test_one_that_was_left_lying_is_made_anew(floor):
    walk = floor.walk
    uid = walk.post(f"sites/{walk.site}/exports", SPAN)["export"]["uid"]
    long_ago = datetime.fromisoformat(walk.now) - timedelta(minutes=11)
    Export.objects.filter(uid=uid).update(state="making", touched_at=long_ago)
    walk.post("test-clock/sweeps", {"site": walk.site})

    assert walk.get(f"exports/{uid}")["export"]["state"] == "ready"


def test_a_folder_is_never_left_by_the_names_in_a_manifest(bag):
    path = bag / "manifest-sha256.txt"
    path.write_text(path.read_text() + "0" * 64 + "  data/../../outside\n")

    assert said(bag).startswith("WRONG: manifest-sha256.txt: 0000")
    assert Path(bag).exists()
