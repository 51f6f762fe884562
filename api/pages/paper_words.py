"""What stands on a sheet of paper, in words."""

import io
from collections.abc import Callable, Sequence
from datetime import datetime
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from api.exports.paper import Line, Part, SheetText, write_sheet
from api.language import local_text, spoken
from protocols.paper import LineKind, SheetLine
from stock.queries.paper import Sheet

Boxes = Sequence[tuple[str, float]]


def sheet_pdf(sheet: Sheet, *, site: str, zone: ZoneInfo) -> bytes:
    """The sheet as it was printed first: the same sheet gives the same bytes."""
    printed = local_text(sheet.made_at.replace(second=0), zone)
    text = SheetText(
        title=_("%(site)s: sheet for a power cut") % {"site": site},
        code=sheet.code,
        scanned=sheet.code.replace("-", ""),
        lead=_(
            "Tick what is done, write when by the wall clock, and who. What is not sure stays "
            "empty. Afterwards each line is typed in once: More, Paper."
        ),
        page=_("page {n}, printed %(moment)s") % {"moment": printed},
        cautions=_(
            "People first. Unplug before hands go in. Bleach and acid never in one room. "
            "Then air and warmth for the animals."
        ),
    )
    file = io.BytesIO()
    write_sheet(text, _parts(sheet, zone), file)
    return file.getvalue()


def _parts(sheet: Sheet, zone: ZoneInfo) -> list[Part]:
    return [
        Part(
            heading_of(kind),
            [_line(one, zone) for one in sheet.lines if one.kind is kind],
        )
        for kind in LineKind
    ]


def heading_of(kind: LineKind) -> str:
    """What a part of the sheet is for."""
    return {
        LineKind.MOVE: _("Moves, the earliest limit first"),
        LineKind.ROUND: _("Rounds: every container seen, alive, ate"),
        LineKind.READING: _("Readings"),
        LineKind.WORK: _("Other work that is due"),
        LineKind.LOSS: _("Losses"),
        LineKind.SPARE: _("Anything else"),
    }[kind]


def _line(line: SheetLine, zone: ZoneInfo) -> Line:
    blank = line.kind in (LineKind.LOSS, LineKind.SPARE)
    return Line(
        n=line.n,
        bold=line.label,
        small="" if blank else _small(line, zone),
        boxes=BOXES[line.kind](),
        ticks=line.inside,
        ticked=(_("alive"), _("ate")) if line.inside else (),
    )


def _small(line: SheetLine, zone: ZoneInfo) -> str:
    due = _("limit %(moment)s") % {"moment": _short(line.due, zone)} if line.due else ""
    return ", ".join(part for part in (due, spoken(line.text)) if part)


def _short(moment: datetime, zone: ZoneInfo) -> str:
    year = moment.astimezone(zone).year
    return local_text(moment.replace(second=0), zone).replace(f" {year} ", " ")


BOXES: dict[LineKind, Callable[[], Boxes]] = {
    LineKind.MOVE: lambda: (
        (_("into container"), 24),
        (_("kit"), 17),
        (_("counted"), 16),
        (_("not found"), 16),
        (_("day and time"), 30),
        (_("by"), 20),
    ),
    LineKind.ROUND: lambda: ((_("day and time"), 30), (_("by"), 20), (_("what is odd"), 70)),
    LineKind.READING: lambda: (
        (_("temperature"), 20),
        (_("salinity"), 20),
        (_("other"), 20),
        (_("with which instruments"), 26),
        (_("day and time"), 26),
        (_("by"), 16),
    ),
    LineKind.WORK: lambda: ((_("day and time"), 30), (_("by"), 20), (_("remarks"), 70)),
    LineKind.LOSS: lambda: (
        (_("which container"), 22),
        (_("how many"), 14),
        (_("dead, culled, escaped"), 26),
        (_("cause"), 22),
        (_("found at"), 24),
        (_("by"), 16),
    ),
    LineKind.SPARE: lambda: (
        (_("which container or kit"), 24),
        (_("what"), 60),
        (_("day and time"), 24),
        (_("by"), 16),
    ),
}
