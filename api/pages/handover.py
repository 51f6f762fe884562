"""Handing a shift over: what is open, late, odd, promised, silenced; and that it was read."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from api.pages.asking import Told, send
from api.pages.fields import Words
from api.pages.forms import recorded
from api.pages.shell import here, page, show
from protocols.walks import Band, band_of
from stock import access
from stock.doors.handovers import SAID, confirm_handover, hand_over
from stock.queries.handovers import handover_seen, newest_line, odd_between
from stock.queries.rooms import closed_rooms
from stock.queries.shift import Due, shift_seen
from stock.queries.work_words import what_text
from stock.refusals import NotFound

OVER = (Band.OVER, Band.OVER_PAPER)


class HandoverForm(Told):
    """What only people know. The rest is read from the record as it stands."""

    WITHOUT = ("when", "standing", "set_aside", "why_aside", "note", "reason")

    odd = Words(
        required=False,
        most=4000,
        lines=True,
        label=gettext_lazy("What was odd?"),
        help_text=gettext_lazy(
            "A sound, a smell, an animal that hides; what no form asks for."
        ),
    )
    promised = Words(
        required=False,
        most=4000,
        lines=True,
        label=gettext_lazy("What is promised?"),
        help_text=gettext_lazy("To whom, by when, and who has taken it on."),
    )
    silenced = Words(
        required=False,
        most=4000,
        lines=True,
        label=gettext_lazy("Which alarm or reminder is silenced?"),
        help_text=gettext_lazy("Which, why, and until when."),
    )


@page
@require_http_methods(["GET", "HEAD", "POST"])
def write(request: HttpRequest, site: UUID) -> HttpResponse:
    """What the next shift is told, with what the record says of it beside."""
    at = here(request, site, access.HANDS)
    form = HandoverForm(request.POST or None, at=at)
    done = send(
        request,
        form,
        lambda asked: hand_over(
            asked, site=site, said={name: form.cleaned_data[name] for name in SAID}
        ),
    )
    if done:
        recorded(request, done, _("Handed over. Whoever comes next confirms having read it."))
        return redirect("handover", site, done.body["handover"]["uid"])
    due = shift_seen(site, at.now).due
    before = newest_line(site, at.now)
    context = {
        "form": form,
        "open": len(due),
        "late": [_line(one) for one in due if band_of(one.work, at.now) in OVER],
        "taken": [
            (f"{what}, {one.taken_name}", where)
            for one in due
            if one.taken_by
            for what, where in [_line(one)]
        ],
        "odd": odd_between(site, before.at if before else None, at.now),
        "closed": [one.label for one in closed_rooms(site, at.now).values()],
        "back": reverse("shift", args=[site]),
    }
    status = 409 if form.objections else 400 if form.is_bound and form.errors else 200
    return show(request, at, "hand_over", context, current="shift", status=status)


def _line(one: Due) -> tuple[str, str]:
    return what_text(one.work), one.place.container or one.place.room


class ReadForm(Told):
    """One press; nothing is typed."""

    WITHOUT = ("when", "standing", "set_aside", "why_aside", "note", "reason")


@page
@require_http_methods(["GET", "HEAD", "POST"])
def read(request: HttpRequest, site: UUID, uid: UUID) -> HttpResponse:
    """One handover, and the press that says: I have read it."""
    at = here(request, site, access.HANDS if request.method == "POST" else access.EVERYBODY)
    seen = handover_seen(uid)
    if seen.site != site:
        raise NotFound
    form = ReadForm(request.POST or None, at=at)
    done = send(request, form, lambda asked: confirm_handover(asked, handover=uid))
    if done:
        recorded(request, done, _("You have read it."))
        return redirect("shift", site)
    mine = at.person.uid
    may = at.works and mine != seen.by and mine not in {one.uid for one in seen.readers}
    context = {
        "form": form if may else None,
        "objections": form.objections,
        "seen": seen,
        "said": [(str(HEADINGS[name]), seen.said[name]) for name in SAID if name in seen.said],
        "back": reverse("shift", args=[site]),
    }
    return show(
        request,
        at,
        "handover",
        context,
        current="shift",
        status=409 if form.objections else 200,
    )


HEADINGS = {
    "odd": gettext_lazy("Odd"),
    "promised": gettext_lazy("Promised"),
    "silenced": gettext_lazy("Silenced"),
}
