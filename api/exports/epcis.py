"""Records of a span as EPCIS 2.0 JSON-LD, written event by event in constant memory.

CBV-compatible: with business steps of our own where CBV has none.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from uuid import UUID, uuid5

import orjson
from django.conf import settings

from protocols.clocks import utc_text
from protocols.epcis import Names, events_of
from stock.queries.audit import Span
from stock.queries.epcis import last_entry_at, reports

MEDIA_TYPE = "application/ld+json"


@dataclass(frozen=True, slots=True)
class Document:
    """One file: all events of a span, as the record book held them at one size."""

    name: str
    site: UUID
    span: Span
    tree_size: int

    def lines(self) -> Iterator[bytes]:
        """The file, a line for each event. The same range gives the same bytes."""
        names = Names(settings.ADDRESS)
        yield _head(self, names) + b'"epcisBody":{"eventList":[\n'
        between = b""
        for one in reports(self.span, self.tree_size):
            for event in events_of(one.told, names, one.around, one.put):
                yield between + orjson.dumps(event)
                between = b",\n"
        yield b"\n]}}\n"


def documents(site: UUID, span: Span, tree_size: int) -> Iterator[Document]:
    """The EPCIS documents of a span: one, named by its days."""
    days = f"{span.begins:%Y-%m-%d}-{span.ends:%Y-%m-%d}"
    yield Document(f"events-{days}.jsonld", site, span, tree_size)


def _head(one: Document, names: Names) -> bytes:
    """All members but the body. Its date is that of the state of the data, not of today."""
    begins, ends = utc_text(one.span.begins), utc_text(one.span.ends)
    made = last_entry_at(one.site, one.tree_size) or one.span.begins
    head = {
        "@context": names.context(),
        "id": f"urn:uuid:{uuid5(one.site, f'epcis/{begins}/{ends}/{one.tree_size}')}",
        "type": "EPCISDocument",
        "schemaVersion": "2.0",
        "creationDate": utc_text(made),
    }
    return orjson.dumps(head).removesuffix(b"}") + b","
