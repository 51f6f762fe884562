"""The steps of a move in the order in which hands make them, each with its cautions and fields.

The page is one form whose sections these are; `steps.js` shows one after the other.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django import forms
from django.utils.translation import gettext as _

from api.pages import cautions
from api.pages.moving_forms import StepsForm

TARGET, FEED, OUT, CARRY, IN, SOURCE, DIRTY, RECORD = STEPS = (
    "target",
    "feed",
    "out",
    "carry",
    "in",
    "source",
    "dirty",
    "record",
)
FIELDS: dict[str, tuple[str, ...]] = {
    TARGET: ("container", "kit", "heater_steady"),
    FEED: ("fed",),
    OUT: ("count_out",),
    CARRY: ("water_ml",),
    IN: ("count", "lid_on"),
    SOURCE: ("searched", "missing", "emptied"),
    DIRTY: ("pieces_to_dirty",),
    RECORD: ("beside", "why"),
}


@dataclass(frozen=True, slots=True)
class Section:
    """One step: its name, what is done in it, what can hurt someone, what is asked."""

    name: str
    short: str
    title: str
    words: tuple[str, ...]
    cautions: tuple[str, ...]
    fields: tuple[forms.BoundField, ...]
    key: str
    wrong: bool = False

    @property
    def more_cautions(self) -> tuple[str, ...]:
        return self.cautions[1:]


def sections(
    form: StepsForm, *, source: str, pieces: Sequence[str], minded: Sequence[str]
) -> list[Section]:
    """All steps out of the container `source`, whose kit has these pieces."""
    titles, words = _titles(source), _words(source, pieces)
    care = _cautions(minded)
    shown = {one.name: one for one in form.main()}
    found = []
    for name in STEPS:
        fields = tuple(shown[one] for one in FIELDS[name] if one in shown)
        found.append(
            Section(
                name=name,
                short=_short()[name],
                title=titles[name],
                words=words[name],
                cautions=tuple(care.get(name, ())),
                fields=fields,
                key=_keys()[name],
                wrong=any(one.errors for one in fields),
            )
        )
    return found


def opened(found: Iterable[Section], form: StepsForm) -> str:
    """The step on which the page opens: where something is to be put right, else the last."""
    if not form.is_bound:
        return TARGET
    return next((one.name for one in found if one.wrong), RECORD)


def _short() -> dict[str, str]:
    return {
        TARGET: _("New container"),
        FEED: _("Feed"),
        OUT: _("Out"),
        CARRY: _("Over"),
        IN: _("In"),
        SOURCE: _("Old container"),
        DIRTY: _("Pieces"),
        RECORD: _("Record"),
    }


def _titles(source: str) -> dict[str, str]:
    return {
        TARGET: _("Prepare the new container"),
        FEED: _("Feed them, or leave it"),
        OUT: _("Count them out of %(container)s") % {"container": source},
        CARRY: _("Carry them over"),
        IN: _("Count them in"),
        SOURCE: _("Search and empty %(container)s") % {"container": source},
        DIRTY: _("Take the pieces away"),
        RECORD: _("Record it"),
    }


def _words(source: str, pieces: Sequence[str]) -> dict[str, tuple[str, ...]]:
    at = {"container": source}
    return {
        TARGET: (
            _("Filled with water that has been measured, kit in it, heater and air running."),
            _("Scan the label of the container and of its kit, or choose them."),
        ),
        FEED: (_("What they leave stays behind with the old water."),),
        OUT: (
            _("Cup by cup, each animal once. Who counts does not look up how many there were."),
        ),
        CARRY: (
            _("Drain each cup over %(container)s. No net, hand or sleeve into both waters.")
            % at,
        ),
        IN: (
            _("Each animal once, as it leaves the cup. Look into the cup, then close the lid."),
        ),
        SOURCE: (
            _("Shelters, pipes, filters, behind the heater, under the lid, the floor."),
            _("Whoever is not found is looked for before any water goes: do not drain it."),
        ),
        DIRTY: (
            _("Nothing of %(container)s goes back to what is clean: %(pieces)s.")
            % {**at, "pieces": ", ".join(pieces) or _("all that stood in it")},
            _("They are dirty in the record from the move on, by themselves."),
        ),
        RECORD: (_("The move counts from when they were counted in."),),
    }


def _cautions(minded: Sequence[str]) -> dict[str, tuple[str, ...]]:
    return {
        TARGET: cautions.of("Mains"),
        OUT: (*cautions.of("Mains", "Venomous", "Wear gloves"),),
        CARRY: tuple(minded),
        SOURCE: cautions.of("Mains", "A full", "Disinfect or"),
        DIRTY: cautions.of("Bleach"),
    }


def _keys() -> dict[str, str]:
    """What stands on the one large key of each step."""
    return {
        TARGET: _("It is prepared"),
        FEED: _("Go on"),
        OUT: _("They are counted out"),
        CARRY: _("They are there"),
        IN: _("They are counted in"),
        SOURCE: _("Nobody is in it"),
        DIRTY: _("They are away"),
        RECORD: _("Record the move"),
    }
