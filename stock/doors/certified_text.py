"""The text of a certificate: put together under the lock, signed, kept byte for byte."""

import hashlib
import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.conf import settings

from protocols import codes, issuing, tree
from protocols.credential import Certified, Issuer, Sealed, StatusIndex, payload
from protocols.status_list import PURPOSES
from stock import keys
from stock.models import Batch, Certificate, CertificateText, Log
from stock.queries.certificates import next_number
from stock.queries.certified import said_of
from stock.queries.examined import Examined


@dataclass(frozen=True, slots=True)
class Text:
    """A signed text in the making: whose, for how many, under which address of the service."""

    uid: UUID
    batch: Batch
    count: int
    address: str
    at: datetime
    adds: str


def seal(log: Log, leaves: list[bytes]) -> Sealed:
    """Where the record book stands, and one hash over the batch's own entries."""
    edge = tree.Edge.from_text(log.edge, log.size)
    head = tree.batch_head(leaves, len(leaves))
    return Sealed(keys.origin(log.uid), log.size, tree.root(edge), head, len(leaves))


def write(text: Text, examined: Examined, sealed: Sealed) -> dict[str, object]:
    """Sign and keep the text; what the fact says of it, which binds it by its digest."""
    number, places = _number(text), _places(text.batch.site.organisation_id)
    code = _new_code()
    certified = Certified(
        uid=text.uid,
        batch=text.batch.uid,
        number=number,
        url=f"{text.address}/c/{code}",
        valid_from=text.at,
        declared_by_role="manager",
        ledger=sealed,
        adds=text.adds,
        test=settings.TEST_CLOCK,
        **_where(text, places),
        **said_of(text.batch, examined, text.count),
    )
    token = keys.signed(payload(certified))
    CertificateText.objects.create(certificate=text.uid, address=code, token=token)
    return {
        "certificate": text.uid,
        "number": number,
        "batch": text.batch.uid,
        "count": text.count,
        "token_sha256": hashlib.sha256(token.encode()).hexdigest(),
        "tree_size": sealed.tree_size,
        "root": sealed.root.hex(),
        "status_indexes": places,
    }


def _where(text: Text, places: Mapping[str, int]) -> dict[str, Any]:
    """Who signs, and where programs find what they check it with."""
    organisation, address = text.batch.site.organisation, text.address
    lists = f"{address}/status/{organisation.uid}"
    return {
        "issuer": Issuer(address, organisation.name),
        "context_url": f"{address}/contexts/quarantine/v1",
        "status": tuple(
            StatusIndex(purpose, f"{lists}-{purpose}", place)
            for purpose, place in places.items()
        ),
    }


def _number(text: Text) -> str:
    """The next number of the organisation in the year on the wall of the site."""
    site = text.batch.site
    year = text.at.astimezone(ZoneInfo(site.zone)).year
    return issuing.number_text(year, next_number(site.organisation_id, year))


def _places(organisation: UUID) -> dict[str, int]:
    return {purpose: _free_place(organisation, purpose) for purpose in PURPOSES}


def _new_code() -> str:
    return codes.token_text(secrets.token_bytes(20))


def _free_place(organisation: UUID, purpose: str) -> int:
    """A place at random that nobody has: neighbours in a list must not tell of each other."""
    taken = Certificate.objects.filter(organisation=organisation)
    entries = issuing.list_entries(taken.count() + 1)
    while True:
        place = secrets.randbelow(entries)
        if not taken.filter(**{f"{purpose}_index": place}).exists():
            return place
