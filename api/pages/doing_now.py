"""What it would mean to do a piece of work now, in words."""

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from api.language import local_text
from api.pages.shell import Here
from protocols.clocks import elapsed_text
from protocols.doing_now import IfNow
from protocols.tasks import What
from stock.queries.shift import Due


def if_done_now(one: Due, at: Here) -> str:
    """One or two sentences; empty where doing it now is simply doing it."""
    work = one.work
    if work.what is What.MOVE:
        return _of_move(one, at)
    if work.what is What.PREPARE:
        return _("Done now, the water has to be read again just before the move.")
    if work.what is What.SEE_DRY:
        return _("The hours of drying begin when it is seen dry, not before.")
    return ""


def _of_move(one: Due, at: Here) -> str:
    work, found = one.work, one.if_now
    if work.limit is not None and at.now > work.limit:
        return _("It is over: whenever it is done now, the series begins again with this move.")
    if work.why == "waiting":
        return _("Nothing counts yet: this placement is day 1, so the sooner the better.")
    if found is None:
        if work.limit is None:
            return ""
        return _("What an early move costs is not known while a question is open.")
    if found.completes:
        return _("Done now, it completes the series.")
    return f"{_costs(found)} {_ends(found, at)}"


def _costs(found: IfNow) -> str:
    early = elapsed_text(found.early)
    if found.more_moves <= 0:
        return _("Done now, %(early)s before the limit, it costs no move more.") % {
            "early": early
        }
    said = {"early": early, "moves": found.in_all, "n": found.more_moves}
    text = ngettext(
        "Done now, %(early)s before the limit, it costs one move more: %(moves)d in all, "
        "with a container and a kit more.",
        "Done now, %(early)s before the limit, it costs %(n)d moves more: %(moves)d in all, "
        "each with a container and a kit more.",
        found.more_moves,
    )
    if found.as_planned:
        return f"{text % said} {_('The planned time costs as much.')}"
    return str(text % said)


def _ends(found: IfNow, at: Here) -> str:
    return _("The series ends no earlier for it: not before %(end)s.") % {
        "end": local_text(found.earliest_end, at.zone)
    }
