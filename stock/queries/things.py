"""Things of a site as they are shown: every column by its name, references as uids."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from stock.models import SiteThing


def shown(model: type[SiteThing], uid: UUID) -> dict[str, Any]:
    """One thing with all its columns. One query."""
    return _named(model.objects.filter(uid=uid).values().get())


def listed(model: type[SiteThing], site: UUID) -> list[dict[str, Any]]:
    """All things of one sort at a site, by label. One query."""
    return [_named(row) for row in model.objects.filter(site=site).order_by("label").values()]


def _named(row: Mapping[str, Any]) -> dict[str, Any]:
    return {name.removesuffix("_id"): value for name, value in row.items()}
