"""One batch at a time in a container, and with a kit: who else is there still?"""

from uuid import UUID

from django.db.models import Q

from protocols.animals import Animals, Stood
from stock.models import StayRow
from stock.refusals import CannotApply, refuse


class InTheWay(CannotApply):
    """Others are there and nobody told that they left: which, and what began the stays."""

    def __init__(self, by: frozenset[UUID], batches: frozenset[UUID]) -> None:
        self.by, self.batches = by, batches
        text = "The container or the kit is in use by another batch."
        super().__init__(refuse("container_occupied", text))


def make_sure_nobody_is_in_the_way(found: Animals) -> None:
    """Raises InTheWay where two batches would be in one place at once. One query."""
    open_ = [stay for stay in found.stood.values() if stay.ended is None]
    _among_themselves(open_)
    containers = {stay.container: stay for stay in open_}
    kits: dict[UUID | None, Stood] = {stay.kit: stay for stay in open_ if stay.kit}
    others = StayRow.objects.filter(
        Q(container__in=containers) | Q(kit__in=kits), ended_latest=None
    ).exclude(batch__in={*found.begun, *found.never})
    clashing = [
        (containers.get(row.container_id) or kits.get(row.kit_id), row.batch_id)
        for row in others
    ]
    if clashing:
        by = frozenset(stay.began_by for stay, _ in clashing if stay)
        raise InTheWay(by, frozenset(batch for _, batch in clashing))


def _among_themselves(open_: list[Stood]) -> None:
    seen: dict[UUID, Stood] = {}
    for stay in open_:
        for place in {stay.container, stay.kit} - {None}:
            other = seen.setdefault(place, stay)  # type: ignore[arg-type]
            if other is not stay:
                by = frozenset((other.began_by, stay.began_by))
                raise InTheWay(by, frozenset((other.batch, stay.batch)))
