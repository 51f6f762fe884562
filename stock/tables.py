"""An uploaded file into rows, read by a process of its own with limits."""

import io
import json
import os
import subprocess
import sys
import tempfile
import threading
from collections.abc import Mapping
from pathlib import Path
from typing import IO, Any, Protocol

from protocols.list_values import Row, Sheet, Table
from stock import tables_limits as limits
from stock.tables_text import ENCODINGS

OUT_OF_MEMORY = (b"memory allocation", b"MemoryError", b"capacity overflow")
HOME = Path(__file__).resolve().parent.parent

# Several uploads at once must not add up to more memory than one machine can spare.
_turns = threading.BoundedSemaphore(2)


class Upload(Protocol):
    """A file being uploaded, as Django and Python both have it."""

    def read(self, size: int = -1, /) -> bytes: ...


class Unreadable(Exception):
    """The file gives no table. `code` and `why` are for programs and permanent.

    Codes: `not_a_table`, `too_large`, `unreadable`. `numbers` may hold
    `line` or `row` (from 1), `most` (the limit passed), and for an encoding `choices`, each
    with a `value` to ask for and how the line in question `shows` with it.
    """

    def __init__(self, code: str, why: str, numbers: Mapping[str, Any] | None = None) -> None:
        self.code = code
        self.why = why
        self.numbers = dict(numbers or {})
        super().__init__(explain(code, why, self.numbers))


TEXTS = {
    "empty": "The file holds no rows.",
    "other_kind": "The file is no table. Send CSV, XLSX, XLS or ODS.",
    "no_separator": "The text has no columns: no comma, semicolon, tab or bar was found.",
    "bytes": "The file is larger than {most} bytes.",
    "unpacked": "The workbook would unpack to more than {most} bytes.",
    "rows": "The table has more than {most} rows.",
    "columns": "Row {row} has more than {most} columns.",
    "cells": "The table has more than {most} cells.",
    "characters": "The table has more than {most} characters.",
    "characters_in_cell": "A cell of row {row} has more than {most} characters.",
    "memory": "Reading the file needs too much memory.",
    "time": "Reading the file takes too long.",
    "broken": "The workbook is damaged or cut off.",
    "password": "The workbook is locked with a password.",
    "quotes": "The quotation marks of row {row} do not close.",
    "not_utf8": "Cannot read as UTF-8, line {line}.",
    "not_in_encoding": "Cannot read in this encoding, line {line}.",
    "unknown_encoding": "This encoding is not offered.",
}


def explain(code: str, why: str, numbers: Mapping[str, Any]) -> str:
    """What to tell a person about a file that gives no table."""
    return TEXTS.get(why, code).format(**{"most": "", "row": "", "line": "", **numbers})


def read_table(
    source: Path | bytes | Upload, filename: str, *, encoding: str | None = None
) -> Table:
    """The sheets and rows of an uploaded file: CSV with any common separator, XLSX, XLS, ODS.

    The kind of file is told by its content; `filename` is only repeated in what was understood.
    Text is UTF-8, or strictly the `encoding` asked for. An upload is copied piece by piece, the
    file is read by another process with limits of memory and time. Raises Unreadable.
    """
    with tempfile.TemporaryFile() as copy, tempfile.TemporaryFile() as result, _turns:
        _copy(source, copy)
        _run(copy, result, encoding)
        return _collect(result, filename)


def _copy(source: Path | bytes | Upload, copy: IO[bytes]) -> None:
    if isinstance(source, bytes):
        return _copy(io.BytesIO(source), copy)
    if isinstance(source, Path):
        with source.open("rb") as file:
            return _copy(file, copy)
    size = 0
    while piece := source.read(64 * 1024):
        size += len(piece)
        if size > limits.MOST_BYTES:
            raise Unreadable("too_large", "bytes", {"most": limits.MOST_BYTES})
        copy.write(piece)
    copy.flush()
    copy.seek(0)
    return None


def _run(copy: IO[bytes], result: IO[bytes], encoding: str | None) -> None:
    """Read `copy` into `result` in a process that has only what it needs."""
    wanted = encoding if not encoding or encoding in ENCODINGS else "unknown"
    command = [sys.executable, "-E", "-s", "-m", "stock.tables_child", wanted or "utf-8"]
    with tempfile.TemporaryFile() as complaints:
        try:
            ended = subprocess.run(
                command,
                cwd=HOME,
                env={"PATH": os.defpath},
                stdin=copy,
                stdout=result,
                stderr=complaints,
                timeout=limits.WALL_S,
                check=False,
            )
        except subprocess.TimeoutExpired:
            raise Unreadable("too_large", "time") from None
        if ended.returncode:
            complaints.seek(0)
            raise _died(ended.returncode, complaints.read(64 * 1024))


def _died(code: int, complaints: bytes) -> Unreadable:
    """Why the process ended without an answer: a limit, or a file that broke the reader."""
    if any(words in complaints for words in OUT_OF_MEMORY):
        return Unreadable("too_large", "memory")
    if -code in (9, 24):  # killed for memory by the system, or for processor time
        return Unreadable("too_large", "time")
    return Unreadable("unreadable", "broken")


def _collect(result: IO[bytes], filename: str) -> Table:
    result.seek(0)
    rows: dict[int, list[Row]] = {}
    last: dict[str, Any] = {}
    for line in result:
        last = json.loads(line)
        if "n" in last:
            row = Row(last["n"], tuple(last["c"]), last["k"], last["w"])
            rows.setdefault(last["s"], []).append(row)
    if "refused" in last:
        raise Unreadable(*last["refused"])
    sheets = tuple(
        Sheet(name, tuple(rows.get(number, ()))) for number, name in enumerate(last["sheets"])
    )
    return Table(last["format"], sheets, {**last["understood"], "file_name": filename})
