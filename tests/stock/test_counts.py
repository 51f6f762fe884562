"""Counts typed blind, births, and that every sum closes whatever is told."""

from contextlib import suppress

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stock import rebuild
from stock.apply.counts import balances
from stock.doors.counts import count_batch
from stock.models import DeviationRow, Missing, StayRow
from stock.queries.sums import sums
from stock.refusals import Refused
from stock.sums import wrong_sums
from tests.make import START, asking, make_batch, make_line, make_shop
from tests.stock.telling import (
    HAPPENED,
    HOUR,
    NOON,
    bear,
    dispatch,
    find,
    lose,
    miss,
    presume,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop():
    return make_shop()


# -- Counts and births -----------------------------------------------------------------------


def test_a_count_that_differs_is_asked_for_again_without_the_number(shop):
    batch = make_batch(shop, 23)

    with pytest.raises(Refused) as refused:
        count_batch(asking(shop.manager, NOON), batch=batch, counts=[24])

    [reason] = refused.value.reasons
    assert reason.code == "count_again"
    assert "23" not in repr(reason)


def test_two_equal_counts_stand_and_the_difference_is_a_question(shop):
    batch = make_batch(shop, 23)

    answer = count_batch(asking(shop.manager, NOON), batch=batch, counts=[24, 24])

    assert [one["rule"] for one in answer.body["deviations"]] == ["count_differs"]
    assert balances(batch) == {"alive": 23}


def test_near_its_limit_a_batch_is_not_held_up_by_a_count(shop):
    batch = make_batch(shop, 23)

    count_batch(asking(shop.manager, START + 71 * HOUR), batch=batch, counts=[24])

    assert DeviationRow.objects.filter(batch=batch, rule="count_differs", open=True).exists()


def test_born_here_comes_from_outside(shop):
    batch = make_batch(shop, 2)

    bear(shop, batch, 40)

    assert balances(batch) == {"alive": 42, "outside": -40}
    assert wrong_sums() == []


# -- Sums ------------------------------------------------------------------------------------


def test_the_sums_of_a_site_close(shop):
    line = make_line(shop, received=20, doa=3)
    batch = make_batch(shop, 10)
    lose(shop, batch, 1)
    miss(shop, batch, 2)
    bear(shop, batch, 5)
    dispatch(shop, batch, 4)

    found = sums(shop.site)

    of_line = next(one for one in found["lines"] if one["line"] == str(line))
    assert (of_line["received"], of_line["doa"], of_line["left"]) == (20, 3, 17)
    site = found["site"]
    assert (site["received"], site["placed"], site["born_here"]) == (30, 10, 5)
    gone = sum(site[place] for place in ("dead", "unaccounted", "sold"))
    assert site["received"] + site["born_here"] == (
        site["doa"] + site["left"] + site["alive"] + gone
    )


def found_at_home(shop, batch, count, at, **how):
    row = Missing.objects.filter(batch=batch).earliest("at", "fact")
    home = StayRow.objects.filter(batch=batch).latest("began_latest").container_id
    return find(shop, row.fact, count, home, at, **how)


def found_dead(shop, batch, count, at, **how):
    return found_at_home(shop, batch, count, at, alive=False, **how)


def given_up(shop, batch, count, at, **how):
    row = Missing.objects.filter(batch=batch).earliest("at", "fact")
    with suppress(Refused):
        presume(shop, row.fact, count, at, **how)


@settings(max_examples=10)
@given(
    steps=st.lists(
        st.tuples(
            st.sampled_from([lose, bear, dispatch, found_at_home, found_dead, given_up]),
            st.integers(min_value=1, max_value=3),
        ),
        max_size=7,
    )
)
def test_whatever_is_told_every_sum_closes_and_the_rows_follow_from_the_facts(steps):
    shop = make_shop()
    batch = make_batch(shop, 6)
    miss(shop, batch, 2)

    # As happened: what does not fit is parked, and nothing is ever half done.
    for n, (step, count) in enumerate(steps):
        step(shop, batch, count, NOON + (48 + n) * HOUR, **HAPPENED)

    assert wrong_sums() == []
    assert rebuild.check(NOON + 55 * HOUR) == []
