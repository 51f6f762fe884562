"""Paths that respect time: against a slow search that tries every one of them."""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from protocols.tracing import LIKELY, NEVER, POSSIBLE, STRONG, UNREACHED, Contacts, reached

NODES = 6
HANDS = 5  # the one node that is a carrier
Contact = tuple[int, int, int, int, int]  # from, to, since, until, grade


def columns(contacts: Sequence[Contact]) -> Contacts:
    table = np.array(contacts, dtype=np.int64).reshape(-1, 5).T
    return Contacts(table[0], table[1], table[2], table[3], table[4].astype(np.int8))


def found(contacts: Sequence[Contact], seeds: dict[int, int], carrier: int = HANDS):
    carriers = np.arange(NODES) == carrier
    return reached(columns(contacts), seeds, nodes=NODES, carriers=carriers)


def test_nothing_goes_back_in_time():
    later_then_earlier = [(0, 1, 10, 20, STRONG), (1, 2, 0, 9, STRONG)]
    assert list(found(later_then_earlier, {0: 0}).grade[:3]) == [STRONG, STRONG, UNREACHED]
    assert found([(0, 1, 10, 20, STRONG), (1, 2, 0, 10, STRONG)], {0: 0}).when[2] == 10


def test_a_contact_that_ended_before_it_came_leads_nowhere():
    assert found([(0, 1, 0, 5, STRONG)], {0: 6}).when[1] == NEVER
    assert found([(0, 1, 0, 5, STRONG)], {0: 5}).when[1] == 5


def test_a_path_is_as_strong_as_its_weakest_contact_and_a_node_has_its_best_path():
    contacts = [
        (0, 1, 1, 1, LIKELY),
        (1, 2, 2, 2, STRONG),
        (0, 3, 5, 5, STRONG),
        (3, 2, 9, 9, STRONG),
    ]
    at_all = found(contacts, {0: 0})
    assert (at_all.grade[2], at_all.when[2]) == (STRONG, 9)
    assert at_all.way_to(2) == (2, 3)
    assert found(contacts[:2], {0: 0}).grade[2] == LIKELY


def test_of_possible_contacts_a_path_has_one_or_two_by_a_carrier():
    near = [(0, 1, 0, 99, POSSIBLE), (1, 2, 0, 99, POSSIBLE)]
    assert list(found(near, {0: 0}).grade[:3]) == [STRONG, POSSIBLE, UNREACHED]
    by_hands = [(0, HANDS, 1, 1, POSSIBLE), (HANDS, 2, 2, 2, POSSIBLE), (2, 3, 3, 3, LIKELY)]
    assert found(by_hands, {0: 0}).grade[3] == POSSIBLE
    assert found([*by_hands, (3, 4, 4, 4, POSSIBLE)], {0: 0}).grade[4] == UNREACHED


def test_backwards_is_forwards_with_time_turned_round():
    contacts = columns([(0, 1, 0, 10, STRONG), (1, 2, 20, 30, LIKELY)])
    back = reached(contacts.turned(), {2: -25}, nodes=3, carriers=np.zeros(3, dtype=bool))
    assert list(back.grade) == [LIKELY, LIKELY, STRONG]
    assert list(-back.when) == [10, 25, 25]


times = st.integers(0, 12)
contact = st.tuples(
    st.integers(0, NODES - 1), st.integers(0, NODES - 1), times, times, st.integers(0, 2)
).map(lambda one: (one[0], one[1], min(one[2:4]), max(one[2:4]), one[4]))


def every_path(
    contacts: Sequence[Contact], seeds: dict[int, int]
) -> dict[int, tuple[int, int]]:
    """For each node its best grade and the earliest second by it: every way is gone."""
    best: dict[int, tuple[int, int]] = {}
    seen = set()
    waiting = [(node, at, STRONG, "none") for node, at in seeds.items()]
    while waiting:
        node, at, grade, spent = state = waiting.pop()
        if state in seen:
            continue
        seen.add(state)
        best[node] = min(best.get(node, (grade, at)), (grade, at))
        for begin, end, since, until, how in contacts:
            if begin != node or at > until:
                continue
            after = spent
            if how == POSSIBLE:
                onto = end == HANDS
                if spent == "none":
                    after = "held" if onto else "spent"
                elif spent == "held" and not onto:
                    after = "spent"
                else:
                    continue
            elif spent == "held":
                continue
            waiting.append((end, max(at, since), max(grade, how), after))
    return best


@given(st.lists(contact, max_size=14), st.dictionaries(st.integers(0, 2), times, max_size=2))
def test_it_finds_what_trying_every_path_finds(contacts: list[Contact], seeds: dict[int, int]):
    quick, slow = found(contacts, seeds), every_path(contacts, seeds)
    for node in range(NODES):
        assert (quick.grade[node], quick.when[node]) == slow.get(node, (UNREACHED, NEVER))


@given(st.lists(contact, max_size=14), times)
def test_the_path_it_names_can_be_gone(contacts: list[Contact], begins: int):
    at_all = found(contacts, {0: begins})
    for node in range(NODES):
        way = [contacts[one] for one in at_all.way_to(node)]
        assert all(one[1] == two[0] for one, two in pairwise(way))
        at = begins
        for _, _, since, until, _ in way:
            at = max(at, since)
            assert at <= until
        if way:
            assert (way[0][0], way[-1][1], at) == (0, node, at_all.when[node])
            assert max(one[4] for one in way) == at_all.grade[node]


@given(st.lists(contact, max_size=14), st.permutations(range(NODES - 1)))
def test_names_and_order_of_contacts_change_nothing(contacts, names):
    renamed = [*names, HANDS]
    other = [(renamed[a], renamed[b], *rest) for a, b, *rest in reversed(contacts)]
    one, two = found(contacts, {0: 0}), found(other, {renamed[0]: 0})
    for node in range(NODES):
        assert one.grade[node] == two.grade[renamed[node]]
        assert one.when[node] == two.when[renamed[node]]
