"""Work that comes from what was seen, lost, told late or left open of a batch."""

from collections.abc import Iterator
from datetime import timedelta

from protocols.deadlines import lights_off_after, may_presume_lost, review_by
from protocols.tasks import AtSite, BatchWork, LidOff, Lost, Missing, What, Work, work_key
from protocols.values import Deviation, Effect, Rules
from protocols.work_alarms import alarm_work

REVIEWED = frozenset({"water_mismatch", "instrument_in_doubt", "chlorine_left"})


def question_work(batch: BatchWork, site: AtSite) -> Iterator[Work]:
    """Alarms, tests, readings, searches, looks, lids, confirmations, decisions, reviews."""
    if batch.alive > 0:
        yield from alarm_work(batch, site)
        yield from _water_test(batch, site.rules)
        yield from _readings(batch)
        yield from (_fix_lid(batch, lid, site) for lid in batch.lids)
        yield from _close_looks(batch)
    for missing in batch.missing:
        yield from _missing(batch, missing, site)
    for deviation in batch.deviations:
        if deviation.is_open:
            yield from _open_question(batch, deviation, site.rules)


def watched_loss(batch: BatchWork, rules: Rules) -> tuple[Lost, int, int] | None:
    """The first untested loss that was one too many; how many were lost then, of how many.

    Within the watch window, both ends included, as many animals as the site watches for, or
    such a part of those that lived when the window began.
    """
    losses = sorted(batch.losses, key=lambda loss: (loss.at, loss.uid))
    window = timedelta(seconds=rules.loss_watch_window_s)
    for number, loss in enumerate(losses):
        within = [one for one in losses[: number + 1] if one.at >= loss.at - window]
        lost = sum(one.count for one in within)
        later = losses[number + 1 :]
        lived = batch.alive + lost + sum(one.count for one in later)
        many = lost >= rules.loss_watch_count or lost >= rules.loss_watch_fraction * lived
        if many and (batch.tested_at is None or loss.at > batch.tested_at):
            return loss, lost, lived
    return None


def _water_test(batch: BatchWork, rules: Rules) -> Iterator[Work]:
    watched = watched_loss(batch, rules)
    if watched is None:
        return
    loss, lost, lived = watched
    yield Work(
        key=work_key(What.WATER_TEST, batch.batch, loss.uid),
        what=What.WATER_TEST,
        why="losses",
        first=True,
        batch=batch.batch,
        container=batch.container,
        numbers={"lost": lost, "lived": lived, "window_s": rules.loss_watch_window_s},
    )


def _readings(batch: BatchWork) -> Iterator[Work]:
    for wanted in batch.follow_ups:
        yield Work(
            key=work_key(What.READING, wanted.container, wanted.cause, wanted.quantity),
            what=What.READING,
            why=wanted.quantity,
            batch=batch.batch,
            container=wanted.container,
            planned=wanted.due,
        )


def _fix_lid(batch: BatchWork, lid: LidOff, site: AtSite) -> Work:
    """Before the light goes off: most jump in the dark."""
    return Work(
        key=work_key(What.FIX_LID, lid.container, lid.incident),
        what=What.FIX_LID,
        why="lid_off",
        first=True,
        batch=batch.batch,
        container=lid.container,
        limit=lights_off_after(lid.at, lid.light_off, site.zone) if lid.light_off else None,
    )


def _close_looks(batch: BatchWork) -> Iterator[Work]:
    for sign in batch.signs:
        yield Work(
            key=work_key(What.CLOSE_LOOK, batch.batch, sign.uid),
            what=What.CLOSE_LOOK,
            why="sign_seen",
            first=True,
            batch=batch.batch,
            container=batch.container,
            not_by=(sign.by,),
        )
    for look in batch.looks:
        yield Work(
            key=work_key(What.CLOSE_LOOK, batch.batch, look.incident, str(look.number)),
            what=What.CLOSE_LOOK,
            why="jumped",
            batch=batch.batch,
            container=batch.container,
            planned=look.due,
        )


def _missing(batch: BatchWork, missing: Missing, site: AtSite) -> Iterator[Work]:
    """A search; and once they were missing long enough, whether they are presumed lost."""
    if not missing.searched:
        yield Work(
            key=search_key(batch, missing),
            what=What.SEARCH,
            why="unaccounted",
            batch=batch.batch,
            container=missing.container,
            numbers={"count": missing.count},
        )
    if may_presume_lost(missing.at, site.rules, at=site.at):
        yield Work(
            key=work_key(What.DECIDE, batch.batch, "presumed_lost", missing.uid),
            what=What.DECIDE,
            why="presumed_lost",
            batch=batch.batch,
            container=missing.container,
            numbers={"count": missing.count},
        )


def search_key(batch: BatchWork, missing: Missing) -> str:
    return work_key(What.SEARCH, batch.batch, missing.uid)


def _open_question(batch: BatchWork, deviation: Deviation, rules: Rules) -> Iterator[Work]:
    what = _asked_of(batch, deviation)
    if what is None:
        return
    reviewed = deviation.rule == "emergency_review"
    yield Work(
        key=work_key(what, batch.batch, deviation.rule, deviation.cause),
        what=what,
        why=deviation.rule,
        batch=batch.batch,
        container=batch.container,
        limit=review_by(deviation.at, rules) if reviewed else None,
        numbers=deviation.numbers,
        not_by=(deviation.by,) if deviation.by else (),
    )


def _asked_of(batch: BatchWork, deviation: Deviation) -> What | None:
    """What an open question asks of people; None where it only warns, or breaks by rule."""
    if deviation.rule == "late_unconfirmed":
        return What.CONFIRM_LATE
    if deviation.rule in REVIEWED:
        return What.REVIEW_MATCH
    if deviation.rule == "reading_missing":
        measured = batch.measured_at is not None and batch.measured_at >= deviation.at
        return None if measured or batch.alive == 0 else What.WATER_TEST
    return What.DECIDE if deviation.effect is Effect.ASKS else None
