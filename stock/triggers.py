"""What must never happen, said to the database itself on both engines.

Installed after every `migrate`, since SQLite drops triggers when it rebuilds a table, and
compared at start.
"""

from collections.abc import Iterator
from contextlib import contextmanager

from django.db.backends.base.base import BaseDatabaseWrapper

APPEND_ONLY = ("fact", "transfer")

_MOVE = """
insert into balance (holder, place, n) values (new.{side}_holder, new.{side}_place, 0)
    on conflict (holder, place) do nothing;
update balance set n = n {sign} new.count
    where holder = new.{side}_holder and place = new.{side}_place;
"""
MOVE_BALANCES = _MOVE.format(side="to", sign="+") + _MOVE.format(side="from", sign="-")


def install(connection: BaseDatabaseWrapper) -> None:
    """Make every trigger anew."""
    drop(connection)
    with connection.cursor() as cursor:
        for statement in _statements(connection.vendor).values():
            cursor.execute(statement)


def drop(connection: BaseDatabaseWrapper) -> None:
    """Remove every trigger of ours, e.g. before a test database is emptied."""
    with connection.cursor() as cursor:
        for name, table in _present(connection):
            on = f" on {table}" if connection.vendor == "postgresql" else ""
            cursor.execute(f"drop trigger {name}{on}")


def missing(connection: BaseDatabaseWrapper) -> list[str]:
    """The names of triggers that should be there and are not."""
    present = {name for name, _ in _present(connection)}
    return sorted(set(_statements(connection.vendor)) - present)


@contextmanager
def lifted(connection: BaseDatabaseWrapper) -> Iterator[None]:
    """No triggers inside the block: only for making projections again, in its transaction."""
    drop(connection)
    yield
    install(connection)


def _present(connection: BaseDatabaseWrapper) -> list[tuple[str, str]]:
    query = {
        "sqlite": "select name, tbl_name from sqlite_master"
        " where type = 'trigger' and name like 'fillmark\\_%' escape '\\'",
        "postgresql": "select t.tgname, c.relname from pg_trigger t"
        " join pg_class c on c.oid = t.tgrelid"
        " join pg_namespace n on n.oid = c.relnamespace"
        " where n.nspname = current_schema() and t.tgname like 'fillmark\\_%'",
    }[connection.vendor]
    with connection.cursor() as cursor:
        cursor.execute(query)
        return [(name, table) for name, table in cursor.fetchall()]


def _statements(vendor: str) -> dict[str, str]:
    """Name of each trigger and how to make it."""
    refuses, moves = _MAKERS[vendor]
    wanted: dict[str, str] = {}
    for table in APPEND_ONLY:
        for event in ("update", "delete"):
            name = f"fillmark_{table}_{event}"
            wanted[name] = refuses(name, table, event)
    wanted["fillmark_transfer_moves"] = moves("fillmark_transfer_moves")
    return wanted


def _sqlite_refuses(name: str, table: str, event: str) -> str:
    return (
        f"create trigger {name} before {event} on {table} begin"
        f" select raise(abort, '{table} is append-only'); end"
    )


def _sqlite_moves(name: str) -> str:
    return f"create trigger {name} after insert on transfer begin {MOVE_BALANCES} end"


def _postgresql_refuses(name: str, table: str, event: str) -> str:
    return (
        f"create or replace function {name}() returns trigger language plpgsql as $$"
        f" begin raise exception '{table} is append-only'; end $$;"
        f" create trigger {name} before {event} on {table}"
        f" for each row execute function {name}()"
    )


def _postgresql_moves(name: str) -> str:
    return (
        f"create or replace function {name}() returns trigger language plpgsql as $$"
        f" begin {MOVE_BALANCES} return new; end $$;"
        f" create trigger {name} after insert on transfer"
        f" for each row execute function {name}()"
    )


_MAKERS = {
    "sqlite": (_sqlite_refuses, _sqlite_moves),
    "postgresql": (_postgresql_refuses, _postgresql_moves),
}
