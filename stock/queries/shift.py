"""The open work of a site with where it is to be done. Six queries, however much there is.

What a slip says of amounts comes from the same rows: the marks of containers and what was read
in them last, and one query for the salt and the bleach in use.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from protocols.deviations import deviation_uid
from protocols.reconciling import DONE_BY_HAND, OPEN_STATES
from protocols.slip_amounts import BathAmount, FillAmount
from protocols.tasks import Equipment, What, Work
from protocols.work import urgency
from protocols.work_moves import supplied
from stock.judging.task_rows import work_of
from stock.judging.work_equipment import equipment_known
from stock.models import Container, DeviationRow, StayRow, Task
from stock.queries.amounts import amount_of, marks_of, newest_water, products_in_use

MOST = 1000
# The question behind a task, by its rule; a decision names its rule itself.
RULES = {What.CLOSE_LOOK: "sign_seen", What.CONFIRM_LATE: "late_unconfirmed"}


@dataclass(frozen=True, slots=True)
class Place:
    """Where work is done: a container on its rack, or a whole room."""

    room: str = ""
    rack: str = ""
    container: str = ""


@dataclass(frozen=True, slots=True)
class OpenStay:
    """A batch where it is, with the light of the room (local wall times)."""

    code: str
    container: UUID
    began: datetime
    light: tuple[str, str]


@dataclass(frozen=True, slots=True)
class Due:
    """One piece of work; `question` is the deviation it asks about, where that is open."""

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
    amount: FillAmount | BathAmount | None = None


def work_due(site: UUID, at: datetime) -> list[Due]:
    """The open work of a site, the most urgent first."""
    rows = list(
        Task.objects.filter(site=site, state__in=[one.value for one in OPEN_STATES])
        .select_related("taken_by")
        .order_by("limit", "uid")[:MOST]
    )
    equipment = equipment_known(site, at)
    labels = _labels(equipment)
    stays, containers = _stays(site), _containers(site, at)
    places, marks = _places(containers), marks_of(containers)
    products = products_in_use(site)
    questions = set(
        DeviationRow.objects.filter(site=site, open=True).values_list("uid", flat=True)
    )
    works = supplied((work_of(row) for row in rows), equipment, at)
    found = [
        Due(
            uid=row.uid,
            work=work,
            place=_place(work, stays, places),
            stay=stays.get(work.batch) if work.batch else None,
            kit=labels.get(work.kit) if work.kit else None,
            target=labels.get(work.container) if work.container else None,
            taken_by=row.taken_by_id,
            taken_name=row.taken_by.name if row.taken_by else "",
            by_hand=work.what in DONE_BY_HAND,
            question=_question(work, questions),
            amount=amount_of(work, _own(work, stays), marks, products),
        )
        for row, work in zip(rows, works, strict=True)
    ]
    return sorted(found, key=lambda one: urgency(one.work))


def _labels(equipment: tuple[Equipment, ...]) -> dict[UUID, str]:
    return {one.uid: one.label for one in equipment}


def _stays(site: UUID) -> dict[UUID, OpenStay]:
    rows = StayRow.objects.filter(container__site=site, ended_latest=None)
    found = {}
    for row in rows.select_related("batch", "container__rack__room"):
        room = row.container.rack.room
        light = (room.light_on, room.light_off)
        found[row.batch_id] = OpenStay(
            row.batch.code, row.container_id, row.began_earliest, light
        )
    return found


def _containers(site: UUID, at: datetime) -> list[Container]:
    rows = Container.objects.filter(site=site).select_related("rack__room")
    return list(rows.annotate(**newest_water(at)))


def _places(containers: Iterable[Container]) -> dict[UUID, Place]:
    """Containers by uid, and the rooms that they stand in."""
    found = {
        row.uid: Place(row.rack.room.label, row.rack.label, row.label) for row in containers
    }
    rooms = (row.rack.room for row in containers)
    return found | {room.uid: Place(room=room.label) for room in rooms}


def _own(work: Work, stays: Mapping[UUID, OpenStay]) -> UUID | None:
    """Where the batch of the work is now."""
    stay = stays.get(work.batch) if work.batch else None
    return stay.container if stay else None


def _place(work: Work, stays: Mapping[UUID, OpenStay], places: Mapping[UUID, Place]) -> Place:
    """Where the batch is; else the container or room that the work is about."""
    stay = stays.get(work.batch) if work.batch else None
    uid = stay.container if stay else work.container or work.room
    return places.get(uid, Place()) if uid else Place()


def _question(work: Work, known: set[UUID]) -> UUID | None:
    rule = work.why if work.what is What.DECIDE else RULES.get(work.what)
    cause = work.key.rpartition(":")[2]
    if rule is None or work.batch is None or len(cause) != 36:
        return None
    uid = deviation_uid(work.batch, rule, UUID(cause))
    return uid if uid in known else None
