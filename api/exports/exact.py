"""Tables as evidence: CSV that keeps every text as it is, described for programs by CSVW.

RFC 4180 with a heading; UTF-8 without a mark at its beginning. These files are not meant to be
opened in a spreadsheet: a text may begin like a formula there. `api/exports/tables.py` and the
summary of a bag are for that.
"""

import csv
import io
import json
from collections.abc import Callable, Iterable

from stock.queries.audit import AuditTable
from stock.queries.audit_rows import Row

CSVW = "http://www.w3.org/ns/csvw"
# Everything else is text: a reading stands as it was typed.
WHOLE = frozenset({"count", "listed", "received", "dead_on_arrival", "stay_s", "gap_s"})
PIECE = 64 * 1024


def write_exact(
    write: Callable[[bytes], object], columns: tuple[str, ...], rows: Iterable[Row]
) -> int:
    """Write the file, heading first; how many rows it has."""
    text, count = io.StringIO(newline=""), 0
    writer = csv.writer(text, quoting=csv.QUOTE_ALL, lineterminator="\r\n")
    writer.writerow(columns)
    for row in rows:
        count += 1
        writer.writerow(row)
        if text.tell() >= PIECE:
            write(text.getvalue().encode())
            text.seek(0)
            text.truncate()
    write(text.getvalue().encode())
    return count


def described(table: AuditTable, rows: int) -> str:
    """What the columns hold, in the form of W3C CSV on the Web."""
    columns = [_column(name) for name in table.columns]
    said = {
        "@context": CSVW,
        "url": f"{table.name}.csv",
        "dc:description": table.says,
        "dc:extent": f"{rows} rows",
        "dialect": {"encoding": "utf-8", "lineTerminators": ["\r\n"], "header": True},
        "tableSchema": {"columns": columns},
    }
    return json.dumps(said, indent=2) + "\n"


def _column(name: str) -> dict[str, str]:
    kind = "integer" if name in WHOLE else "datetime" if name.endswith("_utc") else "string"
    return {"name": name, "titles": name, "datatype": kind, "null": ""}
