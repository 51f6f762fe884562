"""Rows written past every door: what only the database itself can refuse.

Statements are put together from the names of models and fields, never from values.
"""

from typing import Any

from django.db import connection, models, transaction


def insert(model: type[models.Model], **row: Any) -> None:
    """A row by raw SQL; columns by the names of their fields."""
    given = columns_of(model, row)
    places = ", ".join("%s" for _ in given)
    execute(
        f"insert into {table_of(model)} ({', '.join(given)}) values ({places})",  # noqa: S608
        list(given.values()),
    )


def copy(row: models.Model, **changes: Any) -> None:
    """The row once more, with some of its columns changed."""
    model, given = type(row), columns_of(type(row), changes)
    columns = [
        connection.ops.quote_name(str(field.column))
        for field in model._meta.concrete_fields
        if not isinstance(field, models.AutoField)
    ]
    taken = ["%s" if column in given else column for column in columns]
    where, key = key_of(row)
    execute(
        f"insert into {table_of(model)} ({', '.join(columns)})"  # noqa: S608
        f" select {', '.join(taken)} from {table_of(model)} where {where}",
        [*(given[column] for column in columns if column in given), key],
    )


def change(row: models.Model, **changes: Any) -> None:
    """The row changed by raw SQL."""
    given = columns_of(type(row), changes)
    where, key = key_of(row)
    sets = ", ".join(f"{column} = %s" for column in given)
    execute(
        f"update {table_of(type(row))} set {sets} where {where}",  # noqa: S608
        [*given.values(), key],
    )


def execute(statement: str, values: list[Any] | None = None) -> None:
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(statement, values)


def twice(column: str) -> str:
    """What both engines say, in their own words, where a value stands twice."""
    return rf"(?is)unique constraint.*{column}"


def columns_of(model: type[models.Model], row: dict[str, Any]) -> dict[str, Any]:
    fields: dict[str, Any] = {name: model._meta.get_field(name) for name in row}
    return {
        connection.ops.quote_name(field.column): field.get_db_prep_save(row[name], connection)
        for name, field in fields.items()
    }


def table_of(model: type[models.Model]) -> str:
    return connection.ops.quote_name(model._meta.db_table)


def key_of(row: models.Model) -> tuple[str, Any]:
    key = row._meta.pk
    name = connection.ops.quote_name(str(key.column))
    return f"{name} = %s", key.get_db_prep_save(row.pk, connection)
