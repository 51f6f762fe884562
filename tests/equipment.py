"""Equipment in tests over REST: three pieces in a kit, disinfected and seen dry in a line."""

from datetime import UTC, datetime

from tests.make import make_shop
from tests.walk import Walk

DAY = "2027-01-18T"
SORTS = ("air_line", "air_stone", "heater")
CLEANED = {
    "cleaned": True,
    "agent": "chlorine",
    "mg_per_l": "200",
    "measured": True,
    "rinsed": True,
    "started_at": f"{DAY}08:15:00+01:00",
    "ended_at": f"{DAY}09:15:00+01:00",
    "performed_at": f"{DAY}09:15:00+01:00",
}


def make_pieces(walk):
    """Three pieces, as new as they came: dirty."""
    here = f"sites/{walk.site}/pieces"
    bodies = [{"label": f"A-1 {sort}", "type": sort} for sort in SORTS]
    return [walk.post(here, body)["piece"]["uid"] for body in bodies]


def make_kit(walk, pieces):
    """A kit with these pieces, all that it needs."""
    made = walk.post(f"sites/{walk.site}/kits", {"label": "A-1", "needs": list(SORTS)})["kit"]
    fitted = [walk.post(f"pieces/{piece}/fittings", {"kit": made["uid"]}) for piece in pieces]
    assert [one["piece"]["kit"] for one in fitted] == [made["uid"]] * len(pieces)
    return made["uid"]


def make_cup(walk, label="Cup 1"):
    """A piece that belongs to no kit."""
    body = {"label": label, "type": "transfer_cup"}
    return walk.post(f"sites/{walk.site}/pieces", body)["piece"]["uid"]


def make_containers(walk, *labels):
    here = f"sites/{walk.site}"
    room = walk.post(f"{here}/rooms", {"label": "Hall"})["room"]["uid"]
    rack = walk.post(f"{here}/racks", {"label": "1", "room": room})["rack"]["uid"]
    made = [walk.post(f"{here}/containers", {"label": one, "rack": rack}) for one in labels]
    return [one["container"]["uid"] for one in made]


def disinfect(walk, *subjects, **changes):
    return walk.post("disinfections", {"subjects": list(subjects), **CLEANED, **changes})


def see_dry(walk, *subjects, **more):
    return walk.post("dry-sightings", {"subjects": list(subjects), **more})


def on_shift(walk, begins, ends):
    """The manager says that she is on shift."""
    body = {"person": walk.person, "from": begins, "to": ends}
    return walk.post(f"sites/{walk.site}/shifts", body)


def another_organisation(walk):
    """The manager of another organisation, walking beside."""
    shop = make_shop(at=datetime.fromisoformat(walk.now).astimezone(UTC))
    other = Walk(walk.client, walk.now)
    signed_in = {"email": shop.manager.email, "password": "correct horse"}
    other.token = other.post("tokens", signed_in)["token"]
    return other
