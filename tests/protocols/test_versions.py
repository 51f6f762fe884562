"""Frozen protocol versions: what they say, that they are checked, that they never change."""

from datetime import timedelta
from decimal import Decimal
from hashlib import sha256

import pytest

from protocols import versions
from protocols.library.values import Stage
from protocols.ruled import Range
from protocols.versions import (
    BadDefinition,
    UnknownProtocol,
    definition,
    load,
    protocol,
    read,
    read_any,
    text_of,
    warnings,
)
from tests.protocols.story import HOUR

BYTES = (versions.DEFINITIONS / "transfer-288@1.toml").read_bytes()


def test_a_batch_can_be_placed_under_moves_alone_and_one_is_the_default():
    assert versions.keys() == (
        "transfer-276@1",
        "transfer-288-21@1",
        "transfer-288-30@1",
        "transfer-288@1",
        "warm-288@1",
    )
    assert versions.DEFAULT == "transfer-288@1"


def test_the_one_for_warm_water_moves_every_48_hours_and_says_that_it_has_no_slack():
    found = protocol("warm-288@1")

    assert (found.stay_limit, found.moves_least) == (48 * HOUR, 6)
    assert found.span_least == 288 * HOUR
    assert found.slack == found.slack_said == 0 * HOUR
    assert found.temperature_c.most == Decimal("31.0")


@pytest.mark.parametrize("days", [14, 21, 30])
def test_observation_lasts_as_many_days_as_its_name_says(days):
    assert definition(f"observation-{days}@1").lasts == days * 24 * HOUR
    if days > 14:
        assert protocol(f"transfer-288-{days}@1").observation == days * 24 * HOUR


def test_copper_counts_only_in_range_and_never_for_invertebrates():
    found = definition("copper-ionic@1")

    assert found.stage is Stage.RAMP
    assert found.clock.allowed == Range(Decimal("0.15"), Decimal("0.25"))
    assert found.clock.restarts
    assert "invertebrates" in found.refused
    assert {one.basis for one in found.doses} != {""}


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b'stage = "ramp"', b'stage = "wish"'),
        (b"restarts = true", b"restarts = 1"),
        (b"needed_s = 1209600", b"needed_s = 99999999999"),
        (b'least = "0.15"', b'least = "0.3"'),
        (b"[water]", b'[water]\ndepth_m = "1"'),
        (b"[[watched]]", b"[watched]"),
        (b"given_with = []", b'given_with = ["tea"]'),
        (b"refused = [", b"refused = [7,"),
        (b'title = "', b'title = ["'),
    ],
)
def test_what_is_given_is_read_as_strictly(old, new):
    data = text_of("copper-ionic@1").encode()
    assert old in data

    with pytest.raises(BadDefinition):
        read_any(data.replace(old, new, 1))


def test_the_default_says_what_it_must():
    found = protocol("transfer-288@1")

    assert (found.key, found.stay_limit, found.moves_least) == ("transfer-288@1", 72 * HOUR, 4)
    assert found.span_least == 288 * HOUR
    assert (found.warm_c, found.warm_after, found.warm_limit) == (
        Decimal("28.0"),
        6 * HOUR,
        48 * HOUR,
    )
    assert found.cold_c == Decimal("22.0")
    assert found.drying.drying == 24 * HOUR
    assert (found.drying.chlorine_mg_l_least, found.drying.contact_least) == (200, HOUR)
    assert found.observation == 336 * HOUR
    assert found.salinity == Range(Decimal("27.0"), Decimal("36.0"))
    assert found.temperature_c == Range(Decimal("24.0"), Decimal("28.0"))


def test_the_other_differs_in_its_span_alone():
    one, other = protocol("transfer-288@1"), protocol("transfer-276@1")

    assert other.span_least == 276 * HOUR
    assert (one.stay_limit, one.drying, one.observation) == (
        other.stay_limit,
        other.drying,
        other.observation,
    )
    assert one.does_not_cover == other.does_not_cover


@pytest.mark.parametrize("key", versions.keys())
def test_each_says_what_it_addresses_what_not_and_of_what_to_beware(key):
    found = protocol(key)

    assert "Cryptocaryon irritans" in found.addresses[0]
    said = " ".join(found.does_not_cover)
    assert "Amyloodinium" in said
    assert "flukes" in said
    assert "Brooklynella" in said
    assert "Uronema" in said
    assert "acid" in found.cautions[0]
    assert "veterinarian" in " ".join(found.cautions)
    assert "Colorni 1985" in found.sources[0]


@pytest.mark.parametrize(
    ("key", "digest"),
    [
        ("chloroquine@1", "c9479a862544dd00f24eb319d5d882fd4fd6cfd1b4dc2be1923c86c15d6e1be3"),
        (
            "copper-chelated@1",
            "24f9020650e4e1287d69741dcf986b3d3cda852ccb3d07f4dc1adfae1f8e6767",
        ),
        ("copper-ionic@1", "3750939c3e88bc743f4cdcf361f5bb4828085373d68cd8cd7fd0ec7349c5db90"),
        ("fallow-system@1", "d975ce3af938f460b96f3efd9a887ea81beb85785bbc14e0d989712bf9a4c8f5"),
        ("formalin-long@1", "85e3111d39c7e09a75479c751c2479fa00659d096e812fce95e8e97197210f0e"),
        (
            "formalin-short@1",
            "113ceb38a35b1d0543734eea10d1d4467f0324aa75670e93f373ef916770d715",
        ),
        (
            "freshwater-dip@1",
            "2ede738f0c0d870558f2308e574b3c6ae9cfa0b8ee5acd3d87a550e31e65225d",
        ),
        ("hyposalinity@1", "9823ea9901be013cd086df65553129cea01f9d427c28796259a162181f960d7f"),
        (
            "observation-14@1",
            "d435ec7b463b460f0bcead03ffc91c8395cdf511d25be3c14d4e20b8b45f7ec9",
        ),
        (
            "observation-21@1",
            "3550ee4b2592456b0242e0e05bafe986302188b53dc4ea468892b7f29c5a0cdb",
        ),
        (
            "observation-30@1",
            "2e8fe407cb1d15ed0b10facb4fd8736b6369a85f2601b6ebf9c6cdf914f3b2ea",
        ),
        ("peroxide@1", "1929bc68ab22c8f85768ee6f327a39dd6874b97a88e09999d64f1c4a456504cb"),
        ("praziquantel@1", "01884d87c438b208b9bc3e3787f0c34754992d854eb25c36c75abe8c79c27459"),
        ("transfer-276@1", "a0d7f1a7ad209d707ed995c16a58228cc9fadb39a51242dc083e52a157db1ec2"),
        (
            "transfer-288-21@1",
            "8b9ddb55ba3591bb74884a628ca93743657023ab8eba029308df0eee592764ab",
        ),
        (
            "transfer-288-30@1",
            "120127fe609fa16f75ec8dc0f2769d949d2777a8d7fe8fb9462f538e637be07a",
        ),
        ("transfer-288@1", "f6db0f6cc9ce13305b13a7b3a790e113763b1dc47b59d1cee77bf03f5e022ee5"),
        ("warm-288@1", "d7c3c25554d538890b88be3d2e13f3f5f9134a847801dc8d704ba2b10a251d94"),
    ],
)
def test_a_frozen_version_never_changes_by_a_byte(key, digest):
    data = (versions.DEFINITIONS / f"{key}.toml").read_bytes()

    assert definition(key).sha256 == sha256(data).hexdigest() == digest


def test_every_version_is_pinned():
    pinned = test_a_frozen_version_never_changes_by_a_byte.pytestmark[0].args[1]

    assert tuple(key for key, _ in pinned) == versions.everything()


def test_an_unknown_version_is_not_made_up():
    with pytest.raises(UnknownProtocol):
        protocol("transfer-288@2")


def test_a_name_never_leaves_the_folder():
    with pytest.raises(UnknownProtocol):
        protocol("../definitions/transfer-288@1")


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b"moves_least = 4\n", b""),
        (b"moves_least = 4\n", b"moves_least = 4\nmoves_most = 9\n"),
        (b"moves_least = 4\n", b"moves_least = 0\n"),
        (b"moves_least = 4\n", b"moves_least = 4.0\n"),
        (b"moves_least = 4\n", b"moves_least = true\n"),
        (b'warm_c = "28.0"', b"warm_c = 28.0"),
        (b'warm_c = "28.0"', b'warm_c = "hot"'),
        (b'warm_c = "28.0"', b'warm_c = "NaN"'),
        (b'["27.0", "36.0"]', b'["36.0", "27.0"]'),
        (b'["27.0", "36.0"]', b'["27.0"]'),
        (b"addresses = [", b"addresses = [] # ["),
        (b"version = 1\n", b"version = one\n"),
        (b"version = 1\n", b"version = 1\n\xff"),
    ],
)
def test_a_definition_that_does_not_say_what_it_must_is_not_read(old, new):
    assert old in BYTES

    with pytest.raises(BadDefinition):
        read(BYTES.replace(old, new, 1))


def test_a_file_must_call_itself_by_its_own_name(tmp_path):
    path = tmp_path / "other@1.toml"
    path.write_bytes(BYTES)

    with pytest.raises(BadDefinition):
        load(path)


@pytest.mark.parametrize(("span_h", "said"), [(288, 1), (285, 1), (284, 0), (276, 0)])
def test_whoever_chooses_a_version_without_slack_is_warned(span_h, said):
    seconds = str(span_h * 3600).encode()
    found = read(BYTES.replace(b"span_least_s = 1036800", b"span_least_s = " + seconds))

    assert found.span_least == timedelta(hours=span_h)
    assert len(warnings(found)) == said


def test_the_warning_says_to_plan_with_five_moves():
    assert warnings(protocol("transfer-288@1")) == (
        "4 stays at their limit leave 0 h of slack: after any early move a series needs "
        "5 moves. Plan with 5.",
    )
