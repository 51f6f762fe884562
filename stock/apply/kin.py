"""Which batch came out of which, and whose history the judgement of one needs."""

from collections.abc import Iterable, Mapping
from typing import Any
from uuid import UUID

from protocols.animals import Begun


def kin_of(begun: Iterable[Begun]) -> Mapping[tuple[UUID, UUID], Mapping[str, Any]]:
    """Of each batch its parents and all those they came out of; and those it was joined with.

    What a join did to the series of one hangs on the histories of the others. `begun` is in
    the order in which the batches began.
    """
    found: dict[tuple[UUID, UUID], dict[str, Any]] = {}
    out_of: dict[UUID, dict[UUID, str]] = {}
    for one in begun:
        out_of[one.uid] = _ways(one, out_of)
        for of, how in out_of[one.uid].items():
            found[one.uid, of] = {"how": how, "fact": one.by}
        if len(one.parents) > 1:
            _beside(one, out_of, found)
    return found


def _ways(one: Begun, out_of: Mapping[UUID, Mapping[UUID, str]]) -> dict[UUID, str]:
    ways = {of: "ancestor" for parent in one.parents for of in out_of[parent]}
    return ways | dict.fromkeys(one.parents, "parent")


def _beside(
    join: Begun,
    out_of: Mapping[UUID, Mapping[UUID, str]],
    found: dict[tuple[UUID, UUID], dict[str, Any]],
) -> None:
    for member in join.parents:
        others = [one for one in join.parents if one != member]
        every = {*others, *(of for one in others for of in out_of[one])}
        for of in sorted(every - {member}):
            found.setdefault((member, of), {"how": "joined_with", "fact": join.by})
