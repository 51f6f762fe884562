"""A report to take away: exact, for spreadsheets, or on paper to be signed."""

import tempfile
from collections.abc import Callable, Mapping
from datetime import date
from io import BytesIO
from itertools import islice
from typing import IO

from django.http import FileResponse, HttpResponse
from django.http.response import HttpResponseBase
from django.utils.translation import gettext as _

from api.exports.reports import write_exact, write_for_spreadsheet
from api.exports.reports_pdf import Printed, write_printed
from api.language import local_text
from api.pages.reports.shown import as_text
from api.pages.reports.words import TITLES
from protocols.spreadsheets import safe_file_name
from stock.queries.reports import Asked, Report
from stock.queries.reports.known import Known, root_of
from stock.refusals import Refused, refuse

PRINTED_MOST = 2000
TABLES: Mapping[str, Callable[[Report, Asked, IO[bytes]], str]] = {
    "exact": write_exact,
    "spreadsheet": write_for_spreadsheet,
}
FORMS = (*TABLES, "pdf")


def report_file(
    how: str, report: Report, asked: Asked, known: Known, site: str
) -> HttpResponseBase:
    """The whole report in one of the `FORMS`. Raises Refused (too_large) for paper."""
    name = "-".join((report.name, site, str(_day(asked)), f"known-by-entry-{known.size}", how))
    if how == "pdf":
        data = printed(report, asked, known, site)
        answer = HttpResponse(data, content_type="application/pdf")
        file = safe_file_name(name.removesuffix("-pdf"), ".pdf")
        answer["Content-Disposition"] = f'inline; filename="{file}"'
        return answer
    table = tempfile.TemporaryFile()  # noqa: SIM115  # the answer closes it
    TABLES[how](report, asked, table)
    table.seek(0)
    return FileResponse(
        table,
        as_attachment=True,
        filename=safe_file_name(name, ".csv"),
        content_type="text/csv; charset=utf-8; header=present",
    )


def printed(report: Report, asked: Asked, known: Known, site: str) -> bytes:
    """The report on paper, with the digest of its exact table, so that both belong together."""
    rows = list(islice(report.rows(asked), PRINTED_MOST + 1))
    if len(rows) > PRINTED_MOST:
        text = _("That is too much to sign on paper. Ask for fewer days, or take the table.")
        raise Refused(refuse("too_large", text, most=PRINTED_MOST))
    with tempfile.TemporaryFile() as exact:
        digest = write_exact(report, asked, exact)
    heads, cells = as_text(report, asked, rows)
    title = str(TITLES[report.name])
    words = Printed(
        title=f"{title}, {site}",
        lead=_lead(asked, known),
        page=_("{title}, {site}, page {n}").format(title=title, site=site, n="{n}"),
        empty=_("Nothing of this was told in these days."),
        statement=_(
            "{count} rows. Printed from the record book, not typed. SHA-256 of the exact table:"
            " {digest}"
        ).format(count=len(rows), digest=digest),
        signatures=(
            _("For the site: name, date, signature"),
            _("Shown to: name, authority, date, signature"),
        ),
    )
    into = BytesIO()
    write_printed(words, heads, cells, into)
    return into.getvalue()


def _lead(asked: Asked, known: Known) -> tuple[str, ...]:
    begins, ends = (local_text(one, asked.zone) for one in (asked.begins, asked.ends))
    return (
        _("From {begins} until {ends}.").format(begins=begins, ends=ends),
        _(
            "As known by entry {entry} of the record book, {at}. Root of the book then: {root}"
        ).format(
            entry=known.size,
            at=local_text(known.at, asked.zone),
            root=root_of(asked.site, known.size),
        ),
    )


def _day(asked: Asked) -> date:
    return asked.begins.astimezone(asked.zone).date()
