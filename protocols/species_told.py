"""Which species a line of a packing list was said to be, by what was told of it."""

from collections.abc import Iterable, Mapping
from typing import Any
from uuid import UUID

from protocols.ruled import Reason
from protocols.said import said
from protocols.uids import as_uid


def species_by(told: Iterable[tuple[str, Mapping[str, Any]]]) -> dict[UUID, UUID]:
    """The species of each line after these facts, kind and body, in the order of the book.

    A later list that names no species leaves what a person matched.
    """
    found: dict[UUID, UUID] = {}
    for kind, body in told:
        for one in (body,) if kind == "line_matched" else body["lines"]:
            if one.get("species"):
                found[as_uid(one["line"])] = as_uid(one["species"])
    return found


def species_reasons(
    then: Mapping[UUID, UUID], now: Mapping[UUID, UUID], told: Mapping[UUID, UUID]
) -> tuple[Reason, ...]:
    """A reason for each line that is another species now than when the certificate was issued.

    `told` names the fact that said so last. A new name of the same species is no other one.
    """
    return tuple(
        Reason(
            "species_differs",
            "species_differs",
            said("The animals of a line are another species than the certificate says."),
            numbers={"line": str(line), "cause": str(told[line])},
            cleared_by="certificate_superseded, or line_matched",
            who=("manager",),
        )
        for line in sorted(told, key=lambda one: one.int)
        if line in then and now.get(line) != then[line]
    )
