"""Readiness kept as moments, so that lists need not judge every piece anew."""

from collections.abc import Iterable, Sequence
from datetime import datetime
from uuid import UUID

from django.db.models import Q

from protocols.fittings import pieces_of
from protocols.values import DryingRule, Readiness, State
from protocols.versions import DEFAULT, protocol
from stock.judging.equipment import Equipment, load_equipment
from stock.judging.facts import facts_about
from stock.models import (
    Container,
    Fact,
    FactSubject,
    Kit,
    Piece,
    Site,
    StayRow,
    Upkeep,
    writing_projections,
)
from stock.queries.sites import rules_history

# Facts after which something may be ready, or no longer ready.
TELLING = frozenset(
    {
        "container_set",
        "kit_set",
        "piece_set",
        "piece_fitted",
        "piece_defective",
        "disinfected",
        "seen_dry",
        "found_wet",
        "emptied",
        "filled",
        "contact_seen",
        "batch_placed",
        "batch_moved",
        "batch_split",
        "batches_joined",
        "loss_recorded",
        "missing_recorded",
        "found_again",
        "presumed_lost",
        "born_here",
        "animals_dispatched",
        "animals_returned",
        "parked_settled",
    }
)
# Facts about facts, and where they say about which.
ABOUT = {
    "fact_corrected": "of",
    "fact_withdrawn": "of",
    "fact_contradicted": "of",
    "confirmed": "of",
    "account_decided": "happening",
    "parked_settled": "of",
}

# A confirmation of a correction of a report is as deep as words about words go.
DEPTH = 2
AT_ONCE = 200


def drying_rule(key: str = DEFAULT) -> DryingRule:
    """What makes things ready by a protocol. Raises UnknownProtocol."""
    return protocol(key).drying


def state_of(row: Upkeep, at: datetime) -> State:
    """What a kept row says at a moment: what dried long enough by then is ready."""
    if row.state == State.DRYING and row.ready_at is not None and row.ready_at <= at:
        return State.READY
    return State(row.state)


def follow_upkeep(facts: Sequence[Fact], *, at: datetime) -> None:
    """Keep anew what these facts of one site say of equipment."""
    if subjects := touched(facts):
        refresh(facts[0].log_id, subjects, at)


def refresh(site: UUID, subjects: Iterable[UUID], at: datetime) -> None:
    """Keep the readiness of these pieces, kits and containers, and of kits with such pieces.

    A fixed number of queries. Subjects that are no equipment of the site are passed over.
    """
    asked = frozenset(subjects)
    kits = asked | kits_with(asked)
    drying = drying_rule()
    # Everything that will dry has dried by then, so that no row depends on when it was made.
    later = at + drying.drying
    found = load_equipment(kits, rules=rules_history(site), at=later)
    kits_here = [uid for uid, row in found.kits.items() if uid in kits and row.site_id == site]
    here = Container.objects.filter(uid__in=asked, site=site)
    containers = list(here.values_list("uid", flat=True))
    states = [
        *(("kit", uid, found.kit(uid, drying, later)) for uid in kits_here),
        *(
            ("piece", uid, found.piece(uid, drying, later))
            for uid in _pieces(found, asked, later)
        ),
        *(("container", uid, found.container(uid, drying, later)) for uid in containers),
    ]
    _keep(_row(site, what, uid, state, drying) for what, uid, state in states)


def refresh_everything(at: datetime) -> None:
    """Keep all equipment of all sites, e.g. after projections were made again."""
    for site in Site.objects.values_list("uid", flat=True):
        for sort in (Container, Kit, Piece):
            uids = list(sort.objects.filter(site=site).values_list("uid", flat=True))
            for start in range(0, len(uids), AT_ONCE):
                refresh(site, uids[start : start + AT_ONCE], at)


def touched(facts: Sequence[Fact]) -> set[UUID]:
    """Equipment that these facts speak of, also by way of a batch, a stay or another fact."""
    known = [fact for fact in (*facts, *answered(facts)) if _tells(fact)]
    if not known:
        return set()
    found = FactSubject.objects.filter(fact__in=[fact.uid for fact in known])
    subjects = set(found.values_list("subject", flat=True))
    return subjects | _used_by(subjects, since=min(fact.performed_at for fact in known))


def answered(facts: Sequence[Fact]) -> list[Fact]:
    """The facts that these are about, and those that those are about."""
    found: list[Fact] = []
    latest = list(facts)
    for _ in range(DEPTH):
        uids = [fact.body[ABOUT[fact.kind]] for fact in latest if fact.kind in ABOUT]
        # Which account stands is news about where either of them put the animals.
        uids += [fact.body["accepted"] for fact in latest if fact.kind == "account_decided"]
        latest = list(Fact.objects.filter(uid__in=uids)) if uids else []
        found += latest
    return found


def _tells(fact: Fact) -> bool:
    if fact.kind == "reading_taken":
        return bool(fact.body["quantity"] == "total_chlorine")
    return fact.kind in TELLING


def _used_by(subjects: set[UUID], *, since: datetime) -> set[UUID]:
    """Containers and kits of the stays, or of the stays of the batches, among the subjects."""
    rows = StayRow.objects.filter(
        Q(uid__in=subjects) | Q(batch__in=subjects),
        Q(ended_latest=None) | Q(ended_latest__gte=since),
    )
    pairs = rows.values_list("container", "kit")
    return {uid for pair in pairs for uid in pair if uid is not None}


def kits_with(pieces: frozenset[UUID]) -> set[UUID]:
    """Every kit that one of the pieces was ever fitted to. One query."""
    fitted = facts_about(pieces, kinds=("piece_fitted",))
    names = {fact.body.get("kit") for facts in fitted.values() for fact in facts}
    return {UUID(name) for name in names if name}


def _pieces(found: Equipment, asked: frozenset[UUID], at: datetime) -> list[UUID]:
    """The pieces asked for and those that belong to a kit or container asked for."""
    inside = {piece for holder in asked for piece in pieces_of(holder, found.belongs, at)}
    return [uid for uid in found.pieces if uid in asked or uid in inside]


def _row(site: UUID, what: str, uid: UUID, found: Readiness, drying: DryingRule) -> Upkeep:
    state, since = found.state, found.since
    if state is State.READY and found.ready_at is not None:
        state, since = State.DRYING, found.ready_at - drying.drying
    return Upkeep(
        subject=uid,
        site_id=site,
        what=what,
        state=state,
        since=since,
        ready_at=found.ready_at,
    )


def _keep(rows: Iterable[Upkeep]) -> None:
    with writing_projections():
        Upkeep.objects.bulk_create(
            list(rows),
            update_conflicts=True,
            unique_fields=["subject"],
            update_fields=["state", "since", "ready_at"],
        )
