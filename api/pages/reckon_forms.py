"""The form of a reckoning, made from the arguments of its quantity, units beside them."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django import forms
from django.forms import BoundField
from django.utils.translation import gettext as _

from api.pages.fields import Figure, One
from api.pages.reckon_words import CHOICES, HELP, LABELS
from protocols.reckoning import Typed, reckon
from protocols.units import SORTS
from protocols.water import Answer, Argument, Fault, OutOfDomain, Quantity

# The two temperatures of a specific gravity are one choice for whoever reads an instrument.
CONVENTION = ("sample_temperature_c", "reference_temperature_c")
CONVENTIONS = {
    unit.name: unit.convention for unit in SORTS["salinity"] if unit.convention is not None
}


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the form: a field, with a field or a word for its unit beside it."""

    field: BoundField
    unit: BoundField | None = None
    word: str = ""


class ReckonForm(forms.Form):
    """Everything may be typed with a comma; nothing is guessed."""

    def __init__(
        self,
        data: Any = None,
        *,
        quantity: Quantity,
        preferred: Mapping[str, str] | None = None,
    ) -> None:
        super().__init__(data)
        self.quantity = quantity
        self.by_convention = set(CONVENTION) <= set(quantity.arguments)
        for name, argument in quantity.arguments.items():
            if not (self.by_convention and name in CONVENTION):
                self._add(name, argument, preferred or {})
        if self.by_convention:
            choices = [(code, code) for code in CONVENTIONS]
            self.fields["convention"] = One(choices, label=LABELS["convention"])

    def rows(self) -> list[Row]:
        """The lines of the form in the order of the arguments."""
        units = {name for name in self.fields if name.endswith("_in")}
        return [self._row(name) for name in self.fields if name not in units]

    def reckoned(self) -> Answer | None:
        """The answer; None before anything is typed, and where anything is refused."""
        if not self.is_bound:
            return None
        self.full_clean()
        try:
            answer = reckon(self.quantity.name, self._typed())
        except OutOfDomain as error:
            for one in error.faults:
                self._refuse(one)
            return None
        return None if self.errors else answer

    def _add(self, name: str, argument: Argument, preferred: Mapping[str, str]) -> None:
        about = {"label": LABELS[name], "help_text": HELP.get(name, "")}
        if argument.domain is None:
            choices = [(word, CHOICES[word]) for word in argument.words]
            first = [] if not argument.required else [("", _("Choose one"))]
            initial = None if argument.required else argument.default
            self.fields[name] = One([*first, *choices], initial=initial, **about)
            return
        initial = argument.default if isinstance(argument.default, float) else None
        shown = None if initial is None else f"{initial:f}".rstrip("0").rstrip(".")
        self.fields[name] = Figure(required=argument.required, initial=shown, **about)
        units = SORTS.get(argument.domain.sort, ())
        if units:
            label = {"aria-label": _("Unit of: {labels}").format(labels=LABELS[name])}
            self.fields[f"{name}_in"] = One(
                [(unit.name, unit.words) for unit in units],
                required=False,
                initial=preferred.get(argument.domain.sort, units[0].name),
                widget=forms.Select(attrs=label),
            )

    def _row(self, name: str) -> Row:
        if f"{name}_in" in self.fields:
            return Row(self[name], self[f"{name}_in"])
        argument = self.quantity.arguments.get(name)
        domain = None if argument is None else argument.domain
        word = "" if domain is None or domain.unit == "1" else domain.unit
        return Row(self[name], None, word)

    def _typed(self) -> dict[str, Typed]:
        given = self.cleaned_data
        found = {
            name: Typed(str(given[name]), str(given.get(f"{name}_in") or ""))
            for name in self.quantity.arguments
            if given.get(name) not in (None, "")
        }
        convention = CONVENTIONS.get(given.get("convention", ""))
        if self.by_convention and convention is not None:
            temperatures = (convention.sample_c, convention.reference_c)
            for name, celsius in zip(CONVENTION, temperatures, strict=True):
                found[name] = Typed(f"{celsius:.6f}")
        return found

    def _refuse(self, fault: Fault) -> None:
        """Beside its field, unless that says something already."""
        name = "convention" if fault.name not in self.fields else fault.name
        if name not in self.fields:
            self.add_error(None, fault.text)
        elif name not in self.errors:
            said = (
                _("Allowed is {allowed}.").format(allowed=fault.allowed)
                if not fault.of_unit
                else f"{fault.allowed}."
            )
            meant = (
                _(" Did you mean {did_you_mean}?").format(did_you_mean=fault.did_you_mean)
                if fault.did_you_mean
                else ""
            )
            self.add_error(name, f"{said[0].upper()}{said[1:]}{meant}")
