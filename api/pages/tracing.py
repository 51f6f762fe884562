"""Traces on a page: what something could have reached, and where it could have come from."""

from collections.abc import Mapping, Sequence
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from api.language import later
from api.pages.links import label, link, when
from api.pages.objections import objection
from api.pages.parts import Table
from api.pages.pictures.traces import Lane, trace_picture
from api.pages.shell import Here, here, page, person_of, show
from api.pages.trace_deciding import batches_found
from api.pages.words import plain
from api.rest.problems import status_of
from protocols.clocks import parse_utc
from protocols.codes import read_code
from protocols.exposure import Grade
from protocols.hours import wall
from protocols.tracing_answer import BACK, FORWARD, Question
from protocols.uids import uid_or_none
from stock import access
from stock.doors.traces import make_trace, trace_for
from stock.queries.labelled import bearers
from stock.queries.traces import shown, traces_of
from stock.refusals import NotFound, Refused

DAY = timedelta(days=1)
FIRST_DAY, LAST_DAY = date(1900, 1, 1), date(9000, 1, 1)
# More lanes than these nobody reads; the tables have all of them. Who is concerned comes first.
LANES_MOST = 30
CONCERNED = ("batch", "consignment", "supplier", "system", "make")
DRAWN = ("batch", "consignment", "supplier", "system", "container", "make", "kit")


class TraceForm(forms.Form):
    """From which thing, which way, and in which days of the site."""

    of = forms.CharField(
        max_length=80,
        label=later("From what"),
        help_text=later("The code on its label; a link from its page fills this in."),
        widget=forms.TextInput(attrs={"data-scan": "code"}),
    )
    direction = forms.ChoiceField(
        label=later("Which way"),
        choices=[
            (FORWARD, later("Forward: what it could have reached")),
            (BACK, later("Back: where it could have come from")),
        ],
    )
    since = forms.DateField(
        required=False,
        label=later("Nothing before this day"),
        widget=forms.DateInput(attrs={"type": "date"}),
    )
    until = forms.DateField(
        required=False,
        label=later("Nothing after this day"),
        widget=forms.DateInput(attrs={"type": "date"}),
    )

    def __init__(self, *args: Any, site: UUID, **options: Any) -> None:
        super().__init__(*args, **options)
        self.site = site

    def clean_of(self) -> str:
        text = str(self.cleaned_data["of"]).strip()
        if (uid := uid_or_none(text)) is not None:
            return str(uid)
        code = read_code(text)
        found = bearers(self.site, code) if code else []
        if not found:
            raise forms.ValidationError(_("Nothing here bears this code."))
        return str(found[0].uid)

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        for name in ("since", "until"):
            if (day := given.get(name)) and not FIRST_DAY <= day <= LAST_DAY:
                self.add_error(name, _("There is no such day in these calendars."))
        return given


@page
@require_http_methods(["GET", "HEAD", "POST"])
def traces(request: HttpRequest, site: UUID) -> HttpResponse:
    """The kept traces of a site, and the question for another one."""
    at = here(request, site, access.READERS)
    usual = {"of": request.GET.get("of", "")[:80], "direction": FORWARD}
    form = TraceForm(request.POST or None, initial=usual, site=site)
    objections: list[Any] = []
    status = 400 if form.is_bound else 200
    if form.is_valid():
        try:
            row = make_trace(
                at.person, site=site, asked=_asked(form, at), known_by=None, at=at.now
            )
            return redirect("trace", row.uid)
        except Refused as refused:
            objections = [objection(one) for one in refused.reasons]
            status = min(status_of(one.code) for one in refused.reasons)
        except NotFound:
            form.add_error("of", _("The record book says nothing of where this was."))
    context = {"form": form, "objections": objections, "table": _kept(traces_of(site), at)}
    return show(request, at, "traces", context, current="traces", status=status)


@page
@require_safe
def trace(request: HttpRequest, uid: UUID) -> HttpResponse:
    """A picture and its tables, as they were found."""
    row = trace_for(person_of(request), uid)
    at = here(request, row.site, access.READERS)
    seen = shown(row)
    sure = [one for one in seen.found if one["grade"] != Grade.POSSIBLE]
    whom = [one for one in sure if one["kind"] in CONCERNED]
    by_what = [one for one in sure if one["kind"] not in CONCERNED]
    perhaps = [one for one in seen.found if one["grade"] == Grade.POSSIBLE]
    says = HEADINGS[row.question["direction"]]
    context = {
        "heading": says.format(name=seen.start),
        "row": row,
        "made": when(row.made_at, at.zone),
        "until": when(parse_utc(row.question["until"]), at.zone),
        "picture": _picture(seen.start, row.question, seen.found, str(says)),
        "table": _found(_("What was found, the strongest first"), whom, at),
        "by_what": _found(_("Things on the way"), by_what, at) if by_what else None,
        "perhaps": _found(_("What was merely possible"), perhaps, at) if perhaps else None,
        "batches": batches_found(seen, at),
        "certificates": _certificates(seen.certificates),
        "gone": _gone(seen.dispatches, at),
    }
    return show(request, at, "trace", context, current="traces")


HEADINGS: Mapping[str, Any] = {
    FORWARD: later("What {name} could have reached"),
    BACK: later("Where {name} could have it from"),
}


def _asked(form: TraceForm, at: Here) -> Question:
    given = form.cleaned_data
    since, until = given.get("since"), given.get("until")
    end = at.now if until is None else min(at.now, wall(until + DAY, 0, at.zone))
    begin = None if since is None else wall(since, 0, at.zone)
    return Question(given["of"], given["direction"], begin, end)


def _kept(rows: Sequence[Mapping[str, Any]], at: Here) -> Table:
    return Table(
        _("Kept traces"),
        (_("From what"), _("Which way"), _("Made"), _("Entries")),
        [
            (
                link(one["of"]["label"], "trace", one["uid"]),
                plain(one["direction"]),
                when(one["made_at"], at.zone),
                one["known_by"] + 1,
            )
            for one in rows
        ],
        frozenset({3}),
        _("None was made yet."),
    )


def _picture(
    start: str, asked: Mapping[str, Any], found: Sequence[Mapping[str, Any]], says: str
) -> str:
    moments = [parse_utc(one["at"]) for one in found]
    if not moments:
        return ""
    edge = max(moments) if asked["direction"] == BACK else min(moments)
    wanted = [one for one in found if one["kind"] in DRAWN]
    # Sorted stably: within a kind the strongest stay first.
    drawn = sorted(wanted, key=lambda one: DRAWN.index(one["kind"]))[:LANES_MOST]
    lanes = [
        Lane(
            one["name"],
            f"{plain(one['kind'])} {one['label']}",
            parse_utc(one["at"]),
            one["grade"],
            _came_from(one, asked["direction"]),
        )
        for one in drawn
    ]
    return trace_picture(
        Lane(asked["of"], start, edge, "strong", ""), lanes, says=says.format(name=start)
    )


def _came_from(one: Mapping[str, Any], direction: str) -> str:
    """The thing before it on its way; a contact of a way back is told as it happened."""
    if not one["way"]:
        return ""
    last = one["way"][-1]
    ends = {last["from"]["name"], last["to"]["name"]} - {one["name"]}
    return min(ends, default="")


def _found(caption: str, found: Sequence[Mapping[str, Any]], at: Here) -> Table:
    return Table(
        caption,
        (_("What"), _("How readily"), _("When at the earliest"), _("By which way")),
        [
            (
                f"{plain(one['kind'])} {one['label']}",
                plain(one["grade"]),
                when(parse_utc(one["at"]), at.zone),
                _way(one["way"]),
            )
            for one in found
        ],
        empty=_("Nothing: no contact leads from it or to it in this time."),
    )


def _way(steps: Sequence[Mapping[str, Any]]) -> str:
    return " → ".join(
        _("{name} ({way})").format(name=one["to"]["label"], way=plain(f"way_{one['way']}"))
        for one in steps
    )


def _certificates(rows: Sequence[Mapping[str, Any]]) -> Table:
    return Table(
        _("Certificates of what was reached"),
        (_("Certificate"), _("Batch"), _("State")),
        [
            (
                label(one["number"]),
                link(one["code"], "batch", one["batch"]),
                plain(one["state"]),
            )
            for one in rows
        ],
        empty=_("None."),
    )


def _gone(rows: Sequence[Mapping[str, Any]], at: Here) -> Table:
    return Table(
        _("Animals of what was reached that left"),
        (_("Batch"), _("When"), _("To whom"), _("Animals")),
        [
            (
                link(one["code"], "batch", one["batch"]),
                when(_moment(one["at"]), at.zone),
                one["buyer"] or _("not said"),
                one["count"],
            )
            for one in rows
        ],
        frozenset({3}),
        _("None."),
    )


def _moment(at: datetime | str) -> datetime:
    return at if isinstance(at, datetime) else parse_utc(at)
