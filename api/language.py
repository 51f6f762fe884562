"""In which language somebody reads, and how words, numbers and moments are said in it.

English is what the code says; other languages come from the catalogues in `locale/`. Programs
are always answered in English: only pages pass through here.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from typing import cast
from zoneinfo import ZoneInfo

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.utils import formats, translation
from django.utils.translation import (
    get_language_from_request,
    gettext,
    gettext_lazy,
    gettext_noop,
)

from protocols import clocks
from protocols.said import Said

ENGLISH = "en"
FIGURE = re.compile(r"-?\d+\.\d+")
NAMES = (
    *(gettext_noop("Mon"), gettext_noop("Tue"), gettext_noop("Wed"), gettext_noop("Thu")),
    *(gettext_noop("Fri"), gettext_noop("Sat"), gettext_noop("Sun")),
    *(gettext_noop("Jan"), gettext_noop("Feb"), gettext_noop("Mar"), gettext_noop("Apr")),
    *(gettext_noop("May"), gettext_noop("Jun"), gettext_noop("Jul"), gettext_noop("Aug")),
    *(gettext_noop("Sep"), gettext_noop("Oct"), gettext_noop("Nov"), gettext_noop("Dec")),
)
# A moment that a rule has written, such as `Mon 29 Mar 2027 11:00 CEST`.
MOMENT = re.compile(r"([A-Z][a-z]{2}) (\d{1,2}) ([A-Z][a-z]{2}) (\d{4}\b.*)")
# Nobody reads these as pages, or they are the same for everybody.
FOR_PROGRAMS = ("/api/", "/health", "/status/", "/.well-known/", "/contexts/")
WITHOUT_ACCOUNT = ("/c/",)

Answering = Callable[[HttpRequest], HttpResponse]


class OwnLanguage:
    """The language of whoever is signed in; else of the browser; for programs English.

    No cache keeps a page of ours, so no answer has to say that it varies.
    """

    def __init__(self, answer: Answering) -> None:
        self.answer = answer

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if request.path.startswith(FOR_PROGRAMS):
            with translation.override(ENGLISH):
                return self.answer(request)
        language = language_of(request)
        with translation.override(language):
            response = self.answer(request)
        if response.get("Content-Type", "").startswith("text/html"):
            response["Content-Language"] = language
        return response


def language_of(request: HttpRequest) -> str:
    """What the person chose, wherever they sign in; else what this browser asks for."""
    signed_in = settings.SESSION_COOKIE_NAME in request.COOKIES
    if signed_in and not request.path.startswith(WITHOUT_ACCOUNT):
        chosen = getattr(request.user, "language", "")
        if chosen in dict(settings.LANGUAGES):
            return str(chosen)
    return get_language_from_request(request)


def later(text: str) -> str:
    """A text that is said in the reader's language when it is shown, not when it is written.

    Typed as the text it behaves as; `str()` before it is joined to others.
    """
    return cast(str, gettext_lazy(text))


def spoken(text: str) -> str:
    """What a rule says, in the reader's language; what no catalogue knows stays as it is.

    A sentence made by `protocols.said` is translated by its form, and its values, which may be
    sentences again, are said each by itself.
    """
    if not text or translation.get_language() == ENGLISH:
        return text
    if not isinstance(text, Said):
        return written(str(text))
    values = {name: _value(one) for name, one in text.values.items()}
    told = gettext(text.form).format(**values)
    return told[:1].upper() + told[1:] if text.capital else told


def _value(value: object) -> object:
    """A value inside a sentence, which may be a sentence itself."""
    return spoken(value) if isinstance(value, str) else Figure(value)


@dataclass(frozen=True, slots=True)
class Figure:
    """A value that is formatted as the form of a sentence wants it, with the reader's mark."""

    value: object

    def __format__(self, how: str) -> str:
        return figure(format(self.value, how))


def written(text: str) -> str:
    """A text that stands alone: a number, a moment, or words of a catalogue."""
    if FIGURE.fullmatch(text):
        return figure(text)
    if found := MOMENT.fullmatch(text):
        return f"{gettext(found[1])} {found[2]} {gettext(found[3])} {found[4]}"
    return gettext(text) if text else text


def figure(text: str) -> str:
    """A number as people write it: its point is a comma in some languages."""
    mark = str(formats.get_format("DECIMAL_SEPARATOR"))
    return text if mark == "." or not FIGURE.fullmatch(text) else text.replace(".", mark)


def weekday(day: date) -> str:
    """`Mon`, in the reader's language."""
    return gettext(clocks.DAYS[day.weekday()])


def month(day: date) -> str:
    """`Mar`, in the reader's language."""
    return gettext(clocks.MONTHS[day.month - 1])


def day_text(day: date) -> str:
    """`Mon 29 Mar 2027`, with the names of the reader's language."""
    return f"{weekday(day)} {day.day} {month(day)} {day.year}"


def local_text(moment: datetime, zone: ZoneInfo) -> str:
    """The moment as the clocks of `zone` show it, `Mon 29 Mar 2027 11:00 CEST`."""
    return written(clocks.local_text(moment, zone))
