"""Suppliers and species: known to the whole organisation."""

import pytest

from stock.models import Fact


def test_a_supplier_is_kept_with_the_terms_for_claims(walk, supplier):
    shown = walk.get(f"suppliers/{supplier}")["supplier"]

    assert shown["name"] == "Sample Atoll Aquatics"
    assert shown["claim_terms"] == {"doa": 7200, "short": 86_400}
    assert [one["uid"] for one in walk.get("suppliers")["suppliers"]] == [supplier]


def test_the_name_of_a_supplier_is_no_part_of_the_entry(supplier):
    fact = Fact.objects.get(kind="supplier_set")

    assert b"Sample Atoll" not in bytes(fact.entry)
    assert fact.texts.get().value == "Sample Atoll Aquatics"


def test_a_supplier_is_changed_by_whoever_read_the_last_version(walk, supplier):
    path, body = f"suppliers/{supplier}", {"name": "Sample Atoll Export"}
    seen = walk.send("GET", path)["ETag"]

    blind = walk.send("PUT", path, body)
    changed = walk.send("PUT", path, body, **{"If-Match": seen})
    late = walk.send("PUT", path, body, **{"If-Match": seen})

    assert (blind.status_code, changed.status_code, late.status_code) == (428, 201, 412)
    assert walk.get(path)["supplier"]["name"] == "Sample Atoll Export"


def test_a_species_is_known_once(walk, species):
    problem = walk.refused("species", {"scientific_name": "GRAMMA loreto"})

    assert (problem.status, problem.code) == (409, "label_taken")


def test_a_species_is_changed_by_whoever_read_the_last_version(walk, species):
    path = f"species/{species}"
    seen = walk.send("GET", path)["ETag"]
    body = {
        "scientific_name": "Gramma loreto",
        "aphia_id": 280_956,
        "trade_names": ["Royal gramma"],
    }

    blind = walk.send("PUT", path, body)
    changed = walk.send("PUT", path, body, **{"If-Match": seen})

    assert (blind.status_code, changed.status_code) == (428, 201)
    assert walk.get("species")["species"][0]["trade_names"] == ["Royal gramma"]


@pytest.mark.parametrize(
    ("path", "body", "pointer"),
    [
        ("suppliers", {"name": ""}, "/name"),
        ("suppliers", {"name": "x" * 121}, "/name"),
        ("suppliers", {"name": "A", "date_order": "dmy"}, "/date_order"),
        ("suppliers", {"name": "A", "decimal": ";"}, "/decimal"),
        ("suppliers", {"name": "A", "mapping": {"Qty": "colour"}}, "/mapping/Qty"),
        ("suppliers", {"name": "A", "claim_terms": {"doa": -1}}, "/claim_terms/doa"),
        ("suppliers", {"name": "A", "claim_terms": {"doa": "2 h"}}, "/claim_terms/doa"),
        ("suppliers", {"name": "A", "claim_terms": {"Dead!": 60}}, "/claim_terms/Dead!"),
        ("suppliers", {"name": "A", "claim_terms": []}, "/claim_terms"),
        (
            "suppliers",
            {"name": "A", "claim_terms": {"a" * n: 60 for n in range(1, 22)}},
            "/claim_terms",
        ),
        ("suppliers", {"name": "A\x00B"}, "/name"),
        ("species", {"scientific_name": "A b", "trade_names": ["x"] * 81}, "/trade_names"),
        ("species", {"scientific_name": "A b", "aphia_id": 0}, "/aphia_id"),
        ("species", {"scientific_name": "A b", "aphia_id": "1"}, "/aphia_id"),
        ("species", {"scientific_name": "A\nb"}, "/scientific_name"),
    ],
)
def test_bad_words_for_suppliers_and_species_are_named_at_their_field(
    walk, path, body, pointer
):
    problem = walk.refused(path, body)

    assert problem.status == 400
    assert problem.body["reasons"][0]["pointer"] == pointer


@pytest.mark.parametrize(
    "headings", [{"x" * 40_000: "box"}, {str(n): "box" for n in range(4000)}]
)
def test_a_mapping_that_no_entry_could_hold_is_refused(walk, headings):
    problem = walk.refused("suppliers", {"name": "A", "mapping": headings})

    assert (problem.status, problem.code) == (413, "too_large")


def test_a_uid_that_is_taken_names_no_second_supplier(walk, supplier):
    problem = walk.refused("suppliers", {"name": "Another", "uid": supplier})

    assert (problem.status, problem.code) == (409, "contradicts_record")


@pytest.mark.parametrize(
    ("who", "status"), [("keeper", 403), ("auditor", 403), ("manager", 201)]
)
@pytest.mark.parametrize(
    ("path", "body"), [("suppliers", {"name": "A"}), ("species", {"scientific_name": "A b"})]
)
def test_managers_set_suppliers_and_species(walk, who, status, path, body):
    answer = walk.as_person("Ola", who).send("POST", path, body)

    assert answer.status_code == status
