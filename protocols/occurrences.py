"""What happens to a batch between placements, and what it does to the working record."""

from collections.abc import Callable, Mapping
from uuid import UUID

from protocols.clocks import parse_utc
from protocols.courses import Course
from protocols.judged import Decision, Effect, Hold
from protocols.settling import SETTLED
from protocols.told import Happening, Standing, When
from protocols.uids import as_uid
from protocols.whereabouts import may_have_been

CONTACT_RULES: Mapping[str, str] = {"splash": "splash_seen"}


def count(course: Course, happening: Happening) -> None:
    course.ask_count(happening, course.heads.counted(happening, 0))


def lose(course: Course, happening: Happening) -> None:
    course.heads.lost(happening)


def miss(course: Course, happening: Happening) -> None:
    course.heads.missed(happening)


def find(course: Course, happening: Happening) -> None:
    if course.heads.knows(as_uid(happening.body["of"])):
        course.heads.found(happening, course.batch)


def presume(course: Course, happening: Happening) -> None:
    if course.heads.knows(as_uid(happening.body["of"])):
        course.heads.presumed(happening)


def bear(course: Course, happening: Happening) -> None:
    course.heads.born(happening)


def see_sign(course: Course, happening: Happening) -> None:
    """A sign stops an observation; once a second person saw it too, the series is broken."""
    doer, at = happening.first.doer, happening.when.earliest
    numbers = {"affected": happening.body["affected"]}
    asked = course.questions.raise_("sign_seen", happening.uid, at, numbers, doer)
    if happening.confirmed_by:
        course.questions.close("sign_seen", happening.uid)
        confirmed = course.questions.raise_("sign_confirmed", happening.uid, at, numbers, doer)
        _break_by_sign(course, happening, Effect.BROKE, confirmed)
    elif asked is Decision.RESTART:
        _break_by_sign(course, happening, Effect.BROKE, asked)
    elif asked is None:
        course.signs.append(happening)


def _break_by_sign(
    course: Course, happening: Happening, effect: Effect, decided: Decision | None
) -> None:
    course.tally.offend(
        course.given.protocol,
        effect,
        decided,
        happening.when,
        "sign",
        not_before=happening.confirmed_at,
    )


def touch(course: Course, happening: Happening) -> None:
    """Something touched this batch that touched another one before; not the other way.

    Asked once: an uncertain time is looked at again when another stay begins within it.
    """
    way = happening.body["way"]
    rule = CONTACT_RULES.get(way, "contact_tool")
    asked = course.questions.has_asked(rule, happening.uid)
    if not asked and _is_here(course, as_uid(happening.body["to"]), happening.when):
        numbers = {"way": way, "from": happening.body["from"]}
        course.ask(rule, happening.uid, happening, numbers)


def stand_near(course: Course, happening: Happening) -> None:
    """Suspected animals stood near: worth a look, and no more than that."""
    body = happening.body
    at = parse_utc(body["seen_at"])
    course.questions.raise_("proximity", happening.uid, at, body["numbers"])


def _is_here(course: Course, named: UUID, when: When) -> bool:
    """Whether it is the batch, one it came out of, or where it may have been at that time."""
    if named == course.batch or any(named == stay.batch for stay in course.stays):
        return True
    if course.open is not None and named in (course.open.container, course.open.kit):
        return may_have_been(when, course.open.began, None)
    return any(
        named in (stay.container, stay.kit) and may_have_been(when, stay.began, stay.ended)
        for stay in course.stays
    )


def fit(course: Course, happening: Happening) -> None:
    """A piece was put in while the batch was there; that it was ready must be known."""
    stay = course.open
    names = {happening.body.get("kit"), happening.body.get("container")} - {None}
    if stay is None or not {as_uid(name) for name in names} & {stay.kit, stay.container}:
        return
    placing = course.given.places.get(happening.uid)
    if placing is None or not placing.container.is_ready:
        numbers = {"piece": happening.body["piece"]}
        course.ask("heater_swapped", happening.uid, happening, numbers)


def give(course: Course, happening: Happening) -> None:
    """Something was given that its version refuses these animals, and nobody insisted on."""
    stay, found = course.open, course.given.places.get(happening.uid)
    if stay is None or found is None or as_uid(happening.body["container"]) != stay.container:
        return
    first = happening.first
    asked = first.standing is Standing.ASKED  # then whoever insisted had the right to
    insisted = {one.rule for one in first.insist if asked}
    against = [one for one in found.water if one.rule not in insisted]
    if against:
        numbers = {name: value for one in against for name, value in one.numbers.items()}
        why = {
            "why": sorted({one.code for one in against}),
            "product": happening.body["product"],
        }
        course.ask("dose_refused", happening.uid, happening, {**numbers, **why})


def hold(course: Course, happening: Happening) -> None:
    course.holds[happening.uid] = Hold(
        uid=happening.uid,
        at=happening.when.earliest,
        why=happening.body["why"],
        by=happening.first.doer,
    )


def lift(course: Course, happening: Happening) -> None:
    course.holds.pop(as_uid(happening.body["hold"]), None)


def settle(course: Course, happening: Happening) -> None:
    """A report that did not fit, as somebody settled it: so many of this batch are gone."""
    for part in happening.body["attribution"]:
        if as_uid(part["batch"]) == course.batch:
            course.heads.take(happening, part["count"])
            # It names other batches: what is said of it must reach this one as well.
            course.relied_on.add(happening.uid)


# What is done to a place or a kit: of an emergency it is asked for whoever stood there.
DONE_TO_PLACES = frozenset(
    {
        "filled",
        "water_changed",
        "topped_up",
        "fed",
        "dose_given",
        "disinfected",
        "emptied",
        "piece_fitted",
    }
)


def review(course: Course, happening: Happening) -> None:
    """What was done in an emergency is looked at by a manager afterwards.

    Of a placement it is asked where the placement is judged.
    """
    body = happening.body
    names = {str(body.get(name)) for name in ("batch", "container", "kit", "to")}
    names |= {str(uid) for uid in body.get("subjects", ())}
    here = {str(course.batch)}
    if course.open is not None:
        here |= {str(course.open.container), str(course.open.kit)}
    if names & (here - {"None"}):
        course.ask("emergency_review", happening.uid, happening)


Occurrence = Callable[[Course, Happening], None]
PLACEMENTS: Mapping[str, Occurrence] = {
    "batch_placed": Course.placed,
    "batch_moved": Course.moved,
}
OCCURRENCES: Mapping[str, Occurrence] = {
    **PLACEMENTS,
    "counted": count,
    "loss_recorded": lose,
    "missing_recorded": miss,
    "found_again": find,
    "presumed_lost": presume,
    "born_here": bear,
    "animals_dispatched": lose,
    "sign_seen": see_sign,
    "contact_seen": touch,
    "piece_fitted": fit,
    "dose_given": give,
    "hold_placed": hold,
    "hold_lifted": lift,
    # No kinds of facts: what does not fit the record, whatever it tells, until it is settled.
    "parked": Course.does_not_fit,
    SETTLED: settle,
    # Nor is this: a sign seen on others, as told to whoever stood near them.
    "stood_near": stand_near,
}
