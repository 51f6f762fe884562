"""The table of kinds: what is permanent about it, and that every body is checked against it."""

import pytest

from protocols.bodies import BodyRefused
from protocols.kinds import KINDS, Book, Rank, check_body, rank

UID = "01950000-0000-7000-8000-000000000001"

# Permanent: facts already written have these kinds, and judgements hang on their ranks.
ORGANISATION = """organisation_set person_set device_set supplier_set species_set
    protocol_frozen signing_key_set name_erased"""
RANKS = {
    Rank.SET: f"""{ORGANISATION} site_set rules_set hours_set shift_set room_set rack_set
        system_set container_set piece_set kit_set piece_fitted piece_defective
        instrument_set salt_lot_set bleach_set list_applied line_matched room_closed
        room_opened""",
    Rank.DELIVERED: "consignment_delivered",
    Rank.CHECKED: "instrument_checked",
    Rank.CARE: """reading_taken readings_taken water_made filled water_changed topped_up fed
        dose_given round_made salt_received salt_counted make_checked""",
    Rank.CLEANED: "disinfected emptied",
    Rank.DRY: "seen_dry found_wet",
    Rank.COUNTED: """line_counted counted loss_recorded missing_recorded found_again
        presumed_lost born_here doa_reversed identity_corrected sign_seen incident_recorded
        contact_seen""",
    Rank.SPLIT: "batch_split",
    Rank.PLACED: "batch_placed batch_moved",
    Rank.JOINED: "batches_joined",
    Rank.LEFT: "animals_dispatched animals_returned reserved reservation_ended",
    Rank.DECIDED: """claim_sent claim_answered document_added course_changed parked_settled
        fact_corrected fact_withdrawn fact_contradicted confirmed account_decided
        deviation_decided hold_placed hold_lifted restriction_set restriction_ended
        plan_accepted export_made shift_handed_over handover_read
        trace_decided
        visit_opened visit_closed legal_hold_placed legal_hold_lifted texts_erased""",
    Rank.SEALED: "batch_sealed",
    Rank.CERTIFIED: """certificate_issued certificate_suspended certificate_lifted
        certificate_superseded certificate_revoked certificate_ended
        certificate_signed_anew""",
}
PINNED = [(kind, one) for one, kinds in RANKS.items() for kind in kinds.split()]

SAMPLES = {
    "uid": UID,
    "time": "2027-01-05T08:00:00Z",
    "date": "2027-01-05",
    "wall": "08:30",
    "count": 0,
    "positive": 1,
    "whole": -5,
    "decimal": "25.40",
    "sha256": "ab" * 32,
    "word": "salinity",
    "label": "R1-01",
    "text": "",
    "flag": False,
    "object": {},
    "any": "x",
}


def sample(shape):
    """The fullest body of a shape."""
    match shape:
        case str():
            return SAMPLES[shape]
        case tuple():
            return shape[0]
        case list():
            return [sample(shape[0])]
    return {name.removesuffix("?"): sample(inner) for name, inner in shape.items()}


def needed(kind):
    return [name for name in KINDS[kind].body if not name.endswith("?")]


FIELDS = [(kind, name) for kind in KINDS for name in KINDS[kind].body]
NEEDED = [(kind, name) for kind in KINDS for name in needed(kind)]
OPTIONAL = [(kind, name.removesuffix("?")) for kind, name in FIELDS if name.endswith("?")]


def test_every_kind_is_listed_here_once():
    assert sorted(kind for kind, _ in PINNED) == sorted(KINDS)


@pytest.mark.parametrize(("kind", "expected"), PINNED)
def test_the_rank_of_a_kind_is_permanent(kind, expected):
    assert rank(kind) is expected


@pytest.mark.parametrize("kind", KINDS)
def test_only_these_kinds_go_to_the_book_of_the_organisation(kind):
    assert (KINDS[kind].book is Book.ORGANISATION) == (kind in ORGANISATION.split())


def test_ranks_stand_in_the_order_in_which_a_day_is_told():
    assert [one.name for one in sorted(Rank)] == [
        "SET",
        "DELIVERED",
        "CHECKED",
        "CARE",
        "CLEANED",
        "DRY",
        "COUNTED",
        "SPLIT",
        "PLACED",
        "JOINED",
        "LEFT",
        "DECIDED",
        "SEALED",
        "CERTIFIED",
    ]


@pytest.mark.parametrize("kind", KINDS)
def test_a_body_with_every_field_is_taken(kind):
    body = sample(KINDS[kind].body)

    assert check_body(kind, body) == body


@pytest.mark.parametrize(("kind", "name"), NEEDED)
def test_a_field_that_is_needed_is_missed(kind, name):
    body = sample(KINDS[kind].body)
    del body[name]

    with pytest.raises(BodyRefused) as refused:
        check_body(kind, body)

    assert [one.pointer for one in refused.value.reasons] == [f"/{name}"]


@pytest.mark.parametrize(("kind", "name"), OPTIONAL)
def test_a_field_that_may_be_absent_may_be_none_and_is_left_out(kind, name):
    body = sample(KINDS[kind].body)

    assert name not in check_body(kind, {**body, name: None})


@pytest.mark.parametrize("kind", KINDS)
def test_a_field_that_nobody_knows_is_refused(kind):
    body = {**sample(KINDS[kind].body), "extra/field": 1}

    with pytest.raises(BodyRefused) as refused:
        check_body(kind, body)

    (reason,) = refused.value.reasons
    assert (reason.code, reason.pointer) == ("unknown_field", "/extra~1field")


def test_every_reason_is_told_at_once():
    body = {"batch": UID, "counts": [24, "24", -1, 1.5], "note": "hello"}

    with pytest.raises(BodyRefused) as floating:
        check_body("counted", body)
    with pytest.raises(BodyRefused) as refused:
        check_body("counted", {**body, "counts": [24, "24", -1, True]})

    assert [one.pointer for one in floating.value.reasons] == ["/counts/3"]
    assert [(one.code, one.pointer) for one in refused.value.reasons] == [
        ("unknown_field", "/note"),
        ("not_whole", "/counts/1"),
        ("not_positive", "/counts/2"),
        ("not_whole", "/counts/3"),
    ]


def test_a_fault_deep_inside_is_told_with_its_path():
    body = sample(KINDS["batch_split"].body)
    body["parts"].append({**body["parts"][0], "count": 0})

    with pytest.raises(BodyRefused) as refused:
        check_body("batch_split", body)

    (reason,) = refused.value.reasons
    assert (reason.code, reason.pointer) == ("not_positive", "/parts/1/count")


def test_a_kind_that_nobody_knows_is_refused():
    with pytest.raises(BodyRefused, match="no kind of fact"):
        check_body("danced", {})
