"""Numbers of certificates, how many they may be for, and what may follow what."""

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from protocols.certificate_states import CertificateState
from protocols.certifying import Certifiable
from protocols.issuing import (
    STEPS,
    bad_news,
    list_entries,
    may_follow,
    may_issue,
    number_text,
    read_number,
    worth_now,
)
from protocols.values import Reason

NOON = datetime(2027, 3, 8, 12, 0, tzinfo=UTC)
HELD = Reason("held", "held", "On hold.")
DOUBT = Reason("instrument_in_doubt", "instrument_in_doubt", blocks=False)


@given(st.integers(0, 2_000_000))
def test_half_of_the_places_of_a_list_stay_free(certificates):
    entries = list_entries(certificates)

    assert entries >= max(2 * certificates, 131_072)
    assert entries % 8 == 0


def test_a_list_grows_by_doubling():
    assert (list_entries(0), list_entries(65_536), list_entries(65_537)) == (
        131_072,
        131_072,
        262_144,
    )


def found(*reasons, count=21):
    return Certifiable(NOON, count, reasons)


@given(st.integers(1, 9999), st.integers(0, 999_999_999))
def test_a_number_is_read_as_it_was_written(year, counter):
    assert read_number(number_text(year, counter)) == (year, counter)


def test_a_number_has_four_figures_at_least():
    assert number_text(2027, 41) == "C-2027-0041"
    assert number_text(2027, 12345) == "C-2027-12345"


@pytest.mark.parametrize("text", ["", "C-2027-41", "c-2027-0041", "C-2027-00041", "C-27-0041"])
def test_nothing_else_is_a_number(text):
    with pytest.raises(ValueError, match="no number of a certificate"):
        read_number(text)


@pytest.mark.parametrize("count", [1, 21])
def test_up_to_all_may_be_certified_in_spite_of_warnings(count):
    assert may_issue(count, found(DOUBT)) == ()


def test_more_than_there_are_may_not_be_certified():
    (reason,) = may_issue(22, found())

    assert (reason.code, reason.pointer) == ("too_few_alive", "/count")
    assert reason.numbers == {"could_be": 21, "entered": 22}


def test_a_refusal_tells_everything_at_once_warnings_too():
    reasons = may_issue(22, found(HELD, DOUBT))

    assert [one.code for one in reasons] == ["too_few_alive", "held", "instrument_in_doubt"]


@pytest.mark.parametrize(
    ("step", "state", "allowed"),
    [
        ("certificate_suspended", "valid", True),
        ("certificate_suspended", "partly", True),
        ("certificate_suspended", "suspended", False),
        ("certificate_lifted", "suspended", True),
        ("certificate_lifted", "valid", False),
        ("certificate_superseded", "suspended", True),
        ("certificate_superseded", "revoked", False),
        ("certificate_revoked", "ended", True),
        ("certificate_revoked", "superseded", False),
        ("certificate_ended", "partly", True),
        ("certificate_ended", "ended", False),
    ],
)
def test_what_may_follow_what(step, state, allowed):
    assert (may_follow(step, state) == ()) is allowed


@pytest.mark.parametrize("step", STEPS)
def test_nothing_follows_a_revocation(step):
    (reason,) = may_follow(step, "revoked")

    assert (reason.code, reason.numbers) == ("contradicts_record", {"state": "revoked"})


def test_a_hold_is_bad_news():
    assert bad_news(found(HELD, DOUBT)) == (HELD,)


@pytest.mark.parametrize(
    "reason",
    [
        Reason("unaccounted", "unaccounted"),
        Reason("already_certified", "already_certified"),
        Reason("batch_closed", "batch_closed"),
        Reason("deviation_open", "count_differs"),
    ],
)
def test_that_there_are_fewer_is_no_bad_news(reason):
    assert bad_news(found(reason)) == ()


@pytest.mark.parametrize(
    ("state", "worth"),
    [
        ("valid", "suspended"),
        ("partly", "suspended"),
        ("suspended", "suspended"),
        ("ended", "ended"),
        ("superseded", "superseded"),
        ("revoked", "revoked"),
    ],
)
def test_bad_news_suspends_what_stands(state, worth):
    told = CertificateState(state, 12, 11, NOON)

    assert worth_now(told, [HELD]) == CertificateState(worth, 12, 11, NOON)


def test_without_bad_news_it_is_worth_what_was_told():
    told = CertificateState("partly", 8, 8, NOON)

    assert worth_now(told, []) == told
