"""Sealed pages: the published example, our own known one, and notes that were tampered with."""

import hashlib

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from hypothesis import given
from hypothesis import strategies as st

from protocols import tree
from protocols.checkpoint import NoteRefused, checkpoint, sign_note, verify_note, vkey

KEY = Ed25519PrivateKey.from_private_bytes(hashlib.sha256(b"demo only").digest())
OTHER = Ed25519PrivateKey.from_private_bytes(hashlib.sha256(b"another").digest())
NAME = "reef.example/log"
VKEY = "reef.example/log+d7d4f43c+AWtaidq1HzTqAO+BJBV7onZ9BUxJqeAMFfMGr221eQ7f"
NOTE = """reef.example/log
3
dF3ODCIwENED2Kh0PXPdJuO6ASBJpTqq7O6yHA6Q4UA=

\N{EM DASH} reef.example/log 19T0PBVLvX9rP+KqXOzaUumaRxQB6lbUfHtXgcEkzTveWKfmkEYrLm\
RD4PrjUBBmmyXOGTIvf7gBCKtFLAxzTrGZJAk=
"""
EDGE = tree.edge_of([tree.leaf_hash(f'{{"n":{n}}}'.encode()) for n in (1, 2, 3)])
# The example of c2sp.org/signed-note.
PUBLISHED_VKEY = "example.com/foo+530d903a+AekyeRrm56hApGFkyQR4ZCbV54Id2LKaANYcrnKv3U2k"
PUBLISHED = """This is an example message.

\N{EM DASH} example.com/foo Uw2QOkn8srV1yJGh2VYRlL1Tnagv1YEq6\
TfXppzi2ONncAlTgK7Ztg1ERYNZXsYjOBH3mFXmRKuwHjG1Yu72IneyaQM=
"""


def verifies(note):
    try:
        verify_note(note, VKEY)
    except NoteRefused:
        return False
    return True


def test_the_key_of_a_log_is_told_as_known():
    assert vkey(NAME, KEY.public_key()) == VKEY


def test_a_checkpoint_of_three_entries_is_signed_as_known():
    assert sign_note(checkpoint(NAME, EDGE), NAME, KEY) == NOTE


def test_a_checkpoint_of_an_empty_log_names_the_root_of_nothing():
    assert checkpoint(NAME, tree.Edge()).splitlines() == [
        NAME,
        "0",
        "47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU=",
    ]


@pytest.mark.parametrize(("note", "key"), [(NOTE, VKEY), (PUBLISHED, PUBLISHED_VKEY)])
def test_a_signed_note_gives_its_text(note, key):
    assert verify_note(note, key) == note.partition("\n\n")[0] + "\n"


def test_a_text_with_empty_lines_is_signed_and_read_back():
    text = "first\n\nsecond\n\n"

    assert verify_note(sign_note(text, NAME, KEY), VKEY) == text


def test_signatures_of_others_are_passed_over():
    line = sign_note("x\n", "witness.example", OTHER).splitlines()[-1]
    renamed = sign_note("x\n", NAME, OTHER).splitlines()[-1]

    assert verify_note(f"{NOTE}{line}\n{renamed}\n", VKEY) == checkpoint(NAME, EDGE)


@given(st.integers(0, len(NOTE) - 2), st.characters(codec="ascii", min_codepoint=32))
def test_a_note_with_one_character_changed_fails(place, character):
    changed = NOTE[:place] + character + NOTE[place + 1 :]
    reads_alike = changed == NOTE

    assert reads_alike or not verifies(changed)


@pytest.mark.parametrize(
    "note",
    [
        "",
        "\n",
        "no signature\n",
        NOTE.rstrip("\n"),
        NOTE.replace("\n\n", "\n"),
        NOTE.replace("\N{EM DASH}", "-"),
        NOTE.replace("\N{EM DASH} ", "\N{EM DASH}  "),
        NOTE.replace("JAk=", "JA=="),
        NOTE.replace("JAk=", "JAl="),
        NOTE.replace("JAk=", "!Ak="),
        NOTE + "\n",
        NOTE + "a line\n",
        NOTE.replace("\n3\n", "\r\n3\n"),
        sign_note(checkpoint(NAME, EDGE), NAME, OTHER),
        sign_note(checkpoint(NAME, EDGE), "other.example/log", KEY),
    ],
)
def test_what_the_key_has_not_signed_is_refused(note):
    with pytest.raises(NoteRefused):
        verify_note(note, VKEY)


def test_a_note_too_long_is_refused_unread():
    note = sign_note("x" * 70_000 + "\n", NAME, KEY)

    with pytest.raises(NoteRefused, match="too long"):
        verify_note(note, VKEY)


def test_a_wrong_signature_beside_a_right_one_is_not_passed_over():
    wrong = sign_note("another text\n", NAME, KEY).splitlines()[-1]

    with pytest.raises(NoteRefused, match="does not fit"):
        verify_note(f"{NOTE}{wrong}\n", VKEY)


@pytest.mark.parametrize(
    "key",
    [
        "",
        NAME,
        VKEY.replace("d7d4f43c", "d7d4f43d"),
        VKEY.replace("+AW", "+Ag"),
        VKEY[:-4],
        VKEY.replace(NAME, "other.example/log"),
    ],
)
def test_what_is_no_key_of_the_log_verifies_nothing(key):
    with pytest.raises(NoteRefused):
        verify_note(NOTE, key)


@pytest.mark.parametrize("name", ["", "a b", "a+b", "a\u00a0b", "a\x07b"])
def test_a_name_that_would_break_the_line_is_refused(name):
    with pytest.raises(ValueError, match=r"name|control"):
        vkey(name, KEY.public_key())
    with pytest.raises(ValueError, match=r"name|control"):
        sign_note("x\n", name, KEY)


@pytest.mark.parametrize("text", ["", "x", "x\ty\n", "x\r\n"])
def test_a_text_that_is_no_text_of_a_note_is_not_signed(text):
    with pytest.raises(ValueError, match=r"line feed|control"):
        sign_note(text, NAME, KEY)


@pytest.mark.parametrize("origin", ["", "two\nlines"])
def test_an_origin_is_one_line(origin):
    with pytest.raises(ValueError, match=r"origin|control"):
        checkpoint(origin, EDGE)
