"""A sentence that remembers how it was made, so that it can be said in another language.

Rules speak English and know of no other language. What they say is an ordinary text; whoever
shows it to people finds in it the form and the values, and says the same by a catalogue.
"""

from collections.abc import Mapping


class Said(str):
    """A text made from `form` and `values`; equal to the same text made in any other way."""

    form: str
    values: Mapping[str, object]


def said(form: str, /, **values: object) -> Said:
    """The form with its values in it, each by its name: `said("{count} alive", count=3)`.

    A value may be `Said` itself. Joined to another text it becomes plain: say a whole sentence.
    """
    text = Said(form.format(**values))
    text.form, text.values = form, values
    return text
