"""May it be certified, with every reason at once; what a certificate is worth now."""

import pytest

from protocols.certificate_states import CertifiedPart, Issued, certificate_state
from protocols.certifying import OpenQuestions, SilentDevice, certifiable
from protocols.judged import Placing, Readiness, State
from protocols.order import happenings
from protocols.ruled import Reason, RulesHistory
from tests.protocols.story import BATCH, BEN, MAX, Story, container, hour, stay, tell, uid

DONE = 288 + 336
FINE = Readiness(State.READY)
NOTHING = OpenQuestions()


def story_of_23():
    """A series of 291 h without a fault, watched for 14 days."""
    story = Story()
    story.placed(count=23, counts=[23])
    for number, hours in enumerate((72, 144, 216, 288)):
        story.read(number, *((hours - 72 + six, "26.0") for six in range(0, 73, 12)))
        story.moved(hours, counts=[23])
    return story


def check(story, hours=DONE, *, certified=0, questions=NOTHING, documents=(), devices=()):
    judgement = story.judged(hours)
    return certifiable(judgement, certified, questions, documents, devices, at=judgement.at)


def said(found):
    return [(one.code, one.blocks) for one in found.reasons]


def test_a_series_and_an_observation_without_a_fault_may_be_certified():
    found = check(story_of_23())

    assert (found.may_be_issued, found.count, found.reasons) == (True, 23, ())


@pytest.mark.parametrize(("seconds", "may_be_issued"), [(-1, False), (0, True), (3600, True)])
def test_not_before_the_observation_is_over(seconds, may_be_issued):
    story = story_of_23()

    assert check(story, DONE + seconds / 3600).may_be_issued is may_be_issued


def test_a_running_observation_says_how_long_it_runs():
    (found,) = check(story_of_23(), DONE - 10).reasons

    assert (found.code, found.cleared_by) == ("observation_running", "time")
    assert found.numbers["left_s"] == 36000


def refused():
    """A net shared in the series, one animal unaccounted, an instrument in doubt."""
    story = story_of_23()
    body = {"from": uid("other batch"), "to": BATCH, "way": "tool", "thing": uid("net")}
    story.add("net shared", "contact_seen", hour(40), doer=BEN, **body)
    story.add(
        "missing", "missing_recorded", hour(300), batch=BATCH, count=1, container=container(4)
    )
    doubt = Reason("instrument_failed", "instrument_in_doubt", numbers={"side": "target"})
    story.place(2, Placing(FINE, FINE, (doubt,)))
    return story


def test_every_reason_is_said_at_once_what_blocks_first():
    found = check(refused(), DONE + 1 / 12)

    assert said(found) == [
        ("unaccounted", True),
        ("deviation_open", True),
        ("instrument_in_doubt", False),
    ]
    assert not found.may_be_issued


def test_each_reason_says_what_clears_it_by_which_task_and_who_may():
    found = check(refused(), DONE + 1 / 12)

    assert [(one.task, one.who) for one in found.reasons] == [
        ("search", ("keeper", "manager")),
        ("decide", ("manager",)),
        ("review_match", ("manager",)),
    ]
    assert [one.rule for one in found.reasons][1] == "contact_tool"
    assert all(one.cleared_by for one in found.reasons)


def test_decided_and_found_only_the_warning_is_left():
    story = refused()
    contact = story.facts[-2]
    story.decided(DONE - 5, "contact_tool", contact.uid, "keep", doer=MAX)
    story.add(
        "found",
        "found_again",
        hour(DONE - 4),
        of=story.facts[-2].uid,
        count=1,
        container=container(4),
        alive=True,
    )

    found = check(story)

    assert found.may_be_issued
    assert said(found) == [("instrument_in_doubt", False)]


def test_who_brought_a_question_about_cannot_clear_it_alone():
    story = refused()
    story.decided(DONE - 5, "contact_tool", story.facts[-2].uid, "keep", doer=BEN)

    assert ("deviation_open", True) in said(check(story))


def test_asking_during_the_moves_says_what_is_missing():
    story = Story()
    story.placed()

    (found,) = check(story, 10).reasons

    assert (found.code, found.task) == ("series_not_complete", "move")
    assert found.numbers == {
        "moves": 0,
        "moves_needed": 4,
        "elapsed_s": 36000,
        "needed_s": 288 * 3600,
    }


def test_a_sign_is_looked_at_by_a_second_person():
    story = story_of_23()
    story.signed(400)

    (found,) = check(story, 410).reasons

    assert (found.rule, found.task, found.blocks) == ("sign_seen", "close_look", True)


def test_holds_restrictions_parked_reports_and_documents_block():
    story = story_of_23()
    story.add("hold", "hold_placed", hour(600), batch=BATCH, why="vet comes", doer=MAX)
    questions = OpenQuestions(parked=(uid("report"),), restrictions=("movement ban",))

    found = check(story, questions=questions, documents=("origin of line 3",))

    assert said(found) == [
        ("held", True),
        ("restricted", True),
        ("parked", True),
        ("document_missing", True),
    ]


def test_doubted_readings_and_silent_tablets_warn():
    questions = OpenQuestions(doubted=(uid("reading"),))
    tablet = SilentDevice(uid("tablet"), "Tablet 3", hour(DONE - 5))

    found = check(story_of_23(), questions=questions, devices=(tablet,))

    assert said(found) == [
        ("instrument_in_doubt", False),
        ("entries_on_silent_device", False),
    ]
    assert found.may_be_issued
    assert "silent for 5:00" in found.reasons[1].text


def test_of_a_closed_batch_nothing_is_certified():
    story = story_of_23()
    story.lost(300, 23)

    assert said(check(story)) == [("batch_closed", True)]


@pytest.mark.parametrize(("certified", "count", "found"), [(20, 3, []), (23, 0, [True])])
def test_nobody_is_certified_twice(certified, count, found):
    answer = check(story_of_23(), certified=certified)

    assert answer.count == count
    assert said(answer) == [("already_certified", True) for _ in found]


@pytest.mark.parametrize(
    ("last", "missing", "count"), [(23, 0, 23), (22, 0, 22), (22, 1, 22), (24, 0, 23)]
)
def test_whom_nobody_counted_is_not_certified(last, missing, count):
    story = story_of_23()
    story.moved(300, counts=[last], missing=missing)

    assert check(story).count == count


def test_whom_the_next_count_finds_is_certified_again():
    story = story_of_23()
    story.moved(300, counts=[22])
    story.moved(310, counts=[23])

    assert check(story).count == 23


def test_a_question_about_a_stay_that_is_over_is_cleared_by_a_move():
    story = Story()
    story.placed()

    found = check(story, 80)

    assert said(found) == [("series_not_complete", True), ("deviation_open", True)]
    assert (found.reasons[1].rule, found.reasons[1].task) == ("stay_over", "move")
    assert found.reasons[1].numbers["cause"] == str(stay(0))


# -- certificates ---------------------------------------------------------------------------

ISSUED = Issued(uid("certificate"), 12, hour(0))


def told(*kinds_hours_bodies):
    facts = [
        tell(f"{kind} {hours}", kind, hour(hours), certificate=uid("certificate"), **body)
        for kind, hours, body in kinds_hours_bodies
    ]
    return happenings(facts, at=hour(1000), rules=RulesHistory())


@pytest.mark.parametrize(
    ("later", "state", "count", "since"),
    [
        ([], "valid", 12, 0),
        ([("certificate_suspended", 5, {})], "suspended", 12, 5),
        ([("certificate_suspended", 5, {}), ("certificate_lifted", 6, {})], "valid", 12, 6),
        ([("certificate_ended", 5, {"count": 4})], "partly", 8, 5),
        ([("certificate_ended", 5, {"count": 12})], "ended", 0, 5),
        ([("certificate_ended", 5, {})], "ended", 0, 5),
        ([("certificate_ended", 5, {"count": 13})], "ended", 0, 5),
        ([("certificate_revoked", 5, {})], "revoked", 12, 5),
        ([("certificate_superseded", 5, {})], "superseded", 12, 5),
        ([("certificate_revoked", 5, {}), ("certificate_lifted", 6, {})], "revoked", 12, 5),
        (
            [("certificate_superseded", 5, {}), ("certificate_revoked", 6, {})],
            "revoked",
            12,
            6,
        ),
        (
            [("certificate_ended", 5, {"count": 4}), ("certificate_suspended", 6, {})],
            "suspended",
            8,
            6,
        ),
    ],
)
def test_later_news_say_what_a_certificate_is_worth(later, state, count, since):
    found = certificate_state(ISSUED, [CertifiedPart(BATCH, 12, 12)], told(*later))

    assert (found.state, found.count, found.since) == (state, count, hour(since))


def test_a_death_stands_beside_the_certificate_not_in_it():
    found = certificate_state(ISSUED, [CertifiedPart(BATCH, 12, 11)], ())

    assert (found.state, found.count, found.alive) == ("valid", 12, 11)


def test_the_certified_may_live_in_several_batches():
    parts = [CertifiedPart(BATCH, 8, 20), CertifiedPart(uid("other"), 4, 3)]

    assert certificate_state(ISSUED, parts, ()).alive == 11
