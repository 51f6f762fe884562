"""What a reading of ammonia means for the animals: NH3 from total ammonia, and alarms.

A test set measures total ammonia; only NH3 kills. How much of it is NH3 follows from the pH,
temperature and salinity read nearest in time. What nobody read is assumed on the careful side,
and said.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

from protocols.clocks import elapsed_text, utc_text
from protocols.said import said
from protocols.water import ammonia_unit_convert, nh3_n_mg_l
from protocols.water.ammonia import ReportedAs
from protocols.water.ph import PhScale

TOTAL, FREE = "total_ammonia", "free_ammonia"
# Of the conversion, the test and the pH together: shown, and taken at its upper end.
ERROR = 0.15
# How far away in time what was read beside may be. Salinity hardly moves, nor NH3 with it.
NEAR = {
    "ph": timedelta(hours=12),
    "temperature": timedelta(hours=12),
    "salinity": timedelta(hours=72),
}
# For so long after a binder what it holds can still be read as total ammonia.
BINDER_SHOWS = timedelta(hours=48)
# The careful end of what such water has: the more alkaline, warm and fresh, the more NH3.
ASSUMED = {"ph": "8.4", "temperature": "28", "salinity": "27"}
# Values over the alarm that lie so near together tell of one alarm.
ONE_ALARM = timedelta(hours=12)
# Words by which people call what binds ammonia, where nobody said so outright.
BINDERS = ("bind", "detox", "conditioner", "hydroxymethanesulf", "ammonia remover")


@dataclass(frozen=True, slots=True)
class Beside:
    """What was read of something else near in time; a pH with its scale."""

    uid: UUID
    value: Decimal
    at: datetime
    scale: PhScale = "NBS"


@dataclass(frozen=True, slots=True)
class Dosed:
    """A product that binds ammonia went into the container."""

    product: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Sample:
    """One reading of ammonia in mg/L with what is known of the water around its time.

    `reported_as` is N, NH3 or NH4; where nobody said it, it is taken as N, which is careful.
    """

    uid: UUID
    container: UUID
    quantity: str
    value: Decimal
    at: datetime
    reported_as: ReportedAs | None = None
    ph: Beside | None = None
    temperature: Beside | None = None
    salinity: Beside | None = None
    binders: tuple[Dosed, ...] = ()


@dataclass(frozen=True, slots=True)
class Assessed:
    """A reading as NH3 in mg/L of nitrogen. `most_mg_l` is the upper end of its error.

    `assumed` names what nobody read, `marks` says in words what the value is worth.
    """

    sample: Sample
    nh3_n_mg_l: float
    most_mg_l: float
    assumed: tuple[str, ...] = ()
    marks: tuple[str, ...] = ()

    @property
    def at(self) -> datetime:
        return self.sample.at

    def is_over(self, alarm_mg_l: Decimal) -> bool:
        """Whether it may have reached the alarm; both are compared as they are shown."""
        return _rounded(self.most_mg_l) >= alarm_mg_l

    def numbers(self) -> dict[str, Any]:
        """What was read, what it means, and with what it was worked out."""
        one = self.sample
        read = {"ph": one.ph, "temperature": one.temperature, "salinity": one.salinity}
        used = {name: str(found.uid) for name, found in read.items() if found}
        found: dict[str, Any] = {
            "quantity": one.quantity,
            "value": str(one.value),
            "reported_as": one.reported_as or "N",
            "read_at": utc_text(one.at),
            "nh3_n_mg_l": str(_rounded(self.nh3_n_mg_l)),
            "nh3_n_most_mg_l": str(_rounded(self.most_mg_l)),
            "marks": list(self.marks),
        }
        if one.quantity == TOTAL:
            values = {
                name: str(got.value) if got else ASSUMED[name] for name, got in read.items()
            }
            found |= {
                "ph": values["ph"],
                "ph_scale": one.ph.scale if one.ph else "NBS",
                "temperature_c": values["temperature"],
                "salinity": values["salinity"],
                "used": used,
                "assumed": list(self.assumed),
            }
        return found


def binds_ammonia(product: str, why: str | None = None, told: bool | None = None) -> bool:
    """Whether a dose binds ammonia: as somebody told, else by the words of its label."""
    if told is not None:
        return told
    words = f"{product} {why or ''}".lower()
    return any(one in words for one in BINDERS)


def assess(sample: Sample) -> Assessed:
    """A reading of total or free ammonia as NH3-N in mg/L.

    Total ammonia by Clegg & Whitfield 1995 on the scale of the pH, about 15 % either way; free
    ammonia as it was read. Raises ValueError for values that no water has.
    """
    as_n = float(
        ammonia_unit_convert(
            value=float(sample.value), from_unit=sample.reported_as or "N", to_unit="N"
        )
    )
    if sample.quantity == FREE:
        return Assessed(sample, as_n, as_n)
    ph, warmth, salt = sample.ph, sample.temperature, sample.salinity
    nh3 = float(
        nh3_n_mg_l(
            tan_mg_l=as_n,
            ph=float(ph.value if ph else ASSUMED["ph"]),
            ph_scale=ph.scale if ph else "NBS",
            temperature_c=float(warmth.value if warmth else ASSUMED["temperature"]),
            salinity=float(salt.value if salt else ASSUMED["salinity"]),
        )
    )
    read = {"ph": ph, "temperature": warmth, "salinity": salt}
    assumed = tuple(name for name, found in read.items() if found is None)
    return Assessed(sample, nh3, nh3 * (1 + ERROR), assumed, tuple(_marks(sample, assumed)))


def _marks(sample: Sample, assumed: Sequence[str]) -> Iterator[str]:
    before = [one for one in sample.binders if one.at <= sample.at <= one.at + BINDER_SHOWS]
    if before:
        since = sample.at - max(one.at for one in before)
        yield said("total test, {span} after a binder: can read high", span=_span(since))
    for name in assumed:
        yield said(
            "no {names} was read: {assumed} assumed", names=NAMES[name], assumed=ASSUMED[name]
        )


NAMES = {"ph": "pH", "temperature": "temperature", "salinity": "salinity"}


def _span(since: timedelta) -> str:
    minutes = since // timedelta(minutes=1)
    return (
        said("{minutes} min", minutes=minutes)
        if minutes < 120
        else elapsed_text(timedelta(minutes=minutes))
    )


def _rounded(value: float) -> Decimal:
    return round(Decimal(value), 3)


# -- Alarms ------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Alarm:
    """Readings over the alarm that tell of one thing: the first and the newest.

    Only a reading below ends it, of free ammonia or of total; neither time nor a dose does.
    """

    first: Assessed
    newest: Assessed
    is_open: bool = True


@dataclass(frozen=True, slots=True)
class Ammonia:
    """Alarms in the stays of one series, by time; `volume_l` is that of the container now."""

    alarms: tuple[Alarm, ...]
    volume_l: Decimal | None = None

    @property
    def open(self) -> Alarm | None:
        """The alarm that stands. At most the last one can."""
        return self.alarms[-1] if self.alarms and self.alarms[-1].is_open else None


@dataclass(frozen=True, slots=True)
class Span:
    """The animals were in a container from one moment to another; None while they are."""

    container: UUID
    begins: datetime
    ends: datetime | None = None

    def holds(self, one: Assessed) -> bool:
        after = self.ends is not None and one.at >= self.ends
        return one.sample.container == self.container and self.begins <= one.at and not after


def alarms_in(
    stays: Iterable[Span], assessed: Iterable[Assessed], alarm_mg_l: Decimal
) -> tuple[Alarm, ...]:
    """The alarms of these stays, by time. A stay that ended ends its alarm."""
    by_time = sorted(assessed, key=lambda one: (one.at, one.sample.uid))
    found: list[Alarm] = []
    for stay in sorted(stays, key=lambda one: one.begins):
        here: list[Alarm] = []
        for one in by_time:
            if stay.holds(one):
                _follow(here, one, alarm_mg_l)
        if stay.ends is not None:
            here = [replace(one, is_open=False) for one in here]
        found += here
    return tuple(found)


def _follow(alarms: list[Alarm], one: Assessed, alarm_mg_l: Decimal) -> None:
    last = alarms[-1] if alarms else None
    if not one.is_over(alarm_mg_l):
        if last is not None:
            alarms[-1] = replace(last, is_open=False)
    elif last is not None and last.is_open and one.at - last.newest.at <= ONE_ALARM:
        alarms[-1] = replace(last, newest=one)
    else:
        if last is not None:
            alarms[-1] = replace(last, is_open=False)
        alarms.append(Alarm(one, one))
