"""What somebody asks a report about: which days, which batch, and as it was known when."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django import forms
from django.utils.translation import gettext as _

from api.language import later
from protocols.hours import wall
from stock.queries.reports import Asked
from stock.queries.reports.known import Known, batch_by_code, known_now, known_on

DAY = timedelta(days=1)
SPAN_MOST = timedelta(days=5 * 366)
USUAL = timedelta(days=30)
FIRST_DAY, LAST_DAY = date(1900, 1, 1), date(9000, 1, 1)


@dataclass(frozen=True, slots=True)
class Question:
    """What was asked, and as of which entry it is answered."""

    asked: Asked
    known: Known
    first: date
    last: date
    batch: str = ""


class AskForm(forms.Form):
    """Days of the site's calendar, both included."""

    first = forms.DateField(
        label=later("First day"), widget=forms.DateInput(attrs={"type": "date"})
    )
    last = forms.DateField(
        label=later("Last day"), widget=forms.DateInput(attrs={"type": "date"})
    )
    known_on = forms.DateField(
        required=False,
        label=later("As it was known at the end of which day"),
        help_text=later("Left empty: as it is known now."),
        widget=forms.DateInput(attrs={"type": "date"}),
    )
    batch = forms.CharField(
        required=False,
        max_length=16,
        label=later("Only of one batch, by its code"),
    )

    def __init__(
        self, given: Mapping[str, Any], *, site: UUID, zone: ZoneInfo, now: datetime
    ) -> None:
        self.site, self.zone, self.now = site, zone, now
        today = now.astimezone(zone).date()
        usual = {"first": str(today - USUAL), "last": str(today)}
        asked = {name: given[name] for name in self.base_fields if given.get(name)}
        super().__init__({**usual, **asked})

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        days = [given[name] for name in ("first", "last", "known_on") if given.get(name)]
        if any(not FIRST_DAY <= day <= LAST_DAY for day in days):
            raise forms.ValidationError(_("There is no such day in these calendars."))
        first, last = given.get("first"), given.get("last")
        if first and last and not first <= last <= first + SPAN_MOST:
            self.add_error("last", _("At most five years, the first day first."))
        if code := given.get("batch"):
            given["of"] = batch_by_code(self.site, code.strip())
            if given["of"] is None:
                self.add_error("batch", _("There is no batch with this code here."))
        return given

    def question(self) -> Question:
        """Call it once the form is valid. Two queries."""
        given = self.cleaned_data
        day, first, last = given.get("known_on"), given["first"], given["last"]
        known = (
            known_on(self.site, day, self.zone, self.now)
            if day
            else known_now(self.site, self.now)
        )
        asked = Asked(
            site=self.site,
            zone=self.zone,
            begins=wall(first, 0, self.zone),
            ends=wall(last + DAY, 0, self.zone),
            known_by=known.known_by,
            at=known.at,
            batches=frozenset({given["of"]} if given.get("of") else ()),
        )
        return Question(asked, known, first, last, given.get("batch", ""))

    @staticmethod
    def within(found: Question, batches: Sequence[str]) -> Question:
        """The same about these batches at most, where any are named."""
        if found.asked.batches or not batches:
            return found
        only = frozenset(UUID(one) for one in batches)
        return replace(found, asked=replace(found.asked, batches=only))
