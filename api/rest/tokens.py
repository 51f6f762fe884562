"""Signing in by a bearer token; only its digest is kept."""

from rest_framework.authentication import BaseAuthentication
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.request import Request

from stock import clock
from stock.access import Person
from stock.queries.people import person_of_token


class TokenAuthentication(BaseAuthentication):
    def authenticate(self, request: Request) -> tuple[Person, str] | None:
        kind, _, text = request.headers.get("Authorization", "").partition(" ")
        if kind.lower() != "bearer":
            return None
        person = person_of_token(text.strip(), clock.now())
        if person is None:
            raise AuthenticationFailed
        return person, text

    def authenticate_header(self, request: Request) -> str:
        return "Bearer"
