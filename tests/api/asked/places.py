"""Rows about what there is, who works there, and what arrives."""

from collections.abc import Mapping
from typing import Any

from protocols.versions import text_of
from tests.api.asked.row import BEFORE, DECIDERS, EVERYBODY, HANDS, MANAGERS, NOW, READERS, Row

SPAN = f"from=2027-01-01T00:00:00Z&to={NOW}"
ROOM = {"label": "Cellar", "light_on": "08:00", "light_off": "20:00"}
CONTAINER = {"label": "R9-01", "rack": "{rack}", "system": "{system}", "fill_mark_l": "60"}
SUPPLIER = {"name": "Atoll", "claim_terms": {"doa": 86400}}
SPECIES = {"scientific_name": "Gramma loreto", "groups": ["basslets"], "trade_names": []}
WEBHOOK = {"label": "Office", "address": "https://example.org/a", "kinds": ["hold.placed"]}

MADE = {
    "made_from": "warm-288@1",
    "text": text_of("warm-288@1").replace("version = 1\n", "version = 101\n"),
}


def made(sort: str, body: Mapping[str, Any]) -> dict[str, Row]:
    """A sort of thing: seen by everybody, made and changed by managers."""
    return {
        f"GET sites/<site>/{sort}": Row(EVERYBODY, status=200),
        f"POST sites/<site>/{sort}": Row(MANAGERS, body),
        f"GET {sort}/<uid>": Row(EVERYBODY, status=200),
        f"PUT {sort}/<uid>": Row(MANAGERS, body),
    }


def known(sort: str, body: Mapping[str, Any]) -> dict[str, Row]:
    """The same of the whole organisation."""
    return {name.replace("sites/<site>/", ""): row for name, row in made(sort, body).items()}


PLACES = {
    "GET schema": Row(EVERYBODY, status=200),
    "POST organisations": Row(frozenset()),
    "POST tokens": Row(frozenset()),
    "POST sites": Row(MANAGERS, {"name": "Annexe", "zone": "Europe/Berlin"}),
    "POST people": Row(
        MANAGERS,
        {
            "name": "Ada",
            "email": "ada@example.org",
            "password": "correct horse",
            "roles": [{"site": "{site}", "role": "keeper"}],
        },
    ),
    "PUT people/<uid>": Row(MANAGERS, {"roles": [{"site": "{site}", "role": "auditor"}]}),
    **made("rooms", ROOM),
    **made("racks", {"label": "R9", "room": "{room}"}),
    **made("systems", {"label": "Left", "status": "unknown"}),
    **made("containers", CONTAINER),
    **made("kits", {"label": "Z-9", "needs": ["heater"]}),
    **made("pieces", {"label": "H-9", "type": "heater"}),
    **made("instruments", {"label": "T-9", "quantities": ["temperature"]}),
    **made("devices", {"label": "Tablet 9"}),
    "POST devices/<uid>/reports": Row(
        HANDS,
        {"sent_at": NOW, "unsent": 2, "last_entry_no": 4, "oldest_unsent_at": BEFORE},
        status=200,
    ),
    "GET sites/<site>/codes": Row(EVERYBODY, status=200),
    "GET sites/<site>/labels": Row(EVERYBODY, status=200, query="what=container"),
    "GET sites/<site>/rules": Row(EVERYBODY, status=200),
    "PUT sites/<site>/rules": Row(MANAGERS, {"rules": {"tolerance_s": 1800}}),
    "GET sites/<site>/hours": Row(EVERYBODY, status=200),
    "PUT sites/<site>/hours": Row(
        MANAGERS, {"weekly": [{"day": 0, "from": "08:00", "to": "18:00"}]}
    ),
    "GET sites/<site>/shifts": Row(EVERYBODY, status=200),
    "POST sites/<site>/shifts": Row(
        MANAGERS, {"person": "{person}", "from": BEFORE, "to": NOW, "on_call": False}
    ),
    "GET protocols": Row(EVERYBODY, status=200),
    "POST protocols": Row(MANAGERS, MADE),
    "GET systems/<uid>/fallow": Row(EVERYBODY, status=200),
    "POST protocol-checks": Row(EVERYBODY, MADE, status=200),
    "GET sites/<site>/ledger": Row(READERS, status=200),
    "GET sites/<site>/ledger/checkpoint": Row(READERS, status=200),
    "GET sites/<site>/ledger/checkpoints": Row(READERS, status=200),
    "GET sites/<site>/ledger/consistency": Row(READERS, status=200, query="older=1"),
    "GET facts/<uid>/inclusion": Row(READERS, status=200),
    "GET sites/<site>/notices": Row(EVERYBODY, status=200),
    "GET sites/<site>/records": Row(READERS, status=200, query=SPAN),
    "GET sites/<site>/epcis": Row(READERS, status=200, query=SPAN),
    "GET sites/<site>/traces": Row(READERS, status=200),
    "POST sites/<site>/traces": Row(
        READERS, {"of": "{batch}", "direction": "forward"}, status=200
    ),
    "GET traces/<uid>": Row(READERS, status=200),
    "POST traces/<uid>/decisions": Row(
        DECIDERS,
        {"batch": "{batch}", "decision": "watch", "reason": "A shared net."},
        status=409,
    ),
    "GET sites/<site>/exports": Row(READERS, status=200),
    "POST sites/<site>/exports": Row(READERS, {"from": BEFORE, "to": NOW}, status=202),
    "GET exports/<uid>": Row(READERS, status=200),
    # This one is not made yet.
    "GET exports/<uid>/file": Row(READERS, status=404),
    "GET sites/<site>/late-entries": Row(READERS, status=200, query=SPAN),
    "GET sites/<site>/retention": Row(MANAGERS, status=200),
    "POST sites/<site>/legal-holds": Row(
        MANAGERS, {"batches": ["{batch}"], "reason": "A court asks for it."}
    ),
    "POST legal-holds/<uid>/lifting": Row(MANAGERS, {"reason": "It is settled."}),
    "POST sites/<site>/erased-texts": Row(
        MANAGERS, {"facts": ["{noted}"], "reason": "They asked for it."}, status=409
    ),
    # Somebody who works here keeps their name.
    "POST people/<uid>/erasure": Row(MANAGERS, {"reason": "They asked for it."}, status=409),
    "GET sites/<site>/visits": Row(MANAGERS, status=200),
    "POST sites/<site>/visits": Row(
        MANAGERS,
        {
            "visitor": "Ansel Brook",
            "authority": "Coast office",
            "from": BEFORE,
            "to": NOW,
            "reports": ["intervals"],
            "batches": ["{batch}"],
            "hours": 4,
        },
    ),
    "GET sites/<site>/webhooks": Row(MANAGERS, status=200),
    "POST sites/<site>/webhooks": Row(MANAGERS, WEBHOOK, status=200),
    "GET webhooks/<uid>": Row(MANAGERS, status=200),
    "PUT webhooks/<uid>": Row(MANAGERS, {"kinds": ["hold.lifted"], "active": True}, status=200),
    "POST webhooks/<uid>/secrets": Row(MANAGERS, {"both_hours": 0}, status=200),
    "POST webhooks/<uid>/deliveries": Row(MANAGERS, {"since": BEFORE}, status=202),
    "DELETE webhooks/<uid>": Row(MANAGERS, status=200),
    "GET webhooks/<uid>/deliveries": Row(MANAGERS, status=200),
    "GET visits/<uid>": Row(MANAGERS, status=200),
    "POST visits/<uid>/closing": Row(MANAGERS, {}),
    "GET sites/<site>/reports": Row(READERS, status=200, query=f"report=intervals&{SPAN}"),
}
LIST = {"file": "list.csv", "supplier": "{supplier}"}
INTAKE = {
    **known("suppliers", SUPPLIER),
    **known("species", SPECIES),
    "POST sites/<site>/files": Row(HANDS, {"file": "photo.png"}, form=True),
    "POST sites/<site>/imports": Row(MANAGERS, LIST, status=200, form=True),
    "GET imports/<uid>": Row(MANAGERS, status=200),
    "POST imports/<uid>/applications": Row(MANAGERS, {"answers": {}}),
    "GET sites/<site>/consignments": Row(EVERYBODY, status=200),
    "POST sites/<site>/consignments": Row(
        HANDS,
        {
            "supplier": "{supplier}",
            "lines": [{"species": "{species}", "listed": 5, "boxes": ["1"]}],
        },
    ),
    "GET consignments/<uid>": Row(EVERYBODY, status=200),
    "POST consignments/<uid>/deliveries": Row(HANDS, {"delivered_at": BEFORE}),
    "POST lines/<uid>/counts": Row(HANDS, {"received": 9, "doa": 1}, of="open_line"),
    # Of this line nobody was counted dead.
    "POST lines/<uid>/doa-reversals": Row(
        HANDS, {"count": 1, "evidence": "it breathes"}, status=409
    ),
    "POST lines/<uid>/species": Row(HANDS, {"species": "{species}"}),
}
