"""Packing lists as read and as on record."""

from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any
from uuid import UUID

from protocols.list_matching import compare, match_lines, names_of
from protocols.lists import (
    Difference,
    KnownSpecies,
    ListedLine,
    SpeciesMatch,
    Understood,
)
from stock.models import Consignment, Fact, Import, Person, Site, Species
from stock.refusals import NotFound

MARKS = ("box", "bag", "code", "scientific_name", "size", "price", "origin")


@dataclass(frozen=True, slots=True)
class OnRecord:
    """What the record holds that a list may belong to, and whether by this very file."""

    consignment: Consignment
    same_file: bool


def import_shown(listing: Import, person: Person) -> dict[str, Any]:
    """An import as people look through it before anything is entered. Six queries at most."""
    lines = lines_read(listing.read)
    chosen = chosen_species(listing.answers, person.organisation)
    matches = match_lines(lines, known_species(person.organisation), chosen=chosen)
    shown = {
        "uid": listing.uid,
        "site": listing.site,
        "supplier": listing.supplier,
        "sha256": listing.sha256,
        **{name: listing.read[name] for name in SHOWN},
        "lines": [_line_shown(line, matches[names_of(line)]) for line in lines],
        "answers": listing.answers,
    }
    found = on_record(listing, listing.read["waybill"])
    return {**shown, "existing": existing_shown(found, lines)} if found else shown


SHOWN = (
    "understood",
    "problems",
    "questions",
    "notes",
    "waybill",
    "arrives",
    "listed",
    "may_be_applied",
)


def as_read(read: Understood, settings: Mapping[str, Any]) -> dict[str, Any]:
    """What is kept of a reading: everything people look through, and the settings it used."""
    kept = {
        "understood": dict(read.form),
        "lines": [asdict(line) for line in read.lines],
        "problems": [asdict(one) for one in read.problems],
        "questions": [asdict(one) for one in read.questions],
        "notes": [asdict(one) for one in read.notes],
        "settings": dict(settings),
        "waybill": read.waybill,
        "arrives": read.arrives,
        "listed": read.listed,
        "may_be_applied": read.may_be_applied,
    }
    stored: dict[str, Any] = _storable(kept)
    return stored


def lines_read(read: Mapping[str, Any]) -> tuple[ListedLine, ...]:
    """The lines of a kept reading."""
    return tuple(_listed_line(line) for line in read["lines"])


def on_record(listing: Import, waybill: str | None) -> OnRecord | None:
    """The consignment that this file made, else the one of its waybill. Three queries."""
    made = (
        Import.objects.filter(site=listing.site, sha256=listing.sha256)
        .exclude(consignment=None)
        .values_list("consignment", flat=True)
        .first()
    )
    same = Consignment.read(uid=made) if made else None
    if same := same or Consignment.read(site=listing.site, file=listing.sha256):
        return OnRecord(same, same_file=True)
    known = of_waybill(listing.site, listing.supplier, waybill)
    return OnRecord(known, same_file=False) if known else None


def of_waybill(site: UUID, supplier: UUID, waybill: str | None) -> Consignment | None:
    """The newest consignment that this supplier sent to the site on this waybill. One query."""
    if not waybill:
        return None
    rows = Consignment.objects.filter(site=site, supplier=supplier, waybill=waybill)
    return rows.order_by("-version").first()


def list_on_record(consignment: Consignment) -> list[tuple[UUID, ListedLine]]:
    """The lines of the list in force, with their uids; rows count from 1. One query."""
    facts = Fact.objects.filter(
        kind="list_applied", log=consignment.site_id, subjects__subject=consignment.uid
    )
    told: Iterator[dict[str, Any]] = (
        line
        for body in facts.order_by("seq").values_list("body", flat=True)
        if body["list_version"] == consignment.list_version
        for line in body["lines"]
    )
    return [
        (UUID(line["line"]), _listed_line({**line, "row": row}))
        for row, line in enumerate(told, start=1)
    ]


def existing_shown(found: OnRecord, lines: tuple[ListedLine, ...]) -> dict[str, Any]:
    """The consignment there is, and what this list says differently."""
    known = found.consignment
    differing: tuple[Difference, ...] = ()
    if not found.same_file:
        differing = compare([line for _, line in list_on_record(known)], lines).differences
    return {
        "uid": known.uid,
        "waybill": known.waybill,
        "list_version": known.list_version,
        "delivered_at": known.delivered_at,
        "same_file": found.same_file,
        "differences": [_difference_shown(one) for one in differing],
    }


def known_species(organisation: UUID) -> list[KnownSpecies]:
    """The species of an organisation, as lists are matched with them. One query."""
    rows = Species.objects.filter(organisation=organisation).order_by("scientific_name")
    return [
        KnownSpecies(str(row.uid), row.scientific_name, tuple(row.trade_names)) for row in rows
    ]


def chosen_species(answers: Mapping[str, Any], organisation: UUID) -> dict[str, KnownSpecies]:
    """Species that a person named for printed texts; a foreign one is not there."""
    given = answers.get("species")
    if not isinstance(given, Mapping):
        return {}
    known = {one.uid: one for one in known_species(organisation)}
    if any(uid not in known for uid in given.values()):
        raise NotFound
    return {text: known[uid] for text, uid in given.items()}


def import_and_site(uid: UUID) -> tuple[Import, Site]:
    """An import with its site; whoever asks must still be let in there. Two queries."""
    listing = Import.objects.filter(uid=uid).first()
    if listing is None:
        raise NotFound
    return listing, Site.objects.get(uid=listing.site)


def _listed_line(told: Mapping[str, Any]) -> ListedLine:
    arrives = told.get("arrives")
    return ListedLine(
        row=told["row"],
        text=told["text"],
        listed=told["listed"],
        wild=told.get("wild"),
        arrives=date.fromisoformat(arrives) if arrives else None,
        **{name: told.get(name) for name in MARKS},
    )


def _line_shown(line: ListedLine, match: SpeciesMatch) -> dict[str, Any]:
    return {
        **asdict(line),
        "species": match.exact and match.exact.uid,
        "species_name": match.exact and match.exact.scientific_name,
        "candidates": [
            {
                "species": one.species.uid,
                "scientific_name": one.species.scientific_name,
                "name": one.name,
                "likeness": str(one.likeness),
            }
            for one in match.candidates
        ],
    }


def _difference_shown(one: Difference) -> dict[str, Any]:
    return {
        "key": one.key,
        "kind": one.kind,
        "fields": list(one.fields),
        "old": one.old and asdict(one.old),
        "new": one.new and asdict(one.new),
    }


def _storable(value: Any) -> Any:
    """As JSON that both engines keep: dates as text, no character that PostgreSQL refuses."""
    match value:
        case str():
            return value.replace("\x00", " ")
        case date():
            return value.isoformat()
        case Mapping():
            return {str(_storable(name)): _storable(one) for name, one in value.items()}
        case list() | tuple():
            return [_storable(one) for one in value]
    return value
