"""Before each use of a container or piece: when it was disinfected, how, and dry since when."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from uuid import UUID

from protocols.clocks import parse_utc
from protocols.fittings import pieces_of
from protocols.readiness import concerning, denied
from protocols.values import DryingRule, Happening, Readiness
from stock.judging.equipment import Equipment, load_equipment
from stock.models import Batch, Person
from stock.queries.protocols import versions_at
from stock.queries.reports.folded import some
from stock.queries.reports.form import Asked, Report, Row, code, moment, span, text
from stock.queries.reports.whereabouts import Stayed, stays_within
from stock.queries.sites import rules_of_sites

AT_ONCE = 50


@dataclass(frozen=True, slots=True)
class Used:
    """A container, or a piece of the kit, at the beginning of a stay."""

    sort: str
    uid: UUID
    label: str


def rows(asked: Asked) -> Iterator[Row]:
    """The container and each piece of the kit of every stay; fifty stays at a time."""
    rules = rules_of_sites([asked.site], known_by=asked.known_by)[asked.site]
    for stays in some(stays_within(asked), AT_ONCE):
        subjects = {uid for one in stays for uid in (one.container, one.kit) if uid}
        found = load_equipment(subjects, rules=rules, at=asked.at, known_by=asked.known_by)
        drying = _drying(asked.site, stays)
        people = _people(found)
        for stay in stays:
            for used in _used(stay, found):
                yield _row(stay, used, found, drying[stay.batch], people)


def _used(stay: Stayed, found: Equipment) -> Iterator[Used]:
    yield Used("container", stay.container, stay.container_label)
    if stay.kit is not None:
        pieces = pieces_of(stay.kit, found.belongs, stay.began)
        known = [found.pieces[uid] for uid in pieces if uid in found.pieces]
        for piece in sorted(known, key=lambda one: one.label):
            yield Used("piece", piece.uid, piece.label)


def _row(
    stay: Stayed, used: Used, found: Equipment, drying: DryingRule, people: dict[UUID, str]
) -> Row:
    at = stay.began
    within = found.belongs.get(used.uid, ())
    told = found.told_of(used.uid) if used.sort == "piece" else found.told.get(used.uid, ())
    known = [one for one in concerning(told, used.uid, within) if one.when.latest <= at]
    bath = _last(known, "disinfected")
    wrong = denied(known)
    dry = _last((one for one in known if one.uid not in wrong), "seen_dry")
    if bath and dry and dry.when.earliest < bath.when.earliest:
        dry = None  # that was before it was last wet
    state = _state(stay, used, found, drying)
    return (
        used.label,
        used.sort,
        stay.code,
        stay.kit_label if used.sort == "piece" else None,
        at,
        *_bath(bath, people),
        dry.when.latest if dry else None,
        people.get(dry.first.doer) if dry else None,
        at - dry.when.latest if dry else None,
        state.state,
        "; ".join(one.text for one in state.why) or None,
    )


def _bath(bath: Happening | None, people: dict[UUID, str]) -> Row:
    if bath is None:
        return (None,) * 7
    body = bath.body
    strength = body.get("mg_per_l")
    return (
        bath.when.latest,
        str(body["agent"]),
        None if strength is None else Decimal(str(strength)),
        "measured" if body["measured"] else "not_measured",
        _contact(body.get("started_at"), body.get("ended_at")),
        "rinsed" if body["rinsed"] else "not_rinsed",
        people.get(bath.first.doer),
    )


def _contact(began: object, ended: object) -> timedelta | None:
    if not began or not ended:
        return None
    return parse_utc(str(ended)) - parse_utc(str(began))


def _last(told: Iterable[Happening], kind: str) -> Happening | None:
    found = [one for one in told if one.kind == kind]
    return max(found, key=lambda one: one.when.latest, default=None)


def _state(stay: Stayed, used: Used, found: Equipment, drying: DryingRule) -> Readiness:
    """What it was just before the stay, which itself is left out."""
    if used.sort == "piece":
        return found.piece(used.uid, drying, stay.began, but=stay.uid)
    return found.container(used.uid, drying, stay.began, but=stay.uid)


def _drying(site: UUID, stays: Iterable[Stayed]) -> dict[UUID, DryingRule]:
    """What each batch's protocol version asks of dry equipment."""
    batches = {one.batch for one in stays}
    keys = dict(Batch.objects.filter(uid__in=batches).values_list("uid", "protocol"))
    versions = versions_at(site, keys.values())
    return {uid: versions.of(key).drying for uid, key in keys.items()}


def _people(found: Equipment) -> dict[UUID, str]:
    """The names of whoever did it. One query."""
    uids = {fact.doer for told in found.facts.values() for fact in told}
    return dict(Person.objects.filter(uid__in=uids).values_list("uid", "name"))


EQUIPMENT = Report(
    "equipment",
    (
        *text("label"),
        *code("sort"),
        *text("batch", "kit"),
        *moment("used_from", "disinfected_at"),
        *text("agent", "mg_per_l"),
        *code("strength"),
        *span("contact"),
        *code("rinse"),
        *text("disinfected_by"),
        *moment("seen_dry_at"),
        *text("seen_dry_by"),
        *span("dry_for"),
        *code("state"),
        *text("why"),
    ),
    rows,
)
