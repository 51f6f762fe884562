"""Every kind of fact: whose record book it goes to, its rank among happenings, and its body.

Kinds, fields and ranks are permanent, since facts already written have them. A kind may
gain fields that can be absent, and new kinds may be added. The uid of a thing bears the
name of the thing; where a fact itself is the thing (a hold, a reservation, a missing animal),
later facts point to the uid of that fact.
"""

from collections.abc import Mapping
from typing import Any

from protocols.bodies import BodyRefused, check, plain
from protocols.kinds.batches import BATCHES
from protocols.kinds.certificates import CERTIFICATES
from protocols.kinds.counts import COUNTS
from protocols.kinds.erasing import ERASING
from protocols.kinds.intake import INTAKE
from protocols.kinds.kind import Book, Kind, Rank
from protocols.kinds.kits import KITS
from protocols.kinds.mixing import MIXING
from protocols.kinds.places import PLACES
from protocols.kinds.questions import QUESTIONS
from protocols.kinds.readings import READINGS
from protocols.kinds.visits import VISITS
from protocols.kinds.work import WORK
from protocols.values import Reason

__all__ = ["KINDS", "BodyRefused", "Book", "Kind", "Rank", "check_body", "rank"]

KINDS: Mapping[str, Kind] = {
    **PLACES,
    **INTAKE,
    **BATCHES,
    **COUNTS,
    **KITS,
    **READINGS,
    **MIXING,
    **QUESTIONS,
    **WORK,
    **VISITS,
    **ERASING,
    **CERTIFICATES,
}


def rank(kind: str) -> Rank:
    """What comes first among happenings of the same second; KeyError for an unknown kind."""
    return KINDS[kind].rank


def check_body(kind: str, body: Mapping[str, Any]) -> dict[str, Any]:
    """The body in the plain form in which it is kept, if it has the form of its kind.

    Raises BodyRefused with a reason for every field that is unknown, missing or ill-formed;
    pointers start at the body.
    """
    if kind not in KINDS:
        text = f"{kind} is no kind of fact"
        raise BodyRefused(Reason(code="unreadable", rule="form", text=text, pointer=""))
    kept: dict[str, Any] = plain(body)
    check(KINDS[kind].body, kept)
    return kept
