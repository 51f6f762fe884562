"""Slips of work: what, where, by when, with what, how, and what it means to do it now."""

from collections.abc import Iterable
from datetime import datetime, timedelta

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from api.language import local_text
from api.pages.amounts import on_a_slip
from api.pages.chain import dark_of
from api.pages.doing_now import if_done_now
from api.pages.parts import Action, Night, PageLink, Slip, SlipGroup
from api.pages.pictures import strip_ends
from api.pages.shell import Here, new_key
from api.pages.slip_steps import steps_shown
from protocols.slip_amounts import NO_BLEACH
from protocols.tasks import What
from protocols.walks import Band, Walk, walks
from stock.queries.shift import Due
from stock.queries.work_words import task_text, what_text

SECOND = timedelta(seconds=1)
# So many slips are told in full on a shift, the most urgent ones; nobody reads more at once.
WHOLE = 40
BANDS = {
    Band.DANGER: gettext_lazy("Before anything else"),
    Band.OVER: gettext_lazy("Over the limit"),
    Band.OVER_PAPER: gettext_lazy("Over the limit"),
    Band.HOUR: gettext_lazy("Within an hour"),
    Band.FOUR_HOURS: gettext_lazy("Within 4 hours"),
    Band.HALF_DAY: gettext_lazy("Within 12 hours"),
    Band.DAY: gettext_lazy("Within a day"),
    Band.LATER: gettext_lazy("Later than a day from now"),
    Band.NO_LIMIT: gettext_lazy("Without a limit"),
}


def groups(found: Iterable[Due], at: Here) -> list[SlipGroup]:
    """Animals in danger first, then what is over, then by time left and by place.

    A move past its limit stands above papers that are late for longer.
    """
    found = list(found)
    by_heading: dict[str, list[Slip]] = {}
    key, whole = new_key(), 0
    for walk in walks(found, Due.to_walk, at.now):
        slips = by_heading.setdefault(_heading(walk), [])
        for n in walk.items:
            made = slip if whole < WHOLE else short_slip
            slips.append(made(found[n], at, key=f"{key}-{n}", named=not walk.room))
            whole += 1
    return [SlipGroup(heading, tuple(slips)) for heading, slips in by_heading.items()]


def _heading(walk: Walk) -> str:
    band = str(BANDS[walk.band])
    if walk.rack:
        place = _("Rack %(rack)s, %(room)s") % {"rack": walk.rack, "room": walk.room}
        return f"{band}. {place}"
    return f"{band}. {walk.room}" if walk.room else band


def short_slip(one: Due, at: Here, *, key: str, named: bool) -> Slip:
    """What a long shift says of work further down: where and when, and the way to the rest."""
    work = one.work
    return Slip(
        what=what_text(work),
        where=_where(one, named=named),
        href=_href(one, at),
        left_s=None if work.limit is None else (work.limit - at.now) // SECOND,
        due=_due(work.planned, work.limit, at),
        taken_by=one.taken_name,
        whole=reverse("slip", args=[one.uid]),
        action=_action(one, at, key) if at.works else None,
        more=_hand_back(one, at),
    )


def slip(one: Due, at: Here, *, key: str, named: bool) -> Slip:
    """One slip; `named` says the rack and room too, where no heading does."""
    work = one.work
    return Slip(
        what=what_text(work),
        where=_where(one, named=named),
        href=_href(one, at),
        left_s=None if work.limit is None else (work.limit - at.now) // SECOND,
        due=_due(work.planned, work.limit, at),
        remark=_remark(one, at),
        taken_by=one.taken_name,
        back_at=one.back_at,
        if_now=if_done_now(one, at),
        facts=_facts(one),
        steps=steps_shown(work.what),
        nights=_night(one, at) if work.what is What.MOVE else None,
        action=_action(one, at, key) if at.works else None,
        more=_hand_back(one, at),
    )


def _where(one: Due, *, named: bool) -> str:
    place = one.place
    parts = [place.container or place.room, one.stay.code if one.stay else ""]
    if named and place.container:
        if place.rack:
            parts.append(_("rack %(rack)s") % {"rack": place.rack})
        parts.append(place.room)
    return ", ".join(part for part in parts if part) or one.kit or _("the whole site")


def _facts(one: Due) -> tuple[tuple[str, str], ...]:
    """What a move is to get: asked for once, not worked out at the rack."""
    if one.work.what not in (What.MOVE, What.PREPARE, What.CALL_OUT):
        return ()
    said = ((_("Into"), one.target), (_("With kit"), one.kit))
    return tuple((name, value) for name, value in said if value)


def _remark(one: Due, at: Here) -> str:
    """Why, and what is short; how much it takes."""
    rest = task_text(one.work, at.zone).removesuffix(".").split(". ")[1:]
    if one.amount is not None:
        rest.append(on_a_slip(at.units, one.amount))
    elif one.work.what is What.DISINFECT:
        rest.append(NO_BLEACH)
    return ". ".join(f"{part[0].upper()}{part[1:]}" for part in rest)


def _due(planned: datetime | None, limit: datetime | None, at: Here) -> str:
    if planned == limit:
        planned = None
    said = ((_("planned %(at)s"), planned), (_("limit %(at)s"), limit))
    return ", ".join(text % {"at": local_text(one, at.zone)} for text, one in said if one)


def _night(one: Due, at: Here) -> Night | None:
    stay, limit = one.stay, one.work.limit
    if stay is None:
        return None
    now = max(at.now, stay.began)
    dark = dark_of(stay.light, stay.began, strip_ends(stay.began, limit, now), at)
    return Night(stay.began, limit, now, dark, planned=one.work.planned)


# Where each kind of work is done; the batch's page where nothing nearer is known.
def _href(one: Due, at: Here) -> str:
    work, site = one.work, at.site.uid
    if one.question is not None:
        return reverse("question", args=[one.question])
    if work.what is What.MOVE and work.batch and at.works:
        return reverse("move", args=[work.batch])
    subject = work.kit or work.container
    if work.what in TREATED and subject and at.works:
        return f"{reverse(TREATED[work.what], args=[site])}?subject={subject}"
    if work.what in READ and work.container and at.works:
        return reverse("read-water", args=[work.container])
    if work.what is What.ROUND and at.works:
        return f"{reverse('make-round', args=[site])}?room={work.room}"
    if work.batch:
        return reverse("batch", args=[work.batch])
    if work.container:
        return reverse("container", args=[work.container])
    return reverse(OTHERWISE.get(work.what, "room"), args=[site])


TREATED = {What.DISINFECT: "disinfect", What.SEE_DRY: "see-dry"}
READ = (What.WATER_TEST, What.READING)
OTHERWISE = {What.PREPARE_CLAIM: "unpacking", What.DECIDE: "questions"}


def _action(one: Due, at: Here, key: str) -> Action | None:
    """Take it, or say that it is done where no report would say so."""
    if at.person.uid in one.work.not_by:
        return None
    if one.taken_by is None:
        return Action(_("I do it"), reverse("take", args=[one.uid]), key, quiet=True)
    if one.taken_by == at.person.uid and one.by_hand:
        return Action(_("It is done"), reverse("complete", args=[one.uid]), key, quiet=True)
    return None


def _hand_back(one: Due, at: Here) -> PageLink | None:
    mine = one.taken_by == at.person.uid
    if one.taken_by is None or not (mine or at.manages):
        return None
    return PageLink(_("Hand it back"), reverse("hand-back", args=[one.uid]))
