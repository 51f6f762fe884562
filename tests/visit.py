"""Somebody who looks at pages and presses their buttons, in a browser without script.

visit = Visit.by(client_class(), person, at="2027-01-20T09:00:00+00:00")
assert "R1-02" in visit.read("room", site)
visit.press("count-line", line, received="20", doa="0")
"""

import itertools
import re
from dataclasses import dataclass
from html import unescape
from typing import Any

from django.contrib.auth import get_user_model
from django.test import Client
from django.urls import reverse

keys = itertools.count(1)


@dataclass
class Visit:
    client: Client
    at: str

    @classmethod
    def by(cls, email_or_uid: str, at: str) -> "Visit":
        """Signed in as the person with this uid or mail address."""
        people = get_user_model().objects
        name = "email" if "@" in email_or_uid else "uid"
        client = Client()
        client.force_login(people.get(**{name: email_or_uid}))
        return cls(client, at)

    def get(self, name: str, *arguments: Any, query: str = "") -> Any:
        address = reverse(name, args=arguments) + query
        return self.client.get(address, headers={"Fillmark-Now": self.at})

    def read(self, name: str, *arguments: Any, query: str = "") -> str:
        """What stands on the page, as words."""
        answer = self.get(name, *arguments, query=query)
        assert answer.status_code == 200, (answer.status_code, words(answer))
        return words(answer)

    def press(self, name: str, /, *arguments: Any, **fields: Any) -> Any:
        """Send the form of a page; the raw answer."""
        fields.setdefault("request_key", f"press-{next(keys)}")
        return self.client.post(
            reverse(name, args=arguments), fields, headers={"Fillmark-Now": self.at}
        )

    def follow(self, answer: Any) -> str:
        """What stands where a recorded form led to."""
        assert answer.status_code == 302, (answer.status_code, words(answer))
        return words(self.client.get(answer.url, headers={"Fillmark-Now": self.at}))


def words(answer: Any) -> str:
    """The text of a page without its tags, its spaces drawn together."""
    html = answer.content.decode()
    html = re.sub(r"<(script|style|head).*?</\1>", " ", html, flags=re.S)
    text = " ".join(unescape(re.sub(r"<[^>]+>", " ", html)).split())
    return re.sub(r" ([.,:;])", r"\1", text)
