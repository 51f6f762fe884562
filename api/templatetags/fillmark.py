"""Tags and filters of every page: `{% load fillmark %}`."""

from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django import template
from django.forms import (
    BaseForm,
    BoundField,
    ChoiceField,
    DecimalField,
    FloatField,
    IntegerField,
)
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from api.language import local_text, spoken
from api.pages import pictures
from api.pages.parts import Night, Table
from api.pages.pictures import EMPTY, Hatch
from api.pages.words import plain
from protocols.clocks import elapsed_text, utc_text
from protocols.uids import uid_or_none

register = template.Library()

_NO_NUMBER_ATTRIBUTES = {"min": False, "max": False, "step": False}

register.simple_tag(pictures.water_clock)
register.simple_tag(pictures.rack)
register.simple_tag(pictures.series_strip)
register.simple_tag(pictures.balance_bar)
register.simple_tag(pictures.balance_table)
register.simple_tag(pictures.qr)
register.simple_tag(pictures.ammonia_curve)
register.simple_tag(pictures.range_strip)


@register.simple_tag
def three_nights(night: Night, text: str = "") -> SafeString:
    """The strip of one stay; `text` is its remaining time in words."""
    return pictures.three_nights(
        night.began, night.limit, night.now, night.dark, night.planned, night.ended, text=text
    )


@register.simple_tag
def swatch(hatch: str) -> SafeString:
    """A sample of a hatch, by its name or by the state of an empty vessel; none for ready."""
    found = EMPTY.get(hatch) or (Hatch(hatch) if hatch in set(Hatch) else None)
    return pictures.swatch(found) if found else SafeString("")


# -- Time --------------------------------------------------------------------------------------


@register.filter
def elapsed(seconds: int) -> str:
    """Seconds as elapsed hours: `71:40`, with seconds only where there are any."""
    return elapsed_text(timedelta(seconds=seconds))


@register.filter
def local(moment: datetime, zone: ZoneInfo) -> str:
    """A moment as the clocks of a zone show it, with the zone."""
    return local_text(moment, zone)


@register.simple_tag
def moment(at: datetime, zone: ZoneInfo) -> SafeString:
    """A moment that people and programs can read."""
    return format_html('<time datetime="{}">{}</time>', utc_text(at), local_text(at, zone))


@register.simple_tag
def remaining(left_s: int) -> SafeString:
    """What is left, or how much it is over, in large; a script keeps it right meanwhile."""
    return format_html(
        '<span class="remaining{}" data-left="{}"><b>{}</b> <span>{}</span></span>',
        " is-over" if left_s < 0 else "",
        left_s,
        figures(left_s),
        _("over") if left_s < 0 else _("left"),
    )


def figures(left_s: int) -> str:
    """Hours and minutes of a span, whichever its sign; under a minute the seconds too."""
    size = abs(left_s)
    return elapsed_text(timedelta(seconds=size if size < 60 else size // 60 * 60))


@register.filter
def plain_state(code: object) -> str:
    """A code of ours as people say it."""
    return plain(code)


@register.filter(name="spoken")
def in_own_language(text: str) -> str:
    """What a rule or a protocol version says, in the reader's language."""
    return spoken(text)


@register.filter
def all_spoken(texts: Iterable[str]) -> str:
    """Several of them in one line."""
    return ", ".join(spoken(one) for one in texts)


# -- Forms and tables --------------------------------------------------------------------------


@register.simple_tag
def keypad(field: BoundField) -> SafeString:
    """The input of a field, with the keypad that fits it.

    Figures are a text input: a number input changes under a wet thumb and eats a comma.
    """
    attributes: dict[str, Any] = {}
    if isinstance(field.field, IntegerField):  # what the others are made from
        whole = not isinstance(field.field, (DecimalField, FloatField))
        field.field.widget.input_type = "text"
        attributes = _NO_NUMBER_ATTRIBUTES | {
            "inputmode": "numeric" if whole else "decimal",
            "autocomplete": "off",
        }
    return field.as_widget(attrs=attributes)


@register.filter
def is_choice(field: BoundField) -> bool:
    """Whether a field is a list of rows to touch, which needs a legend instead of a label."""
    return field.widget_type in ("radioselect", "checkboxselectmultiple")


@register.filter
def scans(form: BaseForm) -> bool:
    """Whether a form asks for things that bear a label: some of its choices are uids."""
    return any(_is_of_things(field) for field in form.fields.values())


def _is_of_things(field: object) -> bool:
    """Whether the values of a choice are uids, those in groups included."""
    if not isinstance(field, ChoiceField):
        return False
    choices: Any = field.choices
    flat = (
        value
        for first, second in choices
        for value in ([one for one, _ in second] if isinstance(second, list) else [first])
    )
    return any(uid_or_none(str(value)) is not None for value in flat)


@register.filter
def is_tick(field: BoundField) -> bool:
    return field.widget_type == "checkbox"


@register.filter
def cells(table: Table) -> Iterator[list[tuple[str, object, bool]]]:
    """Rows of (column, cell, whether the column holds figures)."""
    for row in table.rows:
        yield [
            (table.columns[place], cell, place in table.numeric)
            for place, cell in enumerate(row)
        ]
