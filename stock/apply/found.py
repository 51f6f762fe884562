"""Animals that were missed and are found: taken back from where they were counted meanwhile."""

from django.db import IntegrityError, transaction

from stock.apply.batches import free_code
from stock.apply.came import came_at, stay_left
from stock.apply.counts import Going, Spot, transfer
from stock.apply.kin import come_out_of
from stock.models import Batch, Container, Fact, Loss, Missing, StayRow
from stock.refusals import CannotApply, not_here, refuse


def missing_of(fact: Fact) -> Missing:
    """The missing animals that the fact is about, at this site."""
    missing = Missing.objects.filter(fact=fact.body["of"], batch__site=fact.log_id)
    found = missing.select_related("batch").first()
    if found is None:
        raise CannotApply(refuse("contradicts_record", "Nobody was missed there."))
    return found


def take_back(fact: Fact, missing: Missing, end: Spot) -> None:
    """Those found go to `end`: first who is still missing, then who was presumed lost."""
    count = fact.body["count"]
    still = min(count, missing.open)
    lost = count - still
    presumed = list(Loss.objects.filter(of=missing.fact, presumed=True).order_by("fact"))
    if lost > sum(one.count for one in presumed):
        raise CannotApply(refuse("contradicts_record", "So many were not missed there."))
    goings = (
        Going(Spot(missing.batch_id, place), end, n)
        for place, n in (("unaccounted", still), ("presumed_lost", lost))
        if n
    )
    transfer(fact, *goings)
    missing.open -= still
    missing.save()
    _reverse(presumed, lost)


def place_found(fact: Fact, missing: Missing) -> None:
    """A batch of its own, which goes on in the stay in which its animals were left."""
    parent, left = missing.batch, stay_left(missing)
    batch = Batch.objects.create(
        uid=fact.body["batch"],
        version=fact.seq,
        site_id=fact.log_id,
        code=free_code(fact.log_id, fact.body["batch"]),
        protocol=parent.protocol,
        placed_at=parent.placed_at,
    )
    come_out_of(fact, batch, [parent])
    take_back(fact, missing, Spot(batch.uid, "alive"))
    try:
        with transaction.atomic():
            _go_on(fact, batch, left)
    except IntegrityError as error:
        text = "Another batch is in that container."
        raise CannotApply(refuse("container_occupied", text)) from error


def _go_on(fact: Fact, batch: Batch, left: StayRow) -> None:
    container = Container.read(uid=fact.body["container"], site=fact.log_id)
    if container is None or "stay" not in fact.body:
        raise not_here("container")
    came = came_at(left)
    StayRow.objects.create(
        uid=fact.body["stay"],
        batch=batch,
        container=container,
        began_earliest=came,
        began_latest=came,
        began_by=fact.uid,
    )


def _reverse(presumed: list[Loss], count: int) -> None:
    """So many of these presumed losses were none."""
    for one in presumed:
        taken = min(one.count, count)
        count -= taken
        if one.count == taken:
            one.delete()
        else:
            one.count -= taken
            one.save()
