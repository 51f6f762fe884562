"""Calls in words: for the screen, and for what leaves the house.

Outside go only codes, places and times: no names of animals, suppliers or people.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from protocols.clocks import local_text, parse_utc
from protocols.tasks import What
from stock.models import Call
from stock.queries.calls import Told
from stock.queries.work_words import WHAT

LINES_MOST = 20


def title_of(kind: str, items: int) -> str:
    """What a call is, in a few words."""
    words = {
        "reminder": _("Coming up"),
        "escalation": _("The planned time has passed"),
        "overdue": _("The limit has passed"),
        "resolved": _("Resolved"),
        "ammonia_alarm": _("Ammonia alarm"),
        "probe_silent": _("A probe sends nothing"),
        "probe_stuck": _("A probe shows the same value again and again"),
        "device_silent": _("A tablet holds entries"),
        "erasable": _("Notes that need not be kept any more"),
        "room_closed": _("A room is closed for people"),
        "room_opened": _("A room is open again"),
        "webhook_ended": _("A webhook was ended: the other program did not take the events"),
    }
    title = words.get(kind, _("To know"))
    return _("%(title)s: %(n)d places") % {"title": title, "n": items} if items > 1 else title


def lines_of(items: Sequence[Told], zone: ZoneInfo) -> list[str]:
    """What each notice says, a line each."""
    return [_line(one, zone) for one in items]


def message_of(call: Call, items: Sequence[Told], zone: ZoneInfo) -> tuple[str, str]:
    """Title and text of a call as it is sent."""
    lines = lines_of(items[:LINES_MOST], zone)
    if len(items) > LINES_MOST:
        more = {"n": len(items) - LINES_MOST}
        lines.append(_("and %(n)d more; open the page Calls") % more)
    return title_of(call.kind, len(items)), "\n".join(lines)


def test_message() -> tuple[str, str]:
    """What is sent to find out whether an address works."""
    return _("A test"), _("Calls of Fillmark reach you here.")


def _line(one: Told, zone: ZoneInfo) -> str:
    return ". ".join(part for part in _parts(one, zone) if part)


def _parts(one: Told, zone: ZoneInfo) -> Iterator[str]:
    body = one.body
    what = body.get("what")
    if what in set(What):
        said = _(WHAT[What(what)])
        yield f"{one.place}: {said}" if one.place else said
    elif one.place or body.get("place"):
        yield str(one.place or body["place"])
    yield from _about(one.kind, body, zone)
    if one.kind == "resolved":
        yield _explained(body.get("explained_by"))
        return
    for name, words in (("planned", _("planned %(when)s")), ("limit", _("limit %(when)s"))):
        if body.get(name):
            yield words % {"when": local_text(parse_utc(body[name]), zone)}


def _about(kind: str, body: Mapping[str, Any], zone: ZoneInfo) -> Iterator[str]:
    """What only this sort of notice says."""
    if kind == "ammonia_alarm":
        yield _("NH3-N %(value)s mg/L, alarm %(alarm)s") % {
            "value": body["nh3_n_mg_l"],
            "alarm": body["alarm_mg_l"],
        }
    if body.get("probe_label"):
        yield _("probe %(probe)s, %(quantity)s") % {
            "probe": body["probe_label"],
            "quantity": str(body["quantity"]).replace("_", " "),
        }
    if body.get("since"):
        yield _("since %(when)s") % {"when": local_text(parse_utc(body["since"]), zone)}
    if body.get("until"):
        yield _("until %(when)s") % {"when": local_text(parse_utc(body["until"]), zone)}
    if body.get("says"):
        yield str(body["says"])


def _explained(by: str | None) -> str:
    if by == "sync":
        return _("it was done in time and sent later by a tablet")
    if by == "late_entry":
        return _("it was done in time and told later")
    return _("it has been done since")
