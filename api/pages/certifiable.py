"""May it be certified? For one batch every reason at once; asking changes nothing."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_safe

from api.language import later
from api.pages.asking import Told, send
from api.pages.fields import Count, Words
from api.pages.forms import show_form
from api.pages.links import label, link, when
from api.pages.objections import objections, ways_on
from api.pages.parts import Table
from api.pages.shell import Here, here, page, person_of, show
from api.pages.words import plain
from api.public.addresses import address_of
from stock import access
from stock.answers import Answered
from stock.doors import certificates as doors
from stock.queries.batch_seen import batch_head
from stock.queries.certifiable import Candidate, candidates, certificates_seen
from stock.queries.certificates import certificate_check

BATCHES = (
    later("Batch"),
    later("Where"),
    later("Alive"),
    later("State"),
    later("At the earliest"),
    later("Stands against it"),
    later("Certificate"),
)
STANDING = ("valid", "partly", "suspended")


@page
@require_safe
def certifiable(request: HttpRequest, site: UUID) -> HttpResponse:
    """The batches of the site, those first that nothing known stands against."""
    at = here(request, site)
    rows = candidates(site)
    clear = sum(one.is_clear and one.certificate is None for one in rows)
    context = {
        "table": Table(
            _("Batches"),
            BATCHES,
            [_row(one, at) for one in rows],
            frozenset({2}),
            _("No batch is here."),
        ),
        "says": _("{clear} of {count} with nothing known against them").format(
            clear=clear, count=len(rows)
        ),
    }
    return show(request, at, "certifiable", context, current="certifiable")


def _row(one: Candidate, at: Here) -> tuple[object, ...]:
    end = one.observation_ends or one.earliest_end
    if one.state in ("done", "suspected"):
        end = None
    return (
        link(one.code, "certificate-check", one.uid),
        label(one.where),
        one.alive,
        plain(one.state),
        when(end, at.zone),
        _against(one),
        label(one.certificate),
    )


def _against(one: Candidate) -> str:
    found = []
    if one.questions:
        found.append(
            ngettext("{count} open question", "{count} open questions", one.questions).format(
                count=one.questions
            )
        )
    if one.unaccounted:
        found.append(_("{unaccounted} not found").format(unaccounted=one.unaccounted))
    if one.holds:
        found.append(_("a hold"))
    if one.state in ("moves", "observation", "suspected"):
        found.append(_("not complete"))
    return ", ".join(found) or _("nothing known")


# -- One batch ---------------------------------------------------------------------------------


class IssueForm(Told):
    """For how many; everything else is what the record says now."""

    WITHOUT = ("when", "reason", "standing", "set_aside", "why_aside")

    count = Count(label=later("For how many?"))
    adds = Words(
        label=later("Words of your own on it"),
        help_text=later("Nothing that the record does not show; buyers see them as yours."),
        most=300,
        lines=True,
        required=False,
    )


@page
@require_http_methods(["GET", "HEAD", "POST"])
def check(request: HttpRequest, uid: UUID) -> HttpResponse:
    """Every reason at once, blocking ones first; a manager issues from here."""
    batch = batch_head(uid)
    posted = request.method == "POST"
    at = here(request, batch.site_id, access.MANAGERS if posted else access.EVERYBODY)
    form = IssueForm(request.POST or None, at=at)
    if posted and (
        answer := send(request, form, lambda asked: _issue(request, at, form, asked, uid))
    ):
        number = answer.body["certificate"]["number"]
        messages.success(request, _("Certificate {number} is issued.").format(number=number))
        return redirect("certificate-check", uid)
    found = certificate_check(batch, at.now)
    context = {
        "batch": batch,
        "found": found,
        "objections": objections(found["reasons"], ways_on(uid, at.site.uid)),
        "form": form if at.manages and (found["may_be_issued"] or form.is_bound) else None,
        "certificates": [
            (one, _steps(one.uid, one.state, at)) for one in certificates_seen(uid)
        ],
    }
    status = 409 if form.objections else 400 if form.is_bound else 200
    return show(request, at, "check", context, current="certifiable", status=status)


def _issue(request: HttpRequest, at: Here, form: IssueForm, asked: Any, uid: UUID) -> Answered:
    return doors.issue_certificate(
        asked,
        site=at.site,
        batch=uid,
        count=form.cleaned_data["count"],
        adds=form.cleaned_data["adds"],
        address=address_of(request),
    )


# -- What is told of a certificate later -------------------------------------------------------

STEPS: dict[str, tuple[str, Callable[..., Answered], frozenset[str]]] = {
    "suspend": (later("Suspend"), doors.suspend_certificate, access.DECIDERS),
    "lift": (later("Lift the suspension of"), doors.lift_certificate, access.MANAGERS),
    "revoke": (later("Revoke"), doors.revoke_certificate, access.MANAGERS),
}


class StepForm(Told):
    WITHOUT = ("when", "reason", "standing", "set_aside", "why_aside")

    why = Words(
        label=later("Why?"), lines=True, help_text=later("Buyers do not see these words.")
    )


@page
@require_http_methods(["GET", "HEAD", "POST"])
def step(request: HttpRequest, uid: UUID, name: str) -> HttpResponse:
    """Suspend, lift or revoke a certificate, with a reason."""
    text, tell, roles = STEPS[name]
    row, site = access.certificate_for(person_of(request), uid, roles)
    at = here(request, site.uid, roles)
    form = StepForm(request.POST or None, at=at)
    done = send(
        request,
        form,
        lambda asked: tell(
            replace(asked, reason=form.cleaned_data["why"]),
            certificate=uid,
            address=address_of(request),
        ),
        {"reason": "why"},
    )
    if done:
        messages.success(request, _("Certificate {row}: recorded.").format(row=row.number))
        return redirect("certificate-check", row.batch_id)
    return show_form(
        request,
        at,
        form,
        f"{text} {row.number}",
        do=_("{step} it").format(step=text) if name != "lift" else _("Lift it"),
        back=("certificate-check", row.batch_id),
        current="certifiable",
    )


def _steps(uid: UUID, state: str, at: Here) -> list[tuple[str, str]]:
    """What may be told of a certificate as it stands."""
    names = ("lift", "revoke") if state == "suspended" else ("suspend", "revoke")
    return [
        (STEPS[name][0].partition(" ")[0], reverse(f"certificate-{name}", args=[uid]))
        for name in names
        if state in STANDING and at.may(STEPS[name][2])
    ]
