"""Where a batch stands by its accounts: the row of the stay that a move began."""

from collections.abc import Iterable, Mapping
from typing import Any

from django.db import IntegrityError, transaction

from protocols.values import Happening
from stock.models import Container, Kit, StayRow
from stock.refusals import CannotApply, not_here, refuse


def stand_as_told(ended: StayRow, moves: Iterable[Happening]) -> None:
    """Once somebody decided between accounts: where and since when the one that stands says."""
    began = StayRow.objects.filter(began_by=str(ended.ended_by)).first()
    for one in moves:
        if began is not None:
            began.began_earliest, began.began_latest = one.when.earliest, one.when.latest
            stand(began, one.body)
            ended.ended_earliest, ended.ended_latest = one.when.earliest, one.when.latest
            put(ended)


def stand(began: StayRow, body: Mapping[str, Any]) -> None:
    """The stay in this container with this kit; where others are, that does not fit."""
    site, kit = began.batch.site_id, body.get("kit")
    container = Container.read(uid=body["container"], site=site)
    began.kit = None if kit is None else Kit.read(uid=kit, site=site)
    if container is None or (kit is not None and began.kit is None):
        raise not_here("container or kit")
    began.container = container
    put(began)


def put(stay: StayRow) -> None:
    """Keep the row of a stay. The database allows one in a container, one with a kit."""
    try:
        with transaction.atomic():
            stay.save()
    except IntegrityError as error:
        text = "The container or the kit is in use by another batch."
        raise CannotApply(refuse("container_occupied", text)) from error
