"""How much water the coming moves need, day by day, against what stands ready."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from uuid import UUID
from zoneinfo import ZoneInfo

from protocols.hours import StaffedHours
from protocols.makes import Standing
from protocols.mixing import recipe
from protocols.moves_ahead import SeriesSoFar, plan_moves
from protocols.work_moves import PREPARE_AHEAD

DAY = timedelta(days=1)
ZERO = Decimal(0)


@dataclass(frozen=True, slots=True)
class Water:
    """Water that is wanted: practical salinity, degrees Celsius; `read` where somebody read
    the water it is to match, else planned."""

    salinity: Decimal
    temperature_c: Decimal
    read: bool = False


@dataclass(frozen=True, slots=True)
class BatchAhead:
    """A batch that is to be moved on: by when, into what, and how its series goes on.

    `target_l` is the fill mark of the container that it will get, `own_l` that of the one it is
    in, which speaks for those that nobody knows yet. `filled`: the target is filled already.
    """

    batch: UUID
    code: str
    water: Water
    own_l: Decimal
    first_at: datetime | None
    target_l: Decimal | None = None
    target: str = ""
    filled: bool = False
    series: SeriesSoFar | None = None


@dataclass(frozen=True, slots=True)
class Fill:
    """One container to be filled for a move. `number` counts the moves from now."""

    at: datetime
    batch: UUID
    code: str
    litres: Decimal
    water: Water
    target: str = ""
    number: int = 1


@dataclass(frozen=True, slots=True)
class Day:
    """What one local day needs. `to_mix_l` is what no standing make will cover, `mix_by` when
    it must be mixing; `salt_left_kg` after it, None where nobody knows the stock."""

    day: date
    fills: tuple[Fill, ...]
    changes_l: Decimal
    to_mix_l: Decimal
    to_mix_kg: Decimal
    salt_kg: Decimal
    salt_left_kg: Decimal | None
    mix_by: datetime | None
    water: Water

    @property
    def litres(self) -> Decimal:
        return sum((one.litres for one in self.fills), self.changes_l)

    @property
    def salt_short(self) -> bool:
        return self.salt_left_kg is not None and self.salt_left_kg < 0


@dataclass(frozen=True, slots=True)
class Needs:
    """Days from today on; what stands, in litres fit by the time it is wanted."""

    days: tuple[Day, ...]
    standing_l: Decimal

    @property
    def short_from(self) -> Day | None:
        """The first day that the water standing now does not cover."""
        return next((one for one in self.days if one.to_mix_l > 0), None)

    @property
    def salt_short_from(self) -> Day | None:
        return next((one for one in self.days if one.salt_short), None)


@dataclass(frozen=True, slots=True)
class Stock:
    """What the mixing room has: makes as they stand, salt of the lot in use."""

    makes: tuple[Standing, ...]
    salt_kg: Decimal | None
    dry_fraction: Decimal
    mixed_least: timedelta


def fills_ahead(
    batches: Iterable[BatchAhead], hours: StaffedHours, zone: ZoneInfo, *, until: datetime
) -> tuple[Fill, ...]:
    """Every container to be filled for the moves to come up to `until`, by time.

    The first as its task says; the later ones as the plan of an unbroken series makes them.
    """
    found = [fill for one in batches for fill in _of_batch(one, hours, zone)]
    return tuple(sorted((one for one in found if one.at <= until), key=lambda one: one.at))


def _of_batch(one: BatchAhead, hours: StaffedHours, zone: ZoneInfo) -> list[Fill]:
    if one.first_at is None:
        return []
    first = one.target_l or one.own_l
    fills = [Fill(one.first_at, one.batch, one.code, first, one.water, one.target)]
    if one.filled:
        fills = []
    if one.series is None:
        return fills
    for number, move in enumerate(plan_moves(one.series, hours, zone).moves[1:], start=2):
        at = (move.planned or move.limit) - PREPARE_AHEAD
        fills.append(Fill(at, one.batch, one.code, one.own_l, one.water, number=number))
    return fills


def needs(
    fills: Sequence[Fill],
    stock: Stock,
    *,
    at: datetime,
    zone: ZoneInfo,
    days: int,
    changes_l: Decimal = ZERO,
    planned: Water,
) -> Needs:
    """What each of the next `days` local days needs, today the first, with what is overdue.

    `changes_l`: water changes of a day, as usual. Standing water is used up in order of time;
    what goes beyond it is to be mixed, long enough before it is wanted.
    """
    today = at.astimezone(zone).date()
    standing_l = sum((max(one.left_l, ZERO) for one in stock.makes), ZERO)
    left, salt = standing_l, stock.salt_kg
    found = []
    for n in range(days):
        day = today + n * DAY
        own = tuple(one for one in fills if max(one.at.astimezone(zone).date(), today) == day)
        litres = sum((one.litres for one in own), changes_l)
        to_mix = max(litres - max(left, ZERO), ZERO)
        left = max(left - litres, ZERO)
        water = _mean(own, planned)
        kilos = _salt(to_mix, water, stock.dry_fraction)
        salt = None if salt is None else salt - kilos
        found.append(
            Day(
                day=day,
                fills=own,
                changes_l=changes_l,
                to_mix_l=to_mix,
                to_mix_kg=kilos,
                salt_kg=_salt(litres, water, stock.dry_fraction),
                salt_left_kg=salt,
                mix_by=_mix_by(own, stock, day, zone) if to_mix else None,
                water=water,
            )
        )
    return Needs(tuple(found), standing_l)


def _mix_by(fills: Sequence[Fill], stock: Stock, day: date, zone: ZoneInfo) -> datetime:
    """So that it has mixed long enough for the first fill of the day, or for its end."""
    first = min((one.at for one in fills), default=None)
    noon = datetime(day.year, day.month, day.day, 12, tzinfo=zone)
    return (first or noon) - stock.mixed_least


def _mean(fills: Sequence[Fill], planned: Water) -> Water:
    """The water that a make for all of them should be."""
    litres = sum((one.litres for one in fills), ZERO)
    if not litres:
        return planned
    salinity = sum((one.litres * one.water.salinity for one in fills), ZERO) / litres
    warmth = sum((one.litres * one.water.temperature_c for one in fills), ZERO) / litres
    tenth = Decimal("0.1")
    read = all(one.water.read for one in fills)
    return Water(salinity.quantize(tenth), warmth.quantize(tenth), read)


def _salt(litres: Decimal, water: Water, dry_fraction: Decimal) -> Decimal:
    if not litres:
        return ZERO
    made = recipe(
        litres,
        salinity=water.salinity,
        temperature_c=water.temperature_c,
        dry_fraction=dry_fraction,
    )
    return made.salt_kg
