"""Between the first and the second thing that somebody shows to sign in."""

from dataclasses import asdict, dataclass
from datetime import timedelta
from uuid import UUID

from django.http import HttpRequest
from django.utils.http import url_has_allowed_host_and_scheme

from protocols.clocks import parse_utc, utc_text
from stock import clock
from stock.access import Person
from stock.queries.sign_ins import signed_in

HALF = "half"
LASTS = timedelta(minutes=10)


@dataclass(frozen=True, slots=True)
class Half:
    """Who it is, what is still to come (`code`, `pin`), and where they want to go."""

    person: str
    step: str
    wanted: str
    beside: bool = False


def begin_half(request: HttpRequest, half: Half) -> None:
    request.session[HALF] = {**asdict(half), "at": utc_text(clock.now())}


def half_of(request: HttpRequest, step: str) -> tuple[Half, Person] | None:
    """Who came so far, not longer ago than ten minutes; else nobody."""
    kept = dict(request.session.get(HALF) or {})
    if kept.get("step") != step or clock.now() - parse_utc(kept.pop("at")) > LASTS:
        return None
    half = Half(**kept)
    person = signed_in(UUID(half.person))
    return None if person is None else (half, person)


def asked_for(request: HttpRequest) -> str:
    return request.POST.get("next") or request.GET.get("next") or ""


def onward(request: HttpRequest, wanted: str) -> str:
    """Where somebody wanted to go before sign-in, if that is an address of ours."""
    ours = url_has_allowed_host_and_scheme(wanted, {request.get_host()}, request.is_secure())
    return wanted if ours else "/"
