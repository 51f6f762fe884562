"""Reads one uploaded table from standard input and prints its rows as JSON lines.

A program of its own, started by `stock.tables`, with its limits set before the first byte is
looked at: what a hostile file does to memory or time ends this process and no other.
Row lines are {"s": sheet, "n": row, "c": cells, "k": kinds, "w": width}; the last line says
what was understood of the file, or {"refused": [code, why, numbers]}.
"""

import contextlib
import io
import json
import os
import resource
import sys
from typing import Any, BinaryIO

from stock.tables_book import check_ole, check_zip, read_workbook
from stock.tables_limits import (
    CPU_S,
    MEMORY_BYTES,
    MOST_BYTES,
    MOST_RESULT_BYTES,
    Printer,
    Refusal,
)
from stock.tables_text import read_text

ZIP_START = b"PK\x03\x04"
OLE_START = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
OTHER_STARTS = (b"\x89PNG", b"\xff\xd8\xff", b"GIF8", b"%PDF", b"{\\rtf", b"\x1f\x8b", b"<")


def read(file: BinaryIO, encoding: str, printer: Printer) -> dict[str, Any]:
    """Print every row of the table and return what was understood of its form.

    The kind of file is told by its first bytes; names and content types are not believed.
    """
    size = file.seek(0, os.SEEK_END)
    if size > MOST_BYTES:
        raise Refusal("too_large", "bytes", most=MOST_BYTES, bytes=size)
    file.seek(0)
    start = file.read(8)
    file.seek(0)
    if not start:
        raise Refusal("not_a_table", "empty")
    if start == OLE_START:
        check_ole(file.read())
        return read_workbook(file, printer)
    if start.startswith(ZIP_START):
        check_zip(file)
        return read_workbook(file, printer)
    if start.startswith(OTHER_STARTS):
        raise Refusal("not_a_table", "other_kind")
    return read_text(file, encoding, printer)


def set_limits() -> None:
    """Bound this process for good. A limit that the system does not know is left out."""
    for kind, most in (
        (resource.RLIMIT_AS, MEMORY_BYTES),
        (resource.RLIMIT_CPU, CPU_S),
        (resource.RLIMIT_FSIZE, MOST_RESULT_BYTES),
        (resource.RLIMIT_CORE, 0),
    ):
        with contextlib.suppress(ValueError, OSError):
            resource.setrlimit(kind, (most, most))


def main(encoding: str) -> None:
    """Answer with lines on standard output; the last one is written in every foreseen case."""
    set_limits()
    out = io.TextIOWrapper(sys.stdout.buffer, "utf-8", errors="replace", newline="\n")
    try:
        with open(0, "rb", closefd=False) as file:
            last = read(file, encoding, Printer(out))
    except Refusal as refused:
        last = {"refused": [refused.code, refused.why, refused.numbers]}
    except MemoryError:
        last = {"refused": ["too_large", "memory", {"most": MEMORY_BYTES}]}
    out.write(json.dumps(last, ensure_ascii=False) + "\n")
    out.flush()


if __name__ == "__main__":
    main(sys.argv[1])
