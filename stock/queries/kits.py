"""Pieces, kits and containers as they are at a moment: state, why, uses, whom it reached."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Q

from protocols.clocks import elapsed_text
from protocols.equipping import stays_wet_longest
from protocols.fittings import pieces_of
from protocols.readiness import Membership
from protocols.values import DryingRule, Readiness, Reason, State
from stock.judging.equipment import Equipment, load_equipment
from stock.judging.subjects import SORTS, named
from stock.models import Kit, Piece, SiteThing, StayRow
from stock.queries.batches import timed
from stock.queries.fittings import fittings_shown
from stock.queries.sites import rules_history, rules_of_sites
from stock.refusals import NotFound


def site_of_equipment(subjects: Iterable[UUID]) -> UUID:
    """The one site that all these belong to; not found where there is none. Three queries."""
    asked = set(subjects)
    rows = named(list(asked))
    sites = {row.site_id for row in rows.values()}
    if len(rows) < len(asked) or len(sites) != 1:
        raise NotFound
    return UUID(str(sites.pop()))


def equipment_state(
    row: SiteThing,
    *,
    zone: ZoneInfo,
    drying: DryingRule,
    at: datetime,
    now: datetime,
    known_by: int | None = None,
) -> dict[str, Any]:
    """State of a piece, kit or container at `at`, its pieces and its uses until then.

    What was found out later counts, up to `now` or what was known by a ledger position: found
    wet, a dry-sighting never was one.
    """
    rules = rules_of_sites([row.site_id], known_by=known_by)[row.site_id]
    rows = _stays([row.uid], at)
    stood = {stay.kit_id for stay in rows if stay.kit_id and stay.container_id == row.uid}
    found = load_equipment([row.uid, *stood], rules=rules, at=max(at, now), known_by=known_by)
    if isinstance(row, Piece):
        rows = _stays([span.holder for span in found.belongs.get(row.uid, ())], at)
    stays = rows if known_by is None else list(_as_known(rows, found))
    state = _read(row, found, drying, at)
    pieces = _pieces(row, found, drying, at, zone)
    return {
        **shown_state(state, zone, at),
        "pieces": pieces,
        "look_first": _look_first(state, pieces),
        "uses": _uses(row, found, stays, zone, at),
        "fittings": fittings_shown(row, found, stays, zone, at),
    }


def states(
    site: UUID,
    subjects: Sequence[UUID],
    *,
    zone: ZoneInfo,
    drying: DryingRule,
    at: datetime,
    since: datetime,
    finding: UUID | None = None,
) -> list[dict[str, Any]]:
    """What became of these, and which batches they were in use for since.

    `finding` says that they were wet: that reaches whoever had them since they were called dry.
    """
    rows = named(subjects)
    found = load_equipment(subjects, rules=rules_history(site), at=at)
    moments: dict[UUID, datetime | None] = dict.fromkeys(subjects, since)
    if finding is not None:
        moments = {uid: found.called_dry_before(uid, finding, since) for uid in subjects}
    reached = _reached(found, moments)
    return [
        {
            "uid": str(uid),
            "label": rows[uid].label,
            **shown_state(_read(rows[uid], found, drying, at), zone, at),
            "reached": reached.get(uid, []),
        }
        for uid in subjects
    ]


def shown_state(found: Readiness, zone: ZoneInfo, at: datetime) -> dict[str, Any]:
    left = found.ready_at - at if found.ready_at and found.ready_at > at else None
    return {
        "state": found.state,
        **timed("since", found.since, zone),
        **timed("ready_at", found.ready_at, zone),
        "ready_in_s": None if left is None else int(left.total_seconds()),
        "ready_in_text": None if left is None else elapsed_text(left),
        "why": [_shown_reason(one) for one in found.why],
    }


def _shown_reason(one: Reason) -> dict[str, Any]:
    return {
        "code": one.code,
        "rule": one.rule,
        "text": one.text,
        "numbers": dict(one.numbers),
    }


def _read(row: SiteThing, found: Equipment, drying: DryingRule, at: datetime) -> Readiness:
    if isinstance(row, Kit):
        return found.kit(row.uid, drying, at)
    if isinstance(row, Piece):
        return found.piece(row.uid, drying, at)
    return found.container(row.uid, drying, at)


def _pieces(
    row: SiteThing, found: Equipment, drying: DryingRule, at: datetime, zone: ZoneInfo
) -> list[dict[str, Any]]:
    """What belongs to a kit, or stands in a container without one, by label."""
    inside = [found.pieces[uid] for uid in pieces_of(row.uid, found.belongs, at)]
    return [
        {
            "uid": str(piece.uid),
            "label": piece.label,
            "type": piece.type,
            "single_use": piece.single_use,
            **shown_state(found.piece(piece.uid, drying, at), zone, at),
        }
        for piece in sorted(inside, key=lambda one: one.label)
    ]


def _look_first(state: Readiness, pieces: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    """Once disinfected, and until seen dry: the parts that stay wet longest, in that order."""
    if state.state is not State.DISINFECTED:
        return []
    first = stays_wet_longest([one["type"] for one in pieces])
    return [{name: pieces[n][name] for name in ("uid", "label", "type")} for n in first]


def _stays(holders: Sequence[UUID], at: datetime) -> list[StayRow]:
    """The stays in these containers or with these kits up to `at`, in order. One query."""
    rows = StayRow.objects.filter(
        Q(container__in=holders) | Q(kit__in=holders), began_earliest__lte=at
    )
    return list(
        rows.select_related("batch", "container", "kit").order_by("began_earliest", "uid")
    )


def _as_known(rows: Iterable[StayRow], found: Equipment) -> Iterator[StayRow]:
    """Those stays that were known of, from when to when they were known to be."""
    uses = {one.stay: one.use for known in found.uses.values() for one in known}
    for row in rows:
        if (use := uses.get(row.uid)) is not None:
            row.began_earliest, row.began_latest = use.began.earliest, use.began.latest
            row.ended_earliest = use.ended.earliest if use.ended else None
            row.ended_latest = use.ended.latest if use.ended else None
            yield row


def _uses(
    row: SiteThing,
    found: Equipment,
    stays: Sequence[StayRow],
    zone: ZoneInfo,
    at: datetime,
) -> list[dict[str, Any]]:
    """The stays in it or with it; of a piece, those while it belonged there.

    One that ended after `at` still went on then.
    """
    spans = found.belongs.get(row.uid, ()) if isinstance(row, Piece) else None
    return [
        _shown_use(stay, began, ended if ended and ended <= at else None, zone)
        for stay in stays
        for began, ended in _whiles(stay, spans)
        if began <= at
    ]


def _whiles(
    stay: StayRow, spans: Sequence[Membership] | None
) -> list[tuple[datetime, datetime | None]]:
    """From when to when a stay used it: all of it, or while a piece belonged to its holder."""
    if spans is None:
        return [(stay.began_latest, stay.ended_latest)]
    found = []
    for span in spans:
        if span.holder not in (stay.container_id, stay.kit_id):
            continue
        began = max(stay.began_latest, span.began)
        ends = [one for one in (stay.ended_latest, span.ended) if one is not None]
        ended = min(ends, default=None)
        if ended is None or began < ended:
            found.append((began, ended))
    return found


def _shown_use(
    stay: StayRow, began: datetime, ended: datetime | None, zone: ZoneInfo
) -> dict[str, Any]:
    return {
        "stay": str(stay.uid),
        "batch": str(stay.batch_id),
        "code": stay.batch.code,
        "container": str(stay.container_id),
        "container_label": stay.container.label,
        "kit": str(stay.kit_id) if stay.kit_id else None,
        "kit_label": stay.kit.label if stay.kit else None,
        **timed("from", began, zone),
        **timed("to", ended, zone),
    }


def _reached(
    found: Equipment, moments: Mapping[UUID, datetime | None]
) -> dict[UUID, list[dict[str, str]]]:
    """The batches that each thing was in use for at or after its moment, by code. One query."""
    stays = {uid: found.stays_since(uid, since) for uid, since in moments.items() if since}
    every = {stay for those in stays.values() for stay in those}
    rows = StayRow.objects.filter(uid__in=every).values_list("uid", "batch", "batch__code")
    codes = {stay: (code, str(batch)) for stay, batch, code in rows}
    return {
        uid: [
            {"uid": batch, "code": code}
            for code, batch in sorted({codes[stay] for stay in those if stay in codes})
        ]
        for uid, those in stays.items()
    }


__all__ = ["SORTS", "equipment_state", "shown_state", "site_of_equipment", "states"]
