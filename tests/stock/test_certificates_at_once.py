"""Two sites of one organisation certify at the same moment."""

from dataclasses import replace
from functools import partial

import pytest
from django.test import Client

from stock.models import Fact
from tests.certified import HOUR, PLACED, move_on, open_floor
from tests.floor import Floor

ISSUED = "2027-02-04T05:00:00+01:00"


def annex(floor):
    """Another site of the same organisation, with containers, kits and instruments."""
    site = floor.walk.post("sites", {"name": "Annex", "zone": "Europe/Berlin"})["site"]["uid"]
    walk = replace(floor.walk, site=site, client=Client())
    other = Floor(walk, species=floor.species, supplier=floor.supplier)
    room = walk.post(f"sites/{site}/rooms", {"label": "Hall"})["room"]["uid"]
    rack = walk.post(f"sites/{site}/racks", {"label": "R1", "room": room})["rack"]["uid"]
    for n in range(1, 7):
        other._container(f"R1-{n:02}", rack, n)
        other._kit(f"{'AB'[(n - 1) % 2]}-{(n + 1) // 2}")
    other._instrument("T-1", "temperature")
    other._instrument("S-1", "salinity")
    return other


def placed_and_moved(floor, count, *, placed):
    batch = floor.place(count, "R1-01", "A-1", at=placed)
    move_on(floor, batch, count, placed=placed)
    return batch


@pytest.mark.django_db(transaction=True)
def test_each_gets_a_number_of_its_own_and_none_is_burnt(together, settings):
    settings.TEST_CLOCK = True
    hall = open_floor(Client())
    other = annex(hall)
    other.disinfect(*other.uids.values(), at=PLACED - 22 * HOUR)
    other.see_dry(*other.uids.values(), at=PLACED - 21 * HOUR)
    batches = [
        (hall.walk, placed_and_moved(hall, 20, placed=PLACED)),
        (other.walk, placed_and_moved(other, 9, placed=PLACED + 24 * HOUR)),
    ]

    def issue(walk, batch):
        return walk.at(ISSUED).post(f"batches/{batch}/certificates", {"count": 9})

    made = together(*(partial(issue, *one) for one in batches))

    numbers = [one["certificate"]["number"] for one in made]
    assert sorted(numbers) == ["C-2027-0001", "C-2027-0002"]
    assert Fact.objects.filter(kind="signing_key_set").count() == 1
