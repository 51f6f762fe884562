"""Secrets that must be used again, sealed: who reads the database alone cannot read them."""

import base64

from cryptography.fernet import Fernet, InvalidToken
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from django.conf import settings

PURPOSE = b"fillmark/own-address/v1"
OF_WEBHOOKS = b"fillmark/webhook/v1"
OF_BUYERS = b"fillmark/buyer/v1"


def seal(text: str, purpose: bytes = PURPOSE) -> str:
    """The text, readable only with the secret key of this service, for the same purpose."""
    return _box(purpose).encrypt(text.encode()).decode()


def unseal(sealed: str, purpose: bytes = PURPOSE) -> str | None:
    """The text again; None where it was sealed under another key or is damaged."""
    try:
        return _box(purpose).decrypt(sealed.encode()).decode()
    except InvalidToken:
        return None


def _box(purpose: bytes) -> Fernet:
    made = HKDF(algorithm=SHA256(), length=32, salt=None, info=purpose)
    return Fernet(base64.urlsafe_b64encode(made.derive(settings.SECRET_KEY.encode())))
