"""Fields as they are typed on a tablet: counts, figures with a comma, local times."""

from collections.abc import Iterable
from typing import Any

from django import forms

COUNT_MOST = 1_000_000

Choices = Iterable[tuple[str, str]]


class Count(forms.IntegerField):
    """A whole number of animals, typed as one."""

    def __init__(self, *, least: int = 1, **options: Any) -> None:
        options.setdefault(
            "error_messages",
            {"invalid": "Type a whole number.", "required": "Type a number."},
        )
        super().__init__(min_value=least, max_value=COUNT_MOST, **options)
        for rule in self.validators:
            if getattr(rule, "code", "") == "min_value":
                rule.message = f"It must be {least} or more."  # type: ignore[attr-defined]
            if getattr(rule, "code", "") == "max_value":
                rule.message = "That is too many."  # type: ignore[attr-defined]


class Figure(forms.DecimalField):
    """A number with a fraction, with a point or a comma; kept as typed, as text."""

    def __init__(self, *, unit: str = "", **options: Any) -> None:
        self.unit = unit  # stands beside the field
        options.setdefault(
            "error_messages",
            {"invalid": "Type a number such as 25.4.", "required": "Type a number."},
        )
        super().__init__(max_digits=12, **options)

    def clean(self, value: Any) -> Any:
        typed = str(value or "").strip().replace(",", ".")
        number = super().clean(typed)
        return None if number is None else format(number, "f")


class One(forms.ChoiceField):
    """One of several, in a list that is opened."""

    def __init__(self, choices: Choices = (), **options: Any) -> None:
        options.setdefault("error_messages", {"required": "Choose one."})
        super().__init__(choices=list(choices), **options)


class Rows(One):
    """One of a few, each a row to touch."""

    widget = forms.RadioSelect


class Several(forms.MultipleChoiceField):
    """Any of a few, each a row to touch."""

    widget = forms.CheckboxSelectMultiple

    def __init__(self, choices: Choices = (), **options: Any) -> None:
        options.setdefault("error_messages", {"required": "Choose at least one."})
        super().__init__(choices=list(choices), **options)


class Words(forms.CharField):
    """A line of text that a person writes."""

    def __init__(self, *, most: int = 1000, lines: bool = False, **options: Any) -> None:
        if lines:
            options.setdefault("widget", forms.Textarea(attrs={"rows": 3}))
        options.setdefault("error_messages", {"required": "Write something."})
        super().__init__(max_length=most, **options)


class WallTime(forms.CharField):
    """A date and time as the clocks of the site show it, without an offset."""

    widget = forms.DateTimeInput(attrs={"type": "datetime-local", "step": "1"})

    def __init__(self, **options: Any) -> None:
        super().__init__(max_length=40, **options)
