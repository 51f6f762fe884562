"""What makes a formula a quantity: its arguments are checked before, its answer after.

`@quantity` reads the domains from the signature and what is shown with an answer from the
docstring, so that both stand once, beside the formula.
"""

import functools
import inspect
import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from numbers import Real
from typing import Annotated, Any, Literal, TypeVar, get_args, get_origin, get_type_hints

from protocols import slips
from protocols.said import said
from protocols.water.domains import Domain
from protocols.water.maths import Level, ends, is_series
from protocols.water.refused import Fault, OutOfDomain, fault, out_of_domain

PARTS = ("Unit", "Formula", "Range", "Source")
REQUIRED = inspect.Parameter.empty
F = TypeVar("F", bound=Callable[..., Any])


@dataclass(frozen=True, slots=True)
class Argument:
    """One argument: a number of a domain, or one of some words."""

    name: str
    domain: Domain | None
    words: tuple[str, ...]
    default: Any
    series: bool

    @property
    def required(self) -> bool:
        return self.default is REQUIRED


@dataclass(frozen=True, slots=True)
class Flag:
    """What has to be said with an answer that is given all the same."""

    flag: str
    name: str
    text: str


Flags = Callable[[Mapping[str, Any], Any], Iterator[Flag]]


@dataclass(frozen=True, slots=True)
class Quantity:
    """One quantity: how it is computed, what it takes, and what is shown with its answer."""

    name: str
    compute: Callable[..., Any]
    arguments: Mapping[str, Argument]
    says: str
    unit: str
    formula: str
    range: str
    source: str
    cautions: tuple[str, ...]
    more_flags: Flags

    def checked(self, given: Mapping[str, Any]) -> dict[str, Any]:
        """The arguments as floats, series or words. Raises OutOfDomain with every fault."""
        read, faults = self.read(given)
        if faults:
            raise OutOfDomain(*faults)
        return read

    def read(self, given: Mapping[str, Any]) -> tuple[dict[str, Any], list[Fault]]:
        """What could be read, and every fault."""
        faults = [
            fault(name, "given", said("one of {listed}", listed=", ".join(self.arguments)))
            for name in given
            if name not in self.arguments
        ]
        found: dict[str, Any] = {}
        for name, argument in self.arguments.items():
            try:
                value = given.get(name, argument.default)
                if value is argument.default and not argument.required:
                    found[name] = value
                else:
                    found[name] = _value(argument, value)
            except OutOfDomain as error:
                faults += error.faults
        return found, faults

    def answer(self, given: Mapping[str, Any]) -> Any:
        """The value for these arguments. Raises OutOfDomain."""
        return self._computed(self.checked(given))

    def answer_with_flags(self, given: Mapping[str, Any]) -> "Answer":
        """The value, and everything that has to be said with it. Raises OutOfDomain."""
        read = self.checked(given)
        value = self._computed(read)
        flags = [one for name in read for one in self._unusual(name, read[name])]
        return Answer(value, self.unit, (*flags, *self.more_flags(read, value)))

    def _computed(self, read: Mapping[str, Any]) -> Any:
        try:
            value = self.compute(**read)
        except OverflowError as error:
            raise out_of_domain(self.name, "without end", "a finite answer") from error
        if is_series(value):
            return value
        if not math.isfinite(value):
            raise out_of_domain(self.name, "without end", "a finite answer")
        return float(value)

    def _unusual(self, name: str, value: Any) -> Iterator[Flag]:
        domain = self.arguments[name].domain
        if domain is None or value is None:
            return
        least, most = ends(value)
        if least < domain.usual[0] or most > domain.usual[1]:
            usual = said(
                "{usual:g} to {usual_2:g}", usual=domain.usual[0], usual_2=domain.usual[1]
            )
            text = said(
                "{name} is outside {usual}, for which the formula is made.",
                name=name,
                usual=usual,
            )
            yield Flag("unusual", name, text)


@dataclass(frozen=True, slots=True)
class Answer:
    """A value in its unit, and what has to be said with it."""

    value: Any
    unit: str
    flags: tuple[Flag, ...]


QUANTITIES: dict[str, Quantity] = {}


def no_flags(given: Mapping[str, Any], value: Any) -> Iterator[Flag]:
    """Nothing beyond the usual ranges of the arguments."""
    return iter(())


def quantity(*, cautions: tuple[str, ...] = (), flags: Flags = no_flags) -> Callable[[F], F]:
    """Make a function a quantity under its own name; it takes keyword arguments only."""

    def made(function: F) -> F:
        one = _quantity(function, cautions, flags)
        QUANTITIES[one.name] = one

        @functools.wraps(function)
        def checked(**given: Any) -> Any:
            return one.answer(given)

        return checked  # type: ignore[return-value]

    return made


def _quantity(
    function: Callable[..., Any], cautions: tuple[str, ...], flags: Flags
) -> Quantity:
    text = inspect.getdoc(function) or ""
    told = {part: _part(text, part) for part in PARTS}
    hints = get_type_hints(function, include_extras=True)
    arguments = [
        _argument(one, hints[one.name])
        for one in inspect.signature(function).parameters.values()
    ]
    return Quantity(
        name=function.__name__,
        compute=function,
        arguments={one.name: one for one in arguments},
        says=text.partition("\n")[0],
        unit=told["Unit"],
        formula=told["Formula"],
        range=told["Range"],
        source=told["Source"],
        cautions=cautions,
        more_flags=flags,
    )


def _part(text: str, part: str) -> str:
    """One named paragraph of a docstring, as one line."""
    lines = text.splitlines()
    start = next(n for n, line in enumerate(lines) if line.startswith(f"{part}: "))
    more = []
    for line in lines[start + 1 :]:
        if not line.startswith(" "):
            break
        more.append(line.strip())
    return " ".join([lines[start].removeprefix(f"{part}: "), *more])


def _argument(parameter: inspect.Parameter, hint: Any) -> Argument:
    """Read from `Annotated[float, DOMAIN]` or `Literal[...]`, or one of these or None."""
    kinds = [one for one in (hint, *get_args(hint)) if get_origin(one) in (Annotated, Literal)]
    kind, domain, words, series = kinds[0], None, (), False
    if get_origin(kind) is Literal:
        words = get_args(kind)
    else:
        number, domain = get_args(kind)
        series = number is Level
    return Argument(parameter.name, domain, words, parameter.default, series)


def _value(argument: Argument, value: Any) -> Any:
    name = argument.name
    if argument.domain is None:
        if value in argument.words:
            return value
        said = "missing" if value is REQUIRED else value
        meant = slips.gallon(value) if isinstance(value, str) else None
        raise out_of_domain(name, said, f"one of {', '.join(argument.words)}", meant)
    if value is REQUIRED:
        raise out_of_domain(name, "missing", argument.domain.allowed)
    number = value if argument.series and is_series(value) else _number(name, value, argument)
    least, most = ends(number)
    if not argument.domain.holds(least, most):
        raise OutOfDomain(_outside(name, argument.domain, least, most))
    return number


def _number(name: str, value: Any, argument: Argument) -> float:
    assert argument.domain is not None
    if isinstance(value, bool) or not isinstance(value, Real | Decimal):
        raise out_of_domain(name, value, f"a number: {argument.domain.allowed}")
    try:
        return float(value)
    except (OverflowError, ValueError) as error:  # too large a whole number, a signalling NaN
        raise out_of_domain(name, "without end", argument.domain.allowed) from error


def _outside(name: str, domain: Domain, least: float, most: float) -> Fault:
    wrong = most if domain.holds(least, least) or least > domain.most else least
    guess = domain.guess(wrong) if domain.guess and math.isfinite(wrong) else None
    bounds = [None if math.isinf(one) else one for one in (domain.least, domain.most)]
    return fault(name, wrong, domain.allowed, guess, *bounds)
