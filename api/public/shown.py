"""What a certificate says today, for people: sentences first, then tables, then the proof."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from api.language import day_text, later, local_text
from api.pages.amounts import reading
from api.pages.parts import Table
from api.pages.words import plain
from protocols.clocks import parse_utc
from protocols.units import Units
from stock.queries.public import PublicRecord

SENTENCES: Mapping[str, str] = {
    "valid": later("This record stands for {now} {animals}."),
    "partly": later(
        "This record stands for {now} of {certified} {animals}; for the others it ended."
    ),
    "suspended": later("Do not rely on this record now: a question about it is open."),
    "being_checked": later(
        "Being checked: something told of these animals is not decided yet. "
        "Do not rely on this record until it is."
    ),
    "superseded": later("This record was replaced and stands no longer."),
    "revoked": later("This record was revoked and must not be relied on."),
    "ended": later(
        "This record has ended: the animals left the conditions under which it was made."
    ),
}


@dataclass(frozen=True, slots=True)
class Shown:
    """The parts of the page, in the order in which they stand."""

    state: str
    sentence: str
    animals: tuple[tuple[str, object], ...]
    numbers: Table
    days: Table | None
    moves: Table
    restarts: int
    stages: tuple[tuple[str, str], ...]
    treatments: Table
    since: Table
    water: Table | None


def shown(record: PublicRecord) -> Shown:
    """Everything that a buyer reads, each moment with the zone of the place."""
    frozen, state = record.quarantine, record.worth.state
    said = "being_checked" if record.worth.is_being_checked else state.state
    words = {
        "now": state.alive,
        "certified": frozen["counts"]["certified"],
        "animals": _animals(frozen),
    }
    return Shown(
        state=plain(said).capitalize(),
        sentence=SENTENCES[said].format(**words),
        animals=tuple(_about(record)),
        numbers=_numbers(record),
        days=_days(record),
        moves=_moves(record),
        restarts=sum(one["restarted"] for one in frozen["moves"]),
        stages=tuple(_stages(record)),
        treatments=_treatments(record),
        since=_since(record),
        water=_water(record),
    )


def _animals(frozen: Mapping[str, Any]) -> str:
    names = [one["name"] for one in frozen["species"]]
    return _(" and ").join(names) if len(names) < 3 else _("animals")


def _about(record: PublicRecord) -> Iterator[tuple[str, object]]:
    frozen = record.quarantine
    for one in frozen["species"]:
        yield _("Species"), _species(one)
    yield _("Certificate"), record.number
    yield _("Certified"), _local(record.credential["validFrom"], record)
    yield _("Arrived"), _day(date.fromisoformat(frozen["arrived_on"]))
    for origin in record.origins:
        yield _("From"), _origin(origin)
    by = frozen["declared_by"]
    yield _("Declared by"), f"{by['organisation']} ({by['role']})"


def _species(one: Mapping[str, Any]) -> SafeString:
    if one["name"] == one["scientific_name"]:
        return format_html("<i>{}</i>", one["name"])
    return format_html("{} (<i>{}</i>)", one["name"], one["scientific_name"])


def _origin(one: Mapping[str, Any]) -> str:
    source = {True: _("taken from the wild"), False: _("captive bred")}
    known = (one.get("origin"), source.get(one["wild"]) if "wild" in one else None)
    return ", ".join(word for word in known if word)


def _numbers(record: PublicRecord) -> Table:
    counts = record.quarantine["counts"]
    losses = [(plain(fate).capitalize(), n) for fate, n in counts["losses"].items()]
    return Table(
        caption=_("How many"),
        columns=("", _("Animals")),
        rows=(
            (_("Received"), counts["received"]),
            (_("Dead on arrival"), counts["doa"]),
            (_("Placed alive"), counts["placed"]),
            *losses,
            (_("Certified"), counts["certified"]),
            (_("Covered today, and not known to be dead"), record.worth.state.alive),
        ),
        numeric=frozenset({1}),
    )


def _days(record: PublicRecord) -> Table | None:
    """Losses by day; left out only by a rule of the whole site, older than the course."""
    if record.losses is None:
        return None
    return Table(
        caption=_("Losses by day"),
        columns=(_("Day"), _("What"), _("Animals")),
        rows=[(_day(one.on), plain(one.fate), one.count) for one in record.losses],
        numeric=frozenset({2}),
        empty=_("No losses."),
    )


def _moves(record: PublicRecord) -> Table:
    return Table(
        caption=_("Moves to a clean container"),
        columns=(_("When"), _("In time?"), _("Series")),
        rows=[
            (
                _local(one["at"], record),
                plain(one["verdict"]),
                _of_series(one, record),
            )
            for one in record.quarantine["moves"]
        ],
    )


def _of_series(move: Mapping[str, Any], record: PublicRecord) -> str:
    if move["restarted"]:
        return _("restarted: this was day 1 of a new one")
    completed = record.quarantine["series"]["completed_at"]
    return _("complete with this move") if move["at"] == completed else _("went on")


def _stages(record: PublicRecord) -> Iterator[tuple[str, str]]:
    frozen = record.quarantine
    protocol, series, watched = frozen["protocol"], frozen["series"], frozen["observation"]
    yield (
        _("Protocol"),
        _("{name}, version {version}").format(
            name=protocol["name"], version=protocol["version"]
        ),
    )
    limit, span = protocol["stay_limit_s"] // 3600, protocol["span_least_s"] // 3600
    yield (
        _("Its rules"),
        _(
            "at most {limit} h in one container, at least {moves_least} moves "
            "and {span} h, then {observation_s} days of observation"
        ).format(
            limit=limit,
            moves_least=protocol["moves_least"],
            span=span,
            observation_s=protocol["observation_s"] // 86400,
        ),
    )
    yield _("Series begun"), _local(series["started_at"], record)
    yield _("Series complete"), _local(series["completed_at"], record)
    yield _("Observed from"), _local(watched["started_at"], record)
    yield _("Observed until"), _local(watched["ended_at"], record)


def _treatments(record: PublicRecord) -> Table:
    return Table(
        caption=_("Treatments"),
        columns=(_("When"), _("Product"), _("Amount")),
        rows=[
            (_local(one["at"], record), one["product"], one["dose"])
            for one in record.quarantine["treatments"]
        ],
        empty=_("No treatment is recorded."),
    )


def _since(record: PublicRecord) -> Table:
    return Table(
        caption=_("What became of it since"),
        columns=(_("When"), _("State"), _("Animals")),
        rows=[
            (
                local_text(one.at, record.zone),
                _("left certified conditions") if one.state == "ended" else plain(one.state),
                _("all") if one.count is None else one.count,
            )
            for one in record.steps
        ],
        numeric=frozenset({2}),
        empty=_("Nothing was told of it."),
    )


def _water(record: PublicRecord) -> Table | None:
    """The water they come from, so that whoever takes them can match it."""
    if not record.water:
        return None
    return Table(
        caption=_("The water they were in when it was read last"),
        columns=(_("What"), _("Value"), _("When")),
        rows=[
            (
                plain(one.quantity).capitalize(),
                reading(Units({}), one.quantity, one.value, one.unit, one.convention),
                local_text(one.at, record.zone),
            )
            for one in record.water
        ],
    )


def _local(text: str, record: PublicRecord) -> str:
    return local_text(parse_utc(text), record.zone)


def _day(day: date) -> str:
    return day_text(day)
