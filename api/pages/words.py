"""Codes as people say them. What a code means is decided elsewhere."""

WORDS = {
    # pieces, kits, containers
    "in_use": "in use",
    "dirty": "dirty",
    "disinfected": "disinfected, not seen dry",
    "drying": "drying",
    "ready": "ready",
    "incomplete": "incomplete, not usable",
    "defective": "defective",
    # stays
    "on_time": "on time",
    "within_tolerance": "over, within tolerance",
    "over": "over the limit",
    # series, batches, observation
    "unbroken": "unbroken",
    "unproven": "unproven",
    "waiting": "waiting for a decision",
    "broken": "broken",
    "complete": "complete",
    "moves": "in its moves",
    "observation": "in observation",
    "suspected": "suspected",
    "done": "done",
    "closed": "closed",
    # why a series ended
    "late": "moved late",
    "joined": "new fish added",
    "sign": "a sign was seen",
    "decision": "decided by a person",
    "all_lost": "no animal left",
    # certificates
    "valid": "valid",
    "partly": "valid for a part",
    "suspended": "suspended",
    "superseded": "replaced by a newer one",
    "revoked": "revoked",
    "ended": "ended",
    # what a deviation does
    "broke": "broke the series",
    "asks": "needs a decision",
    "warns": "worth knowing",
    # deviations
    "stay_over": "stay over its limit",
    "joined_untreated": "fish without a series joined",
    "sign_seen": "sign seen",
    "sign_confirmed": "a sign of disease is confirmed",
    "stay_unproven": "length of a stay not proven",
    "late_unconfirmed": "told late, not confirmed",
    "two_accounts": "two accounts of one happening",
    "count_differs": "counts differ",
    "kit_not_ready": "kit was not ready",
    "container_not_ready": "container was not ready",
    "heater_swapped": "heater was swapped",
    "contact_tool": "a tool touched both",
    "splash_seen": "a splash was seen",
    "limit_shortened": "limit became shorter",
    "emergency_review": "emergency to be looked at",
    "dose_refused": "given to animals it is not for",
    "parked": "reported, does not fit yet",
    "water_mismatch": "water did not match",
    "reading_missing": "a reading is missing",
    "instrument_in_doubt": "instrument in doubt",
    "proximity": "close to another container",
    "out_of_range": "water out of range",
    "water_young": "water mixed for too short",
    "chlorine_left": "chlorine left in the water",
    "hours_unknown": "hours without a reading",
    "entries_on_silent_device": "a silent tablet may hold entries",
    # animals that are gone
    "culled": "culled",
    "presumed_lost": "presumed lost",
    "found_alive": "found alive",
    # standing
    "asked": "asked",
    "happened": "it happened",
    "emergency": "emergency",
}


def plain(code: object) -> str:
    """The words of a code; one without words of its own is said with spaces."""
    name = str(code)
    return WORDS.get(name, name.replace("_", " "))
