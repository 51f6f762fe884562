"""What people tell of a batch: losses, counts, signs, holds, animals that nobody finds."""

from datetime import datetime
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from api.language import later
from api.pages.asking import Told, send
from api.pages.counting import Recounted
from api.pages.fields import Count, One, Rows, Several, WallTime, Words
from api.pages.forms import recorded, show_form
from api.pages.shell import here, page
from api.pages.words import named, plain
from stock import access
from stock.doors.counts import count_batch
from stock.doors.losses import LossLine, record_losses
from stock.doors.signs import record_sign
from stock.queries.batch_seen import batch_head
from stock.queries.seen_alive import last_seen_of

METHODS = ["GET", "HEAD", "POST"]
FATES = (
    ("dead", later("Found dead")),
    ("culled", later("Culled")),
    ("escaped", later("Escaped, not to be had back")),
    ("sampled", later("Sampled")),
)
CAUSES = (
    "unknown",
    "transport",
    "water",
    "disease",
    "injury",
    "aggression",
    "jump",
    "handling",
    "not eating",
)
SIGNS = (
    "white_spots",
    "fine_dust",
    "fast_breathing",
    "scratching",
    "cloudy_eyes",
    "sores",
    "frayed_fins",
    "much_slime",
    "not_eating",
    "swimming_oddly",
)
CERTAINTIES = (
    ("", later("Not said")),
    ("sure", later("Sure")),
    ("likely", later("Likely")),
    ("guess", later("A guess")),
)


class LossForm(Told):
    """Gone for good. When it was found is asked first: the death lies before it."""

    ABOUT = tuple(name for name in Told.ABOUT if name not in ("when", "when_which"))
    WITHOUT = ("set_aside", "why_aside")

    count = Count(label=later("How many?"))
    fate = Rows(FATES, initial="dead", label=later("What became of them?"))
    cause = One([(one, named(one)) for one in CAUSES], label=later("Why, as far as is known"))
    detail = Words(required=False, most=200, label=later("More of the cause"))
    certainty = One(CERTAINTIES, required=False, label=later("How sure is the cause?"))
    seen = WallTime(required=False, label=later("When were they last seen alive?"))

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["when"].label = _("When were they found?")
        self.order_fields(["count", "fate", "when", "when_which", "seen", "seen_which"])

    def line(self, batch: UUID, now: datetime) -> LossLine:
        given = self.cleaned_data
        detail = (given["detail"],) if given["detail"] else ()
        return LossLine(
            batch=batch,
            fate=given["fate"],
            count=given["count"],
            found_at=self.moment or now,
            cause=(given["cause"], *detail),
            certainty=given["certainty"] or None,
            last_seen_at=self.moments.get("seen"),
        )


@page
@require_http_methods(METHODS)
def loss(request: HttpRequest, uid: UUID) -> HttpResponse:
    batch = batch_head(uid)
    at = here(request, batch.site_id, access.HANDS)
    form = LossForm(request.POST or None, at=at)
    if not form.is_bound and (last := last_seen_of(uid, at.now)):
        # By the newest round or count; whoever knows better types over it.
        wall = last.at.astimezone(at.zone).replace(tzinfo=None)
        form.fields["seen"].initial = wall.isoformat(timespec="seconds")
    names = {
        "lines/0/count": "count",
        "lines/0/found_at": "when",
        "lines/0/last_seen_at": "seen",
    }
    done = send(
        request,
        form,
        lambda asked: record_losses(asked, lines=[form.line(uid, at.now)]),
        names,
    )
    if done:
        given = form.cleaned_data
        recorded(request, done, f"{given['count']} {plain(given['fate'])}.")
        return redirect("batch", uid)
    return show_form(
        request,
        at,
        form,
        _("A loss in {batch}").format(batch=batch.code),
        do=_("Record the loss"),
        back=("batch", uid),
    )


class CountForm(Recounted):
    """How many are seen. What the record says is not shown: counts are typed blind."""

    WITHOUT = ("set_aside", "why_aside")


@page
@require_http_methods(METHODS)
def count(request: HttpRequest, uid: UUID) -> HttpResponse:
    batch = batch_head(uid)
    at = here(request, batch.site_id, access.HANDS)
    form = CountForm(request.POST or None, at=at)
    done = send(
        request, form, lambda asked: count_batch(asked, batch=uid, counts=form.counts())
    )
    if done:
        recorded(request, done, _("Counted {counts}.").format(counts=form.counts()[-1]))
        return redirect("batch", uid)
    form.count_again()
    return show_form(
        request,
        at,
        form,
        _("Count {batch}").format(batch=batch.code),
        do=_("Record the count"),
        back=("batch", uid),
    )


class SignForm(Told):
    WITHOUT = ("standing", "set_aside", "why_aside")

    signs = Several(
        [(one, plain(one)) for one in SIGNS], required=False, label=later("What is seen?")
    )
    other = Words(required=False, most=200, label=later("Something else"))
    affected = Count(label=later("On how many?"))

    def clean(self) -> dict[str, Any]:
        given = super().clean()
        if not given.get("signs") and not given.get("other"):
            self.add_error("signs", _("Say what is seen."))
        return given

    def seen(self) -> list[str]:
        given = self.cleaned_data
        return [*given["signs"], *([given["other"]] if given["other"] else [])]


@page
@require_http_methods(METHODS)
def sign(request: HttpRequest, uid: UUID) -> HttpResponse:
    batch = batch_head(uid)
    at = here(request, batch.site_id, access.HANDS)
    form = SignForm(request.POST or None, at=at)
    done = send(
        request,
        form,
        lambda asked: record_sign(
            asked, batch=uid, signs=form.seen(), affected=form.cleaned_data["affected"]
        ),
    )
    if done:
        text = _(
            "All of them are suspected: they share water. Tools of this container stay here."
        )
        messages.warning(request, text)
        return redirect("exposures" if done.body["exposures"] else "batch", uid)
    return show_form(
        request,
        at,
        form,
        _("A sign in {batch}").format(batch=batch.code),
        do=_("Record the sign"),
        back=("batch", uid),
        lead=_("A second person has to look. Until then an observation stands still."),
    )
