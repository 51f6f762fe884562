"""One open question: what is known of it, both accounts, and what each decision would do."""

import json
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any
from uuid import UUID

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from api.language import later
from api.pages import numbers
from api.pages.accounts import AccountForm, accounts_table, needs_choice
from api.pages.asking import Told, asking, send
from api.pages.carrying import carry_over_context
from api.pages.fields import Rows, Words
from api.pages.forms import show_form
from api.pages.history import lines
from api.pages.links import when
from api.pages.parts import Action, Table
from api.pages.shell import Here, here, new_key, page, show
from api.pages.words import plain
from protocols.values import Judgement
from stock import access
from stock.doors.accounts import decide_account
from stock.doors.questions import confirm_fact, decide_deviation, withdraw_fact
from stock.queries.accounts import Account, accounts_by_cause
from stock.queries.assumed import Assumed, if_decided
from stock.queries.questions_seen import question_seen
from stock.queries.told import entries_about

# Questions about one report: a second person confirms it, or it is withdrawn.
CONFIRMED = {"late_unconfirmed": later("It was so"), "sign_seen": later("I see the sign too")}
KEEP = ("keep", later("Keep: it counts as if the rule was kept, the series goes on."))
HERE = (
    "restart-here",
    later("Restart from this stay: its placement is day 1 of a new series."),
)
RESTART = ("restart", later("Restart: the next clean placement is day 1 of a new series."))
VOID = (
    "void",
    later("Void: it rests on a report that was wrong and is corrected or withdrawn."),
)


class DecisionForm(Told):
    """An answer to an open question, on the numbers that stood on the page."""

    WITHOUT = ("when", "standing", "set_aside", "why_aside", "reason")

    decision = Rows(label=later("What is decided?"))
    why = Words(label=later("Why?"), lines=True)
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
    form = _decision_form(request, row, at)
    if request.method == "POST" and send(
        request, form, lambda asked: _decide(form, asked, uid)
    ):
        messages.success(
            request,
            _("Decided: {decision}.").format(decision=plain(form.cleaned_data["decision"])),
        )
        return redirect("batch", row.batch_id)
    return _show(request, at, row, form, None)


@page
@require_http_methods(["GET", "HEAD", "POST"])
def choose_account(request: HttpRequest, uid: UUID) -> HttpResponse:
    """Of several accounts of a move one stands, by somebody who told none of them."""
    row = question_seen(uid)
    at = here(request, row.site_id, access.MANAGERS)
    if request.method != "POST":
        return redirect("question", uid)
    told = _accounts(row)
    form = AccountForm(request.POST, at=at, told=told)
    done = send(
        request,
        form,
        lambda asked: decide_account(
            replace(asked, reason=form.cleaned_data["why"]),
            fact=row.cause,
            accepted=UUID(form.cleaned_data["accepted"]),
        ),
        {"reason": "why"},
    )
    if done:
        messages.success(request, _("Decided. The other account stays in the record book."))
        return redirect("batch", row.batch_id)
    return _show(request, at, row, _decision_form(None, row, at), form)


def _show(
    request: HttpRequest, at: Here, row: Any, form: DecisionForm, chosen: AccountForm | None
) -> HttpResponse:
    told = _accounts(row)
    open_here = at.decides and row.open
    choosing = chosen or (open_here and at.manages and needs_choice(told, at))
    context = {
        "row": row,
        "heading": f"{plain(row.rule)}".capitalize(),
        "numbers": numbers.said(row.numbers, at.zone),
        "effect": plain(row.effect),
        "lines": lines(entries_about(at.site.uid, [row.cause]), at),
        "form": form if open_here else None,
        "accounts": accounts_table(told, at) if len(told) > 1 else None,
        "choice": (chosen or AccountForm(at=at, told=told)) if choosing else None,
        "choose": reverse("choose-account", args=[row.uid]),
        "outcomes": _outcomes(row, told, at) if open_here else None,
        "confirm": confirmation(row, at),
        "withdraw": _withdraw(row, at),
        "outside": _outside(row, at),
        **carry_over_context(row.batch_id, at),
    }
    bound = chosen or form
    status = 409 if bound.objections else 400 if bound.is_bound else 200
    return show(request, at, "question", context, current="questions", status=status)


def _accounts(row: Any) -> Sequence[Account]:
    if row.rule != "two_accounts":
        return ()
    return accounts_by_cause([row.cause]).get(row.cause, ())


def _decision_form(request: HttpRequest | None, row: Any, at: Here) -> DecisionForm:
    posted = request.POST if request is not None and request.method == "POST" else None
    known = {"known": json.dumps(row.numbers)}
    return DecisionForm(posted, at=at, choices=list(_choices(row)), initial=known)


def _decide(form: DecisionForm, asked: Any, uid: UUID) -> Any:
    given = form.cleaned_data
    decision, __, start = given["decision"].partition("-")
    return decide_deviation(
        replace(asked, reason=given["why"]),
        deviation=uid,
        decision=decision,
        known=given["known"],
        from_this_stay=start == "here",
    )


def _choices(row: Any) -> Iterator[tuple[str, str]]:
    yield KEEP
    yield HERE if row.effect == "broke" else RESTART
    yield VOID


# -- What each of them would do ----------------------------------------------------------------


def _outcomes(row: Any, told: Sequence[Account], at: Here) -> Table:
    """Each answer beside what stands now: the batch judged as if it had been given."""
    uids = [one.uid for one in told] if len(told) > 1 else []
    said = if_decided(row, at.now, decisions=("keep", "restart", "void"), accounts=uids)
    rows = [_outcome(_("As it stands"), said.now, at)]
    rows += [
        _outcome(name.capitalize(), said.then[name], at) for name in ("keep", "restart", "void")
    ]
    rows += _if_accepted(told, said, at)
    columns = (
        _("If it is"),
        _("Series"),
        _("Moves"),
        _("Complete at the earliest"),
        _("Limit"),
        _("Alive"),
    )
    return Table(_("What each answer would do"), columns, rows, numeric=frozenset({2, 5}))


def _if_accepted(
    told: Sequence[Account], said: Assumed, at: Here
) -> Iterator[tuple[object, ...]]:
    for one in told:
        if str(one.uid) in said.then:
            yield _outcome(_("As {by} says").format(by=one.by), said.then[str(one.uid)], at)


def _outcome(name: str, found: Judgement, at: Here) -> tuple[object, ...]:
    series = found.series
    if series is None:
        return (name, _("none goes on"), "", "", "", found.alive)
    end: object = when(found.earliest_end, at.zone)
    if found.earliest_end is None:
        end = _("after the next clean placement") if found.stage == "moves" else ""
    return (
        name,
        f"{series.number}, {plain(series.state)}",
        series.moves,
        end,
        when(found.limit, at.zone) or _("none"),
        found.alive,
    )


# -- A second person ---------------------------------------------------------------------------


def confirmation(row: Any, at: Here, *, back: str = "") -> Action | None:
    """The button of a second person, where one is wanted and this is not the first."""
    if row.rule not in CONFIRMED or not row.open or not at.works or row.by == at.person.uid:
        return None
    if row.numbers.get("delivered") and not at.manages:
        return None
    href = reverse("confirm-question", args=[row.uid])
    fields = (("back", back),) if back else ()
    return Action(CONFIRMED[row.rule], href, new_key(), fields=fields, quiet=True)


def _outside(row: Any, at: Here) -> str:
    """Where somebody from outside is asked; the site's rule is looked at there."""
    if row.rule != "late_unconfirmed" or not row.open or not at.manages:
        return ""
    return reverse("outside-link", args=[row.uid])


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
    messages.success(request, _("A second person has confirmed it."))
    if request.POST.get("back") == "questions":
        return redirect("questions", row.site_id)
    return redirect("batch", row.batch_id)


class WithdrawalForm(Told):
    WITHOUT = ("when", "standing", "set_aside", "why_aside", "reason")

    why = Words(label=later("Why was it not so?"), lines=True)


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
        messages.success(request, _("Withdrawn. The report stays in the record book."))
        return redirect("batch", row.batch_id)
    return show_form(
        request,
        at,
        form,
        _("{rule}: it was not so").format(rule=plain(row.rule)).capitalize(),
        do=_("Withdraw it"),
        back=("question", uid),
        current="questions",
    )
