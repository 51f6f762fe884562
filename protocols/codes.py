"""Names and codes: short codes for labels, uids, and the words of secret addresses.

Nothing here draws random numbers or reads a clock; both are handed in.
"""

import base64
import hashlib
from datetime import UTC, datetime, timedelta
from itertools import count
from uuid import UUID, uuid5

# The alphabet of ISO 7064 MOD 37,36, in which a check character may be any letter.
ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
# What our own codes are made of: no I, L, O, U, which are misread for 1, 0 and V.
READABLE = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
MISREAD = str.maketrans("ILO", "110")
LENGTH = 8
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)

# Frozen: every uid of a fact that the service made by rule hangs on it.
FACTS = UUID("c1b44f64-0ddc-4627-b813-b548dd79977a")
# Who does what the service does by rule, without a person; frozen as well.
SERVICE = uuid5(FACTS, "service")


def check_character(text: str) -> str:
    """The check character of ISO 7064 MOD 37,36 for capital letters and digits.

    It differs for every single wrong character and for nearly every swap of two neighbours.
    Raises ValueError for any other character.
    """
    product = 36
    for character in text:
        product = ((product + ALPHABET.index(character)) % 36 or 36) * 2 % 37
    return ALPHABET[(37 - product) % 36]


def with_check(text: str) -> str:
    """`text` without separators, in capitals, and its check character behind.

    Raises ValueError for an empty text and for anything but letters, digits, spaces, hyphens.
    """
    bare = _bare(text)
    if not bare:
        raise ValueError("a code needs at least one character")
    return bare + check_character(bare)


def is_sound(text: str) -> bool:
    """Whether the last character is the right check character for those before it."""
    bare = _bare(text)
    if len(bare) < 2 or not set(bare) <= set(ALPHABET):
        return False
    return check_character(bare[:-1]) == bare[-1]


def short_code(uid: UUID | str, attempt: int = 0) -> str:
    """The code on the label of the thing `uid`, as `K7QF-3ZM2`: 7 characters and a check.

    Always the same for the same uid and attempt. 35 bits do not exclude that two things get the
    same code (about 1 in 600 among 10,000 things), so the code is kept in a column that is
    unique for a site, and whoever finds it taken asks again with `attempt` 1, 2, … Done
    in ledger order, making the rows again gives the same codes.
    """
    name = str(UUID(str(uid)))
    candidates = (with_check(_digits(f"{name}/{attempt}/{n}")) for n in count())
    # A check character that is easily misread is passed over rather than printed.
    code = next(one for one in candidates if one[-1] in READABLE)
    return f"{code[:4]}-{code[4:]}"


def read_code(typed: str) -> str | None:
    """The short code somebody typed, in the form it is printed; None if it cannot be one."""
    bare = _bare(typed).translate(MISREAD)
    if len(bare) != LENGTH or not is_sound(bare):
        return None
    return f"{bare[:4]}-{bare[4:]}"


def uuid7(now: datetime, random: bytes) -> UUID:
    """A UUID of version 7 (RFC 9562 §5.7) from an aware moment and at least 10 random bytes.

    The time in it is for sorting only; it is never read back as the time of anything.
    """
    if now.tzinfo is None:
        raise ValueError("now must carry a time zone")
    if len(random) < 10:
        raise ValueError("a uuid7 needs 10 random bytes")
    milliseconds = (now - EPOCH) // timedelta(milliseconds=1)
    noise = int.from_bytes(random[:10], "big")
    high = (milliseconds << 16) | (7 << 12) | (noise >> 64 & 0xFFF)
    low = (0b10 << 62) | (noise & (1 << 62) - 1)
    return UUID(int=(high << 64) | low)


def fact_uid(cause: UUID, kind: str, target: UUID | str) -> UUID:
    """The uid of a fact that the service makes by rule: one cause, kind and target, one uid.

    Making it twice is therefore harmless. The form is frozen: a changed uid would let facts
    already written be written a second time.
    """
    if "/" in kind:
        raise ValueError("a kind has no slash in it")
    return uuid5(FACTS, f"{cause}/{kind}/{target}")


def join_of(put_in: UUID, batch: UUID) -> UUID:
    """The uid of the join that is told with a placement or move into an occupied container."""
    return fact_uid(put_in, "batches_joined", batch)


def token_text(random20: bytes) -> str:
    """160 random bits as 32 letters and digits (base32 without padding) for a secret address.

    Small letters read quietly in a link; as all letters may be read in either case, a QR code
    may print the address in capitals, where it fits the shorter alphanumeric mode.
    """
    if len(random20) != 20:
        raise ValueError("a token is made of 20 random bytes")
    return base64.b32encode(random20).decode().lower()


def _bare(text: str) -> str:
    return text.replace("-", "").replace(" ", "").upper()


def _digits(seed: str) -> str:
    """Seven readable characters, 35 bits, from a seed."""
    number = int.from_bytes(hashlib.sha256(seed.encode()).digest()[:5], "big") >> 5
    places = range(5 * (LENGTH - 2), -1, -5)
    return "".join(READABLE[number >> place & 31] for place in places)
