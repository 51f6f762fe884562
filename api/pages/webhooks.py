"""Webhooks: which other programs are told of events here, and what each of them answered."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any, TypeVar
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from api.pages.asking import Told
from api.pages.forms import show_form
from api.pages.links import when
from api.pages.set_up_forms import SetUp
from api.pages.shell import Here, here, page, person_of, show
from api.pages.webhook_forms import ChangeForm, SecretForm, SinceForm, WebhookForm
from api.pages.webhook_shown import delivery_of, older_until, post, table_of
from api.pages.webhook_words import EVENTS, STATES
from stock import access
from stock.doors import webhooks as door
from stock.doors.webhooks import Webhook
from stock.queries.webhooks import (
    PAGE,
    codes_of,
    deliveries_of,
    waiting_for,
    webhook_for,
    webhooks_of,
)
from stock.refusals import NotFound, Refused

METHODS = ["GET", "HEAD", "POST"]
DIGITS_MOST = 18
# What is sent within this time is watched: the page shows itself anew.
SOON = timedelta(minutes=1)
T = TypeVar("T")


@page
@require_safe
def webhooks(request: HttpRequest, site: UUID) -> HttpResponse:
    """The programs that are told."""
    at = here(request, site, access.MANAGERS)
    context = {
        "table": table_of(webhooks_of(site), at),
        "add": reverse("add-webhook", args=[site]),
    }
    return show(request, at, "webhooks", context, current="webhooks")


@page
@require_http_methods(METHODS)
def add(request: HttpRequest, site: UUID) -> HttpResponse:
    """Tell one more program; its secret is shown this once."""
    at = here(request, site, access.MANAGERS)
    form = WebhookForm(request.POST or None, at=at)
    made = _done(
        form,
        lambda given: door.make_webhook(
            at.person,
            site=site,
            label=given["label"],
            address=given["address"],
            kinds=given["kinds"],
            at=at.now,
        ),
    )
    if made is not None:
        return _secret(request, at, *made)
    return show_form(
        request,
        at,
        form,
        _("Tell another program"),
        do=_("Tell it from now on"),
        back=("webhooks", site),
        current="webhooks",
        lead=_("What is sent holds codes, counts and times, and no names of people."),
    )


@page
@require_safe
def webhook(request: HttpRequest, uid: UUID) -> HttpResponse:
    """One of them: how it stands, and what it answered, the newest first."""
    row, at = _at(request, uid)
    before = request.GET.get("before", "")
    older = before.isascii() and before.isdigit() and len(before) <= DIGITS_MOST
    found = deliveries_of(row, before=int(before) if older else None)
    active = row.state == Webhook.ACTIVE
    codes = codes_of(found)
    context = {
        "hook": row,
        "says": str(STATES[row.why or row.state]),
        "kinds": [words for name, words in EVENTS if name in row.kinds],
        "all": len(row.kinds) == len(EVENTS),
        "waiting": waiting_for(row),
        "older_until": older_until(row, at),
        "failing": when(row.failing_since, at.zone),
        "test": post(_("Send a test"), "test-webhook", uid),
        "end": post(_("Tell it nothing more"), "end-webhook", uid) if active else None,
        "resume": None if active else post(_("Go on telling it"), "resume-webhook", uid),
        "deliveries": [delivery_of(one, at, codes, active=active) for one in found],
        "next": found[-1].pk if len(found) == PAGE else None,
        "coming": any(one.is_coming and one.at <= at.now + SOON for one in found),
    }
    return show(request, at, "webhook", context, current="webhooks")


@page
@require_http_methods(METHODS)
def change(request: HttpRequest, uid: UUID) -> HttpResponse:
    """Other events, or another address."""
    row, at = _at(request, uid)
    form = ChangeForm(request.POST or None, at=at, initial={"kinds": row.kinds})
    done = _done(
        form,
        lambda given: door.change_webhook(
            at.person,
            uid=uid,
            at=at.now,
            kinds=given["kinds"],
            address=given["address"] or None,
        ),
    )
    if done is not None:
        messages.success(request, _("It is told like this from now on."))
        return redirect("webhook", uid)
    return _form(request, at, form, row, _("What {name} is told"), _("Tell it like this"))


@page
@require_http_methods(METHODS)
def renew(request: HttpRequest, uid: UUID) -> HttpResponse:
    """Another secret; it is shown this once."""
    row, at = _at(request, uid)
    form = SecretForm(request.POST or None, at=at)
    made = _done(
        form,
        lambda given: door.renew_secret(
            at.person, uid=uid, at=at.now, both=timedelta(hours=int(given["hours"]))
        ),
    )
    if made is not None:
        return _secret(request, at, *made)
    return _form(request, at, form, row, _("Another secret for {name}"), _("Make it anew"))


@page
@require_http_methods(METHODS)
def since(request: HttpRequest, uid: UUID) -> HttpResponse:
    """Send everything again since a moment, under the same names."""
    row, at = _at(request, uid)
    form = SinceForm(request.POST or None, at=at)
    coming = _done(
        form,
        lambda given: door.replay(
            at.person, uid=uid, at=at.now, since=form.moments.get("since")
        ),
    )
    if coming is not None:
        said = ngettext("%(n)d event is sent again.", "%(n)d events are sent again.", coming)
        messages.success(request, said % {"n": coming})
        return redirect("webhook", uid)
    return _form(request, at, form, row, _("Send to {name} again"), _("Send them again"))


@page
@require_POST
def again(request: HttpRequest, uid: UUID, no: int) -> HttpResponse:
    """Send one delivery again."""
    row, at = _at(request, uid)
    if no.bit_length() > 63:
        raise NotFound
    door.replay(at.person, uid=row.uid, at=at.now, delivery=no)
    messages.success(request, _("It is sent again."))
    return redirect("webhook", uid)


@page
@require_POST
def test(request: HttpRequest, uid: UUID) -> HttpResponse:
    row, at = _at(request, uid)
    door.test_webhook(at.person, uid=row.uid, at=at.now)
    messages.success(request, _("A test is on its way. Show this page again in a moment."))
    return redirect("webhook", uid)


@page
@require_POST
def end(request: HttpRequest, uid: UUID) -> HttpResponse:
    row, at = _at(request, uid)
    door.change_webhook(at.person, uid=row.uid, at=at.now, active=False)
    messages.success(request, _("It is told nothing more."))
    return redirect("webhook", uid)


@page
@require_POST
def resume(request: HttpRequest, uid: UUID) -> HttpResponse:
    row, at = _at(request, uid)
    door.change_webhook(at.person, uid=row.uid, at=at.now, active=True)
    said = _("It is told again from now on. What it missed is sent when you ask for it.")
    messages.success(request, said)
    return redirect("webhook", uid)


@page
@require_http_methods(METHODS)
def remove(request: HttpRequest, uid: UUID) -> HttpResponse:
    """Take it away for good, with what it answered."""
    row, at = _at(request, uid)
    if request.method == "POST":
        door.remove_webhook(at.person, uid=uid, at=at.now)
        messages.success(request, _("{name} is taken away.").format(name=row.label))
        return redirect("webhooks", at.site.uid)
    form = SetUp(at=at)
    lead = _("Its address, its secret and everything that it answered are forgotten.")
    heading, do = _("Take {name} away?"), _("Take it away for good")
    return _form(request, at, form, row, heading, do, lead=lead)


def _at(request: HttpRequest, uid: UUID) -> tuple[Webhook, Here]:
    row = webhook_for(person_of(request), uid)
    return row, here(request, row.site_id, access.MANAGERS)


def _done(form: Told, do: Callable[[dict[str, Any]], T]) -> T | None:
    """What the door gave; None where the form now says what is wrong."""
    if not form.is_valid():
        return None
    try:
        return do(form.cleaned_data)
    except Refused as refused:
        form.refused(refused, {})
        return None


def _form(
    request: HttpRequest, at: Here, form: Told, row: Webhook, heading: str, do: str, **more: str
) -> HttpResponse:
    return show_form(
        request,
        at,
        form,
        heading.format(name=row.label),
        do=do,
        back=("webhook", row.uid),
        current="webhooks",
        **more,
    )


def _secret(request: HttpRequest, at: Here, row: Webhook, secret: str) -> HttpResponse:
    context = {
        "hook": row,
        "secret": secret,
        "older_until": older_until(row, at),
        "back": reverse("webhook", args=[row.uid]),
    }
    return show(request, at, "webhook_secret", context, current="webhooks")
