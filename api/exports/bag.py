"""The audit bag of a site: everything a stranger needs to check its records, in one zip.

Evidence first: the entries of the record books as they were hashed, a program that checks them,
certificates and keys; then tables; a workbook to look at comes last.
"""

import tempfile
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import IO

import orjson

from api import VERSION
from api.exports.bagit import PIECE, Bag, Member
from api.exports.epcis import documents
from api.exports.exact import described, write_exact
from api.exports.summary import write_summary
from protocols import checkpoint
from protocols.clocks import utc_text
from protocols.credential import Issuer
from protocols.issuing import list_entries
from protocols.signing import seal_bag
from protocols.spreadsheets import safe_file_name
from protocols.status_list import PURPOSES, empty_bits, status_list_payload, with_bit
from stock import files, keys
from stock.queries import bagged
from stock.queries.audit import Span, tables
from stock.queries.bagged import Book, Ground
from stock.queries.tree_proofs import note_at

VERIFIER = Path(__file__).with_name("verifier.py")
TELL_EVERY = 5000
LEFT_OUT = b" -"
READ_ME = """Records of {name} ({site})
from {begins} (included) to {ends} (not included), as known by {as_of}.

To check them without the service that wrote them (Python 3.9 or newer, package cryptography):

    python3 data/verify.py <this folder or its zip>
    python3 data/verify.py <this folder or its zip> --keys jwks.json

Fetch jwks.json yourself from {address}/.well-known/jwks.json: then
nobody can have exchanged the keys together with the bag.

books/<book>/log.jsonl     entries of a record book, each the very bytes that were hashed
books/<book>/leaves.txt    the hash of every entry of that book; " -" behind those left out,
                           which were neither performed nor recorded in these days
books/<book>/texts.jsonl   notes and names of these entries with their salts; erased ones are
                           gone, their digests stay in the entries
books/<book>/checkpoint.txt, vkey.txt   size and root of the book, signed; the key for it
certificates/, proofs/     certificates as signed, and that their entries stand in the book
status/                    which of them were revoked or suspended by then, signed
keys/jwks.json             public keys for certificates, each with its state
epcis/                     what happened, as EPCIS 2.0 JSON-LD (CBV-compatible)
documents/                 photos and papers that entries name, by their SHA-256
tables/                    the records as exact CSV, described by CSVW: not for spreadsheets
summary.xlsx               the same tables to look at: a copy, not the evidence

People are named by the ids of the record book. That all that happened was told, nothing here
can prove; that nothing of what was told was changed or taken away, everything here does.
"""


@dataclass(frozen=True, slots=True)
class Made:
    """What became of it: where the book of the site stood, and how many entries went in."""

    ground: Ground
    entries: int


def write_bag(
    span: Span, address: str, into: IO[bytes], told: Callable[[int, int], None]
) -> Made:
    """Write the bag of one state of the data; `told` hears entries done and of how many.

    Memory does not grow with the span.
    """
    with bagged.one_state():
        ground = bagged.ground_of(span)
        bag = Bag(into, file_name(ground.site.name, span.begins, span.ends, ""))
        writing = _Writing(bag, ground, address, told)
        writing.papers()
        for book in (ground.own, ground.organisation):
            writing.book(book)
        writing.certificates()
        writing.events()
        writing.documents()
        writing.tables()
        bag.close(writing.info(), writing.seal)
    return Made(ground, writing.done)


def file_name(site: str, begins: datetime, ends: datetime, ending: str = ".zip") -> str:
    """The name of the zip; without its ending that of the one folder in it."""
    return safe_file_name(f"audit-{site}-{begins:%Y-%m-%d}-{ends:%Y-%m-%d}", ending)


class _Writing:
    """The parts of one bag, in their order."""

    def __init__(
        self, bag: Bag, ground: Ground, address: str, told: Callable[[int, int], None]
    ) -> None:
        self._bag, self._ground, self._address, self._told = bag, ground, address, told
        self._books: list[dict[str, object]] = []
        self.done = 0

    def papers(self) -> None:
        ground = self._ground
        text = READ_ME.format(
            name=ground.site.name,
            site=ground.site.uid,
            address=self._address,
            **self._moments(),
        )
        self._bag.put("README.txt", text)
        self._bag.put("verify.py", VERIFIER.read_bytes())

    # -- Record books --------------------------------------------------------------------------

    def book(self, book: Book) -> None:
        """Entries go in while their leaves wait in a file, since a zip takes one at a time."""
        where, name = f"books/{book.log}", keys.origin(book.log)
        with tempfile.TemporaryFile() as leaves:
            self._bag.lines(f"{where}/log.jsonl", self._entries(book, leaves))
            leaves.seek(0)
            with self._bag.file(f"{where}/leaves.txt") as member:
                _copy(leaves, member)
        self._bag.lines(f"{where}/texts.jsonl", map(orjson.dumps, bagged.texts_of(book)))
        note = note_at(book.log, book.size)
        vkey = checkpoint.vkey(name, keys.private_key("checkpoint").public_key())
        self._bag.put(f"{where}/checkpoint.txt", note)
        self._bag.put(f"{where}/vkey.txt", vkey + "\n")
        root = checkpoint.root_in(note).hex()
        said = {"log": str(book.log), "size": book.size, "root": root, "vkey": vkey}
        self._books.append(said)

    def _entries(self, book: Book, leaves: IO[bytes]) -> Iterator[bytes]:
        for leaf, entry in bagged.leaves_and_entries(book):
            leaves.write(leaf.hex().encode() + (LEFT_OUT if entry is None else b"") + b"\n")
            if entry is not None:
                self._count()
                yield entry

    def _count(self) -> None:
        self.done += 1
        if self.done % TELL_EVERY == 0:
            self._told(self.done, self._ground.entries)

    # -- What they speak of --------------------------------------------------------------------

    def certificates(self) -> None:
        known = bagged.keys_told(self._ground.site.organisation_id)
        self._bag.put("keys/jwks.json", orjson.dumps({"keys": known}) + b"\n")
        for one in bagged.certificates_of(self._ground.own):
            self._bag.put(f"certificates/{one.number}.jwt", one.token)
            self._bag.put(f"proofs/{one.entry}.tlog-proof", one.proof)
        for purpose in PURPOSES:
            self._bag.put(f"status/{purpose}.jwt", self._status(purpose))

    def _status(self, purpose: str) -> str:
        ground = self._ground
        certificates, places = bagged.places_told(ground.site, purpose)
        bits = empty_bits(list_entries(certificates))
        for place in places:
            bits = with_bit(bits, place)
        issuer = Issuer(self._address, ground.site.organisation.name)
        url = f"{self._address}/status/{ground.site.organisation_id}-{purpose}"
        said = status_list_payload(url, issuer, purpose, bits, ground.as_of)
        return keys.signed(said)

    def documents(self) -> None:
        for digest, kind in bagged.documents_of(self._ground.own):
            path = files.path_of(digest)
            if path.exists():  # else it was erased: its digest stays in the entry
                with (
                    path.open("rb") as file,
                    self._bag.file(f"documents/{digest}.{kind}") as to,
                ):
                    _copy(file, to)

    def events(self) -> None:
        """The same in the words of an open standard, for programs of others."""
        ground = self._ground
        for one in documents(ground.site.uid, ground.span, ground.own.size):
            with self._bag.file(f"epcis/{one.name}") as member:
                for line in one.lines():
                    member.write(line)

    def tables(self) -> None:
        span = self._ground.span
        for table in tables():
            with self._bag.file(f"tables/{table.name}.csv") as member:
                count = write_exact(member.write, table.columns, table.rows(span))
            self._bag.put(f"tables/{table.name}.csv-metadata.json", described(table, count))
        with tempfile.TemporaryFile() as book:
            sheets = ((table, table.rows(span)) for table in tables())
            write_summary(book, sheets, self._ground.as_of)
            book.seek(0)
            with self._bag.file("summary.xlsx") as member:
                _copy(book, member)

    # -- What is said of the whole -------------------------------------------------------------

    def info(self) -> dict[str, str]:
        ground, moments = self._ground, self._moments()
        return {
            "Source-Organization": ground.site.organisation.name,
            "External-Identifier": f"urn:uuid:{ground.site.uid}",
            "External-Description": "Records of {name} from {begins} to {ends}".format(
                name=ground.site.name, **moments
            ),
            "Bagging-Date": f"{ground.as_of:%Y-%m-%d}",
            "Bag-Software-Agent": f"fillmark {VERSION}",
        }

    def seal(self, digests: Mapping[str, str]) -> str:
        said = {
            "log": str(self._ground.site.uid),
            "books": self._books,
            "entries": self.done,
            "from": self._moments()["begins"],
            "to": self._moments()["ends"],
            "as_of": self._moments()["as_of"],
            **digests,
        }
        return seal_bag(said, keys.private_key("certificate"))

    def _moments(self) -> dict[str, str]:
        span, as_of = self._ground.span, self._ground.as_of
        moments = {"begins": span.begins, "ends": span.ends, "as_of": as_of}
        return {name: utc_text(at) for name, at in moments.items()}


def _copy(file: IO[bytes], member: Member) -> None:
    while piece := file.read(PIECE):
        member.write(piece)
