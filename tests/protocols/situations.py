"""Batches and equipment for tests of work: name only what the test is about."""

from datetime import UTC, datetime, timedelta
from uuid import UUID

from protocols.hours import HoursHistory
from protocols.tasks import BatchWork, Equipment, Lost, Missing, What, Work
from protocols.values import Deviation, Effect, Rules, SeriesState, State
from protocols.work import due_work
from tests.protocols.staffed import BERLIN, local

ADA, BEN = UUID(int=1), UUID(int=2)
BATCH, STAY, STAY_BEFORE = UUID(int=10), UUID(int=11), UUID(int=12)
R1_01, R1_02, R1_03 = UUID(int=21), UUID(int=22), UUID(int=23)
A_1, B_1, C_1 = UUID(int=31), UUID(int=32), UUID(int=33)
CAUSE, OTHER = UUID(int=41), UUID(int=42)
ROOM = UUID(int=51)
HOUR = timedelta(hours=1)
SECOND = timedelta(seconds=1)
PLACED = datetime(2027, 1, 5, 9, tzinfo=UTC)
ALWAYS = HoursHistory()


def berlin(text: str) -> datetime:
    return local(BERLIN, text)


def batch(placed: datetime = PLACED, **given) -> BatchWork:
    """Ten animals in R1-01 with kit A-1, in the first stay of an unbroken series."""
    known = {
        "batch": BATCH,
        "state": "moves",
        "alive": 10,
        "container": R1_01,
        "kit": A_1,
        "stay": STAY,
        "stay_before": None,
        "placed": placed,
        "limit": placed + 72 * HOUR,
        "earliest_end": placed + 288 * HOUR,
        "series": SeriesState.UNBROKEN,
        "moves": 0,
        "stay_limit": 72 * HOUR,
        "moves_least": 4,
    }
    return BatchWork(**{**known, **given})


def observed(**given) -> BatchWork:
    """A batch whose series is complete: nothing limits its stay."""
    return batch(limit=None, series=SeriesState.COMPLETE, state="observation", moves=5, **given)


def deviation(rule: str, effect: Effect = Effect.ASKS, **given) -> Deviation:
    return Deviation(batch=BATCH, rule=rule, cause=CAUSE, effect=effect, at=PLACED, **given)


def due(
    *batches: BatchWork, at: datetime = PLACED, hours=ALWAYS, zone=BERLIN, **given
) -> tuple[Work, ...]:
    """What is due at the first placement, with the rules' defaults, where people always are."""
    given.setdefault("equipment", ())
    given.setdefault("rules", Rules())
    return due_work(batches, hours=hours, zone=zone, at=at, **given)


def only(what: What, found: tuple[Work, ...]) -> Work:
    (one,) = [work for work in found if work.what is what]
    return one


def kinds(found: tuple[Work, ...]) -> list[What]:
    return sorted(work.what for work in found)


def ready(uid: UUID, kind: str, label: str, ready_at: datetime | None = None) -> Equipment:
    state = State.DRYING if ready_at else State.READY
    return Equipment(uid, kind, label, state, cause=uid, ready_at=ready_at)


def lost(number: int, hours: float, count: int = 1) -> Lost:
    return Lost(UUID(int=100 + number), count, PLACED + hours * HOUR)


MISSING = Missing(CAUSE, R1_01, count=1, at=PLACED)
