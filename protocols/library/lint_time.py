"""What is unsafe about observation, and about leaving a system without fish."""

from collections.abc import Iterator, Mapping
from datetime import timedelta
from decimal import Decimal

from protocols.library.findings import (
    ALWAYS,
    DAY,
    Finding,
    error,
    missing_cautions,
    warning,
)
from protocols.library.values import Fallow, Watch
from protocols.said import said

OBSERVATION_LEAST = 14 * DAY
VELVET = 21 * DAY
WATCHED_EVERY = DAY
NEVER_UP_TO_C = Decimal("20.0")
# The least days without fish by organism, and the water they are known for (above so many C).
FALLOW_LEAST: Mapping[str, tuple[tuple[Decimal, int], ...]] = {
    "cryptocaryon": ((Decimal("20.0"), 72), (Decimal("26.9"), 42)),
    "velvet": ((Decimal("26.9"), 42),),
    "brooklynella": ((Decimal("20.0"), 42),),
    "flukes": ((Decimal("24.9"), 28),),
    "uronema": (),
}

WATCH_SOURCE = (
    "Signs of flukes as late as day 10 of quarantine (practice of keepers); velvet takes 7 to "
    "20 days for one cycle (Smith and Schwarz, Virginia Tech 600-200)"
)
FALLOW_SOURCE = (
    "Practice of keepers: 72 to 76 days where the temperature is not known, 42 to 45 at 27 C "
    "or warmer; no safe figure up to 20 C (Yoshinaga 2001; Cheung et al. 1979)"
)
FALLOW_CAUTIONS = {"oxygen": ("oxygen", "no safe figure")}


def about_watch(found: Watch) -> Iterator[Finding]:
    """Every finding about an observation."""
    yield from about_days(found.lasts)
    if min(one.every for one in found.watched) > WATCHED_EVERY:
        text = "Nobody looks at every animal daily."
        yield error("watched_too_seldom", text, WATCH_SOURCE)
    yield from missing_cautions(found.cautions, ALWAYS)


def about_days(lasts: timedelta) -> Iterator[Finding]:
    """How long animals are observed."""
    days = lasts // DAY
    if lasts < OBSERVATION_LEAST:
        text = said("{days} days of observation end before flukes are sure to show.", days=days)
        yield error("observation_short", text, WATCH_SOURCE, days=days, least_days=14)
    elif lasts < VELVET:
        text = said(
            "{days} days may end within one cycle of velvet: 21 are the careful figure.",
            days=days,
        )
        yield warning(
            "observation_within_velvet", text, WATCH_SOURCE, days=days, careful_days=21
        )


def about_fallow(found: Fallow) -> Iterator[Finding]:
    """Every finding about leaving a system without fish."""
    if found.never_up_to_c < NEVER_UP_TO_C:
        yield error(
            "fallow_cold",
            said(
                "It claims a safe figure for water of {never_up_to_c} C or colder.",
                never_up_to_c=NEVER_UP_TO_C,
            ),
            FALLOW_SOURCE,
            never_up_to_c=str(found.never_up_to_c),
            bound_c=str(NEVER_UP_TO_C),
        )
    for one in found.steps:
        if one.days is None:
            continue
        known = [days for above, days in _known(one.organism) if above <= one.above_c]
        least = min(known, default=None)
        if least is None or one.days < least:
            yield error(
                "fallow_short",
                said(
                    "{days} days without fish for {organism} above {above_c} C: ",
                    days=one.days,
                    organism=one.organism,
                    above_c=one.above_c,
                )
                + (
                    said("{least} are the least known.", least=least)
                    if least
                    else "no figure is known."
                ),
                FALLOW_SOURCE,
                days=one.days,
                least_days=least,
                above_c=str(one.above_c),
            )
    if not any("invertebrates" in one for one in found.restarts_at):
        text = "It does not say that anything put in, animal or not, starts it anew."
        yield error("fallow_restart_unsaid", text, FALLOW_SOURCE)
    yield from missing_cautions(found.cautions, {**ALWAYS, **FALLOW_CAUTIONS})


def _known(organism: str) -> tuple[tuple[Decimal, int], ...]:
    named = organism.lower()
    return next((steps for name, steps in FALLOW_LEAST.items() if name in named), ())
