"""The open work of a site with where it is to be done. Six queries, however much there is.

What a slip says of amounts comes from the same rows: the marks of containers and what was read
in them last, and one query for the salt and the bleach in use. Where batches go by versions of
the organisation's own, one query more.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from protocols.deviations import deviation_uid
from protocols.doing_now import IfNow, if_moved_now
from protocols.reconciling import DONE_BY_HAND, OPEN_STATES
from protocols.slip_amounts import BathAmount, FillAmount
from protocols.taking import is_untouched, lease_ends
from protocols.tasks import Equipment, What, Work
from protocols.walks import Dirt, ToWalk, dirt_of
from protocols.work import urgency
from protocols.work_moves import supplied
from stock.judging.task_rows import work_of
from stock.judging.work_equipment import equipment_known
from stock.models import Container, DeviationRow, Task
from stock.queries.amounts import amount_of, marks_of, newest_water, products_in_use
from stock.queries.so_far import OpenStay, stays_open

MOST = 1000
# The question behind a task, by its rule; a decision names its rule itself.
RULES = {What.CLOSE_LOOK: "sign_seen", What.CONFIRM_LATE: "late_unconfirmed"}


@dataclass(frozen=True, slots=True)
class Place:
    """Where work is done: a container on its rack, or a whole room."""

    room: str = ""
    rack: str = ""
    container: str = ""
    room_uid: UUID | None = None


@dataclass(frozen=True, slots=True)
class Due:
    """One piece of work; `question` is the deviation it asks about, where that is open.

    `target` and `kit` are what a move is to get, as its preparation says. `back_at` is when it
    comes back by itself from whoever took it. Only moves of an unbroken series have `if_now`.
    """

    uid: UUID
    work: Work
    place: Place
    stay: OpenStay | None
    kit: str | None
    target: str | None
    taken_by: UUID | None
    taken_name: str
    by_hand: bool
    question: UUID | None
    dirt: Dirt
    back_at: datetime | None = None
    if_now: IfNow | None = None
    amount: FillAmount | BathAmount | None = None

    def to_walk(self) -> ToWalk:
        return ToWalk(self.work, self.dirt, self.place.room, self.place.rack)


@dataclass(frozen=True, slots=True)
class ShiftSeen:
    """The open work of a site, the most urgent first, and its rooms with containers."""

    due: tuple[Due, ...]
    rooms: Mapping[UUID, str]


def work_due(site: UUID, at: datetime) -> list[Due]:
    """The open work of a site, the most urgent first."""
    return list(shift_seen(site, at).due)


def shift_seen(site: UUID, at: datetime) -> ShiftSeen:
    """The open work of a site with its rooms. Six queries, seven with own versions."""
    rows = list(
        Task.objects.filter(site=site, state__in=[one.value for one in OPEN_STATES])
        .select_related("taken_by")
        .order_by("limit", "uid")[:MOST]
    )
    equipment = equipment_known(site, at)
    labels = _labels(equipment)
    stays, containers = stays_open(site), _containers(site, at)
    places, marks = _places(containers), marks_of(containers)
    products = products_in_use(site)
    questions = set(
        DeviationRow.objects.filter(site=site, open=True).values_list("uid", flat=True)
    )
    works = supplied((work_of(row) for row in rows), equipment, at)
    given = {work.batch: work for work in works if work.what is What.PREPARE}
    found = []
    for row, work in zip(rows, works, strict=True):
        stay = stays.get(work.batch) if work.batch else None
        gets = given.get(work.batch) if stay and work.what is What.MOVE else work
        taken = not is_untouched(row.taken_at, at)
        found.append(
            Due(
                uid=row.uid,
                work=work,
                place=_place(work, stay, places),
                stay=stay,
                kit=labels.get(gets.kit) if gets and gets.kit else None,
                target=labels.get(gets.container) if gets and gets.container else None,
                taken_by=row.taken_by_id if taken else None,
                taken_name=row.taken_by.name if taken and row.taken_by else "",
                by_hand=work.what in DONE_BY_HAND,
                question=_question(work, questions),
                dirt=dirt_of(work, stay.state if stay else None, stay.moves if stay else 0),
                back_at=lease_ends(row.taken_at) if taken and row.taken_at else None,
                if_now=_if_now(work, stay, at),
                amount=amount_of(work, stay.container if stay else None, marks, products),
            )
        )
    rooms = {row.rack.room.uid: row.rack.room.label for row in containers}
    return ShiftSeen(tuple(sorted(found, key=lambda one: urgency(one.work))), rooms)


def _if_now(work: Work, stay: OpenStay | None, at: datetime) -> IfNow | None:
    if work.what is not What.MOVE or stay is None or stay.so_far is None:
        return None
    return if_moved_now(stay.so_far, at, work.planned)


def _labels(equipment: tuple[Equipment, ...]) -> dict[UUID, str]:
    return {one.uid: one.label for one in equipment}


def _containers(site: UUID, at: datetime) -> list[Container]:
    rows = Container.objects.filter(site=site).select_related("rack__room")
    return list(rows.annotate(**newest_water(at)))


def _places(containers: Iterable[Container]) -> dict[UUID, Place]:
    """Containers by uid, and the rooms that they stand in."""
    found = {}
    for row in containers:
        room = row.rack.room
        found[row.uid] = Place(room.label, row.rack.label, row.label, room.uid)
        found.setdefault(room.uid, Place(room=room.label, room_uid=room.uid))
    return found


def _place(work: Work, stay: OpenStay | None, places: Mapping[UUID, Place]) -> Place:
    """Where the batch is; else the container or room that the work is about."""
    uid = stay.container if stay else work.container or work.room
    return places.get(uid, Place()) if uid else Place()


def _question(work: Work, known: set[UUID]) -> UUID | None:
    rule = work.why if work.what is What.DECIDE else RULES.get(work.what)
    cause = work.key.rpartition(":")[2]
    if rule is None or work.batch is None or len(cause) != 36:
        return None
    uid = deviation_uid(work.batch, rule, UUID(cause))
    return uid if uid in known else None
