"""Text with separators into rows. Runs inside the reading process only."""

import codecs
import contextlib
import csv
import io
from collections import Counter
from collections.abc import Iterable
from typing import Any, BinaryIO

from protocols.list_values import TEXT
from stock.tables_limits import MOST_BYTES, Printer, Refusal

# Of equals the first wins: a comma is also a decimal sign, a tab never is anything else.
SEPARATORS = ("\t", ";", "|", ",")
OTHERS = ("windows-1252", "windows-1250", "macintosh", "shift_jis", "gb18030", "utf-16")
ENCODINGS = ("utf-8", *OTHERS)
MARKS_OF_UTF16 = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)
SAMPLE_CHARACTERS = 64 * 1024
CONTROLS = frozenset(range(32)) - {9, 10, 12, 13, 26}


def read_text(file: BinaryIO, encoding: str, printer: Printer) -> dict[str, Any]:
    """Print the rows of a text file, read strictly in this encoding; its separator is found."""
    bom = check_text(file.read(), encoding)
    file.seek(0)
    codec = "utf-8-sig" if encoding == "utf-8" else encoding
    with io.TextIOWrapper(file, codec, newline="") as text:
        sample = _sample(text)
        named = _named_separator(sample)
        separator = named or _best_separator(sample)
        if separator is None:
            raise Refusal("not_a_table", "no_separator" if sample.strip() else "empty")
        text.seek(0)
        csv.field_size_limit(MOST_BYTES)
        _print(csv.reader(text, delimiter=separator, strict=True), bool(named), printer)
    form = {"encoding": encoding, "separator": separator, "bom": bom}
    return {"format": "csv", "sheets": [""], "understood": form}


def check_text(data: bytes, encoding: str) -> bool:
    """Refuse what does not decode wholly; else say whether it begins with a UTF-8 mark."""
    if encoding not in ENCODINGS:
        raise Refusal("unreadable", "unknown_encoding", choices=_choices(data, 0))
    if (encoding == "utf-16") != data.startswith(MARKS_OF_UTF16):
        why = "not_utf8" if encoding == "utf-8" else "not_in_encoding"
        raise Refusal("unreadable", why, line=1, choices=_choices(data, 0))
    if encoding != "utf-16" and CONTROLS.intersection(data):
        raise Refusal("not_a_table", "other_kind")
    try:
        data.decode(encoding)
    except UnicodeDecodeError as broken:
        why = "not_utf8" if encoding == "utf-8" else "not_in_encoding"
        line = data.count(b"\n", 0, broken.start) + 1
        offered = _choices(data, broken.start)
        raise Refusal("unreadable", why, line=line, choices=offered) from broken
    return encoding == "utf-8" and data.startswith(codecs.BOM_UTF8)


def _choices(data: bytes, at: int) -> list[dict[str, str]]:
    """Encodings in which the whole file can be read, each with how the line at `at` reads."""
    sixteen = data.startswith(MARKS_OF_UTF16)
    start = data.rfind(b"\n", 0, at) + 1
    found = []
    for value in OTHERS:
        if sixteen == (value == "utf-16"):
            with contextlib.suppress(UnicodeDecodeError):
                data.decode(value)
                line = data[start : start + 400].decode(value, errors="ignore").strip()
                found.append({"value": value, "shows": line.split("\n")[0][:120].strip()})
    return found


def _sample(text: io.TextIOWrapper) -> str:
    """Whole lines from the beginning, enough to tell the separator."""
    sample = text.read(SAMPLE_CHARACTERS)
    if len(sample) == SAMPLE_CHARACTERS and "\n" in sample:
        return sample[: sample.rindex("\n") + 1]
    return sample


def _named_separator(sample: str) -> str | None:
    """Some spreadsheets write the separator into a first line of its own: `sep=;`."""
    first = sample.split("\n", 1)[0].strip('\r "').lower()
    named = first.removeprefix("sep=")
    return named if named != first and named in SEPARATORS else None


def _best_separator(sample: str) -> str | None:
    """The one that gives the most rows the same number of columns, and the most columns."""
    scores = {one: _score(sample, one) for one in SEPARATORS}
    best = max(SEPARATORS, key=lambda one: scores[one])
    return best if scores[best] else None


def _score(sample: str, separator: str) -> int:
    widths: Counter[int] = Counter()
    with contextlib.suppress(csv.Error):
        for row in csv.reader(io.StringIO(sample, newline=""), delimiter=separator):
            widths[len(row)] += 1
    return max((rows * (width - 1) for width, rows in widths.items()), default=0)


def _print(rows: Iterable[list[str]], separator_named: bool, printer: Printer) -> None:
    number = 0
    try:
        for number, cells in enumerate(rows, start=1):
            if not (separator_named and number == 1):
                printer.row(0, number, cells, TEXT * len(cells))
    except csv.Error as broken:
        raise Refusal("unreadable", "quotes", row=number + 1) from broken
    if not printer.rows:
        raise Refusal("not_a_table", "empty")
