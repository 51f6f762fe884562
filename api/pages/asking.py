"""From a posted form to the question a door is asked, and from its refusal back to the form."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.http import HttpRequest, QueryDict
from django.utils.translation import gettext as _

from api.language import later, local_text, spoken
from api.pages.entries import Entry, entry_of
from api.pages.fields import Amount, Rows, WallTime, Words
from api.pages.objections import objections
from api.pages.own_water import in_own_units
from api.pages.paper_line import fill_in, named_by
from api.pages.parts import Objection
from api.pages.pointers import field_of, is_objection
from api.pages.pressed import key_of, question_of
from api.pages.shell import Here, new_key
from api.pages.words import plain
from protocols.clocks import Never, Twice, Unreadable, resolve_local
from protocols.values import Insist, Standing
from stock import clock
from stock.answers import Answered
from stock.doors.door import Asking
from stock.refusals import Refused

STANDINGS = (
    ("asked", later("I ask whether it may be done")),
    ("happened", later("It has been done")),
    ("emergency", later("It had to be done at once, for the animals")),
)
EITHER = (("0", later("the first")), ("1", later("the second")))
REPEATED = later(
    "This form was recorded before. Press again only if this is to be recorded too."
)


class Told(forms.Form):
    """A form whose post is recorded. The fields below may all be left alone."""

    ABOUT: tuple[str, ...] = (
        "when",
        "when_which",
        "reason",
        "standing",
        "set_aside",
        "why_aside",
        "note",
    )
    WITHOUT: tuple[str, ...] = ()

    when = WallTime(
        required=False,
        label=later("When it happened"),
        help_text=later("Leave it empty for: just now."),
    )
    reason = Words(required=False, label=later("Why it is told only now"))
    standing = Rows(
        STANDINGS, required=False, initial="asked", label=later("How does it stand?")
    )
    set_aside = forms.MultipleChoiceField(
        required=False,
        widget=forms.CheckboxSelectMultiple,
        label=later("Set aside, with a reason"),
    )
    why_aside = Words(required=False, label=later("Why this is set aside"))
    note = Words(required=False, most=4000, lines=True, label=later("Note"))

    def __init__(self, *args: Any, at: Here, **options: Any) -> None:
        super().__init__(*args, **options)
        self.at = at
        self.key = self.data.get("request_key") or new_key()
        self.objections: list[Objection] = []
        self.moments: dict[str, datetime] = {}
        self._twice: set[str] = set()
        for name in self.WITHOUT:
            del self.fields[name]
        for field in self.fields.values():
            if isinstance(field, Amount):
                field.prefer(at.units)
        for name in self._wall_times():
            zone = at.now.astimezone(at.zone).tzname()
            help_text = self.fields[name].help_text
            self.fields[name].help_text = (
                _("{help_text} By the clocks here, {zone}.")
                .format(help_text=help_text, zone=zone)
                .strip()
            )
            self.fields[f"{name}_which"] = Rows(
                EITHER, required=False, label=_("Which of the two?")
            )
            if self.data.get(f"{name}_which"):
                self._ask_which(name, _read(self.data.get(name, ""), at.zone, ""))
        if at.paper is not None:
            fill_in(self, at.paper)
        self.order_fields([one for name in self.fields for one in (name, f"{name}_which")])
        self._choose("set_aside", ((one, plain(one)) for one in self._typed("set_aside")))

    @property
    def moment(self) -> datetime | None:
        """When it happened, if that was typed."""
        return self.moments.get("when")

    def main(self) -> list[forms.BoundField]:
        """The fields of the job itself."""
        names = (name for name in self.fields if name not in self.ABOUT)
        return [self[name] for name in names if self._in_use(name)]

    def about(self) -> list[forms.BoundField]:
        """Fields about the report: when, how it stands, a note. Only those in use."""
        return [self[name] for name in self.ABOUT if self._in_use(name)]

    @property
    def more(self) -> str:
        """What stands over the fields about the report."""
        earlier = "when" in self.fields and "when" in self.ABOUT
        if "standing" in self.fields:
            first = _("It was earlier, it") if earlier else _("It")
            return _("{first} is done already, or there is more to say").format(first=first)
        if earlier:
            return _("It was earlier, or there is more to say")
        return _("There is more to say")

    @property
    def opened(self) -> bool:
        """Whether the fields about the report are to be seen at once."""
        return bool(self.objections or self.at.paper) or any(
            self.errors.get(name) or self.data.get(name)
            for name in self.ABOUT
            if name != "standing" and name in self.fields
        )

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        for name in self._wall_times():
            if text := given.get(name):
                self._settle(name, str(text), str(given.get(f"{name}_which") or ""))
        if given.get("set_aside") and not given.get("why_aside"):
            self.add_error("why_aside", _("Say why."))
        return given

    def _wall_times(self) -> list[str]:
        return [name for name, field in self.fields.items() if isinstance(field, WallTime)]

    def _settle(self, name: str, text: str, which: str) -> None:
        """Which moment a typed time means; what came twice or never is asked back."""
        zone = self.at.zone
        found = _read(text, zone, which)
        if found is None:
            self.add_error(name, _("Type a date and a time, such as 2027-01-05 09:00."))
        elif isinstance(found, Twice):
            self._ask_which(name, found)
            self.add_error(
                f"{name}_which", _("The clocks were put back: this time came twice.")
            )
        elif isinstance(found, Never):
            earlier, later = (local_text(one, zone) for one in (found.earlier, found.later))
            said = _(
                "The clocks were put forward: this time never came. {earlier} or {later}?"
            ).format(earlier=earlier, later=later)
            self.add_error(name, said)
        else:
            self.moments[name] = found

    def _typed(self, name: str) -> list[str]:
        return self.data.getlist(name) if isinstance(self.data, QueryDict) else []

    def _ask_which(self, name: str, found: object) -> None:
        if isinstance(found, Twice):
            shown = (local_text(one, self.at.zone) for one in (found.earlier, found.later))
            self._choose(f"{name}_which", zip("01", shown, strict=True))
            self._twice.add(f"{name}_which")

    def _choose(self, name: str, choices: Iterable[Any]) -> None:
        field = self.fields.get(name)
        if isinstance(field, forms.ChoiceField):
            field.choices = list(choices)

    def _in_use(self, name: str) -> bool:
        """Whether it is to be seen: a choice among nothing is not."""
        field = self.fields.get(name)
        if field is None or (name.endswith("_which") and name not in self._twice):
            return False
        if name == "why_aside":
            return self._in_use("set_aside")
        return not isinstance(field, forms.ChoiceField) or bool(field.choices)

    # -- What a door answered -----------------------------------------------------------------

    def refused(self, refused: Refused, names: Mapping[str, str]) -> None:
        """Put each reason beside its field; where there is none, among the objections."""
        if any(one.code == "key_reused" for one in refused.reasons):
            if self.at.paper is not None:
                self.add_error(None, self.at.paper.already)
                return
            self.key = new_key()
            self.add_error(None, REPEATED)
            return
        reasons = [in_own_units(one, self.at.units) for one in refused.reasons]
        for one in reasons:
            name = field_of(one, names)
            if name in self.fields:
                self.add_error(name, spoken(one.text) or plain(one.code))
        rest = [one for one in reasons if is_objection(one, names, self.fields)]
        self.objections = objections(rest)
        allowed = [one for one in reasons if self.at.may(one.may_insist)]
        self._choose("set_aside", ((one.rule, spoken(one.text)) for one in allowed))


def send(
    request: HttpRequest,
    form: Told,
    door: Callable[[Asking], Answered],
    names: Mapping[str, str] | None = None,
) -> Answered | None:
    """Ask the door what the valid form says; None where the form now says what is wrong.

    `names` leads from a member that the door points to, to the field it was typed in.
    """
    entry = entry_of(request)
    if entry is not None:
        entry.form = form
    if not form.is_valid():
        return None
    if form.at.paper is not None and form.at.paper.typed is not None:
        form.add_error(None, form.at.paper.already)
        return None
    try:
        answered = door(asking(request, form.at, form.cleaned_data, form.moment))
    except Refused as refused:
        if entry is not None:
            entry.refused = refused
        form.refused(refused, names or {})
        return None
    if entry is not None:
        entry.answered = answered
    return answered


def asking(
    request: HttpRequest,
    at: Here,
    given: Mapping[str, Any] | None = None,
    moment: datetime | None = None,
) -> Asking:
    """Who asks, when it happened and how it stands, as the form says it."""
    said = given or {}
    performed = moment or at.now
    offset = performed.astimezone(at.zone).utcoffset()
    why = str(said.get("why_aside") or "")
    asked = Asking(
        person=at.person,
        key=key_of(request),
        question=question_of(request),
        now=at.now,
        performed_at=performed,
        offset_min=int(offset.total_seconds()) // 60 if offset else 0,
        standing=Standing(said.get("standing") or "asked"),
        insist=tuple(Insist(rule, why) for rule in said.get("set_aside") or ()),
        reason=said.get("reason") or None,
        note=said.get("note") or None,
    )
    if at.paper is not None:
        asked = named_by(asked, at.paper)
    entry = entry_of(request)
    return asked if entry is None else _as_entry(asked, entry, at)


def _as_entry(asked: Asking, entry: Entry, at: Here) -> Asking:
    """What a tablet tells happened, there and then, by its doer's hands."""
    entry.asked = True
    asked_only = asked.standing is Standing.ASKED
    return replace(
        asked,
        now=clock.now(at.site.uid),
        standing=Standing.HAPPENED if asked_only else asked.standing,
        doer=None if entry.doer.uid == at.person.uid else entry.doer.uid,
        device=entry.device,
        asker=entry.doer.uid,
    )


def _read(text: str, zone: ZoneInfo, which: str) -> datetime | Twice | Never | None:
    """What a wall time means here; None for a text that is no time."""
    try:
        return resolve_local(text, zone, int(which) if which in ("0", "1") else None)
    except Unreadable:
        return None
