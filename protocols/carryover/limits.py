"""What the model does not know, in the words in which it is shown; and its plain findings."""

from collections.abc import Mapping, Sequence

LIMITS: Sequence[str] = (
    "An isolate has been described whose cysts hatch within 48-60 hours at 27 C. Against such"
    " an isolate 72-hour moves would often fail and 48-hour moves would hold. The band does not"
    " cover it.",
    "Nobody has measured the outcome of transfer series often enough to calibrate a small"
    ' probability. Figures below about 1 in 1,000 mean "the model sees no likely way", not a'
    " frequency.",
    "Not modelled: parasites shaken loose by the move itself, low oxygen stalls, salinity,"
    " medicines, immunity, host species, cold strains, arrest below 18 C, crowding, deaths"
    " caused by the parasite, loads clumped by fish when a fish dies or is split off, sticking"
    " to net or hands.",
    "Other parasites are not touched by any of this.",
)
# Plain findings that may be offered as advice: what, and what it rests on (`SOURCES`).
FINDINGS: Mapping[str, tuple[str, Sequence[str]]] = {
    "by_day": (
        "Move by day: at night, between midnight and five, the same moves leave 5 to 170 times"
        " as much. This rests on one study of the rhythm, not on trials of moving at night.",
        ("S16",),
    ),
    "warm": (
        "From about 28 C on, move every 48 h instead of 72 h: cysts hatch sooner.",
        ("S6", "S13"),
    ),
    "cold": (
        "Below 22 C add moves, not haste: the parasite stays on the fish longer.",
        ("S11", "S13"),
    ),
}
FLAGS: Mapping[str, str] = {
    "below_18_c": "water below 18 C: reckoned as 18 C",
    "above_32_c": "water above 32 C: reckoned as 32 C",
    "below_22_c": "water below 22 C",
    "above_28_c": "water above 28 C",
    "temperature_unread": "the longest time without a reading of the temperature",
    "load_assumed": "how many parasites came on each fish is not known: 5 are assumed",
    "prior_cysts_assumed": "what the last users of unready gear left is not known: 5 cysts are"
    " assumed",
    "death_hour_assumed": "of a dead fish nobody said when it was last seen: half a day before"
    " is assumed",
    "temperature_assumed": "no temperature was read: 25 C is assumed",
}
