"""Pieces of work: time left, and what a judgement says of them."""

from dataclasses import replace
from decimal import Decimal

from protocols.tasks import What, Work, batch_work, is_overdue, left
from protocols.values import (
    DryingRule,
    Judgement,
    Protocol,
    Range,
    Series,
    SeriesState,
    Stay,
    When,
)
from tests.protocols.situations import (
    A_1,
    B_1,
    BATCH,
    HOUR,
    PLACED,
    R1_01,
    R1_02,
    STAY,
    STAY_BEFORE,
)

PROTOCOL = Protocol(
    name="transfer-288",
    version=1,
    sha256="0" * 64,
    stay_limit=72 * HOUR,
    moves_least=4,
    span_least=288 * HOUR,
    warm_c=Decimal("28.0"),
    warm_after=6 * HOUR,
    warm_limit=48 * HOUR,
    cold_c=Decimal("22.0"),
    drying=DryingRule(24 * HOUR, Decimal(200), HOUR),
    observation=336 * HOUR,
    salinity=Range(Decimal("27.0"), Decimal("36.0")),
    temperature_c=Range(Decimal("24.0"), Decimal("28.0")),
    addresses=(),
    does_not_cover=(),
    cautions=(),
    sources=(),
)


def judgement(*stays: Stay) -> Judgement:
    """A judgement of ten animals in an unbroken series with one move."""
    series = Series(
        number=1,
        state=SeriesState.UNBROKEN,
        started=When.exactly(PLACED - 70 * HOUR),
        moves=1,
        moves_needed=4,
        elapsed=70 * HOUR,
        needed=288 * HOUR,
        earliest_end=PLACED + 218 * HOUR,
    )
    return Judgement(
        batch=BATCH,
        at=PLACED,
        state="moves",
        stays=stays,
        series=series,
        past_series=(),
        stage="moves",
        limit=PLACED + 72 * HOUR,
        earliest_end=series.earliest_end,
        earliest_end_if_kept=None,
        observation=None,
        deviations=(),
        holds=(),
        alive=10,
        relied_on=frozenset(),
    )


def test_work_without_a_limit_is_never_overdue():
    search = Work(key="search", what=What.SEARCH, why="unaccounted")

    assert left(search, PLACED) is None
    assert not is_overdue(search, PLACED)


def test_a_judgement_gives_the_stay_with_its_earliest_beginning():
    began = When(PLACED, PLACED + HOUR)
    first = Stay(STAY_BEFORE, R1_01, A_1, When.exactly(PLACED - 70 * HOUR), None, ended=began)
    open_stay = Stay(STAY, R1_02, B_1, began, PLACED + 72 * HOUR)
    protocol = replace(PROTOCOL, stay_limit=60 * HOUR, moves_least=5)

    known = batch_work(judgement(first, open_stay), protocol)

    assert (known.stay, known.stay_before) == (STAY, STAY_BEFORE)
    assert (known.container, known.kit) == (R1_02, B_1)
    assert (known.placed, known.limit) == (PLACED, PLACED + 72 * HOUR)
    assert (known.series, known.moves, known.alive) == (SeriesState.UNBROKEN, 1, 10)
    assert (known.stay_limit, known.moves_least) == (60 * HOUR, 5)


def test_the_first_stay_follows_none():
    known = batch_work(judgement(Stay(STAY, R1_01, A_1, When.exactly(PLACED), None)), PROTOCOL)

    assert (known.stay, known.stay_before) == (STAY, None)


def test_a_judgement_without_an_open_stay_gives_none():
    gone = replace(judgement(), series=None, limit=None, alive=0)

    known = batch_work(gone, PROTOCOL)

    assert known.moves == 0
    assert (known.stay, known.stay_before, known.placed, known.series) == (
        None,
        None,
        None,
        None,
    )
