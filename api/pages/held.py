"""What tablets still hold, said where people begin their work."""

from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from api.language import local_text
from api.pages.shell import Here
from stock.doors.devices import TRIES
from stock.queries.devices import Holding, holdings


@dataclass(frozen=True, slots=True)
class Held:
    """One sentence about a tablet; `failed` so often that somebody has to go there."""

    text: str
    failed: bool


def held(at: Here) -> tuple[Held, ...]:
    """One sentence for each tablet that holds entries. Three queries at most."""
    return tuple(_held(one, at) for one in holdings(at.site.uid))


def _held(one: Holding, at: Here) -> Held:
    said = {
        "tablet": one.label,
        "n": one.unsent,
        "since": local_text(one.since or one.known_since, at.zone),
    }
    text = ngettext(
        "%(tablet)s holds %(n)s entry since %(since)s.",
        "%(tablet)s holds %(n)s entries since %(since)s.",
        one.unsent,
    )
    if one.looks:
        text += " " + ngettext(
            "%(looks)s of them needs somebody to look at it there.",
            "%(looks)s of them need somebody to look at them there.",
            one.looks,
        )
    failed = one.tries >= TRIES
    if failed:
        text += " " + _("It was tried %(tries)s times.")
    return Held(text % {**said, "looks": one.looks, "tries": one.tries}, failed)
