"""What a task asks for, in words."""

from zoneinfo import ZoneInfo

from protocols.clocks import elapsed_text, local_text
from protocols.said import capital, joined
from protocols.said import said as sentence
from protocols.tasks import What, Work
from stock.queries.alarm_words import alarm_said, is_alarm

WHAT = {
    What.MOVE: "Move all animals into a ready container",
    What.PREPARE: "Prepare container, kit and water for the move",
    What.WATER_TEST: "Test the water",
    What.READING: "Read again",
    What.ROUND: "Look at every container of the room",
    What.SEARCH: "Search the old container and everything hollow in it",
    What.CLOSE_LOOK: "Look closely",
    What.FIX_LID: "Fix the lid before the light goes off",
    What.DISINFECT: "Clean and disinfect",
    What.SEE_DRY: "See whether it is dry",
    What.CONFIRM_LATE: "Confirm what was told late: a second person",
    What.DECIDE: "Decide",
    What.REVIEW_MATCH: "Review the water at the move",
    What.PREPARE_CLAIM: "Prepare the claim",
    What.CALL_OUT: "Arrange for somebody to come in",
    What.REVIEW_STOCKING: "Are they too many for this container?",
}
WHY = {
    "limit_outside_staffed_hours": "Limit outside staffed hours",
    "waiting": "Nothing counts until the next clean placement",
    "not_searched": "Not before the search is made",
    "late_unconfirmed": "It counts once somebody else says so",
    "losses": "More animals were lost than the site watches for",
    "sign_seen": "A sign was seen",
    "jumped": "An animal had jumped out",
    "stocking": "Ammonia reached the alarm twice in one series",
    "reading_missing": "A reading was missing at the move",
    "presumed_lost": "Missing for so long: are they lost?",
    "dead_on_arrival": "Animals were dead on arrival",
    "short": "Fewer came than were listed",
    "unaccounted": "Animals were not found",
}


def what_text(work: Work) -> str:
    """The task itself, and where it is for a second person."""
    if is_alarm(work):
        return "Ammonia alarm: read free ammonia"
    by_another = work.what is What.CLOSE_LOOK and work.why == "sign_seen"
    return (
        sentence("{what}: a second person", what=WHAT[work.what])
        if by_another
        else WHAT[work.what]
    )


def task_text(work: Work, zone: ZoneInfo) -> str:
    """What is to be done and why, with local times where nobody is there."""
    said = [what_text(work)]
    if is_alarm(work):
        said += alarm_said(work.numbers, zone)
    elif work.why in WHY:
        said.append(WHY[work.why])
    elif work.what in (What.DECIDE, What.REVIEW_MATCH, What.READING):
        said.append(work.why.replace("_", " "))
    if work.no_slot_between is not None:
        gap = work.no_slot_between
        begins, ends = local_text(gap.start, zone), local_text(gap.end, zone)
        said.append(
            sentence(
                "no staffed slot between {begins} and {ends}: one call-out needed",
                begins=begins,
                ends=ends,
            )
        )
    if early := work.numbers.get("early_s"):
        span = work.limit - work.planned if work.limit and work.planned else None
        if early and span:
            said.append(sentence("planned {span} before the limit", span=elapsed_text(span)))
    if short := work.numbers.get("short"):
        said.append(sentence("no {listed} will be ready", listed=joined(" and no ", short)))
    return joined(". ", (capital(one) for one in said)) + "."
