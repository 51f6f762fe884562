"""How often something secret may be guessed."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from protocols.ruled import Reason

CODE = "too_many"


@dataclass(frozen=True, slots=True)
class Limit:
    """So many wrong tries `within` a span; without one for ever, until something else opens."""

    most: int
    within: timedelta | None


@dataclass(frozen=True, slots=True)
class Tried:
    """How often it was tried in vain since a moment."""

    since: datetime
    failed: int


QUARTER = timedelta(minutes=15)
# Somebody at a tablet: ten thousand codes are few, so the password opens it again.
PIN = Limit(5, None)
# One address from one place; one address from anywhere; any address from one place.
SIGN_IN = Limit(10, QUARTER)
ADDRESS = Limit(50, QUARTER)
PLACE = Limit(100, QUARTER)
# A code of six digits holds 90 s with those beside it.
SECOND_FACTOR = Limit(8, QUARTER)


def may_try(tried: Tried | None, limit: Limit, at: datetime) -> tuple[Reason, ...]:
    """Nothing while there are tries left at `at`; else why not, and in how many seconds."""
    if tried is None or tried.failed < limit.most or _is_over(tried, limit, at):
        return ()
    if limit.within is None:
        text = f"That was tried {tried.failed} times in vain. Sign in with your password."
        return (Reason(CODE, CODE, text, numbers={"tries": tried.failed}),)
    wait_s = int((tried.since + limit.within - at).total_seconds())
    text = f"That was tried {tried.failed} times in vain. Try again in {-(-wait_s // 60)} min."
    numbers = {"tries": tried.failed, "again_in_s": wait_s}
    return (Reason(CODE, CODE, text, numbers=numbers),)


def one_more(tried: Tried | None, limit: Limit, at: datetime) -> Tried:
    """With one more try at `at`; counted anew once the span is over."""
    if tried is None or _is_over(tried, limit, at):
        return Tried(at, 1)
    return Tried(tried.since, tried.failed + 1)


def _is_over(tried: Tried, limit: Limit, at: datetime) -> bool:
    return limit.within is not None and at >= tried.since + limit.within
