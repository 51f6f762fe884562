"""Hours, moments and zones that tests of planning share."""

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

from protocols.hours import ExceptionalDay, Hours, Weekly

BERLIN = ZoneInfo("Europe/Berlin")
SINGAPORE = ZoneInfo("Asia/Singapore")
NEW_YORK = ZoneInfo("America/New_York")

EIGHT_TO_EIGHT = (8 * 60, 20 * 60)


def local(zone: ZoneInfo, text: str, *, fold: int = 0) -> datetime:
    """A wall time such as `2026-12-24 13:00` as UTC."""
    return datetime.fromisoformat(text).replace(tzinfo=zone, fold=fold).astimezone(UTC)


def every_day(from_min: int = 480, to_min: int = 1200, *exceptions: ExceptionalDay) -> Hours:
    return Hours(tuple(Weekly(day, from_min, to_min) for day in range(7)), exceptions)


def closed(day: str, why: str = "closed") -> ExceptionalDay:
    return ExceptionalDay(date.fromisoformat(day), why)


def short(day: str, from_min: int, to_min: int) -> ExceptionalDay:
    return ExceptionalDay(date.fromisoformat(day), "short day", (from_min, to_min))


# Monday to Saturday 08-20; Christmas, the Sunday after it, and a short day before.
CHRISTMAS = Hours(
    tuple(Weekly(day, *EIGHT_TO_EIGHT) for day in range(6)),
    (
        short("2026-12-24", 8 * 60, 13 * 60),
        closed("2026-12-25", "Christmas"),
        closed("2026-12-26", "Christmas"),
    ),
)
