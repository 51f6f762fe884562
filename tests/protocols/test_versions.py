"""Frozen protocol versions: what they say, that they are checked, that they never change."""

from datetime import timedelta
from decimal import Decimal
from hashlib import sha256

import pytest

from protocols import versions
from protocols.ruled import Range
from protocols.versions import BadDefinition, UnknownProtocol, load, protocol, read, warnings
from tests.protocols.story import HOUR

BYTES = (versions.DEFINITIONS / "transfer-288@1.toml").read_bytes()


def test_there_are_two_versions_and_one_is_the_default():
    assert versions.keys() == ("transfer-276@1", "transfer-288@1")
    assert versions.DEFAULT == "transfer-288@1"


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
        ("transfer-276@1", "a0d7f1a7ad209d707ed995c16a58228cc9fadb39a51242dc083e52a157db1ec2"),
        ("transfer-288@1", "f6db0f6cc9ce13305b13a7b3a790e113763b1dc47b59d1cee77bf03f5e022ee5"),
    ],
)
def test_a_frozen_version_never_changes_by_a_byte(key, digest):
    data = (versions.DEFINITIONS / f"{key}.toml").read_bytes()

    assert protocol(key).sha256 == sha256(data).hexdigest() == digest


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
