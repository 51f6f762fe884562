"""Codes as people say them. What a code means is decided elsewhere."""

from django.utils.functional import lazy
from django.utils.translation import gettext

from api.language import later

WORDS = {
    # pieces, kits, containers
    "in_use": later("in use"),
    "dirty": later("dirty"),
    "disinfected": later("disinfected, not seen dry"),
    "drying": later("drying"),
    "ready": later("ready"),
    "incomplete": later("incomplete, not usable"),
    "defective": later("defective"),
    # stays
    "on_time": later("on time"),
    "within_tolerance": later("over, within tolerance"),
    "over": later("over the limit"),
    # series, batches, observation
    "unbroken": later("unbroken"),
    "unproven": later("unproven"),
    "waiting": later("waiting for a decision"),
    "broken": later("broken"),
    "complete": later("complete"),
    "moves": later("in its moves"),
    "observation": later("in observation"),
    "suspected": later("suspected"),
    # what a trace means for a batch
    "affected": later("affected"),
    "not_affected": later("not affected"),
    "watch": later("to be watched"),
    "done": later("done"),
    "closed": later("closed"),
    # why a series ended
    "late": later("moved late"),
    "joined": later("new fish added"),
    "sign": later("a sign was seen"),
    "decision": later("decided by a person"),
    "all_lost": later("no animal left"),
    # certificates
    "valid": later("valid"),
    "partly": later("valid for a part"),
    "suspended": later("suspended"),
    "superseded": later("replaced by a newer one"),
    "revoked": later("revoked"),
    "ended": later("ended"),
    # what a deviation does
    "broke": later("broke the series"),
    "asks": later("needs a decision"),
    "warns": later("worth knowing"),
    # deviations
    "stay_over": later("stay over its limit"),
    "joined_untreated": later("fish without a series joined"),
    "sign_seen": later("sign seen"),
    "sign_confirmed": later("a sign of disease is confirmed"),
    "stay_unproven": later("length of a stay not proven"),
    "late_unconfirmed": later("told late, not confirmed"),
    "two_accounts": later("two accounts of one happening"),
    "count_differs": later("counts differ"),
    "kit_not_ready": later("kit was not ready"),
    "container_not_ready": later("container was not ready"),
    "heater_swapped": later("heater was swapped"),
    "contact_tool": later("a tool touched both"),
    "splash_seen": later("a splash was seen"),
    "limit_shortened": later("limit became shorter"),
    "emergency_review": later("emergency to be looked at"),
    "species_differs": later("another species than the certificate says"),
    "dose_refused": later("given to animals it is not for"),
    "parked": later("reported, does not fit yet"),
    "water_mismatch": later("water did not match"),
    "reading_missing": later("a reading is missing"),
    "instrument_in_doubt": later("instrument in doubt"),
    "proximity": later("close to another container"),
    "out_of_range": later("water out of range"),
    "water_young": later("water mixed for too short"),
    "chlorine_left": later("chlorine left in the water"),
    "hours_unknown": later("hours without a reading"),
    "round_missing": later("days without a round"),
    "entries_on_silent_device": later("a silent tablet may hold entries"),
    # animals that are gone
    "culled": later("culled"),
    "presumed_lost": later("presumed lost"),
    "found_alive": later("found alive"),
    # standing
    "asked": later("asked"),
    "happened": later("it happened"),
    "emergency": later("emergency"),
    "forward": later("forward"),
    "back": later("back"),
    "person_day": later("hands of a day"),
    "make": later("make of water"),
    "way_same_container": later("the same container"),
    "way_same_water": later("the same water"),
    "way_make_of_water": later("a make of water"),
    "way_came_out_of": later("came out of them"),
    "way_consignment": later("the same consignment"),
    "way_supplier": later("the same supplier"),
    "way_kit": later("the same kit"),
    "way_piece": later("a piece of it"),
    "way_instrument": later("an instrument"),
    "way_person_day": later("hands of that day"),
    "way_near": later("close by"),
    "way_water": later("water carried"),
    "way_splash": later("a splash"),
    "way_tool": later("a tool"),
    "way_hands": later("hands"),
}


def plain(code: object) -> str:
    """The words of a code; one without words of its own is said with spaces."""
    name = str(code)
    known = WORDS.get(name)
    return str(known) if known else gettext(name.replace("_", " ") or "-")


def named(code: object) -> str:
    """`plain`, said when it is shown: for choices that are written down before anybody asks."""
    return lazy(plain, str)(code)
