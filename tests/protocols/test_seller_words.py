import pytest

from protocols.seller_words import AILMENTS, Borne, against_record

MOVES = Borne(("Cryptocaryon irritans (marine white spot)",), ())
COPPER = Borne(
    (*MOVES.addressed, "velvet (Amyloodinium ocellatum)"), ("copper sulfate", "copper-ionic@1")
)


def stands(text, borne=MOVES):
    return [
        (one.rule, *(str(value) for value in one.numbers.values()))
        for one in against_record(text, borne)
    ]


@pytest.mark.parametrize(
    "text",
    [
        "",
        "Eats frozen mysis.",
        "Five moves against white spot, then fourteen days watched.",
        "Not treated against flukes.",
        "No treatment against velvet; copper was never given.",
        "No se trataron contra tremátodos.",
        "Kept at 25 C in natural sea water.",
    ],
)
def test_what_the_record_bears_out_may_be_added(text):
    assert stands(text) == []


@pytest.mark.parametrize(
    ("text", "ailment"),
    [
        ("Treated against flukes.", "flukes"),
        ("TREATED FOR VELVET", "velvet"),
        ("Tratados contra tremátodos.", "flukes"),
        ("Brook was dealt with", "brooklynella"),
    ],
)
def test_a_treatment_that_no_entry_shows_is_named(text, ailment):
    assert stands(text) == [("not_treated", ailment)]


@pytest.mark.parametrize(
    "text",
    [
        "free of all parasites",
        "Parasite-free!",
        "Guaranteed without disease",
        "libres de parásitos",
        "Not treated, but free from parasites",
    ],
)
def test_a_promise_of_everything_names_all_that_was_not_treated(text):
    assert stands(text) == [
        ("promises",),
        *(("not_treated", name) for name in AILMENTS if name != "white spot"),
    ]


def test_even_what_was_treated_is_not_promised_away():
    assert stands("Free of white spot.") == [("promises",)]


def test_what_was_given_may_be_said_with_what_it_is_meant_for():
    assert stands("Copper against velvet for 14 days.", COPPER) == []
    assert stands("Copper against velvet for 14 days.") == [
        ("not_treated", "velvet"),
        ("not_given", "copper"),
    ]


def test_a_sentence_that_denies_does_not_cover_the_next_one():
    assert stands("Copper was not given. Treated with praziquantel.") == [
        ("not_given", "praziquantel")
    ]
