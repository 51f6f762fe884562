"""The tablets of a site: enrolling the browser one looks with, ending one that was lost."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy
from django.views.decorators.http import require_http_methods, require_POST

from api.pages.acting import bind
from api.pages.asking import asking, send
from api.pages.fields import Rows, Words
from api.pages.links import label, when
from api.pages.parts import Action, Table
from api.pages.set_up_forms import SetUp
from api.pages.shell import Here, here, new_key, page, show
from api.pages.tablet import keep_secret, tablet_of
from stock import access
from stock.answers import Answered
from stock.doors.door import Asking
from stock.doors.sites import DeviceAsked, set_device
from stock.doors.tablets import enrol_tablet
from stock.queries.sites import device_shown
from stock.queries.tablets import Enrolled, tablets_of
from stock.refusals import NotFound

WHOSE = (
    ("shared", lazy("Everybody who works here")),
    ("mine", lazy("I alone: it is my own telephone")),
)


class TabletForm(SetUp):
    # The name of the field is also that of an attribute of every form field.
    label = Words(most=40, label=lazy("Its label, as it is painted on it"))
    whose = Rows(WHOSE, initial="shared", label=lazy("Who works with it?"))

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        if not self.at.manages:
            self.fields["whose"].initial = "mine"
            self._choose("whose", WHOSE[1:])


@page
@require_http_methods(["GET", "HEAD", "POST"])
def tablets(request: HttpRequest, site: UUID) -> HttpResponse:
    """All of a site for its managers, and a form that makes this browser one of them."""
    at = here(request, site, access.HANDS)
    form = TabletForm(request.POST or None, at=at)
    secrets: list[str] = []

    def door(asked: Asking) -> Answered:
        mine = form.cleaned_data["whose"] == "mine"
        answer, secret = enrol_tablet(
            asked, site=site, label=form.cleaned_data["label"], mine=mine
        )
        secrets.append(secret)
        bind(request, UUID(str(answer.body["device"]["uid"])), site)
        return answer

    if send(request, form, door):
        said = _("This is %(label)s from now on.") % form.cleaned_data
        messages.success(request, said)
        return keep_secret(redirect("tablets", site), secrets[0])
    rows = tablets_of(site) if at.manages else []
    context = {
        "form": form,
        "this": tablet_of(request),
        "enrol": _("Enrol this browser"),
        "table": _table(rows, at) if at.manages else None,
        "actions": [_ending(one) for one in rows if one.ended_at is None],
    }
    status = 409 if form.objections else 400 if form.is_bound and form.errors else 200
    return show(request, at, "tablets", context, current="tablets", status=status)


@page
@require_POST
def end_tablet(request: HttpRequest, uid: UUID) -> HttpResponse:
    """It was lost, or is used no more: nothing that it shows counts from now on."""
    known = device_shown(uid)
    if known is None:
        raise NotFound
    at = here(request, known["site"], access.MANAGERS)
    set_device(
        asking(request, at),
        asked=DeviceAsked(
            site=at.site.uid,
            label=known["label"],
            ended_at=at.now,
            uid=uid,
            version=known["version"],
        ),
    )
    messages.success(request, _("%(label)s is ended.") % known)
    return redirect("tablets", at.site.uid)


def _table(rows: list[Enrolled], at: Here) -> Table:
    return Table(
        _("Tablets of this site"),
        (_("Tablet"), _("Whose"), _("Enrolled"), _("By"), _("Ended")),
        [
            (
                label(one.label),
                one.owner or _("everybody's"),
                when(one.enrolled_at, at.zone),
                one.enrolled_by,
                when(one.ended_at, at.zone),
            )
            for one in rows
        ],
        empty=_("None is enrolled yet."),
    )


def _ending(one: Enrolled) -> Action:
    text = _("%(label)s was lost: end it") % {"label": one.label}
    return Action(text, reverse("end-tablet", args=[one.uid]), new_key(), quiet=True)
