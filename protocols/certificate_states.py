"""What a certificate is worth after everything that was told of it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from protocols.told import Happening
from protocols.uids import as_uid


@dataclass(frozen=True, slots=True)
class Issued:
    """A certificate as it was issued. It never changes; what it is worth now does."""

    uid: UUID
    count: int
    at: datetime


@dataclass(frozen=True, slots=True)
class CertifiedPart:
    """So many of the certified animals are, or were last, in this batch; `alive` live there."""

    batch: UUID
    certified: int
    alive: int


@dataclass(frozen=True, slots=True)
class CertificateState:
    """`state` is valid, partly, suspended, superseded, revoked or ended; `count` still covered.

    `alive` is shown beside: a death after the issue is no fault of the certificate. `by_rule`
    says that the service suspended it, for what `cause` names, and no person did.
    """

    state: str
    count: int
    alive: int
    since: datetime
    by_rule: bool = False
    cause: UUID | None = None


def certificate_state(
    issued: Issued, children: Sequence[CertifiedPart], later: Sequence[Happening]
) -> CertificateState:
    """What a certificate is worth after everything that was told of it, in order.

    Revoked is for good, superseded unless it is revoked; suspended lasts until lifted. Animals
    that left certified conditions are no longer covered, the others are.
    """
    covered, since = issued.count, issued.at
    final, suspended, by_rule, cause = None, False, False, None
    for one in later:
        moment = one.when.earliest
        if one.kind in FINAL and final != "revoked":
            final, since = FINAL[one.kind], moment
        elif final is not None:
            continue
        elif one.kind == "certificate_ended":
            covered, since = covered - one.body.get("count", covered), moment
        elif one.kind in ("certificate_suspended", "certificate_lifted"):
            suspended, since = one.kind == "certificate_suspended", moment
            by_rule = suspended and bool(one.body.get("by_rule"))
            cause = as_uid(one.body["by"]) if by_rule else None
    covered = max(covered, 0)
    alive = min(sum(min(one.certified, one.alive) for one in children), covered)
    state = final or _unless_final(covered, issued.count, suspended=suspended)
    by_rule = by_rule and state == "suspended"
    return CertificateState(state, covered, alive, since, by_rule, cause if by_rule else None)


FINAL: Mapping[str, str] = {
    "certificate_revoked": "revoked",
    "certificate_superseded": "superseded",
}


def _unless_final(covered: int, issued: int, *, suspended: bool) -> str:
    if covered == 0:
        return "ended"
    if suspended:
        return "suspended"
    return "valid" if covered == issued else "partly"
