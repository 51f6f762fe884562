"""A page that is one form."""

from collections.abc import Sequence
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from api.language import later
from api.pages.asking import Told
from api.pages.shell import Here, show
from stock.answers import Answered

PARKED = later("It is kept, but it does not fit the record yet. A manager settles it.")


def recorded(request: HttpRequest, answer: Answered, text: str) -> bool:
    """Say what was recorded; whether it fits the record, or waits for somebody to settle it."""
    fact = answer.body.get("fact")
    if fact and fact["parked"]:
        messages.warning(request, PARKED)
        return False
    messages.success(request, text)
    return True


def show_form(
    request: HttpRequest,
    at: Here,
    form: Told,
    heading: str,
    *,
    back: tuple[str, UUID],
    cautions: Sequence[str] = (),
    do: str = later("Record it"),
    current: str = "",
    **more: Any,
) -> HttpResponse:
    """A page that is one form with one large action."""
    context = {
        "form": form,
        "heading": heading,
        "do": do,
        "cautions": cautions,
        "cautions_more": cautions[1:],
        "back": reverse(back[0], args=[back[1]]),
        "entry_batch": back[1] if back[0] == "batch" else None,
        **more,
    }
    status = 409 if form.objections else 400 if form.is_bound and form.errors else 200
    return show(request, at, "form", context, current=current, status=status)
