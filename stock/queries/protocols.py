"""Protocol versions that may be worked by at a site: the service's, and its organisation's own.

A version never changes once it is frozen, so what a text says is kept by the text itself
(`read_any`); which texts there are is asked of the database, and only for keys that are made.
So another process knows a version as soon as it is on record, and none that was rolled back.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Count

from protocols.library.findings import Finding, Level
from protocols.library.lint import lint
from protocols.library.values import Definition
from protocols.library.writing import members_of
from protocols.ruled import Protocol
from protocols.versions import (
    DEFAULT,
    OURS,
    UnknownProtocol,
    Versions,
    definition,
    everything,
    is_made,
    protocol,
    read_any,
    text_of,
)
from stock.models import Batch, MadeProtocol, Site


@dataclass(frozen=True, slots=True)
class Shown:
    """A version with its text, and of a made one when it was frozen, by whom, from what."""

    found: Protocol | Definition
    text: str
    made_from: str = ""
    frozen_at: datetime | None = None
    by: UUID | None = None

    @property
    def is_default(self) -> bool:
        return self.found.key == DEFAULT


def versions_at(site: UUID, keys: Iterable[str]) -> Versions:
    """The versions of moves of these keys, as far as there are. One query if some are made."""
    made = {key for key in keys if is_made(key)}
    if not made:
        return OURS
    rows = MadeProtocol.objects.filter(
        organisation__in=Site.objects.filter(uid=site).values("organisation"), key__in=made
    )
    found = {row.key: read_any(row.text.encode()) for row in rows}
    return Versions({key: one for key, one in found.items() if isinstance(one, Protocol)})


def version_at(site: UUID, key: str) -> Protocol:
    """The version of moves that a batch of this site goes by. Raises UnknownProtocol."""
    return versions_at(site, [key]).of(key) if is_made(key) else protocol(key)


def version_of(organisation: UUID, key: str) -> Shown:
    """One version of any stage. Raises UnknownProtocol. One query if it is made."""
    if not is_made(key):
        return Shown(definition(key), text_of(key))
    row = MadeProtocol.objects.filter(organisation=organisation, key=key).first()
    if row is None:
        raise UnknownProtocol(key)
    return _shown(row)


def versions_of(organisation: UUID) -> tuple[Shown, ...]:
    """Every version of every stage: the default, moves, the others. One query."""
    rows = MadeProtocol.objects.filter(organisation=organisation)
    found = [
        *(Shown(definition(key), text_of(key)) for key in everything()),
        *(_shown(row) for row in rows),
    ]
    return tuple(sorted(found, key=_order))


def keys_of(organisation: UUID) -> frozenset[str]:
    """The keys of all versions there are. One query."""
    rows = MadeProtocol.objects.filter(organisation=organisation)
    return frozenset((*everything(), *rows.values_list("key", flat=True)))


def moves_of(organisation: UUID) -> tuple[Protocol, ...]:
    """The versions that a batch can be placed under. One query."""
    found = (one.found for one in versions_of(organisation))
    return tuple(one for one in found if isinstance(one, Protocol))


def used_by(organisation: UUID) -> Mapping[str, int]:
    """How many batches go or went by each version. One query."""

    rows = Batch.objects.filter(site__organisation=organisation).values_list("protocol")
    return dict(rows.annotate(n=Count("uid")).values_list("protocol", "n"))


def shown_version(one: Shown, *, whole: bool = True) -> dict[str, Any]:
    """A version as programs read it; its text and findings only as a `whole`."""
    found, findings = one.found, lint(one.found)
    shown: dict[str, Any] = {
        "protocol": found.key,
        "stage": found.stage,
        "title": found.title,
        "name": found.name,
        "version": found.version,
        "sha256": found.sha256,
        "default": one.is_default,
        "made_from": one.made_from or None,
        "frozen_at": one.frozen_at,
        "addresses": list(found.addresses),
        "does_not_cover": list(found.does_not_cover),
        "warnings": [each.text for each in findings if each.level is Level.WARNING],
    }
    if whole:
        shown |= {
            "text": one.text,
            "cautions": list(found.cautions),
            "sources": list(found.sources),
            "says": members_of(one.text),
            "findings": [shown_finding(each) for each in findings],
        }
    return shown


def shown_finding(one: Finding) -> dict[str, Any]:
    return {
        "rule": one.rule,
        "level": one.level,
        "text": one.text,
        "numbers": dict(one.numbers),
        "source": one.source,
    }


def _shown(row: MadeProtocol) -> Shown:
    return Shown(
        found=read_any(row.text.encode()),
        text=row.text,
        made_from=row.made_from,
        frozen_at=row.frozen_at,
        by=row.by,
    )


def _order(one: Shown) -> tuple[Any, ...]:
    return (
        not one.is_default,
        one.found.stage != "moves",
        one.found.stage,
        one.found.name,
        one.found.version,
    )
