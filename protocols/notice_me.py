"""Being told when a certificate changes: how long an address waits, how often it is tried."""

from datetime import datetime, timedelta

from protocols.tries import Limit

# Nobody pressed the button of the first letter: then nobody wanted it.
WAITS = timedelta(hours=48)
DAY = timedelta(days=1)
# Letters that strangers can cause: to one address, about one certificate, from one place.
TO_ONE = Limit(3, DAY)
ABOUT_ONE = Limit(50, DAY)
FROM_ONE = Limit(20, DAY)
# A mail server may be away for days: about ten of them, every six hours in the end.
TRIES = 40
FIRST_WAIT, LONGEST_WAIT = timedelta(minutes=2), timedelta(hours=6)
# After these a certificate never changes again, and the address is of no more use.
FINAL = frozenset({"superseded", "revoked", "ended"})


def next_try(tries: int, at: datetime) -> datetime | None:
    """When a letter is tried again after so many tries, at least one; None: it is given up."""
    if tries >= TRIES:
        return None
    doubled: int = 2 ** min(tries - 1, 8)
    return at + min(FIRST_WAIT * doubled, LONGEST_WAIT)


def is_over(asked_at: datetime, confirmed_at: datetime | None, at: datetime) -> bool:
    """Whether an address that nobody confirmed is to be forgotten."""
    return confirmed_at is None and at >= asked_at + WAITS
