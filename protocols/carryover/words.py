"""A chance in words: two digits at most, and nothing finer than one in a million."""

from math import floor, log10

from protocols.carryover.assessing import Band

FINEST = 1e-6
NO_LIKELY_WAY = 1e-3  # below it a figure is no frequency
BELOW_FINEST = "below one in a million"


def said(band: Band) -> str:
    """A band as a sentence has it: `about 3 in 100,000; could be 1 in 700`."""
    if band.largest == 0:
        return "none: nothing came in"
    central = about(band.central)
    most = at_most(band.largest)
    says_no_more = band.largest < FINEST or central.endswith(most)
    return central if says_no_more else f"{central}; could be {most}"


def about(chance: float) -> str:
    """A chance out of a round number: `about 3 in 100,000`, `about 78 in 100`."""
    if chance < FINEST:
        return BELOW_FINEST
    if chance > 0.985:
        return "nearly certain"
    if chance >= 0.095:
        return f"about {round(100 * chance)} in 100"
    tens = -floor(log10(chance))
    number = round(chance * 10**tens)
    return f"about {number} in {10**tens:,}" if number < 10 else about(10.0 ** (1 - tens))


def at_most(chance: float) -> str:
    """The upper end of a band: `1 in 700`, `48 in 100`."""
    if chance > 0.985:
        return "nearly certain"
    if chance >= 0.095:
        return f"{round(100 * chance)} in 100"
    return f"1 in {_two_digits(1 / max(chance, FINEST)):,}"


def likelihood(chance: float) -> str:
    """The word for a chance; words, since a small figure looks more exact than it is."""
    if chance < NO_LIKELY_WAY:
        return "the model sees no likely way"
    if chance < 0.05:
        return "unlikely"
    if chance < 0.35:
        return "possible"
    if chance < 0.65:
        return "about as likely as not"
    return "likely" if chance < 0.95 else "nearly certain"


def _two_digits(number: float) -> int:
    unit: float = 10 ** (floor(log10(number)) - 1)
    return round(round(number / unit) * unit)
