"""Organisation, people's roles, sites, rooms, racks, systems, containers, rules, hours."""

from typing import Any

from stock.apply.codes import free_code
from stock.apply.registry import applies, moment
from stock.models import (
    Container,
    Device,
    Fact,
    HoursVersion,
    Organisation,
    Rack,
    Role,
    Room,
    RulesVersion,
    Shift,
    Site,
    System,
    Thing,
)
from stock.refusals import not_here

# What says whose a thing is.
OWNERS = ("organisation_id", "site_id", "consignment_id")


def put(kind: type[Thing], fact: Fact, uid: str, **columns: Any) -> None:
    """Make the thing, or give it these columns; its version is the fact's ledger position.

    A uid that names a thing of another site or organisation is one that is not there.
    """
    owner = {name: str(columns[name]) for name in OWNERS if name in columns}
    known = kind.read(uid=uid)
    if known is not None and any(str(getattr(known, name)) != owner[name] for name in owner):
        raise not_here("thing")
    kind.objects.update_or_create(uid=uid, defaults={**columns, "version": fact.seq})


@applies("organisation_set")
def set_organisation(fact: Fact) -> None:
    put(Organisation, fact, str(fact.log_id), name=fact.body["name"])


@applies("site_set")
def set_site(fact: Fact) -> None:
    body = fact.body
    organisation = fact.log.organisation
    put(
        Site,
        fact,
        str(fact.log_id),
        organisation_id=organisation,
        name=body["name"],
        zone=body["zone"],
    )


@applies("person_set")
def set_person(fact: Fact) -> None:
    Role.objects.filter(person_id=fact.body["person"]).delete()
    if fact.body.get("ended_at") is not None:
        return
    Role.objects.bulk_create(
        Role(person_id=fact.body["person"], site_id=one["site"], role=one["role"])
        for one in fact.body["roles"]
    )


@applies("device_set")
def set_device(fact: Fact) -> None:
    body = fact.body
    ended = body.get("ended_at")
    put(
        Device,
        fact,
        body["device"],
        site_id=body["site"],
        label=body["label"],
        ended_at=moment(ended) if ended else None,
    )


@applies("room_set")
def set_room(fact: Fact) -> None:
    body = fact.body
    put(
        Room,
        fact,
        body["room"],
        site_id=fact.log_id,
        label=body["label"],
        light_on=body["light_on"],
        light_off=body["light_off"],
    )


@applies("rack_set")
def set_rack(fact: Fact) -> None:
    body = fact.body
    put(
        Rack,
        fact,
        body["rack"],
        site_id=fact.log_id,
        room_id=body["room"],
        label=body["label"],
        x_m=body["x_m"],
        y_m=body["y_m"],
    )


@applies("system_set")
def set_system(fact: Fact) -> None:
    body = fact.body
    put(
        System,
        fact,
        body["system"],
        site_id=fact.log_id,
        label=body["label"],
        status=body["status"],
    )


@applies("container_set")
def set_container(fact: Fact) -> None:
    body = fact.body
    put(
        Container,
        fact,
        body["container"],
        site_id=fact.log_id,
        rack_id=body["rack"],
        label=body["label"],
        code=free_code(Container, fact.log_id, body["container"]),
        x_m=body["x_m"],
        y_m=body["y_m"],
        z_m=body["z_m"],
        inside_m=body.get("inside_m"),
        shape=body["shape"],
        fill_mark_l=body["fill_mark_l"],
        lid=body["lid"],
        air_stone=body["air_stone"],
        system_id=body.get("system"),
        in_use=body["in_use"],
    )


@applies("rules_set")
def set_rules(fact: Fact) -> None:
    RulesVersion.objects.create(
        fact=fact.uid,
        site_id=fact.log_id,
        seq=fact.seq,
        in_force_from=moment(fact.body["in_force_from"]),
        rules=fact.body["rules"],
    )


@applies("hours_set")
def set_hours(fact: Fact) -> None:
    HoursVersion.objects.create(
        fact=fact.uid,
        site_id=fact.log_id,
        seq=fact.seq,
        in_force_from=moment(fact.body["in_force_from"]),
        weekly=fact.body["weekly"],
        exceptions=fact.body["exceptions"],
    )


@applies("shift_set")
def set_shift(fact: Fact) -> None:
    body = fact.body
    Shift.objects.create(
        fact=fact.uid,
        site_id=fact.log_id,
        person_id=body["person"],
        begins=moment(body["from"]),
        ends=moment(body["to"]),
        on_call=body["on_call"],
    )
