"""Signing in to the pages with address and password."""

from typing import Any

from django.contrib.auth.backends import BaseBackend, ModelBackend
from django.http import HttpRequest

from stock.access import Person
from stock.queries.sign_ins import signed_in


class PersonBackend(BaseBackend):
    """Reads the person of a session together with the roles they hold."""

    def authenticate(self, request: HttpRequest | None, **given: Any) -> Person | None:
        email = str(given.get("username") or "").strip().lower()
        found = ModelBackend().authenticate(
            request, username=email, password=given.get("password")
        )
        return found if isinstance(found, Person) else None

    def get_user(self, user_id: Any) -> Person | None:
        return signed_in(user_id)
