"""What a trace means for one of its batches: affected, not affected, or watched."""

from dataclasses import replace
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from api.language import later
from api.pages.asking import Told, send
from api.pages.fields import Rows, Words
from api.pages.forms import show_form
from api.pages.links import link, when
from api.pages.parts import Table
from api.pages.shell import Here, here, page, person_of
from api.pages.words import plain
from protocols.tracing_decisions import AFFECTED, NOT_AFFECTED, WATCH
from stock import access
from stock.doors.traces import decide_trace, trace_for
from stock.queries.batch_seen import batch_head
from stock.queries.traces import Shown

CHOICES = (
    (AFFECTED, later("Affected: it is put on hold, and its certificates are suspended")),
    (WATCH, later("Watch: nothing is stopped, and somebody looks at it again")),
    (NOT_AFFECTED, later("Not affected")),
)


class DecideForm(Told):
    WITHOUT = ("when", "reason", "standing", "set_aside", "why_aside")

    decision = Rows(CHOICES, label=later("What does it mean for this batch?"))
    why = Words(label=later("Why?"), lines=True)


@page
@require_http_methods(["GET", "HEAD", "POST"])
def decide(request: HttpRequest, uid: UUID, batch: UUID) -> HttpResponse:
    """One decision on one batch; the newest counts, and the others stay on record."""
    row = trace_for(person_of(request), uid)
    at = here(request, row.site, access.DECIDERS)
    form = DecideForm(request.POST or None, at=at)
    done = send(
        request,
        form,
        lambda asked: decide_trace(
            replace(asked, reason=form.cleaned_data["why"]),
            trace=uid,
            batch=batch,
            decision=form.cleaned_data["decision"],
        ),
        {"reason": "why", "decision": "decision"},
    )
    if done:
        messages.success(request, _("Decided."))
        return redirect("trace", uid)
    return show_form(
        request,
        at,
        form,
        _("What the trace means for {batch}").format(batch=batch_head(batch).code),
        do=_("Decide"),
        back=("trace", uid),
        current="traces",
    )


def batches_found(seen: Shown, at: Here) -> Table:
    """The batches of a trace with what was decided on each, and the way to decide."""
    may = at.may(access.DECIDERS)
    uid = seen.row.uid
    return Table(
        _("Batches in it: what was decided"),
        (_("Batch"), _("Decision"), _("When"), ""),
        [
            (
                link(one["code"], "batch", one["batch"]),
                plain(one["decision"]) if one["decision"] else _("nothing yet"),
                when(one["decided_at"], at.zone),
                link(_("Decide"), "trace-decide", uid, one["batch"]) if may else "",
            )
            for one in seen.batches
        ],
        empty=_("None."),
    )
