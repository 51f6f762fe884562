"""Each kind of fact as one plain sentence. Times and people stand beside it, not in it."""

from decimal import Decimal

from django.utils.translation import gettext as _

from api.language import later
from api.pages import sentence_forms as forms
from api.pages.amounts import litres, mass
from api.pages.sentence_forms import Body, MeasuredSentence, Name, Sentence
from api.pages.words import plain
from protocols.units import Units


def sentence(kind: str, body: Body, name: Name, units: Units) -> str:
    """What the fact says, with amounts as this person reads them; the record keeps what was
    typed. A kind without words of its own is said by its name."""
    if kind in MEASURED:
        return MEASURED[kind](body, name, units)
    said = SENTENCES.get(kind)
    return said(body, name) if said else f"{plain(kind)}".capitalize()


SENTENCES: dict[str, Sentence] = {
    "organisation_set": lambda body, name: _("Organisation {name}").format(name=body["name"]),
    "site_set": lambda body, name: _("Site {name}, time zone {zone}").format(
        name=body["name"], zone=body["zone"]
    ),
    "rules_set": lambda body, name: _("Rules of the site changed"),
    "hours_set": lambda body, name: _("Staffed hours changed"),
    "shift_set": lambda body, name: _("Shift of {person}").format(person=name(body["person"])),
    "room_set": forms.thing(later("Room")),
    "room_closed": lambda body, name: _("{room} closed for people: {why}").format(
        room=name(body["room"]), why=body["why"]
    ),
    "room_opened": lambda body, name: _("{room} open for people again").format(
        room=name(body["room"])
    ),
    "rack_set": forms.thing(later("Rack")),
    "system_set": forms.thing(later("System")),
    "container_set": forms.thing(later("Container")),
    "piece_set": forms.thing(later("Piece")),
    "kit_set": forms.thing(later("Kit")),
    "instrument_set": forms.thing(later("Instrument")),
    "piece_fitted": forms.fitted,
    "piece_defective": lambda body, name: _("{piece} defective: {what}").format(
        piece=name(body["piece"]), what=body["what"]
    ),
    "instrument_checked": forms.checked,
    "disinfected": forms.disinfected,
    "emptied": lambda body, name: (
        _("{container} emptied").format(container=name(body["container"]))
        + (_(" and searched") if body["searched"] else _(", not searched"))
    ),
    "seen_dry": lambda body, name: _("Seen dry: {what}").format(
        what=forms.several(body["subjects"], name)
    ),
    "found_wet": lambda body, name: _("Found wet: {what}").format(
        what=forms.several(body["subjects"], name)
    ),
    "list_applied": forms.packing_list,
    "consignment_delivered": lambda body, name: _("Boxes delivered"),
    "line_counted": forms.counted_line,
    "line_matched": lambda body, name: _("{line} is {species}").format(
        line=name(body["line"]), species=name(body["species"])
    ),
    "doa_reversed": lambda body, name: _("{count} DOA of {line} live").format(
        count=body["count"], line=name(body["line"])
    ),
    "batch_placed": forms.placed,
    "batch_moved": forms.moved,
    "counted": lambda body, name: _("Counted {listed}").format(
        listed=_(" and ").join(map(str, body["counts"]))
    ),
    "loss_recorded": forms.lost,
    "missing_recorded": lambda body, name: _(
        "{count} not found; {container} to be searched"
    ).format(count=body["count"], container=name(body["container"])),
    "found_again": forms.found,
    "presumed_lost": lambda body, name: _("{count} presumed lost").format(count=body["count"]),
    "born_here": lambda body, name: _("{count} born here").format(count=body["count"]),
    "readings_taken": lambda body, name: _(
        "{container}: {count} values of {quantity} by a probe"
    ).format(
        container=name(body["container"]),
        count=len(body["values"]),
        quantity=plain(body["quantity"]),
    ),
    "make_checked": lambda body, name: _("A make of water was measured again"),
    "protocol_frozen": lambda body, name: _("Version {protocol}@{version} frozen").format(
        protocol=body["protocol"], version=body["version"]
    ),
    "fed": lambda body, name: _("{container} fed: {food}").format(
        container=name(body["container"]), food=body["food"]
    ),
    "dose_given": lambda body, name: (
        f"{name(body['container'])}: {body['product']} {body['amount']} {body['unit']}"
    ),
    "round_made": forms.round_made,
    "shift_handed_over": lambda body, name: _(
        "Shift handed over: {open} open, {late} over the limit"
    ).format(open=body["open"], late=len(body["late"])),
    "visit_opened": lambda body, name: _("A visit was opened: {count} reports").format(
        count=len(body["reports"])
    ),
    "visit_closed": lambda body, name: _("A visit was closed: {shown} pages shown").format(
        shown=body["shown"]
    ),
    "trace_decided": lambda body, name: _("By a trace: {batch} is {decision}").format(
        batch=name(body["batch"]), decision=plain(body["decision"])
    ),
    "legal_hold_placed": lambda body, name: _("A legal hold was placed"),
    "legal_hold_lifted": lambda body, name: _("A legal hold was lifted"),
    "texts_erased": lambda body, name: _("Texts of {count} entries were erased").format(
        count=len(body["of"])
    ),
    "name_erased": lambda body, name: _("A name was erased"),
    "handover_read": lambda body, name: _("Handover read"),
    "contact_seen": forms.contact,
    "sign_seen": forms.signs,
    "incident_recorded": forms.incident,
    "fact_corrected": forms.corrected,
    "fact_withdrawn": lambda body, name: _("Withdrawn: it was not so"),
    "fact_contradicted": lambda body, name: _("Contradicted: {what}").format(what=body["what"]),
    "confirmed": lambda body, name: (
        _("Confirmed by an outside second")
        if body.get("outside")
        else _("Confirmed by a second person")
    ),
    "parked_settled": forms.settled,
    "account_decided": lambda body, name: _("Decided which account stands"),
    "deviation_decided": forms.decided,
    "hold_placed": lambda body, name: _("Hold: {why}").format(why=body["why"]),
    "hold_lifted": lambda body, name: _("Hold lifted"),
    "animals_dispatched": forms.dispatched,
    "animals_returned": lambda body, name: _("{count} came back, {state}").format(
        count=body["count"], state=body["state"]
    ),
    "batch_sealed": lambda body, name: _("History sealed, {entries} entries").format(
        entries=body["entries"]
    ),
    "certificate_issued": lambda body, name: _(
        "Certificate {number} issued for {count}"
    ).format(number=body["number"], count=body["count"]),
    "certificate_signed_anew": lambda body, name: _("Certificate signed with another key"),
    "certificate_suspended": forms.certificate(later("suspended")),
    "certificate_lifted": forms.certificate(later("valid again")),
    "certificate_superseded": forms.certificate(later("replaced by a newer one")),
    "certificate_revoked": forms.certificate(later("revoked")),
    "certificate_ended": forms.certificate(later("ended")),
}
MEASURED: dict[str, MeasuredSentence] = {
    "reading_taken": forms.water_read,
    "water_made": lambda body, name, units: _("Water made in {vat}: {litres}").format(
        vat=body["vat"], litres=litres(units, body["volume_l"])
    ),
    "salt_received": lambda body, name, units: _("{mass} of salt came").format(
        mass=mass(units, Decimal(body["mass_kg"]))
    ),
    "salt_counted": lambda body, name, units: _("{mass} of salt are there").format(
        mass=mass(units, Decimal(body["mass_kg"]))
    ),
    "filled": lambda body, name, units: _("{container} filled, {litres}").format(
        container=name(body["container"]), litres=litres(units, body["volume_l"])
    ),
    "water_changed": lambda body, name, units: _(
        "{container}: {litres} of water changed"
    ).format(container=name(body["container"]), litres=litres(units, body["volume_l"])),
    "topped_up": lambda body, name, units: _("{container} topped up, {litres}").format(
        container=name(body["container"]), litres=litres(units, body["volume_l"])
    ),
}
