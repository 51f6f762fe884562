"""Facts about facts: they change what an earlier report is taken to say."""

from collections.abc import Iterable, Mapping, Sequence
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
    "parked_settled",
    "found_again",
    "presumed_lost",
    "hold_lifted",
)
# A confirmation of a correction of a report is as deep as words about words go.
DEPTH = 2


Words = Mapping[UUID, Sequence[Fact]]


def words_about(told: Iterable[UUID], *, known_by: int | None = None) -> list[Fact]:
    """What was said later of any of these facts, and of what was said; each word once."""
    words = words_by_fact(told, known_by=known_by)
    return list({fact.uid: fact for facts in words.values() for fact in facts}.values())


def words_by_fact(told: Iterable[UUID], *, known_by: int | None = None) -> Words:
    """What was said later of each of these facts, and of what was said. Two queries at most."""
    found: dict[UUID, Sequence[Fact]] = {}
    asked = set(told)
    for _ in range(DEPTH):
        if not asked:
            break
        # A word that does not fit would leave the report with what cannot be.
        new = facts_about(asked, kinds=WORDS, known_by=known_by, parked=False)
        found |= new
        asked = {fact.uid for facts in new.values() for fact in facts} - found.keys()
    return found


def with_words(told: Iterable[Fact], words: Words) -> list[Fact]:
    """Each fact once, with what was said of it; words about other facts are left out."""
    found = {fact.uid: fact for fact in told}
    asked = list(found)
    for _ in range(DEPTH):
        new = {fact.uid: fact for uid in asked for fact in words.get(uid, ())}
        asked = [uid for uid in new if uid not in found]
        found |= new
    return list(found.values())
