"""Moves, their preparation, and call-outs where nobody is there."""

from dataclasses import replace
from datetime import timedelta

import pytest

from protocols.hours import Hours, Span
from protocols.tasks import Equipment, What, Work, is_overdue, left, work_key
from protocols.values import SeriesState, State
from tests.protocols.situations import (
    A_1,
    B_1,
    BATCH,
    C_1,
    CAUSE,
    HOUR,
    OTHER,
    PLACED,
    R1_01,
    R1_02,
    R1_03,
    SECOND,
    STAY,
    batch,
    berlin,
    due,
    kinds,
    observed,
    only,
    ready,
)
from tests.protocols.staffed import CHRISTMAS, SINGAPORE, every_day, local

# Moves


def test_a_stay_with_a_limit_asks_for_a_move_and_its_preparation():
    found = due(batch())

    assert kinds(found) == [What.MOVE, What.PREPARE]
    move = only(What.MOVE, found)
    assert move.key == work_key(What.MOVE, BATCH, STAY)
    assert (move.container, move.kit, move.limit) == (R1_01, A_1, PLACED + 72 * HOUR)


def test_a_limit_in_the_night_shows_both_times_and_says_why():
    placed = local(SINGAPORE, "2027-03-19 03:10")

    move = only(What.MOVE, due(batch(placed), hours=every_day(), zone=SINGAPORE))

    assert move.why == "limit_outside_staffed_hours"
    assert move.planned == local(SINGAPORE, "2027-03-21 20:00")
    assert move.limit == local(SINGAPORE, "2027-03-22 03:10")
    assert move.numbers["stay_s"] == (64 * 60 + 50) * 60
    assert move.numbers["early_s"] == (7 * 60 + 10) * 60


def test_a_move_planned_early_says_that_it_takes_a_fifth():
    placed = local(SINGAPORE, "2027-03-19 03:10")

    move = only(What.MOVE, due(batch(placed), hours=every_day(), zone=SINGAPORE))

    assert (move.numbers["moves_at_limit"], move.numbers["moves_if_planned"]) == (4, 5)


def test_a_limit_within_staffed_hours_is_planned_at_the_limit():
    move = only(What.MOVE, due(batch(berlin("2027-01-05 09:00")), hours=every_day()))

    assert move.planned == move.limit == berlin("2027-01-08 09:00")
    assert move.why == "limit"


def test_a_planned_time_that_has_passed_stays():
    placed = local(SINGAPORE, "2027-03-19 03:10")
    at = local(SINGAPORE, "2027-03-22 09:00")

    move = only(What.MOVE, due(batch(placed), hours=every_day(), zone=SINGAPORE, at=at))

    assert move.planned == local(SINGAPORE, "2027-03-21 20:00")
    assert is_overdue(move, at)


def test_a_move_is_overdue_a_second_past_its_limit_without_anything_stored():
    move = only(What.MOVE, due(batch()))
    limit = PLACED + 72 * HOUR

    assert left(move, limit) == timedelta(0)
    assert not is_overdue(move, limit)
    assert is_overdue(move, limit + SECOND)


def test_a_batch_in_observation_asks_for_no_move():
    assert due(observed()) == ()


def test_a_batch_with_none_alive_asks_for_no_move():
    assert due(batch(alive=0)) == ()


def test_a_batch_without_a_stay_asks_for_no_move():
    nowhere = replace(batch(), stay=None, placed=None, container=None, kit=None)

    assert due(nowhere) == ()


def test_a_series_that_waits_asks_for_a_clean_placement_at_once():
    found = due(batch(limit=None, series=SeriesState.WAITING, earliest_end=None))

    assert kinds(found) == [What.MOVE, What.PREPARE]
    assert only(What.MOVE, found).why == "waiting"


@pytest.mark.parametrize("series", [SeriesState.UNPROVEN, SeriesState.WAITING])
def test_nothing_is_said_of_the_cost_while_it_is_open_what_counts(series):
    move = only(What.MOVE, due(batch(series=series)))

    assert "moves_if_planned" not in move.numbers


# Nobody there


def christmas(*equipment: Equipment) -> tuple[Work, ...]:
    placed = berlin("2026-12-22 14:00")
    return due(batch(placed), hours=CHRISTMAS, at=placed, equipment=equipment)


def test_christmas_is_told_with_the_move_before_it():
    move = only(What.MOVE, christmas())

    assert move.planned == berlin("2026-12-24 13:00")
    assert move.limit == berlin("2026-12-25 14:00")
    assert move.no_slot_between == Span(berlin("2026-12-24 13:00"), berlin("2026-12-27 13:00"))


def test_a_call_out_is_to_be_arranged_while_people_are_there():
    call_out = only(What.CALL_OUT, christmas())

    assert call_out.planned == berlin("2026-12-24 13:00")
    assert call_out.limit == berlin("2026-12-27 13:00")
    assert call_out.why == "no_staffed_slot_ahead"


def test_who_took_the_call_out_keeps_it_when_the_move_before_is_made():
    moved = berlin("2026-12-24 12:50")
    second = batch(moved, stay=OTHER, stay_before=STAY, moves=1)

    before, after = (
        only(What.CALL_OUT, found)
        for found in (christmas(), due(second, hours=CHRISTMAS, at=moved))
    )

    assert before.key == after.key
    assert after.limit == berlin("2026-12-27 12:50")


def test_where_nobody_is_there_a_move_is_not_planned_and_never_later_than_its_limit():
    placed = berlin("2026-12-24 12:50")

    found = due(batch(placed), hours=CHRISTMAS, at=placed)

    move = only(What.MOVE, found)
    assert (move.planned, move.limit) == (None, berlin("2026-12-27 12:50"))
    assert move.why == "no_staffed_slot"
    assert move.no_slot_between == Span(berlin("2026-12-24 13:00"), berlin("2026-12-27 12:50"))
    assert only(What.PREPARE, found).limit == move.limit


def test_a_closure_of_two_stays_takes_two_call_outs():
    found = due(batch(), hours=Hours())

    assert [one.limit for one in found if one.what is What.CALL_OUT] == [
        PLACED + 72 * HOUR,
        PLACED + 144 * HOUR,
    ]


def test_no_call_out_is_asked_after_the_move_that_completes_the_series():
    start = berlin("2026-12-12 13:00")
    last = batch(
        berlin("2026-12-22 13:00"),
        moves=4,
        earliest_end=start + 288 * HOUR,
        limit=berlin("2026-12-24 13:00"),
    )

    found = due(last, hours=CHRISTMAS)

    assert kinds(found) == [What.MOVE, What.PREPARE]
    assert only(What.MOVE, found).no_slot_between is None
    assert only(What.MOVE, found).numbers["completes"] is True


# Preparation and what is short


def test_a_move_is_prepared_two_hours_before_it_is_planned():
    prepare = only(What.PREPARE, due(batch(berlin("2027-01-05 12:00")), hours=every_day()))

    assert prepare.key == work_key(What.PREPARE, BATCH, STAY)
    assert prepare.planned == berlin("2027-01-08 10:00")
    assert prepare.limit == berlin("2027-01-08 12:00")


def test_a_move_early_in_the_day_is_prepared_the_day_before():
    prepare = only(What.PREPARE, due(batch(berlin("2027-01-05 09:00")), hours=every_day()))

    assert prepare.planned == berlin("2027-01-07 20:00")


def test_a_kit_and_a_container_that_will_be_ready_are_proposed():
    dry_in_time = PLACED + 72 * HOUR
    equipment = (ready(B_1, "kit", "B-1", dry_in_time), ready(R1_02, "container", "R1-02"))

    prepare = only(What.PREPARE, due(batch(), equipment=equipment))

    assert (prepare.kit, prepare.container) == (B_1, R1_02)
    assert "short" not in prepare.numbers


@pytest.mark.parametrize(
    ("equipment", "short"),
    [
        pytest.param((), ["kit", "container"], id="nothing"),
        pytest.param((ready(R1_02, "container", "R1-02"),), ["kit"], id="no kit"),
        pytest.param((ready(B_1, "kit", "B-1"),), ["container"], id="no container"),
        pytest.param(
            (
                ready(R1_02, "container", "R1-02"),
                ready(B_1, "kit", "B-1", PLACED + 72 * HOUR + SECOND),
            ),
            ["kit"],
            id="a kit that is ready a second too late",
        ),
        pytest.param(
            (
                ready(R1_02, "container", "R1-02"),
                Equipment(B_1, "kit", "B-1", State.DISINFECTED, cause=CAUSE),
            ),
            ["kit"],
            id="a kit that nobody saw dry",
        ),
    ],
)
def test_what_is_short_is_said_days_before(equipment, short):
    prepare = only(What.PREPARE, due(batch(), equipment=equipment))

    assert prepare.numbers["short"] == short


def test_one_kit_is_not_proposed_for_two_moves():
    other = batch(PLACED + HOUR, batch=OTHER, stay=CAUSE)
    equipment = (
        ready(B_1, "kit", "B-1"),
        ready(R1_02, "container", "R1-02"),
        ready(R1_03, "container", "R1-03"),
    )

    found = due(batch(), other, equipment=equipment)

    kits = {one.batch: one.kit for one in found if one.what is What.PREPARE}
    assert kits == {BATCH: B_1, OTHER: None}


def test_the_kit_for_a_call_out_is_checked_too():
    holiday = christmas(
        ready(B_1, "kit", "B-1"),
        ready(C_1, "kit", "C-1", berlin("2026-12-27 13:00")),
        ready(R1_02, "container", "R1-02"),
        ready(R1_03, "container", "R1-03"),
    )

    assert only(What.PREPARE, holiday).kit == B_1
    assert only(What.CALL_OUT, holiday).kit == C_1


def test_a_call_out_without_a_dry_kit_says_so():
    holiday = christmas(
        ready(B_1, "kit", "B-1"),
        ready(C_1, "kit", "C-1", berlin("2026-12-27 13:00") + SECOND),
        ready(R1_02, "container", "R1-02"),
        ready(R1_03, "container", "R1-03"),
    )

    assert only(What.CALL_OUT, holiday).numbers["short"] == ["kit"]
