"""Which tasks a change can concern, so that one report need not look at a whole site."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from uuid import UUID

from django.db.models import Q

from protocols.tasks import What, Work, work_key
from stock.apply.registry import subjects
from stock.judging.upkeep import ABOUT, kits_with, touched
from stock.models import Batch, Fact, Line, Missing, StayRow, Task

# After these a room may have animals for the first time, or none any more, or a new round.
OF_ROOMS = frozenset(
    {
        "round_made",
        "batch_placed",
        "batch_moved",
        "batch_split",
        "batches_joined",
        "loss_recorded",
        "presumed_lost",
        "found_again",
        "animals_dispatched",
        "animals_returned",
    }
)
OF_CLAIMS = frozenset(
    {"consignment_delivered", "line_counted", "list_applied", "doa_reversed", "claim_sent"}
)
# These name pieces, where work is about their kits.
OF_PIECES = frozenset(
    {
        "piece_set",
        "piece_fitted",
        "piece_defective",
        "disinfected",
        "seen_dry",
        "found_wet",
        "contact_seen",
        *ABOUT,
    }
)
# After these a container may have to be searched, or no longer, before it is disinfected.
OF_SEARCHES = frozenset(
    {"emptied", "batch_moved", "missing_recorded", "found_again", "presumed_lost"}
)
OF_SIGHTINGS = frozenset({"seen_dry", *ABOUT})
UPKEEP = (What.DISINFECT.value, What.SEE_DRY.value)
OPEN = ("open", "taken")


@dataclass(frozen=True, slots=True)
class Scope:
    """Batches, kits, containers, rooms and deliveries of one site; None stands for all.

    `equipment` may hold other uids as well. With `sightings` what was told late of it is looked
    at too.
    """

    site: UUID
    batches: frozenset[UUID]
    equipment: frozenset[UUID] | None = frozenset()
    sightings: bool = False
    rooms: bool = False
    consignments: frozenset[UUID] | None = frozenset()

    def __bool__(self) -> bool:
        return bool(self.batches or self.rooms or self.equipment) or self.is_whole

    @property
    def is_whole(self) -> bool:
        return self.equipment is None

    @property
    def claims(self) -> bool:
        return self.consignments is None or bool(self.consignments)

    @property
    def rows(self) -> Q:
        """The tasks of the scope."""
        if self.is_whole:
            return Q(site=self.site)
        found = Q(batch__in=self.batches)
        if self.equipment:
            late = (What.CONFIRM_LATE.value,) if self.sightings else ()
            alone = Q(batch=None, what__in=(*UPKEEP, *late))
            kits = Q(kit__in=self.equipment)
            containers = Q(kit=None, container__in=self.equipment)
            found |= alone & (kits | containers)
        if self.rooms:
            found |= Q(what=What.ROUND.value)
        if self.consignments:
            claims = [work_key(What.PREPARE_CLAIM, uid, uid) for uid in self.consignments]
            found |= Q(key__in=claims)
        return Q(found, site=self.site)

    def wants(self, work: Work) -> bool:
        """Whether work that was found belongs to the scope."""
        return self.is_whole or work.batch is None or work.batch in self.batches


def whole_site(site: UUID) -> Scope:
    """Everything at a site. Three queries."""
    batches = Batch.objects.filter(site=site)
    live = batches.filter(Q(closed_at=None) | Q(deviations__open=True)).distinct()
    tasks = Task.objects.filter(site=site, state__in=OPEN, batch__isnull=False)
    found = {*live.values_list("uid", flat=True), *tasks.values_list("batch", flat=True)}
    return Scope(
        site,
        frozenset(uid for uid in found if uid is not None),
        equipment=None,
        sightings=True,
        rooms=True,
        consignments=None,
    )


def scope_of(site: UUID, facts: Sequence[Fact], judged: Collection[UUID]) -> Scope:
    """What these facts and judgements can have changed. Two to five queries."""
    kinds = {fact.kind for fact in facts}
    named = {uid for fact in facts for uid in subjects(fact)}
    if not kinds.isdisjoint(ABOUT):
        named |= touched(facts)
    if not kinds.isdisjoint(OF_PIECES):
        # Also those that lack the piece from now on.
        named |= kits_with(frozenset(named))
    batches = frozenset(judged)
    equipment = named | _used_by(batches)
    if not kinds.isdisjoint(OF_SEARCHES):
        equipment |= _stood_where_sought(named, batches)
    return Scope(
        site,
        # A disinfection waits for searches in that container, whichever batch they are for.
        batches | _sought(site),
        equipment=frozenset(equipment),
        sightings=not kinds.isdisjoint(OF_SIGHTINGS),
        rooms=not kinds.isdisjoint(OF_ROOMS),
        consignments=frozenset() if kinds.isdisjoint(OF_CLAIMS) else _consignments(named),
    )


def _used_by(batches: frozenset[UUID]) -> set[UUID]:
    """Containers and kits that these batches stood in and with. One query."""
    rows = StayRow.objects.filter(batch__in=batches).values_list("container", "kit")
    return {uid for pair in rows for uid in pair if uid is not None}


def _stood_where_sought(named: set[UUID], batches: frozenset[UUID]) -> set[UUID]:
    """Containers that are searched for these batches, and whatever stood in them. One query."""
    sought = Q(container__in=named) | Q(container__missing__batch__in=batches)
    rows = StayRow.objects.filter(sought).values_list("container", "kit").distinct()
    return {uid for pair in rows for uid in pair if uid is not None}


def _sought(site: UUID) -> frozenset[UUID]:
    rows = Missing.objects.filter(batch__site=site, open__gt=0)
    return frozenset(rows.values_list("batch", flat=True))


def _consignments(named: set[UUID]) -> frozenset[UUID]:
    lines = Line.objects.filter(uid__in=named).values_list("consignment", flat=True)
    return frozenset(named) | frozenset(lines)
