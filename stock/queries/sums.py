"""What came into a site and where it is now: of every line, every batch, and all together."""

from collections import Counter
from collections.abc import Iterable
from typing import Any
from uuid import UUID

from django.db.models import F, Sum

from stock.models import Balance, Batch, Line, Origin, Transfer

PLACES = (
    "alive",
    "dead",
    "culled",
    "escaped",
    "sampled",
    "unaccounted",
    "presumed_lost",
    "sold",
    "on_the_way",
    "returned",
)
NAMES = frozenset({"line", "batch", "code"})
Held = dict[UUID, Counter[str]]


def sums(site: UUID) -> dict[str, Any]:
    """The sums of a site. Seven queries.

    For a line received = doa + left + placed; for a batch placed + born_here + came_in (from
    other batches) = all its places + passed_on (to other batches). The site adds them all up.
    """
    lines = list(
        Line.objects.filter(consignment__site=site)
        .order_by("uid")
        .values_list("uid", flat=True)
    )
    batches = list(Batch.objects.filter(site=site).order_by("code").values_list("uid", "code"))
    held = _held([*lines, *(uid for uid, _ in batches)])
    placed = _placed("line", site)
    by_line = [_of_line(uid, held, placed) for uid in lines]
    by_batch = _of_batches(batches, held, _placed("batch", site))
    total: Counter[str] = Counter()
    for one in by_line + [_without_placed(one) for one in by_batch]:
        total.update({name: n for name, n in one.items() if name not in NAMES})
    return {"lines": by_line, "batches": by_batch, "site": dict(total)}


def _held(holders: Iterable[UUID]) -> Held:
    found: Held = {}
    rows = Balance.objects.filter(holder__in=list(holders))
    for holder, place, n in rows.values_list("holder", "place", "n"):
        found.setdefault(holder, Counter())[place] = n
    return found


def _placed(name: str, site: UUID) -> dict[UUID, int]:
    rows = Origin.objects.filter(batch__site=site).order_by().values_list(name)
    return dict(rows.annotate(n=Sum("count")))


def _of_line(uid: UUID, held: Held, placed: dict[UUID, int]) -> dict[str, Any]:
    places = held.get(uid, Counter())
    return {
        "line": str(uid),
        "received": -places["outside"],
        "doa": places["doa"],
        "left": places["received"],
        "placed": placed.get(uid, 0),
    }


def _of_batches(
    batches: list[tuple[UUID, str]], held: Held, placed: dict[UUID, int]
) -> list[dict[str, Any]]:
    uids = [uid for uid, _ in batches]
    came = _between("to_holder", uids)
    passed = _between("from_holder", uids)
    return [
        {
            "batch": str(uid),
            "code": code,
            "placed": placed.get(uid, 0),
            "born_here": -held.get(uid, Counter())["outside"],
            "came_in": came.get(uid, 0) - placed.get(uid, 0),
            "passed_on": passed.get(uid, 0),
            **{place: held.get(uid, Counter())[place] for place in PLACES},
        }
        for uid, code in batches
    ]


def _between(side: str, batches: list[UUID]) -> dict[UUID, int]:
    """What came to these batches from another holder, or went from them to another."""
    rows = Transfer.objects.filter(**{f"{side}__in": batches}).exclude(
        from_holder=F("to_holder")
    )
    return dict(rows.values_list(side).annotate(n=Sum("count")))


def _without_placed(one: dict[str, Any]) -> dict[str, Any]:
    """Who was placed is counted with the lines already."""
    return {name: n for name, n in one.items() if name != "placed"}
