"""What a container takes: the animals that are to go in, its water, the site's rules."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from decimal import Decimal
from uuid import UUID

from protocols.ammonia import NEAR
from protocols.ruled import Protocol, Rules
from protocols.stocking_plan import Kind, Read, Stocked, Vessel, stocked
from protocols.water import OutOfDomain, ammonia_unit_convert
from protocols.worlds import World
from stock.judging.ammonia import comparable
from stock.judging.work_water import KnownWater, water_known
from stock.models import (
    Container,
    Line,
    LineCount,
    Origin,
    Person,
    Species,
    WaterReading,
)
from stock.queries.batches import origins_of

TOTAL_AGE = timedelta(hours=12)


def stocking_of(
    containers: Collection[Container],
    kinds: Sequence[Kind],
    *,
    rules: Rules,
    protocol: Protocol,
    at: datetime,
    arrival: bool = True,
) -> dict[UUID, Stocked]:
    """The answer for each of these containers. Two queries."""
    known = water_known([one.uid for one in containers], at)
    return {
        one.uid: stocked(
            kinds,
            vessel_of(one),
            read_of(known[one.uid], at),
            rules=rules,
            protocol=protocol,
            arrival=arrival,
        )
        for one in containers
    }


def stocked_here(world: World, kinds: Sequence[Kind], *, arrival: bool) -> Stocked:
    """The answer for the container of a placement or a move. Three queries."""
    row = Container.objects.get(uid=world.target.uid)
    found = stocking_of(
        [row], kinds, rules=world.rules, protocol=world.protocol, at=world.at, arrival=arrival
    )
    return found[row.uid]


def vessel_of(row: Container) -> Vessel:
    return Vessel(row.uid, row.label, Decimal(row.fill_mark_l), row.lid, row.air_stone)


def read_of(known: KnownWater, at: datetime) -> Read:
    """What was read last, of each quantity as far back as it still says something."""
    ph = _fresh(known, ("ph",), at, NEAR["ph"])
    warmth = _fresh(known, ("temperature",), at, NEAR["temperature"])
    salt = _fresh(known, ("salinity", "specific_gravity"), at, NEAR["salinity"])
    return Read(
        temperature_c=_number(warmth),
        salinity=_number(salt),
        ph=_number(ph),
        ph_scale=(ph and ph.ph_scale) or "NBS",
        tan_mg_l=_total(_fresh(known, ("total_ammonia",), at, TOTAL_AGE)),
    )


def _fresh(
    known: KnownWater, quantities: Iterable[str], at: datetime, age: timedelta
) -> WaterReading | None:
    rows = [known.newest[one] for one in quantities if one in known.newest]
    fresh = [row for row in rows if at - row.performed_at <= age]
    return max(fresh, key=lambda row: (row.performed_at, row.uid), default=None)


def _number(row: WaterReading | None) -> float | None:
    value = None if row is None else comparable(row)
    return None if value is None else float(value)


def _total(row: WaterReading | None) -> float | None:
    """Total ammonia as nitrogen in mg/L."""
    if row is None:
        return None
    as_ = row.reported_as or "N"
    try:
        return float(
            ammonia_unit_convert(value=float(row.value), from_unit=as_, to_unit="N")  # type: ignore[arg-type]
        )
    except OutOfDomain:
        return None


# -- Who goes in -------------------------------------------------------------------------------


def kind_asked(
    person: Person, species: UUID, count: int, length_cm: float | None
) -> Kind | None:
    """So many of one of the organisation's species; None where it has none such. One query."""
    row = Species.objects.filter(uid=species, organisation=person.organisation).first()
    if row is None:
        return None
    source = None if length_cm is None else "asked"
    return Kind(row.scientific_name, count, tuple(row.groups), length_cm, source)


def kinds_of_lines(lines: Mapping[UUID, int]) -> tuple[Kind, ...]:
    """So many of each of these lines, as long as they were when counted. Two queries."""
    rows = {
        row.uid: row for row in Line.objects.filter(uid__in=lines).select_related("species")
    }
    lengths = lengths_of(lines)
    return tuple(
        kind_of(rows[uid], count, lengths.get(uid))
        for uid, count in lines.items()
        if count and uid in rows
    )


def kinds_of_batch(batch: UUID, alive: int) -> tuple[Kind, ...]:
    """Who is in a batch by what it was placed from: as many as live, shared out. Three queries.

    Of which kind the dead were is not known. Where that matters most, in a mixed lot, the
    largest part stands first.
    """
    rows = list(origins_of(batch).select_related("line__species"))
    return kinds_of_origins(rows, lengths_of({row.line_id for row in rows}), alive)


def kinds_of_origins(
    rows: Sequence[Origin], lengths: Mapping[UUID, float], alive: int
) -> tuple[Kind, ...]:
    """The same from rows that were read before."""
    placed: dict[UUID, int] = {}
    for row in rows:
        placed[row.line_id] = placed.get(row.line_id, 0) + row.count
    lines = {row.line_id: row.line for row in rows}
    total = sum(placed.values())
    ordered = sorted(placed, key=lambda uid: (-placed[uid], str(uid)))
    shares = {uid: alive * placed[uid] // total for uid in ordered}
    for uid in ordered[: alive - sum(shares.values())]:
        shares[uid] += 1
    return tuple(kind_of(lines[uid], shares[uid], lengths.get(uid)) for uid in ordered)


def kind_of(line: Line, count: int, length_cm: float | None) -> Kind:
    species = line.species
    return Kind(
        name=species.scientific_name if species else line.text,
        count=count,
        groups=tuple(species.groups) if species else (),
        length_cm=length_cm,
        length_from=None if length_cm is None else "counted",
    )


def lengths_of(lines: Collection[UUID]) -> dict[UUID, float]:
    """The mean length in cm of each line, by how many were in each box. One query."""
    rows = LineCount.objects.filter(line__in=lines, length_cm__isnull=False)
    sums: dict[UUID, tuple[float, int]] = {}
    for line, length, received in rows.values_list("line", "length_cm", "received"):
        total, weight = sums.get(line, (0.0, 0))
        each = max(received, 1)
        sums[line] = total + float(str(length)) * each, weight + each
    return {line: total / weight for line, (total, weight) in sums.items()}
