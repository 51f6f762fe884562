"""Fields as they are typed on a tablet: counts, figures with a comma, local times."""

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from protocols.reckoning import Typed
from protocols.units import SORTS, NoUnit, Unit, Units, read_back, shown, unit_of
from protocols.water import OutOfDomain

COUNT_MOST = 1_000_000
KILO = "kg"
GRAVITY = "SG"  # by the convention of the instrument

Choices = Iterable[tuple[str, Any]]


class Count(forms.IntegerField):
    """A whole number of animals, typed as one."""

    def __init__(self, *, least: int = 1, **options: Any) -> None:
        options.setdefault(
            "error_messages",
            {"invalid": _("Type a whole number."), "required": _("Type a number.")},
        )
        super().__init__(min_value=least, max_value=COUNT_MOST, **options)
        for rule in self.validators:
            if getattr(rule, "code", "") == "min_value":
                rule.message = _("It must be {least} or more.").format(least=least)  # type: ignore[attr-defined]
            if getattr(rule, "code", "") == "max_value":
                rule.message = _("That is too many.")  # type: ignore[attr-defined]


class Figure(forms.DecimalField):
    """A number with a fraction, with a point or a comma; kept as typed, as text."""

    def __init__(self, *, unit: str = "", **options: Any) -> None:
        self.unit = unit  # stands beside the field
        options.setdefault(
            "error_messages",
            {"invalid": _("Type a number such as 25.4."), "required": _("Type a number.")},
        )
        super().__init__(max_digits=12, **options)

    def clean(self, value: Any) -> Any:
        typed = str(value or "").strip().replace(",", ".")
        number = super().clean(typed)
        return None if number is None else format(number, "f")


class AmountInput(forms.TextInput):
    """A number with its unit beside it: two inputs, the second under the name with `_in`."""

    def __init__(self) -> None:
        super().__init__()
        self.beside = forms.Select()

    def value_from_datadict(self, data: Any, files: Any, name: str) -> tuple[Any, Any]:
        return data.get(name), data.get(f"{name}_in")

    def value_omitted_from_data(self, data: Any, files: Any, name: str) -> bool:
        return name not in data

    def render(
        self, name: str, value: Any, attrs: dict[str, Any] | None = None, renderer: Any = None
    ) -> SafeString:
        number, unit = value if isinstance(value, tuple) else (value, None)
        text = super().render(name, number, attrs, renderer)
        beside = {"id": f"{(attrs or {}).get('id', name)}_in", "aria-label": _("Unit")}
        return SafeString(text + self.beside.render(f"{name}_in", unit, beside, renderer))


class Amount(Figure):
    """A number in a unit of the person's choice; what it gives is in the unit it is kept in.

    `sort` is one of `protocols.units`. `initial` is in the unit it is kept in as well, and
    comes back as it was if what is shown of it is sent unchanged.
    """

    widget = AmountInput

    def __init__(self, sort: str, **options: Any) -> None:
        self.sort = sort
        self.kept = options.pop("initial", None)
        super().__init__(**options)
        self.prefer(Units({}))

    def prefer(self, units: Units) -> None:
        """Offer the person's own unit first, and show in it what is kept."""
        chosen, widget = units.of(self.sort), self.widget
        assert isinstance(widget, AmountInput)
        widget.beside.choices = self.choices()
        number = None if self.kept is None else shown(chosen, Decimal(self.kept))
        self.initial = (number, self.named(chosen))

    def choices(self) -> list[tuple[str, str]]:
        return [(one.name, one.words) for one in SORTS[self.sort]]

    def named(self, chosen: Unit) -> str:
        """Which of the choices a person's own unit is."""
        return chosen.name

    def clean(self, value: Any) -> Any:
        """The number as it is kept, as text."""
        number, name = value if isinstance(value, tuple) else (value, None)
        typed = super().clean(number)
        if typed is None:
            return None
        before = None if self.kept is None else Decimal(self.kept)
        try:
            # A program that sends no unit means the one in which it is kept.
            kept = read_back(unit_of(self.sort, name or ""), Decimal(typed), before)
        except NoUnit as error:
            raise forms.ValidationError(f"{error}.") from error
        except OutOfDomain as error:
            raise forms.ValidationError(str(error)) from error
        return format(kept, "f")


class Kilos(Amount):
    """A weighed mass, given in kilograms; as typed where it was typed so.

    Whoever reads masses in the metric system is asked for kilograms, since that is what a scale
    for salt shows.
    """

    def __init__(self, **options: Any) -> None:
        super().__init__("mass", **options)

    def named(self, chosen: Unit) -> str:
        return KILO if chosen.name == SORTS["mass"][0].name else chosen.name

    def clean(self, value: Any) -> Any:
        number, name = value if isinstance(value, tuple) else (value, None)
        if (name or KILO) == KILO:
            return Figure.clean(self, number)
        grams = super().clean((number, name))
        return None if grams is None else format((Decimal(grams) / 1000).normalize(), "f")


class Measured(Amount):
    """A value that was read: given as it was typed, with its unit, since that is what is kept.

    A specific gravity is one by the convention of its instrument, so only that is offered.
    """

    def choices(self) -> list[tuple[str, str]]:
        units = [one for one in SORTS[self.sort] if one.convention is None]
        return [(one.name, one.words) for one in units] + (
            [(GRAVITY, _("specific gravity"))] if self.sort == "salinity" else []
        )

    def named(self, chosen: Unit) -> str:
        return chosen.name if chosen.convention is None else GRAVITY

    def clean(self, value: Any) -> Any:
        """The number and the name of its unit; None where nothing was typed."""
        number, name = value if isinstance(value, tuple) else (value, None)
        typed = Figure.clean(self, number)
        if typed is None:
            return None
        if name and name not in dict(self.choices()):
            raise forms.ValidationError(_("Choose one of its units."))
        return Typed(typed, name or SORTS[self.sort][0].name)


class One(forms.ChoiceField):
    """One of several, in a list that is opened."""

    def __init__(self, choices: Choices = (), **options: Any) -> None:
        options.setdefault("error_messages", {"required": _("Choose one.")})
        super().__init__(choices=list(choices), **options)


class Rows(One):
    """One of a few, each a row to touch."""

    widget = forms.RadioSelect


class Several(forms.MultipleChoiceField):
    """Any of a few, each a row to touch."""

    widget = forms.CheckboxSelectMultiple

    def __init__(self, choices: Choices = (), **options: Any) -> None:
        options.setdefault("error_messages", {"required": _("Choose at least one.")})
        super().__init__(choices=list(choices), **options)


class Words(forms.CharField):
    """A line of text that a person writes."""

    def __init__(self, *, most: int = 1000, lines: bool = False, **options: Any) -> None:
        if lines:
            options.setdefault("widget", forms.Textarea(attrs={"rows": 3}))
        options.setdefault("error_messages", {"required": _("Write something.")})
        super().__init__(max_length=most, **options)


class WallTime(forms.CharField):
    """A date and time as the clocks of the site show it, without an offset."""

    widget = forms.DateTimeInput(attrs={"type": "datetime-local", "step": "1"})

    def __init__(self, **options: Any) -> None:
        super().__init__(max_length=40, **options)
