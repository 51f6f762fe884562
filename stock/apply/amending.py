"""Words that change how many animals are where: what was counted by mistake goes back.

A correction counts at once, a withdrawal once a second person says so, exactly as they are
judged. The animals are moved as of when the report says; what moves them is the word.
"""

from collections.abc import Callable, Mapping

from stock.apply.amending_stays import move_or_placement
from stock.apply.closing import HERE, close_if_nobody_is_left, reopen
from stock.apply.counts import Going, Spot, balances, transfer
from stock.apply.found import missing_of
from stock.apply.leaving import dispatch_as_told
from stock.apply.loss_rows import lose_as_told, lose_missing
from stock.apply.not_found import miss_more, miss_of
from stock.apply.settling import stands_as_settled
from stock.apply.words import Amended, amended
from stock.models import Batch, Container, Dispatch, Fact, Loss, Missing, Parked, Transfer
from stock.refusals import CannotApply, not_here, refuse

# What makes it another report: that is withdrawn and told anew.
FIXED = ("batch", "of", "dispatch", "site", "stay", "ended_stay", "from")

# These end batches and begin others, whose histories rest on them; or counts rest on them.
RESTED_ON = "Other batches rest on this split or join: split or join them again."
FOR_GOOD = {
    "batch_split": RESTED_ON,
    "batches_joined": RESTED_ON,
    "parked_settled": "Counts rest on this settlement: tell anew what was wrong with it.",
}


def amend(note: Fact) -> None:
    """Follow a word about a report of animals."""
    change = amended(note)
    if change is None:
        return
    if change.report.kind in FOR_GOOD:
        _stands_unless_parked(change)
    stands_as_settled(change.report)
    if change.report.kind not in AMENDERS:
        return
    parked = Parked.objects.filter(fact=change.report, settled_by=None)
    if parked.exists():
        # It moved nobody. Taken back, it asks for nothing any more.
        if change.after is None:
            parked.update(settled_by=note.uid)
        return
    if change.before and change.after and any(change.differs(name) for name in FIXED):
        text = "That makes it another report: take it back and tell it anew."
        raise CannotApply(refuse("contradicts_record", text))
    batch = AMENDERS[change.report.kind](change)
    tidy(batch)


def _stands_unless_parked(change: Amended) -> None:
    """A split, a join or a settlement that fits stands: others rest on it."""
    if not Parked.objects.filter(fact=change.report, settled_by=None).exists():
        text = FOR_GOOD[change.report.kind]
        raise CannotApply(refuse("contradicts_record", text))


def _loss(change: Amended) -> Batch:
    batch = _batch(change)
    alive = Spot(batch.uid, "alive")
    goings = []
    if change.before:
        goings.append(Going(Spot(batch.uid, change.was("fate")), alive, change.was("count")))
    if change.after:
        goings.append(Going(alive, Spot(batch.uid, change.now("fate")), change.now("count")))
    transfer(change.note, *goings, at=change.report.performed_at)
    Loss.objects.filter(fact=change.report.uid).delete()
    if change.after:
        lose_as_told(change.report, batch, change.after)
    return batch


def _missing(change: Amended) -> Batch:
    batch, row = _batch(change), Missing.objects.filter(fact=change.report.uid).first()
    if change.after is not None:
        where = Container.read(uid=change.now("container"), site=batch.site_id)
        if where is None:
            raise not_here("container")
        row = row or miss_of(change.report, batch, where)
        row.container = where
    if row is not None:
        miss_more(change.note, row, change.more)
    return batch


def _birth(change: Amended) -> Batch:
    batch = _batch(change)
    _shift(change, Spot(batch.uid, "outside"), Spot(batch.uid, "alive"))
    return batch


def _presumed(change: Amended) -> Batch:
    missing = missing_of(change.report)
    loss = Loss.objects.filter(fact=change.report.uid).first()
    kept = (loss.count if loss else 0) + change.more
    if missing.open < change.more or kept < 0:
        raise CannotApply(refuse("contradicts_record", "So many of them were found since."))
    unaccounted = Spot(missing.batch_id, "unaccounted")
    _shift(change, unaccounted, Spot(missing.batch_id, "presumed_lost"))
    Missing.objects.filter(fact=missing.fact).update(open=missing.open - change.more)
    Loss.objects.filter(fact=change.report.uid).delete()
    if kept:
        lose_missing(change.report, missing, "presumed_lost", kept)
    return missing.batch


def _found(change: Amended) -> Batch:
    missing = missing_of(change.report)
    moved = Transfer.objects.filter(fact=change.report.uid)
    if "batch" in change.report.body or moved.filter(from_place="presumed_lost").exists():
        text = "They are a batch of their own, or were given up before: tell it anew."
        raise CannotApply(refuse("contradicts_record", text))
    if missing.open < change.more:
        raise CannotApply(refuse("contradicts_record", "So many are not missing there."))
    unaccounted = Spot(missing.batch_id, "unaccounted")
    goings = []
    if change.before:
        goings.append(Going(_place(missing, change.before), unaccounted, change.was("count")))
    if change.after:
        goings.append(Going(unaccounted, _place(missing, change.after), change.now("count")))
    transfer(change.note, *goings, at=change.report.performed_at)
    Missing.objects.filter(fact=missing.fact).update(open=missing.open - change.more)
    Loss.objects.filter(fact=change.report.uid).delete()
    if change.after and not change.now("alive"):
        lose_missing(change.report, missing, "dead", change.now("count"))
    return missing.batch


def _dispatch(change: Amended) -> Batch:
    batch, row = _batch(change), Dispatch.objects.filter(fact=change.report.uid).first()
    if row is not None and row.returned > (change.now("count") or 0):
        raise CannotApply(refuse("contradicts_record", "So many of them came back since."))
    place = "on_the_way" if "site" in change.report.body else "sold"
    _shift(change, Spot(batch.uid, "alive"), Spot(batch.uid, place))
    returned = 0 if row is None else row.returned
    Dispatch.objects.filter(fact=change.report.uid).delete()
    if change.after:
        dispatch_as_told(change.report, batch, change.after, returned=returned)
    return batch


def _return(change: Amended) -> Batch:
    row = Dispatch.read(uid=change.report.body["dispatch"], site=change.report.log_id)
    returned = None if row is None else row.returned + change.more
    if row is None or returned is None or not 0 <= returned <= row.count:
        raise CannotApply(refuse("contradicts_record", "So many did not leave."))
    place = "on_the_way" if row.to_site_id else "sold"
    _shift(change, Spot(row.batch_id, place), Spot(row.batch_id, "returned"))
    Dispatch.objects.filter(uid=row.uid).update(returned=returned)
    return row.batch


def _shift(change: Amended, begin: Spot, end: Spot) -> None:
    """The difference goes the way the report says, or back."""
    if change.more:
        begin, end = (begin, end) if change.more > 0 else (end, begin)
        at = change.report.performed_at
        transfer(change.note, Going(begin, end, abs(change.more)), at=at)


def _place(missing: Missing, body: Mapping[str, object]) -> Spot:
    return Spot(missing.batch_id, "alive" if body["alive"] else "dead")


def _batch(change: Amended) -> Batch:
    return Batch.objects.get(uid=change.report.body["batch"], site=change.report.log_id)


def tidy(batch: Batch) -> None:
    """Closed with the last one; open again with the first that lives after all."""
    left = balances(batch.uid)
    if any(left.get(place, 0) for place in HERE):
        reopen(Batch.objects.get(uid=batch.uid))
    else:
        close_if_nobody_is_left(batch)


AMENDERS: Mapping[str, Callable[[Amended], Batch]] = {
    "loss_recorded": _loss,
    "missing_recorded": _missing,
    "born_here": _birth,
    "presumed_lost": _presumed,
    "found_again": _found,
    "animals_dispatched": _dispatch,
    "animals_returned": _return,
    "batch_placed": move_or_placement,
    "batch_moved": move_or_placement,
}
