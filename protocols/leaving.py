"""Whether animals may leave: to a buyer, or to another own site."""

from dataclasses import dataclass

from protocols.ruled import Reason
from protocols.said import said


@dataclass(frozen=True, slots=True)
class Leaving:
    """What is true of a batch from which animals are to leave. `to_buyer`: sold, not moved on.

    `certified` is how many of it a valid certificate covers that have not left yet.
    """

    state: str
    alive: int
    certified: int = 0
    held: bool = False
    restricted: tuple[str, ...] = ()
    to_buyer: bool = True


def may_dispatch(count: int, now: Leaving) -> tuple[Reason, ...]:
    """Every reason against `count` of them leaving."""
    found = []
    if now.state == "closed":
        found.append(_reason("batch_closed", "Nobody of this batch is here any more."))
    elif count > now.alive:
        text = said("{alive} are alive; you entered {count}.", alive=now.alive, count=count)
        found.append(
            Reason(
                "too_few_alive", "balance", text, numbers={"alive": now.alive, "entered": count}
            )
        )
    if now.held:
        found.append(_reason("held", "The batch is on hold: nothing of it leaves."))
    found += [
        _reason("restricted", said("An authority forbids it: {one}.", one=one))
        for one in now.restricted
    ]
    if now.state == "suspected":
        text = "Signs of disease were seen: nothing of this batch leaves."
        found.append(_reason("not_certifiable", text))
    elif now.to_buyer and now.state != "closed" and now.certified < count:
        found.append(_not_certified(count, now))
    return tuple(found)


def _not_certified(count: int, now: Leaving) -> Reason:
    """Animals may be sold without a certificate, but nobody should do so unaware."""
    return Reason(
        "not_certifiable",
        "not_certifiable",
        said(
            "A certificate covers {certified} of them; you entered {count}.",
            certified=now.certified,
            count=count,
        ),
        blocks=False,
        numbers={"certified": now.certified, "entered": count},
    )


def _reason(code: str, text: str) -> Reason:
    return Reason(code, code, text)
