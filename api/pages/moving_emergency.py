"""Moving animals that cannot wait: they first, then an honest record, then a review."""

from dataclasses import replace
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from api.pages import cautions
from api.pages.asking import send
from api.pages.forms import recorded, show_form
from api.pages.moving_forms import EmergencyForm
from api.pages.moving_told import done
from api.pages.shell import here, page
from protocols.values import Standing
from stock import access
from stock.doors.moves import move_batch
from stock.queries.batch_seen import stays_of
from stock.queries.choices import equipment_choices
from stock.queries.people import hands_at
from stock.refusals import Refused, refuse

LEAD = gettext_lazy(
    "First you: current off before hands go in. Then the animals: any clean water of about "
    "their salinity and temperature, with air. Then this page: nothing on it is refused for a "
    "rule, and what is not known stays empty. A manager looks at it within 12 hours."
)


@page
@require_http_methods(["GET", "HEAD", "POST"])
def emergency_move(request: HttpRequest, uid: UUID) -> HttpResponse:
    """It is recorded as it was, whatever stood against it; a review asks about it after."""
    rows = stays_of(uid)
    at = here(request, rows[0].batch.site_id, access.HANDS)
    stay = rows[-1]
    if request.method != "POST" and stay.ended_latest is not None:
        raise Refused(refuse("batch_closed", _("Nobody of this batch is here any more.")))
    form = EmergencyForm(
        request.POST or None,
        at=at,
        equipment=equipment_choices(at.site.uid, at.now),
        people=hands_at(at.site.uid),
        initial={"ended_stay": stay.uid},
    )
    answer = send(
        request,
        form,
        lambda asked: move_batch(
            replace(asked, standing=Standing.EMERGENCY),
            site=at.site,
            asked=form.asked(uid),
        ),
    )
    if answer:
        text = _("A manager looks at it within 12 hours.")
        recorded(request, answer, f"{done(answer.body)} {text}")
        return redirect("batch", uid)
    return show_form(
        request,
        at,
        form,
        _("Move %(batch)s at once") % {"batch": stay.batch.code},
        do=_("Record what was done"),
        back=("move", uid),
        entry_batch=uid,
        cautions=cautions.handling(),
        lead=LEAD,
    )
