"""The floor that keeps facts, as Django knows it."""

from typing import Any

from django.apps import AppConfig
from django.db import connections
from django.db.models.signals import post_migrate


def _install_triggers(using: str, **_: Any) -> None:
    # Imported here: the registry of models is not there yet when this module is.
    from stock import triggers

    triggers.install(connections[using])


class StockConfig(AppConfig):
    """Facts, what is derived from them, and the doors by which they enter."""

    name = "stock"
    verbose_name = "Fillmark"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        post_migrate.connect(_install_triggers, sender=self)
