"""Signing in by address and password, with a code where there is one; the first page."""

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy
from django.views.decorators.http import require_http_methods, require_POST

from api.limits import place_of
from api.pages.acting import begin, leave
from api.pages.halfway import Half, asked_for, begin_half, half_of, onward
from api.pages.shell import page, person_of, public
from api.pages.tablet import tablet_of
from api.rest.problems import status_of
from protocols.proofs import Proof
from stock import clock
from stock.access import Person
from stock.doors import second_factor
from stock.doors.pins import open_pin
from stock.doors.sign_in import check_password_of
from stock.queries.sign_ins import held_by, is_set_up
from stock.refusals import Refused


class SignInForm(forms.Form):
    email = forms.CharField(
        max_length=254,
        label=lazy("Mail address"),
        widget=forms.EmailInput(attrs={"autocomplete": "username", "autofocus": True}),
        error_messages={"required": lazy("Type your mail address.")},
    )
    password = forms.CharField(
        max_length=200,
        label=lazy("Password"),
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
        error_messages={"required": lazy("Type your password.")},
    )


class CodeForm(forms.Form):
    code = forms.CharField(
        max_length=40,
        label=lazy("The code that your authenticator shows now"),
        help_text=lazy("Or one of your recovery codes."),
        widget=forms.TextInput(attrs={"autocomplete": "one-time-code", "autofocus": True}),
        error_messages={"required": lazy("Type the code.")},
    )


@public
@require_http_methods(["GET", "HEAD", "POST"])
def sign_in(request: HttpRequest) -> HttpResponse:
    """Address and password; the same words whichever of them is wrong."""
    if not is_set_up():
        return redirect("first-run")
    form = SignInForm(request.POST or None)
    status = 400 if form.is_bound else 200
    if form.is_valid():
        given = form.cleaned_data
        try:
            person = check_password_of(
                email=given["email"],
                password=given["password"],
                place=place_of(request),
                at=clock.now(),
            )
            return go_on(request, person, beside=request.POST.get("how") == "beside")
        except Refused as refused:
            status = say(form, refused)
    context = {"form": form, "next": asked_for(request), "tablet": tablet_of(request)}
    return render(request, "pages/sign_in.html", context, status=status)


def go_on(request: HttpRequest, person: Person, *, beside: bool) -> HttpResponse:
    """The password was right: to the code where there is one, else in."""
    if person.second_factor:
        begin_half(request, Half(str(person.uid), "code", asked_for(request), beside))
        return redirect("sign-in-code")
    return let_in(request, person, Proof.PASSWORD, asked_for(request), beside=beside)


def let_in(
    request: HttpRequest, person: Person, proof: Proof, wanted: str, *, beside: bool
) -> HttpResponse:
    """Begin, and lead to where somebody wanted to go."""
    begin(request, person, proof, beside=beside)
    tablet = tablet_of(request)
    if tablet is not None and proof is not Proof.PIN:
        open_pin(person, tablet.uid)
    if "kept" in request.session:
        return redirect("kept-form")
    return redirect(onward(request, wanted))


@public
@require_http_methods(["GET", "HEAD", "POST"])
def sign_in_code(request: HttpRequest) -> HttpResponse:
    """The code of the second factor, within ten minutes of the password."""
    found = half_of(request, "code")
    if found is None:
        return redirect("sign-in")
    half, person = found
    form = CodeForm(request.POST or None)
    status = 400 if form.is_bound else 200
    if form.is_valid():
        try:
            code = form.cleaned_data["code"]
            second_factor.check_code(person, code=code, at=clock.now())
            proof = Proof.SECOND_FACTOR
            return let_in(request, person, proof, half.wanted, beside=half.beside)
        except Refused as refused:
            status = say(form, refused)
    context = {
        "form": form,
        "heading": _("Your second factor"),
        "lead": _("%(name)s, your password is right.") % {"name": person.name},
        "do": _("Sign in"),
        "back": "sign-in",
    }
    return render(request, "pages/one_form.html", context, status=status)


def say(form: forms.Form, refused: Refused) -> int:
    """Put a refusal beside the field it points to; the status of the answer."""
    for one in refused.reasons:
        name = (one.pointer or "").strip("/")
        form.add_error(name if name in form.fields else None, one.text)
    status = min(status_of(one.code) for one in refused.reasons)
    # What is wrong in a form is wrong in the form; too often stays what it is.
    return status if status in (429, 503) else 400


@public
@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    """Whoever acts goes; at a tablet the one beside them stays."""
    leave(request)
    return redirect("who-is-here" if tablet_of(request) else "sign-in")


@page
def start(request: HttpRequest) -> HttpResponse:
    """To the shift: at a tablet of its site, else of the person's first one."""
    held = held_by(person_of(request))
    if not held:
        return render(request, "pages/nowhere.html")
    tablet = tablet_of(request)
    sites = [one.site.uid for one in held]
    return redirect("shift", tablet.site if tablet and tablet.site in sites else sites[0])
