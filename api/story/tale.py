"""The tale itself: from an empty service to animals handed over with a certificate."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from api.story.animals import Arrived, Batch, apply_list, place
from api.story.client import Service, Stopped
from api.story.floor import Floor
from api.story.proof import checked, is_set

BEGINS = datetime(2027, 1, 3, 9, 0, tzinfo=UTC)
CONTAINERS = 6
HOUR = timedelta(hours=1)
Say = Callable[[str], None]


def tell(service: Service, setup_code: str, file: Path, say: Say) -> None:
    """Play everything; raises Stopped where something is not as it must be."""
    floor, supplier = open_shop(service, setup_code, say)
    get_ready(floor, say)
    arrived = unpack(floor, supplier, file, say)
    batch = place(floor, arrived, dead=1)
    say(f"Placed {batch.alive} in {batch.place}; 1 was dead on arrival")
    go_through_moves(batch, say)
    watch(batch, say)
    certificate = certify(batch, say)
    hand_over(batch, certificate, say)


def open_shop(service: Service, setup_code: str, say: Say) -> tuple[Floor, str]:
    """The first organisation, its site, and what stands there."""
    made = service.post(
        "organisations",
        {
            "name": "Ría de Ejemplo Marine",
            "email": "mara@example.org",
            "password": "the tide comes in at nine",
            "site": {"name": "Quarantine", "zone": "Europe/Lisbon"},
            "setup_code": setup_code,
        },
    )
    service.token = made["token"]
    floor = Floor(service, made["site"]["uid"])
    floor.build(CONTAINERS)
    say(f"Set up a room with {CONTAINERS} containers and {CONTAINERS} kits of six pieces")
    supplier = service.post("suppliers", {"name": "Isla de Muestra", "decimal": ","})
    service.post(
        "species",
        {"scientific_name": "Amphiprion ocellaris", "trade_names": ["False clownfish"]},
    )
    return floor, str(supplier["supplier"]["uid"])


def get_ready(floor: Floor, say: Say) -> None:
    """Nothing new is clean: disinfected, seen dry by a person, kept dry for its hours."""
    floor.check_instruments()
    floor.disinfect()
    floor.service.wait(3 * HOUR)
    floor.see_dry()
    say("Instruments checked, everything disinfected and seen dry; 24 hours of drying begin")
    floor.service.wait(24 * HOUR)


def unpack(floor: Floor, supplier: str, file: Path, say: Say) -> Arrived:
    """The packing list from its file, then the boxes at the door."""
    service = floor.service
    arrived = apply_list(service, floor.site, supplier, file, {"date_order": "day_first"})
    say(f"Packing list {file.name}: day or month first? Day. {arrived.listed} listed")
    service.at(datetime(2027, 1, 5, 9, 0, tzinfo=UTC))
    delivered = {"delivered_at": service.now.isoformat()}
    service.post(f"consignments/{arrived.uid}/deliveries", delivered)
    service.wait(HOUR)
    say("Delivered and unpacked")
    return arrived


def go_through_moves(batch: Batch, say: Say) -> None:
    """Five moves: the first was early, so that four would end too soon."""
    placed = batch.service.now
    for number, hours in enumerate((60, 130, 200, 270, 300), start=1):
        batch.live_until(placed + hours * HOUR)
        if number == 2:
            batch.lose(1, "did not eat")
            say("Found 1 dead on the round")
        moved = batch.move(f"R1-{number + 1:02}", f"K-{number + 1}")
        needed = moved["series"]["moves_needed"]
        say(f"Move {number} after {hours} h with {batch.alive}; {needed} more needed")
    if moved["state"] != "observation":
        raise Stopped(f"After five moves the batch is in {moved['state']}.")


def watch(batch: Batch, say: Say) -> None:
    """Fourteen days without signs; one more dies, by a jump."""
    ends = datetime.fromisoformat(batch.now()["observation"]["ends_at"])
    batch.live_until(batch.service.now + 5 * 24 * HOUR)
    batch.lose(1, "jumped")
    say("Found 1 dead on the floor: it had jumped")
    batch.live_until(ends)
    asked = batch.service.get(f"batches/{batch.uid}/certificate-check")
    if not asked["may_be_issued"]:
        raise Stopped(f"It may not be certified: {asked['reasons']}")
    say("Observation is over; nothing stands against a certificate")


def certify(batch: Batch, say: Say) -> dict[str, Any]:
    """Issue the certificate and check it like somebody who trusts nobody."""
    service = batch.service
    body = {"count": batch.alive}
    certificate = service.post(f"batches/{batch.uid}/certificates", body)["certificate"]
    say(f"Certificate {certificate['number']} for {certificate['count']}: {certificate['url']}")
    payload = checked(service, certificate["url"])
    said = payload["credentialSubject"]["quarantine"]
    if said["counts"]["certified"] != batch.alive or len(said["moves"]) != 5:
        raise Stopped(f"It says something else: {said}")
    if is_set(service, payload, "revocation") or is_set(service, payload, "suspension"):
        raise Stopped("A status list says that it is not valid.")
    say("The signature fits the published key; neither status list names it")
    if "This record stands for" not in service.text(certificate["url"], "text/html"):
        raise Stopped("The public page does not say that it stands.")
    return dict(certificate)


def hand_over(batch: Batch, certificate: dict[str, Any], say: Say) -> None:
    """Ten go to a buyer, who sees what the record is worth today."""
    service = batch.service
    service.wait(24 * HOUR)
    sale = {"count": 10, "buyer": "a buyer", "certificate": certificate["uid"]}
    service.post(f"batches/{batch.uid}/dispatches", sale)
    now = service.get(certificate["url"])["now"]
    if (now["state"], now["count"], now["left_the_seller"]) != ("valid", batch.alive, 10):
        raise Stopped(f"The public page says {now}.")
    say(f"Handed over 10 with it; the page says {now['state']}, {now['count']} covered")
