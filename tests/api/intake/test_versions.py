"""Later lists of the same waybill."""

from stock import clock, rebuild
from tests.api.intake.lists import LATER, PLAIN, apply


def test_a_later_list_of_a_waybill_shows_what_differs(walk, preview):
    first = apply(walk, preview(PLAIN))

    existing = preview(LATER)["existing"]

    assert (existing["uid"], existing["list_version"]) == (first["uid"], 1)
    assert existing["same_file"] is False
    assert [(one["kind"], one["fields"]) for one in existing["differences"]] == [
        ("changed", ["listed"]),
        ("added", []),
    ]


def test_differences_are_accepted_before_a_later_list_is_applied(walk, preview):
    first = apply(walk, preview(PLAIN))
    listing = preview(LATER)
    keys = [one["key"] for one in listing["existing"]["differences"]]

    problem = walk.refused(
        f"imports/{listing['uid']}/applications", {"differences_accepted": keys[:1]}
    )
    second = apply(walk, listing, differences_accepted=keys)

    assert (problem.status, problem.code) == (409, "difference_open")
    assert [one["numbers"]["difference"] for one in problem.body["reasons"]] == keys[1:]
    assert (second["uid"], second["list_version"]) == (first["uid"], 2)
    assert [line["uid"] for line in second["lines"]][:2] == [
        line["uid"] for line in first["lines"]
    ]
    assert [line["listed"] for line in second["lines"]] == [15, 4, 3]


def test_counts_do_not_change_by_a_later_list(walk, preview):
    lines = apply(walk, preview(PLAIN))["lines"]
    walk.post(f"lines/{lines[0]['uid']}/counts", {"received": 14, "doa": 1})
    walk.post(f"lines/{lines[1]['uid']}/counts", {"received": 5, "doa": 0})
    shorter = preview("AWB,Box,Species,Qty,Price\n999-1,1,Gramma loreto,14,2.10\n")

    keys = [one["key"] for one in shorter["existing"]["differences"]]
    second = apply(walk, shorter, differences_accepted=keys)

    told = [(line["listed"], line["received"], line["doa"]) for line in second["lines"]]
    assert told == [(14, 14, 1), (0, 5, 0)]
    assert (second["short"], second["over"]) == (0, 5)
    assert rebuild.check(clock.now()) == []


def test_a_list_that_says_the_same_in_another_file_is_already_applied(walk, preview):
    apply(walk, preview(PLAIN))
    listing = preview(PLAIN.replace("\n", "\r\n"))

    problem = walk.refused(f"imports/{listing['uid']}/applications", {})

    assert problem.code == "already_applied"


def test_an_older_version_sent_again_is_already_applied(walk, preview):
    apply(walk, preview(PLAIN))
    listing = preview(LATER)
    keys = [one["key"] for one in listing["existing"]["differences"]]
    apply(walk, listing, differences_accepted=keys)

    old = preview(PLAIN)
    problem = walk.refused(f"imports/{old['uid']}/applications", {})

    assert (old["existing"]["same_file"], problem.code) == (True, "already_applied")


def test_a_list_follows_a_small_delivery_on_the_same_waybill(walk, supplier, preview):
    lines = [{"text": "Gramma loreto", "listed": 15, "boxes": ["1"]}]
    body = {"supplier": supplier, "waybill": "999-1", "lines": lines}
    first = walk.post(f"sites/{walk.site}/consignments", body)["consignment"]

    listing = preview(PLAIN)
    keys = [one["key"] for one in listing["existing"]["differences"]]
    second = apply(walk, listing, differences_accepted=keys)

    assert (second["uid"], second["list_version"]) == (first["uid"], 2)
    assert second["lines"][0]["uid"] == first["lines"][0]["uid"]


def test_a_species_matched_by_hand_outlives_a_later_list(walk, preview):
    line = apply(walk, preview(PLAIN))["lines"][0]["uid"]
    species = walk.post("species", {"scientific_name": "Gramma brasiliensis"})["species"]
    walk.post(f"lines/{line}/species", {"species": species["uid"]})
    listing = preview(LATER)

    keys = [one["key"] for one in listing["existing"]["differences"]]
    second = apply(walk, listing, differences_accepted=keys)

    assert second["lines"][0]["species"] == species["uid"]
