"""The forms about webhooks. What is typed as an address is never shown again."""

from django import forms

from api.language import later
from api.pages.fields import One, Several, WallTime, Words
from api.pages.set_up_forms import SetUp
from api.pages.webhook_words import EVENTS
from protocols.addresses import LENGTH_MOST


class WebhookForm(SetUp):
    """Which program, where it listens, and what it is told."""

    # The name of the field is also that of an attribute of every form field.
    label = Words(most=40, label=later("What you call the other program"))
    address = forms.CharField(
        max_length=LENGTH_MOST,
        label=later("Where it listens"),
        help_text=later(
            "Such as https://example.org/events. It is kept sealed and not shown again."
        ),
        widget=forms.PasswordInput(attrs={"autocomplete": "off", "spellcheck": "false"}),
    )
    kinds = Several(EVENTS, initial=[name for name, _words in EVENTS], label=later("Of what?"))


class ChangeForm(SetUp):
    kinds = Several(EVENTS, label=later("Of what?"))
    address = forms.CharField(
        required=False,
        max_length=LENGTH_MOST,
        label=later("Where it listens from now on"),
        help_text=later("Left empty: where it listens now."),
        widget=forms.PasswordInput(attrs={"autocomplete": "off", "spellcheck": "false"}),
    )


class SecretForm(SetUp):
    hours = One(
        (
            ("24", later("for 24 hours: the other program changes over meanwhile")),
            ("168", later("for 7 days")),
            ("0", later("not at all: it may be known to others")),
        ),
        initial="24",
        label=later("How long is the secret before good as well?"),
    )


class SinceForm(SetUp):
    since = WallTime(label=later("Everything since when?"))
