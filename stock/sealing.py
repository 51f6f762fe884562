"""Secrets that must be used again, sealed: who reads the database alone cannot read them."""

import base64

from cryptography.fernet import Fernet, InvalidToken
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from django.conf import settings

PURPOSE = b"fillmark/own-address/v1"


def seal(text: str) -> str:
    """The text, readable only with the secret key of this service."""
    return _box().encrypt(text.encode()).decode()


def unseal(sealed: str) -> str | None:
    """The text again; None where it was sealed under another key or is damaged."""
    try:
        return _box().decrypt(sealed.encode()).decode()
    except InvalidToken:
        return None


def _box() -> Fernet:
    made = HKDF(algorithm=SHA256(), length=32, salt=None, info=PURPOSE)
    return Fernet(base64.urlsafe_b64encode(made.derive(settings.SECRET_KEY.encode())))
