"""Sheets of paper: printed for a power cut, and the photos that are kept of them."""

from datetime import datetime
from uuid import UUID
from zoneinfo import ZoneInfo

from protocols.codes import short_code
from stock import access, files, names
from stock.doors.files import keep_document, keeping
from stock.models import PaperSheet, Person, Site
from stock.queries.paper import Sheet, kept_line, lines_now, sheet_of
from stock.refusals import NotFound

CODES = 20
PHOTOS_MOST = 20


def print_sheet(site: UUID, *, at: datetime, by: Person | None = None) -> Sheet:
    """Keep what stands on a sheet now, so that its lines can be typed in later.

    `by` is nobody where a command on the machine itself prints it.
    """
    if by is not None:
        access.site_for(by, site, access.HANDS)
    zone = ZoneInfo(Site.objects.get(uid=site).zone)
    lines = lines_now(site, zone, at)
    uid = names.new_uid(at)
    with keeping(site, at):
        tried = (short_code(uid, attempt) for attempt in range(CODES))
        taken = PaperSheet.objects.filter(site=site)
        row = PaperSheet.objects.create(
            uid=uid,
            site=site,
            code=next(one for one in tried if not taken.filter(code=one).exists()),
            made_at=at,
            made_by=by.uid if by else None,
            lines=[kept_line(one) for one in lines],
        )
    return sheet_of(row)


def add_photo(
    person: Person, *, sheet: UUID, upload: files.Upload, name: str, at: datetime
) -> None:
    """Keep a photo of a written sheet: the lines typed in from then on name it."""
    row = PaperSheet.objects.filter(uid=sheet).first()
    if row is None:
        raise NotFound
    kept = keep_document(person, site=row.site, upload=upload, name=name, at=at)
    with keeping(row.site, at):
        row.refresh_from_db()
        photos = [*row.photos, kept.body["sha256"]]
        row.photos = list(dict.fromkeys(photos))[:PHOTOS_MOST]
        row.save(update_fields=["photos"])
