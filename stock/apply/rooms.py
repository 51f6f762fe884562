"""Rooms that nobody enters for a time."""

from django.db.models import Q

from stock.apply.kits import thing_here
from stock.apply.registry import applies, moment
from stock.models import Fact, Room, RoomClosure


@applies("room_closed")
def close_room(fact: Fact) -> None:
    """Until the moment that was said, or until it was opened, whichever was told first."""
    room = thing_here(fact, Room, fact.body["room"])
    begins, to = moment(fact.body["from"]), fact.body.get("to")
    told = Fact.objects.filter(
        kind="room_opened",
        log=fact.log_id,
        subjects__subject=room.uid,
        performed_at__gte=begins,
    )
    ends = [*told.values_list("performed_at", flat=True), *([moment(to)] if to else [])]
    RoomClosure.objects.create(
        fact=fact.uid,
        site_id=fact.log_id,
        room=room,
        begins=begins,
        ends=min(ends, default=None),
        why=fact.body["why"],
    )


@applies("room_opened")
def open_room(fact: Fact) -> None:
    room = thing_here(fact, Room, fact.body["room"])
    closed = RoomClosure.objects.filter(room=room, begins__lte=fact.performed_at)
    still = Q(ends=None) | Q(ends__gt=fact.performed_at)
    closed.filter(still).update(ends=fact.performed_at)
