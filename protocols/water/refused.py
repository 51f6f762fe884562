"""How an argument is refused: by its name, with its value and what would be allowed."""

from dataclasses import dataclass

from protocols.said import said


@dataclass(frozen=True, slots=True)
class Fault:
    """One argument that cannot be so. `least` and `most` only where a range was left."""

    name: str
    value: str
    allowed: str
    text: str
    did_you_mean: str | None = None
    least: float | None = None
    most: float | None = None
    of_unit: bool = False  # not the number is wrong but the unit beside it

    def numbers(self) -> dict[str, str]:
        """The fault as numbers of a reason, all as text; what is not known is left out."""
        found = {
            "name": self.name,
            "value": self.value,
            "allowed": self.allowed,
            "least": None if self.least is None else f"{self.least:g}",
            "most": None if self.most is None else f"{self.most:g}",
            "did_you_mean": self.did_you_mean,
        }
        return {name: text for name, text in found.items() if text is not None}


class OutOfDomain(ValueError):
    """Arguments out of the domain of a quantity: all of them, the first under its own names."""

    def __init__(self, first: Fault, *others: Fault) -> None:
        self.faults = (first, *others)
        super().__init__(" ".join(one.text for one in self.faults))

    @property
    def name(self) -> str:
        return self.faults[0].name

    @property
    def value(self) -> str:
        return self.faults[0].value

    @property
    def allowed(self) -> str:
        return self.faults[0].allowed

    @property
    def did_you_mean(self) -> str | None:
        return self.faults[0].did_you_mean


def out_of_domain(
    name: str, value: object, allowed: str, meant: str | None = None
) -> OutOfDomain:
    """The refusal of one argument, where the reason lies in several of them together."""
    return OutOfDomain(fault(name, value, allowed, meant))


def fault(
    name: str,
    value: object,
    allowed: str,
    meant: str | None = None,
    least: float | None = None,
    most: float | None = None,
) -> Fault:
    """A fault with its sentence."""
    shown = f"{value:g}" if isinstance(value, float) else str(value)[:40]
    text = said(
        "{name} is {shown}, allowed is {allowed}.", name=name, shown=shown, allowed=allowed
    )
    if meant is not None:
        text += said(" Did you mean {meant}?", meant=meant)
    return Fault(name, shown, allowed, text, meant, least, most)
