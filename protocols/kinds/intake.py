"""Kinds about suppliers, species, packing lists and what came out of the bags."""

from collections.abc import Mapping

from protocols.bodies import Shape
from protocols.kinds.kind import Kind, Rank, of_organisation

# What the supplier printed is kept whole: a later version of the list is held against it.
LINE: Shape = {
    "line": "uid",
    "box?": "text",
    "boxes?": [{"box": "text", "listed?": "count"}],
    "bag?": "text",
    "code?": "text",
    "text": "text",
    "scientific_name?": "text",
    "species?": "uid",
    "size?": "text",
    "listed": "count",
    "price?": "text",
    "origin?": "text",
    "wild?": "flag",
}
# An entry has less than 64 KiB: a long list is told in several facts of one group.
LIST: Mapping[str, Shape] = {
    "consignment": "uid",
    "supplier": "uid",
    "waybill?": "text",
    "list_version": "positive",
    "file?": "sha256",
    "lines": [LINE],
    "part?": "positive",
    "parts?": "positive",
}
COUNT: Mapping[str, Shape] = {
    "line": "uid",
    "box?": "text",
    "received": "count",
    "doa": "count",
    "wrong_species?": "count",
    "length_cm?": "decimal",
}
CLAIM: Mapping[str, Shape] = {
    "claim": "uid",
    "consignment": "uid",
    "lines": [{"line": "uid", "what": "word", "count": "positive"}],
    "deadline?": "time",
    "warnings?": ["word"],
}
# The name of a supplier may be a person's: it is an erasable text beside the entry.
SUPPLIER: Mapping[str, Shape] = {
    "supplier": "uid",
    "date_order?": "text",
    "decimal?": "text",
    "mapping": "object",
    "claim_terms": "object",
}
SPECIES: Mapping[str, Shape] = {
    "species": "uid",
    "scientific_name": "label",
    "aphia_id?": "positive",
    "groups": ["text"],
    "trade_names": ["text"],
}

INTAKE: Mapping[str, Kind] = {
    "supplier_set": of_organisation(SUPPLIER),
    "species_set": of_organisation(SPECIES),
    "list_applied": Kind(Rank.SET, LIST),
    "consignment_delivered": Kind(
        Rank.DELIVERED, {"consignment": "uid", "delivered_at": "time"}
    ),
    "line_counted": Kind(Rank.COUNTED, COUNT),
    "line_matched": Kind(Rank.SET, {"line": "uid", "species": "uid"}),
    "claim_sent": Kind(Rank.DECIDED, CLAIM),
    "claim_answered": Kind(Rank.DECIDED, {"claim": "uid", "answer": "word", "count?": "count"}),
    "document_added": Kind(
        Rank.DECIDED,
        {"of": "uid", "what": "word", "number?": "text", "valid_until?": "date"},
    ),
}
