"""Codes that are words themselves, for the catalogues: `words.plain` says them."""

from django.utils.translation import gettext_noop as said

PEOPLE = (
    *(said("keeper"), said("manager"), said("veterinarian"), said("auditor")),
    *(said("authority"), said("inspector"), said("buyer")),
)
EQUIPMENT = (
    *(
        said("heater"),
        said("thermometer"),
        said("shelter"),
        said("air line"),
        said("air stone"),
    ),
    *(said("lid"), said("transfer cup"), said("net"), said("pump"), said("other")),
    *(said("disinfected"), said("in use"), said("incomplete"), said("box"), said("cylinder")),
)
ANIMALS = (
    *(said("alive"), said("dead"), said("culled"), said("escaped"), said("sampled")),
    *(said("unaccounted"), said("presumed lost"), said("sold"), said("returned"), said("doa")),
    *(
        said("born here"),
        said("on the way"),
        said("dispatched"),
        said("received"),
        said("placed"),
    ),
    *(said("unknown"), said("transport"), said("water"), said("disease"), said("injury")),
    *(said("aggression"), said("jump"), said("handling"), said("not eating")),
)
SIGNS = (
    *(said("white spots"), said("fine dust"), said("fast breathing"), said("scratching")),
    *(said("cloudy eyes"), said("sores"), said("frayed fins"), said("much slime")),
    *(said("swimming oddly"), said("sure"), said("likely"), said("guess")),
)
READ = (
    *(said("temperature"), said("salinity"), said("ph"), said("oxygen"), said("total ammonia")),
    *(said("free ammonia"), said("nitrite"), said("nitrate"), said("total chlorine")),
    *(said("specific gravity"), said("conductivity"), said("copper"), said("ammonia")),
    *(said("source"), said("target"), said("higher"), said("lower"), said("raise")),
)
WAYS = (
    *(said("tool"), said("hands"), said("splash"), said("feeding"), said("proximity")),
    *(said("shared water"), said("jumped"), said("lid off"), said("leak"), said("shifted")),
    *(said("heater failed"), said("air failed"), said("sound"), said("missing"), said("near")),
    *(said("certain"), said("likely way"), said("possible"), said("unlikely"), said("direct")),
    *(
        said("fillings"),
        said("water changes"),
        said("top ups"),
        said("filled"),
        said("changed"),
    ),
    *(said("topped up"), said("measured"), said("label"), said("assumed")),
)
DONE = (
    *(said("keep"), said("restart"), said("void"), said("move"), said("search"), said("count")),
    *(said("decide"), said("confirm late"), said("close look"), said("issued"), said("lifted")),
    *(said("running"), said("cancelled"), said("not ready"), said("overdue"), said("open")),
    *(said("to come"), said("done"), said("now")),
    *(said("advised"), said("needed"), said("warning"), said("error")),
)
FIELDS = (
    *(
        said("container"),
        said("kit"),
        said("batch"),
        said("counts"),
        said("reason"),
        said("note"),
    ),
    *(said("value"), said("unit"), said("fate"), said("cause"), said("from"), said("to")),
    *(said("performed at"), said("found at"), said("piece"), said("amount"), said("product")),
)
SUBSTANCES = (
    *(said("chlorine"), said("bleach"), said("vinegar"), said("acid"), said("peroxide")),
    *(said("formalin"), said("chloroquine"), said("praziquantel"), said("fresh water")),
    *(
        said("copper ionic"),
        said("copper chelated"),
        said("hyposalinity"),
        said("ammonia water"),
    ),
    *(said("reducing binder"), said("free copper"), said("product"), said("solution")),
)
