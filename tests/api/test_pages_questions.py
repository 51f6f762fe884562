"""Questions, certificates to be, the shift and the record book."""

import pytest
from django.test import Client

from stock.models import Batch, Certificate, DeviationRow, Fact, Task
from tests.floor import Floor
from tests.visit import Visit, words

pytestmark = pytest.mark.django_db

PLACED = "2027-01-11T08:00:00+00:00"
LATE = "2027-01-14T09:20:00+00:00"
AFTER = "2027-01-14T10:00:00+00:00"


@pytest.fixture(scope="module")
def opened(kept_for_module):
    return Floor.open(
        Client(), "2027-01-11T07:00:00+00:00", zone="Europe/Lisbon", containers=2, kits=2
    )


@pytest.fixture
def batch(floor):
    return floor.place(16, "R1-01", "A-1", at=PLACED)


@pytest.fixture
def keeper(floor):
    return floor.walk.as_person("Kim", "keeper")


@pytest.fixture
def visit(floor, batch):
    return Visit.by(floor.walk.person, AFTER)


@pytest.fixture
def late(floor, batch, keeper):
    """A move 1:20 past its limit, told by a keeper; the question it opened."""
    floor.walk.token, mine = keeper.token, floor.walk.token
    floor.move(batch, "R1-02", "B-1", [16], at=LATE)
    floor.walk.token = mine
    return DeviationRow.objects.get(rule="stay_over").uid


# -- Questions ---------------------------------------------------------------------------------


def test_open_questions_are_listed_with_their_numbers(floor, visit, late):
    text = visit.read("questions", floor.walk.site)

    code = Batch.objects.get().code
    assert f"{code}: stay over its limit. stay 73:20, limit 72:00, 1:20 over" in text


def test_a_question_says_what_each_decision_would_do(visit, late):
    text = visit.read("question", late)

    assert "Keep: it counts as if the rule was kept, the series goes on." in text
    assert "Restart from this stay: its placement is day 1 of a new series." in text
    assert "Moved to R1-02 with kit B-1, counted 16" in text


def test_a_decision_to_keep_lets_the_old_series_go_on(visit, batch, late):
    known = visit.get("question", late).context["form"].initial["known"]

    answer = visit.press("question", late, decision="keep", why="Truck.", known=known)

    assert "Decided: keep." in visit.follow(answer)
    assert Batch.objects.get().series_number == 1
    assert Fact.objects.get(kind="deviation_decided").reason == "Truck."


def test_a_decision_needs_a_reason(visit, late):
    answer = visit.press("question", late, decision="keep", known="{}")

    assert "Write something." in words(answer)


def test_a_decision_on_other_numbers_is_refused(visit, late):
    known = '{"over_s": 1, "stay_s": 259201, "limit_s": 259200}'

    answer = visit.press("question", late, decision="keep", why="Truck.", known=known)

    assert answer.status_code == 409
    assert "The numbers have changed since you looked." in words(answer)


@pytest.mark.parametrize("known", ["", "[1]", "{", "null"])
def test_a_decision_on_nothing_readable_is_refused(visit, late, known):
    answer = visit.press("question", late, decision="keep", why="Truck.", known=known)

    assert answer.status_code == 409


def test_a_keeper_reads_a_question_and_decides_nothing(floor, keeper, late):
    visit = Visit.by(keeper.person, AFTER)

    assert "Decide it" not in visit.read("question", late)
    assert visit.press("question", late, decision="keep", why="Mine.").status_code == 403


def test_a_sign_is_confirmed_by_a_second_person_only(floor, batch, visit, keeper):
    one = Visit.by(keeper.person, AFTER)
    one.press("sign", batch, signs=["white_spots"], affected="2")
    asked = DeviationRow.objects.get(rule="sign_seen").uid

    own = one.press("confirm-question", asked)
    second = visit.press("confirm-question", asked)

    assert own.status_code == 403
    assert "Somebody else has to confirm this." in words(own)
    assert "A second person has confirmed it." in visit.follow(second)


def test_a_sign_that_was_none_is_withdrawn_with_a_reason(batch, visit, keeper):
    Visit.by(keeper.person, AFTER).press("sign", batch, signs=["white_spots"], affected="2")
    asked = DeviationRow.objects.get(rule="sign_seen").uid

    answer = visit.press("withdraw-question", asked, why="It was sand.")

    assert "Withdrawn." in visit.follow(answer)
    assert "Seen on 2: white spots corrected later" in visit.read("history", batch)


def test_what_each_answer_would_do_is_judged_and_shown(visit, late):
    text = visit.read("question", late)

    kept = "Keep 1, unbroken 1 Sat 23 Jan 2027 08:00 WET Sun 17 Jan 2027 09:20 WET 16"
    anew = "Restart 2, unbroken 0 Tue 26 Jan 2027 09:20 WET Sun 17 Jan 2027 09:20 WET 16"
    assert kept in text
    assert anew in text


def test_the_list_says_what_lapses_first_and_until_when(floor, visit, batch, keeper):
    floor.walk.token, mine = keeper.token, floor.walk.token
    dose = {"product": "dechlorinator", "amount": "5", "unit": "mL", "standing": "emergency"}
    floor.walk.at(LATE).post(f"containers/{floor.uids['R1-01']}/doses", dose)
    floor.walk.token = mine
    floor.walk.post(f"batches/{batch}/missing", {"count": 1})
    Visit.by(keeper.person, AFTER).press("sign", batch, signs=["white_spots"], affected="2")

    text = visit.read("questions", floor.walk.site)

    review = text.index("to be looked at by Thu 14 Jan 2027 21:20 WET, 11:20 left")
    second = text.index("I see the sign too")
    missing = text.index("1 not found in R1-01.")
    assert review < second < missing < text.index("stay over its limit")
    assert "presumed lost at the earliest Sat 16 Jan 2027 09:20 WET" in text


def test_a_late_entry_is_confirmed_in_the_list(floor, visit, batch, keeper):
    floor.walk.token, mine = keeper.token, floor.walk.token
    floor.read("R1-01", "R1-02", at="2027-01-13T09:00:00+00:00")
    floor.walk.at(AFTER)
    body = floor.move_body(batch, "R1-02", "B-1", [16])
    body |= {"performed_at": "2027-01-13T09:00:00+00:00", "reason": "Forgot the tablet."}
    floor.walk.post(f"batches/{batch}/moves", {**body, "standing": "happened"})
    floor.walk.token = mine
    row = DeviationRow.objects.get(rule="late_unconfirmed")

    told = visit.read("questions", floor.walk.site)
    after = visit.follow(visit.press("confirm-question", row.uid, back="questions"))

    assert "Waiting for a second person" in told
    assert "It was so" in told
    assert "told late" not in after


def test_a_forgotten_move_is_told_for_who_did_it_and_confirmed_by_a_third(
    floor, visit, batch, keeper
):
    told = {
        "when": "2027-01-13T09:00",
        "doer": keeper.person,
        "container": floor.uids["R1-02"],
        "kit": floor.uids["B-1"],
        "count": "16",
        "ended_stay": floor.batch(batch)["stay"]["uid"],
    }

    silent = visit.press("late-move", batch, **told)
    text = visit.follow(visit.press("late-move", batch, **told, reason="Forgot the tablet."))

    assert "Write something." in words(silent)
    assert "R1-02" in text
    assert "A second person confirms it." in text
    fact = Fact.objects.get(kind="batch_moved")
    assert (str(fact.doer), str(fact.messenger)) == (keeper.person, floor.walk.person)
    row = DeviationRow.objects.get(rule="late_unconfirmed").uid
    both = [visit, Visit.by(keeper.person, AFTER)]
    assert [one.press("confirm-question", row).status_code for one in both] == [403, 403]
    third = Visit.by(floor.walk.as_person("Eve", "keeper").person, AFTER)
    assert "A second person has confirmed it." in third.follow(
        third.press("confirm-question", row)
    )


@pytest.fixture
def twice(floor, batch, keeper):
    """One move told by two people, with other counts; the question it opened."""
    at = "2027-01-13T09:00:00+00:00"
    stay = floor.batch(batch)["stay"]["uid"]
    floor.move(batch, "R1-02", "B-1", [16], at=at)
    body = {"ended_stay": stay, "to_container": floor.uids["R1-02"], "counts": [15]}
    floor.walk.token, mine = keeper.token, floor.walk.token
    floor.walk.post(
        f"batches/{batch}/moves", {**body, "kit": floor.uids["B-1"], "standing": "happened"}
    )
    floor.walk.token = mine
    return DeviationRow.objects.get(rule="two_accounts").uid


def test_both_accounts_stand_side_by_side_and_say_where_they_differ(floor, visit, twice):
    for page in (("questions", floor.walk.site), ("question", twice)):
        text = visit.read(*page)

        assert "16 differs 0" in text
        assert "15 differs 0" in text
        assert "R1-02 B-1" in text


def test_who_told_neither_chooses_the_account_that_stands(floor, visit, batch, twice):
    boss = floor.walk.as_person("Eve", "manager")
    chosen = Fact.objects.get(kind="batch_moved", body__counts=[15])
    other = Visit.by(boss.person, AFTER)

    own = visit.press("choose-account", twice, accepted=str(chosen.uid), why="Mine.")
    silent = other.press("choose-account", twice, accepted=str(chosen.uid))
    text = other.follow(other.press("choose-account", twice, accepted=chosen.uid, why="Photo."))

    assert own.status_code == 409
    assert "You told one of these accounts" in words(own)
    assert "Write something." in words(silent)
    assert "The other account stays in the record book." in text
    assert "15" in text
    assert "As Kim says 1, unbroken 1" in words(silent)


def test_two_accounts_may_be_read_strictly_instead(floor, twice):
    other = Visit.by(floor.walk.as_person("Eve", "manager").person, AFTER)
    seen = other.get("question", twice)
    known = seen.context["form"].initial["known"]

    answer = other.press("question", twice, decision="restart", why="Nobody.", known=known)

    assert "counted 16 and 15" in words(seen)
    assert "Decided: restart." in other.follow(answer)


def test_a_report_that_does_not_fit_is_settled_on_its_page(floor, visit, batch, keeper):
    one = Visit.by(keeper.person, AFTER)
    one.press("loss", batch, count="20", fate="dead", cause="unknown", standing="happened")
    report = Fact.objects.get(kind="loss_recorded").uid

    listed = visit.read("questions", floor.walk.site)
    wrong = visit.press("settle", report, what="counts", batch_1=batch, count_1="3", why="-")
    form = visit.read("settle", report)
    done = visit.follow(visit.press("settle", report, what="void", why="Counted twice."))

    assert "20 dead, unknown." in listed
    assert "Settle it" in listed
    assert "20 were reported; the parts are 3." in words(wrong)
    assert "There are not so many left to take from." in form
    assert "Nothing is open." not in done
    assert "Settled. The report stays in the record book as it was told." in done


def test_a_keeper_finds_no_way_to_settle(floor, batch, keeper):
    one = Visit.by(keeper.person, AFTER)
    one.press("loss", batch, count="20", fate="dead", cause="unknown", standing="happened")
    report = Fact.objects.get(kind="loss_recorded").uid

    assert "Settle it" not in one.read("questions", floor.walk.site)
    assert one.press("settle", report, what="void", why="-").status_code == 403


def test_a_history_shows_old_and_new_value_who_corrected_it_and_why(
    floor, batch, visit, keeper
):
    placed = Fact.objects.get(kind="batch_placed").uid
    for field, new in (("/counts/0", 15), ("performed_at", "2027-01-11T09:30:00+00:00")):
        body = {"field": field, "new": new, "reason": "Misread the sheet."}
        keeper.at(AFTER).post(f"facts/{placed}/corrections", body)

    text = visit.read("history", batch)

    said = "By Kim, Thu 14 Jan 2027 10:00 WET: "
    assert f"{said}counts is 15, before 16. Misread the sheet." in text
    when = "when it happened is Mon 11 Jan 2027 09:30 WET, before Mon 11 Jan 2027 08:00 WET"
    assert f"{said}{when}. Misread the sheet." in text
    assert f"Corrected: {when}" in text


def test_nothing_open_is_said_in_words(floor, visit):
    assert "Nothing is open." in visit.read("questions", floor.walk.site)


# -- May it be certified? ----------------------------------------------------------------------


def test_every_reason_stands_at_once_and_who_clears_it(floor, visit, batch, late):
    visit.press("hold", batch, why="Wait.")

    text = visit.read("certificate-check", batch)

    assert "Not now." in text
    assert "The series is not complete." in text
    assert "Open question: stay over" in text
    assert "Wait." in text
    assert "a keeper or a manager clears it" in text
    assert "Issue the certificate" not in text


def test_the_list_says_what_is_known_against_each_batch(floor, visit, batch, late):
    text = visit.read("certifiable", floor.walk.site)

    assert f"{Batch.objects.get().code} R1-02 16 in its moves" in text
    assert "1 open question, not complete" in text


def test_a_certificate_is_refused_on_the_page_as_at_the_door(visit, batch):
    answer = visit.press("certificate-check", batch, count="16")

    assert answer.status_code == 409
    assert "The series is not complete." in words(answer)
    assert not Certificate.objects.exists()


def test_a_keeper_looks_and_does_not_issue(keeper, batch):
    visit = Visit.by(keeper.person, AFTER)

    assert visit.get("certificate-check", batch).status_code == 200
    assert visit.press("certificate-check", batch, count="16").status_code == 403


# -- The shift ---------------------------------------------------------------------------------


def test_the_shift_says_what_is_due_where_and_what_is_left(floor, visit, batch):
    visit.at = "2027-01-14T07:40:00+00:00"

    text = visit.read("shift", floor.walk.site)

    assert "0:20 left Move all animals into a ready container" in text
    assert f"R1-01, {Batch.objects.get().code}" in text
    assert "limit Thu 14 Jan 2027 08:00 WET" in text


def test_what_is_over_stands_under_its_own_heading(floor, visit, batch):
    text = visit.read("shift", floor.walk.site)

    assert "Over the limit 2:00 over Move all animals" in text


def test_a_task_is_taken_and_handed_back_with_a_reason(floor, visit, batch):
    task = Task.objects.get(what="move").uid

    taken = visit.follow(visit.press("take", task))
    silent = visit.press("hand-back", task, why="")
    back = visit.follow(visit.press("hand-back", task, why="Off to lunch."))

    assert "Taken by mara. Hand it back" in taken
    assert "Write something." in words(silent)
    assert "Somebody else may take it." in back
    assert Task.objects.get(what="move").taken_by is None


def test_a_task_of_somebody_else_is_not_taken_away(floor, visit, keeper, batch):
    task = Task.objects.get(what="move").uid
    Visit.by(keeper.person, AFTER).press("take", task)

    answer = visit.press("take", task)

    assert answer.status_code == 409
    assert "This is not possible now" in words(answer)


def test_a_move_is_not_finished_by_a_tick(visit, batch):
    task = Task.objects.get(what="move").uid
    visit.press("take", task)

    assert visit.press("complete", task).status_code == 409


def test_an_auditor_takes_nothing(floor, batch):
    visit = Visit.by(floor.walk.as_person("Otto", "auditor").person, AFTER)

    assert "I do it" not in visit.read("shift", floor.walk.site)
    assert visit.press("take", Task.objects.get(what="move").uid).status_code == 403


# -- The record book ---------------------------------------------------------------------------


def test_the_record_book_says_every_entry_newest_first(floor, visit, late):
    text = visit.read("record-book", floor.walk.site)

    assert text.index("Moved to R1-02 with kit B-1") < text.index("16 placed in R1-01")
    assert "Kim" in text


def test_the_record_book_is_turned_page_by_page(floor, visit, batch):
    text = visit.read("record-book", floor.walk.site, query="?before=2")

    assert "Room Hall set up or changed" in text
    assert "16 placed in R1-01" not in text
    assert "Newer" in text


@pytest.mark.parametrize("before", ["", "x", "-1", "9" * 40, "\u0663"])
def test_nonsense_turns_to_the_first_page(floor, visit, before):
    answer = visit.get("record-book", floor.walk.site, query=f"?before={before}")

    assert answer.status_code == 200
