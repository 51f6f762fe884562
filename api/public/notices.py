"""The box on a certificate's page: be told when it changes, and no longer with one touch.

No cookie and no sign-in stand behind these addresses, so there is nothing to forge: whoever has
the link in a letter reads that mail. Programs that look at links before people do only GET.
"""

from django import forms
from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import get_language
from django.utils.translation import gettext_lazy as lazy
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods, require_POST

from api.limits import place_of
from api.public.answers import unlisted
from stock import clock
from stock.doors.buyers import (
    address_by_link,
    confirm_address,
    leave_address,
    remove_address,
)
from stock.queries.public import certificate_at, number_of
from stock.refusals import Refused


class AddressForm(forms.Form):
    address = forms.EmailField(
        max_length=254,
        label=lazy("Your mail address"),
        widget=forms.EmailInput(attrs={"autocomplete": "email"}),
        error_messages={
            "required": lazy("Type a mail address."),
            "invalid": lazy("That is no mail address."),
        },
    )


def may_be_told() -> bool:
    """Whether this service can write letters that lead back to it."""
    return bool(settings.MAIL and settings.ADDRESS)


@csrf_exempt
@require_POST
def ask(request: HttpRequest, code: str) -> HttpResponse:
    """Leave an address. The answer is the same whether it was there before or not."""
    row = certificate_at(code.lower())
    if row is None or not may_be_told():
        return unlisted(render(request, "public/nothing.html", status=404))
    form = AddressForm(request.POST)
    if not form.is_valid():
        return _shown(request, row.number, "asking", 400, form)
    try:
        leave_address(
            row,
            form.cleaned_data["address"],
            language=get_language() or "en",
            place=place_of(request),
            at=clock.now(row.site_id),
        )
    except Refused as refused:
        form.add_error("address", str(refused))
        return _shown(request, row.number, "asking", 429, form)
    return _shown(request, row.number, "asked", 200)


@csrf_exempt
@require_http_methods(["GET", "HEAD", "POST"])
def notice(request: HttpRequest, secret: str) -> HttpResponse:
    """What the link in a letter leads to: say yes, or take the address back."""
    row = address_by_link(secret, clock.now(None))
    if row is None:
        return unlisted(render(request, "public/notice_over.html", status=404))
    number = number_of(row.certificate)
    if request.method != "POST":
        return _shown(request, number, "told" if row.confirmed_at else "waiting")
    if "confirm" in request.POST:
        confirm_address(row, clock.now(row.site))
        return _shown(request, number, "told")
    remove_address(row)
    return _shown(request, number, "gone")


def _shown(
    request: HttpRequest,
    number: str,
    step: str,
    status: int = 200,
    form: AddressForm | None = None,
) -> HttpResponse:
    context = {"number": number, "step": step, "form": form}
    return unlisted(render(request, "public/notice.html", context, status=status))
