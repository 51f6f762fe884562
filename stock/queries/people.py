"""Who somebody is, by what they show."""

import hashlib
from datetime import datetime
from uuid import UUID

from protocols.proofs import Proof
from stock.access import HANDS
from stock.models import Person, Role, Token


def person_of_token(text: str, at: datetime) -> Person | None:
    """The active person whose sign-in this text is, while it lasts. One query."""
    token = (
        Token.objects.select_related("person")
        .filter(digest=token_digest(text), expires_at__gt=at, person__is_active=True)
        .first()
    )
    if token is None:
        return None
    token.person.proof = Proof(token.proof)
    return token.person


def token_digest(text: str) -> str:
    """What is kept of a sign-in: whoever reads the table cannot sign in with it."""
    return hashlib.sha256(text.encode()).hexdigest()


def hands_at(site: UUID) -> list[tuple[str, str]]:
    """Who works at a site, by name: uid and name. One query."""
    rows = Role.objects.filter(site=site, role__in=HANDS).order_by("person__name", "person")
    found = {str(uid): name for uid, name in rows.values_list("person", "person__name")}
    return list(found.items())
