"""What has still to ripen: sums over all later hours, as one matrix product for many rows."""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from protocols.carryover.carrying import together
from protocols.carryover.distributions import Floats, Table
from protocols.carryover.hourly import Hourly
from protocols.carryover.living import Columns, Living, Whole

Flags = NDArray[np.bool_]

# So many numbers of a product at once stay in the processor's cache.
AT_ONCE = 30_000


def cysts(table: Table, hourly: Hourly, columns: Columns, found: Living, rows: slice) -> Floats:
    """V: a viable cyst dropped in these hours ripens later, or is unripe and here.

    Nothing dropped in `rows` may ripen before they end.
    """
    later = slice(rows.stop, _until(hourly, rows))
    lives = np.empty((len(hourly.last), rows.stop - rows.start, found.cyst.shape[2]))
    for some in _parts(lives, later):
        ripens = ripening(table, hourly.tomont_age[some], rows, later)
        ripens *= _there_before(hourly, some, rows, later)
        np.matmul(ripens, found.cyst[some, later], out=lives[some])
    # Left behind or on no fish it counts for nothing: only what is in reach has a rest.
    rest = _unfinished(table, hourly.tomont_age, rows, columns.hours)
    rest *= _there_at(hourly, rows, columns)
    lives[..., columns.reach] += rest
    return lives


def _until(hourly: Hourly, rows: slice) -> int:
    """The hour before which everything from these rows is left behind, if not carried."""
    if hourly.wet:
        return hourly.hours
    end = int(hourly.stay_end[:, rows.stop - 1].max())
    return int(max(rows.stop, min(hourly.hours, end + 1)))


def _there_before(hourly: Hourly, some: slice, rows: slice, later: slice) -> Floats | Flags:
    """Chance that a cyst dropped in `rows` is with the animals in the hour before each."""
    hours = slice(later.start - 1, later.stop - 1)
    if hourly.wet:
        return together(hourly.kept[some, hours], hourly.loose[some, rows])
    end, hour = hourly.stay_end[some, rows, None], np.arange(hours.start, hours.stop)
    here: Flags = hour < end
    return here


def _there_at(hourly: Hourly, rows: slice, columns: Columns) -> Floats | Flags:
    """Chance that an unripe cyst dropped in `rows` is with the animals at each horizon."""
    if hourly.wet:
        kept = np.take_along_axis(hourly.kept, columns.hours, axis=1)
        return together(kept, hourly.loose[:, rows])
    here: Flags = columns.hours[:, None] < hourly.stay_end[:, rows, None]
    return here


def _parts(lives: Floats, later: slice) -> Iterator[slice]:
    """The records in parts small enough for a product with these later hours."""
    length = max(1, AT_ONCE // (lives.shape[1] * max(1, later.stop - later.start)))
    return (slice(n, n + length) for n in range(0, len(lives), length))


def trophonts(
    table: Table, hourly: Hourly, columns: Columns, found: Living, rows: slice, first: int
) -> Floats:
    """Tn or TE: a trophont on a fish in these hours ripens, meets a death, or is unripe yet.

    Nothing of `rows` may ripen before `first`. Its chances are of after the events.
    """
    age, survives = hourly.trophont_age, hourly.deaths.survives
    later = slice(first, hourly.hours)
    lives = np.empty((len(hourly.last), rows.stop - rows.start, found.ripe.shape[2]))
    for some in _parts(lives, later):
        ripens = ripening(table, age[some], rows, later)
        np.matmul(ripens, found.ripe[some, later], out=lives[some])
    rest = _unfinished(table, age, rows, columns.hours)
    rest *= np.take_along_axis(survives, columns.hours, axis=1)[:, None]
    lives[..., columns.reach] += rest
    lives[..., columns.reach.stop :] += rest
    if hourly.deaths.hours.shape[1]:
        lives += _dying(table, hourly, found, rows)
    lives /= survives[:, rows, None]
    return lives


def _dying(table: Table, hourly: Hourly, found: Living, rows: slice) -> Floats:
    """Through a carcass: unripe at a later death, on the dying animal, off and still viable."""
    deaths = hourly.deaths
    at = np.minimum(deaths.hours, hourly.hours - 1)
    dropped = np.take_along_axis(found.dropped, at[..., None], axis=1)
    row = np.arange(rows.start, rows.stop)[None, :, None]
    still = _unfinished(table, hourly.trophont_age, rows, at) * (deaths.hours[:, None] > row)
    met: Floats = still @ (deaths.seeds[..., None] * dropped)
    return met


def after_deaths(hourly: Hourly, found: Living, rows: slice, lives: Floats) -> Floats:
    """Of an unripe trophont before the deaths of its hour, from that of one after them."""
    deaths = hourly.deaths
    stays_on, off = deaths.stays_on[:, rows, None], deaths.unripe_off[:, rows, None]
    answer: Floats = stays_on * lives + off * found.dropped[:, rows]
    return answer


def ripening(table: Table, age: Whole, rows: slice, later: slice) -> Floats:
    """Chance of what begins in `rows` to be ripe first at each later hour: record, row, hour.

    Whatever ripens before the first of these hours counts there.
    """
    left = table.left(age[:, None, later] - age[:, rows, None])
    ripens = np.empty_like(left)
    ripens[..., :1] = 1 - left[..., :1]
    np.subtract(left[..., :-1], left[..., 1:], out=ripens[..., 1:])
    return ripens


def _unfinished(table: Table, age: Whole, rows: slice, hours: Whole) -> Floats:
    """Chance to be unripe yet at these hours, 0 at hours before the row's own."""
    since = np.take_along_axis(age, hours, axis=1)[:, None] - age[:, rows, None]
    row = np.arange(rows.start, rows.stop)[None, :, None]
    answer: Floats = table.left(np.maximum(since, 0)) * (hours[:, None] >= row)
    return answer
