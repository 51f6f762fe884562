"""Documents and photos."""

import pytest

from stock.files import path_of
from stock.models import StoredFile

JPEG = b"\xff\xd8\xff\xe0" + b"x" * 100


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
    assert kept["received_at"] == "2027-01-05T08:00:00Z"


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
