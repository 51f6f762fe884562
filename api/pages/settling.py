"""A report that does not fit the record: for which batches it counts, or that it is void."""

from dataclasses import replace
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from api.language import later, local_text
from api.pages.asking import Told, send
from api.pages.fields import Count, One, Rows, Words
from api.pages.forms import show_form
from api.pages.sentences import sentence
from api.pages.shell import Here, here, page
from stock import access
from stock.doors.settling import PartAsked, settle_report
from stock.queries.questions_seen import ParkedSeen, batches_here, parked_seen
from stock.queries.told import names_in

PLACES = range(1, 4)
VOID = ("void", later("It is void: it counts for nothing"))
COUNTS = ("counts", later("Its animals count for the batches below"))


class SettlementForm(Told):
    """Up to three batches, each with a number; or nothing of it counts."""

    WITHOUT = ("when", "standing", "set_aside", "why_aside", "reason")

    what = Rows(label=later("What becomes of the report?"))
    why = Words(label=later("Why?"), lines=True)

    def __init__(
        self, *args: Any, report: ParkedSeen, here: list[tuple[str, str]], **options: Any
    ) -> None:
        super().__init__(*args, **options)
        self._choose("what", [COUNTS, VOID] if report.counts else [VOID])
        if report.counts:
            for n in PLACES:
                rows = [("", _("Nobody") if n > 1 else _("Choose one")), *here]
                label = _("Whose were they?") if n == 1 else _("And whose besides?")
                self.fields[f"batch_{n}"] = One(rows, required=False, label=label)
                self.fields[f"count_{n}"] = Count(required=False, label=_("How many of these?"))
        self.order_fields(["what", *self._rows(), "why"])

    def _rows(self) -> list[str]:
        return [f"{name}_{n}" for n in PLACES for name in ("batch", "count")]

    def clean(self) -> dict[str, Any]:
        given = super().clean()
        for n in PLACES:
            batch, count = given.get(f"batch_{n}"), given.get(f"count_{n}")
            if batch and not count and f"count_{n}" not in self.errors:
                self.add_error(f"count_{n}", _("Type a number."))
            if count and not batch:
                self.add_error(f"batch_{n}", _("Choose one."))
        return given

    @property
    def is_void(self) -> bool:
        return bool(self.cleaned_data["what"] == "void")

    def parts(self) -> list[PartAsked]:
        given = self.cleaned_data
        if self.is_void:
            return []
        pairs = ((given.get(f"batch_{n}"), given.get(f"count_{n}")) for n in PLACES)
        return [PartAsked(UUID(batch), count) for batch, count in pairs if batch and count]


@page
@require_http_methods(["GET", "HEAD", "POST"])
def settle(request: HttpRequest, uid: UUID) -> HttpResponse:
    report = parked_seen(uid)
    at = here(request, report.site, access.DECIDERS)
    form = SettlementForm(
        request.POST or None, at=at, report=report, here=batches_here(at.site.uid)
    )
    names = {"reason": "why", "attribution": "what"}
    for n in PLACES:
        names |= {f"attribution/{n - 1}/{name}": f"{name}_{n}" for name in ("batch", "count")}
    done = send(
        request,
        form,
        lambda asked: settle_report(
            replace(asked, reason=form.cleaned_data["why"]),
            fact=uid,
            parts=form.parts(),
            void=form.is_void,
        ),
        names,
    )
    if done:
        messages.success(
            request, _("Settled. The report stays in the record book as it was told.")
        )
        return redirect("questions", at.site.uid)
    return show_form(
        request,
        at,
        form,
        _("Settle a report"),
        do=_("Settle it"),
        back=("questions", at.site.uid),
        current="questions",
        lead=_lead(report, at),
    )


def _lead(report: ParkedSeen, at: Here) -> str:
    """What was told, when, and why it does not fit."""
    names = names_in([report.body])
    told = sentence(
        report.kind, report.body, lambda uid: names.get(str(uid), "something else"), at.units
    )
    whose = names.get(str(report.body.get("batch")), "")
    where = f"{whose}: " if whose else ""
    return f"{where}{told}, {local_text(report.performed_at, at.zone)}. {report.why}"
