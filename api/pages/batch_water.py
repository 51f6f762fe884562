"""The water of a batch on its page: ammonia ahead with readings on it, ranges behind."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal

from django.utils.translation import gettext as _

from api.language import Figure, local_text, spoken
from api.pages.parts import Table
from api.pages.pictures.scale import Scale
from api.pages.pictures.waters import AmmoniaShown, Level, Measured, Part
from api.pages.shell import Here
from protocols.ammonia import FREE, Assessed
from protocols.clocks import elapsed_text
from protocols.stocking_forecast import Point, reaches
from protocols.stocking_plan import MISSING
from stock.queries.batch_water import RangeSeen, WaterSeen

HOUR = timedelta(hours=1)
READINGS_MOST = 12


@dataclass(frozen=True, slots=True)
class RangeShown:
    name: str
    parts: tuple[Part, ...]
    scale: Scale


@dataclass(frozen=True, slots=True)
class WaterShown:
    """`curve` is None where nothing can be drawn; `sentence` says why, or what it comes to."""

    curve: AmmoniaShown | None
    sentence: str
    assumed: str
    readings: Table | None
    ranges: tuple[RangeShown, ...]
    table: Table
    cautions: tuple[str, ...]
    shelters: str

    @property
    def more_cautions(self) -> tuple[str, ...]:
        return self.cautions[1:]


def water_shown(found: WaterSeen, at: Here) -> WaterShown:
    kinds = found.stocked.kinds
    needed = sum(one.shelters for one in kinds)
    return WaterShown(
        curve=_curve(found) if found.planned or found.assessed else None,
        sentence=_sentence(found),
        assumed=_assumed(found, at),
        readings=_readings(found, at) if found.assessed else None,
        ranges=tuple(_range(one, found) for one in found.ranges),
        table=_ranges_table(found.ranges, at),
        cautions=tuple(spoken(one.text) for one in found.stocked.cautions),
        shelters=_("{needed} shelters for them.").format(needed=needed) if needed > 1 else "",
    )


def _curve(found: WaterSeen) -> AmmoniaShown:
    return AmmoniaShown(
        scale=Scale(found.began, found.until),
        now=found.now,
        alarm=found.alarm_mg_l,
        planned=_levels(found.planned, found),
        low=_levels(found.planned, found, 1 - found.error) if found.error else (),
        high=_levels(found.planned, found, 1 + found.error) if found.error else (),
        since=_levels(found.since, found),
        measured=tuple(_measured(one, found) for one in found.assessed),
        changed=tuple(found.began + one.after_h * HOUR for one in found.changes),
    )


def _levels(points: Iterable[Point], found: WaterSeen, times: float = 1.0) -> tuple[Level, ...]:
    return tuple(Level(found.began + one.hour * HOUR, one.nh3_n_mg_l * times) for one in points)


def _measured(one: Assessed, found: WaterSeen) -> Measured:
    return Measured(
        one.at,
        one.nh3_n_mg_l,
        one.most_mg_l,
        one.sample.quantity == FREE,
        one.most_mg_l >= found.alarm_mg_l,
    )


def _sentence(found: WaterSeen) -> str:
    """What the newest line comes to by the limit."""
    line = found.since or found.planned
    if not line:
        return MISSING[found.stocked.missing or "length"]
    whence = _("From the last reading on") if found.since else _("As planned")
    after = reaches(line, found.alarm_mg_l)
    if after is None:
        highest = max(one.nh3_n_mg_l for one in line)
        return _("{whence}, NH3-N stays at {highest:.3f} mg/L or less.").format(
            whence=whence, highest=Figure(highest)
        )
    if found.began + after * HOUR <= found.now:
        return _("{whence}, NH3-N is over the alarm of {alarm_mg_l:g} mg/L.").format(
            whence=whence, alarm_mg_l=Figure(found.alarm_mg_l)
        )
    text = elapsed_text(timedelta(minutes=int(after * 60)))
    return _("{whence}, NH3-N reaches the alarm {text} after the placement.").format(
        whence=whence, text=text
    )


def _assumed(found: WaterSeen, at: Here) -> str:
    said = list(_planned_with(found, at))
    if found.stocked.water.assumed:
        names = ", ".join(found.stocked.water.assumed).replace("ph", "pH")
        said.append(_("not read lately, so planned: {names}").format(names=names))
    return "; ".join(said) + "." if said else ""


def _planned_with(found: WaterSeen, at: Here) -> Iterator[str]:
    water = found.stocked.water
    values = (
        ("volume", water.volume_l),
        ("temperature", water.temperature_c),
        ("salinity", water.salinity),
    )
    said = [at.units.says(sort, Decimal(str(value)), rounded=True) for sort, value in values]
    yield _("Planned for {listed}, pH {ph:g} {ph_scale}").format(
        listed=", ".join(said), ph=Figure(water.ph), ph_scale=water.ph_scale
    )
    for one in found.stocked.kinds:
        if one.animals:
            error = round(100 * one.values.mass_error)
            yield (
                _(
                    "{kind} of {length_cm:g} cm, about {mass_g:.1f} g each, up to "
                    "{error} % more or less (dotted), food {feed_percent_day:g} % a day"
                ).format(
                    kind=one.kind.name,
                    length_cm=Figure(one.kind.length_cm),
                    mass_g=Figure(one.animals.mass_g),
                    error=error,
                    feed_percent_day=Figure(one.animals.feed_percent_day),
                )
            )


def _readings(found: WaterSeen, at: Here) -> Table:
    newest = list(reversed(found.assessed))[:READINGS_MOST]
    return Table(
        _("Ammonia as it was read"),
        (_("Read"), _("Test"), _("NH3-N mg/L"), _("What it is worth")),
        [
            (
                local_text(one.at, at.zone),
                f"{'free' if one.sample.quantity == FREE else 'total'} {one.sample.value}",
                _value(one),
                _worth(one, found),
            )
            for one in newest
        ],
        frozenset({2}),
    )


def _value(one: Assessed) -> str:
    if one.sample.quantity == FREE:
        return f"{one.nh3_n_mg_l:.3f}"
    return _("{nh3_n_mg_l:.3f}, up to {most_mg_l:.3f}").format(
        nh3_n_mg_l=Figure(one.nh3_n_mg_l), most_mg_l=Figure(one.most_mg_l)
    )


def _worth(one: Assessed, found: WaterSeen) -> str:
    over = [_("over the alarm")] if one.most_mg_l >= found.alarm_mg_l else []
    return "; ".join([*over, *one.marks])


def _range(one: RangeSeen, found: WaterSeen) -> RangeShown:
    parts = tuple(Part(each.begins, each.ends, each.state) for each in one.stretches)
    return RangeShown(one.name.capitalize(), parts, Scale(found.began, found.until))


def _ranges_table(ranges: Iterable[RangeSeen], at: Here) -> Table:
    return Table(
        _("Temperature and salinity during this stay"),
        (_("Quantity"), _("Range"), _("Inside"), _("Outside"), _("Unknown"), _("Last read")),
        [
            (
                one.name.capitalize(),
                _("{least} to {most}").format(
                    least=_says(one, one.allowed.least, at),
                    most=_says(one, one.allowed.most, at),
                ),
                elapsed_text(one.cover.inside),
                elapsed_text(one.cover.outside),
                elapsed_text(one.cover.unknown),
                _last(one, at),
            )
            for one in ranges
        ],
        frozenset({2, 3, 4}),
    )


def _last(one: RangeSeen, at: Here) -> str:
    if one.newest is None:
        return _("never")
    return f"{_says(one, one.newest.value, at)}, {local_text(one.newest.at, at.zone)}"


def _says(one: RangeSeen, value: Decimal, at: Here) -> str:
    return at.units.says(one.name, value, rounded=True)
