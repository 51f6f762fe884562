import pytest

from protocols.lists import KnownSpecies, match_species

OCELLARIS = KnownSpecies("1", "Amphiprion ocellaris", ("Ocellaris clownfish", "Clownfish"))
PERCULA = KnownSpecies("2", "Amphiprion percula", ("Percula clownfish", "Clownfish"))
TANG = KnownSpecies("3", "Zebrasoma flavescens", ("Yellow tang",))
KNOWN = (OCELLARIS, PERCULA, TANG)


@pytest.mark.parametrize(
    "text",
    [
        "Yellow tang",
        "YELLOW  TANG",
        "yellow-tang",
        "Zebrasoma flavescens",
        "Zebrasoma Flavescéns",
    ],
)
def test_a_name_that_one_species_has_is_exact(text):
    assert match_species(text, KNOWN).exact == TANG


def test_a_name_that_two_species_share_is_a_choice():
    match = match_species("Clownfish", KNOWN)

    assert match.exact is None
    assert {one.species.uid for one in match.candidates} == {"1", "2"}


def test_the_scientific_name_settles_a_shared_name():
    match = match_species("Clownfish", KNOWN, scientific_name="Amphiprion percula")

    assert match.exact == PERCULA


def test_an_unknown_trade_name_follows_its_scientific_name():
    match = match_species("Nemo", KNOWN, scientific_name="Amphiprion ocellaris")

    assert match.exact == OCELLARIS


def test_names_that_contradict_each_other_are_a_choice():
    match = match_species("Yellow tang", KNOWN, scientific_name="Amphiprion percula")

    assert match.exact is None
    assert {one.species.uid for one in match.candidates} >= {"2", "3"}


@pytest.mark.parametrize(
    "text", ["Zebrasoma flavecens", "Zebrasoma cf. flavescens", "Yelow tang", "Z. flavescens"]
)
def test_a_name_that_is_only_alike_is_never_exact(text):
    match = match_species(text, KNOWN)

    assert match.exact is None
    assert match.candidates[0].species == TANG


@pytest.mark.parametrize("text", ["Total", "", "x", "Moray eel"])
def test_a_name_that_is_like_none_has_no_candidates(text):
    match = match_species(text, KNOWN)

    assert match.exact is None
    assert match.candidates == ()
