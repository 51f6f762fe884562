"""The floor that keeps facts, as Django knows it."""

from django.apps import AppConfig


class StockConfig(AppConfig):
    """Facts, what is derived from them, and the doors by which they enter."""

    name = "stock"
    verbose_name = "Fillmark"
    default_auto_field = "django.db.models.BigAutoField"
