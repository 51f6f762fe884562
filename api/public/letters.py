"""Letters to buyers: the first asks whether they want them, the others say what is true now."""

import logging
from datetime import datetime
from smtplib import SMTPException
from uuid import UUID

from django.conf import settings
from django.core.mail import EmailMessage, get_connection
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import override

from api.language import later
from protocols.notice_me import FINAL, next_try
from stock.doors.buyers import (
    claim_letter,
    forget_unconfirmed,
    letter_sent,
    remove_address,
)
from stock.queries.buyers import Letter, letters_due

log = logging.getLogger(__name__)

STATES = {
    "valid": later("It stands again, for as many animals as its page says."),
    "partly": later("It stands for some of its animals; for the others it ended."),
    "suspended": later("A question about it is open. Do not rely on it until that is settled."),
    "superseded": later("Another record took its place. Its page leads to the newer one."),
    "revoked": later("It was revoked and must not be relied on."),
    "ended": later("It has ended: the animals left the conditions under which it was made."),
}


def send_due(site: UUID, at: datetime) -> int:
    """Send what is due at a site, and forget whom nobody confirmed; how many were sent."""
    forget_unconfirmed(site, at)
    if not settings.MAIL:
        return 0
    return sum(_send(letter, at) for letter in list(letters_due(site, at)))


def _send(letter: Letter, at: datetime) -> bool:
    """Claim it, so that two processes never send it both, then send it outside."""
    row = letter.row
    again = next_try(row.tries + 1, at)
    if not claim_letter(row, again or at):
        return False
    try:
        _message(letter).send()
    except (OSError, SMTPException) as error:
        log.warning("A letter to a buyer could not be sent: %s", type(error).__name__)
        if again is None:
            remove_address(row)
        return False
    if letter.state in FINAL:
        remove_address(row)
        return True
    letter_sent(row, letter.seq, at)
    return True


def _message(letter: Letter) -> EmailMessage:
    """In the language in which it was asked for. No name, no reason, no animal is in it."""
    address = settings.ADDRESS
    page = f"{address}{reverse('certificate', args=[letter.code])}"
    link = f"{address}{reverse('notice', args=[letter.link])}"
    with override(letter.language):
        subject = _("About record {number}").format(number=letter.number)
        text = _first(page, link) if letter.state is None else _news(letter, page, link)
    headers = {
        "List-Unsubscribe": f"<{link}>",
        "List-Unsubscribe-Post": "List-Unsubscribe=One-Click",
        "Auto-Submitted": "auto-generated",
    }
    return EmailMessage(
        subject,
        text,
        settings.DEFAULT_FROM_EMAIL,
        [letter.address],
        connection=get_connection(**settings.MAIL),
        headers=headers,
    )


def _first(page: str, link: str) -> str:
    return _(
        "Somebody asked that this address be told when this record changes:\n{page}\n\n"
        "If that was you, open this link and press the button there:\n{link}\n\n"
        "If not, do nothing: the address is forgotten after 48 hours.\n"
    ).format(page=page, link=link)


def _news(letter: Letter, page: str, link: str) -> str:
    text = _("{said}\n\nWhat is true now stands here:\n{page}\n").format(
        said=STATES[letter.state or "suspended"], page=page
    )
    if letter.state in FINAL:
        return text + "\n" + _("This was the last letter; the address is forgotten now.\n")
    return text + "\n" + _("No more letters:\n{link}\n").format(link=link)
