"""Fitting pieces, emptying containers, and where to look first for water."""

from datetime import UTC, datetime, timedelta
from uuid import UUID

import pytest

from protocols.equipping import (
    Fitted,
    contact_in_order,
    may_empty,
    may_fit,
    stays_wet_longest,
)
from protocols.values import Readiness, State
from protocols.worlds import Equipment, Occupant

NOON = datetime(2027, 2, 2, 12, tzinfo=UTC)
SECOND = timedelta(seconds=1)
KIT, OTHER = UUID(int=1), UUID(int=2)
HEATER = Fitted(UUID(int=3), "H-22", OTHER)
BROKEN = Fitted(UUID(int=4), "H-7", KIT, useless="It is defective.")
EMPTY = Equipment(UUID(int=5), "R2-03", Readiness(State.DIRTY))
SOUGHT = Equipment(UUID(int=5), "R2-03", Readiness(State.DIRTY), search_open=True)
TAKEN = Equipment(
    UUID(int=5),
    "R2-03",
    Readiness(State.IN_USE),
    occupant=Occupant(UUID(int=6), "K7QF-3ZM2", 11, NOON),
)


def codes(reasons):
    return [one.code for one in reasons]


def test_a_sound_piece_takes_the_place_of_one_that_is_in_the_kit():
    assert may_fit(HEATER, KIT, BROKEN) == ()
    assert may_fit(HEATER, KIT, None) == ()


@pytest.mark.parametrize(
    ("piece", "kit", "replaced", "code"),
    [
        (BROKEN, OTHER, None, "piece_defective"),
        (HEATER, OTHER, BROKEN, "contradicts_record"),
        (HEATER, OTHER, HEATER, "contradicts_record"),
    ],
)
def test_what_cannot_be_fitted_is_said(piece, kit, replaced, code):
    assert codes(may_fit(piece, kit, replaced)) == [code]


@pytest.mark.parametrize(
    ("container", "searched", "found"),
    [
        (EMPTY, False, []),
        (SOUGHT, True, []),
        (SOUGHT, False, ["not_searched"]),
        (TAKEN, True, ["container_occupied"]),
    ],
)
def test_a_container_is_emptied_without_animals_and_searched_where_one_is_missing(
    container, searched, found
):
    assert codes(may_empty(container, searched=searched)) == found


@pytest.mark.parametrize(
    ("started", "ended", "in_order"),
    [
        (NOON, NOON, True),
        (NOON - SECOND, NOON, True),
        (NOON, NOON - SECOND, False),
        (NOON, NOON + SECOND, False),
    ],
)
def test_contact_begins_ends_and_is_told(started, ended, in_order):
    assert contact_in_order(started, ended, NOON) is in_order


def test_hollow_and_porous_parts_are_looked_at_first():
    types = ["heater", "shelter", "air_line", "lid", "air_stone"]

    assert [types[place] for place in stays_wet_longest(types)] == [
        "air_stone",
        "air_line",
        "shelter",
    ]
