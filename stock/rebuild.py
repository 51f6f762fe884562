"""Making every projection again from the facts, and comparing it with what was there."""

import hashlib
from collections.abc import Iterator
from datetime import datetime

from django.apps import apps
from django.db import connection, models, transaction

from stock import triggers
from stock.apply import apply_or_park_again
from stock.judging import judge_everything
from stock.models import Balance, Fact, Log, Projection


def projections() -> list[type[models.Model]]:
    """Every table that follows from facts, balances included."""
    found = apps.get_app_config("stock").get_models()
    return [model for model in found if issubclass(model, Projection) or model is Balance]


@transaction.atomic
def rebuild(at: datetime) -> None:
    """Empty every projection, apply all facts again, organisations first, and judge at `at`."""
    with triggers.lifted(connection), connection.cursor() as cursor:
        for model in projections():
            cursor.execute(f'delete from "{model._meta.db_table}"')  # noqa: S608
    for fact in _every_fact():
        apply_or_park_again(fact)
    judge_everything(at)


def check(at: datetime) -> list[str]:
    """Names of tables whose rows differ from a rebuild. Changes nothing.

    Caches are brought to `at` first: whether they were right is what `rejudge` tells.
    """
    with transaction.atomic():
        judge_everything(at)
        before = {model._meta.db_table: digest(model) for model in projections()}
        rebuild(at)
        after = {model._meta.db_table: digest(model) for model in projections()}
        transaction.set_rollback(True)
    return sorted(table for table in before if before[table] != after[table])


def digest(model: type[models.Model]) -> str:
    """A digest of all rows; neither their order nor numbers the engine gave matter."""
    names = [
        field.attname
        for field in model._meta.concrete_fields
        if not isinstance(field, models.AutoField)
    ]
    total = 0
    for row in model._default_manager.values_list(*names).iterator(chunk_size=500):
        each = hashlib.sha256(repr(row).encode()).digest()
        total = (total + int.from_bytes(each)) % 2**256
    return f"{total:064x}"


def _every_fact() -> Iterator[Fact]:
    logs = sorted(Log.objects.all(), key=lambda log: (log.is_of_site, str(log.uid)))
    for log in logs:
        facts = Fact.objects.filter(log=log).select_related("log").order_by("seq")
        yield from facts.iterator(chunk_size=500)
