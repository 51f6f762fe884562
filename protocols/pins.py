"""Which PIN codes are none: those that whoever looks over a shoulder, or guesses, has first."""

from collections.abc import Iterator

from protocols.ruled import Reason

LEAST, MOST = 4, 8
RUNS = ("01234567890", "09876543210")


def may_be_pin(text: str) -> Iterator[Reason]:
    """Why this can be no PIN code: 4 to 8 digits, neither all the same nor in a run."""
    if not (text.isascii() and text.isdigit() and LEAST <= len(text) <= MOST):
        yield _wrong(f"A PIN code has {LEAST} to {MOST} digits.", least=LEAST, most=MOST)
    elif len(set(text)) == 1 or any(text in run for run in RUNS):
        yield _wrong("That is among the first ones people guess. Choose another.")


def _wrong(text: str, **numbers: int) -> Reason:
    return Reason("unreadable", "pin_code", text, numbers=numbers, pointer="/pin")
