"""A tablet in the hands of several people, as they press its keys."""

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from django.test import Client
from django.urls import reverse

from tests.visit import Visit, words


@dataclass
class Hands:
    """One browser, handed from one to the next; `at` is when it is touched."""

    site: Any
    at: datetime
    client: Client = field(default_factory=Client)

    @classmethod
    def of(cls, shop: Any, at: str, label: str = "Tablet 3") -> "Hands":
        """A tablet of this shop that its manager enrolled and left."""
        hands = cls(shop.site, datetime.fromisoformat(at))
        hands.client.force_login(shop.manager)
        hands.press("tablets", shop.site, label=label, whose="shared")
        hands.press("leave-tablet", shop.manager.uid)
        return hands

    def later(self, **span: float) -> "Hands":
        self.at += timedelta(**span)
        return self

    def get(self, name: str, *arguments: Any, **headers: str) -> Any:
        return Visit(self.client, self.at.isoformat()).client.get(
            reverse(name, args=arguments), headers={**self._now, **headers}
        )

    def press(self, name: str, *arguments: Any, **fields: Any) -> Any:
        return Visit(self.client, self.at.isoformat()).press(name, *arguments, **fields)

    def pin(self, person: Any, pin: str, how: str = "instead") -> Any:
        return self.press("pin", person.uid, pin=pin, how=how)

    def password(self, person: Any) -> Any:
        return self.press("sign-in", email=person.email, password="correct horse")

    def who(self) -> str:
        """Who acts, by the head of the shift; "" where nobody is let in."""
        answer = self.get("shift", self.site)
        return "" if answer.status_code != 200 else answer.context["at_tablet"].person.name

    def here(self) -> list[str]:
        """Everybody who is here, whoever acts first."""
        answer = self.get("shift", self.site)
        if answer.status_code != 200:
            return []
        return [one.name for one in answer.context["at_tablet"].people]

    def reads(self, name: str, *arguments: Any) -> str:
        return words(self.get(name, *arguments))

    @property
    def _now(self) -> dict[str, str]:
        return {"Fillmark-Now": self.at.isoformat()}
