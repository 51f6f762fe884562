"""The stays and series of a batch as pictures, sentences and a table."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, time, timedelta

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from api.language import local_text
from api.pages.links import label, when
from api.pages.parts import Night, Table
from api.pages.pictures import ChainStay, Dark, Vessel, Watch, dark_hours, strip_ends
from api.pages.shell import Here
from api.pages.words import plain
from api.templatetags.fillmark import figures
from protocols.clocks import elapsed_text
from stock.queries.batch_seen import BatchSeen, SeriesSeen, StaySeen

SECOND = timedelta(seconds=1)


@dataclass(frozen=True, slots=True)
class StayShown:
    """What `parts/stay.html` needs."""

    vessel: Vessel
    left_s: int | None
    nights: Night | None  # none where nothing limits the stay: it would be no strip of three
    pairs: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class ChainShown:
    """What the strip of series needs."""

    stays: tuple[ChainStay, ...]
    now: datetime
    says: Mapping[int, str]
    earliest_end: datetime | None
    watch: Watch | None


def stay_shown(found: BatchSeen, at: Here) -> StayShown | None:
    """The open stay: how long, until when, with what."""
    stay = found.open_stay
    if stay is None:
        return None
    now = max(at.now, stay.began)  # a tablet's clock may run ahead by a little
    limit = found.batch.limit
    left = None if limit is None else (limit - now) // SECOND
    vessel = Vessel(
        label=stay.container_label,
        text=_left_text(left) if left is not None else plain(found.batch.state),
        occupied=True,
        elapsed_s=(now - stay.began) // SECOND,
        limit_s=max(1, (limit - stay.began) // SECOND) if limit else None,
        planned_s=_planned_s(found, stay),
    )
    nights = _night(found, stay, now, at) if limit else None
    return StayShown(vessel, left, nights, _pairs(found, stay, at))


def chain_shown(found: BatchSeen, at: Here) -> ChainShown:
    stays = tuple(
        ChainStay(one.container_label, one.began, one.ended, one.limit, one.verdict, one.series)
        for one in found.stays
    )
    now = max([at.now, *(one.began for one in found.stays)])
    series = [*found.past_series, *([found.series] if found.series else [])]
    return ChainShown(
        stays=stays,
        now=now,
        says={one.number: _series_words(one) for one in series},
        earliest_end=found.batch.earliest_end if found.watch is None else None,
        watch=_watch(found),
    )


def sentence(found: BatchSeen, at: Here) -> str:
    """Where the series stands, in plain words."""
    one, batch = found.series, found.batch
    watch = found.watch
    if watch is not None:
        return _("{watched} {moves} were made.").format(
            watched=_watch_words(found, at), moves=_moves_words(batch.moves)
        )
    if one is None or batch.closed_at is not None:
        return ""
    if one.state == "waiting":
        return _(
            "Nothing counts until the next clean placement: that is day 1 of a new series."
        )
    words = [
        _("{moves} of at least {moves_least}").format(
            moves=_moves_words(batch.moves), moves_least=found.version.moves_least
        )
    ]
    if batch.moves_needed:
        words.append(_("{moves_needed} still to make").format(moves_needed=batch.moves_needed))
    text = "; ".join(words) + "."
    if batch.earliest_end:
        text += _(" Complete at the earliest {earliest_end}.").format(
            earliest_end=local_text(batch.earliest_end, at.zone)
        )
    kept = batch.earliest_end_if_kept
    if kept and kept != batch.earliest_end:
        text += _(" If the open questions are decided to keep: {kept}.").format(
            kept=local_text(kept, at.zone)
        )
    return text + _early_words(found)


def stays_table(found: BatchSeen, at: Here) -> Table:
    return Table(
        _("Stays, placement to placement"),
        (_("Container"), _("Kit"), _("Placed"), _("Length"), _("Limit"), _("Verdict")),
        [_stay_row(one, at) for one in reversed(found.stays)],
        frozenset({3, 4}),
    )


def dark_of(
    light: tuple[str, str], begins: datetime, ends: datetime, at: Here
) -> tuple[Dark, ...]:
    """The dark hours of a room between two moments."""
    on, off = (time.fromisoformat(one) for one in light)
    return dark_hours(begins, ends, light_off=off, light_on=on, zone=at.zone)


def _night(found: BatchSeen, stay: StaySeen, now: datetime, at: Here) -> Night:
    limit = found.batch.limit
    ends = strip_ends(stay.began, limit, now)
    dark = dark_of(found.light, stay.began, ends, at)
    return Night(stay.began, limit, now, dark, planned=found.planned)


def _pairs(found: BatchSeen, stay: StaySeen, at: Here) -> tuple[tuple[str, str], ...]:
    batch = found.batch
    pairs = [(_("Placed here"), local_text(stay.began, at.zone))]
    if batch.limit:
        pairs.append((_("Limit"), local_text(batch.limit, at.zone)))
    if found.planned:
        pairs.append((_("Planned"), local_text(found.planned, at.zone)))
    pairs.append((_("Kit"), stay.kit_label or _("none")))
    return tuple(pairs)


def _planned_s(found: BatchSeen, stay: StaySeen) -> int | None:
    planned = found.planned
    return None if planned is None else (planned - stay.began) // SECOND


def _left_text(left_s: int) -> str:
    return f"{figures(left_s)} {'over' if left_s < 0 else 'left'}"


def _series_words(one: SeriesSeen) -> str:
    why = f": {plain(one.why)}" if one.why else ""
    return _("Series {number}, {state}{why}").format(
        number=one.number, state=plain(one.state), why=why
    )


def _watch(found: BatchSeen) -> Watch | None:
    one = found.watch
    if one is None:
        return None
    stopped = one.state == "stopped"
    ends = one.ends_at
    if stopped and one.elapsed_s is not None:
        ends = one.started + timedelta(seconds=one.elapsed_s)
    return Watch(one.started, ends, stopped)


def _watch_words(found: BatchSeen, at: Here) -> str:
    one = found.watch
    if one is None:
        return ""
    ends = local_text(one.ends_at, at.zone)
    if one.state == "stopped":
        length = elapsed_text(timedelta(seconds=one.elapsed_s or 0))
        return _(
            "The observation stopped after {length}: these hours do not count later."
        ).format(length=length)
    if one.state == "done":
        return _("The observation was done {ends}.").format(ends=ends)
    left = elapsed_text(max(timedelta(0), one.ends_at - at.now))
    return _("In observation until {ends}: another {left}.").format(ends=ends, left=left)


def _moves_words(moves: int) -> str:
    return ngettext("{count} move", "{count} moves", moves).format(count=moves)


def _early_words(found: BatchSeen) -> str:
    """Four stays of 72 hours leave no slack: after an early move a fifth is needed."""
    batch = found.batch
    least = found.version.moves_least
    together = batch.moves + batch.moves_needed
    if batch.moves and together > least:
        return _(" Moves were early, so it takes {together} of them, not {least}.").format(
            together=together, least=least
        )
    return ""


def _passed_s(one: StaySeen, at: Here) -> int:
    return max(0, (at.now - one.began) // SECOND)


def _stay_row(one: StaySeen, at: Here) -> tuple[object, ...]:
    ended = one.ended
    verdict = plain(one.verdict) if one.verdict else _("goes on") if ended is None else ""
    over = (
        _(", {over_s} over").format(over_s=elapsed_text(timedelta(seconds=one.over_s)))
        if one.over_s
        else ""
    )
    return (
        label(one.container_label),
        label(one.kit_label),
        when(one.began, at.zone),
        elapsed_text(ended - one.began) if ended else figures(_passed_s(one, at)),
        elapsed_text(one.limit - one.began) if one.limit else _("none"),
        f"{verdict}{over}",
    )
