"""Signing keys: made once, kept for their owner alone, one for each purpose."""

import stat

import pytest

from protocols.signing import public_jwk
from stock import keys


@pytest.fixture
def folder(settings, tmp_path):
    settings.KEYS = tmp_path / "keys"
    return settings.KEYS


def test_a_key_is_made_once_and_found_again(folder):
    first = public_jwk(keys.private_key("certificate"))

    assert public_jwk(keys.private_key("certificate")) == first
    assert [one.name for one in folder.iterdir()] == ["certificate.pem"]


def test_only_its_owner_may_read_a_key(folder):
    keys.private_key("certificate")

    assert stat.S_IMODE((folder / "certificate.pem").stat().st_mode) == 0o600
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700


def test_every_purpose_has_a_key_of_its_own(folder):
    keys.make_missing()

    kids = {
        public_jwk(keys.private_key(one))["kid"]
        for one in ("certificate", "checkpoint", "webhook")
    }
    assert len(kids) == 3


def test_a_key_that_is_there_is_never_written_over(folder):
    keys.private_key("certificate")
    kept = (folder / "certificate.pem").read_bytes()

    keys._make(folder / "certificate.pem")

    assert (folder / "certificate.pem").read_bytes() == kept
    assert len(list(folder.iterdir())) == 1


def test_a_file_that_is_no_key_is_not_replaced(folder):
    folder.mkdir()
    (folder / "certificate.pem").write_text("spoilt")

    with pytest.raises(ValueError, match=r"(?i)pem|deserialize"):
        keys.private_key("certificate")

    assert (folder / "certificate.pem").read_text() == "spoilt"


def test_there_is_no_key_for_another_purpose(folder):
    with pytest.raises(ValueError, match="mail is not one of"):
        keys.private_key("mail")
