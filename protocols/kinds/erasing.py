"""Kinds about what is kept and what was erased: legal holds, texts, names of people."""

from collections.abc import Mapping

from protocols.kinds.kind import Kind, Rank, of_organisation

# Of an erased name or text only that it was erased: the entry that had it keeps its digest.
ERASING: Mapping[str, Kind] = {
    "legal_hold_placed": Kind(Rank.DECIDED, {"legal_hold": "uid", "batches": ["uid"]}),
    "legal_hold_lifted": Kind(Rank.DECIDED, {"legal_hold": "uid"}),
    "texts_erased": Kind(Rank.DECIDED, {"of": ["uid"]}),
    "name_erased": of_organisation({"person": "uid"}),
}
