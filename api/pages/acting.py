"""Who acts: how a sign-in begins, changes hands at a tablet, rests and ends."""

import secrets
from collections.abc import Callable
from datetime import datetime, timedelta
from uuid import UUID

from django.conf import settings
from django.contrib.auth import login, logout
from django.contrib.auth.middleware import get_user
from django.contrib.auth.models import AnonymousUser
from django.contrib.auth.views import redirect_to_login
from django.contrib.sessions.middleware import SessionMiddleware
from django.core.signing import BadSignature, Signer
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.functional import SimpleLazyObject
from django.utils.http import urlencode

from api.pages.halfway import HALF
from api.pages.tablet import IDLE_S, MOST_PEOPLE, PEOPLE, people_here, tablet_of
from protocols.clocks import Unreadable, parse_utc, utc_text
from protocols.proofs import Proof
from stock import clock
from stock.access import Person
from stock.queries.sites import rules_history

USED = "fillmark_used"  # when somebody last touched this tablet, signed for one sign-in
MARGIN_S = 60  # a cookie that nobody needs any more goes by itself
PROOF, TABLET, KEPT = "proof", "tablet", "kept"
BEGAN = "began"  # a name of the sign-in; the key of its session is not made yet when it begins
FORM_MOST = 65_536  # characters
# An entry that was pressed just now was pressed by somebody; one that waited was not.
JUST_NOW = timedelta(minutes=2)
Answering = Callable[[HttpRequest], HttpResponse]


class Sessions(SessionMiddleware):
    """Sessions that no page's own fetch can end.

    One that was on its way when somebody signed in comes back with the sign-in before, which is
    gone by then: its answer would take the new one away.
    """

    def process_response(self, request: HttpRequest, response: HttpResponse) -> HttpResponse:
        answered = super().process_response(request, response)
        cookie = answered.cookies.get(settings.SESSION_COOKIE_NAME)
        if cookie is not None and not cookie.value and not _is_navigation(request):
            del answered.cookies[settings.SESSION_COOKIE_NAME]
        return answered


class WhoActs:
    """Knows who a request acts as, and how surely; nobody, once a tablet was left lying."""

    def __init__(self, answer: Answering) -> None:
        self.answer = answer

    def __call__(self, request: HttpRequest) -> HttpResponse:
        request.user = SimpleLazyObject(lambda: _who(request))  # type: ignore[assignment]
        response = self.answer(request)
        if request.session.accessed and _is_use(request):
            _remember_use(request, response)
        return response


def begin(request: HttpRequest, person: Person, proof: Proof, *, beside: bool = False) -> None:
    """Sign in as `person`: at a tablet `beside` whoever is there, else instead of everybody."""
    others = [str(one.uid) for one in people_here(request)] if beside else []
    here = [*others[: MOST_PEOPLE - 1], str(person.uid)]
    login(request, person)  # whatever another person left in the session is gone by this
    session = request.session
    session.pop(HALF, None)
    session[PEOPLE] = list(dict.fromkeys(here))
    session[PROOF] = proof.value
    person.proof = proof
    tablet = tablet_of(request)
    if tablet is not None:
        bind(request, tablet.uid, tablet.site)


def bind(request: HttpRequest, tablet: UUID, site: UUID) -> None:
    """This sign-in counts at this tablet alone, and rests once nobody touches it."""
    rules = rules_history(site).at(clock.now(site))
    request.session[BEGAN] = secrets.token_hex(8)
    request.session[TABLET], request.session[IDLE_S] = str(tablet), rules.idle_lock_s


def stronger(request: HttpRequest) -> None:
    """Whoever acts has just shown the code of their second factor, after their password."""
    request.session[PROOF] = Proof.SECOND_FACTOR.value


def act_as(request: HttpRequest, person: UUID) -> bool:
    """Let the other one of two who are here act; what needs a password asks for it again."""
    for one in people_here(request)[1:]:
        if one.uid == person:
            begin(request, one, Proof.PIN, beside=True)
            return True
    return False


def leave(request: HttpRequest, person: UUID | None = None) -> None:
    """One of those here goes, or whoever acts; the other one stays, alone."""
    people = people_here(request)
    gone = person or (people[0].uid if people else None)
    staying = [one for one in people if one.uid != gone]
    if not staying:
        logout(request)
    elif staying[0].uid == people[0].uid:
        request.session[PEOPLE] = [str(staying[0].uid)]
    else:
        begin(request, staying[0], Proof.PIN)


def ask_who(request: HttpRequest) -> HttpResponse:
    """To sign-in, or to the people of a tablet; what a locked one was told is kept for them."""
    wanted = request.get_full_path()
    if tablet_of(request) is None:
        return redirect_to_login(wanted)
    if request.method == "POST":
        _keep_form(request)
        wanted = "/"
    return redirect(f"{reverse('who-is-here')}?{urlencode({'next': wanted})}")


def is_locked(request: HttpRequest) -> bool:
    """Whether somebody is signed in here who did not touch the tablet for too long."""
    return not request.user.is_authenticated and get_user(request).is_authenticated


def _keep_form(request: HttpRequest) -> None:
    """Keep a form without files in the locked session: another's sign-in empties it."""
    fields = [
        [name, value]
        for name, values in request.POST.lists()
        if name != "csrfmiddlewaretoken"
        for value in values
    ]
    if is_locked(request) and not request.FILES and len(repr(fields)) <= FORM_MOST:
        request.session[KEPT] = {"path": request.path, "fields": fields}


def _who(request: HttpRequest) -> Person | AnonymousUser:
    user = get_user(request)
    if not isinstance(user, Person):
        return AnonymousUser()
    bound = request.session.get(TABLET)
    if bound is not None and not _is_awake(request, str(bound)):
        return AnonymousUser()
    user.proof = Proof(request.session.get(PROOF, Proof.PASSWORD.value))
    return user


def _is_awake(request: HttpRequest, bound: str) -> bool:
    """Whether this is still the tablet of the sign-in, and was touched not long ago."""
    tablet = tablet_of(request)
    if tablet is None or str(tablet.uid) != bound:
        return False
    used = _used_at(request)
    rests = timedelta(seconds=int(request.session.get(IDLE_S, 0)))
    return used is not None and clock.now(tablet.site) - used <= rests


def _used_at(request: HttpRequest) -> datetime | None:
    try:
        return parse_utc(_signer(request).unsign(request.COOKIES.get(_name(request), "")))
    except (BadSignature, Unreadable):
        return None


def _remember_use(request: HttpRequest, response: HttpResponse) -> None:
    bound = request.session.get(TABLET)
    if bound is None or not request.user.is_authenticated:
        return
    tablet = tablet_of(request)
    used = utc_text(clock.now(tablet.site if tablet else None))
    response.set_cookie(
        _name(request),
        _signer(request).sign(used),
        max_age=int(request.session.get(IDLE_S, 0)) + MARGIN_S,
        httponly=True,
        samesite="Lax",
        secure=settings.SESSION_COOKIE_SECURE,
    )


def _name(request: HttpRequest) -> str:
    """One cookie for each sign-in: an answer that comes late says nothing of the next one."""
    return f"{USED}_{request.session.get(BEGAN)}"


def _signer(request: HttpRequest) -> Signer:
    return Signer(salt=_name(request))


def _is_use(request: HttpRequest) -> bool:
    """Whether a person did it: what a page fetches by itself keeps nobody signed in."""
    if "Fillmark-Touched" in request.headers:
        return True
    raw = request.headers.get("Fillmark-Raw-At")
    if raw is not None:
        return _is_just_now(raw, request.headers.get("Fillmark-Clock-Offset", "0"))
    return _is_navigation(request)


def _is_navigation(request: HttpRequest) -> bool:
    return request.headers.get("Sec-Fetch-Mode", "navigate") == "navigate"


def _is_just_now(raw: str, offset_ms: str) -> bool:
    try:
        pressed = datetime.fromisoformat(raw) + timedelta(milliseconds=int(offset_ms))
        return abs(clock.now() - pressed) <= JUST_NOW
    except (ValueError, TypeError, OverflowError):
        return False
