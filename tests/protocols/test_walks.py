"""The order of a shift: time left first, and from clean to dirty only where time is equal."""

from datetime import UTC, datetime, timedelta
from uuid import UUID

import pytest

from protocols.tasks import What, Work
from protocols.walks import Band, Dirt, ToWalk, band_of, dirt_of, walks

AT = datetime(2027, 1, 14, 8, tzinfo=UTC)
MINUTE, HOUR = timedelta(minutes=1), timedelta(hours=1)


def work(key="one", *, limit=None, planned=None, what=What.MOVE, **more):
    def moment(span):
        return None if span is None else AT + span

    return Work(
        key,
        what,
        "limit",
        limit=moment(limit),
        planned=moment(planned),
        batch=UUID(int=1),
        **more,
    )


@pytest.mark.parametrize(
    ("due", "band"),
    [
        pytest.param(work(limit=9 * HOUR, first=True), Band.DANGER, id="animals in danger"),
        pytest.param(work(limit=timedelta(0)), Band.HOUR, id="at the limit it is on time"),
        pytest.param(work(limit=-timedelta(seconds=1)), Band.OVER, id="a second over"),
        pytest.param(
            work(limit=-30 * HOUR, what=What.DECIDE), Band.OVER_PAPER, id="a paper, for longer"
        ),
        pytest.param(work(limit=HOUR), Band.HOUR, id="an hour"),
        pytest.param(work(limit=HOUR + MINUTE), Band.FOUR_HOURS, id="more than an hour"),
        pytest.param(work(limit=4 * HOUR + MINUTE), Band.HALF_DAY, id="more than four"),
        pytest.param(work(limit=12 * HOUR + MINUTE), Band.DAY, id="more than twelve"),
        pytest.param(work(limit=24 * HOUR + MINUTE), Band.LATER, id="more than a day"),
        pytest.param(
            work(limit=30 * HOUR, planned=2 * HOUR), Band.FOUR_HOURS, id="nobody is there later"
        ),
        pytest.param(
            work(limit=HOUR, planned=-9 * HOUR),
            Band.HOUR,
            id="the plan has gone, not the limit",
        ),
        pytest.param(work(planned=HOUR), Band.HOUR, id="planned, without a limit"),
        pytest.param(work(), Band.NO_LIMIT, id="neither"),
    ],
)
def test_how_urgent_work_is(due, band):
    assert band_of(due, AT) is band


@pytest.mark.parametrize(
    ("state", "moves", "dirt"),
    [
        ("done", 5, Dirt.CERTIFIED),
        ("observation", 5, Dirt.OBSERVED),
        ("moves", 2, Dirt.LATER_MOVES),
        ("moves", 1, Dirt.EARLY_MOVES),
        ("moves", 0, Dirt.ARRIVED),
        ("suspected", 3, Dirt.SICK),
    ],
)
def test_how_clean_a_batch_leaves_the_hands(state, moves, dirt):
    assert dirt_of(work(), state, moves) is dirt


def test_dirty_things_are_cleaned_after_everything_else():
    assert dirt_of(work(what=What.DISINFECT), None, 0) > Dirt.SICK
    assert dirt_of(work(what=What.SEE_DRY), None, 0) is Dirt.CLEAN


def in_order(*items):
    """The keys as they are walked, with the places of the walks."""
    made = walks(items, lambda one: one, AT)
    return [(one.room, one.rack, [items[n].work.key for n in one.items]) for one in made]


def test_what_is_more_urgent_comes_first_however_dirty_it_is():
    sick = ToWalk(work("sick", limit=30 * MINUTE), Dirt.SICK, "Hall", "R1")
    clean = ToWalk(work("clean", limit=2 * HOUR), Dirt.CERTIFIED, "Hall", "R1")

    assert in_order(clean, sick) == [("Hall", "R1", ["sick"]), ("Hall", "R1", ["clean"])]


def test_of_equal_urgency_clean_comes_before_dirty_and_then_the_limit():
    sick = ToWalk(work("sick", limit=61 * MINUTE), Dirt.SICK, "Hall", "R1")
    later = ToWalk(work("later", limit=4 * HOUR), Dirt.OBSERVED, "Hall", "R1")
    sooner = ToWalk(work("sooner", limit=3 * HOUR), Dirt.OBSERVED, "Hall", "R1")

    assert in_order(sick, later, sooner) == [("Hall", "R1", ["sooner", "later", "sick"])]


def test_one_walk_serves_a_rack_and_a_room_is_not_entered_twice():
    a1 = ToWalk(work("a1", limit=2 * HOUR), Dirt.EARLY_MOVES, "A", "A1")
    a2 = ToWalk(work("a2", limit=3 * HOUR), Dirt.OBSERVED, "A", "A2")
    b1 = ToWalk(work("b1", limit=2 * HOUR), Dirt.SICK, "B", "B1")
    more = ToWalk(work("more", limit=3 * HOUR), Dirt.EARLY_MOVES, "A", "A1")
    anywhere = ToWalk(work("paper", limit=2 * HOUR, what=What.DECIDE), Dirt.CLEAN)

    assert in_order(anywhere, b1, a1, a2, more) == [
        ("A", "A2", ["a2"]),
        ("A", "A1", ["a1", "more"]),
        ("B", "B1", ["b1"]),
        ("", "", ["paper"]),
    ]


def test_over_the_limit_only_time_counts():
    longest = ToWalk(work("longest", limit=-2 * HOUR), Dirt.SICK, "B", "B1")
    clean = ToWalk(work("clean", limit=-HOUR), Dirt.CERTIFIED, "A", "A1")

    assert in_order(clean, longest) == [("", "", ["longest", "clean"])]


def test_what_has_no_limit_stands_after_what_has_one():
    planned = ToWalk(work("planned", planned=HOUR), Dirt.CLEAN, "A", "A1")
    limited = ToWalk(work("limited", limit=HOUR), Dirt.CLEAN, "A", "A1")

    assert in_order(planned, limited) == [("A", "A1", ["limited", "planned"])]
