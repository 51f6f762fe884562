"""The forms in which a move is told: through its steps, late, and in an emergency."""

from collections.abc import Iterable
from datetime import timedelta
from typing import Any
from uuid import UUID

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from api.pages import choices
from api.pages.counting import Recounted
from api.pages.fields import Count, Figure, One, Rows, Several, Words
from protocols.kinds.batches import AROUND
from stock.doors.moves import MoveAsked
from stock.queries.choices import Choices

NO_KIT = "none"
AGO_MOST_S = 12 * 3600
People = Iterable[tuple[str, str]]

# What is different from plan often enough that nobody should have to type it.
REASONS = (
    ("late", gettext_lazy("It is late: nobody was free before.")),
    ("early", gettext_lazy("It is early: nobody is here at the time that was planned.")),
    (
        "kit",
        gettext_lazy("Another kit: the one that was planned is wet, broken or incomplete."),
    ),
    ("container", gettext_lazy("Another container: the one that was planned is not ready.")),
    ("reading", gettext_lazy("The readings are old: there was no instrument at hand.")),
)
EMERGENCIES = (
    ("temperature", gettext_lazy("The water is too cold or too hot: a heater failed.")),
    ("power", gettext_lazy("The power is off.")),
    ("leak", gettext_lazy("The container leaks or runs over.")),
    ("water", gettext_lazy("The water is bad: they gasp, or a test says so.")),
    ("hurt", gettext_lazy("They hurt each other, or something hurts them.")),
    ("other", gettext_lazy("Something else: write it below.")),
)


class MoveForm(Recounted):
    """The count is typed blind: what the record says stands nowhere on this page."""

    container = One(label=gettext_lazy("Into which container?"))
    kit = One(label=gettext_lazy("With which kit?"))
    missing = Count(
        least=0,
        required=False,
        label=gettext_lazy("How many are not found?"),
        help_text=gettext_lazy("Only those that were searched for. Not found is not dead."),
    )
    searched = forms.BooleanField(
        required=False,
        label=gettext_lazy("The old container and its hollow parts were searched"),
    )
    water_ml = Figure(
        unit="mL",
        min_value=0,
        required=False,
        label=gettext_lazy("How much of the old water came along?"),
        help_text=gettext_lazy("As little as can be. Leave it empty if nobody can say."),
    )
    beside = One(
        required=False,
        label=gettext_lazy("Who did it with you?"),
        help_text=gettext_lazy("Both are named, and neither confirms it alone."),
    )
    ended_stay = forms.UUIDField(widget=forms.HiddenInput)

    def __init__(
        self, *args: Any, equipment: Choices, people: People = (), **options: Any
    ) -> None:
        super().__init__(*args, **options)
        zone, now = self.at.zone, self.at.now
        self._choose("container", choices.equipment(equipment.containers, zone, now))
        kits = choices.equipment(equipment.kits, zone, now)
        self._choose("kit", [*kits, (NO_KIT, _("No kit goes with them"))])
        # Who delivers what another entered without network may be the one beside them.
        mine = "" if self.is_bound else str(self.at.person.uid)
        others = [one for one in people if one[0] != mine]
        self._choose("beside", [("", _("Nobody else")), *others] if others else [])
        self.order_fields(
            ["container", "kit", "count", "missing", "searched", "water_ml", "beside"]
        )

    def asked(self, batch: UUID) -> MoveAsked:
        given = self.cleaned_data
        return MoveAsked(
            batch=batch,
            ended_stay=given["ended_stay"],
            container=UUID(given["container"]),
            kit=None if given["kit"] == NO_KIT else UUID(given["kit"]),
            counts=self.counts(),
            missing=given["missing"] or 0,
            searched=given["searched"] or None,
            carried={"water_ml": given["water_ml"]} if given["water_ml"] else {},
            beside=(UUID(given["beside"]),) if given["beside"] else (),
            around=tuple(one for one in AROUND if given.get(one)),
        )


class StepsForm(MoveForm):
    """The whole way of a move: two counts, what was done around it, what was not as planned."""

    heater_steady = forms.BooleanField(
        required=False,
        label=gettext_lazy("Heater and air run in it, and the temperature holds"),
    )
    fed = forms.BooleanField(
        required=False, label=gettext_lazy("They were fed in the old water")
    )
    count_out = Count(
        least=0,
        required=False,
        label=gettext_lazy("How many do you count out?"),
        help_text=gettext_lazy("Leave it empty where they are counted only as they go in."),
    )
    lid_on = forms.BooleanField(required=False, label=gettext_lazy("The lid is on"))
    emptied = forms.BooleanField(
        required=False,
        label=gettext_lazy("It is empty, and its water is gone"),
    )
    pieces_to_dirty = forms.BooleanField(
        required=False, label=gettext_lazy("All pieces stand with what is dirty")
    )
    why = Several(
        REASONS,
        required=False,
        label=gettext_lazy("Is something not as it was planned?"),
    )
    # How long ago they were counted in, by the same clock that tells it now.
    ago_s = forms.IntegerField(
        required=False, min_value=0, max_value=AGO_MOST_S, widget=forms.HiddenInput
    )

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["count"].label = _("How many do you count in?")

    def before(self) -> tuple[int, ...]:
        out = self.cleaned_data.get("count_out")
        return super().before() if out is None else (*super().before(), out)

    def count_again(self) -> None:
        """What was counted out is among the counts before from now on."""
        before = self.data
        super().count_again()
        if self.data is not before and isinstance(self.data, QueryDict):
            self.data["count_out"] = ""

    def clean(self) -> dict[str, Any]:
        """What was chosen of the reasons says why it is late, and why a rule is set aside."""
        said = self.said()
        if said and not self.cleaned_data.get("reason"):
            self.cleaned_data["reason"] = said
        if said and not self.cleaned_data.get("why_aside"):
            self.cleaned_data["why_aside"] = said
        return super().clean()

    def said(self) -> str:
        texts = {key: str(text) for key, text in REASONS}
        return " ".join(texts[one] for one in self.cleaned_data.get("why") or ())

    @property
    def ago(self) -> timedelta:
        """How long before it is told they were in the new container; nothing where unsaid."""
        if self.moment is not None:
            return timedelta()
        return timedelta(seconds=self.cleaned_data.get("ago_s") or 0)


class LateMoveForm(MoveForm):
    """A move that was made and not told: when, by whom, and why it is told only now."""

    ABOUT = ("note",)
    WITHOUT = ("standing", "set_aside", "why_aside")

    doer = One(label=gettext_lazy("Who did it?"))

    def __init__(self, *args: Any, people: People, **options: Any) -> None:
        super().__init__(*args, people=people, **options)
        self.fields["beside"].label = _("Who did it with them?")
        self._choose("doer", [("", _("Choose one")), *people])
        self.fields["when"].label = _("When was it done?")
        for name in ("when", "reason"):
            self.fields[name].required = True
            self.fields[name].error_messages["required"] = _("Write something.")
        self.fields["when"].help_text = _("By the clocks here, %(zone)s.") % {
            "zone": self.at.now.astimezone(self.at.zone).tzname()
        }
        self.order_fields(["when", "when_which", "doer", "beside", "reason"])


class EmergencyForm(MoveForm):
    """What was done for the animals first: nothing but where they are now must be known."""

    ABOUT = ("when", "when_which", "note")
    WITHOUT = ("standing", "set_aside", "why_aside")

    what = Rows(EMERGENCIES, label=gettext_lazy("What is wrong?"))

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["container"].label = _("Where are they now?")
        self.fields["kit"].label = _("Which kit went with them?")
        self.fields["kit"].initial = NO_KIT
        self.fields["count"].required = False
        self.fields["count"].label = _("How many are in it?")
        self.fields["count"].help_text = _("Leave it empty if nobody had time to count.")
        self.fields["reason"] = Words(required=False, label=_("In your own words"))
        self.order_fields(
            ["container", "kit", "what", "reason", "count", "missing", "searched", "water_ml"]
        )

    def clean(self) -> dict[str, Any]:
        given = super().clean()
        words, what = given.get("reason") or "", given.get("what")
        if what == "other" and not words:
            self.add_error("reason", _("Write something."))
        elif what:
            texts = {key: str(text) for key, text in EMERGENCIES if key != "other"}
            given["reason"] = " ".join(one for one in (texts.get(what, ""), words) if one)
        return given

    def counts(self) -> tuple[int, ...]:
        """Nobody counts while animals wait; where they did, it is kept."""
        return tuple(one for one in super().counts() if one is not None)
