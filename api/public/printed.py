"""The certificate on paper: the words of the public page, in the same order."""

import io
from collections.abc import Iterator
from html import unescape

from django.utils.html import strip_tags
from django.utils.translation import gettext as _

from api.exports.certificate_pdf import Part, Sheet, write_certificate
from api.language import local_text, spoken
from api.pages.parts import Table
from api.public.shown import Shown, shown
from api.public.words import as_of, covers, next_steps, old_paper
from stock.queries.public import PublicRecord

PAPER = "application/pdf"


def printed(record: PublicRecord) -> bytes:
    """One or two pages; what is true now, and that it is true at that moment."""
    seen, into = shown(record), io.BytesIO()
    test = _("TEST, not for real animals.") + " " if record.quarantine["test"] else ""
    zone = record.zone
    sheet = Sheet(
        title=record.number,
        state=test + seen.state,
        sentence=seen.sentence,
        lead=(
            as_of().format(
                at=local_text(record.as_of, zone),
                since=local_text(record.worth.state.since, zone),
            ),
            old_paper(),
        ),
        address=record.credential["id"],
        scanned=record.credential["id"].upper(),  # read in either case, as on labels
        parts=tuple(_parts(record, seen)),
        foot=_("This is the seller's own record. It is no official health certificate."),
        page=_("page {n}"),
        left_out=_("What does not fit on two pages stands at the address at the top."),
    )
    write_certificate(sheet, into)
    return into.getvalue()


def _parts(record: PublicRecord, seen: Shown) -> Iterator[Part]:
    frozen = record.quarantine
    yield Part(
        _("What this does not cover"),
        (
            covers(frozen["addresses"]),
            ", ".join(spoken(one) for one in frozen["not_covered"]) + ".",
        ),
    )
    yield Part(_("What to do now"), next_steps())
    if seen.water is not None:
        yield _table(seen.water)
    yield Part(_("Which animals"), rows=[(name, _bare(value)) for name, value in seen.animals])
    yield _table(seen.numbers)
    yield _table(seen.since)
    if record.key_compromised:
        yield Part(_("The key that signed this certificate is in other hands."))
    if frozen.get("seller_adds"):
        yield Part(_("The seller adds:"), (frozen["seller_adds"],))
    yield Part(_("What was done"), rows=seen.stages)
    yield _table(seen.moves)
    yield _table(seen.treatments)
    if frozen["remarks"]:
        yield Part(_("Remarks"), frozen["remarks"])
    if seen.days is not None:
        yield _table(seen.days)


def _table(table: Table) -> Part:
    rows = [tuple(_bare(cell) for cell in row) for row in table.rows]
    lines = () if rows else (table.empty,)
    return Part(table.caption, lines, table.columns, rows)


def _bare(value: object) -> str:
    """What stands on the page, without its markup."""
    return unescape(strip_tags(str(value)))
