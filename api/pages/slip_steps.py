"""How each kind of work is done: the steps on its slip, and the cautions beside them."""

from collections.abc import Mapping
from functools import cache

from django.template.loader import render_to_string
from django.utils.safestring import SafeString
from django.utils.translation import get_language
from django.utils.translation import gettext_lazy as _

from api.pages import cautions
from protocols.tasks import What

Steps = tuple[object, ...]
STEPS: Mapping[What, Steps] = {
    What.MOVE: (
        _("Take a ready container and a ready kit. Its water matches, and was read just now."),
        _("Feed them before they are counted out."),
        _("Count them out without looking at a number, carry them, count them in."),
        _("Search the old container and everything hollow in it."),
        _("Everything that touched the old water goes to the dirty side."),
    ),
    What.PREPARE: (
        _("Take the container and the kit that the slip names, both seen dry and kept dry."),
        _("Fill it from one make of water. Heater in, power last."),
        _("Wait until the heater holds, then read salinity and temperature."),
    ),
    What.WATER_TEST: (
        _("Take the water from the middle of the container, with a clean cup of its own."),
        _("Test ammonia first. Type what the instrument shows, not what it should show."),
    ),
    What.READING: (
        _("Read with an instrument that is in check, and wait until it stands still."),
        _("Type what it shows."),
    ),
    What.ROUND: (
        _("Walk from clean to dirty, the sick last. Look at every container of the room."),
        _("Everybody seen, did they eat, lid, heater, air, water level."),
        _("Only what is not as it should be is written down."),
    ),
    What.SEARCH: (
        _("Look under the lid, around the container and on the floor."),
        _("Empty everything hollow over a bowl: shelters, tubes, the elbow of the air line."),
        _("Do not drain or disinfect before that."),
    ),
    What.CLOSE_LOOK: (
        _("Look with a torch, from the side, at every animal: skin, fins, eyes, breathing."),
        _("Say what you see, also if it is nothing."),
    ),
    What.FIX_LID: (
        _("Close every gap that an animal fits through, also around hoses and cables."),
        _("Put the lid on before the light goes off."),
    ),
    What.DISINFECT: (
        _("Clean off dirt first, and drain all fish water."),
        _("Fill with the bleach that the slip says, measure its strength, keep the time."),
        _("Rinse or neutralise, drain, and set it up open so that it dries."),
    ),
    What.SEE_DRY: (
        _("Look where water stays longest: tubes, air stones, hollow elbows, under the rim."),
        _("Touch it with dry paper. Only what is dry is told as dry."),
    ),
    What.CONFIRM_LATE: (_("Say only what you saw yourself, or know from whom you ask."),),
    What.DECIDE: (_("Read both accounts and what each answer would do, then decide."),),
    What.REVIEW_MATCH: (_("Compare both waters as they were read. Say what it means."),),
    What.PREPARE_CLAIM: (
        _("Photograph every dead animal in its bag before the bag is opened."),
        _("Count what is short. Send it before the deadline, which runs from the delivery."),
    ),
    What.CALL_OUT: (
        _("Ask somebody to come in, and write down who and when."),
        _("Container, kit and water are ready before they come."),
    ),
    What.REVIEW_STOCKING: (_("Look at the readings of the series, then split them or not."),),
}
WET = (What.MOVE, What.WATER_TEST, What.SEARCH, What.FIX_LID, What.CLOSE_LOOK, What.ROUND)


def cautions_of(what: What) -> tuple[str, ...]:
    """What can hurt people or animals in this work."""
    if what is What.DISINFECT:
        return cautions.treating()
    if what is What.PREPARE:
        return cautions.mixing()
    return cautions.handling() if what in WET else ()


def steps_shown(what: What) -> SafeString:
    """The part of a slip that is the same for every work of a kind; made once for each."""
    return _shown(what, get_language() or "")


@cache
def _shown(what: What, language: str) -> SafeString:
    context = {"steps": STEPS.get(what, ()), "cautions": cautions_of(what)}
    return render_to_string("parts/slip_steps.html", context)
