"""What was given to animals under a version that refuses them, for judging it afterwards."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from uuid import UUID

from protocols.library.giving import Animals, DoseAsked, never_right
from protocols.library.values import Treatment
from protocols.values import Fact, Happening, History, Placing, Readiness, Reason, State
from protocols.versions import UnknownProtocol
from stock.models import Kin, Line, Origin, Site
from stock.queries.origins import LINEAGE
from stock.queries.protocols import version_of

# The water is in use; of a dose nothing is asked but what stands against it.
IN_USE = Readiness(State.IN_USE)


@dataclass(frozen=True, slots=True)
class Dosed:
    """Which animals each batch came from, and the versions they were given something under.

    `known` names the lines and species of each batch, since news of them is news of this.
    """

    animals: Mapping[UUID, tuple[Animals, ...]] = field(default_factory=dict)
    known: Mapping[UUID, frozenset[UUID]] = field(default_factory=dict)
    versions: Mapping[str, Treatment] = field(default_factory=dict)

    def placings(self, past: History) -> dict[UUID, Placing]:
        """What stands against each dose of a history, by the fact that told it."""
        return {
            one.uid: Placing(IN_USE, water=self._against(past.batch, one))
            for one in past.happenings
            if one.kind == "dose_given"
        }

    def _against(self, batch: UUID, one: Happening) -> tuple[Reason, ...]:
        by, body = self.versions.get(key_of(one.body)), one.body
        if by is None:
            return ()
        asked = DoseAsked(body["product"], Decimal(body["amount"]), body["unit"], True)
        return tuple(never_right(asked, by, self.animals.get(batch, ())))


def is_under_a_version(fact: Fact) -> bool:
    return fact.kind == "dose_given" and "protocol" in fact.body


def key_of(body: Mapping[str, object]) -> str:
    return f"{body.get('protocol')}@{body.get('version')}"


def dosed(site: UUID, batches: Sequence[UUID], facts: Iterable[Fact]) -> Dosed:
    """No query where nothing was given under a version; else four, one more for a made one."""
    keys = {key_of(one.body) for one in facts if is_under_a_version(one)}
    if not keys:
        return Dosed()
    before: dict[UUID, set[UUID]] = {uid: {uid} for uid in batches}
    for batch, of in Kin.objects.filter(batch__in=batches, how__in=LINEAGE).values_list(
        "batch", "of"
    ):
        before[batch].add(of)
    every = {uid for found in before.values() for uid in found}
    placed = list(Origin.objects.filter(batch__in=every).values_list("batch", "line"))
    lines = {
        line.uid: line
        for line in Line.objects.filter(uid__in={line for _, line in placed}).select_related(
            "species"
        )
    }
    mine = {
        batch: [lines[line] for of, line in placed if of in found]
        for batch, found in before.items()
    }
    return Dosed(
        animals={batch: animals_of(found) for batch, found in mine.items()},
        known={batch: _named(found) for batch, found in mine.items()},
        versions=_versions(site, keys),
    )


def animals_of(lines: Iterable[Line]) -> tuple[Animals, ...]:
    """The species of these lines, each once; of a line that nobody matched nothing is known."""
    found = {
        (line.species.scientific_name, tuple(line.species.groups))
        for line in lines
        if line.species is not None
    }
    return tuple(Animals(name, frozenset(groups)) for name, groups in sorted(found))


def _named(lines: Iterable[Line]) -> frozenset[UUID]:
    found = {line.uid for line in lines}
    return frozenset(found | {line.species_id for line in lines if line.species_id is not None})


def _versions(site: UUID, keys: Iterable[str]) -> dict[str, Treatment]:
    organisation = Site.objects.values_list("organisation", flat=True).get(uid=site)
    found: dict[str, Treatment] = {}
    for key in sorted(keys):
        try:
            by = version_of(organisation, key).found
        except UnknownProtocol:
            continue
        if isinstance(by, Treatment):
            found[key] = by
    return found
