"""Codes of a second factor: time-based ones (RFC 6238), and those for a lost device."""

import base64
import hmac
from datetime import datetime

import pyotp

STEP_S = 30
BESIDE = 1  # steps before and after that are taken as well: clocks differ, fingers are slow
RECOVERY_BYTES = 10  # 80 bits: a plain digest of it is enough


def matching_step(secret: str, code: str, at: datetime, *, after: int) -> int | None:
    """The 30 seconds whose code this is, at `at` or one step beside it; None for no match.

    Only a step later than `after`: no code is taken twice. `secret` is base32 text.
    """
    totp = pyotp.TOTP(secret)
    typed = code.replace(" ", "")
    now = int(at.timestamp()) // STEP_S
    for step in range(now - BESIDE, now + BESIDE + 1):
        if step > after and hmac.compare_digest(totp.generate_otp(step), typed):
            return step
    return None


def provisioning_uri(secret: str, *, account: str, issuer: str) -> str:
    """What the QR code for an authenticator says."""
    return pyotp.TOTP(secret).provisioning_uri(name=account, issuer_name=issuer)


def secret_of(random: bytes) -> str:
    """A secret as base32 text, of 20 random bytes (RFC 4226 asks for 160 bits)."""
    return base64.b32encode(random).decode()


def recovery_code(random: bytes) -> str:
    """A code to be written down, of 10 random bytes: four groups of four characters."""
    text = base64.b32encode(random).decode()
    return "-".join(text[n : n + 4] for n in range(0, len(text), 4))


def plain_recovery(typed: str) -> str:
    """A recovery code as it was made, however it was typed."""
    return "".join(one for one in typed.upper() if one.isalnum())
