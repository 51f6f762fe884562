"""The page of a one-time link: somebody from outside confirms one late entry."""

from dataclasses import replace
from zoneinfo import ZoneInfo

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy
from django.views.decorators.http import require_http_methods

from api.pages.sentences import sentence
from api.public.answers import unlisted
from protocols.units import Units
from stock import clock
from stock.doors.door import Asking
from stock.doors.outside import confirm_by_link
from stock.queries.outside import OutsideSeen, outside_seen
from stock.queries.told import names_in
from stock.refusals import Refused


class OutsideForm(forms.Form):
    note = forms.CharField(
        max_length=1000,
        label=lazy("How do you know it?"),
        help_text=lazy("Such as: I stood beside it, and looked at the clock on the wall."),
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": lazy("Say how you know it.")},
    )


@require_http_methods(["GET", "HEAD", "POST"])
def outside_second(request: HttpRequest, secret: str) -> HttpResponse:
    """What was told late, and one key: it was so. Nothing of it once it was used or is over."""
    seen = outside_seen(secret)
    now = clock.now(seen.site.uid if seen else None)
    if seen is None or (seen.used_at is None and seen.expires_at <= now):
        return unlisted(render(request, "public/outside_over.html", status=404))
    form = OutsideForm(request.POST or None)
    status = 400 if form.is_bound else 200
    if seen.used_at is None and form.is_valid():
        try:
            confirm_by_link(_asking(seen, form.cleaned_data["note"]), seen)
            return unlisted(redirect("outside-second", secret))
        except Refused as refused:
            form.add_error(None, str(refused))
    what = names_in([seen.body])
    context = {
        "seen": seen,
        "what": sentence(
            seen.kind, seen.body, lambda uid: what.get(str(uid), _("something")), Units({})
        ),
        "zone": ZoneInfo(seen.site.zone),
        "form": form,
    }
    return unlisted(render(request, "public/outside.html", context, status=status))


def _asking(seen: OutsideSeen, note: str) -> Asking:
    """By the outsider, now; the link is the key, so a second press finds the first answer."""
    now = clock.now(seen.site.uid)
    asked = Asking(
        person=seen.person,
        key=f"outside-{seen.digest}",
        question=seen.digest,
        now=now,
        performed_at=now,
    )
    return replace(asked, note=note)
