"""How somebody proved who they are, and what that is enough for."""

from collections.abc import Iterable
from enum import StrEnum

from protocols.ruled import Reason

# Who only these roles may do it decides, issues, sets up: nothing for a code of four digits.
WEIGHTY = frozenset({"manager", "veterinarian"})
CODE = "second_factor"


class Proof(StrEnum):
    """From the weakest to the strongest."""

    PIN = "pin"
    PASSWORD = "password"  # noqa: S105  # a word, no secret
    SECOND_FACTOR = "second_factor"


def is_weighty(roles: Iterable[str]) -> bool:
    """Whether something that these roles alone may do is more than the work of hands."""
    return WEIGHTY.issuperset(roles)


def is_enough(proof: Proof, *, needed: bool) -> tuple[Reason, ...]:
    """Whether the sign-in is enough for what is weighty; `needed` is the site's own rule."""
    if proof is Proof.PIN:
        text = "You are here by PIN code. For this, sign in with your password first."
        return (Reason(CODE, CODE, text, numbers={"proof": proof.value}),)
    if needed and proof is not Proof.SECOND_FACTOR:
        text = "This site asks for a second factor here. Set one up, then sign in with it."
        return (Reason(CODE, CODE, text, numbers={"proof": proof.value}),)
    return ()
