"""The line of a sheet that a form is typed in from: `?from_sheet=<sheet>.<number>`."""

from dataclasses import dataclass, replace
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _

from protocols.paper import line_fact, line_key
from protocols.uids import uid_or_none
from protocols.values import Standing
from stock.doors.door import Asking
from stock.queries.paper import Typed, line_of, sheet_seen, typed_lines
from stock.refusals import NotFound

NAME = "from_sheet"
DIGITS = 4
MOVED_ON = (301, 302, 303)


@dataclass(frozen=True, slots=True)
class PaperLine:
    """One line: the key and the uid under which it is entered once, whoever types it in."""

    sheet: UUID
    code: str
    n: int
    text: str
    photos: tuple[str, ...]
    typed: Typed | None

    @property
    def key(self) -> str:
        return line_key(self.code, self.n)

    @property
    def uid(self) -> UUID:
        return line_fact(self.sheet, self.n)

    @property
    def reason(self) -> str:
        """Why it is told only now."""
        return _("Power cut, written on paper sheet %(code)s, line %(n)s.") % self._named

    @property
    def already(self) -> str:
        said = _("Line %(n)s of sheet %(code)s is on record already. Nothing was added.")
        return said % self._named

    @property
    def _named(self) -> dict[str, object]:
        return {"code": self.code, "n": self.n}


def paper_of(request: HttpRequest, site: UUID) -> PaperLine | None:
    """The line that the address names; None for none. Three queries where it names one."""
    named = request.GET.get(NAME)
    if named is None:
        return None
    text, _dot, number = named.partition(".")
    uid = uid_or_none(text)
    if uid is None or not number.isdecimal() or len(number) > DIGITS:
        raise NotFound
    sheet = sheet_seen(uid)
    if sheet.site != site:
        raise NotFound
    line = line_of(sheet, int(number))
    said = ", ".join(part for part in (line.label, line.text) if part)
    typed = typed_lines(sheet).get(line.n)
    return PaperLine(sheet.uid, sheet.code, line.n, said, sheet.photos, typed)


def fill_in(form: Any, line: PaperLine) -> None:
    """What a line of a sheet tells has happened, at a time that stands there, told late."""
    form.key = line.key
    for name, value in (("standing", "happened"), ("reason", line.reason)):
        if name in form.fields:
            form.fields[name].initial = value
    if "when" in form.fields:
        form.fields["when"].required = True
        form.fields["when"].error_messages["required"] = _("Write what the sheet says.")


def named_by(asked: Asking, line: PaperLine) -> Asking:
    """The fact bears the name of its line, so that whoever types it in, it is entered once."""
    asked_only = asked.standing is Standing.ASKED
    return replace(
        asked,
        key=line.key,
        uid=line.uid,
        files=line.photos,
        standing=Standing.HAPPENED if asked_only else asked.standing,
    )


def back_to_sheet(request: HttpRequest, response: HttpResponse) -> HttpResponse:
    """What was typed in from a sheet leads back to it, to the next line."""
    uid = uid_or_none(request.GET.get(NAME, "").partition(".")[0])
    if uid is None or request.method != "POST" or response.status_code not in MOVED_ON:
        return response
    return redirect("paper-sheet", uid)
