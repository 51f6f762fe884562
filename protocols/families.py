"""A batch and those it came from, judged in one pass: each its course, split and joined."""

from collections.abc import Iterator, Sequence
from copy import deepcopy
from dataclasses import replace
from uuid import UUID

from protocols.codes import join_of
from protocols.courses import Course, Given
from protocols.deviations import Questions
from protocols.headcount import Headcount
from protocols.joining import merged, restarts
from protocols.judged import Effect
from protocols.lineage import named_batches
from protocols.occurrences import OCCURRENCES, PLACEMENTS, review, touch
from protocols.stays import OpenStay
from protocols.told import Happening, History
from protocols.uids import as_uid

LINKING = frozenset({"batch_split", "batches_joined"})
BEGINNING = LINKING | PLACEMENTS.keys()


class Family:
    """The courses of one history, as far as the pass has come."""

    def __init__(self, history: History, given: Given) -> None:
        self._history, self._given = history, given
        self._decisions = [one for one in history.happenings if one.kind == "deviation_decided"]
        self._courses: dict[UUID, Course] = {}
        self._contacts: list[Happening] = []
        self._left: dict[UUID, Course] = {}  # as they were before a report missed some of them

    def told(self) -> Course:
        """The course of the batch itself, after everything that happened."""
        for one in _who_stood_alone(self._history.happenings):
            self._occur(one)
            self._look_again(one)
        return self._of(self._history.batch)

    def _look_again(self, one: Happening) -> None:
        """Who comes while a contact may still be going on is asked about it as well."""
        if one.kind == "contact_seen":
            self._contacts.append(one)
        elif one.kind in BEGINNING:
            for contact in self._contacts:
                if contact.when.latest >= one.when.earliest:
                    for course in self._concerned(contact):
                        touch(course, contact)

    def _occur(self, one: Happening) -> None:
        if one.kind == "batch_split":
            self._split(one)
        elif one.kind == "batches_joined":
            self._join(one)
        elif one.kind == "found_again" and as_uid(one.body["of"]) in self._left:
            self._find(one)
        else:
            self._simply(one)

    def _simply(self, one: Happening) -> None:
        occur = OCCURRENCES.get(one.kind)
        for course in self._concerned(one):
            if one.kind in ("missing_recorded", "batch_moved"):
                self._left[one.uid] = forked(course, course.batch)
            if occur is not None:
                occur(course, one)
            if one.is_emergency and one.kind not in PLACEMENTS:
                review(course, one)

    def _concerned(self, one: Happening) -> list[Course]:
        """The courses it is told of; of a place or a report, all that still go on."""
        family = self._history.family
        named = [uid for uid in named_batches(one) if uid in family]
        if one.kind not in PLACEMENTS and not named:
            self._of(self._history.batch)
            return [course for course in self._courses.values() if course.passed_on is None]
        return [self._of(uid) for uid in named]

    def _of(self, batch: UUID) -> Course:
        if batch not in self._courses:
            questions = Questions(batch, self._decisions)
            self._courses[batch] = Course(batch, self._given, questions)
        return self._courses[batch]

    def _split(self, one: Happening) -> None:
        """Each part goes on with the history of all; who is put elsewhere makes a move."""
        parent = self._of(as_uid(one.body["batch"]))
        if parent.open is None:
            parent.does_not_fit(one)
            return
        for part in one.body["parts"]:
            child = self._come_out(parent, as_uid(part["batch"]), part["count"])
            if part["stays_here"]:
                _go_on(child, as_uid(part["stay"]), one)
            else:
                child.end_stay(one.when, one)
                child.begin(replace(one, body=part), moves=True)
        parent.heads.take(one, sum(part["count"] for part in one.body["parts"]))
        parent.end_stay(one.when, one)
        parent.passed_on = one

    def _come_out(self, parent: Course, batch: UUID, count: int) -> Course:
        early = self._courses.get(batch)
        child = self._courses[batch] = forked(parent, batch)
        child.heads.came_in(early.heads if early else Headcount(), count)
        return child

    def _join(self, one: Happening) -> None:
        """All of them share the worst history, and the earliest limit."""
        members = [self._of(as_uid(uid)) for uid in one.body["members"]]
        if any(course.open is None for course in members):
            for course in members:
                course.does_not_fit(one)
            return
        came_in = {as_uid(uid) for uid in one.body["came_in"]}
        for course in members:
            if course.batch in came_in:
                course.end_stay(one.when, one)
        batch = as_uid(one.body["batch"])
        early = self._courses.get(batch)
        joined = self._courses[batch] = merged(members, one, self._decisions)
        for course in members:
            joined.heads.came_in(
                Headcount(uncounted=course.heads.uncounted), course.heads.alive
            )
            course.heads.take(one, course.heads.alive)
        joined.heads.came_in(early.heads if early else Headcount(), 0)
        self._end(members, joined, one)

    def _end(self, members: list[Course], joined: Course, one: Happening) -> None:
        """Whose series began before that of all together has lost it."""
        broken = [course for course in members if restarts(course.tally, joined.tally)]
        for course in members:
            if course.open is not None:
                course.end_stay(one.when, one)
            if course in broken:
                course.tally.break_off(self._given.protocol, one.when, "joined")
                joined.tally.past.append(course.tally.past[-1])
            course.passed_on = one
        if broken:
            numbers = {"restarted": len(broken)}
            at, doer = one.when.earliest, one.first.doer
            joined.questions.raise_(
                "joined_untreated", one.uid, at, numbers, doer, Effect.BROKE
            )

    def _find(self, one: Happening) -> None:
        """Found alive apart from the others: it goes on in the stay in which it was left."""
        left = self._left[as_uid(one.body["of"])]
        for course in self._concerned(one):
            OCCURRENCES[one.kind](course, one)
        apart = as_uid(one.body.get("batch", left.batch))
        if apart == left.batch or not one.body["alive"] or "stay" not in one.body:
            return
        child = self._come_out(left, apart, one.body["count"])
        _go_on(child, as_uid(one.body["stay"]), one)
        if child.open is not None:
            child.open.container = as_uid(one.body["container"])
            child.open.kit, child.open.taken_over = None, None


def _who_stood_alone(told: Sequence[Happening]) -> Iterator[Happening]:
    """Put in with others of whom it was told later that they had left: they joined nobody."""
    known = {one.uid for one in told}
    for one in told:
        if one.body.get("joins"):
            batch = as_uid(one.body["batch"])
            joins = {join_of(account.uid, batch) for account in one.accounts}
            yield one if joins & known else replace(one, body={**one.body, "joins": False})
        else:
            yield one


def forked(course: Course, batch: UUID) -> Course:
    """The same course, gone on by another batch whose animals are counted anew."""
    return replace(
        course,
        batch=batch,
        questions=course.questions.passed_on(batch),
        tally=deepcopy(course.tally),
        heads=Headcount(),
        stays=list(course.stays),
        open=None if course.open is None else replace(course.open),
        holds=dict(course.holds),
        signs=list(course.signs),
        relied_on=set(course.relied_on),
    )


def _go_on(course: Course, stay: UUID, by: Happening) -> None:
    """The stay goes on under another name: measured from when the animals came."""
    if course.open is not None:
        open_: OpenStay = course.open
        open_.uid, open_.batch, open_.taken_over = stay, course.batch, by.when
        course.relied_on.update((stay, open_.container))
