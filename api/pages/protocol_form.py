"""The form of a new version: a field for every member of the one it is made from."""

import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext as _

from api.pages.asking import Told
from api.pages.fields import Figure, Words
from api.pages.protocol_words import FIXED, is_range, member_words, size_of, unit_of
from protocols.library.writing import leaves, members_of, with_leaves, written

LEAST, MOST = "#least", "#most"
LINES_MOST = 12_000


class Lines(forms.CharField):
    """Texts, one on each line."""

    def __init__(self, **options: Any) -> None:
        super().__init__(
            max_length=LINES_MOST, widget=forms.Textarea(attrs={"rows": 6}), **options
        )

    def clean(self, value: Any) -> list[str]:
        found = super().clean(value).splitlines()
        return [line.strip() for line in found if line.strip()]


class VersionForm(Told):
    """Every member of the old version, to be changed; number and name follow by themselves."""

    WITHOUT = ("when", "reason", "standing", "set_aside", "why_aside")

    def __init__(self, *args: Any, text: str, number: int, **options: Any) -> None:
        self.said: Mapping[str, Any] = members_of(text)
        self.number = number
        super().__init__(*args, **options)
        note = self.fields.pop("note")
        for place, value in leaves(self.said):
            if place not in FIXED:
                self.fields.update(_fields(place, value))
        if "title" not in self.said:
            self.fields["title"] = Words(label=member_words("title"), most=80)
        self.fields["note"] = note

    def new_text(self) -> str:
        """The text of the new version, from what was typed."""
        given, values = self.cleaned_data, {}
        for place, value in leaves(self.said):
            if place not in FIXED:
                values[place] = _typed(place, value, given)
        said = with_leaves(self.said, {**values, "version": self.number})
        if "title" not in said:
            said = _after_version(said, {"stage": "moves", "title": given["title"]})
        if "moves_least" in said:
            said |= _slack(said)
        return written(said)


def _after_version(said: Mapping[str, Any], more: Mapping[str, Any]) -> dict[str, Any]:
    head = {name: said[name] for name in ("name", "version")}
    return {**head, **more, **{name: one for name, one in said.items() if name not in head}}


def _slack(said: Mapping[str, Any]) -> dict[str, Any]:
    """The slack that these figures leave, said; nothing where they are no numbers."""
    figures = [said[name] for name in ("moves_least", "stay_limit_s", "span_least_s")]
    if not all(isinstance(one, int) for one in figures):
        return {}
    moves, limit, span = figures
    return {"slack_s": moves * limit - span}


def _fields(place: str, value: Any) -> dict[str, forms.Field]:
    words = member_words(place)
    match value:
        case bool():
            tick = forms.BooleanField(required=False, initial=value, label=words)
            return {place: tick}
        case int() if place.endswith("_s"):
            size, unit = size_of(value)
            shown = f"{Decimal(value) / size:f}"
            return {place: Figure(initial=shown, label=words, unit=unit)}
        case int():
            return {place: forms.IntegerField(initial=value, label=words)}
        case list() if is_range(value):
            pairs = ((LEAST, _("at least"), value[0]), (MOST, _("at most"), value[1]))
            return {
                place + end: Figure(initial=one, label=f"{words} {said}", unit=unit_of(place))
                for end, said, one in pairs
            }
        case list():
            lines = "\n".join(value)
            help_text = _("One on each line.")
            return {
                place: Lines(initial=lines, label=words, required=False, help_text=help_text)
            }
    if re.fullmatch(r"-?[0-9.]+", value):
        return {place: Figure(initial=value, label=words, unit=unit_of(place))}
    return {place: Words(initial=value, label=words, most=2000)}


def _typed(place: str, value: Any, given: Mapping[str, Any]) -> Any:
    """What was typed, in the form in which the definition keeps it."""
    if isinstance(value, int) and not isinstance(value, bool) and place.endswith("_s"):
        seconds = Decimal(given[place]) * size_of(value)[0]
        # Half a second is none, and the reader of the text says so.
        return int(seconds) if seconds == int(seconds) else str(seconds)
    if is_range(value):
        return [given[place + LEAST], given[place + MOST]]
    return given[place]
