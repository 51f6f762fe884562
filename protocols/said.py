"""A sentence that remembers how it was made, so that it can be said in another language.

Rules speak English and know of no other language. What they say is an ordinary text; whoever
shows it to people finds in it the form and the values, and says the same by a catalogue.
"""

from collections.abc import Iterable, Mapping


class Said(str):
    """A text made from `form` and `values`; equal to the same text made in any other way."""

    form: str
    values: Mapping[str, object]
    capital: bool = False  # begins large in every language

    def __add__(self, other: str) -> str:
        return joined("", (self, other))

    def __radd__(self, other: str) -> str:
        return joined("", (other, self))


def said(form: str, /, **values: object) -> str:
    """`Said`: the form with its values in it by name, as in `said("{count} alive", count=3)`.

    A value may be `Said` itself.
    """
    text = Said(form.format(**values))
    text.form, text.values = form, values
    return text


def joined(between: str, texts: Iterable[str]) -> str:
    """`Said`: several texts, each still said by itself; `" ".join` would forget how."""
    parts = {f"part{n}": text for n, text in enumerate(texts)}
    return said(escaped(between).join(f"{{{name}}}" for name in parts), **parts)


def capital(text: str) -> str:
    """The text with a large first letter."""
    large = Said(text[:1].upper() + text[1:])
    large.form, large.values, large.capital = escaped(text), {}, True
    if isinstance(text, Said):
        large.form, large.values = text.form, text.values
    return large


def escaped(text: str) -> str:
    """A text as it stands in a form."""
    return text.replace("{", "{{").replace("}", "}}")
