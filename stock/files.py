"""Uploaded files: each original as it came, named by its digest, for the service alone.

They lie below `files/` of the data folder. Nothing here is handed out as it is.
"""

import hashlib
import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from uuid import UUID

from django.conf import settings

from protocols.said import said
from stock.models import StoredFile
from stock.refusals import Refused, refuse
from stock.tables import Upload as Upload

PIECE = 64 * 1024
NAME_MOST = 200
HEAD = 16
HEIC_BRANDS = (b"heic", b"heix", b"mif1", b"msf1")


@dataclass(frozen=True, slots=True)
class Came:
    """A file that came and is not kept yet: gone at the end of the block unless it is."""

    path: Path
    sha256: str
    size: int
    head: bytes

    def keep(self) -> None:
        """Keep the original for good. The same content is kept once."""
        target = path_of(self.sha256)
        target.parent.mkdir(mode=0o700, exist_ok=True)
        os.replace(self.path, target)


def path_of(sha256: str) -> Path:
    """Where the original with this digest lies."""
    return _folder() / sha256[:2] / sha256


@contextmanager
def coming(upload: Upload, *, most_bytes: int) -> Iterator[Came]:
    """Copy an upload piece by piece to disk; `too_large` above `most_bytes`."""
    folder = _folder()
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    number, name = tempfile.mkstemp(prefix=".coming-", dir=folder)
    path = Path(name)
    try:
        yield _copied(upload, path, number, most_bytes)
    finally:
        path.unlink(missing_ok=True)


def document_kind(head: bytes) -> str | None:
    """What a document or photo is by its first 16 bytes; names are not believed."""
    starts = {b"%PDF-": "pdf", b"\xff\xd8\xff": "jpeg", b"\x89PNG\r\n\x1a\n": "png"}
    for start, kind in starts.items():
        if head.startswith(start):
            return kind
    if head[:4] == b"RIFF" and head[8:12] == b"WEBP":
        return "webp"
    if head[4:8] == b"ftyp" and head[8:12] in HEIC_BRANDS:
        return "heic"
    return None


def record(
    came: Came, *, site: UUID, name: str, kind: str, by: UUID, at: datetime
) -> StoredFile:
    """The row of a kept file; what a site has once it keeps as it came first."""
    row, _ = StoredFile.objects.get_or_create(
        site=site,
        sha256=came.sha256,
        defaults={
            "name": name[-NAME_MOST:],
            "kind": kind,
            "size": came.size,
            "received_at": at,
            "by": by,
        },
    )
    return row


def _folder() -> Path:
    return Path(settings.DATA) / "files"


def _copied(upload: Upload, path: Path, number: int, most_bytes: int) -> Came:
    digest, size, head = hashlib.sha256(), 0, b""
    # mkstemp made the file for this user alone: 0600.
    with os.fdopen(number, "wb") as copy:
        while piece := upload.read(PIECE):
            size += len(piece)
            if size > most_bytes:
                text = said("At most {most_bytes} bytes.", most_bytes=most_bytes)
                raise Refused(refuse("too_large", text, pointer="/file", most_bytes=most_bytes))
            head = head or piece[:HEAD]
            digest.update(piece)
            copy.write(piece)
        copy.flush()
        os.fsync(copy.fileno())
    return Came(path, digest.hexdigest(), size, head)
