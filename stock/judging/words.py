"""Facts about facts: they change what an earlier report is taken to say."""

from collections.abc import Iterable
from uuid import UUID

from protocols.values import Fact
from stock.judging.facts import facts_about

WORDS = (
    "fact_corrected",
    "fact_withdrawn",
    "fact_contradicted",
    "confirmed",
    "account_decided",
    # These name the fact that they answer, not the batch.
    "found_again",
    "presumed_lost",
    "hold_lifted",
)
# A confirmation of a correction of a report is as deep as words about words go.
DEPTH = 2


def words_about(told: Iterable[UUID], *, known_by: int | None = None) -> list[Fact]:
    """What was said later of these facts, and of what was said. Two queries at most."""
    found: dict[UUID, Fact] = {}
    asked = set(told)
    for _ in range(DEPTH):
        if not asked:
            break
        words = facts_about(asked, kinds=WORDS, known_by=known_by)
        new = {fact.uid: fact for facts in words.values() for fact in facts}
        asked = set(new) - set(found)
        found |= new
    return list(found.values())
