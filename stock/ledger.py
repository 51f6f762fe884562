"""Appending facts to a record book. The bytes are made in `protocols/entries.py`."""

import secrets
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from uuid import UUID

from protocols import entries, tree
from protocols.codes import SERVICE
from protocols.kinds import check_body
from protocols.values import Insist, Standing
from stock import names
from stock.models import Fact, FactText, Log


@dataclass(frozen=True, slots=True)
class DeviceEntry:
    """Where an entry was made: which tablet, its number there, the tablet's raw clock.

    `delivered` says that another brought it than who entered it there.
    """

    uid: UUID
    entry_no: int
    raw_at: datetime
    clock_offset_ms: int | None
    delivered: bool = False


@dataclass(frozen=True, slots=True)
class Envelope:
    """What all facts of one request share."""

    doer: UUID
    messenger: UUID
    performed_at: datetime
    offset_min: int
    recorded_at: datetime
    standing: Standing
    group: UUID
    insist: tuple[Insist, ...] = ()
    reason: str | None = None
    device: DeviceEntry | None = None
    files: tuple[str, ...] = ()


def by_the_service(at: datetime, performed_at: datetime | None = None) -> Envelope:
    """What the service tells by itself: nobody's hands, nobody's word."""
    return Envelope(
        doer=SERVICE,
        messenger=SERVICE,
        performed_at=performed_at or at,
        offset_min=0,
        recorded_at=at,
        standing=Standing.HAPPENED,
        group=names.new_uid(at),
    )


@dataclass(frozen=True, slots=True)
class Told:
    """One fact that a door wants entered."""

    kind: str
    body: Mapping[str, Any]
    uid: UUID | None = None
    about: UUID | None = None
    performed_at: datetime | None = None
    texts: Mapping[str, str] = field(default_factory=dict)


def append(log: Log, envelope: Envelope, told: Told) -> Fact:
    """Enter one fact: its bytes, its leaf, the tree's right edge, and its erasable texts.

    Raises BodyRefused where the body has not the form of its kind.
    """
    salts = {name: secrets.token_bytes(16) for name in told.texts}
    columns = _columns(envelope, told)
    members = {
        **columns,
        "v": 1,
        "log": log.uid,
        "seq": log.size,
        "texts": {
            name: entries.salted_digest(salts[name], text) for name, text in told.texts.items()
        },
    }
    entry = entries.entry_bytes(members)
    leaf = tree.leaf_hash(entry)
    fact = Fact.objects.create(log=log, seq=log.size, entry=entry, leaf=leaf, **columns)
    FactText.objects.bulk_create(
        FactText(fact=fact, name=name, salt=salts[name], value=text)
        for name, text in told.texts.items()
    )
    edge = tree.append(tree.Edge.from_text(log.edge, log.size), leaf)
    log.size, log.edge = edge.size, edge.to_text()
    log.save(update_fields=["size", "edge"])
    return fact


def _columns(envelope: Envelope, told: Told) -> dict[str, Any]:
    """What the row and the entry both say."""
    device = envelope.device
    return {
        "uid": told.uid or names.new_uid(envelope.recorded_at),
        "kind": told.kind,
        "performed_at": told.performed_at or envelope.performed_at,
        "offset_min": envelope.offset_min,
        "recorded_at": envelope.recorded_at,
        "doer": envelope.doer,
        "messenger": envelope.messenger,
        "device": device.uid if device else None,
        "entry_no": device.entry_no if device else None,
        "raw_at": device.raw_at if device else None,
        "clock_offset_ms": device.clock_offset_ms if device else None,
        "delivered": True if device and device.delivered else None,
        "standing": envelope.standing.value,
        "insist": [{"rule": one.rule, "reason": one.reason} for one in envelope.insist],
        "reason": envelope.reason,
        "group": envelope.group,
        "about": told.about,
        "body": check_body(told.kind, told.body),
        "files": list(envelope.files),
    }
