"""Daily care: rounds, food, doses, and water that is filled in, changed, topped up."""

from collections.abc import Mapping, Sequence
from typing import Any
from uuid import UUID

from stock import access
from stock.answers import Answered
from stock.doors.door import Asking, Door, enter
from stock.doors.doses import give_dose
from stock.doors.mixing import drawing
from stock.ledger import Told
from stock.models import Container, Room
from stock.queries.things import shown
from stock.refusals import NotFound

# What is done in one container, and the kind that tells it.
CARE = {
    "doses": "dose_given",
    "feedings": "fed",
    "fillings": "filled",
    "water-changes": "water_changed",
    "top-ups": "topped_up",
}


def care_for(
    asking: Asking, *, container: UUID, care: str, body: Mapping[str, Any]
) -> Answered:
    """Something given to a container, or water put into it; `care` is one of `CARE`."""
    if care == "doses":
        return give_dose(asking, container=container, body=body)
    _, site = access.thing_for(asking.person, Container, container, access.HANDS)
    told = Told(CARE[care], {"container": container, **body}, asking.uid, texts=asking.texts)
    return enter(
        asking,
        site.uid,
        Door(
            load=lambda log: drawing(log.uid, body.get("make"), asking.performed_at),
            ask=lambda found: found.reasons(body),
            tell=lambda _: (told,),
            show=lambda found: {
                "container": shown(Container, container),
                "warnings": found.warnings(body),
            },
        ),
    )


def make_round(
    asking: Asking,
    *,
    room: UUID,
    looked_at: Sequence[UUID],
    exceptions: Sequence[Mapping[str, Any]],
) -> Answered:
    """Somebody looked at every container of a room once, and says what was not as it should."""
    _, site = access.thing_for(asking.person, Room, room, access.HANDS)
    uids = {*looked_at, *(one["container"] for one in exceptions)}
    body = {"room": room, "looked_at": list(looked_at), "exceptions": list(exceptions)}
    uid = asking.new_uid()

    def load(_: object) -> None:
        if Container.objects.filter(uid__in=uids, site=site).count() < len(uids):
            raise NotFound

    return enter(
        asking,
        site.uid,
        Door(
            load=load,
            ask=lambda _: (),
            tell=lambda _: (Told("round_made", body, uid, texts=asking.texts),),
            show=lambda _: {"round": {"uid": str(uid), **body}},
        ),
    )
