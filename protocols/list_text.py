"""Cell texts as they are kept: normalised, without what nobody can see."""

import unicodedata

from protocols.list_values import Row

BROKEN = "\ufffd"


def clean(text: str) -> str:
    """The text in Unicode form NFC, without invisible characters, with single spaces.

    Control characters and every kind of space become a space; marks of direction, byte order
    and zero width go. Letters stay as they are printed.
    """
    if text.isascii() and text.isprintable():
        return " ".join(text.split())
    seen = unicodedata.normalize("NFC", text)
    kept = (
        " " if unicodedata.category(letter) in ("Cc", "Zs", "Zl", "Zp") else letter
        for letter in seen
        if unicodedata.category(letter) not in ("Cf", "Cs", "Cn", "Co")
    )
    return " ".join("".join(kept).split())


def cleaned(row: Row) -> Row:
    return Row(row.number, tuple(clean(cell) for cell in row.cells), row.kinds, row.width)


def letter(column: int) -> str:
    """The letter over a column in a spreadsheet: 0 is A, 26 is AA."""
    text = ""
    column += 1
    while column:
        column, place = divmod(column - 1, 26)
        text = chr(ord("A") + place) + text
    return text
