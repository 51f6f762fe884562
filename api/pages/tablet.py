"""Which enrolled tablet a browser is, and who is signed in at it."""

from dataclasses import dataclass
from uuid import UUID

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.utils.functional import SimpleLazyObject

from protocols.proofs import Proof
from stock.access import Person
from stock.queries.sign_ins import signed_in
from stock.queries.tablets import Tablet, tablet_of_secret

COOKIE = "fillmark_tablet"
LASTS_S = 400 * 24 * 3600  # as long as browsers keep a cookie at all
PEOPLE, IDLE_S = "people", "idle_s"
MOST_PEOPLE = 2


@dataclass(frozen=True, slots=True)
class AtTablet:
    """What every page says of the tablet it is shown on."""

    tablet: Tablet
    person: Person | None
    people: tuple[Person, ...]
    idle_s: int = 0  # after so long without a touch it asks who is there


def tablet_of(request: HttpRequest) -> Tablet | None:
    """The tablet that asks; None for a browser nobody enrolled. At most one query a request."""
    secret = request.COOKIES.get(COOKIE)
    if not secret:
        return None
    if not hasattr(request, "_tablet"):
        request._tablet = tablet_of_secret(secret)  # type: ignore[attr-defined]
    found: Tablet | None = request._tablet  # type: ignore[attr-defined]
    return found


def people_here(request: HttpRequest) -> tuple[Person, ...]:
    """Who is signed in, whoever acts first; at most two, and more than one on a tablet alone.

    No query for one person, one for two.
    """
    acting = request.user
    if not isinstance(acting, Person):
        return ()
    named = request.session.get(PEOPLE, []) if tablet_of(request) else []
    others = [uid for uid in named if uid != str(acting.uid)][: MOST_PEOPLE - 1]
    beside = [one for uid in others if (one := signed_in(UUID(uid))) is not None]
    for one in beside:
        one.proof = Proof.PIN  # whoever stands there may have pressed in their name
    return (acting, *beside)


def keep_secret(response: HttpResponse, secret: str) -> HttpResponse:
    """Let this browser be the tablet from now on: out of reach of scripts."""
    response.set_cookie(
        COOKIE,
        secret,
        max_age=LASTS_S,
        httponly=True,
        samesite="Lax",
        secure=settings.SESSION_COOKIE_SECURE,
    )
    return response


def frame(request: HttpRequest) -> dict[str, object]:
    """For every template: `at_tablet` on an enrolled browser, read when it is asked for."""
    if COOKIE not in request.COOKIES:
        return {}
    return {"at_tablet": SimpleLazyObject(lambda: _at_tablet(request))}


def _at_tablet(request: HttpRequest) -> AtTablet | bool:
    tablet = tablet_of(request)
    if tablet is None:
        return False
    people = people_here(request)
    idle_s = int(request.session.get(IDLE_S, 0)) if people else 0
    return AtTablet(tablet, people[0] if people else None, people, idle_s)
