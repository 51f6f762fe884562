"""Who brings an entry to the service, where its doer cannot."""

from datetime import datetime, timedelta

from protocols.clocks import elapsed_text
from protocols.ruled import Reason, Rules
from protocols.said import said


def may_deliver(
    told_at: datetime, *, now: datetime, ended: bool, rules: Rules
) -> Reason | None:
    """Why somebody else may not bring this entry yet; None where they may.

    Its doer brings it, by signing in. Another may once the doer's account `ended`, or when it
    has waited for the site's hours since it was told (`told_at`).
    """
    waits = timedelta(seconds=rules.deliver_after_s) - (now - told_at)
    if ended or waits <= timedelta(0):
        return None
    return Reason(
        code="not_signed_in",
        rule="not_signed_in",
        text=said(
            "Who did it signs in here, or another brings it in {waits}.",
            waits=elapsed_text(waits),
        ),
        numbers={"waits_s": int(waits.total_seconds())},
    )
