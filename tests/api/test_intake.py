"""Suppliers, species, small deliveries and counts out of the bags, over REST."""

import pytest

from stock import clock, rebuild
from stock.doors.people import NewPerson, Place, make_organisation
from stock.models import Consignment, Fact, Log, Supplier
from stock.verify import verify
from tests.walk import Walk

pytestmark = pytest.mark.django_db(transaction=True)

NINE = "2027-01-05T09:00:00+01:00"


@pytest.fixture
def walk(client, settings):
    settings.TEST_CLOCK = True
    return Walk.begin(client, NINE)


@pytest.fixture
def supplier(walk):
    terms = {"doa": 7200, "short": 86_400}
    body = {"name": "Sample Atoll Aquatics", "claim_terms": terms}
    return walk.post("suppliers", body)["supplier"]["uid"]


@pytest.fixture
def species(walk):
    return walk.post("species", {"scientific_name": "Gramma loreto"})["species"]["uid"]


@pytest.fixture
def consignments(walk):
    return f"sites/{walk.site}/consignments"


@pytest.fixture
def enter(walk, supplier, species, consignments):
    """Enter a small delivery with one line; the consignment."""

    def enter(listed=20, **more):
        line = {"species": species, "listed": listed, **more.pop("line", {})}
        body = {"supplier": supplier, "lines": [line], **more}
        return walk.post(consignments, body)["consignment"]

    return enter


def line_of(consignment):
    return consignment["lines"][0]["uid"]


def numbers(thing):
    names = ("listed", "received", "doa", "placed", "left", "short", "over")
    return {name: thing[name] for name in names}


# -- Suppliers and species ---------------------------------------------------------------


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


# -- Small deliveries --------------------------------------------------------------------


def test_a_small_delivery_has_supplier_species_and_numbers(walk, enter):
    consignment = enter(20, waybill="999-1", line={"boxes": ["1"]})

    assert (consignment["waybill"], consignment["list_version"]) == ("999-1", 1)
    assert consignment["lines"][0]["text"] == "Gramma loreto"
    assert consignment["lines"][0]["box"] == "1"
    assert numbers(consignment)["listed"] == 20
    assert walk.get(f"consignments/{consignment['uid']}")["consignment"] == consignment


def test_one_waybill_of_a_supplier_is_one_consignment(walk, enter, supplier, consignments):
    first = enter(20, waybill="999-1")

    body = {"supplier": supplier, "waybill": "999-1", "lines": [{"text": "x", "listed": 1}]}
    problem = walk.refused(consignments, body)

    assert (problem.status, problem.code) == (409, "already_applied")
    assert problem.body["existing"]["uid"] == first["uid"]


def test_a_line_may_have_only_the_printed_text(walk, supplier, consignments):
    body = {"supplier": supplier, "lines": [{"text": "Royal gramma", "listed": 3}]}

    line = walk.post(consignments, body)["consignment"]["lines"][0]

    assert (line["text"], line["species"]) == ("Royal gramma", None)


def test_a_line_is_matched_with_a_species_afterwards(walk, supplier, species, consignments):
    body = {"supplier": supplier, "lines": [{"text": "Royal gramma", "listed": 3}]}
    line = line_of(walk.post(consignments, body)["consignment"])

    matched = walk.post(f"lines/{line}/species", {"species": species})

    assert matched["line"]["scientific_name"] == "Gramma loreto"
    assert rebuild.check(clock.now()) == []


def test_a_long_list_is_told_in_several_entries_of_one_group(walk, supplier, consignments):
    lines = [{"text": f"{n} {'x' * 190}", "listed": 1} for n in range(500)]

    made = walk.post(consignments, {"supplier": supplier, "lines": lines})["consignment"]

    facts = Fact.objects.filter(kind="list_applied").order_by("seq")
    assert [fact.body["part"] for fact in facts] == [1, 2, 3, 4]
    assert len({fact.group for fact in facts}) == 1
    assert [line["n"] for line in made["lines"]] == list(range(1, 501))
    assert verify(Log.objects.get(uid=walk.site)) is None
    assert rebuild.check(clock.now()) == []


@pytest.mark.parametrize(
    ("line", "pointer"),
    [
        ({"listed": 0}, "/lines/0/listed"),
        ({"listed": -1}, "/lines/0/listed"),
        ({"listed": 2.5}, "/lines/0/listed"),
        ({"listed": "20"}, "/lines/0/listed"),
        ({"listed": True}, "/lines/0/listed"),
        ({"listed": 1_000_001}, "/lines/0/listed"),
        ({"text": None}, "/lines/0/species"),
        ({"boxes": "1"}, "/lines/0/boxes"),
        ({"boxes": [{"box": "1", "listed": -1}]}, "/lines/0/boxes/0/listed"),
        ({"boxes": [""]}, "/lines/0/boxes/0/box"),
        ({"boxes": ["x" * 61]}, "/lines/0/boxes/0/box"),
        ({"boxes": ["1", "1"]}, "/lines/0/boxes"),
        ({"price": "1"}, "/lines/0/price"),
    ],
)
def test_a_bad_line_is_named_at_its_field(walk, supplier, consignments, line, pointer):
    body = {"supplier": supplier, "lines": [{"text": "Royal gramma", "listed": 20, **line}]}

    problem = walk.refused(consignments, body)

    assert problem.status == 400
    assert problem.body["reasons"][0]["pointer"] == pointer
    assert not Consignment.objects.exists()


def test_boxes_add_up_to_their_line(walk, supplier, consignments):
    boxes = [{"box": "1", "listed": 15}, {"box": "2", "listed": 4}]
    body = {
        "supplier": supplier,
        "lines": [{"text": "Royal gramma", "listed": 20, "boxes": boxes}],
    }

    problem = walk.refused(consignments, body)

    assert (problem.status, problem.code) == (409, "split_sum")
    assert problem.body["reasons"][0]["numbers"] == {"listed": 20, "in_boxes": 19}


# -- Deliveries --------------------------------------------------------------------------


def test_windows_for_claims_run_from_the_delivery(walk, enter):
    consignment = enter()
    walk.at("2027-01-05T09:55:00+01:00")

    told = walk.post(
        f"consignments/{consignment['uid']}/deliveries",
        {"delivered_at": "2027-01-05T09:12:00+01:00"},
    )

    doa, short = told["claim_deadlines"]
    assert (doa["kind"], doa["at"], doa["left_s"]) == ("doa", "2027-01-05T10:12:00Z", 4620)
    assert (doa["left_text"], doa["remind_at"]) == ("1:17", "2027-01-05T09:42:00Z")
    assert (short["kind"], short["at"]) == ("short", "2027-01-06T08:12:00Z")
    assert doa["text"] != short["text"]


def test_a_consignment_is_delivered_once(walk, enter):
    path = f"consignments/{enter()['uid']}/deliveries"
    walk.post(path, {"delivered_at": NINE})

    walk.post(path, {"delivered_at": NINE})
    problem = walk.refused(path, {"delivered_at": "2027-01-05T08:59:00+01:00"})

    assert (problem.status, problem.code) == (409, "contradicts_record")


@pytest.mark.parametrize(
    ("told", "code"),
    [
        ("2027-01-05T09:03:00+01:00", "in_future"),
        ("2027-01-05T09:00:00", "offset_missing"),
        ("soon", "unreadable"),
    ],
)
def test_a_delivery_has_a_moment_that_was(walk, enter, told, code):
    path = f"consignments/{enter()['uid']}/deliveries"

    problem = walk.refused(path, {"delivered_at": told})

    assert (problem.status, problem.code) == (400, code)
    assert problem.body["reasons"][0]["pointer"] == "/delivered_at"


# -- Counts ------------------------------------------------------------------------------


def test_a_count_tells_the_line_s_numbers(walk, enter):
    line = line_of(enter(20))

    told = walk.post(f"lines/{line}/counts", {"received": 18, "doa": 1})

    assert numbers(told) == {
        "listed": 20,
        "received": 18,
        "doa": 1,
        "placed": 0,
        "left": 17,
        "short": 2,
        "over": 0,
    }
    assert rebuild.check(clock.now()) == []


def test_counts_by_box_add_up(walk, enter):
    boxes = [{"box": "1", "listed": 15}, {"box": "2", "listed": 5}]
    line = line_of(enter(20, line={"boxes": boxes}))

    first = walk.post(f"lines/{line}/counts", {"box": "1", "received": 15, "doa": 1})
    second = walk.post(f"lines/{line}/counts", {"box": "2", "received": 6, "doa": 0})

    assert (first["received"], first["short"], first["line"]["counted"]) == (15, 0, False)
    assert (second["received"], second["doa"], second["over"]) == (21, 1, 1)
    assert [box["over"] for box in second["line"]["boxes"]] == [0, 1]


def test_animals_in_a_box_they_are_not_listed_in_are_short_and_over(walk, enter):
    boxes = [{"box": "1", "listed": 15}, {"box": "2", "listed": 5}]
    line = line_of(enter(20, line={"boxes": boxes}))

    walk.post(f"lines/{line}/counts", {"box": "1", "received": 15})
    walk.post(f"lines/{line}/counts", {"box": "2", "received": 3})
    told = walk.post(f"lines/{line}/counts", {"box": "3", "received": 2})

    assert (told["received"], told["short"], told["over"]) == (20, 0, 0)
    pinned = {box["box"]: (box["short"], box["over"]) for box in told["line"]["boxes"]}
    assert pinned == {"1": (0, 0), "2": (2, 0), "3": (0, 2)}


@pytest.mark.parametrize("again", [{"box": "1"}, {}])
def test_a_box_is_counted_once(walk, enter, again):
    line = line_of(enter(20, line={"boxes": ["1"]}))
    walk.post(f"lines/{line}/counts", {"received": 18, "doa": 0})

    problem = walk.refused(f"lines/{line}/counts", {"received": 2, "doa": 0, **again})

    assert (problem.status, problem.code) == (409, "contradicts_record")
    assert walk.post(f"lines/{line}/counts", {"box": "2", "received": 2})["received"] == 20


def test_a_second_count_told_as_done_is_parked_and_moves_nobody(walk, enter):
    line = line_of(enter(20))
    walk.post(f"lines/{line}/counts", {"received": 18, "doa": 0})

    told = walk.post(f"lines/{line}/counts", {"received": 19, "doa": 0, "standing": "happened"})

    assert told["fact"]["parked"] is True
    assert told["received"] == 18
    assert rebuild.check(clock.now()) == []


@pytest.mark.parametrize(
    ("count", "status", "code", "pointer"),
    [
        ({"received": 3, "doa": 4}, 409, "more_than_received", "/doa"),
        ({"received": 3, "wrong_species": 4}, 409, "more_than_received", "/wrong_species"),
        ({"received": -1}, 400, "not_positive", "/received"),
        ({"received": 2.5}, 400, "not_whole", "/received"),
        ({"received": 2_000_000}, 400, "unreadable", "/received"),
        ({"doa": 1}, 400, "unreadable", "/received"),
        ({"received": 3, "box": "x" * 61}, 400, "unreadable", "/box"),
    ],
)
def test_a_count_that_cannot_be_is_refused(walk, enter, count, status, code, pointer):
    line = line_of(enter(20))

    problem = walk.refused(f"lines/{line}/counts", count)

    assert (problem.status, problem.code) == (status, code)
    assert problem.body["reasons"][0]["pointer"] == pointer
    assert not Fact.objects.filter(kind="line_counted").exists()


def test_a_note_about_a_count_stands_beside_its_entry(walk, enter):
    line = line_of(enter(20))

    walk.post(f"lines/{line}/counts", {"received": 0, "note": "Mara saw the bag burst"})

    fact = Fact.objects.get(kind="line_counted")
    assert b"burst" not in bytes(fact.entry)
    assert fact.texts.get(name="note").value == "Mara saw the bag burst"


# -- Lists -------------------------------------------------------------------------------


def test_consignments_are_listed_newest_first_a_page_at_a_time(walk, enter, consignments):
    made = [
        walk.at(f"2027-01-05T10:{n:02}:00+01:00") and enter(n + 1)["uid"] for n in range(23)
    ]

    first = walk.get(consignments)
    second = walk.get(f"{consignments}?after={first['after']}")

    shown = [one["uid"] for one in first["consignments"] + second["consignments"]]
    assert shown == list(reversed(made))
    assert second["after"] is None


@pytest.mark.parametrize("lines", [1, 40])
def test_a_list_takes_the_same_queries_for_one_line_or_many(
    walk, supplier, consignments, lines, django_assert_max_num_queries
):
    body = [{"text": f"Goby {n}", "listed": 1} for n in range(lines)]
    made = walk.post(consignments, {"supplier": supplier, "lines": body})["consignment"]

    with django_assert_max_num_queries(7):
        walk.get(consignments)
    with django_assert_max_num_queries(9):
        walk.get(f"consignments/{made['uid']}")


# -- Who may ------------------------------------------------------------------------------


@pytest.mark.parametrize(("who", "status"), [("keeper", 201), ("auditor", 403)])
def test_keepers_deliver_and_count(walk, enter, who, status):
    consignment = enter(20)
    other = walk.as_person("Ola", who)

    delivered = other.send(
        "POST", f"consignments/{consignment['uid']}/deliveries", {"delivered_at": NINE}
    )
    counted = other.send("POST", f"lines/{line_of(consignment)}/counts", {"received": 20})

    assert (delivered.status_code, counted.status_code) == (status, status)


@pytest.fixture
def stranger(walk, client):
    """Somebody with an organisation of their own."""
    boss = NewPerson("Ines", "ines@example.org", "correct horse")
    made = make_organisation(
        name="Elsewhere", person=boss, site=Place("Yard", "Europe/Lisbon"), at=clock.now()
    ).body
    return Walk(
        client, walk.now, made["token"], made["site"]["uid"], made["organisation"]["uid"]
    )


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
