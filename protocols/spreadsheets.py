"""Makes exported cells harmless in spreadsheet programs, by one rule that can be taken back.

The rule: a text gets an apostrophe before it if, after spaces and unseen signs, it begins with
`=` `+` `-` `@`, a tab, a carriage return or a line feed (or the full-width form of the four
signs), or if it begins with an apostrophe itself; a text that is wholly a negative decimal
number (`-2.0`) does not. Numbers are never changed. To take the rule back, leave out one
apostrophe at the beginning of a cell that has one. The rule is applied to the text before it is
quoted for CSV, and to headings and names of files in a table as to any other text. Evidence
files that no spreadsheet is meant to open keep the original text.
"""

import re
from decimal import Decimal

GUARD = "'"
SIGNS = "=+-@\t\r\n\uff1d\uff0b\uff0d\uff20"  # the last four are the full-width forms
UNSEEN = " \u00a0\u3000\u200b\ufeff"
NEGATIVE_NUMBER = re.compile(r"-[0-9]+(?:\.[0-9]+)?")


def safe_cell(value: str | int | Decimal | None) -> str:
    """The text of a cell that no spreadsheet runs as a formula; numbers stay numbers."""
    if value is None:
        return ""
    if isinstance(value, Decimal):
        return format(value, "f")
    if isinstance(value, int):
        return str(value)
    return GUARD + value if needs_guard(value) else value


def needs_guard(text: str) -> bool:
    """Whether the rule puts an apostrophe before this text."""
    if NEGATIVE_NUMBER.fullmatch(text):
        return False
    first = text.lstrip(UNSEEN)[:1]
    return text.startswith((GUARD, *SIGNS)) or (bool(first) and first in SIGNS)


def original_cell(cell: str) -> str:
    """The text that `safe_cell` was given."""
    return cell.removeprefix(GUARD)


def safe_file_name(text: str, ending: str) -> str:
    """A file name of letters, digits, dots, dashes and underscores that begins with a letter
    or digit, at most 80 characters before `ending` (with its dot)."""
    kept = re.sub(r"[^\w.-]+", "-", text, flags=re.ASCII).strip("-._")
    return (kept[:80].rstrip("-._") or "file") + ending
