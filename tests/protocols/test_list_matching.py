"""Lines beside the species there are, and beside an older list."""

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from protocols.list_matching import compare, match_lines, names_of
from protocols.list_species import KnownSpecies, match_species
from protocols.lists import ListedLine

GRAMMA = KnownSpecies("1", "Gramma loreto", ("Royal gramma",))
OTHER = KnownSpecies("2", "Gramma brasiliensis", ("Brazilian gramma", "Royal gramma"))
CHROMIS = KnownSpecies("3", "Chromis viridis")
KNOWN = (GRAMMA, OTHER, CHROMIS)

texts = st.sampled_from(
    [
        "Royal gramma",
        "gramma LORETO",
        "Brazilian gramma",
        "Chromis viridis",
        "Goby",
        "G. loreto",
    ]
)
lines = st.builds(
    ListedLine,
    row=st.just(0),
    text=texts,
    listed=st.integers(1, 3),
    box=st.sampled_from([None, "1", "2"]),
    scientific_name=st.none() | texts,
)


def numbered(found):
    return [replace(line, row=row) for row, line in enumerate(found, start=1)]


@given(st.lists(lines, max_size=8))
def test_what_is_exact_is_what_matching_one_by_one_finds(found):
    matches = match_lines(found, KNOWN)

    one_by_one = {
        names_of(line): match_species(line.text, KNOWN, scientific_name=line.scientific_name)
        for line in found
    }
    assert matches == one_by_one


def test_a_species_that_a_person_chose_is_exact():
    line = ListedLine(row=1, text="Royal gramma", listed=5)

    shared = match_lines([line], KNOWN)[names_of(line)]
    chosen = match_lines([line], KNOWN, chosen={"Royal gramma": OTHER})[names_of(line)]

    assert (shared.exact, len(shared.candidates)) == (None, 2)
    assert chosen.exact == OTHER


def test_only_the_first_hundred_strange_names_have_proposals():
    strange = [ListedLine(row=n, text=f"Royal gramma {n}", listed=1) for n in range(101)]

    matches = list(match_lines(strange, KNOWN).values())

    assert [bool(one.candidates) for one in matches] == [True] * 100 + [False]


def test_nothing_is_proposed_where_nobody_looks():
    line = ListedLine(row=1, text="Royal grama", listed=5)

    assert match_lines([line], KNOWN, propose=False)[names_of(line)].candidates == ()


def test_a_line_whose_number_changed_continues_the_same_line():
    old = [ListedLine(1, "Goby", 5, box="1"), ListedLine(2, "Goby", 5, box="2")]
    new = [ListedLine(4, "Goby", 5, box="2"), ListedLine(7, "Goby", 6, box="1")]

    compared = compare(old, new)

    assert compared.continues == {4: 2, 7: 1}
    assert [(one.kind, one.fields) for one in compared.differences] == [
        ("changed", ("listed",))
    ]


@given(st.lists(lines, max_size=8), st.lists(lines, max_size=8))
def test_every_row_is_continued_added_or_gone_and_none_twice(before, after):
    old, new = numbered(before), numbered(after)

    compared = compare(old, new)

    added = {one.new.row for one in compared.differences if one.kind == "added"}
    gone = {one.old.row for one in compared.differences if one.kind == "gone"}
    continued = list(compared.continues.values())
    assert set(compared.continues) | added == {line.row for line in new}
    assert set(continued) | gone == {line.row for line in old}
    assert len(continued) == len(set(continued)) == len(old) - len(gone)


@given(st.lists(lines, max_size=8))
def test_the_same_list_in_any_order_differs_in_nothing(found):
    old = numbered(found)
    new = numbered(reversed(found))

    compared = compare(old, new)

    assert compared.differences == ()
    assert len(compared.continues) == len(found)
