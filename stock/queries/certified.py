"""What a certificate about to be issued will say: read under the site's lock, judged afresh."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from protocols.credential import CertifiedSpecies, Treatment
from protocols.disclosure import certified_moves, outside_seconds, remarks
from protocols.seller_words import Borne
from protocols.values import Judgement
from stock.models import Balance, Batch, Fact, Line, Origin
from stock.models.counts import FATES
from stock.queries.examined import Examined
from stock.queries.outside import outside_confirmations
from stock.queries.protocols import version_at, version_of

# A confirmation of a correction of a report: as deep as words about words go.
DEPTH = 3
BY_PLACING = (
    "Counts by species are those at the placement: losses are told of the whole batch only."
)
SHARED = "Others of the same packing-list lines went into other containers."


@dataclass(frozen=True, slots=True)
class Sources:
    """Where the animals came from: lines with how many of each are in the batch."""

    lines: tuple[Line, ...]
    counts: dict[UUID, int]

    @property
    def holders(self) -> list[UUID]:
        return [line.uid for line in self.lines]


def said_of(batch: Batch, examined: Examined, count: int) -> dict[str, Any]:
    """The fields of a `Certified` that follow from the batch and its history."""
    judgement, zone = examined.judgement, ZoneInfo(batch.site.zone)
    sources = sources_of(examined.family, batch.uid)
    began = judgement.stays[0].began.earliest
    trade_names = "species_trade_names" not in examined.rules.at(began).public_hides
    species = tuple(_species(sources, count, trade_names=trade_names))
    return {
        "zone": batch.site.zone,
        "species": species,
        "certified": count,
        "arrived_on": _arrived_on(sources, batch, zone),
        "protocol": version_at(batch.site_id, batch.protocol),
        "remarks": (
            *remarks(judgement, zone),
            *outside_seconds(outside_confirmations([*examined.family, batch.uid])),
            *_count_remarks(sources, species, batch),
        ),
        **_numbers(batch, sources),
        **_done(judgement),
    }


def _numbers(batch: Batch, sources: Sources) -> dict[str, Any]:
    received, doa = _received(sources)
    places = places_of(batch.uid)
    return {
        "received": received,
        "doa": doa,
        "placed": sum(places.values()),
        "losses": {fate: places[fate] for fate in FATES if places.get(fate)},
    }


def _done(judgement: Judgement) -> dict[str, Any]:
    """Moves, series and observation; only what is complete is certified."""
    series, watched = judgement.series, judgement.observation
    assert series is not None
    assert series.started is not None
    assert watched is not None
    return {
        "moves": certified_moves(judgement),
        "series_started": series.started.latest,
        "series_completed": watched.started.latest,
        "observed_from": watched.started.latest,
        "observed_until": watched.ends_at,
        "treatments": treatments(judgement),
    }


def sources_of(family: Iterable[UUID], batch: UUID) -> Sources:
    """Lines of the batch; of those it came out of, where it has none of its own. One query."""
    rows = list(
        Origin.objects.filter(batch__in=[*family, batch])
        .select_related("line__species", "line__consignment")
        .order_by("line__consignment", "line__n")
    )
    own = [row for row in rows if row.batch_id == batch] or rows
    counts: dict[UUID, int] = {}
    for row in own:
        counts[row.line_id] = counts.get(row.line_id, 0) + row.count
    return Sources(tuple({row.line_id: row.line for row in own}.values()), counts)


def places_of(batch: UUID) -> dict[str, int]:
    """How many of a batch are at each place, those it never was responsible for left out."""
    rows = Balance.objects.filter(holder=batch).exclude(place="outside")
    return dict(rows.values_list("place", "n"))


def treatments(judgement: Judgement) -> tuple[Treatment, ...]:
    """What was given into the water of the batch while it was there, by date. One query."""
    return tuple(
        Treatment(
            fact.performed_at,
            fact.body["product"],
            f"{fact.body['amount']} {fact.body['unit']}",
        )
        for fact in _given(judgement)
    )


def borne_out(batch: Batch, examined: Examined) -> Borne:
    """What a seller's words about a batch can rest on. A query for each version given by."""
    organisation = batch.site.organisation_id
    given = _given(examined.judgement)
    versions = {
        f"{fact.body['protocol']}@{fact.body['version']}"
        for fact in given
        if fact.body.get("protocol") and fact.body.get("version")
    }
    addressed = [version_at(batch.site_id, batch.protocol).addresses]
    addressed += [version_of(organisation, key).found.addresses for key in sorted(versions)]
    products = (fact.body["product"] for fact in given)
    return Borne(
        tuple(one for each in addressed for one in each), (*products, *sorted(versions))
    )


def _given(judgement: Judgement) -> list[Fact]:
    spans = [
        (
            str(one.container),
            one.began.earliest,
            one.ended.latest if one.ended else judgement.at,
        )
        for one in judgement.stays
    ]
    given = Fact.objects.filter(
        kind="dose_given", subjects__subject__in={one.container for one in judgement.stays}
    ).order_by("performed_at", "seq")
    return [
        fact
        for fact in given
        if any(
            place == fact.body["container"] and begins <= fact.performed_at <= ends
            for place, begins, ends in spans
        )
    ]


def leaves_of(batches: Iterable[UUID]) -> list[bytes]:
    """The leaf hashes of every entry about these batches, in the order of the record book.

    Entries that speak of such an entry (corrections, confirmations, answers) belong to them.
    """
    asked = set(batches)
    found: dict[UUID, tuple[int, bytes]] = {}
    for _ in range(DEPTH):
        rows = Fact.objects.filter(subjects__subject__in=asked).values_list(
            "uid", "seq", "leaf"
        )
        new = {uid: (seq, bytes(leaf)) for uid, seq, leaf in rows if uid not in found}
        found |= new
        asked = set(new)
        if not asked:
            break
    return [leaf for _, leaf in sorted(found.values())]


def origin_of_lines(lines: Iterable[UUID]) -> list[dict[str, Any]]:
    """Country and wild or captive of each line, only where its papers say so. One query."""
    wanted = {str(uid) for uid in lines}
    lists = Fact.objects.filter(kind="list_applied", subjects__subject__in=wanted)
    said: dict[str, dict[str, Any]] = {}
    for fact in lists.order_by("seq").distinct():
        for line in fact.body["lines"]:
            if line["line"] in wanted:
                said[line["line"]] = {
                    name: line[name] for name in ("origin", "wild") if name in line
                }
    found = [one for one in said.values() if one]
    return [one for place, one in enumerate(found) if one not in found[:place]]


def _species(sources: Sources, count: int, *, trade_names: bool) -> Iterator[CertifiedSpecies]:
    """Each species once; a single one has all the animals that are certified."""
    grouped: dict[tuple[str, str, int | None], int] = {}
    for line in sources.lines:
        known = line.species
        scientific = known.scientific_name if known else line.text
        trade = known.trade_names[0] if known and known.trade_names else scientific
        key = (
            trade if trade_names else scientific,
            scientific,
            known.aphia_id if known else None,
        )
        grouped[key] = grouped.get(key, 0) + sources.counts[line.uid]
    for (name, scientific, aphia_id), placed in sorted(
        grouped.items(), key=lambda one: one[0][1]
    ):
        number = count if len(grouped) == 1 else placed
        yield CertifiedSpecies(name, scientific, number, aphia_id)


def _received(sources: Sources) -> tuple[int, int]:
    """How many came out of the bags of these lines, and how many of them dead. One query."""
    rows = Balance.objects.filter(holder__in=sources.holders, place__in=("outside", "doa"))
    totals = {"outside": 0, "doa": 0}
    for place, n in rows.values_list("place", "n"):
        totals[place] += n
    return -totals["outside"], totals["doa"]


def _arrived_on(sources: Sources, batch: Batch, zone: ZoneInfo) -> date:
    """The day of delivery where they arrived; of the placement where nobody told it."""
    delivered: list[datetime] = [
        line.consignment.delivered_at
        for line in sources.lines
        if line.consignment.delivered_at is not None
    ]
    return min(delivered, default=batch.placed_at).astimezone(zone).date()


def _count_remarks(
    sources: Sources, species: tuple[CertifiedSpecies, ...], batch: Batch
) -> Iterator[str]:
    if len(species) > 1:
        yield BY_PLACING
    received, doa = _received(sources)
    if received - doa > sum(places_of(batch.uid).values()):
        yield SHARED
