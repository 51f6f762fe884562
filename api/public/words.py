"""Sentences about a certificate that stand on the page and on paper alike."""

from collections.abc import Iterable

from django.utils.translation import gettext as _

from api.language import spoken


def next_steps() -> tuple[str, ...]:
    """What whoever takes the animals over does first."""
    return (
        _("Match your water to theirs, slowly: temperature and salinity first."),
        _("Do not pour water from the bag into your system."),
        _(
            "Quarantine them again before they meet other animals: "
            "on the way to you nobody watched."
        ),
        _("If they look ill, ask a veterinarian, and tell the seller."),
    )


def old_paper() -> str:
    return _(
        "This paper tells what was true then. Scan the code, or open the address, "
        "for what is true today."
    )


def as_of() -> str:
    """With places for `{at}` and `{since}`."""
    return _("As of {at}. Last change {since}.")


def covers(addresses: Iterable[str]) -> str:
    """Before the list of what is not covered."""
    return _(
        "The protocol is against: {addresses}. It is not against, and says nothing of:"
    ).format(addresses=", ".join(spoken(one) for one in addresses))
