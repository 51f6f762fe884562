"""A person with a token, walking through the service over REST under the test clock.

walk = Walk.begin(client, "2027-01-05T09:00:00+01:00")
room = walk.post(f"sites/{walk.site}/rooms", {"label": "Hall"})["room"]
"""

import itertools
import json
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any

from django.test import Client

from stock import clock
from stock.doors.people import make_setup_code
from stock.models import Person
from tests.make import Shop

keys = itertools.count(1)
NOON = "2027-01-04T12:00:00Z"  # of the Monday on which stories start


class Problem(AssertionError):
    """The service refused; the story did not expect that."""

    def __init__(self, status: int, body: dict[str, Any]) -> None:
        self.status = status
        self.body = body
        super().__init__(f"{status} {json.dumps(body, indent=1)}")

    @property
    def code(self) -> str:
        return str(self.body["code"])


@dataclass
class Walk:
    client: Client
    now: str
    token: str = ""
    site: str = ""
    organisation: str = ""
    person: str = ""
    labels: dict[str, str] = field(default_factory=dict)

    @classmethod
    def begin(cls, client: Client, now: str, zone: str = "Europe/Berlin") -> "Walk":
        """The first organisation, through the set-up code that `up --empty` prints."""
        walk = cls(client, now)
        made = walk.post(
            "organisations",
            {
                "name": "Northlight Reef",
                "email": "mara@example.org",
                "password": "correct horse",
                "site": {"name": "Hall", "zone": zone},
                "setup_code": make_setup_code(clock.now()),
            },
        )
        walk.token, walk.site = made["token"], made["site"]["uid"]
        walk.organisation = made["organisation"]["uid"]
        walk.person = made["person"]["uid"]
        return walk

    def again(self) -> "Walk":
        """The same person at the same moment, in a browser of their own."""
        return replace(self, client=Client(), labels=dict(self.labels))

    def as_person(self, name: str, role: str) -> "Walk":
        """Another person with a role at the same site, walking beside."""
        email = f"{name.lower()}-{next(keys)}@example.org"
        roles = [{"site": self.site, "role": role}]
        password = "correct horse"
        made = self.post(
            "people", {"name": name, "email": email, "password": password, "roles": roles}
        )
        other = Walk(
            self.client, self.now, "", self.site, self.organisation, labels=self.labels
        )
        other.person = made["person"]["uid"]
        other.token = other.post("tokens", {"email": email, "password": password})["token"]
        return other

    def at(self, now: str | datetime) -> "Walk":
        """Set the moment of the requests that follow."""
        self.now = now if isinstance(now, str) else now.isoformat()
        return self

    def send(
        self,
        method: str,
        path: str,
        body: Any = None,
        *,
        key: str | None = None,
        **headers: str,
    ) -> Any:
        """One request; the raw answer."""
        headers = {"Fillmark-Now": self.now, **headers}
        if method != "GET":
            headers["Idempotency-Key"] = key or f"key-{next(keys)}"
        if self.token:
            headers["Authorization"] = f"Bearer {self.token}"
        address = path if path.startswith("/") else f"/api/v1/{path}"
        return self.client.generic(
            method,
            address,
            json.dumps(body) if body is not None else "",
            content_type="application/json",
            headers=headers,
        )

    def post(self, path: str, body: Any = None, **options: Any) -> dict[str, Any]:
        return self._good(self.send("POST", path, body if body is not None else {}, **options))

    def get(self, path: str) -> dict[str, Any]:
        return self._good(self.send("GET", path))

    def refused(self, path: str, body: Any = None, **options: Any) -> Problem:
        """The problem that this POST must meet."""
        answer = self.send("POST", path, body if body is not None else {}, **options)
        assert answer.status_code >= 400, answer.content
        return Problem(answer.status_code, json.loads(answer.content))

    @staticmethod
    def _good(answer: Any) -> dict[str, Any]:
        body = json.loads(answer.content) if answer.content else {}
        if answer.status_code >= 400:
            raise Problem(answer.status_code, body)
        return dict(body)


def signed_in(client: Client, shop: Shop, person: Person, now: str = NOON) -> Walk:
    """A person of a shop that was made through the doors, with a token."""
    walk = Walk(client, now, site=str(shop.site))
    mine = {"email": person.email, "password": "correct horse"}
    walk.token = walk.post("tokens", mine)["token"]
    return walk
