"""Words that change where a batch stood: another container or kit, or a move that was none."""

from stock.apply.not_found import settle_left_behind
from stock.apply.standing import put, stand
from stock.apply.words import Amended
from stock.models import Batch, StayRow
from stock.queries.accounts import accounts_of_stay
from stock.refusals import CannotApply, refuse


def move_or_placement(change: Amended) -> Batch:
    """Follow a word about a placement, or about one account of a move."""
    body = change.report.body
    began = StayRow.objects.filter(began_by=change.report.uid).first()
    # A second account began no stay: only what it says of those not found counts.
    if began is not None and change.after is None:
        _take_back(change, began)
    elif began is not None and change.before is None:
        raise CannotApply(refuse("contradicts_record", "It was taken back: tell it anew."))
    elif began is not None and (change.differs("container") or change.differs("kit")):
        stand(began, change.after or {})
    if "ended_stay" in body:
        ended = StayRow.objects.get(uid=body["ended_stay"])
        settle_left_behind(change.note, ended)
    return Batch.objects.get(uid=body["batch"])


def _take_back(change: Amended, began: StayRow) -> None:
    """The stay before goes on, if nothing rests on the one that began with this."""
    before = StayRow.objects.filter(ended_by=change.report.uid).first()
    if before is None or began.ended_by is not None or _has_other_accounts(change):
        text = "Later reports rest on this one: correct it, or take those back first."
        raise CannotApply(refuse("contradicts_record", text))
    ended = began.ended_earliest, began.ended_latest
    began.delete()
    before.ended_by = None
    before.ended_earliest, before.ended_latest = ended
    put(before)


def _has_other_accounts(change: Amended) -> bool:
    """Whether somebody else told the same move."""
    ended = StayRow.objects.get(ended_by=change.report.uid)
    return len(accounts_of_stay(ended.uid)) > 1
