from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from protocols.lists import ListedLine, differences

CHROMIS = ListedLine(row=2, text="Chromis viridis", listed=10, box="1", bag="1")
GRAMMA = ListedLine(row=3, text="Gramma loreto", listed=6, box="2", bag="1", price="4.20")
LINES = st.builds(
    ListedLine,
    row=st.integers(1, 9),
    text=st.sampled_from(["Chromis viridis", "Gramma loreto"]),
    listed=st.integers(1, 3),
    box=st.sampled_from([None, "1", "2"]),
    bag=st.sampled_from([None, "1"]),
    size=st.sampled_from([None, "M"]),
)


def test_the_same_list_again_has_no_differences():
    assert differences([CHROMIS, GRAMMA], [replace(GRAMMA, row=9), CHROMIS]) == ()


def test_a_corrected_number_is_a_change_of_that_line():
    (found,) = differences([CHROMIS, GRAMMA], [replace(CHROMIS, listed=8), GRAMMA])

    assert (found.kind, found.fields) == ("changed", ("listed",))
    assert found.old == CHROMIS
    assert found.new is not None
    assert found.new.listed == 8


def test_lines_that_came_and_went_are_told_apart():
    found = differences([CHROMIS], [GRAMMA])

    assert [(one.kind, one.key) for one in found] == [
        ("gone", "gone 1 1 Chromis viridis"),
        ("added", "added 2 1 Gramma loreto"),
    ]


def test_a_line_that_moved_to_another_box_is_a_change():
    (found,) = differences([CHROMIS], [replace(CHROMIS, box="3")])

    assert (found.kind, found.fields) == ("changed", ("box",))


def test_a_line_that_could_have_moved_to_either_place_is_not_paired():
    found = differences([CHROMIS], [replace(CHROMIS, box="3"), replace(CHROMIS, box="4")])

    assert [one.kind for one in found] == ["gone", "added", "added"]


def test_one_of_two_equal_lines_going_is_one_line_gone():
    found = differences([CHROMIS, CHROMIS], [CHROMIS])

    assert [one.kind for one in found] == ["gone"]


def test_equal_names_have_keys_of_their_own():
    found = differences([], [CHROMIS, CHROMIS])

    assert [one.key for one in found] == [
        "added 1 1 Chromis viridis",
        "added 1 1 Chromis viridis (2)",
    ]


@given(st.lists(LINES, max_size=8), st.lists(LINES, max_size=8))
def test_differences_account_for_every_line_and_every_animal(old, new):
    found = differences(old, new)

    gone = sum(one.old.listed for one in found if one.old)
    come = sum(one.new.listed for one in found if one.new)
    assert sum(line.listed for line in new) - sum(line.listed for line in old) == come - gone
    kinds = [one.kind for one in found]
    assert len(new) - len(old) == kinds.count("added") - kinds.count("gone")
    assert len({one.key for one in found}) == len(found)
