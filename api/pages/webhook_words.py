"""Webhooks in words: the events, how one stands, what a try was answered."""

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _

from api.language import later

# In the order in which they are chosen; the names are those that go out.
EVENTS = (
    ("certificate.issued", later("A certificate is issued")),
    ("certificate.suspended", later("A certificate is suspended")),
    ("certificate.lifted", later("A suspension is lifted")),
    ("certificate.superseded", later("A certificate is superseded")),
    ("certificate.revoked", later("A certificate is revoked")),
    ("certificate.ended", later("A certificate ends for some or all")),
    ("hold.placed", later("A hold is placed")),
    ("hold.lifted", later("A hold is lifted")),
    ("batch.dispatched", later("Animals are dispatched")),
    ("limit.near", later("A limit is near")),
    ("limit.passed", later("A limit has passed")),
)
# How a webhook stands, or why it was ended.
STATES = {
    "active": later("is told"),
    "not_taking": later("takes nothing; it is tried again"),
    "by_hand": later("ended by hand"),
    "gone": later("ended: it said that nobody listens there any more"),
    "failing": later("ended: it took nothing for three days"),
}
DELIVERIES = {
    "waiting": later("not taken yet"),
    "under_way": later("is being sent"),
    "taken": later("taken"),
    "failed": later("given up"),
    "ended": later("not sent: the webhook was ended"),
}


def came(answer: Mapping[str, Any]) -> str:
    """What one try was answered."""
    if answer["status"] is not None:
        return _("It answered {status}.").format(status=answer["status"])
    words = {
        "private": _("It leads into a private network."),
        "unknown_host": _("There is no machine of this name."),
        "no_connection": _("Nobody listens there."),
        "not_secure": _("Its certificate of HTTPS is not good."),
        "no_answer": _("It did not answer in time."),
        "unreadable_answer": _("Its answer cannot be read."),
        "sealed": _("Address and secret have to be given again."),
        "lost": _("Begun; nobody knows whether it arrived."),
    }
    return words.get(answer["why"], _("It could not be sent."))
