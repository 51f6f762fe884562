"""The linter: our own versions pass, and each rule refuses the one that breaks just that."""

import re
from decimal import Decimal
from pathlib import Path

import pytest

import protocols.library
from protocols.library.biology import earliest_hatch, longest_on_fish
from protocols.library.findings import Level
from protocols.library.lint import lint, refused_for
from protocols.library.meeting import WaterNow, may_meet
from protocols.library.values import Agent
from protocols.versions import definition, everything, read_any, text_of
from tests.protocols.story import HOUR

WARM = "warm-288@1"
BLEACH = '"Bleach and acid (vinegar) make chlorine gas. '
AMMONIA = '"Bleach and ammonia water, or dirty fish water, make chloramine vapour. '


def changed(key, *edits):
    """The definition with these edits, each a pattern and what stands in its place."""
    text = text_of(key)
    for pattern, other in edits:
        text, times = re.subn(pattern, other, text, flags=re.M)
        assert times, pattern
    return read_any(text.encode())


def codes(found, level=Level.ERROR):
    return {one.rule for one in lint(found) if one.level is level}


@pytest.mark.parametrize("key", everything())
def test_what_comes_with_the_service_may_be_worked_by(key):
    assert refused_for(definition(key)) == ()


# Each breaks one rule alone.
BROKEN = [
    ("gap_over_hatch", "transfer-288@1", [("^stay_limit_s = 259200", "stay_limit_s = 259201")]),
    ("gap_over_hatch", "transfer-288@1", [('^warm_c = "28.0"', 'warm_c = "28.1"')]),
    ("warm_gap_over_hatch", WARM, [("^warm_limit_s = 172800", "warm_limit_s = 172801")]),
    ("warm_too_late", "transfer-288@1", [("^warm_after_s = 21600", "warm_after_s = 21601")]),
    ("too_warm", WARM, [('"31.0"', '"32.1"')]),
    (
        "series_short",
        "transfer-288@1",
        [("^span_least_s = 1036800", "span_least_s = 757800")],
    ),
    ("series_short", "transfer-288@1", [('^cold_c = "22.0"', 'cold_c = "21.9"')]),
    ("claims_too_much", WARM, [('spot\\)"\\]', 'spot)", "velvet"]')]),
    ("not_covered_unsaid", WARM, [("^.*flukes on skin.*$", "")]),
    ("stay_unknown", "transfer-288@1", [('^cold_c = "22.0"', 'cold_c = "17.9"')]),
    ("slack_wrong", WARM, [("^slack_s = 0", "slack_s = 3600")]),
    ("moves_too_few", "transfer-288@1", [("^moves_least = 4", "moves_least = 3")]),
    ("slack_unsaid", WARM, [("^slack_s = 0.*$", "")]),
    ("drying_short", WARM, [("^drying_s = 86400", "drying_s = 86399")]),
    ("chlorine_weak", WARM, [('_least = "200"', '_least = "59.9"')]),
    ("contact_short", WARM, [("^contact_least_s = 3600", "contact_least_s = 3599")]),
    ("observation_short", WARM, [("^observation_s = 1209600", "observation_s = 1209599")]),
    (
        "observation_short",
        "observation-14@1",
        [("^observation_s = .*", "observation_s = 604800")],
    ),
    ("caution_missing", WARM, [(re.escape(BLEACH), '"')]),
    ("caution_missing", WARM, [(re.escape(AMMONIA), '"Bleach. ')]),
    ("caution_missing", "hyposalinity@1", [("as a veterinarian and local rules allow", "")]),
    ("caution_missing", "peroxide@1", [("^.*feeds fire.*$", "")]),
    ("watched_too_seldom", "observation-21@1", [("every_s = 86400", "every_s = 86401")]),
    ("fallow_cold", "fallow-system@1", [('up_to_c = "20.0"', 'up_to_c = "19.9"')]),
    ("fallow_short", "fallow-system@1", [("^days = 76", "days = 71")]),
    ("fallow_short", "fallow-system@1", [("^days = 45", "days = 41")]),
    ("fallow_restart_unsaid", "fallow-system@1", [("^.*invertebrates, plants.*$", "")]),
    ("dose_without_unit", "peroxide@1", [('^unit = "mg/L"', 'unit = "drops"')]),
    ("dose_without_unit", "praziquantel@1", [('^unit = "mg/L"', "")]),
    ("dose_without_basis", "copper-ionic@1", [("^basis = .*$", "")]),
    ("dose_missing", "peroxide@1", [('"peroxide"\\]', '"peroxide", "acid"]')]),
    ("clock_beside_dose", "copper-ionic@1", [("range = .*", 'range = ["1.5", "2.5"]')]),
    ("formalin_unit", "formalin-long@1", [('"mL/m3"', '"mg/L"')]),
    ("formalin_strong", "formalin-short@1", [('^up_to_c = "21.0"', 'up_to_c = "21.1"')]),
    ("formalin_strong", "formalin-short@1", [('^most = "250"', 'most = "250.1"')]),
    ("formalin_long", "formalin-short@1", [("^most_s = 3600", "most_s = 3601")]),
    ("formalin_warm", "formalin-long@1", [('_most_c = "27.0"', '_most_c = "27.1"')]),
    ("formalin_cloudy", "formalin-long@1", [("^clear = true", "clear = false")]),
    ("formalin_oxygen", "formalin-long@1", [('_percent = "90"', '_percent = "79"')]),
    ("peroxide_warm", "peroxide@1", [('temperature_most_c = "27.0"', "")]),
    (
        "copper_with_hyposalinity",
        "copper-ionic@1",
        [("given_with = .*", 'given_with = ["hyposalinity"]')],
    ),
    (
        "copper_with_binder",
        "copper-chelated@1",
        [("given_with = .*", 'given_with = ["reducing_binder"]')],
    ),
    (
        "copper_twice",
        "copper-ionic@1",
        [("given_with = .*", 'given_with = ["copper_chelated"]')],
    ),
    (
        "bleach_with_formalin",
        "formalin-long@1",
        [("given_with = .*", 'given_with = ["bleach"]')],
    ),
    (
        "bleach_with_acid",
        "peroxide@1",
        [("given_with = .*", 'given_with = ["bleach", "acid"]')],
    ),
    (
        "bleach_with_ammonia",
        "peroxide@1",
        [("given_with = .*", 'given_with = ["bleach", "ammonia_water"]')],
    ),
    ("hyposalinity_low", "hyposalinity@1", [('^least = "11"', 'least = "10.9"')]),
    (
        "hyposalinity_down_fast",
        "hyposalinity@1",
        [('down_per_day_most = "10"', 'down_per_day_most = "10.1"')],
    ),
    (
        "hyposalinity_down_fast",
        "hyposalinity@1",
        [("^down_least_s = 198720", "down_least_s = 172800")],
    ),
    (
        "hyposalinity_up_fast",
        "hyposalinity@1",
        [('up_per_day_most = "3"', 'up_per_day_most = "3.1"')],
    ),
    (
        "hyposalinity_up_fast",
        "hyposalinity@1",
        [("^up_least_s = 691200", "up_least_s = 604800")],
    ),
    ("hyposalinity_speed_unsaid", "hyposalinity@1", [("(?s)^\\[salinity\\].*", "")]),
    ("veterinarian_missing", "chloroquine@1", [('= "needed"', '= "advised"')]),
    ("refusal_missing", "copper-ionic@1", [('^    "invertebrates",$', "")]),
    ("refusal_missing", "hyposalinity@1", [('^    "sharks",$', "")]),
    ("clock_missing", "copper-ionic@1", [("^restarts = true", "restarts = false")]),
    ("ramp_unsaid", "hyposalinity@1", [("^ramp_least_s = .*$", "")]),
]


@pytest.mark.parametrize(("code", "key", "edits"), BROKEN)
def test_each_rule_refuses_what_breaks_it_alone(code, key, edits):
    assert codes(changed(key, *edits)) == {code}


def test_a_dose_of_something_else_is_refused():
    found = changed("praziquantel@1", ('^agent = "praziquantel"', 'agent = "peroxide"'))

    assert codes(found) == {"dose_of_another", "dose_missing"}


def test_no_rule_is_without_one_that_breaks_it():
    folder = Path(protocols.library.__file__).parent
    said = "".join(path.read_text() for path in folder.glob("*.py"))
    given = set(re.findall(r'(?:error|_clash)\(\s*"([a-z_]+)"', said))
    given |= set(re.findall(r'"((?:bleach|copper)_(?:with|twice)[a-z_]*)"', said))

    assert given - {code for code, _, _ in BROKEN} == {"dose_of_another"}


def test_numbers_and_source_stand_beside_a_finding():
    found = changed("transfer-288@1", ("^stay_limit_s = 259200", "stay_limit_s = 261000"))
    (gap,) = refused_for(found)

    assert gap.numbers == {"limit_h": "72.5", "hatch_h": "72", "temperature_c": "28.0"}
    assert "Colorni" in gap.source


def test_no_slack_and_a_short_observation_are_said_but_not_refused():
    assert codes(definition(WARM), Level.WARNING) == {
        "slack_small",
        "observation_within_velvet",
    }
    assert codes(definition("transfer-288-21@1"), Level.WARNING) == {"slack_small"}


def test_warmth_brings_the_hatch_forward_and_cold_keeps_the_parasite_on_the_fish():
    by_degree = [
        earliest_hatch(Decimal(one)) for one in ("18", "20", "20.1", "28", "28.1", "40")
    ]

    assert by_degree == [96 * HOUR, 96 * HOUR, 72 * HOUR, 72 * HOUR, 48 * HOUR, 48 * HOUR]
    assert longest_on_fish(Decimal("17.9")) is None
    assert longest_on_fish(Decimal("22")) == 211 * HOUR
    assert longest_on_fish(Decimal("30")) == 168 * HOUR


@pytest.mark.parametrize(
    ("things", "water", "strength", "expected"),
    [
        ({Agent.BLEACH, Agent.ACID, Agent.PEROXIDE}, {}, None, {"bleach_with_acid"}),
        ({Agent.COPPER_IONIC, Agent.PRAZIQUANTEL}, {}, None, set()),
        ({Agent.FORMALIN}, {}, "250", set()),
        ({Agent.FORMALIN}, {"temperature_c": Decimal("27.1")}, None, {"formalin_warm"}),
        ({Agent.FORMALIN}, {"temperature_c": Decimal("21.1")}, "150.1", {"formalin_strong"}),
        ({Agent.FORMALIN}, {"temperature_c": Decimal("21.0")}, "250", set()),
        ({Agent.FORMALIN}, {"cloudy": True}, None, {"formalin_cloudy"}),
        ({Agent.FORMALIN}, {"oxygen_percent": Decimal("79")}, None, {"formalin_oxygen"}),
        ({Agent.FORMALIN}, {"oxygen_percent": Decimal("80"), "cloudy": False}, None, set()),
        ({Agent.PEROXIDE}, {"temperature_c": Decimal("27.1")}, None, {"peroxide_warm"}),
        ({Agent.PEROXIDE}, {"temperature_c": Decimal("27.0")}, None, set()),
    ],
)
def test_what_must_not_meet_in_one_container(things, water, strength, expected):
    found = may_meet(things, WaterNow(**water), formalin_ml_m3=strength and Decimal(strength))

    assert {one.rule for one in found} == expected
    assert all(one.text and one.source for one in found)
