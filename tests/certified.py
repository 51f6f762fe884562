"""Batches that are ready for a certificate, told over REST, and programs that check one.

with kept(blocker):  # once for a module; what a single test changes is undone behind it
    floor, batch = ready_floor(Client())
"""

import base64
import json
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from typing import Any

import jwt
from django.db import transaction
from django.test import Client, override_settings
from pytest_django import DjangoDbBlocker

from protocols.status_list import bit, decoded_list
from tests.floor import Floor
from tests.make import make_shop
from tests.walk import Walk

HOUR = timedelta(hours=1)
# Placed on a Tuesday morning; with moves every 71 h a fifth completes the series.
PLACED = datetime.fromisoformat("2027-01-05T09:00:00+01:00")
KITS = ("A-1", "B-1", "A-2", "B-2", "A-3", "B-3", "A-4", "B-4")
MOVES = (71, 142, 213, 284, 355)
OBSERVED = 14 * 24 * HOUR


@contextmanager
def kept(blocker: DjangoDbBlocker) -> Iterator[None]:
    """What is made inside stays for a module and is gone behind it; the test clock is on."""
    with blocker.unblock(), override_settings(TEST_CLOCK=True), transaction.atomic():
        yield
        transaction.set_rollback(True)


def open_floor(client: Client, at: datetime = PLACED, **more: Any) -> Floor:
    return Floor.open(client, (at - 24 * HOUR).isoformat(), **more)


def ready_floor(client: Client, count: int = 20) -> tuple[Floor, str]:
    """A batch an hour behind its observation, with nothing that stands against it."""
    floor = open_floor(client)
    batch = floor.place(count, "R1-01", "A-1", at=PLACED)
    end = move_on(floor, batch, count)
    floor.walk.at(end + OBSERVED + HOUR)
    return floor, batch


def move_on(
    floor: Floor,
    batch: str,
    count: int,
    hours: tuple[int, ...] = MOVES,
    *,
    placed: datetime = PLACED,
    first: int = 1,
) -> datetime:
    """Moves so many hours after the placement, from container to container; the last moment."""
    moments = [placed + passed * HOUR for passed in hours]
    for n, at in enumerate(moments, start=first):
        floor.move(batch, f"R1-{n + 1:02}", KITS[n], [count], at=at)
    return moments[-1]


def lose(floor: Floor, batch: str, count: int, *, at: datetime) -> dict[str, Any]:
    """Found dead, cause unknown."""
    line = {"batch": batch, "fate": "dead", "count": count, "cause": ["unknown"]}
    return floor.walk.at(at).post("losses", {"lines": [line]})


def certify(floor: Floor, batch: str, count: int) -> dict[str, Any]:
    """The certificate of the batch, issued now."""
    made = floor.walk.post(f"batches/{batch}/certificates", {"count": count})
    return dict(made["certificate"])


def stranger(client: Client, now: str) -> Walk:
    """The manager of another organisation on the same service."""
    shop = make_shop(at=datetime.fromisoformat(now).astimezone(UTC))
    signs_in = {"email": shop.manager.email, "password": "correct horse"}
    walk = Walk(client, now, site=str(shop.site), organisation=str(shop.organisation))
    walk.token = walk.post("tokens", signs_in)["token"]
    return walk


class Buyer:
    """Somebody without an account, who has an address and programs that are not ours."""

    def __init__(self, now: str) -> None:
        self.client = Client()
        self.now = now

    def get(self, address: str, accept: str = "text/html", **headers: str) -> Any:
        path = address.replace("http://testserver", "")
        named = {"Fillmark-Now": self.now, "Accept": accept, **headers}
        return self.client.get(path, headers=named)

    def data(self, address: str) -> dict[str, Any]:
        return dict(json.loads(self.get(address, "application/json").content))

    def page(self, address: str) -> str:
        return str(self.get(address).content.decode())

    def token(self, address: str) -> str:
        return str(self.get(address, "application/vc+jwt").content.decode())

    def verified(self, token: str) -> dict[str, Any]:
        """The payload, checked with PyJWT against the published keys."""
        keys = jwt.PyJWKSet.from_dict(self.data("/.well-known/jwks.json"))
        kid = jwt.get_unverified_header(token)["kid"]
        return dict(jwt.decode(token, keys[kid].key, algorithms=["EdDSA"]))

    def is_set(self, purpose: str, credential: dict[str, Any]) -> bool:
        """The certificate's own bit, out of the list that it names."""
        (entry,) = [
            one for one in credential["credentialStatus"] if one["statusPurpose"] == purpose
        ]
        listed = self.verified(self.token(entry["statusListCredential"]))
        bits = decoded_list(listed["credentialSubject"]["encodedList"])
        return bit(bits, int(entry["statusListIndex"]))


def part(token: str, number: int) -> dict[str, Any]:
    """Header (0) or payload (1) of a token, as it stands there."""
    text = token.split(".")[number]
    return dict(json.loads(base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))))
