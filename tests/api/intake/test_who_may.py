"""Who may do what with deliveries and lists, and what is not there for others."""

import json

import pytest

from stock.models import Consignment, Supplier
from tests.api.intake.lists import NINE, PLAIN, line_of


@pytest.mark.parametrize(("who", "status"), [("keeper", 201), ("auditor", 403)])
def test_keepers_deliver_and_count(walk, enter, who, status):
    consignment = enter(20)
    other = walk.as_person("Ola", who)

    delivered = other.send(
        "POST", f"consignments/{consignment['uid']}/deliveries", {"delivered_at": NINE}
    )
    counted = other.send("POST", f"lines/{line_of(consignment)}/counts", {"received": 20})

    assert (delivered.status_code, counted.status_code) == (status, status)


@pytest.mark.parametrize(
    ("path", "body"),
    [
        (
            "sites/{site}/consignments",
            {"supplier": "{supplier}", "lines": [{"text": "x", "listed": 1}]},
        ),
        ("consignments/{consignment}/deliveries", {"delivered_at": NINE}),
        ("lines/{line}/counts", {"received": 1}),
        ("lines/{line}/species", {"species": "{species}"}),
    ],
)
def test_what_is_another_shop_s_is_not_there(
    walk, stranger, enter, supplier, species, path, body
):
    consignment = enter(20)
    uids = {
        "site": walk.site,
        "supplier": supplier,
        "species": species,
        "consignment": consignment["uid"],
        "line": line_of(consignment),
    }
    filled = {
        name: value.format(**uids) if isinstance(value, str) else value
        for name, value in body.items()
    }

    assert stranger.refused(path.format(**uids), filled).status == 404


@pytest.mark.parametrize("path", ["suppliers/{supplier}", "species/{species}"])
def test_another_shop_s_supplier_and_species_are_neither_read_nor_changed(
    stranger, supplier, species, path
):
    path = path.format(supplier=supplier, species=species)
    body = {"name": "Mine"} if "suppliers" in path else {"scientific_name": "Mine"}

    read = stranger.send("GET", path)
    changed = stranger.send("PUT", path, body, **{"If-Match": '"1"'})

    assert (read.status_code, changed.status_code) == (404, 404)
    assert stranger.get("suppliers") == {"suppliers": []}
    assert stranger.get("species") == {"species": []}


def test_another_shop_s_supplier_and_species_cannot_be_named(walk, stranger, supplier, species):
    here = f"sites/{stranger.site}/consignments"
    own = stranger.post("suppliers", {"name": "Own"})["supplier"]["uid"]

    by_supplier = stranger.refused(
        here, {"supplier": supplier, "lines": [{"text": "x", "listed": 1}]}
    )
    by_species = stranger.refused(
        here, {"supplier": own, "lines": [{"species": species, "listed": 1}]}
    )

    assert (by_supplier.status, by_species.status) == (404, 404)


def test_a_foreign_uid_does_not_take_a_supplier_over(stranger, supplier):
    problem = stranger.refused("suppliers", {"name": "Taken", "uid": supplier})

    assert problem.status == 404
    assert Supplier.objects.get().name == "Sample Atoll Aquatics"


@pytest.mark.parametrize("who", ["keeper", "auditor", "veterinarian"])
def test_managers_send_and_apply_lists(walk, send, preview, who):
    listing = preview(PLAIN)
    other = walk.as_person("Ola", who)

    sent = send(PLAIN, by=other)
    applied = other.send("POST", f"imports/{listing['uid']}/applications", {})

    assert (sent.status_code, applied.status_code) == (403, 403)
    assert not Consignment.objects.exists()


def test_another_shop_s_imports_are_not_there(walk, send, preview, stranger):
    listing = preview(PLAIN)

    sent = send(PLAIN, by=stranger)
    read = stranger.send("GET", f"imports/{listing['uid']}")
    applied = stranger.send("POST", f"imports/{listing['uid']}/applications", {})

    assert (sent.status_code, read.status_code, applied.status_code) == (404, 404, 404)


def test_another_shop_s_supplier_and_species_are_not_there(walk, send, stranger):
    supplier = stranger.post("suppliers", {"name": "Theirs"})["supplier"]["uid"]
    species = stranger.post("species", {"scientific_name": "A b"})["species"]["uid"]

    by_supplier = send(PLAIN, supplier=supplier)
    by_species = send(PLAIN, answers=json.dumps({"species": {"Gramma loreto": species}}))

    assert (by_supplier.status_code, by_species.status_code) == (404, 404)
