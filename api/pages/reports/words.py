"""What the reports are called, what each says, and the heads of their columns."""

from collections.abc import Mapping

from api.language import later
from api.pages.words import plain
from stock.queries.reports import Column

TITLES: Mapping[str, str] = {
    "mass-balance": later("Mass balance"),
    "intervals": later("Stays and their limits"),
    "equipment": later("Containers and kits before each use"),
    "deaths": later("Deaths by cause"),
    "medicines": later("Medicines and doses"),
    "water": later("Water, instruments and makes"),
    "corrections": later("Corrections"),
    "late-entries": later("Told late"),
    "certificates": later("Certificates and what became of them"),
}
SAYS: Mapping[str, str] = {
    "mass-balance": later(
        "Received, less dead on arrival, dead, culled, sold, returned and missing: what is left"
        " is here. Each line of a packing list and each batch closes by itself."
    ),
    "intervals": later(
        "Every stay with its limit; where it was longer, what was decided, by whom and when."
    ),
    "equipment": later(
        "For every use: the last disinfection with its strength and time of contact, who saw it"
        " dry, and how long it was dry before animals came in."
    ),
    "deaths": later(
        "Every loss with fate, cause, how certain that is, what was done with it, and who told"
        " it when."
    ),
    "medicines": later(
        "What was given into which water, to how many, with lot, expiry, prescription and dose."
        " The litres are those of the fill mark. No stock of medicines is kept here."
    ),
    "water": later(
        "Readings with their instrument and its last check, makes of water, and what was"
        " filled."
    ),
    "corrections": later(
        "Old value, new value, why and by whom. The first entry stays as it was told."
    ),
    "late-entries": later(
        "What was recorded in these days long after it happened, why, and who confirmed it."
    ),
    "certificates": later(
        "Each certificate with what it excepts, and whether it was suspended, lifted, replaced"
        " or revoked since, by whom and why."
    ),
}
HEADS: Mapping[str, str] = {
    "of": later("Of"),
    "code": later("Code"),
    "waybill": later("Waybill"),
    "supplier": later("Supplier"),
    "species": later("Species"),
    "container": later("Container"),
    "listed": later("Listed"),
    "received": later("Received"),
    "dead_on_arrival": later("Dead on arrival"),
    "left_in_bags": later("Left in bags"),
    "placed": later("Placed"),
    "born_here": later("Born here"),
    "passed_on": later("Passed on to other batches"),
    "held": later("Accounted for"),
    "alive": later("Alive"),
    "dead": later("Dead"),
    "culled": later("Culled"),
    "escaped": later("Escaped"),
    "sampled": later("Sampled"),
    "unaccounted": later("Unaccounted"),
    "presumed_lost": later("Presumed lost"),
    "sold": later("Sold"),
    "on_the_way": later("On the way"),
    "returned": later("Returned"),
    "difference": later("Difference"),
    "batch": later("Batch"),
    "kit": later("Kit"),
    "began": later("Began"),
    "ended": later("Ended"),
    "stay": later("Stay"),
    "limit": later("Limit"),
    "over": later("Over by"),
    "verdict": later("Verdict"),
    "question": later("Question"),
    "decided": later("Decided"),
    "decided_by": later("Decided by"),
    "decided_at": later("Decided at"),
    "reason": later("Reason"),
    "sort": later("Sort"),
    "label": later("Label"),
    "used_from": later("Used from"),
    "disinfected_at": later("Disinfected"),
    "agent": later("Agent"),
    "mg_per_l": later("mg/L"),
    "strength": later("Strength"),
    "contact": later("Time of contact"),
    "rinse": later("Rinse"),
    "disinfected_by": later("Disinfected by"),
    "seen_dry_at": later("Seen dry"),
    "seen_dry_by": later("Seen dry by"),
    "dry_for": later("Dry for"),
    "state": later("State"),
    "why": later("Why"),
    "found": later("Found"),
    "last_seen": later("Last seen alive"),
    "line": later("Line"),
    "fate": later("Fate"),
    "count": later("Count"),
    "cause": later("Cause"),
    "cause_more": later("More of the cause"),
    "certainty": later("How certain"),
    "method": later("Method"),
    "authority": later("Authority"),
    "note": later("Note"),
    "recorded": later("Recorded"),
    "told_by": later("Told by"),
    "entry": later("Entry"),
    "given": later("Given"),
    "product": later("Product"),
    "lot": later("Lot"),
    "expires": later("Expires"),
    "prescription": later("Prescription"),
    "protocol": later("Protocol"),
    "amount": later("Amount"),
    "unit": later("Unit"),
    "fill_mark_l": later("Fill mark, L"),
    "dose": later("Dose"),
    "given_by": later("Given by"),
    "at": later("When"),
    "what": later("What"),
    "quantity": later("Quantity"),
    "value": later("Value"),
    "instrument": later("Instrument"),
    "checked": later("Instrument checked"),
    "check": later("Check"),
    "check_got_expected": later("Got / expected"),
    "make": later("Make"),
    "by": later("By"),
    "of_entry": later("Of entry"),
    "of_at": later("Which happened"),
    "field": later("Field"),
    "old": later("Old value"),
    "new": later("New value"),
    "happened": later("Happened"),
    "told": later("Told"),
    "late_by": later("Late by"),
    "entries": later("Entries"),
    "done_by": later("Done by"),
    "confirmed_by": later("Confirmed by"),
    "confirmed_at": later("Confirmed at"),
    "number": later("Number"),
    "exceptions": later("Exceptions"),
    "by_rule": later("By rule"),
    "deliveries": later("Deliveries with it"),
    "token_sha256": later("SHA-256 of the signed text"),
}
CODES: Mapping[str, str] = {
    "fact_corrected": later("corrected"),
    "fact_withdrawn": later("withdrawn"),
    "fact_contradicted": later("contradicted"),
    "confirmed": later("confirmed"),
    "account_decided": later("one account chosen"),
    "deviation_decided": later("question decided"),
    "parked_settled": later("settled"),
    "identity_corrected": later("species put right"),
    "certificate_issued": later("issued"),
    "certificate_suspended": later("suspended"),
    "certificate_lifted": later("suspension lifted"),
    "certificate_superseded": later("replaced by a newer one"),
    "certificate_revoked": later("revoked"),
    "certificate_ended": later("ended"),
    "reading_taken": later("reading"),
    "readings_taken": later("values of a probe"),
    "filled": later("filled"),
    "water_changed": later("water changed"),
    "topped_up": later("topped up"),
    "water_made": later("water made"),
    "make_checked": later("make measured again"),
    "instrument_checked": later("instrument checked"),
    "measured": later("measured"),
    "not_measured": later("not measured"),
    "rinsed": later("rinsed"),
    "not_rinsed": later("not rinsed"),
    "dead_on_arrival": later("dead on arrival"),
    "found_dead": later("found dead"),
    "doa_reversed": later("dead on arrival, taken back"),
    "not_confirmed": later("nobody confirmed it yet"),
    "by_rule": later("by rule"),
    "batch_moved": later("batch moved"),
    "batch_placed": later("batch placed"),
    "loss_recorded": later("loss recorded"),
    "disinfected": later("disinfected"),
    "seen_dry": later("seen dry"),
    "line": later("line"),
    "batch": later("batch"),
    "settled": later("settled"),
    "keep": later("series kept"),
    "restart": later("series begun anew"),
    "void": later("void"),
    "within_tolerance": later("over, within tolerance"),
}


def head(column: Column) -> str:
    """The head of a column as it is read."""
    return str(HEADS[column.name])


def said(code: object) -> str:
    """A code as it is read in a report; nothing for none."""
    if code is None:
        return ""
    known = CODES.get(str(code))
    return str(known) if known else plain(code)
