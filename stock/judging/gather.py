"""Everything that judging some batches must look at, in a fixed number of queries."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from uuid import UUID

from protocols.values import Fact
from stock.judging.facts import facts_about
from stock.models import StayRow

# Facts about facts: they change what an earlier report is taken to say.
WORDS_ABOUT = (
    "fact_corrected",
    "fact_withdrawn",
    "fact_contradicted",
    "confirmed",
    "account_decided",
)
# A confirmation of a correction of a report is as deep as words about words go.
DEPTH = 2


@dataclass(frozen=True, slots=True)
class Gathered:
    """Facts by what they speak of, and which equipment and places each batch met."""

    of_batches: Mapping[UUID, Sequence[Fact]]
    of_equipment: Mapping[UUID, Sequence[Fact]]
    of_instruments: Mapping[UUID, Sequence[Fact]]
    words: Mapping[UUID, Sequence[Fact]]
    met: Mapping[UUID, frozenset[UUID]]
    pieces: Mapping[UUID, frozenset[UUID]]


def gather(batches: Iterable[UUID], *, known_by: int | None = None) -> Gathered:
    """Eight queries, for one batch or fifty."""
    wanted = list(batches)
    of_batches = facts_about(wanted, known_by=known_by)
    met = equipment_met(wanted)
    places = frozenset(uid for uids in met.values() for uid in uids)
    fitted = facts_about(places, kinds=("piece_fitted",), known_by=known_by)
    pieces = {
        uid: frozenset(UUID(fact.body["piece"]) for fact in facts)
        for uid, facts in fitted.items()
    }
    everything = places | {piece for found in pieces.values() for piece in found}
    of_equipment = facts_about(everything, known_by=known_by)
    instruments = {
        UUID(fact.body["instrument"])
        for facts in of_equipment.values()
        for fact in facts
        if fact.kind == "reading_taken" and "instrument" in fact.body
    }
    checks = facts_about(instruments, kinds=("instrument_checked",), known_by=known_by)
    told = [*of_batches.values(), *of_equipment.values(), *checks.values()]
    return Gathered(
        of_batches=of_batches,
        of_equipment=of_equipment,
        of_instruments=checks,
        words=words_about((fact.uid for facts in told for fact in facts), known_by=known_by),
        met=met,
        pieces=pieces,
    )


def equipment_met(batches: Sequence[UUID]) -> dict[UUID, frozenset[UUID]]:
    """The containers and kits that each batch was placed in and with. One query."""
    met: dict[UUID, set[UUID]] = {batch: set() for batch in batches}
    rows = StayRow.objects.filter(batch__in=batches).values_list("batch", "container", "kit")
    for batch, container, kit in rows:
        met[batch] |= {uid for uid in (container, kit) if uid is not None}
    return {batch: frozenset(uids) for batch, uids in met.items()}


def words_about(
    told: Iterable[UUID], *, known_by: int | None = None
) -> dict[UUID, Sequence[Fact]]:
    """What was said later of each of these facts, and of what was said. Two queries at most."""
    found: dict[UUID, Sequence[Fact]] = {}
    asked = list(told)
    for _ in range(DEPTH):
        if not asked:
            break
        words = facts_about(asked, kinds=WORDS_ABOUT, known_by=known_by)
        found |= words
        asked = [fact.uid for facts in words.values() for fact in facts]
    return found
