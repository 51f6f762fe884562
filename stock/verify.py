"""Is the ledger what it was? Every entry is read again, in constant memory.

By plain SQL, since the rows of a record book are many and each is looked at once: what Django
would make of every column costs more than hashing it.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, NamedTuple
from uuid import UUID

import orjson
from django.db import connection

from protocols import checkpoint, entries, tree
from protocols.signing import public_key
from stock import keys
from stock.as_written import page_as_written
from stock.certificate_texts import first_exchanged
from stock.models import Checkpoint, FactText, Log
from stock.queries.signing_keys import known_keys

AT_ONCE = 2048
# Columns in which an entry says the same, by how it writes them; and where names differ.
WORDS = ("kind", "standing", "offset_min", "entry_no", "clock_offset_ms", "delivered")
UIDS = ("uid", "doer", "messenger", "device", "request_group", "about")
TIMES = ("performed_at", "recorded_at", "raw_at")
LISTS = ("insist", "files")
NAMES = {"request_group": "group"}
ONE_LINE = (*WORDS, *UIDS, *TIMES, *LISTS)
NO_LIST = "[]"
# Said only where it is so, as Python writes it.
DELIVERED = "case when delivered then 'True' end"


@dataclass(frozen=True, slots=True)
class Wrong:
    """The first entry of a log that is not what was written, and in which way."""

    log: UUID
    seq: int
    why: str


def verify(log: Log) -> Wrong | None:
    """Follow a record book from its first entry to its tree's edge, then look at the signed
    texts that it names; None if all is well."""
    if (wrong := _followed(log)) is not None:
        return wrong
    if (seq := first_exchanged(log.uid)) is not None:
        return Wrong(log.uid, seq, "the certificate kept for it is not the one that was signed")
    return None


def _followed(log: Log) -> Wrong | None:
    growing, pages = tree.Growing(), _Sealed(log)
    while True:
        page = page_as_written(log.uid, growing.size - 1, AT_ONCE)
        if page is None or (page.size == 0 and growing.size != log.size):
            return _one_by_one(log, growing, pages)
        if page.size == 0:
            return pages.end(growing.size) or _end(log, growing)
        found = (pages.follow(growing, page.leaves), _changed_text(log, page.texts))
        if wrongs := [one for one in found if one is not None]:
            return min(wrongs, key=lambda one: one.seq)


def _one_by_one(log: Log, growing: tree.Growing, pages: "_Sealed") -> Wrong | None:
    """The same row by row, to name what is wrong."""
    for rows in _pages(log, growing.size - 1):
        texts: dict[str, Mapping[str, str]] = {}
        for row in rows:
            if row.seq != growing.size:
                return Wrong(log.uid, growing.size, "this entry is missing")
            leaf = tree.leaf_hash(row.entry)
            told = _told(row.entry)
            if leaf != row.leaf or told is None:
                return Wrong(log.uid, row.seq, "the entry is not the one that was hashed")
            if not _is_as_told(row, told):
                return Wrong(log.uid, row.seq, _which(row, told))
            if told["texts"]:
                texts[told["uid"]] = told["texts"]
            if (wrong := pages.follow(growing, [leaf])) is not None:
                return wrong
        if (wrong := _changed_text(log, texts)) is not None:
            return wrong
    return pages.end(growing.size) or _end(log, growing)


def _end(log: Log, growing: tree.Growing) -> Wrong | None:
    if growing.size != log.size:
        return Wrong(log.uid, growing.size, "entries are missing at the end")
    if growing.edge().to_text() != log.edge:
        return Wrong(log.uid, growing.size - 1, "the tree does not end in the kept edge")
    return None


# -- Reading -----------------------------------------------------------------------------------


class Row(NamedTuple):
    """One entry as its row says it; `line` is all of ONE_LINE, each on a line of its own."""

    seq: int
    line: str
    reason: str | None
    body: str
    leaf: bytes
    entry: bytes


def _pages(log: Log, last: int) -> Iterator[list[Row]]:
    """The rows of a record book behind `last` in order, some at a time."""
    while rows := _page(log, last):
        yield rows
        last = rows[-1].seq


def _page(log: Log, after: int) -> list[Row]:
    postgresql = connection.vendor == "postgresql"
    written = _in_postgresql if postgresql else _in_sqlite
    line = " || chr(10) || ".join(f"coalesce({written(name)}, '')" for name in ONE_LINE)
    body = "body::text" if postgresql else "body"
    sql = (
        f"select seq, {line}, reason, {body}, leaf, entry from fact "  # noqa: S608
        f"where log = %s and seq > %s order by seq limit {AT_ONCE}"
    )
    if not postgresql:
        sql = sql.replace("chr(10)", "char(10)")
    with connection.cursor() as cursor:
        cursor.execute(sql, [log.uid if postgresql else log.uid.hex, after])
        return [
            Row(seq, line, reason, body, bytes(leaf), bytes(entry))
            for seq, line, reason, body, leaf, entry in cursor.fetchall()
        ]


def _in_sqlite(name: str) -> str:
    """A column as an entry writes it, uids without their hyphens."""
    if name == "delivered":
        return DELIVERED
    if name == "raw_at":
        return "replace(substr(raw_at, 1, 19), ' ', 'T') || 'Z'"
    return f"replace({name}, ' ', 'T') || 'Z'" if name in TIMES else name


def _in_postgresql(name: str) -> str:
    """The same there. A tablet's own clock is kept with fractions, and entered without."""
    if name == "delivered":
        return DELIVERED
    if name == "raw_at":
        return "replace(left((raw_at at time zone 'UTC')::text, 19), ' ', 'T') || 'Z'"
    if name in TIMES:
        return f"replace(({name} at time zone 'UTC')::text, ' ', 'T') || 'Z'"
    return f"replace({name}::text, '-', '')" if name in UIDS else f"{name}::text"


def vkeys(log: Log) -> list[str]:
    """The keys that may have sealed pages of a record book: the one that seals now, and those
    before it. None where there are no keys here, as on a copy of the database alone."""
    name, raw = keys.origin(log.uid), [one.jwk for one in known_keys("checkpoint").values()]
    public = [public_key(one) for one in raw if one is not None]
    if keys.is_there("checkpoint"):
        public.append(keys.private_key("checkpoint").public_key())
    return list(dict.fromkeys(checkpoint.vkey(name, one) for one in public))


class _Sealed:
    """The sealed pages of a record book, against which it is held while it is read."""

    def __init__(self, log: Log) -> None:
        self._log = log.uid
        self._vkeys = vkeys(log)
        rows = Checkpoint.objects.filter(log=log).order_by("size").values_list("size", "note")
        self._rows = rows.iterator(chunk_size=500)
        self._next = next(self._rows, None)

    def follow(self, growing: tree.Growing, leaves: list[bytes]) -> Wrong | None:
        """Add the leaves, and look at every page that was sealed among them."""
        done, begin = 0, growing.size
        while self._next is not None and self._next[0] <= begin + len(leaves):
            size, note = self._next
            growing.extend(leaves[done : size - begin])
            done = size - begin
            if (why := self._why_wrong(size, note, tree.root(growing.edge()))) is not None:
                return Wrong(self._log, size - 1, why)
            self._next = next(self._rows, None)
        growing.extend(leaves[done:])
        return None

    def end(self, size: int) -> Wrong | None:
        """What is wrong where the book ends at `size` although more of it was sealed."""
        if self._next is None:
            return None
        return Wrong(self._log, size, "entries are missing that were sealed")

    def _why_wrong(self, size: int, note: str, root: bytes) -> str | None:
        try:
            said = checkpoint.read_checkpoint(note)
        except checkpoint.NoteRefused:
            return "the page sealed here cannot be read"
        if (said.origin, said.size) != (keys.origin(self._log), size):
            return "the page sealed here is that of another record book"
        if said.root != root:
            return "the page sealed here has another root"
        if self._vkeys and not checkpoint.is_signed(note, self._vkeys):
            return "the page sealed here is not signed by a key of this service"
        return None


# -- Comparing ---------------------------------------------------------------------------------


def _told(entry: bytes) -> dict[str, Any] | None:
    """What the entry says; nothing where it is no entry."""
    try:
        told = orjson.loads(entry)
    except orjson.JSONDecodeError:
        return None
    return told if isinstance(told, dict) and told.keys() >= {"body", "texts"} else None


def _is_as_told(row: Row, told: Mapping[str, Any]) -> bool:
    """Whether the row says what the entry says; the quick way for nearly all of them."""
    get = told.get
    line = (
        f"{get('kind')}\n{get('standing')}\n{get('offset_min')}\n{get('entry_no', '')}\n"
        f"{get('clock_offset_ms', '')}\n{get('delivered', '')}\n"
        f"{_hex(get('uid'))}\n{_hex(get('doer'))}\n"
        f"{_hex(get('messenger'))}\n{_hex(get('device'))}\n{_hex(get('group'))}\n"
        f"{_hex(get('about'))}\n{get('performed_at')}\n{get('recorded_at')}\n"
        f"{get('raw_at', '')}\n{NO_LIST}\n{NO_LIST}"
    )
    if row.seq != told["seq"] or row.reason != get("reason"):
        return False
    if line != row.line and not _is_with_lists(row, told):
        return False
    return bool(orjson.loads(row.body) == told["body"])


def _is_with_lists(row: Row, told: Mapping[str, Any]) -> bool:
    """The same for an entry with files, or where somebody insisted."""
    *kept, insist, files = row.line.split("\n")
    return kept == _written(told) and _lists(insist, files) == _said_lists(told)


def _written(told: Mapping[str, Any]) -> list[str]:
    words = [str(told.get(name, "")) for name in WORDS]
    uids = [_hex(told.get(NAMES.get(name, name))) for name in UIDS]
    return [*words, *uids, *(told.get(name, "") for name in TIMES)]


def _lists(*texts: str) -> list[Any]:
    try:
        return [orjson.loads(text) for text in texts]
    except orjson.JSONDecodeError:
        return []


def _said_lists(told: Mapping[str, Any]) -> list[Any]:
    return [told.get(name, []) for name in LISTS]


def _hex(uid: str | None) -> str:
    return uid.replace("-", "") if uid else ""


def _which(row: Row, told: Mapping[str, Any]) -> str:
    """Which column says something else."""
    if row.seq != told["seq"]:
        return "the row names another entry"
    kept = row.line.split("\n")
    said = _written(told)
    names = [name for name, a, b in zip(ONE_LINE, kept, said, strict=False) if a != b]
    names += [
        name
        for name, text, value in zip(LISTS, kept[-2:], _said_lists(told), strict=True)
        if _lists(text) != [value]
    ]
    if row.reason != told.get("reason"):
        names.append("reason")
    name = NAMES.get(names[0], names[0]) if names else "body"
    return f"the column {name} does not say what the entry says"


def _changed_text(log: Log, texts: Mapping[str, Mapping[str, str]]) -> Wrong | None:
    """The first entry of which a text is there and is another; erased ones are not there."""
    if not texts:
        return None
    rows = FactText.objects.filter(fact__in=[UUID(uid) for uid in texts]).order_by("fact__seq")
    columns = ("fact", "fact__seq", "name", "salt", "value")
    for fact, seq, name, salt, value in rows.values_list(*columns):
        if texts[str(fact)].get(name) != entries.salted_digest(bytes(salt), value):
            return Wrong(log.uid, int(seq), "a text is not the one that was entered")
    return None
