"""What is kept of a judgement: moments in columns, deviations as rows, what it relied on."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from protocols.deviations import deviation_uid, without_growing
from protocols.values import Deviation, Judgement
from stock.judging.chain import chain_of
from stock.models import Batch, DeviationRow, Reliance, StayRow, writing_projections

SECOND = timedelta(seconds=1)


def store(
    site: UUID,
    judgement: Judgement,
    *,
    tolerance: timedelta,
    looked_at: Mapping[UUID, datetime | None],
    coming: datetime | None = None,
    longest: timedelta | None = None,
) -> list[DeviationRow]:
    """Write the caches of one batch; the deviations that opened, changed or closed.

    `coming` is when the next of what is told already happens, `longest` how long a stay may be
    where the water is not warm.
    """
    with writing_projections():
        _columns(judgement, fresh_until(judgement, tolerance, coming, longest))
        _ends(judgement)
        _reliances(judgement.batch, dict.fromkeys(judgement.relied_on) | dict(looked_at))
        return _deviations(site, judgement)


def fresh_until(
    judgement: Judgement,
    tolerance: timedelta,
    coming: datetime | None = None,
    longest: timedelta | None = None,
) -> datetime | None:
    """The first moment at which the clock alone would change the judgement; None for never."""
    turns = [] if coming is None else [coming]
    stay = judgement.open_stay
    limits = [] if judgement.limit is None else [judgement.limit]
    if limits and stay is not None and longest is not None:
        # Warm water makes the limit shorter and only asks; what breaks is the limit without.
        limits.append(stay.began.earliest + longest)
        limits.append(stay.began.latest + longest)
    for limit in limits:
        turns += [limit + SECOND, limit + tolerance + SECOND]
    if judgement.observation is not None and judgement.observation.state == "running":
        turns.append(judgement.observation.ends_at)
    return min((moment for moment in turns if moment > judgement.at), default=None)


def _columns(judgement: Judgement, fresh: datetime | None) -> None:
    series, watched = judgement.series, judgement.observation
    Batch.objects.filter(uid=judgement.batch).update(
        state=judgement.state,
        why=judgement.why,
        limit=judgement.limit,
        series_number=series.number if series else len(judgement.past_series),
        series_state=series.state if series else "broken",
        series_started=series.started.latest if series and series.started else None,
        moves=series.moves if series else 0,
        moves_needed=series.moves_needed if series else 0,
        earliest_end=judgement.earliest_end,
        earliest_end_if_kept=judgement.earliest_end_if_kept,
        observation_ends=watched.ends_at if watched and watched.state == "running" else None,
        chain=chain_of(judgement),
        stale=False,
        fresh_until=fresh,
    )


def _ends(judgement: Judgement) -> None:
    """Times of stays as they are known now: corrections and late reports widen them."""
    rows = {row.uid: row for row in StayRow.objects.filter(batch=judgement.batch)}
    for stay in judgement.stays:
        row = rows.get(stay.uid)
        if row is None:
            continue
        since = stay.taken_over or stay.began
        began = (since.earliest, since.latest)
        ended = (stay.ended.earliest, stay.ended.latest) if stay.ended else (None, None)
        was = (row.began_earliest, row.began_latest, row.ended_earliest, row.ended_latest)
        if was != (*began, *ended) and bool(row.ended_latest) == bool(ended[1]):
            row.began_earliest, row.began_latest = began
            row.ended_earliest, row.ended_latest = ended
            row.save()


def _reliances(batch: UUID, subjects: Mapping[UUID, datetime | None]) -> None:
    kept = dict(Reliance.objects.filter(batch=batch).values_list("subject", "until"))
    changed = [uid for uid in kept if uid not in subjects or kept[uid] != subjects[uid]]
    if changed:
        Reliance.objects.filter(batch=batch, subject__in=changed).delete()
    new = sorted(uid for uid in subjects if uid not in kept or uid in changed)
    Reliance.objects.bulk_create(
        Reliance(batch_id=batch, subject=uid, until=subjects[uid]) for uid in new
    )


def _deviations(site: UUID, judgement: Judgement) -> list[DeviationRow]:
    kept = {(row.rule, row.cause): row for row in _rows(judgement.batch)}
    going_on = judgement.open_stay.uid if judgement.open_stay else None
    changed = []
    for one in judgement.deviations:
        row = kept.pop((one.rule, one.cause), None)
        wanted = _wanted(site, one, goes_on=one.cause == going_on)
        if row is None:
            changed.append(
                DeviationRow.objects.create(
                    uid=deviation_uid(one.batch, one.rule, one.cause), **wanted
                )
            )
        elif any(getattr(row, name) != value for name, value in wanted.items()):
            for name, value in wanted.items():
                setattr(row, name, value)
            row.save()
            changed.append(row)
    # What no longer follows from the facts was never the case: its row goes, the facts stay.
    DeviationRow.objects.filter(uid__in=[row.uid for row in kept.values()]).delete()
    return changed


def _rows(batch: UUID) -> list[DeviationRow]:
    return list(DeviationRow.objects.filter(batch=batch))


def _wanted(site: UUID, one: Deviation, *, goes_on: bool) -> dict[str, Any]:
    """The row's columns. What grows with the clock while a stay goes on is not kept."""
    numbers = without_growing(one.numbers) if goes_on else one.numbers
    return {
        "site_id": site,
        "batch_id": one.batch,
        "rule": one.rule,
        "cause": one.cause,
        "effect": str(one.effect),
        "at": one.at,
        "numbers": plain_numbers(numbers),
        "by": one.by,
        "decided": str(one.decided) if one.decided else None,
        "decided_by": one.decided_by,
        "open": one.is_open,
    }


def plain_numbers(numbers: Any) -> dict[str, Any]:
    """Numbers as they are kept and compared: whole, or text, or lists of such."""
    return {name: _plain(value) for name, value in numbers.items()}


def _plain(value: Any) -> Any:
    if isinstance(value, list | tuple):
        return [_plain(one) for one in value]
    return value if isinstance(value, int | str | bool | None) else str(value)
