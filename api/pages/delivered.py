"""What another brought than who did it: a manager who is neither says that it was so."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from api.language import local_text
from api.pages.asking import asking
from api.pages.parts import Action
from api.pages.sentences import sentence
from api.pages.shell import Here, here, new_key, page
from stock import access
from stock.doors.questions import confirm_fact
from stock.queries.devices import delivered_unconfirmed, site_of_fact


def brought(at: Here) -> list[dict[str, Any]]:
    """Each such report as a line of the questions. Two queries."""
    found, names = delivered_unconfirmed(at.site.uid)
    return [
        {
            "text": sentence(
                one.kind, one.body, lambda uid: names.get(str(uid), _("something")), at.units
            )
            + ".",
            "way": None,
            "numbers": _("done by %(doer)s, brought by %(messenger)s")
            % {
                "doer": names.get(str(one.doer), ""),
                "messenger": names.get(str(one.messenger), ""),
            },
            "since": local_text(one.performed_at, at.zone),
            "confirm": _confirm(one.uid, {one.doer, one.messenger}, at),
        }
        for one in found
    ]


def _confirm(fact: UUID, people: set[UUID], at: Here) -> Action | None:
    if not at.manages or at.person.uid in people:
        return None
    return Action(
        _("It was so"), reverse("confirm-brought", args=[fact]), new_key(), quiet=True
    )


@page
@require_POST
def confirm(request: HttpRequest, uid: UUID) -> HttpResponse:
    at = here(request, site_of_fact(uid), access.MANAGERS)
    confirm_fact(asking(request, at), fact=uid)
    messages.success(request, _("A second person has confirmed it."))
    return redirect("questions", at.site.uid)
