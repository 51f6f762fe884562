"""Which request keys of a person were answered. One query."""

from collections.abc import Sequence
from uuid import UUID

from stock.models import Answer


def answered_keys(person: UUID, keys: Sequence[str]) -> list[str]:
    """Those of the keys under which something of this person was recorded, in their order."""
    rows = Answer.objects.filter(person=person, key__in=keys)
    found = set(rows.values_list("key", flat=True))
    return [key for key in keys if key in found]
