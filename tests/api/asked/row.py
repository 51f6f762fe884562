"""What a good request looks like, and who may ask it; one row for each route."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

EVERYBODY = frozenset({"keeper", "manager", "veterinarian", "auditor"})
HANDS = EVERYBODY - {"auditor"}
READERS = EVERYBODY - {"keeper"}
DECIDERS = frozenset({"manager", "veterinarian"})
MANAGERS = frozenset({"manager"})
# When it is in both shops, and an hour before.
NOW, BEFORE = "2027-02-06T05:00:00Z", "2027-02-06T04:00:00Z"


@dataclass(frozen=True)
class Row:
    """Who may ask, about what, how; the status a good request of somebody who may is given."""

    who: frozenset[str]
    body: Mapping[str, Any] | None = None
    status: int = 201
    of: str | None = None
    form: bool = False
    query: str = ""


# What stands in a path unless a row says otherwise, by the first word of the path.
FIRST = {
    "sites": "site",
    "people": "person",
    "rooms": "room",
    "racks": "rack",
    "systems": "system",
    "containers": "container_4",
    "kits": "kit_4",
    "pieces": "piece",
    "instruments": "instrument",
    "makes": "make",
    "exports": "export",
    "traces": "trace",
    "salt-lots": "salt_lot",
    "bleaches": "bleach",
    "suppliers": "supplier",
    "species": "species",
    "imports": "import",
    "consignments": "consignment",
    "lines": "line",
    "batches": "fresh",
    "certificates": "certificate",
    "missing": "missing",
    "holds": "hold",
    "deviations": "deviation",
    "facts": "fact",
    "devices": "device",
    "tasks": "task",
    "handovers": "handover",
    "visits": "visit",
    "webhooks": "webhook",
    "legal-holds": "legal_hold",
}
