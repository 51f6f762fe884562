"""How somebody signs in: their PIN code and their second factor. Theirs alone, so no fact."""

from typing import Any
from uuid import UUID

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy
from django.views.decorators.http import require_http_methods

from api.pages.acting import stronger
from api.pages.pictures.codes import qr
from api.pages.shell import Here, here, page, show
from api.pages.sign_in import CodeForm, say
from api.pages.who import NewPinForm
from protocols.one_time import provisioning_uri
from protocols.proofs import Proof, is_enough
from stock.doors import second_factor
from stock.doors.pins import choose_pin
from stock.refusals import Refused

METHODS = ["GET", "HEAD", "POST"]
SECRET = "new_secret"  # noqa: S105  # where in the session it is kept


@page
@require_http_methods(METHODS)
def own_sign_in(request: HttpRequest, site: UUID) -> HttpResponse:
    """Choose a PIN code; set a second factor up, or end it by its own code."""
    at = here(request, site)
    what = request.POST.get("what", "")
    if what == "second-factor":
        return _begin(request, at)
    pin = NewPinForm(request.POST if what == "pin" else None, auto_id="pin_%s")
    code = EndForm(request.POST if what == "end" else None, auto_id="end_%s")
    status = 400 if what else 200
    try:
        if what == "pin" and pin.is_valid():
            choose_pin(at.person, pin=pin.cleaned_data["pin"])
            messages.success(request, _("This is your PIN code from now on."))
            return redirect("own-sign-in", site)
        if what == "end" and code.is_valid():
            second_factor.end(at.person, code=code.cleaned_data["code"], at=at.now)
            messages.success(request, _("No code is asked for any more."))
            return redirect("own-sign-in", site)
    except Refused as refused:
        status = say(pin if what == "pin" else code, refused)
    context = {
        "pin": pin,
        "end": code,
        "person": at.person,
        "by_pin": at.person.proof is Proof.PIN,
        "back": reverse("shift", args=[site]),
    }
    return show(request, at, "own_sign_in", context, current="own-sign-in", status=status)


@page
@require_http_methods(METHODS)
def set_up_code(request: HttpRequest, site: UUID) -> HttpResponse:
    """The secret as a QR code and in letters, and its first code; then the recovery codes."""
    at = here(request, site)
    secret = request.session.get(SECRET)
    if secret is None:
        return redirect("own-sign-in", site)
    form = CodeForm(request.POST or None)
    form.fields["code"].help_text = ""
    status = 400 if form.is_bound else 200
    if form.is_valid():
        try:
            codes = second_factor.set_up(
                at.person, secret=secret, code=form.cleaned_data["code"], at=at.now
            )
            del request.session[SECRET]
            stronger(request)
            return show(request, at, "recovery_codes", {"codes": codes})
        except Refused as refused:
            status = say(form, refused)
    uri = provisioning_uri(secret, account=at.person.email, issuer="Fillmark")
    context = {
        "form": form,
        "picture": qr(uri, title=_("QR code for an authenticator"), desc=_("Holds the secret")),
        "secret": " ".join(secret[n : n + 4] for n in range(0, len(secret), 4)),
        "back": reverse("own-sign-in", args=[site]),
    }
    return show(request, at, "second_factor", context, status=status)


class EndForm(CodeForm):
    """The code that proves that it is theirs to end."""

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["code"].widget = forms.TextInput(attrs={"autocomplete": "one-time-code"})
        self.fields["code"].label = lazy("End it: a code that is right now")


def _begin(request: HttpRequest, at: Here) -> HttpResponse:
    """A secret that counts once its first code was right."""
    if stands := is_enough(at.person.proof, needed=False):
        raise Refused(*stands)
    request.session[SECRET] = second_factor.new_secret()
    return redirect("second-factor", at.site.uid)
