"""Facts as the rules see them: read from the ledger in a few queries, however many batches."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from uuid import UUID

from protocols import values
from protocols.values import Insist, Standing
from stock.models import Fact, FactSubject, Parked

_COLUMNS = (
    "uid",
    "seq",
    "kind",
    "performed_at",
    "recorded_at",
    "doer",
    "messenger",
    "body",
    "standing",
    "insist",
    "reason",
    "about",
    "group",
    "device",
    "entry_no",
    "raw_at",
    "clock_offset_ms",
    "delivered",
)


def facts_about(
    subjects: Iterable[UUID],
    *,
    known_by: int | None = None,
    kinds: Iterable[str] | None = None,
    parked: bool = True,
) -> dict[UUID, list[values.Fact]]:
    """The facts that speak of each subject, by ledger position. One query.

    `known_by` leaves out what the site's record book did not hold yet at that position, and
    `parked=False` what never did fit the record, settled or not.
    """
    rows = FactSubject.objects.filter(subject__in=list(subjects))
    if not parked:
        rows = rows.exclude(fact__in=Parked.objects.values("fact"))
    if kinds is not None:
        rows = rows.filter(fact__kind__in=list(kinds))
    if known_by is not None:
        rows = rows.filter(fact__seq__lte=known_by)
    found: dict[UUID, list[values.Fact]] = defaultdict(list)
    names = ("subject", *(f"fact__{name}" for name in _COLUMNS))
    for subject, *columns in rows.order_by("fact__seq").values_list(*names):
        found[subject].append(_value(dict(zip(_COLUMNS, columns, strict=True))))
    return found


def facts_by_uid(uids: Iterable[UUID], *, known_by: int | None = None) -> list[values.Fact]:
    """These facts, by ledger position. One query."""
    rows = Fact.objects.filter(uid__in=list(uids))
    if known_by is not None:
        rows = rows.filter(seq__lte=known_by)
    return [_value(row) for row in rows.order_by("seq").values(*_COLUMNS)]


def value_of(fact: Fact) -> values.Fact:
    return _value({name: getattr(fact, name) for name in _COLUMNS})


def _value(columns: Mapping[str, object]) -> values.Fact:
    row = dict(columns)
    row["standing"] = Standing(str(row["standing"]))
    row["delivered"] = bool(row["delivered"])
    row["insist"] = tuple(Insist(**one) for one in row["insist"])  # type: ignore[attr-defined]
    return values.Fact(**row)  # type: ignore[arg-type]
