"""Whom a site calls for what, by role, and when they are left alone. A rule of the site."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from api.pages.asking import Told, send
from api.pages.fields import Several
from api.pages.forms import recorded, show_form
from api.pages.shell import Here, here, page
from api.pages.words import plain
from protocols.quiet import SORTS
from stock import access
from stock.answers import Answered
from stock.doors.door import Asking
from stock.doors.sites import set_rules
from stock.queries.sites import newest_seq, rules_said

ROLES = ("keeper", "manager", "veterinarian")
WORDS = {
    "reminder": gettext_lazy("What comes up"),
    "escalation": gettext_lazy("What its planned time has passed for"),
    "overdue": gettext_lazy("What is over its limit"),
    "resolved": gettext_lazy("That it is resolved"),
    "alarm": gettext_lazy("Alarms: ammonia, probes, tablets"),
    "news": gettext_lazy("Rooms that are closed or open again"),
}


class CallsForm(Told):
    """For each role what it hears of, and its quiet hours."""

    WITHOUT = Told.ABOUT[:1] + Told.ABOUT[2:]

    def __init__(self, *args: Any, now: Mapping[str, Any], **options: Any) -> None:
        super().__init__(*args, **options)
        for role in ROLES:
            said = now.get(role, {})
            name = plain(role).capitalize()
            self.fields[f"hears_{role}"] = Several(
                [(one, WORDS[one]) for one in SORTS],
                required=False,
                label=_("%(role)s hears of") % {"role": name},
                initial=said.get("hears", SORTS),
            )
            for end, words in (
                ("from", _("%(role)s is left alone from") % {"role": name}),
                ("to", _("%(role)s is left alone until") % {"role": name}),
            ):
                self.fields[f"quiet_{end}_{role}"] = forms.RegexField(
                    r"^([01]\d|2[0-3]):[0-5]\d$",
                    required=False,
                    label=words,
                    initial=said.get(f"quiet_{end}", ""),
                    help_text=_("Such as 22:00; empty for never."),
                )

    def clean(self) -> dict[str, Any]:
        given = super().clean()
        for role in ROLES:
            begins, ends = (given.get(f"quiet_{end}_{role}") for end in ("from", "to"))
            if bool(begins) is not bool(ends):
                text = _("Quiet hours have a beginning and an end.")
                self.add_error(f"quiet_to_{role}", text)
        return given

    def said(self) -> list[dict[str, Any]]:
        """The rule that the form says."""
        return [self._of(role) for role in ROLES]

    def _of(self, role: str) -> dict[str, Any]:
        given = self.cleaned_data
        found: dict[str, Any] = {"role": role, "hears": list(given[f"hears_{role}"])}
        if given[f"quiet_from_{role}"]:
            found |= {f"quiet_{end}": given[f"quiet_{end}_{role}"] for end in ("from", "to")}
        return found


@page
@require_http_methods(["GET", "HEAD", "POST"])
def call_settings(request: HttpRequest, site: UUID) -> HttpResponse:
    """From now on; other rules of the site stay as they are."""
    at = here(request, site, access.MANAGERS)
    rules = rules_said(site)
    now = {one["role"]: one for one in rules.get("calls", ())}
    form = CallsForm(request.POST or None, at=at, now=now)
    done = send(request, form, lambda asked: _set(asked, at, form, rules))
    if done:
        recorded(request, done, _("Calls go out like this from now on."))
        return redirect("calls", site)
    return show_form(
        request,
        at,
        form,
        _("Who is called"),
        do=_("Call like this"),
        back=("calls", site),
        current="calls",
        lead=_(
            "What cannot wait goes to who is on call. Where nobody is, quiet hours do not "
            "hold: animals come first. Whoever is on shift hears everything."
        ),
    )


def _set(asked: Asking, at: Here, form: CallsForm, rules: Mapping[str, Any]) -> Answered:
    return set_rules(
        asked,
        site=at.site.uid,
        rules={**rules, "calls": form.said()},
        in_force_from=asked.now,
        version=newest_seq("rules_set", at.site.uid),
    )
