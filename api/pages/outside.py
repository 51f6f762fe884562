"""A manager makes the link by which somebody from outside confirms a late entry."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy
from django.views.decorators.http import require_http_methods

from api.pages.asking import asking
from api.pages.fields import Words
from api.pages.forms import show_form
from api.pages.pictures.codes import qr
from api.pages.set_up_forms import SetUp
from api.pages.shell import here, page, show
from api.public.addresses import address_of
from stock import access
from stock.doors.outside import make_link
from stock.queries.questions_seen import question_seen
from stock.refusals import Refused


class OutsideNameForm(SetUp):
    name = Words(most=80, label=lazy("Who was there? Their name"))


@page
@require_http_methods(["GET", "HEAD", "POST"])
def make_outside_link(request: HttpRequest, uid: UUID) -> HttpResponse:
    """Name them; the link is shown this once, as text and to be scanned."""
    row = question_seen(uid)
    at = here(request, row.site_id, access.MANAGERS)
    form = OutsideNameForm(request.POST or None, at=at)
    if form.is_valid():
        try:
            link = make_link(
                asking(request, at), question=uid, name=form.cleaned_data["name"].strip()
            )
            address = address_of(request) + reverse("outside-second", args=[link.secret])
            context = {
                "name": link.name,
                "address": address,
                "picture": qr(address, title=_("The link as a QR code")),
                "back": reverse("question", args=[uid]),
            }
            return show(request, at, "outside_link", context, current="questions")
        except Refused as refused:
            form.refused(refused, {})
    lead = _(
        "Somebody who does not work here but saw it confirms it by a link: once, within 72"
        " hours. History and certificates say that it was an outside second."
    )
    return show_form(
        request,
        at,
        form,
        _("A second person from outside"),
        back=("question", uid),
        do=_("Make the link"),
        current="questions",
        lead=lead,
    )
