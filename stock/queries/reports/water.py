"""The log of water: readings with instrument and its last check, makes, and what was filled."""

from bisect import bisect_right
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from uuid import UUID

from protocols.clocks import parse_utc, utc_text
from stock.models import Fact, InstrumentCheck, Make
from stock.queries.reports.folded import Folded, folded
from stock.queries.reports.form import Asked, Report, Row, code, moment, number, text
from stock.queries.reports.whereabouts import Whereabouts

READ = ("reading_taken", "readings_taken")
FILLED = ("filled", "water_changed", "topped_up")
MADE = ("water_made", "make_checked", "instrument_checked")
Makes = Mapping[str, str]
Checks = Mapping[UUID, list[tuple[datetime, bool, str]]]


@dataclass(frozen=True, slots=True)
class Checked:
    """The last check of an instrument before a reading."""

    at: datetime
    passed: bool
    how: str


def rows(asked: Asked) -> Iterator[Row]:
    """By when it was performed; of a probe one row for what it sent at once."""
    where = Whereabouts(asked)
    checks = _checks(asked)
    makes = _makes(asked)
    kinds = (*READ, *FILLED, *(() if asked.batches else MADE))
    for one in folded(asked, kinds):
        container = one.body.get("container")
        if container is None or where.concerns(UUID(str(container)), one.at):
            yield _row(one, where, checks, makes)


def _row(one: Folded, where: Whereabouts, checks: Checks, makes: Makes) -> Row:
    body = one.body
    container = body.get("container")
    there = where.there(UUID(str(container)), one.at) if container else []
    return (
        one.at,
        one.fact.kind,
        one.name(container) or body.get("vat"),
        ", ".join(stay.code for stay in there) or None,
        *(_read(one, checks) if one.fact.kind in READ else _made(one, makes)),
        one.doer,
        one.state or None,
        one.fact.seq + 1,
    )


def _read(one: Folded, checks: Checks) -> Row:
    body = one.body
    instrument = body.get("instrument") or body.get("probe")
    checked = _last(checks, instrument, one.at)
    return (
        body["quantity"],
        _values(one),
        body["unit"],
        one.name(instrument),
        checked.at if checked else None,
        (("passed" if checked.passed else "failed") if checked else None),
        checked.how if checked else None,
        None,
    )


def _values(one: Folded) -> str:
    """One value as typed; of a probe the lowest, the highest, how many, and until when."""
    if one.fact.kind == "reading_taken":
        return str(one.body["value"])
    found = sorted(Decimal(str(value)) for value in one.body["values"])
    step = timedelta(seconds=one.body["step_s"])
    last = parse_utc(one.body["start"]) + step * (len(found) - 1)
    return f"{found[0]}-{found[-1]} ({len(found)}, {last:%H:%M}Z)"


def _made(one: Folded, makes: Makes) -> Row:
    """A make, a check, or water that was put in: its litres and what is known of the make."""
    body = one.body
    if one.fact.kind == "instrument_checked":
        said = "passed" if body["passed"] else "failed"
        how = _how(str(body["standard"]), str(body["expected"]), str(body["got"]))
        return (
            body.get("quantity"), str(body["got"]), None, one.name(body["instrument"]),
            one.at, said, how, None,
        )  # fmt: skip
    litres = body.get("volume_l")
    make = makes.get(str(body.get("make")))
    lot = body.get("salt_lot")
    strength = body.get("salinity")
    more = [make, lot and f"salt {lot}", strength and f"salinity {strength}"]
    text = ", ".join(str(part) for part in more if part)
    return (None, None if litres is None else str(litres), "L", None, None, None, None, text)


def _makes(asked: Asked) -> Makes:
    """In which vat and when each make of the site was mixed. One query."""
    rows = Make.objects.filter(site=asked.site).values_list("uid", "vat", "made_at")
    return {str(uid): f"{vat}, {utc_text(at)}" for uid, vat, at in rows}


def _checks(asked: Asked) -> Checks:
    """Every check of the site's instruments that was known by then, in order. One query."""
    known = Fact.objects.filter(log=asked.site, seq__lte=asked.known_by).values("uid")
    found: dict[UUID, list[tuple[datetime, bool, str]]] = {}
    checks = InstrumentCheck.objects.filter(instrument__site=asked.site, fact__in=known)
    for one in checks.filter(at__lt=asked.ends).order_by("at", "fact"):
        how = _how(one.standard, one.expected, one.got)
        found.setdefault(one.instrument_id, []).append((one.at, one.passed, how))
    return found


def _how(standard: str, expected: str, got: str) -> str:
    return f"{standard}: {got} / {expected}"


def _last(checks: Checks, instrument: object, at: datetime) -> Checked | None:
    found = checks.get(UUID(str(instrument)), []) if instrument else []
    place = bisect_right(found, at, key=lambda one: one[0])
    return Checked(*found[place - 1]) if place else None


WATER = Report(
    "water",
    (
        *moment("at"),
        *code("what"),
        *text("container", "batch"),
        *code("quantity"),
        *text("value", "unit", "instrument"),
        *moment("checked"),
        *code("check"),
        *text("check_got_expected", "make", "by"),
        *code("state"),
        *number("entry"),
    ),
    rows,
)
