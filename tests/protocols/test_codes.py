"""Codes on labels, uids and the words of secret addresses."""

from datetime import UTC, datetime, timedelta, timezone
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from protocols import codes

TUB = UUID("01950000-0000-7000-8000-000000000001")
NOON = datetime(2027, 1, 5, 12, 0, tzinfo=UTC)
TEXTS = st.text(codes.ALPHABET, min_size=1, max_size=24)


# Identifiers that are printed with their check characters as examples of GRid and ISAN.
@pytest.mark.parametrize(
    ("text", "expected"), [("A1-2425G-ABC1234002", "M"), ("B159-D8FA-0124-0000", "K")]
)
def test_the_check_character_is_that_of_the_published_examples(text, expected):
    assert codes.with_check(text)[-1] == expected
    assert codes.is_sound(f"{text}-{expected}")


@given(TEXTS)
def test_a_text_with_its_check_character_is_sound(text):
    assert codes.is_sound(codes.with_check(text))


@given(TEXTS, st.data())
def test_any_single_wrong_character_is_noticed(text, data):
    sound = codes.with_check(text)
    place = data.draw(st.integers(0, len(sound) - 1))
    other = data.draw(st.sampled_from(codes.ALPHABET.replace(sound[place], "")))

    assert not codes.is_sound(sound[:place] + other + sound[place + 1 :])


@pytest.mark.parametrize("text", ["", "7", "A1!", "Ä12"])
def test_what_is_no_code_is_not_sound(text):
    assert not codes.is_sound(text)


@pytest.mark.parametrize("text", ["", "- -", "A1!"])
def test_what_is_no_code_gets_no_check_character(text):
    with pytest.raises(ValueError, match=r"."):
        codes.with_check(text)


def test_the_short_code_of_a_uid_is_pinned():
    assert codes.short_code(TUB) == "RSYW-C6T1"
    assert codes.short_code(str(TUB).upper()) == "RSYW-C6T1"


def test_another_attempt_gives_another_code():
    assert len({codes.short_code(TUB, attempt) for attempt in range(20)}) == 20


@given(st.uuids(), st.integers(0, 3))
def test_a_short_code_is_sound_and_has_no_letter_that_is_misread(uid, attempt):
    code = codes.short_code(uid, attempt)

    assert codes.is_sound(code)
    assert set(code) <= {*codes.READABLE, "-"}
    assert [len(group) for group in code.split("-")] == [4, 4]


@given(st.uuids())
def test_a_short_code_is_read_back_however_it_was_typed(uid):
    code = codes.short_code(uid)
    typed = code.replace("-", " ").replace("1", "l").replace("0", "o").lower()

    assert codes.read_code(typed) == code


@pytest.mark.parametrize(
    "typed", ["", "0000-0000", "0000-000", "hello world", "ABC4", codes.with_check("ABC")]
)
def test_what_cannot_be_a_short_code_is_not_read(typed):
    assert codes.read_code(typed) is None


def test_a_uuid7_is_that_of_the_standard():
    # The example of RFC 9562, appendix A.6.
    now = datetime(2022, 2, 22, 14, 22, 22, tzinfo=timezone(-timedelta(hours=5)))
    noise = (0xCC3 << 64 | 0x18C4DC0C0C07398F).to_bytes(10, "big")

    uid = codes.uuid7(now, noise)

    assert uid == UUID("017f22e2-79b0-7cc3-98c4-dc0c0c07398f")


@given(st.binary(min_size=10, max_size=10), st.binary(min_size=10, max_size=10))
def test_a_later_uuid7_sorts_behind(early, late):
    assert codes.uuid7(NOON, early) < codes.uuid7(NOON + timedelta(milliseconds=1), late)


@given(st.binary(min_size=10, max_size=10))
def test_a_uuid7_says_its_version_and_variant(noise):
    uid = codes.uuid7(NOON, noise)

    assert uid.version == 7
    assert uid.variant == "specified in RFC 4122"


def test_a_uuid7_needs_a_zone_and_enough_noise():
    with pytest.raises(ValueError, match="time zone"):
        codes.uuid7(NOON.replace(tzinfo=None), bytes(10))
    with pytest.raises(ValueError, match="10 random bytes"):
        codes.uuid7(NOON, bytes(9))


def test_the_uid_of_a_fact_made_by_rule_is_pinned():
    assert codes.fact_uid(TUB, "piece_defective", "A-3") == UUID(
        "e2b53c3c-4c55-5e29-a267-c2d132071ac3"
    )


def test_cause_kind_and_target_each_make_another_uid():
    other = UUID("01950000-0000-7000-8000-000000000002")
    uids = {
        codes.fact_uid(TUB, "found_wet", TUB),
        codes.fact_uid(other, "found_wet", TUB),
        codes.fact_uid(TUB, "seen_dry", TUB),
        codes.fact_uid(TUB, "found_wet", other),
    }

    assert len(uids) == 4


def test_a_kind_with_a_slash_is_refused():
    with pytest.raises(ValueError, match="slash"):
        codes.fact_uid(TUB, "a/b", "c")


def test_a_token_is_32_letters_and_digits_without_the_look_alikes():
    text = codes.token_text(bytes(range(20)))

    assert text == "aaaqeayeaudaocajbifqydiob4ibceqt"
    assert not set(text) & set("0189")


def test_a_token_takes_20_random_bytes():
    with pytest.raises(ValueError, match="20 random bytes"):
        codes.token_text(bytes(16))
