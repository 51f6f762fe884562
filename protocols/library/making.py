"""May an organisation freeze this version of its own?"""

import unicodedata
from collections.abc import Collection, Iterator

from protocols.library.lint import refused_for
from protocols.library.values import Definition, Treatment, Veterinarian
from protocols.ruled import Protocol, Reason
from protocols.said import said
from protocols.versions import MADE_FROM, BadDefinition, read_any

TEXT_MOST = 40_000
FREEZERS = frozenset({"manager"})
OF_MEDICINES = frozenset({"manager", "veterinarian"})
PRESCRIBERS = frozenset({"veterinarian"})


def one_form(text: str) -> str:
    """The text as it is kept: NFC and lines that end in a line feed alone."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n").strip().split("\n")
    return unicodedata.normalize("NFC", "\n".join(line.rstrip() for line in lines)) + "\n"


def who_may_freeze(found: Protocol | Definition) -> frozenset[str]:
    """The roles that may: of what is given to animals a veterinarian's as well.

    What needs a veterinarian is only theirs.
    """
    if not isinstance(found, Treatment):
        return FREEZERS
    needs = found.veterinarian is Veterinarian.NEEDED
    return PRESCRIBERS if needs else OF_MEDICINES


def read_made(text: str) -> Protocol | Definition | Reason:
    """What a text says, or why it cannot be read."""
    if len(text) > TEXT_MOST:
        return _unreadable(
            said("A version has at most {text_most} characters.", text_most=TEXT_MOST)
        )
    try:
        return read_any(text.encode())
    except (BadDefinition, UnicodeEncodeError) as wrong:
        return _unreadable(said("This cannot be read as a version: {wrong}.", wrong=wrong))


def may_freeze(
    found: Protocol | Definition,
    made_from: Protocol | Definition,
    known: Collection[str],
    roles: Collection[str],
) -> Iterator[Reason]:
    """Everything that stands against a version made from another; `known` are all keys."""
    if not who_may_freeze(found) & frozenset(roles):
        needs = sorted(who_may_freeze(found))
        text = said("This may be frozen by a {listed}.", listed=" or ".join(needs))
        yield Reason("wrong_role", "wrong_role", text, numbers={"needs": needs})
    if (found.name, found.stage) != (made_from.name, made_from.stage):
        text = said(
            "A version of {made_from} keeps that name and its stage.", made_from=made_from.name
        )
        yield _unreadable(text)
    if found.version < MADE_FROM:
        text = said(
            "Versions of your own have numbers from {made_from} on.", made_from=MADE_FROM
        )
        yield _unreadable(text, least=MADE_FROM, got=found.version)
    if not found.title.strip():
        yield _unreadable("A version of your own has a title.")
    if found.key in known:
        text = said(
            "There is a {key} already, and it is frozen: take another number.", key=found.key
        )
        yield Reason("label_taken", "label_taken", text, numbers={"label": found.key})
    for one in refused_for(found):
        numbers = {**one.numbers, "source": one.source}
        yield Reason("protocol_unsafe", one.rule, one.text, numbers=numbers, pointer="/text")


def next_number(name: str, known: Collection[str]) -> int:
    """The first number that no version of this name bears yet."""
    numbers = [int(one.rpartition("@")[2]) for one in known if one.rpartition("@")[0] == name]
    return max([MADE_FROM - 1, *numbers]) + 1


def _unreadable(text: str, **numbers: int) -> Reason:
    return Reason("unreadable", "protocol_text", text, numbers=numbers, pointer="/text")
