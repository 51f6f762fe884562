"""The frame of every page: who looks, at which site, at which moment, and the ways on."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import wraps
from typing import Any
from uuid import UUID, uuid4
from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from api.language import later
from api.pages.acting import ask_who
from api.pages.camera import let_reader_run
from api.pages.entries import entry_of, is_entry, take
from api.pages.objections import objection
from api.pages.paper_line import PaperLine, back_to_sheet, paper_of
from api.pages.parts import PageLink, Shell
from api.pages.words import plain
from api.rest.problems import status_of
from protocols.proofs import is_enough, is_weighty
from protocols.units import Units
from stock import access, clock
from stock.access import Person, Site
from stock.queries.sign_ins import held_by
from stock.refusals import NotFound, Refused, refuse

View = Callable[..., HttpResponse]

# In the order of the day; the first three stay under the thumb on a narrow screen.
PAGES = (
    ("shift", later("Shift")),
    ("room", later("The room")),
    ("unpacking", later("Unpacking")),
    ("kits", later("Kit")),
    ("mixing", later("Mixing room")),
    ("questions", later("Questions")),
    ("certifiable", later("May it be certified?")),
)
MORE = (
    ("scan", later("Scan")),
    ("labels", later("Labels")),
    ("protocols", later("Protocols")),
    ("record-book", later("Record book")),
    ("probes", later("Probes")),
    ("calls", later("Calls")),
    ("units", later("Units")),
    ("own-sign-in", later("Your sign-in")),
)


@dataclass(frozen=True, slots=True)
class Here:
    """Who looks at which site, with which roles, and when."""

    person: Person
    site: Site
    roles: frozenset[str]
    now: datetime
    others: tuple[Site, ...] = ()
    paper: PaperLine | None = None  # what is typed in from a sheet

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.site.zone)

    def may(self, roles: Iterable[str]) -> bool:
        """Whether this is offered here; the door asks again whoever sends it."""
        return bool(self.roles & frozenset(roles))

    @property
    def units(self) -> Units:
        """The units in which this person reads."""
        return Units(self.person.units)

    @property
    def works(self) -> bool:
        return self.may(access.HANDS)

    @property
    def manages(self) -> bool:
        return self.may(access.MANAGERS)

    @property
    def reads(self) -> bool:
        return self.may(access.READERS)

    @property
    def decides(self) -> bool:
        return self.may(access.DECIDERS)


def here(request: HttpRequest, site: UUID, roles: Iterable[str] = access.EVERYBODY) -> Here:
    """The person at this site; a site where they hold no role is not there.

    No query beside those that sign-in needs. Raises NotFound or Refused (wrong_role).
    """
    who = person_of(request)
    held = {one.site.uid: one for one in held_by(who)}
    found = held.pop(site, None)
    if found is None:
        raise NotFound
    if not found.roles & frozenset(roles):
        raise Refused(refuse("wrong_role", _("Your role does not allow this.")))
    # Before a form is filled in vain; what the site asks for besides, the door says.
    if is_weighty(roles) and (stands := is_enough(who.proof, needed=False)):
        raise Refused(*stands)
    others = tuple(one.site for one in held.values())
    now = clock.now(site)
    if (entry := entry_of(request)) is not None:
        now = entry.moment(now)  # the page is asked as it was when the key was pressed
        if entry.delivered and "keeper" not in roles:
            raise Refused(refuse("own_action", NOT_FOR_ANOTHER))
    return Here(who, found.site, found.roles, now, others, paper_of(request, site))


NOT_FOR_ANOTHER = "A decision is not brought by another: who decides signs in."


def person_of(request: HttpRequest) -> Person:
    if not isinstance(request.user, Person):
        raise TypeError("a page without sign-in must not ask who is signed in")
    return request.user


def page(view: View) -> View:
    """A page for people who are signed in: never kept by a cache, refusals said in words."""

    @wraps(view)
    def answer(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        if is_entry(request):
            return no_store(take(request, lambda: view(request, *args, **kwargs)))
        if not request.user.is_authenticated:
            return no_store(ask_who(request))
        try:
            response = back_to_sheet(request, view(request, *args, **kwargs))
        except NotFound:
            response = render(request, "404.html", status=404)
        except Refused as refused:
            response = refused_page(request, refused)
        return no_store(response)

    return answer


def public(view: View) -> View:
    """A page for everybody, such as sign-in; never kept by a cache."""

    @wraps(view)
    def answer(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        return no_store(view(request, *args, **kwargs))

    return answer


def refused_page(request: HttpRequest, refused: Refused) -> HttpResponse:
    """What stands against it where there is no form that could say so."""
    stronger = any(one.code == "second_factor" for one in refused.reasons)
    context = {
        "objections": [objection(one) for one in refused.reasons],
        "again": request.get_full_path() if stronger else "",
    }
    status = min((status_of(one.code) for one in refused.reasons), default=409)
    return render(request, "pages/refused.html", context, status=status)


def show(
    request: HttpRequest,
    at: Here,
    template: str,
    context: Mapping[str, Any],
    *,
    current: str = "",
    status: int = 200,
) -> HttpResponse:
    """A page in its frame; `current` is the name of the page in the line of pages."""
    frame = {
        "shell": shell(at, current),
        "here": at,
        "zone": at.zone,
        "now": at.now,
        "request_key": new_key(),
    }
    shown = render(request, f"pages/{template}.html", {**frame, **context}, status=status)
    return let_reader_run(shown)


def shell(at: Here, current: str = "") -> Shell:
    return Shell(
        site=at.site.name,
        zone=at.zone,
        as_of=at.now,
        person=at.person.name,
        role=", ".join(plain(role) for role in sorted(at.roles)),
        links=_links(PAGES, at.site, current),
        more=(*_links(_more(at), at.site, current), *_sites(at)),
        sign_out=reverse("sign-out"),
    )


def new_key() -> str:
    """A request key: however often a form is pressed, it is recorded once."""
    return uuid4().hex


def _links(pages: Iterable[tuple[str, str]], site: Site, current: str) -> tuple[PageLink, ...]:
    return tuple(
        PageLink(text, reverse(name, args=[site.uid]), name == current) for name, text in pages
    )


def _more(at: Here) -> tuple[tuple[str, str], ...]:
    theirs = (("paper", _("Paper")), ("tablets", _("Tablets"))) if at.works else ()
    reading = (
        ("traces", _("Traces")),
        ("reports", _("Reports")),
        ("taking-away", _("Records to take away")),
    )
    read = reading if at.may(access.READERS) else ()
    return (
        *MORE,
        *read,
        *theirs,
        *(
            (
                ("people", _("People")),
                ("set-up", _("Set up")),
                ("erasing", _("Keeping and erasing")),
                ("webhooks", _("Webhooks")),
            )
            if at.manages
            else ()
        ),
    )


def _sites(at: Here) -> tuple[PageLink, ...]:
    return tuple(
        PageLink(_("To {name}").format(name=one.name), reverse("shift", args=[one.uid]))
        for one in at.others
    )


def no_store(response: HttpResponse) -> HttpResponse:
    """No cache between here and the person keeps it."""
    response["Cache-Control"] = "no-store"
    return response
