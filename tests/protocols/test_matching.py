"""Water of two containers: fresh readings, instruments in check, range and difference."""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest

from protocols.judged import Reading
from protocols.matching import (
    Check,
    Checked,
    MatchRule,
    Water,
    doubts_together,
    in_check,
    match,
)
from protocols.ruled import Rules
from protocols.versions import protocol
from tests.protocols.story import HOUR, SECOND, container, hour, uid

RULE = MatchRule.of(Rules(), protocol("transfer-288@1"))
NOW = hour(10)
WEEK = timedelta(days=7)


def reading(quantity, value, age=timedelta(0), check="good"):
    name = f"{quantity} {value} {age}"
    return Reading(
        uid(name), container(0), quantity, Decimal(value), NOW - age, uid("S-1"), check
    )


def water(salinity="33.0", temperature="26.0", **given):
    return Water(
        reading("salinity", salinity, **given), reading("temperature", temperature, **given)
    )


def against(source, target):
    return match(source, target, rule=RULE, at=NOW)


def codes(found):
    return [one.code for one in found]


def test_equal_water_that_was_just_read_matches():
    assert against(water(), water()) == ()


@pytest.mark.parametrize(
    ("target", "found"),
    [
        (water("34.4"), []),
        (water("31.6"), []),
        (water("34.41"), ["water_mismatch"]),
        (water("31.59"), ["water_mismatch"]),
        (water(temperature="27.0"), []),
        (water(temperature="25.0"), []),
        (water(temperature="27.1"), ["water_mismatch"]),
        (water(temperature="24.9"), ["water_mismatch"]),
        (water("34.5", "24.5"), ["water_mismatch", "water_mismatch"]),
    ],
)
def test_as_far_apart_as_allowed_is_allowed(target, found):
    assert codes(against(water(), target)) == found


@pytest.mark.parametrize(
    ("source", "target", "direction", "correction"),
    [
        ("28.0", "34.6", "target_higher", "lower_target"),
        ("34.6", "28.0", "target_lower", "raise_target"),
    ],
)
def test_a_mismatch_names_direction_numbers_and_correction(
    source, target, direction, correction
):
    (found,) = against(water(source), water(target))

    assert found.numbers == {
        "quantity": "salinity",
        "source": source,
        "target": target,
        "difference": "6.6",
        "allowed": "1.4",
        "direction": direction,
        "correction": correction,
    }
    assert found.may_insist == ("manager",)
    assert (found.rule, found.blocks) == ("water_mismatch", True)


def test_the_text_says_what_to_do():
    (found,) = against(water("28.0"), water("34.6"))

    assert found.text == (
        "Salinity of the target is 6.6 higher than in the source, allowed 1.4: "
        "lower the target, then read it again."
    )


@pytest.mark.parametrize(
    ("salinity", "temperature", "found"),
    [
        ("27.0", "24.0", []),
        ("36.0", "28.0", []),
        ("26.9", "26.0", ["out_of_range"]),
        ("36.1", "26.0", ["out_of_range"]),
        ("33.0", "23.9", ["out_of_range"]),
        ("33.0", "28.1", ["out_of_range"]),
        ("36.1", "28.1", ["out_of_range", "out_of_range"]),
    ],
)
def test_the_target_must_be_in_range_both_ends_included(salinity, temperature, found):
    assert codes(against(None, water(salinity, temperature))) == found


@pytest.mark.parametrize(
    ("age", "found"),
    [(2 * HOUR, []), (2 * HOUR + SECOND, ["reading_old", "reading_old"])],
)
@pytest.mark.parametrize("old", ["source", "target"])
def test_readings_may_be_two_hours_old(age, found, old):
    sides = {"source": water(), "target": water()} | {old: water(age=age)}

    reasons = against(sides["source"], sides["target"])

    assert codes(reasons) == found
    assert {one.numbers["side"] for one in reasons} == ({old} if found else set())


@pytest.mark.parametrize("side", ["source", "target"])
@pytest.mark.parametrize("quantity", ["salinity", "temperature"])
def test_every_reading_that_is_missing_is_named(side, quantity):
    sides = {"source": water(), "target": water()}
    sides[side] = replace(sides[side], **{quantity: None})

    (found,) = against(sides["source"], sides["target"])

    assert (found.code, found.numbers) == (
        "reading_missing",
        {"side": side, "quantity": quantity},
    )


def test_at_a_first_placement_only_the_target_is_looked_at():
    assert against(None, water()) == ()
    assert codes(against(None, Water())) == ["reading_missing", "reading_missing"]


@pytest.mark.parametrize(
    ("check", "code", "blocks"),
    [("doubted", "instrument_failed", True), ("unknown", "instrument_in_doubt", False)],
)
def test_a_failed_instrument_stands_against_it_an_unchecked_one_warns(check, code, blocks):
    found = against(None, water(check=check))

    assert [(one.code, one.rule, one.blocks) for one in found] == [
        (code, "instrument_in_doubt", blocks)
    ] * 2


# -- instruments ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("checks", "at", "found"),
    [
        ([], 10, Check.UNKNOWN),
        ([(0, True)], 10, Check.GOOD),
        ([(10, True)], 10, Check.GOOD),
        ([(0, False)], 10, Check.DOUBTED),
        ([(0, False), (5, True)], 10, Check.GOOD),
        ([(0, True), (20, False)], 10, Check.DOUBTED),
        ([(0, True), (20, True)], 10, Check.GOOD),
        ([(0, True), (20, True), (30, False)], 10, Check.GOOD),
        ([(20, False)], 10, Check.DOUBTED),
        ([(20, True)], 10, Check.UNKNOWN),
        ([(0, True)], 168, Check.GOOD),
        ([(0, True)], 168.01, Check.UNKNOWN),
        ([(0, True), (200, False)], 190, Check.DOUBTED),
    ],
)
def test_an_instrument_is_trusted_between_good_checks(checks, at, found):
    known = [Checked(hour(hours), passed) for hours, passed in checks]

    assert in_check(known, hour(at), every=WEEK) is found


# -- Two judgements by an instrument in doubt --------------------------------------------------


def by(water_read, instrument):
    """The same water, read with another instrument."""
    return Water(
        *(one and replace(one, instrument=uid(instrument)) for _, one in water_read.pairs())
    )


@pytest.mark.parametrize(("other", "difference"), [("S-1", "holds"), ("S-2", "in_doubt")])
def test_read_with_one_doubted_instrument_the_difference_still_holds(other, difference):
    source, target = water(check="doubted"), by(water(check="doubted"), other)

    (found,) = doubts_together(against(source, target))

    assert found.code == "instrument_failed"
    assert found.numbers["quantity"] == "salinity, temperature"
    assert (found.numbers["range"], found.numbers["difference"]) == ("in_doubt", difference)


def test_at_a_first_placement_there_is_no_difference_to_speak_of():
    (found,) = doubts_together(against(None, water(check="doubted")))

    assert (found.numbers["range"], "difference" in found.numbers) == ("in_doubt", False)


def test_other_reasons_stay_beside_the_doubt():
    found = doubts_together(against(water(check="doubted"), water("36.5", check="doubted")))

    assert codes(found) == ["out_of_range", "water_mismatch", "instrument_failed"]
