"""Whether many rows of a record book say what their entries say, at once.

Each entry is written again from the columns of its row and compared with the bytes that were
hashed. That is quicker than reading every entry, and says only yes or no: `verify.py` looks
row by row at what is not plainly so.
"""

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple
from uuid import UUID

import orjson
from django.db import connection

from protocols import tree

# In the order in which an entry names them; the body comes second, the texts stand only in
# the entry itself.
COLUMNS = (
    "about",
    "body",
    "clock_offset_ms",
    "delivered",
    "device",
    "doer",
    "entry_no",
    "files",
    "request_group",
    "insist",
    "kind",
    "messenger",
    "offset_min",
    "performed_at",
    "raw_at",
    "reason",
    "recorded_at",
    "seq",
    "standing",
    "uid",
    "leaf",
    "entry",
)
UIDS = frozenset({"about", "device", "doer", "request_group", "messenger", "uid"})
TIMES = frozenset({"performed_at", "recorded_at"})
NO_LIST, TEXTS, NO_TEXTS = "[]", b'"texts":', b'"texts":{}'
# `"uid":"…","v":1}` and the comma before it: what stands behind the texts.
UID = slice(-44, -8)
BEHIND_TEXTS = len(b',"uid":"00000000-0000-0000-0000-000000000000","v":1}')


class Page(NamedTuple):
    """Some rows in order: their leaf hashes, and the texts that entries name by digest."""

    size: int
    last: int
    leaves: list[bytes]
    texts: dict[str, Mapping[str, str]]


def page_as_written(log: UUID, after: int, at_once: int) -> Page | None:
    """The rows behind position `after`, where all of them are plainly what was written.

    None where any of them is not, or not so plainly. One query.
    """
    rows = _rows(log, after, at_once)
    if not rows:
        return Page(0, after, [], {})
    entries = [bytes(row[-1]) for row in rows]
    leaves = tree.leaf_hashes(entries)
    try:
        written = _written(log, after + 1, rows, entries)
    except (ValueError, TypeError):
        return None
    if leaves != [bytes(row[-2]) for row in rows] or written != entries:
        return None
    return Page(len(rows), after + len(rows), leaves, _texts(entries))


def _rows(log: UUID, after: int, at_once: int) -> list[tuple[Any, ...]]:
    postgresql = connection.vendor == "postgresql"
    written = _in_postgresql if postgresql else _in_sqlite
    columns = ", ".join(map(written, COLUMNS))
    sql = f"select {columns} from fact where log = %s and seq > %s order by seq limit {at_once}"  # noqa: S608
    with connection.cursor() as cursor:
        cursor.execute(sql, [log if postgresql else log.hex, after])
        rows: list[tuple[Any, ...]] = cursor.fetchall()
        return rows


def _in_sqlite(name: str) -> str:
    """Columns as they are kept: a moment is text, unless the driver makes one of it."""
    return f"{name} || ''" if name in TIMES or name == "raw_at" else name


def _in_postgresql(name: str) -> str:
    """Columns as SQLite keeps them, but for uids, which it keeps without hyphens."""
    if name in TIMES:
        return f"({name} at time zone 'UTC')::text"
    if name == "raw_at":
        return "left((raw_at at time zone 'UTC')::text, 19)"
    return f"{name}::text" if name in UIDS or name in ("body", "files", "insist") else name


class _Uids(dict[str, str]):
    """Uids as entries write them, by how the database keeps them; each worked out once."""

    def __missing__(self, kept: str) -> str:
        if len(kept) == 36:
            return kept
        a, b, c, d, e = kept[:8], kept[8:12], kept[12:16], kept[16:20], kept[20:]
        self[kept] = text = f"{a}-{b}-{c}-{d}-{e}"
        return text


def _written(
    log: UUID, first: int, rows: Sequence[tuple[Any, ...]], entries: Sequence[bytes]
) -> list[bytes]:
    """What the entries of these rows have to be; see `protocols/entries.py`.

    Raises ValueError or TypeError where a row is none of a record book.
    """
    written, uids, dumps, book = [], _Uids(), orjson.dumps, str(log)
    sorted_, no_list = orjson.OPT_SORT_KEYS, NO_LIST
    bodies = orjson.loads(f"[{','.join([row[1] for row in rows])}]")
    # One tuple and one text each: this is done for every entry of a long record book.
    for seq, (row, body, entry) in enumerate(zip(rows, bodies, entries, strict=True), first):
        (
            about,
            _,
            offset_ms,
            delivered,
            device,
            doer,
            entry_no,
            files,
            group,
            insist,
            kind,
            messenger,
            offset_min,
            performed_at,
            raw_at,
            reason,
            recorded_at,
            kept_seq,
            standing,
            uid,
            _,
            _,
        ) = row
        tail = entry[entry.rindex(TEXTS) :].decode()
        if kept_seq != seq or tail[UID].replace("-", "") != uid.replace("-", ""):
            raise ValueError("another entry")
        clock = device_no = entered = raw = ""
        if device is not None or raw_at is not None:
            clock, device_no, entered, raw = _at_device(row, uids)
        elif not offset_ms is delivered is entry_no is None:
            raise ValueError("numbers of no device")
        performed = f"{performed_at[:10]}T{performed_at[11:]}"
        recorded = performed
        if recorded_at != performed_at:
            recorded = f"{recorded_at[:10]}T{recorded_at[11:]}"
        written.append(
            f"{{{_named('about', about, uids) if about else ''}"
            f'"body":{dumps(body, option=sorted_).decode()},'
            f'{clock}{device_no}"doer":"{uids[doer]}",{entered}'
            f'"files":{files if files == no_list else _list(files)},"group":"{uids[group]}",'
            f"{'' if insist == no_list else _insist(insist)}"
            f'"kind":"{kind}","log":"{book}","messenger":"{uids[messenger]}",'
            f'"offset_min":{offset_min},"performed_at":"{performed}Z",'
            f"{raw}{'' if reason is None else _reason(reason)}"
            f'"recorded_at":"{recorded}Z","seq":{seq},"standing":"{standing}",{tail}'.encode()
        )
    return written


def _at_device(row: tuple[Any, ...], uids: _Uids) -> tuple[str, str, str, str]:
    """What an entry says of the tablet it was made at, by where that stands in it."""
    offset_ms, delivered, device, entry_no, raw_at = row[2], row[3], row[4], row[6], row[14]
    clock = "" if offset_ms is None else f'"clock_offset_ms":{offset_ms},'
    clock += "" if delivered is None else f'"delivered":{"true" if delivered else "false"},'
    named = "" if device is None else _named("device", device, uids)
    entered = "" if entry_no is None else f'"entry_no":{entry_no},'
    raw = "" if raw_at is None else f'"raw_at":"{raw_at[:10]}T{raw_at[11:19]}Z",'
    return clock, named, entered, raw


def _named(name: str, uid: str, uids: _Uids) -> str:
    return f'"{name}":"{uids[uid]}",'


def _list(text: str) -> str:
    return orjson.dumps(orjson.loads(text), option=orjson.OPT_SORT_KEYS).decode()


def _insist(text: str) -> str:
    return f'"insist":{_list(text)},'


def _reason(text: str) -> str:
    return f'"reason":{orjson.dumps(text).decode()},'


def _texts(entries: Sequence[bytes]) -> dict[str, Mapping[str, str]]:
    """Digests of notes and names by the entry that has them."""
    some = [
        orjson.loads(one) for one in entries if not one.endswith(NO_TEXTS, 0, -BEHIND_TEXTS)
    ]
    return {one["uid"]: one["texts"] for one in some}
