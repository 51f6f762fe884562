"""When stays began, as that was told first.

The rows' own times follow from later words too, which a rebuild knows only afterwards.
"""

from datetime import datetime

from stock.models import Fact, Missing, StayRow
from stock.refusals import CannotApply, refuse


def stay_left(missing: Missing) -> StayRow:
    """Where the batch stood when they were missed, in that container if it was there."""
    stays = StayRow.objects.filter(batch=missing.batch_id)
    came = {stay.uid: (came_at(stay), stay.uid) for stay in stays}
    before = [stay for stay in stays if came[stay.uid][0] <= missing.at]
    there = [stay for stay in before if stay.container_id == missing.container_id]
    if not before:
        raise CannotApply(refuse("contradicts_record", "The batch was in no stay then."))
    return max(there or before, key=lambda stay: came[stay.uid])


def came_at(stay: StayRow) -> datetime:
    """When a stay began; one that goes on after a finding began with the one before."""
    report = Fact.objects.get(uid=stay.began_by)
    if report.kind != "found_again":
        return report.performed_at
    return came_at(stay_left(Missing.objects.get(fact=report.body["of"])))
