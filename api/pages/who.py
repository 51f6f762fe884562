"""A tablet that is handed on: who is here, who is coming, who goes."""

from typing import Any
from uuid import UUID

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy
from django.views.decorators.http import require_http_methods, require_POST

from api.pages.acting import act_as, is_locked, leave
from api.pages.halfway import Half, asked_for, begin_half, half_of, onward
from api.pages.shell import page, public
from api.pages.sign_in import let_in, say
from api.pages.tablet import MOST_PEOPLE, people_here, tablet_of
from protocols.proofs import Proof
from stock import clock
from stock.doors.pins import choose_pin, is_pin_open, try_pin
from stock.queries.tablets import works_with
from stock.refusals import Refused


def pin_field(label: Any, **more: Any) -> forms.CharField:
    attrs = {"inputmode": "numeric", "autocomplete": "off", **more}
    return forms.CharField(
        max_length=8,
        label=label,
        widget=forms.PasswordInput(attrs=attrs),
        error_messages={"required": lazy("Type the PIN code.")},
    )


class PinForm(forms.Form):
    pin = pin_field(lazy("PIN code"), autofocus=True)


class NewPinForm(forms.Form):
    pin = pin_field(lazy("Your own PIN code"), autofocus=True)
    again = pin_field(lazy("Once more"))
    pin.help_text = lazy("4 to 8 digits that you alone know.")

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        if given.get("pin") and given.get("again") and given["pin"] != given["again"]:
            self.add_error("again", _("These are two different codes."))
        return given


@public
@require_http_methods(["GET", "HEAD"])
def who_is_here(request: HttpRequest) -> HttpResponse:
    """Everybody who may work with this tablet, those who are here first."""
    tablet = tablet_of(request)
    if tablet is None:
        return redirect("start")
    here = people_here(request)
    known = [one.uid for one in here]
    wanted = urlencode({"next": asked_for(request)}) if asked_for(request) else ""
    context = {
        "tablet": tablet,
        "locked": is_locked(request),
        "here": here,
        "others": [one for one in works_with(tablet) if one.uid not in known],
        "query": f"?{wanted}" if wanted else "",
        "back": onward(request, asked_for(request)) if here else "",
    }
    return render(request, "pages/who.html", context)


@public
@require_http_methods(["GET", "HEAD", "POST"])
def pin(request: HttpRequest, uid: UUID) -> HttpResponse:
    """One person's PIN code; after five wrong ones at this tablet only the password."""
    tablet = tablet_of(request)
    person = None if tablet is None else works_with(tablet).filter(uid=uid).first()
    if tablet is None or person is None:
        return redirect("who-is-here")
    now = clock.now(tablet.site)
    wanted, beside = asked_for(request), request.POST.get("how") == "beside"
    form = PinForm(request.POST or None)
    status = 400 if form.is_bound else 200
    if form.is_valid():
        try:
            try_pin(person, pin=form.cleaned_data["pin"], tablet=tablet.uid, at=now)
            if person.pin_to_change:
                begin_half(request, Half(str(uid), "pin", wanted, beside))
                return redirect("new-pin")
            return let_in(request, person, Proof.PIN, wanted, beside=beside)
        except Refused as refused:
            status = say(form, refused)
    here = people_here(request)
    context = {
        "form": form,
        "person": person,
        "open": is_pin_open(person, tablet.uid, now),
        "beside": here[0] if len(here) == MOST_PEOPLE - 1 and here[0].uid != uid else None,
        "here": here,
        "next": wanted,
        "query": "?" + urlencode({"next": wanted}),
    }
    return render(request, "pages/pin.html", context, status=status)


@public
@require_http_methods(["GET", "HEAD", "POST"])
def new_pin(request: HttpRequest) -> HttpResponse:
    """A code of their own instead of the first one that somebody gave them."""
    found = half_of(request, "pin")
    if found is None:
        return redirect("who-is-here")
    half, person = found
    form = NewPinForm(request.POST or None)
    status = 400 if form.is_bound else 200
    if form.is_valid():
        try:
            choose_pin(person, pin=form.cleaned_data["pin"])
            return let_in(request, person, Proof.PIN, half.wanted, beside=half.beside)
        except Refused as refused:
            status = say(form, refused)
    context = {
        "form": form,
        "heading": _("Choose your own PIN code"),
        "lead": _("%(name)s, somebody else gave you the first one.") % {"name": person.name},
        "do": _("Use this code"),
        "back": "who-is-here",
    }
    return render(request, "pages/one_form.html", context, status=status)


@public
@require_POST
def act(request: HttpRequest, uid: UUID) -> HttpResponse:
    """The other one of two who are here acts from now on."""
    if not act_as(request, uid):
        return redirect("who-is-here")
    return redirect(onward(request, asked_for(request)))


@public
@require_POST
def go(request: HttpRequest, uid: UUID) -> HttpResponse:
    """Somebody leaves the tablet; what they entered and was not sent stays on it."""
    leave(request, uid)
    return redirect("who-is-here")


@page
@require_http_methods(["GET", "HEAD", "POST"])
def kept_form(request: HttpRequest) -> HttpResponse:
    """What was pressed while the tablet was locked: recorded once its person says so again."""
    kept = request.session.get("kept")
    if request.method == "POST" or not kept:
        request.session.pop("kept", None)
        return redirect("start")
    fields = [tuple(one) for one in kept["fields"]]
    context = {
        "path": kept["path"],
        "fields": fields,
        "shown": [one for one in fields if one[0] not in ("request_key", "next") and one[1]],
        "away": reverse("kept-form"),
    }
    return render(request, "pages/kept_form.html", context)
