"""Daily care: rounds, food, doses, and water that is filled in, changed, topped up."""

from collections.abc import Mapping, Sequence
from typing import Any
from uuid import UUID

from protocols.rounds import Walked, may_be_round
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


def feed(asking: Asking, *, site: UUID, feedings: Sequence[Mapping[str, Any]]) -> Answered:
    """One walk with food: so many containers, each with what it got; all of it or nothing."""
    access.site_for(asking.person, site, access.HANDS)
    uids = {one["container"] for one in feedings}

    def load(_: object) -> None:
        if Container.objects.filter(uid__in=uids, site=site).count() < len(uids):
            raise NotFound

    told = [
        Told(
            "fed",
            dict(one),
            asking.uid if n == 0 else None,
            texts=asking.texts if n == 0 else {},
        )
        for n, one in enumerate(feedings)
    ]
    return enter(
        asking,
        site,
        Door(
            load=load,
            ask=lambda _: (),
            tell=lambda _: tuple(told),
            show=lambda _: {"feedings": [dict(one) for one in feedings]},
        ),
    )


def make_round(
    asking: Asking,
    *,
    room: UUID,
    looked_at: Sequence[UUID],
    exceptions: Sequence[Mapping[str, Any]],
    ate: Sequence[UUID] = (),
    not_eating: Sequence[UUID] = (),
    not_all_seen: Sequence[UUID] = (),
) -> Answered:
    """Somebody looked at every container of a room once, and says what was not as it should.

    What is not said of eating is not known; everybody was seen where nothing else is said.
    """
    _, site = access.thing_for(asking.person, Room, room, access.HANDS)
    said = {"ate": ate, "not_eating": not_eating, "not_all_seen": not_all_seen}
    named = (uid for value in said.values() for uid in value)
    uids = {*looked_at, *(one["container"] for one in exceptions), *named}
    walked = Walked(tuple(looked_at), *(tuple(value) for value in said.values()))
    body = {
        "room": room,
        "looked_at": list(looked_at),
        "exceptions": list(exceptions),
        **{name: list(value) for name, value in said.items() if value},
    }
    uid = asking.new_uid()

    def load(_: object) -> None:
        if Container.objects.filter(uid__in=uids, site=site).count() < len(uids):
            raise NotFound

    return enter(
        asking,
        site.uid,
        Door(
            load=load,
            ask=lambda _: may_be_round(walked),
            tell=lambda _: (Told("round_made", body, uid, texts=asking.texts),),
            show=lambda _: {"round": {"uid": str(uid), **body}},
        ),
    )
