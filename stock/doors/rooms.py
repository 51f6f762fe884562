"""Closing a room for people, and opening it again. Its limits run on; nobody is sent there."""

from collections.abc import Iterator
from datetime import datetime
from typing import Any
from uuid import UUID

from protocols.clocks import utc_text
from protocols.values import Reason
from stock import access
from stock.answers import Answered
from stock.doors.door import Asking, Door, enter
from stock.ledger import Told
from stock.models import Role, Room
from stock.outbox import Telling, leave
from stock.queries.rooms import closed_rooms
from stock.refusals import refuse


def close_room(
    asking: Asking, *, room: UUID, begins: datetime | None, ends: datetime | None, why: str
) -> Answered:
    """Nobody is to enter a room from `begins` (else now) until `ends`, else until it is opened.

    Whoever works there may say so: gas and current do not wait for a manager.
    """
    row, site = access.thing_for(asking.person, Room, room, access.HANDS)
    since, uid = begins or asking.performed_at, asking.new_uid()
    body: dict[str, Any] = {"room": room, "from": utc_text(since), "why": why}
    if ends is not None:
        body["to"] = utc_text(ends)

    def ask(_: None) -> Iterator[Reason]:
        if ends is not None and ends <= since:
            text = "It is opened again after it was closed."
            yield refuse("unreadable", text, pointer="/to")

    def act(_: None) -> None:
        said = {"place": row.label, "since": body["from"], "until": body.get("to"), "says": why}
        _tell(site.uid, f"room_closed:{uid}", "room_closed", said, asking.now)

    return enter(
        asking,
        site.uid,
        Door(
            load=lambda log: None,
            ask=ask,
            tell=lambda _: (Told("room_closed", body, uid, texts=asking.texts),),
            show=lambda _: {"closed": closed_shown(site.uid, max(asking.now, since))},
            act=act,
        ),
    )


def open_room(asking: Asking, *, room: UUID) -> Answered:
    """People may enter the room again."""
    row, site = access.thing_for(asking.person, Room, room, access.HANDS)
    uid = asking.new_uid()

    def ask(closed: bool) -> Iterator[Reason]:
        if not closed:
            yield refuse("contradicts_record", "This room is not closed.")

    return enter(
        asking,
        site.uid,
        Door(
            load=lambda log: room in closed_rooms(log.uid, asking.performed_at),
            ask=ask,
            tell=lambda _: (Told("room_opened", {"room": room}, uid, texts=asking.texts),),
            show=lambda _: {"closed": closed_shown(site.uid, asking.now)},
            act=lambda _: _tell(
                site.uid, f"room_opened:{uid}", "room_opened", {"place": row.label}, asking.now
            ),
        ),
    )


def closed_shown(site: UUID, at: datetime) -> list[dict[str, Any]]:
    """The rooms that are closed, as they are shown."""
    return [
        {
            "room": str(one.room),
            "label": one.label,
            "from": one.begins,
            "to": one.ends,
            "why": one.why,
        }
        for one in closed_rooms(site, at).values()
    ]


def _tell(site: UUID, effect: str, kind: str, said: dict[str, Any], at: datetime) -> None:
    """To everybody who could go there."""
    held = Role.objects.filter(site=site, role__in=access.HANDS)
    to = sorted({str(one) for one in held.values_list("person", flat=True)})
    leave(site, Telling(effect, kind, {**said, "cause": effect, "to": to}), at)
