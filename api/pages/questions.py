"""Questions: what is open, what is known of it, and what each decision would do."""

import json
from collections.abc import Iterator
from dataclasses import replace
from typing import Any, Protocol
from uuid import UUID
from zoneinfo import ZoneInfo

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from api.pages import numbers
from api.pages.asking import Told, asking, send
from api.pages.fields import Rows, Words
from api.pages.forms import show_form
from api.pages.history import lines
from api.pages.links import link, when
from api.pages.parts import Action, Objection, Table, Way
from api.pages.shell import Here, here, new_key, page, show
from api.pages.words import plain
from protocols.clocks import local_text
from stock import access
from stock.doors.questions import confirm_fact, decide_deviation, withdraw_fact
from stock.queries.questions_seen import open_questions, parked_reports, question_seen
from stock.queries.told import entries_about

# Questions about one report: a second person confirms it, or it is withdrawn.
CONFIRMED = {"late_unconfirmed": "It was so", "sign_seen": "I see the sign too"}


class Asked(Protocol):
    """A deviation, as its row or a judgement says it."""

    @property
    def uid(self) -> UUID: ...
    @property
    def rule(self) -> str: ...
    @property
    def effect(self) -> str: ...
    @property
    def numbers(self) -> dict[str, Any]: ...


@page
@require_safe
def questions(request: HttpRequest, site: UUID) -> HttpResponse:
    at = here(request, site)
    rows = open_questions(site)
    context = {
        "asking": [_with_batch(one, at) for one in rows if one.effect != "warns"],
        "warning": Table(
            "Worth knowing",
            ("Batch", "What", "Numbers", "Since"),
            [_warning(one, at) for one in rows if one.effect == "warns"],
        ),
        "parked": [
            (plain(one.kind), local_text(one.performed_at, at.zone), one.why)
            for one in parked_reports(site)
        ],
        "count": len(rows),
    }
    return show(request, at, "questions", context, current="questions")


def objection_of(one: Asked, zone: ZoneInfo) -> Objection:
    """An open question beside the batch it is about."""
    return Objection(
        text=f"{plain(one.rule)}.".capitalize(),
        blocks=one.effect != "warns",
        numbers=numbers.said(one.numbers, zone),
        task=Way("What is known of it", reverse("question", args=[one.uid])),
    )


def _with_batch(one: Any, at: Here) -> Objection:
    shown = objection_of(one, at.zone)
    return replace(
        shown,
        text=f"{one.batch.code}: {plain(one.rule)}.",
        instead=(),
        who=local_text(one.at, at.zone),
    )


def _warning(one: Any, at: Here) -> tuple[object, ...]:
    return (
        link(one.batch.code, "batch", one.batch_id),
        link(plain(one.rule), "question", one.uid),
        numbers.said(one.numbers, at.zone),
        when(one.at, at.zone),
    )


class DecisionForm(Told):
    """An answer to an open question, on the numbers that stood on the page."""

    WITHOUT = ("when", "standing", "set_aside", "why_aside", "reason")

    decision = Rows(label="What is decided?")
    why = Words(label="Why?", lines=True)
    known = forms.CharField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args: Any, choices: list[tuple[str, str]], **options: Any) -> None:
        super().__init__(*args, **options)
        self._choose("decision", choices)

    def clean_known(self) -> dict[str, Any]:
        try:
            known = json.loads(self.cleaned_data["known"] or "{}")
        except ValueError:
            known = {}
        return known if isinstance(known, dict) else {}


@page
@require_http_methods(["GET", "HEAD", "POST"])
def question(request: HttpRequest, uid: UUID) -> HttpResponse:
    """One open question; whoever may decide it finds the form below."""
    row = question_seen(uid)
    roles = access.DECIDERS if request.method == "POST" else access.EVERYBODY
    at = here(request, row.site_id, roles)
    form = DecisionForm(
        request.POST or None,
        at=at,
        choices=list(_choices(row, at)),
        initial={"known": json.dumps(row.numbers)},
    )
    if request.method == "POST" and send(
        request, form, lambda asked: _decide(form, asked, uid)
    ):
        messages.success(request, f"Decided: {plain(form.cleaned_data['decision'])}.")
        return redirect("batch", row.batch_id)
    told = entries_about(at.site.uid, [row.cause])
    context = {
        "row": row,
        "heading": f"{plain(row.rule)}".capitalize(),
        "numbers": numbers.said(row.numbers, at.zone),
        "effect": plain(row.effect),
        "lines": lines(told, at.zone),
        "form": form if at.decides and row.open else None,
        "confirm": _confirm(row, at),
        "withdraw": _withdraw(row, at),
    }
    status = 409 if form.objections else 400 if form.is_bound else 200
    return show(request, at, "question", context, current="questions", status=status)


def _decide(form: DecisionForm, asked: Any, uid: UUID) -> Any:
    given = form.cleaned_data
    decision, _, start = given["decision"].partition("-")
    return decide_deviation(
        replace(asked, reason=given["why"]),
        deviation=uid,
        decision=decision,
        known=given["known"],
        from_this_stay=start == "here",
    )


def _choices(row: Any, at: Here) -> Iterator[tuple[str, str]]:
    """Each decision with what it would do."""
    kept = row.batch.earliest_end_if_kept
    then = f" Complete at the earliest {local_text(kept, at.zone)}." if kept else ""
    yield "keep", f"Keep: it counts as if the rule was kept, the series goes on.{then}"
    if row.effect == "broke":
        yield "restart-here", "Restart from this stay: its placement is day 1 of a new series."
    yield "restart", "Restart: the next clean placement is day 1 of a new series."
    yield "void", "Void: it rests on a report that was wrong and is corrected or withdrawn."


def _confirm(row: Any, at: Here) -> Action | None:
    if row.rule not in CONFIRMED or not row.open or not at.works:
        return None
    href = reverse("confirm-question", args=[row.uid])
    return Action(CONFIRMED[row.rule], href, new_key(), quiet=True)


def _withdraw(row: Any, at: Here) -> str:
    if row.rule not in CONFIRMED or not row.open or not at.works:
        return ""
    return reverse("withdraw-question", args=[row.uid])


@page
@require_POST
def confirm(request: HttpRequest, uid: UUID) -> HttpResponse:
    """A second person says that it was so."""
    row = question_seen(uid)
    at = here(request, row.site_id, access.HANDS)
    confirm_fact(asking(request, at), fact=row.cause)
    messages.success(request, "A second person has confirmed it.")
    return redirect("batch", row.batch_id)


class WithdrawalForm(Told):
    WITHOUT = ("when", "standing", "set_aside", "why_aside", "reason")

    why = Words(label="Why was it not so?", lines=True)


@page
@require_http_methods(["GET", "HEAD", "POST"])
def withdraw(request: HttpRequest, uid: UUID) -> HttpResponse:
    """The report behind a question was wrong."""
    row = question_seen(uid)
    at = here(request, row.site_id, access.HANDS)
    form = WithdrawalForm(request.POST or None, at=at)
    done = send(
        request,
        form,
        lambda asked: withdraw_fact(
            replace(asked, reason=form.cleaned_data["why"]), fact=row.cause
        ),
        {"reason": "why"},
    )
    if done:
        messages.success(request, "Withdrawn. The report stays in the record book.")
        return redirect("batch", row.batch_id)
    return show_form(
        request,
        at,
        form,
        f"{plain(row.rule)}: it was not so".capitalize(),
        do="Withdraw it",
        back=("question", uid),
        current="questions",
    )
