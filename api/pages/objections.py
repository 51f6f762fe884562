"""Reasons of rules as people read them, with ways on and who may clear them."""

from collections.abc import Iterable, Mapping
from uuid import UUID

from django.urls import NoReverseMatch, reverse
from django.utils.translation import gettext as _

from api.language import spoken
from api.pages.parts import Objection, Way
from api.pages.words import plain
from protocols.values import Alternative, Reason

# Where a kind of alternative has a page of its own.
PLACES = {"container": "container", "count": "container", "kit": "kit", "batch": "batch"}


def objection(reason: Reason, ways: Mapping[str, Way] | None = None) -> Objection:
    """One reason; its text says the numbers, so they are not said a second time.

    `ways` are the pages on which a task is done, by the code of the task.
    """
    task = reason.task
    return Objection(
        text=spoken(reason.text) or f"{plain(reason.code)}.".capitalize(),
        blocks=reason.blocks,
        instead=tuple(_way(one) for one in reason.instead if _said(one)),
        who=_who(reason),
        task=(ways or {}).get(task, Way(plain(task).capitalize())) if task else None,
    )


def objections(
    reasons: Iterable[Reason], ways: Mapping[str, Way] | None = None
) -> list[Objection]:
    return [objection(one, ways) for one in reasons]


def ways_on(batch: UUID, site: UUID) -> dict[str, Way]:
    """Where the tasks that clear something are done."""
    questions = reverse("questions", args=[site])
    return {
        "move": Way(_("Move them"), reverse("move", args=[batch])),
        "decide": Way(_("Decide it"), questions),
        "confirm_late": Way(_("Confirm it"), questions),
        "close_look": Way(_("A second person looks"), questions),
        "search": Way(_("Search for them"), reverse("batch", args=[batch])),
    }


def _way(one: Alternative) -> Way:
    return Way(_said(one), _address(PLACES.get(one.kind), one.uid))


def _said(one: Alternative) -> str:
    if one.begins is not None and one.kind != "container":
        return ""  # a span of time: the text of the reason says it in the site's own clock
    return one.label or plain(one.kind)


def _address(page: str | None, uid: UUID | None) -> str:
    if page is None or uid is None:
        return ""
    try:
        return reverse(page, args=[uid])
    except NoReverseMatch:
        return ""


def _who(reason: Reason) -> str:
    who = reason.who or reason.may_insist
    if not who:
        return ""
    said = _("{roles} clears it") if reason.who else _("{roles} may set it aside with a reason")
    return said.format(roles=_listed(who))


def _listed(roles: Iterable[str]) -> str:
    return _(" or ").join(_("a {role}").format(role=plain(role)) for role in roles)
