"""Pictures say what the numbers say, to people who see them and to people who do not."""

from datetime import UTC, datetime, timedelta
from itertools import permutations
from xml.etree import ElementTree

import pytest
import segno
from hypothesis import given
from hypothesis import strategies as st

from api.pages import pictures
from api.pages.pictures import ChainStay, Dark, Hatch, Vessel
from api.pages.pictures.racks import Stand, arrange

LIMIT = 259_200
NOON = datetime(2027, 1, 11, 12, tzinfo=UTC)
NASTY = "\"><script>alert('R1-02')</script>&"
VESSELS = [
    Vessel("R1-01", "4:20 left", True, 243_600, LIMIT, href="/c/1", x_m=0.3, z_m=1.0),
    Vessel("R1-02", NASTY, state="dirty", href="/c/2?a=1&b=2", x_m=0.8, z_m=0.1),
]


def read(svg: str) -> ElementTree.Element:
    return ElementTree.fromstring(svg)  # noqa: S314 our own picture


def classed(svg: str, name: str) -> list[ElementTree.Element]:
    return [one for one in read(svg).iter() if name in (one.get("class") or "").split()]


def clock(elapsed_s: int, limit_s: int | None = LIMIT, **more) -> str:
    more = {"occupied": True, "label": "R1-01", "text": "", **more}
    return pictures.water_clock(elapsed_s, limit_s, **more)


def level(elapsed_s: int) -> float:
    """How far the surface is below the brim."""
    (surface,) = classed(clock(elapsed_s), "surface")
    return float((surface.get("d") or "").split("q")[0].split()[1])


EVERY_PICTURE = [
    clock(243_600, label=NASTY, text=NASTY, planned_s=200_000),
    clock(0, occupied=False, state="drying"),
    pictures.rack(NASTY, VESSELS),
    pictures.three_nights(
        NOON,
        NOON + timedelta(hours=72),
        NOON + timedelta(hours=80),
        [Dark(NOON, NOON + timedelta(hours=9), NASTY)],
        NOON + timedelta(hours=60),
        text=NASTY,
    ),
    pictures.series_strip(
        [ChainStay(NASTY, NOON)],
        now=NOON + timedelta(hours=100),
        says={1: NASTY},
        earliest_end=NOON + timedelta(hours=400),
    ),
    pictures.balance_bar({"alive": 21, "presumed_lost": 1}),
    pictures.qr("https://example.org/c/9f2?a=1&b=2", title=NASTY),
]


@pytest.mark.parametrize("svg", EVERY_PICTURE)
def test_every_picture_has_a_name_and_a_description(svg):
    first, second = list(read(svg))[:2]

    assert (first.tag, second.tag) == ("title", "desc")
    assert first.text
    assert second.text


@pytest.mark.parametrize("svg", EVERY_PICTURE)
def test_no_picture_breaks_a_strict_content_policy(svg):
    attributes = {name for one in read(svg).iter() for name in one.attrib}

    assert not {name for name in attributes if name == "style" or name.startswith("on")}
    assert "<script" not in svg
    assert "id" not in attributes


# -- Water clock -------------------------------------------------------------------------------


@given(st.integers(0, LIMIT - 600), st.integers(600, LIMIT))
def test_water_rises_with_the_hours(earlier, gap):
    later = min(earlier + gap, LIMIT)

    assert level(later) < level(earlier)


def test_water_stands_at_the_brim_exactly_at_the_limit():
    assert level(LIMIT) == 0
    assert not classed(clock(LIMIT), "ink")


def test_one_second_past_the_limit_it_spills():
    assert classed(clock(LIMIT + 1), "ink")
    assert "runs over its brim" in clock(LIMIT + 1)


def test_the_limit_of_a_warm_stay_is_the_brim_too():
    assert classed(clock(172_801, 172_800), "ink")
    assert not classed(clock(172_800, 172_800), "ink")


def test_a_stay_without_limit_has_no_surface_to_read_hours_from():
    svg = clock(400_000, None)

    assert not classed(svg, "surface")
    assert Hatch.WAVES.fill in svg


@pytest.mark.parametrize("state", [state for state in pictures.EMPTY if state != "ready"])
def test_an_empty_vessel_shows_its_state_by_a_hatch_of_its_own(state):
    svg = clock(243_600, occupied=False, state=state)

    assert not classed(svg, "surface")
    assert str(pictures.EMPTY[state].fill) in svg


def test_a_ready_vessel_is_blank():
    assert "url(" not in clock(243_600, occupied=False, state="ready")


def test_no_two_states_share_a_hatch():
    assert len(set(pictures.EMPTY.values())) == len(pictures.EMPTY)


@pytest.mark.parametrize(("elapsed_s", "limit_s"), [(-1, LIMIT), (0, 0), (0, -1)])
def test_times_that_cannot_be_are_refused(elapsed_s, limit_s):
    with pytest.raises(ValueError, match="no less than nothing"):
        clock(elapsed_s, limit_s)


# -- Rack --------------------------------------------------------------------------------------

places = st.builds(
    Vessel,
    label=st.sampled_from(["R1-01", "R1-02", "acclimation 7"]),
    text=st.sampled_from(["ready", "disinfected, not seen dry"]),
    x_m=st.floats(-2, 2),
    z_m=st.floats(0, 2),
    width_m=st.floats(0.1, 1.2),
    height_m=st.floats(0.1, 0.8),
)


def overlap(one: Stand, other: Stand) -> bool:
    across = one.left < other.left + other.width and other.left < one.left + one.width
    down = one.top < other.top + other.height and other.top < one.top + one.height
    return across and down


@given(st.lists(places, min_size=2, max_size=12))
def test_no_vessel_hides_another(vessels):
    pairs = permutations(arrange(vessels), 2)

    assert not [(one, other) for one, other in pairs if overlap(one, other)]


def test_sizes_are_true_to_each_other():
    small, large = Vessel("a", "", width_m=0.4), Vessel("b", "", x_m=1, width_m=0.8)

    first, second = arrange([small, large])

    assert second.width == pytest.approx(2 * first.width)


def test_the_higher_shelf_is_drawn_higher():
    low, high = Vessel("low", "", z_m=0.1), Vessel("high", "", z_m=1.0)

    stands = {s.vessel.label: s for s in arrange([low, high])}

    assert stands["high"].top + stands["high"].height < stands["low"].top


def test_every_vessel_of_a_rack_can_be_followed():
    links = [one.get("href") for one in read(pictures.rack("R1", VESSELS)).iter("a")]

    assert links == ["/c/1", "/c/2?a=1&b=2"]
    assert read(pictures.rack("R1", VESSELS)).get("role") == "group"


# -- Balance and code --------------------------------------------------------------------------


@given(st.dictionaries(st.sampled_from(list(pictures.PLACES)), st.integers(0, 500), min_size=1))
def test_the_parts_of_the_bar_add_up(counts):
    widths = [part.get("width", "") for part in classed(pictures.balance_bar(counts), "part")]

    assert len(widths) == sum(1 for count in counts.values() if count)
    assert not widths or sum(float(w.rstrip("%")) for w in widths) == pytest.approx(
        100, abs=0.1
    )


def test_the_table_tells_each_place_and_the_sum():
    figures = classed(
        pictures.balance_table({"sold": 6, "alive": 21, "on_the_way": 0}), "number"
    )

    assert [one.text for one in figures] == ["21", "6", "27"]


@pytest.mark.parametrize(
    ("counts", "error"), [({"alive": -1}, ValueError), ({"gone": 1}, KeyError)]
)
def test_a_bar_of_nonsense_is_refused(counts, error):
    with pytest.raises(error):
        pictures.balance_bar(counts)


def test_the_code_holds_what_it_was_given_and_keeps_its_quiet_edge():
    matrix = segno.make("https://example.org/c/9f2", error="m", micro=False).matrix
    dark = {(x + 4, y + 4) for y, row in enumerate(matrix) for x, one in enumerate(row) if one}
    svg = read(pictures.qr("https://example.org/c/9f2"))

    path = svg.findall("path")[0].get("d") or ""
    drawn = {tuple(map(int, one.split("h")[0].split())) for one in path.split("M")[1:]}
    assert drawn == dark
    assert svg.get("viewBox") == f"0 0 {len(matrix) + 8} {len(matrix) + 8}"
