"""Who works here: their roles, a first PIN code for them, the end of an account."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy
from django.views.decorators.http import require_http_methods, require_safe

from api.pages.asking import send
from api.pages.fields import Several
from api.pages.forms import show_form
from api.pages.links import link
from api.pages.parts import Table
from api.pages.set_up_forms import SetUp
from api.pages.shell import Here, here, page, show
from api.pages.sign_in import say
from api.pages.who import pin_field
from api.pages.words import named, plain
from protocols.kinds.places import ROLES
from stock import access
from stock.doors.people import change_person
from stock.doors.pins import give_first_pin
from stock.queries.colleagues import Colleague, colleagues
from stock.refusals import NotFound, Refused

METHODS = ["GET", "HEAD", "POST"]


class RolesForm(SetUp):
    roles = Several([(one, named(one)) for one in ROLES], label=lazy("What may they do here?"))


class FirstPinForm(SetUp):
    pin = pin_field(lazy("Their first PIN code"))
    pin.help_text = lazy("4 to 8 digits. They change it when they use it first.")


class EndForm(SetUp):
    """Nothing to type: that it was pressed says it."""


@page
@require_safe
def people(request: HttpRequest, site: UUID) -> HttpResponse:
    """Everybody with a role at this site, and how they sign in."""
    at = here(request, site, access.MANAGERS)
    columns = (_("Name"), _("Mail address"), _("Roles here"), _("Signs in by"), "")
    rows = [_row(one, at) for one in colleagues(site)]
    context = {
        "table": Table(_("Who works here"), columns, rows),
        "add": reverse("set-up-person", args=[site]),
        "tablets": reverse("tablets", args=[site]),
    }
    return show(request, at, "people", context, current="people")


@page
@require_http_methods(METHODS)
def person(request: HttpRequest, site: UUID, uid: UUID) -> HttpResponse:
    """Other roles for somebody at this site; what they may do elsewhere stays."""
    at, who = _of(request, site, uid)
    form = RolesForm(request.POST or None, at=at, initial={"roles": list(who.roles)})
    if send(request, form, lambda asked: _give(asked, at, who, form.cleaned_data["roles"])):
        messages.success(request, _("The roles of %(name)s are changed.") % {"name": who.name})
        return redirect("people", site)
    others = [
        {"text": _("Give a first PIN code"), "href": reverse("first-pin", args=[site, uid])},
        {"text": _("End the account"), "href": reverse("end-person", args=[site, uid])},
    ]
    return _form(request, at, form, who.name, do=_("Give these roles"), others=others)


@page
@require_http_methods(METHODS)
def first_pin(request: HttpRequest, site: UUID, uid: UUID) -> HttpResponse:
    """A code that somebody is told, and changes before anything else."""
    at, who = _of(request, site, uid)
    form = FirstPinForm(request.POST or None, at=at)
    if form.is_valid():
        try:
            give_first_pin(at.person, site=site, person=uid, pin=form.cleaned_data["pin"])
            told = _("Tell it to %(name)s alone. It is changed at its first use.")
            messages.success(request, told % {"name": who.name})
            return redirect("people", site)
        except Refused as refused:
            say(form, refused)
    heading = _("A first PIN code for %(name)s") % {"name": who.name}
    lead = _("A code there was before opens nothing any more.")
    return _form(request, at, form, heading, do=_("Give this code"), lead=lead)


@page
@require_http_methods(METHODS)
def end_person(request: HttpRequest, site: UUID, uid: UUID) -> HttpResponse:
    """They leave: their sign-ins end at once, what they told stays theirs."""
    at, who = _of(request, site, uid)
    form = EndForm(request.POST or None, at=at)
    if send(
        request,
        form,
        lambda asked: change_person(asked, uid=uid, roles=[], ended_at=at.now),
    ):
        messages.success(request, _("The account of %(name)s is ended.") % {"name": who.name})
        return redirect("people", site)
    heading = _("End the account of %(name)s") % {"name": who.name}
    lead = _(
        "From now on nobody signs in with it, anywhere. What they told stays on record under"
        " their name; entries that a tablet still holds are delivered by somebody else."
    )
    return _form(request, at, form, heading, do=_("End it"), lead=lead)


def _give(asked: Any, at: Here, who: Colleague, roles: list[str]) -> Any:
    held = [{"site": site, "role": role} for site, role in who.elsewhere]
    given = [{"site": at.site.uid, "role": role} for role in roles]
    return change_person(asked, uid=who.uid, roles=[*held, *given], ended_at=None)


def _of(request: HttpRequest, site: UUID, uid: UUID) -> tuple[Here, Colleague]:
    at = here(request, site, access.MANAGERS)
    found = colleagues(site, person=uid)
    if not found:
        raise NotFound
    return at, found[0]


def _row(one: Colleague, at: Here) -> tuple[object, ...]:
    ways = [_("password")]
    if one.second_factor:
        ways = [_("password and code")]
    if one.pin:
        ways.append(_("first PIN code, not used yet") if one.first_pin else _("PIN code"))
    return (
        one.name,
        one.email,
        ", ".join(plain(role) for role in one.roles),
        ", ".join(ways),
        link(_("Change"), "person", at.site.uid, one.uid),
    )


def _form(
    request: HttpRequest, at: Here, form: SetUp, heading: str, *, do: str, **more: Any
) -> HttpResponse:
    back = ("people", at.site.uid)
    return show_form(request, at, form, heading, back=back, do=do, current="people", **more)
