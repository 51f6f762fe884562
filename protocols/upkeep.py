"""What may be done with equipment now: disinfecting, seeing dry, reading with an instrument."""

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta

from protocols.judged import State
from protocols.matching import Checked
from protocols.ruled import Reason
from protocols.said import said
from protocols.worlds import Equipment


def may_disinfect(subjects: Iterable[Equipment]) -> tuple[Reason, ...]:
    """Nothing in use, and nothing in which animals are still being looked for."""
    found = []
    for number, one in enumerate(subjects):
        pointer = f"/subjects/{number}"
        if one.search_open:
            text = said(
                "Animals are still missing: search {label} and its hollow parts first.",
                label=one.label,
            )
            found.append(
                Reason("not_searched", "not_searched", text, pointer=pointer, task="search")
            )
        if one.occupant is not None:
            text = said(
                "{label} is occupied by {occupant}.",
                label=one.label,
                occupant=one.occupant.code,
            )
            found.append(
                Reason("container_occupied", "container_occupied", text, pointer=pointer)
            )
        elif one.readiness.state is State.IN_USE:
            where = said(" in {where}", where=one.where) if one.where else ""
            text = said("{label} is in use{where}.", label=one.label, where=where)
            found.append(Reason("kit_in_use", "kit_in_use", text, pointer=pointer))
    return tuple(found)


def may_see_dry(
    performed_at: datetime, told_at: datetime, *, was_on_shift: bool, late_after: timedelta
) -> tuple[Reason, ...]:
    """Dryness told later counts only from somebody who was on shift then."""
    if was_on_shift or told_at - performed_at <= late_after:
        return ()
    text = "Only somebody who was on shift then can say that it was dry."
    return (Reason("not_on_shift", "not_on_shift", text, pointer="/performed_at"),)


def may_read_with(label: str, checks: Sequence[Checked], at: datetime) -> tuple[Reason, ...]:
    """After a failed check nothing is read with an instrument until a good one."""
    before = [one for one in checks if one.at <= at]
    if not before or before[-1].passed:
        return ()
    text = said(
        "{label} failed its last check. Check it again before you read with it.", label=label
    )
    return (Reason("instrument_failed", "instrument_failed", text, pointer="/instrument"),)
