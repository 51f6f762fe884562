"""Whose session it is. Signing in itself passes `stock/doors/sign_in.py`."""

from typing import Any

from django.contrib.auth.backends import BaseBackend

from stock.access import Person
from stock.queries.sign_ins import signed_in


class PersonBackend(BaseBackend):
    """Reads the person of a session together with the roles they hold."""

    def get_user(self, user_id: Any) -> Person | None:
        return signed_in(user_id)
