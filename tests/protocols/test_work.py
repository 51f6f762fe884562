"""Equipment, rooms and claims ask for work too; the list is stable and in order of urgency."""

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from protocols.hours import Hours, Weekly
from protocols.tasks import (
    BatchWork,
    ClaimWork,
    Equipment,
    RoomWork,
    SignSeen,
    Unconfirmed,
    What,
    work_key,
)
from protocols.values import Effect, State
from protocols.work import round_by, slot_before
from tests.protocols.situations import (
    A_1,
    ADA,
    ALWAYS,
    B_1,
    BEN,
    C_1,
    CAUSE,
    HOUR,
    MISSING,
    OTHER,
    PLACED,
    R1_01,
    R1_02,
    R1_03,
    ROOM,
    STAY,
    batch,
    berlin,
    deviation,
    due,
    lost,
    only,
    ready,
)
from tests.protocols.staffed import BERLIN, CHRISTMAS, every_day

# Equipment, rooms, claims


@pytest.mark.parametrize(
    ("state", "what"),
    [(State.DIRTY, [What.DISINFECT]), (State.DISINFECTED, [What.SEE_DRY])],
)
def test_a_kit_asks_for_the_next_step(state, what):
    kit = Equipment(A_1, "kit", "A-1", state, cause=CAUSE, stands_in=R1_01)

    (work,) = due(equipment=(kit,))

    assert [work.what] == what
    assert work.key == work_key(work.what, A_1, CAUSE)
    assert (work.kit, work.container) == (A_1, R1_01)


@pytest.mark.parametrize(
    "state", [State.IN_USE, State.DRYING, State.READY, State.INCOMPLETE, State.DEFECTIVE]
)
def test_a_kit_in_any_other_state_asks_for_nothing(state):
    assert due(equipment=(Equipment(A_1, "kit", "A-1", state, cause=CAUSE),)) == ()


def test_a_dry_sighting_told_late_is_confirmed_by_somebody_else():
    told = Unconfirmed(CAUSE, BEN, PLACED)
    kit = Equipment(A_1, "kit", "A-1", State.DRYING, cause=CAUSE, unconfirmed=(told,))

    confirm = only(What.CONFIRM_LATE, due(equipment=(kit,)))

    assert (confirm.kit, confirm.container, confirm.not_by) == (A_1, None, (BEN,))


def test_a_container_seen_dry_and_told_late_is_confirmed_too():
    told = Unconfirmed(CAUSE, BEN, PLACED)
    container = Equipment(
        R1_02, "container", "R1-02", State.DRYING, cause=CAUSE, unconfirmed=(told,)
    )

    confirm = only(What.CONFIRM_LATE, due(equipment=(container,)))

    assert (confirm.kit, confirm.container) == (None, R1_02)


def test_a_round_is_due_by_the_end_of_the_next_shift():
    room = RoomWork(ROOM, CAUSE, berlin("2027-02-07 19:10"))

    work = only(What.ROUND, due(rooms=(room,), hours=every_day()))

    assert work.key == work_key(What.ROUND, ROOM, CAUSE)
    assert (work.room, work.limit) == (ROOM, berlin("2027-02-08 20:00"))


# Monday 00:00 to Wednesday 24:00 without a break, and Friday.
THREE_DAYS = Hours((Weekly(0, 0, 2880), Weekly(2, 0, 1440), Weekly(4, 480, 1200)))


@pytest.mark.parametrize(
    ("hours", "looked_at", "by"),
    [
        pytest.param(ALWAYS, "2027-02-07 19:10", "2027-02-08 19:10", id="always there"),
        pytest.param(Hours(), "2027-02-07 19:10", "2027-02-08 19:10", id="never there"),
        pytest.param(CHRISTMAS, "2026-12-24 12:00", "2026-12-28 20:00", id="over Christmas"),
        pytest.param(every_day(), "2027-02-08 07:35", "2027-02-08 20:00", id="before opening"),
        pytest.param(every_day(), "2027-02-08 08:00", "2027-02-09 20:00", id="at opening"),
        pytest.param(THREE_DAYS, "2027-02-08 06:00", "2027-02-09 06:00", id="in a long shift"),
        pytest.param(THREE_DAYS, "2027-02-10 00:00", "2027-02-11 00:00", id="a day of it left"),
        pytest.param(THREE_DAYS, "2027-02-07 12:00", "2027-02-09 00:00", id="before one"),
    ],
)
def test_a_round_belongs_to_a_shift(hours, looked_at, by):
    assert round_by(berlin(looked_at), hours, BERLIN) == berlin(by)


@pytest.mark.parametrize(("dead", "short", "why"), [(3, 1, "dead_on_arrival"), (0, 2, "short")])
def test_a_claim_is_prepared_by_its_deadline(dead, short, why):
    claim = ClaimWork(
        CAUSE,
        delivered_at=PLACED,
        deadline=PLACED + 2 * HOUR,
        remind_at=PLACED + 1.5 * HOUR,
        dead=dead,
        short=short,
    )

    work = only(What.PREPARE_CLAIM, due(claims=(claim,)))

    assert (work.planned, work.limit) == (claim.remind_at, claim.deadline)
    assert (work.why, work.numbers) == (why, {"dead": dead, "short": short})


# The whole list


def everything() -> tuple[tuple[BatchWork, ...], tuple[Equipment, ...]]:
    one = batch(
        losses=(lost(1, 0), lost(2, 1)),
        missing=(MISSING, replace(MISSING, uid=OTHER, count=2)),
        signs=(SignSeen(CAUSE, ADA, PLACED),),
        deviations=(deviation("kit_not_ready"), deviation("water_mismatch", Effect.WARNS)),
    )
    other = batch(PLACED + HOUR, batch=OTHER, stay=OTHER, container=R1_02)
    equipment = (
        Equipment(R1_01, "container", "R1-01", State.DIRTY, cause=STAY),
        ready(B_1, "kit", "B-1"),
        ready(C_1, "kit", "C-1", PLACED + 72 * HOUR),
        ready(R1_03, "container", "R1-03"),
    )
    return (one, other), equipment


def test_what_endangers_animals_stands_first_then_the_limit():
    batches, equipment = everything()

    found = due(*batches, equipment=equipment)

    firsts = [one.first for one in found]
    limits = [one.limit for one in found if not one.first and one.limit]
    assert firsts == sorted(firsts, reverse=True)
    assert limits == sorted(limits)


@given(st.permutations((0, 1)), st.permutations((0, 1, 2, 3)), st.booleans())
def test_work_does_not_depend_on_the_order_of_what_is_given(batch_order, order, reverse):
    batches, equipment = everything()
    step = -1 if reverse else 1
    turned = [
        replace(
            batches[n],
            losses=batches[n].losses[::step],
            missing=batches[n].missing[::step],
            deviations=batches[n].deviations[::step],
        )
        for n in batch_order
    ]

    found = due(*turned, equipment=[equipment[n] for n in order])

    assert found == due(*batches, equipment=equipment)


@given(st.integers(0, 72 * 3600))
def test_keys_of_a_stay_do_not_change_with_time_or_hours(seconds):
    at = PLACED + timedelta(seconds=seconds)

    keys = [one.key for one in due(batch(), at=at, hours=every_day())]

    assert keys == [one.key for one in due(batch())]


def test_keys_are_unique_and_hold_no_time():
    batches, equipment = everything()

    found = due(*batches, equipment=equipment)

    assert len({one.key for one in found}) == len(found)
    assert not [one.key for one in found if "2027" in one.key]


def test_slots_are_offered_beside_the_work():
    limit = PLACED + HOUR

    assert slot_before(limit, ALWAYS, BERLIN, not_before=PLACED).at == limit
