"""Giving certificates out and taking them back: numbers, counts, and what may follow what."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import replace
from uuid import UUID

from protocols.certificate_states import CertificateState
from protocols.certifying import Certifiable
from protocols.ruled import Reason
from protocols.said import said
from protocols.status_list import ENTRIES_LEAST
from protocols.uids import uid_or_none

NUMBER = re.compile(r"C-([0-9]{4})-([0-9]{4,9})")
# A certificate in one of these states stands: there is no second one beside it.
STANDING = ("valid", "partly", "suspended")
# Told of a certificate, each step only after these states. Revoked is for good.
STEPS: Mapping[str, tuple[str, ...]] = {
    "certificate_suspended": ("valid", "partly"),
    "certificate_lifted": ("suspended",),
    "certificate_superseded": STANDING,
    "certificate_ended": STANDING,
    "certificate_revoked": (*STANDING, "ended"),
}
# What hinders a new certificate, but says nothing against one that is out.
NO_BAD_NEWS = frozenset(
    {"already_certified", "batch_closed", "document_missing", "unaccounted"}
)


def number_text(year: int, counter: int) -> str:
    """`C-2027-0041`: the year of the site's wall clock, and how many before it in that year."""
    return f"C-{year:04}-{counter:04}"


def read_number(text: str) -> tuple[int, int]:
    """Year and counter, back from `number_text`; raises ValueError for anything else."""
    found = NUMBER.fullmatch(text)
    if found is None or number_text(int(found[1]), int(found[2])) != text:
        raise ValueError(f"{text} is no number of a certificate")
    return int(found[1]), int(found[2])


def list_entries(certificates: int) -> int:
    """How many places a status list has for so many certificates: at most half are taken.

    A list only grows, so that a place once given stays the same place.
    """
    entries = ENTRIES_LEAST
    while entries < 2 * certificates:
        entries *= 2
    return entries


def may_issue(count: int, found: Certifiable) -> tuple[Reason, ...]:
    """Every reason against a certificate for `count` animals; empty if it may be issued.

    Where something blocks, the warnings are told as well.
    """
    reasons = found.reasons
    if count > found.count:
        text = said(
            "{count} could be certified; you entered {count_2}.",
            count=found.count,
            count_2=count,
        )
        numbers = {"could_be": found.count, "entered": count}
        too_few = Reason("too_few_alive", "balance", text, numbers=numbers, pointer="/count")
        reasons = (too_few, *reasons)
    return reasons if any(one.blocks for one in reasons) else ()


def standing_reason(number: str) -> Reason:
    """There is a certificate that stands; a second one beside it would say the same twice."""
    text = said(
        "Certificate {number} stands: supersede or revoke it before another is issued.",
        number=number,
    )
    return Reason("already_certified", "already_certified", text, numbers={"number": number})


def may_follow(
    step: str, state: str, *, held_by_rule: bool = False, by_rule: bool = False
) -> tuple[Reason, ...]:
    """Whether this may be told of a certificate that is in this state by what was told.

    What the rules suspended only the rules lift, once the question is decided, and what a
    person suspended only a person. A person may suspend what the rules suspended: then it is
    theirs.
    """
    after = STEPS[step]
    if step == "certificate_lifted" and state == "suspended" and held_by_rule != by_rule:
        text = "It is lifted by itself once nothing that is open stands against it."
        if by_rule:
            text = "A person suspended it; a person lifts it."
        return (Reason("contradicts_record", "certificate_steps", text),)
    over = step == "certificate_suspended" and held_by_rule and not by_rule
    if state in after or over:
        return ()
    text = said(
        "The certificate is {state}; this can only follow {listed}.",
        state=state,
        listed=" or ".join(after),
    )
    return (Reason("contradicts_record", "certificate_steps", text, numbers={"state": state}),)


def bad_news(found: Certifiable) -> tuple[Reason, ...]:
    """What is known today and would have kept a certificate from being issued.

    That animals died, left or are missing is shown by the count, and is no bad news.
    """
    return tuple(
        one
        for one in found.reasons
        if one.blocks and one.code not in NO_BAD_NEWS and one.rule != "count_differs"
    )


def step_by_rule(told: CertificateState, news: Iterable[Reason]) -> str | None:
    """What the service has to tell of a certificate by itself; None where nothing."""
    bad = any(True for _ in news)
    if bad and told.state in ("valid", "partly"):
        return "certificate_suspended"
    if not bad and told.by_rule:
        return "certificate_lifted"
    return None


def cause_of(news: Iterable[Reason], batch: UUID) -> tuple[UUID, str]:
    """What a certificate of this batch is suspended for by rule, and how that is said.

    The first by name and cause, however the news came; where it has no cause of its own (a
    series that is not complete any more), the batch.
    """
    named = ((one.rule, _named(one) or batch) for one in news)
    rule, cause = min(named, key=lambda one: (one[0], one[1].int))
    # What people wrote may have to be erased; the entry says the rule alone.
    return cause, said("Being checked: {rule}.", rule=rule.replace("_", " "))


def _named(reason: Reason) -> UUID | None:
    known = reason.numbers
    return uid_or_none(str(known.get("cause") or known.get("fact") or ""))


def worth_now(told: CertificateState, news: Iterable[Reason]) -> CertificateState:
    """What a certificate is worth: bad news suspends it until somebody has decided."""
    if told.state in ("valid", "partly") and any(True for _ in news):
        return replace(told, state="suspended")
    return told
