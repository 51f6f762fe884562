"""Whether animals may leave."""

import pytest

from protocols.leaving import Leaving, may_dispatch


def codes(count=4, **given):
    known = {"state": "done", "alive": 12, "certified": 12}
    return [(one.code, one.blocks) for one in may_dispatch(count, Leaving(**(known | given)))]


def test_certified_animals_may_leave():
    assert codes() == []
    assert codes(12) == []


def test_no_more_leave_than_are_alive():
    assert codes(13, certified=13) == [("too_few_alive", True)]


def test_every_reason_is_said_at_once():
    found = codes(13, held=True, restricted=("movement ban",), state="suspected", certified=0)

    assert found == [
        ("too_few_alive", True),
        ("held", True),
        ("restricted", True),
        ("not_certifiable", True),
    ]


def test_of_a_closed_batch_nobody_leaves():
    assert codes(state="closed", alive=0, certified=0) == [("batch_closed", True)]


@pytest.mark.parametrize(
    ("to_buyer", "found"), [(True, [("not_certifiable", False)]), (False, [])]
)
def test_selling_without_a_certificate_is_said_but_not_refused(to_buyer, found):
    assert codes(certified=3, to_buyer=to_buyer) == found


def test_suspected_animals_do_not_even_move_to_another_own_site():
    assert codes(state="suspected", to_buyer=False) == [("not_certifiable", True)]
