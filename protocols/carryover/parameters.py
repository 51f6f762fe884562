"""Low, central and high parameter set of the carry-over model, with where each figure is from.

Marks: *seen* in an abstract or the opening of a text; *recalled* from memory, unread; *fitted*
so that the model gives the seen figures; *assumed*, a planning value. Whoever changes a number
changes its mark here, and VERSION. Sources by their letter in SOURCES.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

VERSION = "carry-over-1"

DEFAULT_LOAD = 5.0  # trophonts on an animal of unknown origin; assumed, within S20
DEFAULT_PRIOR_CYSTS = 5.0  # what unknown last users left; assumed

SOURCES: Mapping[str, str] = {
    "S1": "Colorni 1985, Dis Aquat Org 1:19-22, doi 10.3354/dao001019",
    "S5": "Water temperature affects C. irritans development (large yellow croaker), abstract",
    "S6": "Cheung, Nigrelli, Ruggieri 1979, J Fish Dis 2:93-97",
    "S8": "Yoshinaga 2001, Fish Pathology 36:231-235, doi 10.3147/jsfp.36.231",
    "S11": "Diggles & Lester 1996, J Parasitol 82:45-51",
    "S13": "Container rotation study, Aquaculture 2018, doi 10.1016/j.aquaculture.2017.11.024",
    "S15": "Yambot, Song, Sung 2003, Dis Aquat Org 54:147-156",
    "S16": "Watanabe et al. 2020, Fish Pathology 55:38, doi 10.3147/jsfp.55.38",
    "S17": "Theront swimming and release, Aquaculture 2015, abstract",
    "S20": "Diggles & Lester 1996, wild fish, doi 10.3354/dao025159",
    "S42": "Killing effect of treatments on eggs of Heterobothrium and cysts of C. irritans",
    "N1": "Gene activity by stage, Parasites & Vectors 2016, doi 10.1186/s13071-016-1919-1",
    "N2": "Parasites & Vectors 2016, doi 10.1186/s13071-016-1550-1",
    "N3": "Watanabe, How, Zenke, Itoh, Yoshinaga, propagation on black molly, abstract",
    "N4": "Practice of keepers, transfers every three days, after Burgess & Matthews 1994",
    "N7": "McCallum 1982, Ichthyophthirius, doi 10.1017/S0031182000056250",
}


@dataclass(frozen=True, slots=True)
class Parameters:
    """One set. Reference hours are hours of development at 25 C; sigmas are of logarithms."""

    name: str
    trophont_median: float  # reference h; fitted S1, N4
    trophont_sigma: float
    tomont_median: float  # reference h; fitted S1, S6, N3, N4
    tomont_sigma: float
    tomont_slope: float  # per C; fitted S6, S13
    slow_share: float  # of cysts; fitted S1 (28 d)
    drop_out: float  # per h outside the window; fitted S16 ("mostly")
    hatch_out: float  # per h outside the window; fitted S16, S17
    viable: float  # share of cysts that develop; fitted S5, S6
    theronts: float  # mean per cyst; seen N2, N3
    infect: float  # chance over a theront's life; recalled, direction N7
    infectivity_half: float  # h; fitted to "much reduced by 6-8 h" (S1)
    settle_h: float  # mean hours that a cyst is loose; seen S5, S6, recalled
    fresh: float  # share of arrivals infected just now; assumed
    dead_viable: float  # share of unripe ones on a carcass that still make cysts; assumed, S15
    dead_leave_h: float  # mean hours until they have left it; assumed, S15
    disinfect_survive: float  # share of cysts; assumed, S42 found none
    dry_decade_h: float  # hours of drying for a tenfold fall; assumed, S42 none at 24 h
    trophont_slope: float = 0.075  # per C; fitted S11, S13, N1
    trophont_cold: float = 0.10  # more per C below 22; fitted S13
    tomont_cold: float = 0.08  # more per C below 22; fitted S13
    slow_ratio: float = 2.2  # of medians; fitted S1
    slow_sigma: float = 0.45
    drop_in: float = 1.0  # per h within a window of 3 h; fitted S16
    hatch_in: float = 1.2
    flat: float = 0.09  # per h where light never changes; assumed, the same mean wait
    theronts_shape: float = 4.0  # of the negative binomial; assumed
    infectivity_power: float = 5.0  # fitted
    load_k: float = 0.6  # of the negative binomial over animals; fitted S20


CENTRAL = Parameters(
    name="central",
    trophont_median=92.0,
    trophont_sigma=0.20,
    tomont_median=120.0,
    tomont_sigma=0.19,
    tomont_slope=0.085,
    slow_share=0.05,
    drop_out=0.012,
    hatch_out=0.010,
    viable=0.7,
    theronts=250.0,
    infect=0.10,
    infectivity_half=6.5,
    settle_h=8.0,
    fresh=0.25,
    dead_viable=0.5,
    dead_leave_h=5.0,
    disinfect_survive=1e-3,
    dry_decade_h=8.0,
)
LOW = replace(
    CENTRAL,
    name="low",
    trophont_median=84.0,
    trophont_sigma=0.18,
    tomont_median=150.0,
    drop_out=0.006,
    hatch_out=0.005,
    viable=0.5,
    theronts=150.0,
    infect=0.05,
    infectivity_half=5.0,
    settle_h=4.0,
    fresh=0.10,
    dead_viable=0.3,
    dead_leave_h=8.0,
    disinfect_survive=1e-4,
    dry_decade_h=6.0,
)
HIGH = replace(
    CENTRAL,
    name="high",
    trophont_median=100.0,
    trophont_sigma=0.24,
    tomont_median=104.0,
    tomont_sigma=0.18,
    tomont_slope=0.100,
    slow_share=0.08,
    drop_out=0.025,
    hatch_out=0.020,
    viable=0.9,
    theronts=300.0,
    infect=0.15,
    infectivity_half=8.0,
    settle_h=12.0,
    fresh=0.50,
    dead_viable=0.8,
    dead_leave_h=3.0,
    disinfect_survive=1e-2,
    dry_decade_h=12.0,
)
SETS: Mapping[str, Parameters] = {each.name: each for each in (LOW, CENTRAL, HIGH)}


def parameters(chosen: str | Parameters) -> Parameters:
    """A set by its name (low, central, high) or as it is. ValueError for another name."""
    if isinstance(chosen, Parameters):
        return chosen
    if chosen not in SETS:
        raise ValueError(f"parameter_set is {chosen!r}; it must be one of low, central, high")
    return SETS[chosen]
