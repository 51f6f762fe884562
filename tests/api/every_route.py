"""Every REST route there is, found in the resolver, and what is expected of each.

The table says who may, and what a good request looks like. `{batch}` stands for the uid of
what bears that name in `shops.py`; in a path stands what `FIRST` says, unless the row says
which. A route without a row fails the tests with its name.
"""

import copy
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from django.urls import URLPattern, URLResolver, get_resolver

EVERYBODY = frozenset({"keeper", "manager", "veterinarian", "auditor"})
HANDS = EVERYBODY - {"auditor"}
READERS = EVERYBODY - {"keeper"}
DECIDERS = frozenset({"manager", "veterinarian"})
MANAGERS = frozenset({"manager"})
API = "api/v1/"
# What can be asked without signing in, and why.
OPEN = {
    "GET schema": "it says nothing that the program's text does not",
    "POST organisations": "nobody can sign in before the first one is made",
    "POST tokens": "it is how one signs in",
}
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


def rows() -> dict[str, Row]:
    return {**PLACES, **INTAKE, **ANIMALS, **EQUIPMENT, **QUESTIONS, **WORK}


@dataclass(frozen=True)
class Route:
    """One method of one address, such as `POST batches/<uid>/moves`."""

    method: str
    address: str

    @property
    def name(self) -> str:
        return f"{self.method} {self.address}"

    @property
    def enters(self) -> bool:
        """Whether it goes through a door, with all the fields that every entry may have."""
        return self.method != "GET" and self.row.status != 200 and not self.row.form

    @property
    def row(self) -> Row:
        return rows()[self.name]

    @property
    def subject(self) -> str | None:
        """Whose uid stands in the path, by its name in `shops.py`."""
        if "<" not in self.address:
            return None
        return self.row.of or FIRST[self.address.partition("/")[0]]

    def path(self, uid: str) -> str:
        query = f"?{self.row.query}" if self.row.query else ""
        return f"/{API}{re.sub('<[a-z:]+>', uid, self.address)}{query}"

    def body(self, uids: Mapping[str, str]) -> Any:
        return filled(self.row.body, uids)


def every_route() -> list[Route]:
    """Those below `api/v1/`, methods apart."""
    found = []
    for address, view in walk(get_resolver().url_patterns):
        if not address.startswith(API):
            continue
        name = re.sub(r"<uuid:(\w+)>", r"<\1>", address.removeprefix(API))
        cls: Any = getattr(view.callback, "view_class", None) or view.callback.cls  # type: ignore[attr-defined]
        methods = [
            one for one in ("get", "post", "put", "patch", "delete") if hasattr(cls, one)
        ]
        found += [Route(one.upper(), name) for one in methods]
    return found


def walk(patterns: Any, prefix: str = "") -> Iterator[tuple[str, URLPattern]]:
    for one in patterns:
        address = prefix + str(one.pattern)
        if isinstance(one, URLResolver):
            yield from walk(one.url_patterns, address)
        else:
            yield address, one


def filled(value: Any, uids: Mapping[str, str]) -> Any:
    """The value with uids in place of their names."""
    if isinstance(value, Mapping):
        return {name: filled(one, uids) for name, one in value.items()}
    if isinstance(value, list):
        return [filled(one, uids) for one in value]
    if isinstance(value, str):
        return re.sub(r"\{(\w+)\}", lambda found: uids[found[1]], value)
    return copy.copy(value)


def names_in(
    value: Any, pointer: tuple[Any, ...] = ()
) -> Iterator[tuple[tuple[Any, ...], str]]:
    """Where in a body of the table uids stand, and what each is called."""
    if isinstance(value, Mapping | list):
        pairs = value.items() if isinstance(value, Mapping) else enumerate(value)
        for name, one in pairs:
            yield from names_in(one, (*pointer, name))
    elif isinstance(value, str) and (found := re.fullmatch(r"\{(\w+)\}", value)):
        yield pointer, found[1]


def with_value(body: Any, pointer: tuple[Any, ...], value: Any) -> Any:
    """A copy of the body with something else at one place."""
    changed = copy.deepcopy(body)
    at = changed
    for name in pointer[:-1]:
        at = at[name]
    at[pointer[-1]] = value
    return changed


# The thing in a path, by the first word of the path.
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
}
HAPPENED = {"standing": "happened"}
ROOM = {"label": "Cellar", "light_on": "08:00", "light_off": "20:00"}
CONTAINER = {"label": "R9-01", "rack": "{rack}", "system": "{system}", "fill_mark_l": "60"}
SUPPLIER = {"name": "Atoll", "claim_terms": {"doa": 86400}}
SPECIES = {"scientific_name": "Gramma loreto", "groups": ["basslets"], "trade_names": []}


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
    "GET sites/<site>/ledger": Row(READERS, status=200),
    "GET sites/<site>/ledger/checkpoint": Row(READERS, status=200),
    "GET sites/<site>/notices": Row(EVERYBODY, status=200),
    "GET sites/<site>/records": Row(
        READERS, status=200, query=f"from=2027-01-01T00:00:00Z&to={NOW}"
    ),
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
    "POST lines/<uid>/species": Row(HANDS, {"species": "{species}"}),
}
READING = {
    "container": "{container_4}",
    "quantity": "temperature",
    "value": "25.1",
    "unit": "Cel",
    "instrument": "{instrument}",
}
MOVE = {
    "ended_stay": "{stay}",
    "to_container": "{container_4}",
    "kit": "{kit_4}",
    "counts": [10],
    "readings": ["{reading}", READING],
    **HAPPENED,
}
LOSS = {
    "batch": "{fresh}",
    "fate": "dead",
    "count": 1,
    "cause": ["unknown"],
    "found_at": BEFORE,
}
ANIMALS = {
    "GET batches": Row(EVERYBODY, status=200),
    "POST batches": Row(
        HANDS,
        {
            "from": [{"line": "{line}", "count": 3}],
            "container": "{container_4}",
            "kit": "{kit_4}",
            "counts": [3],
            "protocol": "transfer-288@1",
            **HAPPENED,
        },
    ),
    "GET batches/<uid>": Row(EVERYBODY, status=200),
    "GET batches/<uid>/history": Row(EVERYBODY, status=200),
    "POST batches/<uid>/moves": Row(HANDS, MOVE),
    "POST batches/<uid>/move-checks": Row(HANDS, MOVE, status=200),
    "POST losses": Row(
        HANDS, {"lines": [{**LOSS, "origin": ["{line}"], "incident": "{incident}"}]}
    ),
    "POST batches/<uid>/missing": Row(HANDS, {"count": 1, "container": "{container_2}"}),
    "POST missing/<uid>/findings": Row(
        HANDS, {"count": 1, "container": "{container_2}", "alive": True}
    ),
    "POST missing/<uid>/presumptions": Row(MANAGERS, {"count": 1, "reason": "searched twice"}),
    "POST batches/<uid>/counts": Row(HANDS, {"counts": [10]}),
    "POST batches/<uid>/births": Row(HANDS, {"count": 2, "estimated": True}),
    "POST batches/<uid>/dispatches": Row(HANDS, {"count": 1, "buyer": "Reef House"}),
    "POST batches/<uid>/returns": Row(
        HANDS, {"count": 1, "dispatch": "{dispatch}"}, of="batch"
    ),
    "GET batches/<uid>/certificate-check": Row(EVERYBODY, status=200),
    "GET batches/<uid>/certificates": Row(EVERYBODY, status=200),
    "POST batches/<uid>/certificates": Row(MANAGERS, {"count": 5}, status=409),
    "GET certificates/<uid>": Row(EVERYBODY, status=200),
    "POST certificates/<uid>/suspensions": Row(DECIDERS, {"reason": "a buyer asks"}),
    "POST certificates/<uid>/liftings": Row(MANAGERS, {"reason": "answered"}, status=409),
    "POST certificates/<uid>/revocations": Row(MANAGERS, {"reason": "wrong"}),
    "POST certificates/<uid>/supersessions": Row(MANAGERS, {"reason": "another count"}),
}
FREE = {"subjects": ["{container_4}", "{kit_4}", "{piece}"]}
WATER = {"make": "{make}", "volume_l": "40"}
EQUIPMENT = {
    "POST disinfections": Row(
        HANDS,
        {
            **FREE,
            "cleaned": True,
            "agent": "chlorine",
            "mg_per_l": "200",
            "measured": True,
            "started_at": BEFORE,
            "ended_at": NOW,
            "rinsed": True,
        },
    ),
    "POST dry-sightings": Row(HANDS, FREE),
    "POST wet-findings": Row(HANDS, FREE),
    "POST pieces/<uid>/fittings": Row(HANDS, {"kit": "{kit_4}"}),
    "POST pieces/<uid>/defects": Row(HANDS, {"what": "a crack"}),
    "POST containers/<uid>/emptyings": Row(HANDS, {"searched": True}),
    "POST readings": Row(HANDS, {"readings": [READING]}),
    "GET containers/<uid>/readings": Row(EVERYBODY, status=200),
    "POST containers/<uid>/reading-series": Row(
        HANDS,
        {
            "probe": "{instrument}",
            "quantity": "temperature",
            "unit": "Cel",
            "start": BEFORE,
            "step_s": 1800,
            "values": ["25.0", "25.1"],
        },
    ),
    "POST instruments/<uid>/checks": Row(
        HANDS, {"standard": "reference", "expected": "25.0", "got": "25.1"}
    ),
    "POST rounds": Row(
        HANDS,
        {
            "room": "{room}",
            "looked_at": ["{container_4}"],
            "exceptions": [{"container": "{container_2}", "what": "the lid is open"}],
        },
    ),
    "POST sites/<site>/makes": Row(
        HANDS,
        {
            "vat": "V1",
            "salt_lot": "L7",
            "volume_l": "200",
            "salinity": "33.0",
            "temperature_c": "25.0",
            "total_chlorine_mg_l": "0",
        },
    ),
    "POST containers/<uid>/doses": Row(
        HANDS, {"product": "iodine", "amount": "2", "unit": "mL"}
    ),
    "POST containers/<uid>/feedings": Row(HANDS, {"food": "mysis", "amount_g": "1.5"}),
    "POST containers/<uid>/fillings": Row(HANDS, WATER),
    "POST containers/<uid>/water-changes": Row(HANDS, WATER),
    "POST containers/<uid>/top-ups": Row(HANDS, WATER),
}
QUESTIONS = {
    "POST batches/<uid>/signs": Row(HANDS, {"signs": ["white spots"], "affected": 1}),
    "POST incidents": Row(
        HANDS, {"batch": "{fresh}", "container": "{container_2}", "kind": "jumped", "what": {}}
    ),
    "POST contacts": Row(
        HANDS,
        {
            "from": "{container_2}",
            "to": "{container_4}",
            "way": "tool",
            "thing": "{piece}",
        },
    ),
    "POST batches/<uid>/holds": Row(DECIDERS, {"why": "the veterinarian comes"}),
    "POST holds/<uid>/liftings": Row(DECIDERS, {"why": "she came"}),
    "GET deviations": Row(EVERYBODY, status=200),
    "POST deviations/<uid>/decisions": Row(
        DECIDERS,
        {
            "decision": "keep",
            "known": {"balance": 12, "counted": 11, "missing": 0},
            "reason": "counted again",
        },
    ),
    "POST facts/<uid>/confirmations": Row(HANDS, {}),
    "POST facts/<uid>/withdrawals": Row(HANDS, {"reason": "it was another day"}, of="incident"),
    "POST facts/<uid>/contradictions": Row(HANDS, {"what": "I saw twelve"}),
    "POST facts/<uid>/corrections": Row(
        HANDS, {"field": "/counts/0", "new": 12, "reason": "misread"}
    ),
}
WORK = {
    "GET tasks": Row(EVERYBODY, status=200),
    "POST tasks/<uid>/takers": Row(HANDS, {}),
    "POST tasks/<uid>/hand-backs": Row(HANDS, {"reason": "another rack"}, status=409),
    "POST tasks/<uid>/completions": Row(HANDS, {"reason": "done"}, status=409),
    "POST test-clock/sweeps": Row(EVERYBODY, {"site": "{site}"}, status=200),
}
