"""Makes the audit bags that were asked for, one after the other, beside the requests."""

import hashlib
import logging
import os
from datetime import datetime
from pathlib import Path
from uuid import UUID
from zoneinfo import ZoneInfo

from api.exports.bag import Made, write_bag
from stock.doors import exports as door
from stock.doors.exports import Export
from stock.queries.audit import Span
from stock.queries.exports import path_of

PIECE = 1 << 20
log = logging.getLogger(__name__)


def make_due(site: UUID, at: datetime) -> list[str]:
    """Make every bag that waits at a site, end those of long ago; which were made."""
    door.end_old(site, at)
    made: list[str] = []
    while (row := door.take_next(site, at)) is not None:
        try:
            _make(row, at)
        except OSError as error:
            log.exception("An audit bag could not be written.")
            door.fail(row, f"It could not be written: {error.strerror}.")
        else:
            made.append(str(row.uid))
    return made


def _make(row: Export, at: datetime) -> None:
    door.publish_key_for(row, at)
    path = path_of(row.uid)
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    draft = path.with_suffix(".part")
    try:
        made = _write(row, draft, at)
        os.replace(draft, path)
    finally:
        draft.unlink(missing_ok=True)
    door.finish(
        row,
        sha256=_sha256(path),
        size=path.stat().st_size,
        tree_size=made.ground.own.size,
        entries=made.entries,
    )


def _write(row: Export, draft: Path, at: datetime) -> Made:
    span = Span(row.site_id, row.begins, row.ends, ZoneInfo(row.site.zone))
    # A draft of a process that ended is in the way of nobody: it is begun anew.
    handle = os.open(draft, os.O_RDWR | os.O_CREAT | os.O_TRUNC, 0o600)
    with os.fdopen(handle, "w+b") as file:
        made = write_bag(
            span, row.address, file, lambda done, of: door.tell_progress(row, done, of, at)
        )
        file.flush()
        os.fsync(file.fileno())
    return made


def _sha256(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
