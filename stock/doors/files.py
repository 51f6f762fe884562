"""Documents and photos: the original is kept, and facts name it by its digest."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from typing import Any
from uuid import UUID

from django.conf import settings
from django.db import OperationalError, transaction

from stock import access, clock, files, lock
from stock.answers import Answered
from stock.refusals import Refused, refuse


def keep_document(
    person: access.Person, *, site: UUID, upload: files.Upload, name: str, at: datetime
) -> Answered:
    """Keep a document or photo of a site: PDF, JPEG, PNG, WebP, HEIC, told by its content."""
    access.site_for(person, site, access.HANDS)
    with files.coming(upload, most_bytes=settings.FILE_MOST_BYTES) as came:
        kind = files.document_kind(came.head)
        if kind is None:
            text = "This is no PDF, JPEG, PNG, WebP or HEIC file."
            raise Refused(refuse("not_a_document", text, pointer="/file"))
        came.keep()
        with keeping(site, at):
            row = files.record(came, site=site, name=name, kind=kind, by=person.uid, at=at)
    shown: dict[str, Any] = {"sha256": row.sha256, "kind": row.kind, "size": row.size}
    return Answered(201, {**shown, "received_at": row.received_at})


@contextmanager
def keeping(site: UUID, at: datetime) -> Iterator[None]:
    """Write beside the ledger of a site: under its lock, in one transaction."""
    try:
        with transaction.atomic():
            log = lock.take(site)
            clock.advance(log.uid, at)
            yield
    except OperationalError as error:
        raise Refused(refuse("busy", "Somebody else is writing; try again.")) from error
