"""A tablet that was without network and sends what was pressed on it, entry by entry.

tablet = Tablet.of(floor)
answer = tablet.send("count-batch", batch, by=keeper, at=LATER, pressed=EARLIER, count="16")
assert answer["answer"] == "stored"
"""

import itertools
import json
from dataclasses import dataclass, field
from typing import Any

from django.test import Client
from django.urls import reverse

from tests.floor import Floor
from tests.visit import Visit


@dataclass
class Tablet:
    """Entries are counted up; whoever sends them does so in a browser of their own."""

    uid: str
    numbers: Any = field(default_factory=lambda: itertools.count(1))
    status: int = 0

    @classmethod
    def of(cls, floor: Floor, label: str = "Tablet 3") -> "Tablet":
        here = f"sites/{floor.walk.site}/devices"
        return cls(floor.walk.post(here, {"label": label})["device"]["uid"])

    def send(
        self,
        name: str,
        /,
        *arguments: Any,
        by: str,
        at: str,
        pressed: str,
        no: int | None = None,
        offset_ms: int | None = 0,
        signed_in: str | None = "",
        delivered: bool = False,
        key: str = "",
        client: Client | None = None,
        **fields: Any,
    ) -> dict[str, Any]:
        """The answer to an entry of `by`; the same person is `signed_in` unless said."""
        number = next(self.numbers) if no is None else no
        headers = {
            "Fillmark-Now": at,
            "Fillmark-Entry": str(number),
            "Fillmark-Device": self.uid,
            "Fillmark-Raw-At": pressed,
            "Fillmark-Monotonic": "1000",
            "Fillmark-Doer": by,
        }
        if offset_ms is not None:
            headers["Fillmark-Clock-Offset"] = str(offset_ms)
        if delivered:
            headers["Fillmark-Delivered"] = "1"
        who = by if signed_in == "" else signed_in
        browser = client or (Visit.by(who, at).client if who else Client())
        fields["request_key"] = key or f"{self.uid}-{number}"
        answer = browser.post(reverse(name, args=arguments), fields, headers=headers)
        assert answer["Content-Type"] == "application/json", answer.content[:300]
        self.status = answer.status_code
        body = json.loads(answer.content)
        assert isinstance(body["answer"], str)
        return dict(body)
