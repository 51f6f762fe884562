"""Webhooks: which events there are, how they are written and signed, and when to try again.

The form is Standard Webhooks 1.0 (https://www.standardwebhooks.com): three headers, a body of
`type`, `timestamp` and `data`, and a signature by HMAC-SHA256 that two secrets may make while
one replaces the other. Bodies are thin: uids, counts, times and a position, no names.
"""

import base64
import hashlib
import hmac
import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from urllib.parse import SplitResult, urlsplit
from uuid import UUID, uuid5

from protocols.addresses import LENGTH_MOST, is_private
from protocols.clocks import utc_text
from protocols.ruled import Reason

# What a fact is called outside. A new event is a new line; a name is never changed.
OF_FACTS: Mapping[str, str] = {
    "certificate_issued": "certificate.issued",
    "certificate_suspended": "certificate.suspended",
    "certificate_lifted": "certificate.lifted",
    "certificate_superseded": "certificate.superseded",
    "certificate_revoked": "certificate.revoked",
    "certificate_ended": "certificate.ended",
    "hold_placed": "hold.placed",
    "hold_lifted": "hold.lifted",
    "animals_dispatched": "batch.dispatched",
}
NEAR, PASSED = "limit.near", "limit.passed"
TEST = "webhook.test"
# What somebody may choose; a test goes to every webhook, and only when it is asked for.
EVENTS = (*OF_FACTS.values(), NEAR, PASSED)
# What of a fact's body goes out; everything else, such as a reason or a buyer, stays inside.
TOLD = ("certificate", "number", "batch", "count", "hold", "dispatch", "site", "by_rule")

SECRET_BYTES = 32  # the standard asks for 24 to 64
SECRET_PREFIX = "whsec_"  # noqa: S105  how every secret begins, none itself
# So long both secrets sign, so that a receiver can change over without losing an event.
BOTH_SECRETS, BOTH_MOST = timedelta(hours=24), timedelta(days=7)

# How long after each failed try the next one comes; then this delivery is given up.
BACK_OFF = tuple(
    timedelta(seconds=s)
    for s in (10, 60, 300, 1800, 2 * 3600, 5 * 3600, 10 * 3600, 14 * 3600, 20 * 3600, 24 * 3600)
)
# A webhook is ended once nothing was taken for so long and so many tries in a row.
FAILING_MOST = timedelta(days=3)
FAILED_TRIES_MOST = 10
# A try that was begun and never ended: the process died. It is made again, under the same name.
LOST_AFTER = timedelta(minutes=10)
# So long events can be sent again.
KEPT = timedelta(days=90)
GONE = 410

PORTS = frozenset({443, 8443})
# Frozen: every name of a message hangs on it.
MESSAGES = UUID("5b0f5a4e-0f0c-4d57-9d0b-6d6f3b0f6a51")


@dataclass(frozen=True, slots=True)
class Event:
    """Something that happened, as it is told outside. `effect` names it: it is told once."""

    effect: str
    type: str
    happened_at: datetime
    data: Mapping[str, Any]


def message_id(effect: str) -> str:
    """The name of the message about it, the same however often it is sent."""
    return f"msg_{uuid5(MESSAGES, effect).hex}"


def body_of(kind: str, happened_at: datetime, data: Mapping[str, Any]) -> bytes:
    """The body, the same bytes for the same event."""
    said = {
        "type": kind,
        "timestamp": utc_text(happened_at),
        "data": dict(sorted(data.items())),
    }
    return json.dumps(said, separators=(",", ":"), ensure_ascii=False).encode()


def headers_of(
    message: str, at: datetime, body: bytes, secrets: Iterable[str]
) -> dict[str, str]:
    """The headers of one try: its name, its moment in seconds, a signature by each secret."""
    stamp = int(at.timestamp())
    signed = (signature(one, message, stamp, body) for one in secrets)
    return {
        "content-type": "application/json",
        "webhook-id": message,
        "webhook-timestamp": str(stamp),
        "webhook-signature": " ".join(signed),
    }


def signature(secret: str, message: str, stamp: int, body: bytes) -> str:
    """`v1,` and HMAC-SHA256 over name, moment and body with points between, in base64."""
    key = base64.b64decode(secret.removeprefix(SECRET_PREFIX))
    signed = b".".join((message.encode(), str(stamp).encode(), body))
    made = hmac.new(key, signed, hashlib.sha256).digest()
    return f"v1,{base64.b64encode(made).decode()}"


def secret_of(noise: bytes) -> str:
    """A secret as the standard writes it. Raises ValueError for fewer than 24 bytes."""
    if not 24 <= len(noise) <= 64:
        raise ValueError("a secret has 24 to 64 bytes")
    return SECRET_PREFIX + base64.b64encode(noise).decode()


# -- What came of a try ------------------------------------------------------------------------


def is_taken(status: int | None) -> bool:
    """Whether the receiver took it. A redirection is no: nobody follows it."""
    return status is not None and 200 <= status < 300


def next_try(tries: int, at: datetime) -> datetime | None:
    """When to try again after so many failed tries; None to give up."""
    return at + BACK_OFF[tries - 1] if 0 < tries <= len(BACK_OFF) else None


def is_over(failing_since: datetime, tries: int, at: datetime) -> bool:
    """Whether a webhook that took nothing since then is ended."""
    return at - failing_since >= FAILING_MOST and tries >= FAILED_TRIES_MOST


# -- Where it goes -----------------------------------------------------------------------------


def faults(address: str, *, private_allowed: bool, at: str) -> Iterator[Reason]:
    """Every reason why nothing can be sent to this address, with its pointer `at`."""
    parts = parted(address)
    if parts is None:
        yield _fault("Write it like https://example.org/path.", at)
        return
    if parts.username or parts.password or parts.fragment:
        yield _fault("An address has no user name, no password and no part behind #.", at)
    if private_allowed:
        return
    if parts.scheme != "https":
        yield _fault("It must begin with https://.", at)
    elif port_of(parts) not in PORTS:
        yield _fault("Only the ports 443 and 8443 are spoken to.", at)
    if is_private(parts.hostname or ""):
        yield _fault(
            "This leads into the private network of the service, which is not allowed.", at
        )


def parted(address: str) -> SplitResult | None:
    """The parts of an address that can be spoken to; None for what is none."""
    if len(address) > LENGTH_MOST or not address.isascii() or not address.isprintable():
        return None
    try:
        parts = urlsplit(address)
        port = parts.port
    except ValueError:
        return None
    spaced = any(one.isspace() or one == "\\" for one in address)
    if parts.scheme not in ("https", "http") or not parts.hostname or spaced or port == 0:
        return None
    return parts


def port_of(parts: SplitResult) -> int:
    return parts.port or (443 if parts.scheme == "https" else 80)


def unknown(kinds: Sequence[str]) -> list[str]:
    """Those that are no events."""
    return sorted(set(kinds) - set(EVENTS))


def _fault(text: str, at: str) -> Reason:
    return Reason(code="unreadable", rule="address", text=text, pointer=at)
