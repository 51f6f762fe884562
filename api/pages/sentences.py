"""Each kind of fact as one plain sentence. Times and people stand beside it, not in it."""

from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from decimal import Decimal
from typing import Any

from api.pages.amounts import litres, mass, reading
from api.pages.words import plain
from protocols.units import Units

Body = Mapping[str, Any]
Name = Callable[[Any], str]
Sentence = Callable[[Body, Name], str]
MeasuredSentence = Callable[[Body, Name, Units], str]


def sentence(kind: str, body: Body, name: Name, units: Units) -> str:
    """What the fact says, with amounts as this person reads them; the record keeps what was
    typed. A kind without words of its own is said by its name."""
    if kind in MEASURED:
        return MEASURED[kind](body, name, units)
    said = SENTENCES.get(kind)
    return said(body, name) if said else f"{plain(kind)}".capitalize()


def _several(uids: Iterable[Any], name: Name, most: int = 6) -> str:
    names = _drawn_together(sorted({name(uid) for uid in uids}))
    more = len(names) - most
    return ", ".join(names[:most]) + (f" and {more} more" if more > 0 else "")


def _drawn_together(names: list[str]) -> list[str]:
    """Pieces bear the label of their kit: more than two of them are said by it."""
    kits = Counter(one.partition(" ")[0] for one in names if " " in one)
    large = {kit for kit, count in kits.items() if count > 2}
    shown = {
        f"{kit} ({kits[kit]} pieces)" if (kit := one.partition(" ")[0]) in large else one
        for one in names
    }
    return sorted(shown)


def _placed(body: Body, name: Name) -> str:
    count = sum(one["count"] for one in body["from"])
    return f"{count} placed in {name(body['container'])}{_kit(body, name)}"


def _moved(body: Body, name: Name) -> str:
    text = f"Moved to {name(body['container'])}{_kit(body, name)}"
    if body["counts"]:
        text += f", counted {' and '.join(str(one) for one in body['counts'])}"
    return text + (f", {body['missing']} not found" if body["missing"] else "")


def _kit(body: Body, name: Name) -> str:
    return f" with kit {name(body['kit'])}" if body.get("kit") else " without a kit"


def _lost(body: Body, name: Name) -> str:
    cause = f", {', '.join(body['cause'])}" if body["cause"] else ""
    return f"{body['count']} {plain(body['fate'])}{cause}"


def _found(body: Body, name: Name) -> str:
    how = "alive" if body["alive"] else "dead"
    return f"{body['count']} found again {how} in {name(body['container'])}"


def _reading(body: Body, name: Name, units: Units) -> str:
    said = reading(units, body["quantity"], body["value"], body["unit"], body.get("convention"))
    value = f"{plain(body['quantity'])} {said}"
    instrument = f", read with {name(body['instrument'])}" if body.get("instrument") else ""
    return f"{name(body['container'])}: {value}{instrument}"


def _disinfected(body: Body, name: Name) -> str:
    strength = f" {body['mg_per_l']} mg/L" if body.get("mg_per_l") else ""
    how = [f"{body['agent']}{strength}{'' if body['measured'] else ', not measured'}"]
    how += ["not cleaned before"] if not body["cleaned"] else []
    how += ["rinsed"] if body["rinsed"] else ["not rinsed"]
    how += ["neutralised"] if body.get("neutralised") else []
    return f"Disinfected {_several(body['subjects'], name)}: {', '.join(how)}"


def _fitted(body: Body, name: Name) -> str:
    text = f"{name(body['piece'])} fitted to {name(body.get('kit') or body.get('container'))}"
    return text + (f" in place of {name(body['replaces'])}" if body.get("replaces") else "")


def _checked(body: Body, name: Name) -> str:
    result = "passed" if body["passed"] else "failed"
    values = f"expected {body['expected']}, got {body['got']}"
    return f"{name(body['instrument'])} checked on {body['standard']}: {values}, {result}"


def _counted_line(body: Body, name: Name) -> str:
    box = f", box {body['box']}" if body.get("box") else ""
    return f"{name(body['line'])}{box}: {body['received']} received, {body['doa']} DOA"


def _list(body: Body, name: Name) -> str:
    total = sum(one["listed"] for one in body["lines"])
    lines = len(body["lines"])
    return f"Packing list of {name(body['supplier'])}: {total} listed in {lines} lines"


def _contact(body: Body, name: Name) -> str:
    thing = f" ({name(body['thing'])})" if body.get("thing") else ""
    return f"From {name(body['from'])} to {name(body['to'])} by {plain(body['way'])}{thing}"


def _corrected(body: Body, name: Name) -> str:
    was = f", before {body['old']}" if "old" in body else ""
    return f"Corrected: {plain(body['field'])} is {body.get('new', 'nothing')}{was}"


def _decided(body: Body, name: Name) -> str:
    return f"Decided about {plain(body['rule'])}: {plain(body['decision'])}"


def _settled(body: Body, name: Name) -> str:
    if not body.get("attribution"):
        return "Settled: the report is void and counts for nothing"
    parts = (f"{one['count']} of {name(one['batch'])}" for one in body["attribution"])
    return f"Settled: it counts for {', '.join(parts)}"


def _signs(body: Body, name: Name) -> str:
    return f"Seen on {body['affected']}: {', '.join(plain(one) for one in body['signs'])}"


def _incident(body: Body, name: Name) -> str:
    where = body.get("container") or body.get("batch")
    return f"Incident in {name(where)}: {plain(body['kind'])}"


def _round(body: Body, name: Name) -> str:
    text = f"Round in {name(body['room'])}: {len(body['looked_at'])} containers looked at"
    exceptions = (f"{name(one['container'])} {one['what']}" for one in body["exceptions"])
    return "; ".join([text, *exceptions])


def _certificate(text: str) -> Sentence:
    return lambda body, name: f"Certificate {name(body['certificate'])} {text}"


def _thing(what: str) -> Sentence:
    return lambda body, name: f"{what} {body['label']} set up or changed"


def _dispatched(body: Body, name: Name) -> str:
    return f"{body['count']} handed over"


SENTENCES: dict[str, Sentence] = {
    "organisation_set": lambda body, name: f"Organisation {body['name']}",
    "site_set": lambda body, name: f"Site {body['name']}, time zone {body['zone']}",
    "rules_set": lambda body, name: "Rules of the site changed",
    "hours_set": lambda body, name: "Staffed hours changed",
    "shift_set": lambda body, name: f"Shift of {name(body['person'])}",
    "room_set": _thing("Room"),
    "room_closed": lambda body, name: f"{name(body['room'])} closed for people: {body['why']}",
    "room_opened": lambda body, name: f"{name(body['room'])} open for people again",
    "rack_set": _thing("Rack"),
    "system_set": _thing("System"),
    "container_set": _thing("Container"),
    "piece_set": _thing("Piece"),
    "kit_set": _thing("Kit"),
    "instrument_set": _thing("Instrument"),
    "piece_fitted": _fitted,
    "piece_defective": lambda body, name: f"{name(body['piece'])} defective: {body['what']}",
    "instrument_checked": _checked,
    "disinfected": _disinfected,
    "emptied": lambda body, name: (
        f"{name(body['container'])} emptied"
        + (" and searched" if body["searched"] else ", not searched")
    ),
    "seen_dry": lambda body, name: f"Seen dry: {_several(body['subjects'], name)}",
    "found_wet": lambda body, name: f"Found wet: {_several(body['subjects'], name)}",
    "list_applied": _list,
    "consignment_delivered": lambda body, name: "Boxes delivered",
    "line_counted": _counted_line,
    "line_matched": lambda body, name: f"{name(body['line'])} is {name(body['species'])}",
    "doa_reversed": lambda body, name: f"{body['count']} DOA of {name(body['line'])} live",
    "batch_placed": _placed,
    "batch_moved": _moved,
    "counted": lambda body, name: f"Counted {' and '.join(map(str, body['counts']))}",
    "loss_recorded": _lost,
    "missing_recorded": lambda body, name: (
        f"{body['count']} not found; {name(body['container'])} to be searched"
    ),
    "found_again": _found,
    "presumed_lost": lambda body, name: f"{body['count']} presumed lost",
    "born_here": lambda body, name: f"{body['count']} born here",
    "readings_taken": lambda body, name: (
        f"{name(body['container'])}: "
        f"{len(body['values'])} values of {plain(body['quantity'])} by a probe"
    ),
    "make_checked": lambda body, name: "A make of water was measured again",
    "protocol_frozen": lambda body, name: (
        f"Version {body['protocol']}@{body['version']} frozen"
    ),
    "fed": lambda body, name: f"{name(body['container'])} fed: {body['food']}",
    "dose_given": lambda body, name: (
        f"{name(body['container'])}: {body['product']} {body['amount']} {body['unit']}"
    ),
    "round_made": _round,
    "contact_seen": _contact,
    "sign_seen": _signs,
    "incident_recorded": _incident,
    "fact_corrected": _corrected,
    "fact_withdrawn": lambda body, name: "Withdrawn: it was not so",
    "fact_contradicted": lambda body, name: f"Contradicted: {body['what']}",
    "confirmed": lambda body, name: (
        "Confirmed by an outside second"
        if body.get("outside")
        else "Confirmed by a second person"
    ),
    "parked_settled": _settled,
    "account_decided": lambda body, name: "Decided which account stands",
    "deviation_decided": _decided,
    "hold_placed": lambda body, name: f"Hold: {body['why']}",
    "hold_lifted": lambda body, name: "Hold lifted",
    "animals_dispatched": _dispatched,
    "animals_returned": lambda body, name: f"{body['count']} came back, {body['state']}",
    "batch_sealed": lambda body, name: f"History sealed, {body['entries']} entries",
    "certificate_issued": lambda body, name: (
        f"Certificate {body['number']} issued for {body['count']}"
    ),
    "certificate_suspended": _certificate("suspended"),
    "certificate_lifted": _certificate("valid again"),
    "certificate_superseded": _certificate("replaced by a newer one"),
    "certificate_revoked": _certificate("revoked"),
    "certificate_ended": _certificate("ended"),
}
MEASURED: dict[str, MeasuredSentence] = {
    "reading_taken": _reading,
    "water_made": lambda body, name, units: (
        f"Water made in {body['vat']}: {litres(units, body['volume_l'])}"
    ),
    "salt_received": lambda body, name, units: (
        f"{mass(units, Decimal(body['mass_kg']))} of salt came"
    ),
    "salt_counted": lambda body, name, units: (
        f"{mass(units, Decimal(body['mass_kg']))} of salt are there"
    ),
    "filled": lambda body, name, units: (
        f"{name(body['container'])} filled, {litres(units, body['volume_l'])}"
    ),
    "water_changed": lambda body, name, units: (
        f"{name(body['container'])}: {litres(units, body['volume_l'])} of water changed"
    ),
    "topped_up": lambda body, name, units: (
        f"{name(body['container'])} topped up, {litres(units, body['volume_l'])}"
    ),
}
