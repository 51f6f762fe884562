from protocols.tracing_decisions import may_decide, needs_hold, undecided

FOUND = ("a", "b")


def stands(batch, why):
    return [one.rule for one in may_decide(batch, FOUND, why)]


def test_a_batch_that_was_found_is_decided_on_with_a_reason():
    assert stands("a", "It shared a net.") == []
    assert stands("a", " ") == ["reason_missing"]
    assert stands("c", "So.") == ["not_traced"]


def test_it_is_closed_once_every_batch_is_decided_on():
    assert undecided(FOUND, {"a": "watch"}) == ("b",)
    assert undecided(FOUND, {"a": "watch", "b": "affected"}) == ()
    assert undecided((), {}) == ()


def test_an_affected_batch_is_held_unless_it_is():
    assert needs_hold("affected", held=False)
    assert not needs_hold("affected", held=True)
    assert not needs_hold("watch", held=False)
