"""How many there are: animals missed and found again, presumed lost, counted, born."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import Any
from uuid import UUID

from protocols.losses import Living, has_reason, may_add, may_find
from protocols.typed_counts import AskedLoss, count_reasons, may_presume_lost, may_record_loss
from protocols.values import Reason, Standing
from stock import access, names
from stock.answers import Answered
from stock.doors.door import Asking, Door, enter
from stock.judging.load import judged
from stock.ledger import Told
from stock.models import Batch, Container, Missing, StayRow
from stock.queries.counts import batches_now, living, missing_for, missing_shown, presumed_of
from stock.queries.names_of_stays import missing_named
from stock.queries.sites import rules_history
from stock.refusals import NotFound


@dataclass(frozen=True, slots=True)
class Finding:
    """Who was missed, how many of them are presumed lost, and where the others are now."""

    missing: Missing
    presumed: int
    home: UUID | None


def record_missing(
    asking: Asking, *, batch: UUID, count: int, container: UUID | None = None
) -> Answered:
    """So many are not found, and no body. `container` is to be searched: theirs unless said."""
    _, site = access.batch_for(asking.person, batch, access.HANDS)
    uid = asking.new_uid()

    def tell(_: Living) -> Sequence[Told]:
        where = _home(batch) if container is None else _here(container, site.uid)
        body = {"batch": batch, "count": count, "container": where}
        return (Told("missing_recorded", body, uid=uid, texts=asking.texts),)

    return enter(
        asking,
        site.uid,
        Door(
            load=lambda log: living([batch])[batch],
            ask=lambda living: _may_miss(living, batch, count),
            tell=tell,
            show=lambda _: {
                "missing": missing_shown(uid),
                "batch": _batch(asking, batch),
            },
            shows_parked=True,
        ),
    )


def find_again(
    asking: Asking, *, missing: UUID, count: int, container: UUID, alive: bool
) -> Answered:
    """Some of those missed are found, also after they were presumed lost.

    Alive where their batch is, they are part of it again; alive elsewhere, they are a batch of
    their own, which goes on in the stay in which they were left.
    """
    row, site = missing_for(asking.person, missing, access.HANDS)
    _here(container, site.uid)
    apart = {"batch": asking.new_uid(), "stay": names.new_uid(asking.now)}

    def tell(world: Finding) -> Sequence[Told]:
        away = apart if alive and world.home != container else {}
        body = {"of": missing, "count": count, "container": container, "alive": alive, **away}
        return (Told("found_again", body, about=row.batch_id, texts=asking.texts),)

    def show(world: Finding) -> dict[str, Any]:
        return {
            "missing": missing_shown(missing),
            "batch": _batch(asking, row.batch_id),
            "found": next(iter(batches_now([apart["batch"]], asking.now)), None),
        }

    return enter(
        asking,
        site.uid,
        Door(
            load=lambda log: _finding(missing),
            ask=lambda world: may_find(world.missing.open, world.presumed, count),
            tell=tell,
            show=show,
            shows_parked=True,
        ),
    )


def presume_lost(asking: Asking, *, missing: UUID, count: int) -> Answered:
    """Give up looking for some of those missed, once they were looked for long enough."""
    row, site = missing_for(asking.person, missing, access.MANAGERS)
    body = {"of": missing, "count": count}

    def ask(world: Finding) -> Iterator[Reason]:
        at, since = asking.performed_at, world.missing.at
        rules = rules_history(site.uid).at(at)
        yield from has_reason(asking.reason)
        yield from may_presume_lost(count, world.missing.open, since, rules=rules, at=at)

    # Nothing has happened that must be kept: whatever a report calls it, it is asked for.
    return enter(
        replace(asking, standing=Standing.ASKED),
        site.uid,
        Door(
            load=lambda log: _finding(missing),
            ask=ask,
            tell=lambda _: (
                Told("presumed_lost", body, about=row.batch_id, texts=asking.texts),
            ),
            show=lambda _: {
                "missing": missing_shown(missing),
                "batch": _batch(asking, row.batch_id),
            },
            shows_parked=True,
        ),
    )


def count_batch(asking: Asking, *, batch: UUID, counts: Sequence[int]) -> Answered:
    """How many somebody counted, typed blind. It changes no balance; a difference is asked."""
    found, site = access.batch_for(asking.person, batch, access.HANDS)
    body = {"batch": batch, "counts": list(counts)}

    def ask(living: Living) -> Iterable[Reason]:
        closed = tuple(may_add(living))
        near = _near_limit(asking, found)
        return closed or count_reasons(counts, 0, living.alive, near_limit=near)

    return enter(
        asking,
        site.uid,
        Door(
            load=lambda log: living([batch])[batch],
            ask=ask,
            tell=lambda _: (Told("counted", body, texts=asking.texts),),
            show=lambda _: {"counts": counts, "batch": _batch(asking, batch)},
            shows_parked=True,
        ),
    )


def record_birth(asking: Asking, *, batch: UUID, count: int, estimated: bool) -> Answered:
    """Animals born among those of a batch."""
    _, site = access.batch_for(asking.person, batch, access.HANDS)
    body = {"batch": batch, "count": count, "estimated": estimated}
    return enter(
        asking,
        site.uid,
        Door(
            load=lambda log: living([batch])[batch],
            ask=may_add,
            tell=lambda _: (Told("born_here", body, texts=asking.texts),),
            show=lambda _: {"batch": _batch(asking, batch)},
            shows_parked=True,
        ),
    )


def _may_miss(living: Living, batch: UUID, count: int) -> Iterator[Reason]:
    asked = AskedLoss(batch, living.label, count, living.alive, closed=living.closed)
    for reason in may_record_loss([asked]):
        yield replace(reason, pointer="/count")


def _near_limit(asking: Asking, batch: Batch) -> bool:
    """So close to the limit that nothing waits for a count."""
    at = asking.performed_at
    limit = judged(batch.uid, at).limit
    seconds = rules_history(batch.site_id).at(at).near_limit_s
    return limit is not None and limit - at <= timedelta(seconds=seconds)


def _finding(missing: UUID) -> Finding:
    row = missing_named(missing)
    if row is None:
        raise NotFound
    return Finding(row, presumed_of(row.fact), _home(row.batch_id))


def _home(batch: UUID) -> UUID | None:
    """The container in which a batch is, or was last."""
    stays = StayRow.objects.filter(batch=batch).order_by("-began_latest", "-uid")
    return stays.values_list("container", flat=True).first()


def _here(container: UUID, site: UUID) -> UUID:
    if Container.read(uid=container, site=site) is None:
        raise NotFound
    return container


def _batch(asking: Asking, batch: UUID) -> dict[str, Any]:
    return batches_now([batch], asking.now)[0]
