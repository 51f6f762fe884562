"""Signing in and out, and the first page of all."""

from django import forms
from django.contrib.auth import authenticate, login, logout
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_http_methods, require_POST

from api.pages.shell import page, person_of, public
from stock.queries.sign_ins import held_by, is_set_up


class SignInForm(forms.Form):
    email = forms.CharField(
        max_length=254,
        label="Mail address",
        widget=forms.EmailInput(attrs={"autocomplete": "username", "autofocus": True}),
        error_messages={"required": "Type your mail address."},
    )
    password = forms.CharField(
        max_length=200,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
        error_messages={"required": "Type your password."},
    )


@public
@require_http_methods(["GET", "HEAD", "POST"])
def sign_in(request: HttpRequest) -> HttpResponse:
    """Address and password; the same words whichever of them is wrong."""
    if not is_set_up():
        return redirect("first-run")
    form = SignInForm(request.POST or None)
    if form.is_valid():
        given = form.cleaned_data
        person = authenticate(request, username=given["email"], password=given["password"])
        if person is not None:
            login(request, person)
            return redirect(_onward(request))
        form.add_error(None, "Mail address or password is not right.")
    status = 400 if form.is_bound else 200
    return render(
        request,
        "pages/sign_in.html",
        {"form": form, "next": _asked_for(request)},
        status=status,
    )


@public
@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    logout(request)
    return redirect("sign-in")


@page
def start(request: HttpRequest) -> HttpResponse:
    """To the shift of the person's first site."""
    held = held_by(person_of(request))
    if not held:
        return render(request, "pages/nowhere.html")
    return redirect("shift", held[0].site.uid)


def _asked_for(request: HttpRequest) -> str:
    return request.POST.get("next") or request.GET.get("next") or ""


def _onward(request: HttpRequest) -> str:
    """Where somebody wanted to go before sign-in, if that is an address of ours."""
    wanted = _asked_for(request)
    ours = url_has_allowed_host_and_scheme(wanted, {request.get_host()}, request.is_secure())
    return wanted if ours else "/"
