"""Secrets that have to be read again, sealed: who reads the table alone cannot use them."""

import base64

from cryptography.fernet import Fernet, InvalidToken
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from django.conf import settings


def seal(text: str) -> str:
    """The text under a key that follows from the service's secret key (RFC 5869, AES-128)."""
    return _fernet().encrypt(text.encode()).decode()


def unseal(sealed: str) -> str | None:
    """The text; None where it was sealed under another secret key, or is none."""
    try:
        return _fernet().decrypt(sealed.encode()).decode()
    except InvalidToken:
        return None


def _fernet() -> Fernet:
    derive = HKDF(hashes.SHA256(), length=32, salt=None, info=b"fillmark/sealed/v1")
    return Fernet(base64.urlsafe_b64encode(derive.derive(settings.SECRET_KEY.encode())))
