"""What an audit bag is made of, read as one state of the data and some rows at a time."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.conf import settings
from django.db import connections, transaction
from django.db.models import BinaryField, Case, F, Model, Q, QuerySet, Subquery, When

from protocols.tree_proofs import inclusion, proof_text
from stock.models import Certificate, CertificateText, Fact, FactText, Log, Site, StoredFile
from stock.queries.audit import Span
from stock.queries.signing_keys import states_of_keys
from stock.queries.status import NEVER_AGAIN
from stock.queries.tree_proofs import note_at, roots

CHUNK = 2000
# Who exports does not change what there is to export.
OF_NO_ACCOUNT = "export_made"
# What makes the entries of a site readable, although the organisation told it.
OF_ORGANISATION = ("signing_key_set", "species_set", "supplier_set", "protocol_frozen")
# Else the text of a certificate would not be the one that its own entry names.
SIGNED_ANEW = Q(kind="certificate_signed_anew")


@dataclass(frozen=True, slots=True)
class Book:
    """A record book up to a size, and which of its entries are wanted."""

    log: UUID
    size: int
    wanted: Q

    @property
    def entries(self) -> QuerySet[Fact]:
        return _of(Fact).filter(self.wanted, log=self.log, seq__lt=self.size).order_by("seq")


@dataclass(frozen=True, slots=True)
class Ground:
    """What a bag is about, and where the record books stand."""

    site: Site
    span: Span
    own: Book
    organisation: Book
    as_of: datetime
    entries: int


def _of(model: type[Model]) -> QuerySet[Any]:
    return model._default_manager.using(settings.REPORTS)


@contextmanager
def one_state() -> Iterator[None]:
    """Everything read inside is one state, whatever is written meanwhile."""
    connection = connections[settings.REPORTS]
    inside = connection.in_atomic_block
    with transaction.atomic(using=settings.REPORTS):
        if connection.vendor == "postgresql" and not inside:
            with connection.cursor() as cursor:
                cursor.execute("set transaction isolation level repeatable read")
        yield


def ground_of(span: Span) -> Ground:
    """Where the record books stand now. The entry that says somebody exported is passed over:
    the same records give the same bag. Five queries."""
    site = _of(Site).select_related("organisation").get(uid=span.site)
    told = _of(Fact).filter(log=span.site).exclude(kind=OF_NO_ACCOUNT).order_by("-seq")
    seq, as_of = told.values_list("seq", "recorded_at")[0]
    own = Book(span.site, seq + 1, _in(span))
    size = _of(Log).values_list("size", flat=True).get(uid=site.organisation_id)
    here = Q(kind="site_set", body__site=str(span.site))
    organisation = Book(site.organisation_id, size, Q(kind__in=OF_ORGANISATION) | here)
    entries = own.entries.count() + organisation.entries.count()
    return Ground(site, span, own, organisation, as_of, entries)


def _in(span: Span) -> Q:
    """Performed or recorded in the span, or about such an entry; and what things are called."""
    inside = Q(performed_at__gte=span.begins, performed_at__lt=span.ends) | Q(
        recorded_at__gte=span.begins, recorded_at__lt=span.ends
    )
    about = Subquery(_of(Fact).filter(inside, log=span.site).values("uid"))
    return inside | Q(about__in=about) | Q(kind__endswith="_set") | SIGNED_ANEW


def leaves_and_entries(book: Book) -> Iterator[tuple[bytes, bytes | None]]:
    """Of every entry of a book its leaf hash, and its bytes where it is wanted. One query."""
    kept = Case(When(book.wanted, then=F("entry")), output_field=BinaryField(null=True))
    rows = _of(Fact).filter(log=book.log, seq__lt=book.size).order_by("seq")
    found = rows.annotate(kept=kept).values_list("leaf", "kept")
    for leaf, entry in found.iterator(chunk_size=CHUNK):
        yield bytes(leaf), None if entry is None else bytes(entry)


def texts_of(book: Book) -> Iterator[dict[str, str]]:
    """Notes and names of the wanted entries that nobody erased, in their order. One query."""
    rows = _of(FactText).filter(fact__in=book.entries.order_by().values("uid"))
    columns = ("fact", "name", "salt", "value")
    found = rows.order_by("fact__seq", "name").values_list(*columns)
    for fact, name, salt, text in found.iterator(chunk_size=CHUNK):
        yield {"fact": str(fact), "name": name, "salt": bytes(salt).hex(), "text": text}


@dataclass(frozen=True, slots=True)
class Signed:
    """A certificate as it was signed, and the proof that its entry stands in the book."""

    number: str
    token: str
    entry: UUID
    proof: str


def certificates_of(book: Book) -> Iterator[Signed]:
    """The certificates issued by wanted entries. Four queries for each."""
    note = note_at(book.log, book.size)
    issued = book.entries.filter(kind="certificate_issued").values_list("uid", "seq", "body")
    for uid, seq, body in issued:
        token = _of(CertificateText).values_list("token", flat=True).get(pk=body["certificate"])
        hashes = roots(book.log, inclusion(seq, book.size))
        yield Signed(body["number"], token, uid, proof_text(seq, hashes, note))


def places_told(site: Site, purpose: str) -> tuple[int, list[int]]:
    """How many certificates the organisation has, and which places of a list people have set
    for those of this site. Two queries."""
    rows = _of(Certificate).filter(organisation=site.organisation_id)
    here = rows.filter(site=site).order_by("counter")
    if purpose == "revocation":
        set_ = here.filter(state__in=NEVER_AGAIN).values_list("revocation_index", flat=True)
    else:
        set_ = here.filter(state="suspended").values_list("suspension_index", flat=True)
    return rows.count(), list(set_)


def documents_of(book: Book) -> Iterator[tuple[str, str]]:
    """Digest and kind of every file that a wanted entry names, each once. Two queries."""
    named: set[str] = set()
    for files in book.entries.exclude(files=[]).values_list("files", flat=True):
        named.update(files)
    rows = _of(StoredFile).filter(site=book.log, sha256__in=named).order_by("sha256")
    yield from rows.values_list("sha256", "kind")


def keys_told(organisation: UUID) -> list[dict[str, Any]]:
    """Every key for certificates that the organisation entered, as JWK. Two queries."""
    told = _of(Fact).filter(log=organisation, kind="signing_key_set").order_by("seq")
    states = states_of_keys(organisation, "certificate")
    found: dict[str, dict[str, Any]] = {}
    for body in told.values_list("body", flat=True):
        if body["purpose"] == "certificate" and body.get("jwk"):
            found[body["kid"]] = {**body["jwk"], "state": states[body["kid"]]}
    return list(found.values())
