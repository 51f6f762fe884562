"""From the bytes of a definition to what it says: every stage but the moves."""

from hashlib import sha256
from typing import Any

from protocols.library.tables import Table, parse
from protocols.library.values import (
    Agent,
    Clock,
    Definition,
    Dose,
    Fallow,
    FallowStep,
    SalinityChange,
    Stage,
    Times,
    Treatment,
    Veterinarian,
    Watch,
    Watched,
    WaterAsked,
)


def read_definition(data: bytes) -> Definition:
    """A bath, ramp, dose, observation or fallow; its digest is over exactly these bytes.

    Raises BadDefinition for a member too many, too few, or that cannot be so.
    """
    said = Table(parse(data))
    common: dict[str, Any] = {
        "name": said.name("name"),
        "version": said.whole("version"),
        "sha256": sha256(data).hexdigest(),
        "stage": said.word("stage", Stage),
        "title": said.text("title", most=80),
        "addresses": said.texts("addresses"),
        "does_not_cover": said.texts("does_not_cover"),
        "cautions": said.texts("cautions"),
        "sources": said.texts("sources"),
    }
    match common["stage"]:
        case Stage.OBSERVATION:
            found: Definition = _watch(said, common)
        case Stage.FALLOW:
            found = _fallow(said, common)
        case _:
            found = _treatment(said, common)
    said.done()
    return found


def _treatment(said: Table, common: dict[str, Any]) -> Treatment:
    return Treatment(
        **common,
        agents=said.words("agents", Agent),
        doses=tuple(_dose(one) for one in said.tables("dose")),
        times=_times(said.table("time")),
        veterinarian=said.word("veterinarian", Veterinarian),
        refused=said.texts("refused", may_be_empty=True),
        care=said.texts("care", may_be_empty=True),
        watched=tuple(_watched(one) for one in said.tables("watched")),
        stop_signs=said.texts("stop_signs"),
        given_with=said.words("given_with", Agent),
        water=_water(said.table("water")),
        clock=_clock(said.table("clock")) if said.has("clock") else None,
        change=_change(said.table("salinity")) if said.has("salinity") else None,
    )


def _dose(said: Table) -> Dose:
    # Unit and basis may be left out here: that a dose means nothing without them, lint says.
    found = Dose(
        agent=said.word("agent", Agent),
        amount=said.from_to("least", "most"),
        unit=said.text("unit", most=20) if said.has("unit") else "",
        basis=said.text("basis", most=200) if said.has("basis") else "",
        above_c=said.decimal_or_none("above_c"),
        up_to_c=said.decimal_or_none("up_to_c"),
    )
    said.done()
    return found


def _times(said: Table) -> Times:
    found = Times(
        least=said.seconds("least_s"),
        most=said.seconds_or_none("most_s"),
        doses=said.whole("doses") if said.has("doses") else 1,
        apart_least=said.seconds_or_none("apart_least_s"),
        apart_most=said.seconds_or_none("apart_most_s"),
        ramp_least=said.seconds_or_none("ramp_least_s"),
        ramp_most=said.seconds_or_none("ramp_most_s"),
    )
    said.done()
    return found


def _watched(said: Table) -> Watched:
    found = Watched(what=said.text("what", most=200), every=said.seconds("every_s"))
    said.done()
    return found


def _water(said: Table) -> WaterAsked:
    found = WaterAsked(
        temperature_most_c=said.decimal_or_none("temperature_most_c"),
        oxygen_least_percent=said.decimal_or_none("oxygen_least_percent"),
        clear=said.flag("clear") if said.has("clear") else False,
    )
    said.done()
    return found


def _clock(said: Table) -> Clock:
    found = Clock(
        quantity=said.text("quantity", most=40),
        unit=said.text("unit", most=20),
        allowed=said.range("range"),
        needed=said.seconds("needed_s"),
        restarts=said.flag("restarts"),
        gap_most=said.seconds("gap_most_s"),
    )
    said.done()
    return found


def _change(said: Table) -> SalinityChange:
    found = SalinityChange(
        begins=said.decimal("begins"),
        reaches=said.decimal("reaches"),
        down_per_day_most=said.decimal("down_per_day_most"),
        up_per_day_most=said.decimal("up_per_day_most"),
        down_least=said.seconds("down_least_s"),
        up_least=said.seconds("up_least_s"),
    )
    said.done()
    return found


def _watch(said: Table, common: dict[str, Any]) -> Watch:
    return Watch(
        **common,
        lasts=said.seconds("observation_s"),
        watched=tuple(_watched(one) for one in said.tables("watched")),
        stop_signs=said.texts("stop_signs"),
    )


def _fallow(said: Table, common: dict[str, Any]) -> Fallow:
    return Fallow(
        **common,
        steps=tuple(_step(one) for one in said.tables("step")),
        never_up_to_c=said.decimal("never_up_to_c"),
        restarts_at=said.texts("restarts_at"),
    )


def _step(said: Table) -> FallowStep:
    found = FallowStep(
        organism=said.text("organism", most=80),
        above_c=said.decimal("above_c"),
        days=said.whole("days") if said.has("days") else None,
    )
    said.done()
    return found
