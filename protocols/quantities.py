"""What can be measured in water: units, sane ranges, and what else must be said of a value.

Values stay as they were typed. Ranges here only catch slips (microsiemens typed as
millisiemens, a decimal point lost); what is good for animals is said by protocols and rules.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation
from uuid import UUID

from protocols import slips
from protocols.ruled import Range, Reason
from protocols.said import said

CELSIUS, FAHRENHEIT = "Cel", "[degF]"
# Of units whose code is no word.
WORDS = {"1": "", "[pH]": "", CELSIUS: " C", FAHRENHEIT: " F"}
# Test sets show the weight of the nitrogen alone or of the whole molecule, up to 29 % more.
AMMONIA_AS = ("N", "NH3", "NH4")
PH_SCALES = ("NBS", "total", "free")
VALUE_MOST = 20


@dataclass(frozen=True, slots=True)
class Quantity:
    """How one quantity is said: its units (UCUM) with a sane range each, both ends allowed.

    `off_most` is how far an instrument may be off a standard and still pass: in the unit of
    the standard, or as a fraction of what was expected where `off_is_fraction`.
    """

    ranges: Mapping[str, Range]
    off_most: Decimal
    off_is_fraction: bool = False
    needs_instrument: bool = False
    ph_scales: tuple[str, ...] = ()
    reported_as: tuple[str, ...] = ()
    must_report_as: bool = False


@dataclass(frozen=True, slots=True)
class Measured:
    """One value as it was typed, and what was said with it."""

    quantity: str
    value: str
    unit: str
    instrument: UUID | None = None
    ph_scale: str | None = None
    reported_as: str | None = None


@dataclass(frozen=True, slots=True)
class InstrumentKnown:
    """What the rules must know of an instrument."""

    label: str
    quantities: frozenset[str] = field(default_factory=frozenset)
    convention: str | None = None


def _range(least: str, most: str) -> Range:
    return Range(Decimal(least), Decimal(most))


def _dissolved(most: str, *, reported_as: tuple[str, ...] = (), must: bool = False) -> Quantity:
    """A concentration in milligrams per litre; an instrument may be off by a tenth."""
    return Quantity(
        {"mg/L": _range("0", most)},
        off_most=Decimal("0.1"),
        off_is_fraction=True,
        reported_as=reported_as,
        must_report_as=must,
    )


QUANTITIES: Mapping[str, Quantity] = {
    "temperature": Quantity(
        {CELSIUS: _range("-2", "45"), FAHRENHEIT: _range("28.4", "113")}, Decimal("0.5")
    ),
    "salinity": Quantity({"1": _range("0", "50")}, Decimal("1.0"), needs_instrument=True),
    "specific_gravity": Quantity(
        {"1": _range("0.990", "1.050")}, Decimal("0.001"), needs_instrument=True
    ),
    "conductivity": Quantity(
        {"mS/cm": _range("0", "100")}, Decimal("0.03"), off_is_fraction=True
    ),
    "ph": Quantity({"[pH]": _range("0", "14")}, Decimal("0.1"), ph_scales=PH_SCALES),
    "total_ammonia": _dissolved("1000", reported_as=AMMONIA_AS, must=True),
    "free_ammonia": _dissolved("100", reported_as=AMMONIA_AS),
    "nitrite": _dissolved("1000", reported_as=("N", "NO2")),
    "nitrate": _dissolved("10000", reported_as=("N", "NO3")),
    "oxygen": _dissolved("50"),
    "oxygen_saturation": Quantity({"%": _range("0", "500")}, Decimal("5")),
    "total_chlorine": _dissolved("10000"),
    "free_chlorine": _dissolved("10000"),
    "copper": _dissolved("100"),
    "alkalinity": _dissolved("10000"),
}


def faults(
    measured: Measured, instrument: InstrumentKnown | None, *, at: str = ""
) -> Iterator[Reason]:
    """Every reason why a value cannot be read as this quantity, with a pointer below `at`.

    `instrument` is the one that `measured` names, None where it names none.
    """
    quantity = QUANTITIES.get(measured.quantity)
    if quantity is None:
        known = ", ".join(QUANTITIES)
        yield _fault(
            f"{at}/quantity", said("Name one of these quantities: {known}.", known=known)
        )
        return
    yield from _number_faults(measured, quantity, at)
    yield from _qualifier_faults(measured, quantity, at)
    yield from _instrument_faults(measured, quantity, instrument, at)


def in_own_unit(quantity: str, value: Decimal, unit: str) -> tuple[str, Decimal] | None:
    """The value as rules compare it: temperature in degrees Celsius, the rest as it is said.

    None for what cannot be compared with anything: an unknown quantity or unit, and a specific
    gravity, which means a salinity only together with a convention and a temperature.
    """
    known = QUANTITIES.get(quantity)
    if known is None or unit not in known.ranges or quantity == "specific_gravity":
        return None
    if unit == FAHRENHEIT:
        return quantity, (value - 32) * 5 / 9
    return quantity, value


def passes(quantity: str, *, expected: str, got: str) -> bool:
    """Whether an instrument is near enough to a standard; both values in the same unit.

    An unknown quantity passes only without any difference.
    """
    off = abs(Decimal(got) - Decimal(expected))
    known = QUANTITIES.get(quantity)
    if known is None:
        return off == 0
    most = known.off_most * abs(Decimal(expected)) if known.off_is_fraction else known.off_most
    return off <= most


def _number_faults(measured: Measured, quantity: Quantity, at: str) -> Iterator[Reason]:
    allowed = quantity.ranges.get(measured.unit)
    if allowed is None:
        units = ", ".join(quantity.ranges)
        yield _fault(
            f"{at}/unit",
            said("{quantity} is said in {units}.", quantity=measured.quantity, units=units),
        )
    number = _number(measured.value)
    if number is None:
        yield _fault(f"{at}/value", "Type a number such as 25.4.")
    elif allowed is not None and not allowed.holds(number):
        least, most = str(allowed.least), str(allowed.most)
        words = measured.quantity.replace("_", " ").capitalize()
        unit = WORDS.get(measured.unit, f" {measured.unit}")
        text = said(
            "{words} lies between {least} and {most}{unit}.",
            words=words,
            least=least,
            most=most,
            unit=unit,
        )
        numbers = {"value": measured.value, "least": least, "most": most}
        meant = slips.meant(measured.quantity, float(number), measured.unit)
        if meant is not None:
            text += said(" Did you mean {meant}?", meant=meant)
            numbers["did_you_mean"] = meant
        yield _fault(f"{at}/value", text, **numbers)


def _qualifier_faults(measured: Measured, quantity: Quantity, at: str) -> Iterator[Reason]:
    scale, as_ = measured.ph_scale, measured.reported_as
    if quantity.ph_scales and scale not in quantity.ph_scales:
        scales = ", ".join(quantity.ph_scales)
        yield _fault(
            f"{at}/ph_scale", said("Say the scale of this pH: {scales}.", scales=scales)
        )
    if not quantity.ph_scales and scale is not None:
        yield _fault(
            f"{at}/ph_scale", said("{quantity} has no pH scale.", quantity=measured.quantity)
        )
    if as_ is None:
        if quantity.must_report_as:
            choice = ", ".join(quantity.reported_as)
            yield _fault(
                f"{at}/reported_as",
                said("Say as what it is reported: {choice}.", choice=choice),
            )
    elif as_ not in quantity.reported_as:
        yield _fault(
            f"{at}/reported_as",
            said(
                "{quantity} is not reported as {reported}.",
                quantity=measured.quantity,
                reported=as_,
            ),
        )


def _instrument_faults(
    measured: Measured, quantity: Quantity, instrument: InstrumentKnown | None, at: str
) -> Iterator[Reason]:
    pointer = f"{at}/instrument"
    if instrument is None:
        if quantity.needs_instrument:
            yield _fault(
                pointer,
                said(
                    "Say with which instrument {quantity} was read.", quantity=measured.quantity
                ),
            )
        return
    if measured.quantity not in instrument.quantities:
        others = ", ".join(sorted(instrument.quantities))
        yield _fault(
            pointer,
            said("{instrument} measures {others}.", instrument=instrument.label, others=others),
        )
    elif measured.quantity == "specific_gravity" and not instrument.convention:
        text = said(
            "Nobody said by which convention {instrument} shows specific gravity.",
            instrument=instrument.label,
        )
        yield _fault(pointer, text)


def _number(text: str) -> Decimal | None:
    try:
        number = Decimal(text)
    except InvalidOperation:
        return None
    return number if number.is_finite() and len(text) <= VALUE_MOST else None


def _fault(pointer: str, text: str, **numbers: str) -> Reason:
    return Reason(
        code="unreadable", rule="quantities", text=text, pointer=pointer, numbers=numbers
    )
