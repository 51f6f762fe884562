"""Animals that were not found, by a report of their own or by the accounts of a move."""

from protocols.amended import left_behind, moves_told
from stock.apply.counts import Going, Spot, transfer
from stock.apply.standing import stand_as_told
from stock.apply.words import value_of, words_about
from stock.models import Batch, Container, Fact, Missing, StayRow
from stock.queries.accounts import accounts_of_stay
from stock.refusals import CannotApply, refuse


def miss(fact: Fact, batch: Batch, container: Container, count: int) -> None:
    """Not found is not dead: unaccounted, and the container must be searched."""
    transfer(fact, Going(Spot(batch.uid, "alive"), Spot(batch.uid, "unaccounted"), count))
    Missing.objects.create(
        fact=fact.uid,
        batch=batch,
        container=container,
        count=count,
        open=count,
        at=fact.performed_at,
    )


def miss_more(note: Fact, row: Missing, more: int) -> None:
    """So many more were missed than was told first, or, if negative, so many fewer."""
    if row.open + more < 0:
        text = f"{row.open} are still missing; {-more} would have to be here after all."
        reason = refuse("contradicts_record", text, missing=row.open, entered=-more)
        raise CannotApply(reason)
    alive, unaccounted = Spot(row.batch_id, "alive"), Spot(row.batch_id, "unaccounted")
    begin, end = (alive, unaccounted) if more > 0 else (unaccounted, alive)
    if more:
        transfer(note, Going(begin, end, abs(more)), at=row.at)
    row.count += more
    row.open += more
    if row.count:
        row.save()
    else:
        row.delete()


def settle_left_behind(note: Fact, ended: StayRow) -> None:
    """As many are missing of a move as all accounts of it, with the words about them, say.

    Where somebody decided between them, the batch stands where the accepted one says.
    """
    accounts = accounts_of_stay(ended.uid)
    told = [value_of(one) for one in accounts]
    words = words_about([one.uid for one in accounts])
    wanted = left_behind(told, words)
    if any(one.kind == "account_decided" for one in words):
        stand_as_told(ended, moves_told(told, words))
    row = Missing.objects.filter(fact__in=[one.uid for one in accounts]).first()
    if row is not None:
        miss_more(note, row, wanted - row.count)
    elif wanted:
        first = next(one for one in accounts if one.uid == ended.ended_by)
        miss_more(note, miss_of(first, ended.batch, ended.container), wanted)


def miss_of(report: Fact, batch: Batch, container: Container) -> Missing:
    """A row for what later words say was missed by a report; nobody is missed yet."""
    at = report.performed_at
    return Missing(fact=report.uid, batch=batch, container=container, count=0, open=0, at=at)
