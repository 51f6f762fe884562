"""Rows about animals, equipment and water, questions and work."""

from tests.api.asked.row import BEFORE, DECIDERS, EVERYBODY, HANDS, MANAGERS, NOW, Row

HAPPENED = {"standing": "happened"}
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
    "with": [],
    "around": ["lid_on"],
    **HAPPENED,
}
JOIN = {
    "members": ["{fresh}", "{held}"],
    "to_container": "{container_4}",
    "kit": "{kit_4}",
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
    "GET batches/<uid>/treatments": Row(EVERYBODY, status=200),
    "POST batches/<uid>/move-checks": Row(HANDS, MOVE, status=200),
    "POST batches/<uid>/splits": Row(
        HANDS,
        {
            "parts": [
                {"count": 6},
                {"count": 4, "to_container": "{container_4}", "kit": "{kit_4}"},
            ],
            **HAPPENED,
        },
    ),
    "POST joins": Row(HANDS, JOIN),
    "POST join-checks": Row(HANDS, JOIN, status=200),
    "GET sites/<site>/balances": Row(EVERYBODY, status=200),
    "GET sites/<site>/supplier-losses": Row(EVERYBODY, status=200),
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
    "GET containers/<uid>/stocking": Row(
        EVERYBODY, status=200, query="name=Amphiprion+ocellaris&count=9&length_cm=4"
    ),
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
            "ate": ["{container_4}"],
        },
    ),
    "GET sites/<site>/handovers": Row(EVERYBODY, status=200),
    "POST sites/<site>/handovers": Row(HANDS, {"odd": "R1-02 hums", "promised": "A call"}),
    "POST handovers/<uid>/readings": Row(HANDS, {}),
    "POST feedings": Row(
        HANDS, {"feedings": [{"container": "{container_2}", "food": "mysis", "eaten": "all"}]}
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
    "GET containers/<uid>/neighbours": Row(EVERYBODY, status=200),
    "GET sites/<site>/contacts": Row(EVERYBODY, status=200, query="day=2027-02-06"),
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
    "GET batches/<uid>/carry-over": Row(DECIDERS, status=200),
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
    "POST facts/<uid>/account-decisions": Row(
        MANAGERS, {"accepted": "{account}", "reason": "by the camera"}, of="told_again"
    ),
    "POST facts/<uid>/settlements": Row(
        DECIDERS,
        {
            "attribution": [{"batch": "{held}", "count": 5}, {"batch": "{fresh}", "count": 4}],
            "void": False,
            "reason": "they were in the other one",
        },
        of="parked",
    ),
    "POST facts/<uid>/corrections": Row(
        HANDS, {"field": "/counts/0", "new": 12, "reason": "misread"}
    ),
}
TABLE = f"""time,probe,container,quantity,unit,value
{BEFORE},T-1,C-4,temperature,Cel,25.0
{NOW},T-1,C-4,temperature,Cel,25.2
"""
WORK = {
    "GET tasks": Row(EVERYBODY, status=200),
    "POST tasks/<uid>/takers": Row(HANDS, {}),
    "POST tasks/<uid>/hand-backs": Row(HANDS, {"reason": "another rack"}, status=409),
    "POST tasks/<uid>/completions": Row(HANDS, {"reason": "done"}, status=409),
    "GET sites/<site>/calls": Row(EVERYBODY, status=200),
    "PUT sites/<site>/calls/read": Row(EVERYBODY, {}, status=200),
    "GET sites/<site>/probe-values": Row(EVERYBODY, status=200),
    "POST sites/<site>/probe-values": Row(HANDS, {"csv": TABLE}),
    "PUT devices/<uid>/token": Row(MANAGERS, {}, status=200),
    "GET addresses": Row(EVERYBODY, status=200),
    "PUT addresses": Row(
        EVERYBODY, {"label": "Telephone", "address": "ntfys://example.org/hall"}, status=200
    ),
    "GET sites/<site>/closures": Row(EVERYBODY, status=200),
    "POST rooms/<uid>/closures": Row(HANDS, {"why": "Chlorine in the air"}),
    "POST rooms/<uid>/openings": Row(HANDS, {}, status=409),
    "POST test-clock/sweeps": Row(EVERYBODY, {"site": "{site}"}, status=200),
}
