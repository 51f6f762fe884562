"""Signing in by a bearer token; only its digest is kept."""

import hashlib

from rest_framework.authentication import BaseAuthentication
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.request import Request

from stock import clock
from stock.models import Person, Token


class TokenAuthentication(BaseAuthentication):
    def authenticate(self, request: Request) -> tuple[Person, Token] | None:
        kind, _, text = request.headers.get("Authorization", "").partition(" ")
        if kind.lower() != "bearer":
            return None
        token = (
            Token.objects.select_related("person")
            .filter(digest=digest(text.strip()), person__is_active=True)
            .first()
        )
        if token is None or token.expires_at <= clock.now():
            raise AuthenticationFailed
        return token.person, token

    def authenticate_header(self, request: Request) -> str:
        return "Bearer"


def digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()
