"""The register of what was given into water: product, lot, prescription, dose, to how many."""

from collections.abc import Iterator
from datetime import datetime
from decimal import Decimal
from uuid import UUID

from stock.models import Container, Fact, Transfer
from stock.queries.reports.folded import Folded, folded
from stock.queries.reports.form import Asked, Report, Row, code, moment, number, text
from stock.queries.reports.whereabouts import Stayed, Whereabouts

Goings = dict[UUID, list[tuple[datetime, int]]]


def rows(asked: Asked) -> Iterator[Row]:
    """By when it was given. Volumes are those of the fill mark: nobody told what was in."""
    where = Whereabouts(asked)
    litres = dict(Container.objects.filter(site=asked.site).values_list("uid", "fill_mark_l"))
    alive: Goings | None = None
    for one in folded(asked, ("dose_given",)):
        container = UUID(str(one.body["container"]))
        there = where.there(container, one.at)
        if not where.concerns(container, one.at):
            continue
        if alive is None:
            alive = _goings(asked, where.batches)
        yield _row(one, there, litres.get(container), _alive(alive, there, one.at))


def _row(one: Folded, there: list[Stayed], litres: str | None, alive: int | None) -> Row:
    body = one.body
    version = body.get("version")
    return (
        one.at,
        one.name(body["container"]),
        ", ".join(stay.code for stay in there) or None,
        alive,
        body["product"],
        body.get("lot"),
        body.get("expires"),
        body.get("prescription"),
        f"{body['protocol']}@{version}" if body.get("protocol") else None,
        str(body["amount"]),
        body["unit"],
        litres,
        _per_litre(body["amount"], body["unit"], litres),
        body.get("why") or one.note,
        one.doer,
        one.state or None,
        one.fact.seq + 1,
    )


def _per_litre(amount: object, unit: object, litres: str | None) -> str | None:
    """The dose in the whole container, by its fill mark, four digits; only of masses."""
    factor = {"g": Decimal(1000), "mg": Decimal(1)}.get(str(unit))
    if factor is None or not litres or not Decimal(litres):
        return None
    return f"{Decimal(str(amount)) * factor / Decimal(litres):.4g} mg/L"


def _goings(asked: Asked, batches: list[UUID]) -> Goings:
    """When animals of these batches came alive and went, as it was known. One query."""
    known = Fact.objects.filter(log=asked.site, seq__lte=asked.known_by).values("uid")
    rows = Transfer.objects.filter(fact__in=known)
    found: Goings = {}
    for side, sign in (("to", 1), ("from", -1)):
        here = rows.filter(**{f"{side}_holder__in": batches, f"{side}_place": "alive"})
        names = (f"{side}_holder", "performed_at", "count")
        for holder, at, count in here.values_list(*names):
            found.setdefault(holder, []).append((at, sign * count))
    return found


def _alive(goings: Goings, there: list[Stayed], at: datetime) -> int | None:
    """How many were alive in the container at a moment; None where nobody was."""
    if not there:
        return None
    told = (one for stay in there for one in goings.get(stay.batch, ()))
    return sum(count for moment, count in told if moment <= at)


MEDICINES = Report(
    "medicines",
    (
        *moment("given"),
        *text("container", "batch"),
        *number("alive"),
        *text("product", "lot", "expires", "prescription", "protocol", "amount", "unit"),
        *text("fill_mark_l", "dose", "why", "given_by"),
        *code("state"),
        *number("entry"),
    ),
    rows,
)
