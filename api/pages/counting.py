"""Counts that are typed blind: a count that is asked for again keeps those before it."""

from typing import Any

from django import forms
from django.http import QueryDict

from api.language import later
from api.pages.asking import Told
from api.pages.fields import COUNT_MOST, Count

EARLIER_MOST = 9


class Recounted(Told):
    """A form with a count. What was typed before travels along, unseen and unchanged."""

    count = Count(least=0, label=later("How many do you count?"))
    earlier = forms.CharField(required=False, max_length=80, widget=forms.HiddenInput)

    def clean_earlier(self) -> tuple[int, ...]:
        typed = [one for one in self.cleaned_data["earlier"].split(",") if one.isdecimal()]
        return tuple(int(one[:7]) for one in typed[-EARLIER_MOST:])

    def before(self) -> tuple[int, ...]:
        """The counts of this attempt that came before the last one."""
        return tuple(self.cleaned_data.get("earlier") or ())

    def counts(self) -> tuple[int, ...]:
        """Every count of this attempt, the newest last."""
        given: dict[str, Any] = self.cleaned_data
        return (*self.before(), given["count"])

    def count_again(self) -> None:
        """After a refusal: keep the count that was typed and empty its field for another."""
        typed = str(self.data.get("count", "")).strip()
        asked_again = "count" in self.errors and typed.isdecimal() and int(typed) <= COUNT_MOST
        if not asked_again or not isinstance(self.data, QueryDict):
            return
        data = self.data.copy()
        data["earlier"] = ",".join([*(str(one) for one in self.before()), typed])
        data["count"] = ""
        self.data = data
