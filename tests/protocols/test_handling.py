"""Planning values by species, and what has to be minded with whom."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from protocols.handling import Handled, cautions, handled, shelters
from protocols.stocking_values import (
    CURVES,
    MASS_ERROR,
    MASS_ERROR_OWN,
    UNKNOWN_GROUP,
    Own,
    group_of,
    oxygen_use_mg_h,
    planned,
)


@pytest.mark.parametrize(
    ("name", "length_cm", "mass_g"),
    [
        ("Amphiprion ocellaris", 4, 1.5),
        ("Dascyllus aruanus", 4, 2.6),
        ("Chromis viridis", 5, 3.1),
        ("Chrysiptera cyanea", 5, 2.8),
        ("Zebrasoma flavescens", 8, 12.8),
        ("Chaetodon auriga", 8, 15.4),
        ("Centropyge bispinosa", 7, 9.3),
        ("Pomacanthus imperator", 10, 28.5),
        ("Thalassoma lunare", 8, 6.1),
        ("Labroides dimidiatus", 6, 1.8),
        ("Pterapogon kauderni", 5, 2.4),
        ("Siganus vulpinus", 9, 13.0),
        ("Ostracion cubicum", 5, 5.9),
        ("Diodon holocanthus", 9, 26),
        ("Gymnothorax tile", 35, 49),
        ("Hippocampus kuda", 10, 3.2),
    ],
)
def test_mass_by_length_is_that_of_the_planning_table(name, length_cm, mass_g):
    assert planned(name).mass_g(length_cm) == pytest.approx(mass_g, rel=0.035)


@given(st.sampled_from(sorted(CURVES)), st.floats(0.5, 200))
def test_from_length_to_mass_and_back(group, length_cm):
    values = planned("Nobody knows", [group])

    assert values.length_cm(values.mass_g(length_cm)) == pytest.approx(length_cm)


@pytest.mark.parametrize("length_cm", [0, 0.4, 201, float("nan")])
def test_a_length_that_no_animal_has_is_refused_with_its_value(length_cm):
    with pytest.raises(ValueError, match="length_cm is"):
        planned("Chromis viridis").mass_g(length_cm)


def test_the_record_of_a_species_goes_before_its_genus():
    assert group_of("Chromis viridis") == "chromis"
    assert group_of("Chromis viridis", ["Humbugs"]) == "humbugs"
    assert group_of("Nomen novum") == UNKNOWN_GROUP


def test_a_site_knows_better_for_a_group_and_best_for_a_species():
    own = [
        Own("anemonefish", a=Decimal("0.03"), b=Decimal(3), feed_percent_day=Decimal(2)),
        Own("amphiprion ocellaris", a=Decimal("0.027"), b=Decimal(3)),
    ]

    found = planned("Amphiprion ocellaris", own=own)

    assert found.mass_g(3.8) == pytest.approx(1.48, rel=0.01)
    assert (found.feed_percent_day, found.mass_error) == (2, MASS_ERROR_OWN)
    assert planned("Chromis viridis", own=own).mass_error == MASS_ERROR


@pytest.mark.parametrize(
    ("mass_g", "mg_kg_h"), [(1, 500), (5, 280), (10, 215), (30, 145), (100, 93)]
)
def test_oxygen_at_rest_is_that_of_the_planning_figures(mass_g, mg_kg_h):
    at_rest = oxygen_use_mg_h(mass_g, 29) / 2 / (mass_g / 1000)

    assert at_rest == pytest.approx(mg_kg_h, rel=0.02)


@pytest.mark.parametrize(
    ("name", "minded"),
    [
        ("Cirrhilabrus rubriventralis", {Handled.JUMPER}),
        ("Pterois volitans", {Handled.SPINY}),
        ("Lactoria cornuta", {Handled.TOXIC}),
        ("Halichoeres chrysus", {Handled.JUMPER, Handled.SAND_SLEEPER}),
        ("Premnas biaculeatus", {Handled.AGGRESSIVE}),
        ("Amphiprion ocellaris", set()),
        ("Chaetodon auriga", {Handled.SHY_FEEDER}),
    ],
)
def test_whom_to_handle_how(name, minded):
    assert handled(name) == minded


def test_what_the_record_of_a_species_says_is_minded_as_well():
    assert handled("Nomen novum", ["Jumpers", "sand_sleeper"]) == {
        Handled.JUMPER,
        Handled.SAND_SLEEPER,
    }


def test_jumpers_without_a_lid_are_warned_of_before_anything_else():
    minded = {Handled.SPINY, Handled.JUMPER}

    first, *rest = cautions(minded, lid=False)

    assert (first.what, first.warns) == ("lid_missing", True)
    assert [one.what for one in rest] == ["spiny"]
    assert not any(one.warns for one in cautions(minded, lid=True))


def test_toxic_animals_in_a_mixed_lot_are_warned_of():
    (mixed,) = cautions({Handled.TOXIC}, lid=True, mixed=True)
    (alone,) = cautions({Handled.TOXIC}, lid=True)

    assert (mixed.what, mixed.warns, alone.warns) == ("toxic_mixed", True, False)


def test_each_animal_has_a_shelter_and_three_of_a_school_share_one():
    assert shelters(7, ()) == 7
    assert shelters(7, {Handled.SCHOOLING}) == 3
