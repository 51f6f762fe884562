"""How pages stand on screens: nothing runs out of the side, everything can be touched."""

import pytest
from django.urls import reverse

from stock.models import DeviationRow

NARROW = {"width": 320, "height": 640}
# Links inside a sentence may be smaller; whatever is pressed for work is not.
TOO_SMALL = """() => [...document.querySelectorAll(
    'button, summary, select, input:not([type=hidden], [type=checkbox], [type=radio]), .ways a'
  )].filter(one => one.checkVisibility()).filter(one => {
    const box = one.getBoundingClientRect();
    return box.height < 44;
  }).map(one => one.outerHTML.slice(0, 120))"""
UNNAMED = """() => [...document.querySelectorAll('input:not([type=hidden]), select, textarea')]
  .filter(one => !one.labels.length && !one.getAttribute('aria-label'))
  .map(one => one.outerHTML.slice(0, 120))"""
OVERFLOW = "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"


@pytest.fixture
def addresses(floor, batch):
    site = floor.walk.site
    floor.walk.post(f"batches/{batch}/signs", {"signs": ["white_spots"], "affected": 2})
    question = DeviationRow.objects.get(rule="sign_seen").uid
    pages = [
        *((name, site) for name in ("shift", "room", "unpacking", "kits", "questions")),
        *((name, site) for name in ("certifiable", "record-book", "disinfect", "see-dry")),
        *((name, site) for name in ("reckon", "reckon-topoff_volume_l")),
        *((name, batch) for name in ("batch", "move", "loss", "sign", "history")),
        ("certificate-check", batch),
        ("kit", floor.uids["A-1"]),
        ("container", floor.uids["R1-01"]),
        ("read-water", floor.uids["R1-01"]),
        ("question", question),
    ]
    return {name: reverse(name, args=[of]) for name, of in pages}


def seen(looking, addresses, script):
    """What the script finds on each page; pages on which it finds nothing are left out."""
    found = {}
    for name, address in addresses.items():
        looking.page.goto(looking.address + address)
        found[name] = looking.page.evaluate(script)
    return {name: one for name, one in found.items() if one}


def test_nothing_runs_out_of_the_side_of_the_narrowest_screen(look, addresses):
    assert seen(look(viewport=NARROW), addresses, OVERFLOW) == {}


def test_everything_that_is_pressed_is_large_enough_for_a_wet_thumb(look, addresses):
    assert seen(look(viewport=NARROW, has_touch=True), addresses, TOO_SMALL) == {}


def test_every_field_has_a_name_for_people_who_do_not_see_it(look, addresses):
    assert seen(look(), addresses, UNNAMED) == {}


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_page_breaks_the_policy_of_what_may_run(look, addresses, scheme):
    looking = look(color_scheme=scheme)

    seen(looking, addresses, "() => 0")

    assert looking.faults == []
