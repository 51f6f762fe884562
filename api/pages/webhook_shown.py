"""Webhooks and their deliveries as the pages show them."""

from collections.abc import Mapping
from typing import Any

from django.urls import reverse
from django.utils.html import format_html
from django.utils.translation import gettext as _

from api.pages.links import link, when
from api.pages.parts import Action, Table
from api.pages.shell import Here, new_key
from api.pages.webhook_words import DELIVERIES, EVENTS, STATES, came
from protocols.clocks import parse_utc
from stock.doors.webhooks import Webhook
from stock.queries.webhooks import Delivery, still_signing


def older_until(row: Webhook, at: Here) -> object:
    older = still_signing(row, at.now)
    return when(parse_utc(older[-1]["until"]), at.zone) if older else ""


def table_of(rows: list[Webhook], at: Here) -> Table:
    cells = [
        (
            link(one.label, "webhook", one.uid),
            one.host,
            STATES["not_taking" if _fails(one) else one.why or one.state],
            len(one.kinds),
            when(one.ended_at or one.failing_since, at.zone),
        )
        for one in rows
    ]
    columns = (_("Program"), _("Machine"), _("How it stands"), _("Events"), _("Since"))
    empty = _("No other program is told of anything here.")
    return Table(_("Programs that are told"), columns, cells, frozenset({3}), empty)


def _fails(row: Webhook) -> bool:
    return row.state == Webhook.ACTIVE and row.failing_since is not None


def delivery_of(
    one: Delivery, at: Here, codes: Mapping[str, str], *, active: bool
) -> dict[str, Any]:
    """One delivery with what each try was answered; `again` where it may be sent again."""
    batch = str(one.event.data.get("batch", ""))
    state: object = DELIVERIES[one.state]
    if one.state == one.WAITING and one.tries:
        words = _("not taken yet; tried again {when}")
        state = format_html(words, when=when(one.at, at.zone))
    again = None
    if active and not one.is_coming:
        again = post(_("Send it again"), "send-webhook-again", one.webhook_id, one.pk)
    return {
        "title": dict(EVENTS).get(one.event.kind, _("A test")),
        "batch": reverse("batch", args=[batch]) if batch in codes else "",
        "code": codes.get(batch, ""),
        "happened": when(one.event.happened_at, at.zone),
        "state": state,
        "answers": [
            {"at": when(parse_utc(said["at"]), at.zone), "says": came(said)}
            for said in one.answers
        ],
        "again": again,
    }


def post(text: str, name: str, *of: object) -> Action:
    return Action(text, reverse(name, args=of), new_key(), quiet=True)
