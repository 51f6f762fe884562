"""Protocols: which there are, what one says, and a new version made from it."""

from collections.abc import Mapping, Sequence
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from api.pages.asking import send
from api.pages.links import link, when
from api.pages.parts import PageLink, Table
from api.pages.protocol_form import VersionForm
from api.pages.protocol_words import (
    FIRST,
    FIXED,
    LISTS,
    about,
    member_words,
    value_words,
    what_is_done,
)
from api.pages.shell import Here, here, page, show
from protocols.library.findings import Finding, Level
from protocols.library.lint import lint
from protocols.library.making import next_number, one_form, read_made, who_may_freeze
from protocols.library.writing import difference, members_of
from protocols.ruled import Reason
from protocols.versions import UnknownProtocol
from stock import access
from stock.doors.protocols import freeze_protocol
from stock.queries.fallow import systems_of
from stock.queries.protocols import Shown, keys_of, used_by, version_of, versions_of
from stock.refusals import NotFound, Refused, refuse

STAGES = {
    "moves": "Moves, then observation",
    "observation": "Observation",
    "bath": "Baths",
    "ramp": "Ramps",
    "dose": "Doses",
    "fallow": "Systems without fish",
}


@page
@require_safe
def protocols(request: HttpRequest, site: UUID) -> HttpResponse:
    """Every version by what it is about, the house's own with when they were frozen."""
    at = here(request, site)
    found = versions_of(at.person.organisation)
    used = used_by(at.person.organisation)
    tables = [
        Table(
            words,
            (_("Version"), _("What it is about"), _("Frozen"), _("Batches")),
            [_row(one, used, at) for one in found if one.found.stage == stage],
            numeric=frozenset({3}),
        )
        for stage, words in STAGES.items()
    ]
    ways = [
        PageLink(
            _("System {label} without fish").format(label=one.label),
            reverse("fallow", args=[one.uid]),
        )
        for one in systems_of(site)
    ]
    return show(request, at, "protocols", {"tables": tables, "ways": ways}, current="protocols")


def _row(one: Shown, used: Mapping[str, int], at: Here) -> Sequence[object]:
    key = one.found.key
    said = about(one.found)
    if one.is_default:
        said += _(" (used unless another is chosen)")
    frozen = when(one.frozen_at, at.zone) if one.frozen_at else _("with the service")
    return link(key, "protocol", at.site.uid, key), said, frozen, used.get(key, "")


@page
@require_safe
def protocol(request: HttpRequest, site: UUID, key: str) -> HttpResponse:
    """One version: cautions first, what is done, when to stop, whom never, and its sources."""
    at = here(request, site)
    one = _known(at, key)
    said = members_of(one.text)
    context = {
        "one": one,
        "cautions": one.found.cautions,
        "done": list(what_is_done(said)),
        "about": about(one.found),
        "first": [(words, said[name]) for name, words in FIRST if said.get(name)],
        "lists": [(words, said[name]) for name, words in LISTS if said.get(name)],
        "findings": _said(lint(one.found)),
        "used": used_by(at.person.organisation).get(key, 0),
        "may_make": at.may(who_may_freeze(one.found)),
    }
    return show(request, at, "protocol", context, current="protocols")


@page
@require_http_methods(["GET", "HEAD", "POST"])
def new_version(request: HttpRequest, site: UUID, key: str) -> HttpResponse:
    """A new version: change it, look at the difference and the linter's answer, freeze it."""
    at = here(request, site, access.DECIDERS)
    old = _known(at, key)
    if not at.may(who_may_freeze(old.found)):
        raise Refused(refuse("wrong_role", _("Your role does not allow this.")))
    number = next_number(old.found.name, keys_of(at.person.organisation))
    form = VersionForm(request.POST or None, at=at, text=old.text, number=number)
    context: dict[str, Any] = {
        "form": form,
        "old": old,
        "new_key": f"{old.found.name}@{number}",
        "back": reverse("protocol", args=[site, key]),
    }
    if not form.is_valid():
        return _show_new(request, at, context)
    text = one_form(form.new_text())
    looked = _looked_at(old.text, text)
    if request.POST.get("step") == "freeze" and "unreadable" not in looked:
        answer = send(
            request, form, lambda asked: freeze_protocol(asked, made_from=key, text=text)
        )
        if answer:
            made = answer.body["protocol"]["protocol"]
            messages.success(request, _("{made} is frozen.").format(made=made))
            return redirect("protocol", site, made)
    return _show_new(request, at, context | looked)


def _show_new(request: HttpRequest, at: Here, context: Mapping[str, Any]) -> HttpResponse:
    form = context["form"]
    wrong = form.is_bound and (form.errors or "unreadable" in context)
    status = 409 if form.objections else 400 if wrong else 200
    return show(request, at, "protocol_new", context, current="protocols", status=status)


def _looked_at(before: str, after: str) -> dict[str, Any]:
    """The difference, what the linter says, and whether it may be frozen as it is."""
    found = read_made(after)
    if isinstance(found, Reason):
        return {"unreadable": found.text}
    changes = [one for one in difference(before, after) if one.member not in FIXED]
    findings = lint(found)
    return {
        "looked": True,
        "changes": Table(
            _("What is different"),
            (_("What"), _("Until now"), _("New")),
            [
                (
                    member_words(one.member),
                    value_words(one.member, one.before),
                    value_words(one.member, one.after),
                )
                for one in changes
            ],
            empty=_("Nothing is different yet."),
        ),
        "findings": _said(findings),
        "may_freeze": bool(changes) and all(one.level is Level.WARNING for one in findings),
    }


def _said(findings: Sequence[Finding]) -> list[tuple[str, Finding]]:
    words = {Level.ERROR: _("It may not be frozen"), Level.WARNING: _("To know")}
    return [(words[one.level], one) for one in findings]


def _known(at: Here, key: str) -> Shown:
    try:
        return version_of(at.person.organisation, key)
    except UnknownProtocol as error:
        raise NotFound from error
