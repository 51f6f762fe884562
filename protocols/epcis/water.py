"""Water and care as EPCIS events: readings, fillings, food, doses.

Units are UN/ECE Recommendation 20 there, UCUM here.
"""

from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta
from typing import Any

from protocols.clocks import parse_utc, utc_text
from protocols.epcis.form import Event, Names, Told, later, object_event, own

# Our unit: theirs, and what sort of quantity it is.
UNITS = {
    "Cel": ("CEL", "Temperature"),
    "[degF]": ("FAH", "Temperature"),
    "mS/cm": ("H61", "Conductivity"),
    "uS/cm": ("G42", "Conductivity"),
    "S/m": ("D10", "Conductivity"),
    "mg/L": ("M1", "MassConcentration"),
    # What the milligrams are of is said by the exact unit beside it.
    "mg/L N": ("M1", "MassConcentration"),
    "mg/L NH3": ("M1", "MassConcentration"),
    "mg/L NH4": ("M1", "MassConcentration"),
    "g/L": ("GL", "MassConcentration"),
    "ug/L": ("H29", "MassConcentration"),
    "g/kg": ("NX", "Dimensionless"),
    "[ppth]": ("NX", "Dimensionless"),
    "L": ("LTR", "Volume"),
    "us_gal": ("GLL", "Volume"),
    "imp_gal": ("GLI", "Volume"),
    "m3": ("MTQ", "Volume"),
    "mL": ("MLT", "Volume"),
    "g": ("GRM", "Mass"),
    "kg": ("KGM", "Mass"),
    "%": ("P1", "Dimensionless"),
}
# InChIKeys of what is dissolved, after IUPAC International Chemical Identifier.
CHLORINE = "https://identifiers.org/inchikey:WQYVRQLZKVEZGA-UHFFFAOYSA-N"
AMMONIA = "https://identifiers.org/inchikey:QGZKDVFQNNGYKY-UHFFFAOYSA-N"
SUBSTANCES = {
    "total_ammonia": AMMONIA,
    "free_ammonia": AMMONIA,
    "oxygen": "https://identifiers.org/inchikey:MYMOFIZGZYHOMD-UHFFFAOYSA-N",
    "total_chlorine": CHLORINE,
    "free_chlorine": CHLORINE,
    "chlorine": CHLORINE,
}


def report(quantity: str, value: object, unit: str, **more: Any) -> Event:
    """One value. A unit that EPCIS has no code for is kept as a term of our own."""
    code, sort = UNITS.get(unit, (None, "Dimensionless"))
    said: Event = {"type": sort, "value": float(str(value)), **more}
    if code:
        said["uom"] = code
    if sort == "MassConcentration" and quantity in SUBSTANCES:
        said["chemicalSubstance"] = SUBSTANCES[quantity]
    exact = own(parameter=quantity, exactly=str(value), unit=unit)
    return {**said, **exact}


def reading(told: Told, names: Names) -> Iterator[Event]:
    """One value that somebody read."""
    body = told.body
    how = own(
        method=body.get("method"),
        phScale=body.get("ph_scale"),
        reportedAs=body.get("reported_as"),
        temperatureCelsius=body.get("temperature_c"),
    )
    values = [report(body["quantity"], body["value"], body["unit"], **how)]
    meta: Event = {"time": utc_text(told.at)}
    if "instrument" in body:
        meta["deviceID"] = names.of("obj", body["instrument"])
    yield _sensed(body["container"], names, meta, values)


def probe(told: Told, names: Names) -> Iterator[Event]:
    """Values of a probe, so many seconds apart."""
    body, start = told.body, parse_utc(told.body["start"])
    values = [
        report(
            body["quantity"], value, body["unit"], time=later(start, n * int(body["step_s"]))
        )
        for n, value in enumerate(body["values"])
    ]
    meta = {
        "startTime": utc_text(start),
        "endTime": utc_text(until(told)),
        "deviceID": names.of("obj", body["probe"]),
    }
    yield _sensed(body["container"], names, meta, values)


def until(told: Told) -> datetime:
    """When a report is over: no value in an event may be later than the event."""
    body = told.body
    if told.kind == "disinfected":
        return max(told.at, parse_utc(body["ended_at"]))
    if told.kind != "readings_taken":
        return told.at
    last = max(len(body["values"]) - 1, 0) * int(body["step_s"])
    return parse_utc(body["start"]) + timedelta(seconds=last)


def _sensed(
    container: object, names: Names, meta: Event, values: list[Event], step: str = ""
) -> Event:
    sensed = [{"sensorMetadata": meta, "sensorReport": values}]
    event = object_event("OBSERVE", step or "sensor_reporting")
    event["epcList"] = [names.of("obj", container)]
    return {**event, "sensorElementList": sensed}


def watered(told: Told, names: Names) -> Iterator[Event]:
    """Water into a container, or all of it renewed in part."""
    body = told.body
    make = names.of("obj", body["make"]) if "make" in body else None
    volume = [report("volume", body["volume_l"], "L")]
    meta = {"time": utc_text(told.at)}
    step = names.step(
        {"filled": "filling", "topped_up": "topping-up"}.get(told.kind, "renewing")
    )
    yield {**_sensed(body["container"], names, meta, volume, step), **own(make=make)}


def mixed(told: Told, names: Names) -> Iterator[Event]:
    """A make of water, with what was measured of it."""
    body, meta = told.body, {"time": utc_text(told.at)}
    values = [
        report("volume", body["volume_l"], "L"),
        report("salinity", body["salinity"], "1"),
        report("temperature", body["temperature_c"], "Cel"),
        report("total_chlorine", body["total_chlorine_mg_l"], "mg/L"),
    ]
    yield _sensed(body["make"], names, meta, values, names.step("mixing"))


def disinfected(told: Told, names: Names) -> Iterator[Event]:
    """Of no use from then on, until somebody saw it dry."""
    body = told.body
    event = object_event("OBSERVE", names.step("disinfecting"), epcList=_things(body, names))
    event["persistentDisposition"] = {"set": ["unavailable"], "unset": ["available"]}
    if "mg_per_l" in body:
        meta = {"startTime": body["started_at"], "endTime": body["ended_at"]}
        strength = [report(_agent(body), body["mg_per_l"], "mg/L")]
        event["sensorElementList"] = [{"sensorMetadata": meta, "sensorReport": strength}]
    steps = own(agent=body["agent"], cleaned=body["cleaned"], rinsed=body["rinsed"])
    yield {**event, **steps}


def _agent(body: Mapping[str, Any]) -> str:
    return "chlorine" if str(body["agent"]).casefold() in ("chlorine", "bleach") else "agent"


def seen(told: Told, names: Names) -> Iterator[Event]:
    """Seen dry, or found wet."""
    dry = told.kind == "seen_dry"
    event = object_event("OBSERVE", "inspecting", "conformant" if dry else "non_conformant")
    event["epcList"] = _things(told.body, names)
    ready, other = ("available", "unavailable") if dry else ("unavailable", "available")
    event["persistentDisposition"] = {"set": [ready], "unset": [other]}
    yield event


def _things(body: Mapping[str, Any], names: Names) -> list[str]:
    return [names.of("obj", uid) for uid in body["subjects"]]


def cared(told: Told, names: Names) -> Iterator[Event]:
    """Emptied, fed, dosed: steps that CBV has no word for."""
    body = told.body
    step = {"emptied": "emptying", "fed": "feeding", "dose_given": "dosing"}[told.kind]
    said = own(
        searched=body.get("searched"),
        food=body.get("food"),
        grams=body.get("amount_g"),
        product=body.get("product"),
        amount=body.get("amount") if told.kind == "dose_given" else None,
        unit=body.get("unit"),
        lot=body.get("lot"),
        prescription=body.get("prescription"),
    )
    event = object_event("OBSERVE", names.step(step))
    event["epcList"] = [names.of("obj", body["container"])]
    yield {**event, **said}


def looked_at(told: Told, names: Names) -> Iterator[Event]:
    """A round: whoever is in these containers was looked at; what was found, others say."""
    containers = [names.of("obj", uid) for uid in told.body["looked_at"]]
    if containers:
        event = object_event("OBSERVE", "inspecting")
        odd = [names.of("obj", one["container"]) for one in told.body["exceptions"]]
        yield {**event, "epcList": containers, **own(odd=odd or None)}


def checked(told: Told, names: Names) -> Iterator[Event]:
    """An instrument against a standard."""
    body = told.body
    found = "conformant" if body["passed"] else "non_conformant"
    said = own(standard=body["standard"], expected=body["expected"], got=body["got"])
    event = object_event("OBSERVE", "inspecting", found)
    event["epcList"] = [names.of("obj", body["instrument"])]
    yield {**event, **said}
