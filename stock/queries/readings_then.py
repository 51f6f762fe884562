"""Readings and instruments as they were known by a position of the record book."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from protocols.matching import Check, in_check
from protocols.order import happenings
from protocols.values import RulesHistory
from stock.judging.facts import facts_about
from stock.judging.water import Checks, checks_of, values_in
from stock.judging.words import words_about
from stock.queries.sites import rules_of_sites

KINDS = ("reading_taken", "readings_taken")
# However long ago a check was, a failed one throws doubt on what was read before it.
WHENEVER = timedelta.max


def readings_then(
    site: UUID,
    container: UUID,
    *,
    quantity: str | None,
    at: datetime,
    known_by: int,
    most: int,
) -> list[dict[str, Any]]:
    """The newest readings in a container up to a moment, newest first, as they were known.

    Rows hold what was corrected since; this is read out of the facts. Six queries at most.
    """
    rules = rules_of_sites([site], known_by=known_by)[site]
    facts = facts_about([container], kinds=KINDS, known_by=known_by, parked=False)
    told = {fact.uid: fact for found in facts.values() for fact in found}
    words = words_about(told, known_by=known_by)
    every = [
        (when, uid, body)
        for one in happenings([*told.values(), *words], at=at, rules=rules)
        for uid, body, when in values_in(one)
        if when <= at and body["container"] == str(container)
    ]
    wanted = [one for one in every if quantity is None or one[2]["quantity"] == quantity]
    newest = sorted(wanted, key=lambda one: (-one[0].timestamp(), one[1]))[:most]
    instruments = {UUID(body["instrument"]) for _, _, body in newest if "instrument" in body}
    checks = checks_of(instruments, known_by=known_by)
    return [_shown(uid, body, when, checks, rules) for when, uid, body in newest]


def _shown(
    uid: UUID, body: Mapping[str, Any], when: datetime, checks: Checks, rules: RulesHistory
) -> dict[str, Any]:
    instrument = UUID(body["instrument"]) if "instrument" in body else None
    known = checks.get(instrument, ()) if instrument else ()
    every = timedelta(seconds=rules.at(when).instrument_check_every_s)
    doubted = in_check(known, when, every=WHENEVER) is Check.DOUBTED
    return {
        "uid": str(uid),
        "container": body["container"],
        "quantity": body["quantity"],
        "value": body["value"],
        "unit": body["unit"],
        "instrument": str(instrument) if instrument else None,
        "performed_at": when,
        "in_doubt": instrument is not None and doubted,
        "in_check": str(in_check(known, when, every=every)) if instrument else None,
    }
