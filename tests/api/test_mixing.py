"""The mixing room over REST: makes as they stand, and what they are to who is put in them."""

import pytest
from django.test import Client

from tests.floor import Floor

PLACED = "2027-02-08T09:00:00+01:00"
MADE = {
    "vat": "Vat 1",
    "salt_lot": "L-7",
    "volume_l": "200",
    "salinity": "33.0",
    "temperature_c": "25.6",
    "total_chlorine_mg_l": "0",
}


@pytest.fixture(scope="module")
def opened(kept_for_module):
    return Floor.open(Client(), PLACED, containers=3, kits=3)


def mix(floor, at, **more):
    made = floor.walk.at(at).post(f"sites/{floor.walk.site}/makes", {**MADE, **more})
    return made["make"]


def fill(floor, label, make, at, **more):
    body = {"make": make["uid"], "volume_l": "60", **more}
    return floor.walk.at(at).post(f"containers/{floor.uids[label]}/fillings", body)


def placing(floor, label, kit):
    line = floor.receive(20, at=PLACED)
    floor.read(label, at=PLACED)
    where = {"container": floor.uids[label], "kit": floor.uids[kit]}
    told = {"counts": [20], "protocol": "transfer-288@1", "performed_at": PLACED}
    return {"from": [{"line": line, "count": 20}], **where, **told}


def test_a_make_is_shown_as_it_stands_and_what_stands_against_fish_in_it(floor):
    make = mix(floor, "2027-02-07T21:00:00+01:00")
    fill(floor, "R1-01", make, "2027-02-07T22:00:00+01:00")
    walk = floor.walk.at(PLACED)

    (now,) = walk.get(f"sites/{walk.site}/makes")["makes"]
    (before,) = walk.get(f"sites/{walk.site}/makes?at=2027-02-07T21:30:00%2B01:00")["makes"]

    assert (now["left_l"], now["mixed_s"], now["fit_for_fish"]) == ("140", 12 * 3600, True)
    assert (before["left_l"], before["fit_for_fish"]) == ("200", False)
    assert before["reasons"][0]["numbers"]["mixed_s"] == 1800


def test_nobody_is_placed_in_young_water_unless_a_manager_sets_that_aside(floor):
    make = mix(floor, "2027-02-08T03:00:00+01:00", total_chlorine_mg_l="0.1")
    fill(floor, "R1-01", make, "2027-02-08T04:00:00+01:00")
    body = placing(floor, "R1-01", "A-1")

    problem = floor.walk.refused("batches", body)
    insisted = [{"rule": "water_young", "reason": "the truck stood still"}]
    still = floor.walk.refused("batches", {**body, "insist": insisted})

    assert {one["code"] for one in problem.body["reasons"]} == {"water_young", "chlorine_left"}
    assert [one["code"] for one in still.body["reasons"]] == ["chlorine_left"]
    assert still.body["reasons"][0]["numbers"]["total_chlorine_mg_l"] == "0.1"


def test_what_happened_is_worth_knowing_and_a_check_told_later_takes_it_back(floor):
    make = mix(floor, "2027-02-08T03:00:00+01:00", total_chlorine_mg_l="0.1")
    fill(floor, "R1-01", make, "2027-02-08T04:00:00+01:00")
    body = placing(floor, "R1-01", "A-1")
    batch = floor.walk.post("batches", {**body, "standing": "happened"})["batch"]["uid"]

    told = {(one["rule"], one["effect"]) for one in floor.batch(batch)["deviations"]}
    check = {"total_chlorine_mg_l": "0", "performed_at": "2027-02-08T03:30:00+01:00"}
    late = {"standing": "happened", "reason": "the strip was read before the fill"}
    floor.walk.post(f"makes/{make['uid']}/checks", {**check, **late})

    assert told == {("water_young", "warns"), ("chlorine_left", "warns")}
    assert [one["rule"] for one in floor.batch(batch)["deviations"]] == ["water_young"]


def test_a_move_asks_about_the_water_it_goes_to(floor):
    batch = floor.place(20, "R1-01", "A-1", at=PLACED)
    make = mix(floor, "2027-02-11T02:00:00+01:00")
    fill(floor, "R1-02", make, "2027-02-11T07:00:00+01:00")
    floor.read("R1-01", "R1-02", at="2027-02-11T08:00:00+01:00")
    moves = {"ended_stay": floor.batch(batch)["stay"]["uid"], "counts": [20]}
    moves |= {"to_container": floor.uids["R1-02"], "kit": floor.uids["B-1"]}

    problem = floor.walk.refused(f"batches/{batch}/moves", moves)

    assert (problem.code, problem.body["reasons"][0]["numbers"]["mixed_s"]) == (
        "water_young",
        6 * 3600,
    )


def test_shared_water_is_read_both_ways(floor):
    make = mix(floor, "2027-02-07T09:00:00+01:00")
    fill(floor, "R1-01", make, "2027-02-08T08:00:00+01:00")
    batch = floor.place(20, "R1-01", "A-1", at=PLACED)

    reached = floor.walk.get(f"makes/{make['uid']}/reached")
    makes = floor.walk.get(f"batches/{batch}/makes")["makes"]

    assert [one["container_label"] for one in reached["containers"]] == ["R1-01"]
    assert [one["uid"] for one in reached["batches"]] == [batch]
    assert [(one["make"], one["volume_l"]) for one in makes] == [(make["uid"], "60")]


# -- What slips say of amounts ---------------------------------------------------------------


def in_use(floor, **bleach):
    site = f"sites/{floor.walk.site}"
    lot = {"label": "L-7", "product": "Sea salt", "dry_fraction": "0.92"}
    floor.walk.post(f"{site}/salt-lots", {**lot, "dry_fraction_from": "measured"})
    known = {"label": "B-1", "product": "Bleach", "strength_from": "measured"}
    floor.walk.post(f"{site}/bleaches", {**known, **bleach})


def slips(floor, what):
    tasks = floor.walk.get(f"tasks?site={floor.walk.site}")["tasks"]
    return [one["amounts"] for one in tasks if one["what"] == what]


def test_slips_say_litres_and_kilos_and_what_a_bath_takes(floor):
    batch = floor.place(20, "R1-01", "A-1", at=PLACED)
    nothing = slips(floor, "prepare")
    in_use(floor, strength_percent="8.25", strength_basis="naocl_w/w", density_g_ml="1.11")
    floor.move(batch, "R1-02", "B-1", [20], at="2027-02-11T08:00:00+01:00")

    (prepare,) = slips(floor, "prepare")
    bath = slips(floor, "disinfect")[0]

    assert (nothing[0]["dry_fraction_from"], nothing[0]["salt_lot"]) == ("assumed", None)
    # 60 L of salinity 33 at 25.6 C by a dry fraction of 0.92.
    assert (prepare["litres"], prepare["salt_kg"], prepare["salt_lot"]) == (
        "60",
        "2.210",
        "L-7",
    )
    assert (bath["bleach_ml"], bath["thiosulfate_g"], bath["contact_s"]) == ("140", "85", 3600)
    assert "8.25 % NaOCl w/w, measured" in bath["text"]


def test_without_a_bottle_nobody_says_how_much_bleach(floor):
    batch = floor.place(20, "R1-01", "A-1", at=PLACED)
    floor.move(batch, "R1-02", "B-1", [20], at="2027-02-11T08:00:00+01:00")

    assert set(slips(floor, "disinfect")) == {None}


# -- What is needed --------------------------------------------------------------------------


def test_the_days_ahead_say_what_is_needed_what_is_short_and_from_when(floor):
    in_use(floor, strength_percent="5", strength_basis="trade_percent")
    floor.place(20, "R1-01", "A-1", at=PLACED)
    mix(floor, PLACED, volume_l="100")
    found = floor.walk.get(f"sites/{floor.walk.site}/water-needs")

    needed = {one["day"]: one for one in found["days"] if one["litres"] != "0"}

    # Every 72 h the next container of 60 L, filled 2 h before the move.
    assert list(needed) == ["2027-02-11", "2027-02-14"]
    first, second = needed.values()
    assert (first["litres"], first["salt_kg"], first["to_mix_l"]) == ("60", "2.210", "0")
    assert first["fills"][0]["at"] == "2027-02-11T06:00:00Z"
    assert (second["to_mix_l"], second["to_mix_kg"]) == ("20", "0.735")
    assert second["mix_by"] == "2027-02-13T18:00:00Z"
    assert (found["standing_l"], found["short_from"]) == ("100", "2027-02-14")


def test_a_container_that_is_filled_already_needs_no_water(floor):
    floor.place(20, "R1-01", "A-1", at=PLACED)
    needs = f"sites/{floor.walk.site}/water-needs"
    (target,) = [
        fill["container_label"]
        for day in floor.walk.get(needs)["days"]
        for fill in day["fills"]
        if fill["move"] == 1
    ]

    fill(floor, target, mix(floor, PLACED), PLACED)

    left = [fill["move"] for day in floor.walk.get(needs)["days"] for fill in day["fills"]]
    assert left == [2]


def test_salt_that_will_not_do_is_said_days_before(floor):
    in_use(floor, strength_percent="5", strength_basis="trade_percent")
    (lot,) = floor.walk.get(f"sites/{floor.walk.site}/salt-lots")["salt-lots"]
    floor.walk.at(PLACED).post(f"salt-lots/{lot['uid']}/deliveries", {"mass_kg": "3"})
    floor.place(20, "R1-01", "A-1", at=PLACED)

    found = floor.walk.get(f"sites/{floor.walk.site}/water-needs")

    assert (found["short_from"], found["salt_short_from"]) == ("2027-02-11", "2027-02-14")


def test_water_changes_are_planned_as_they_were_in_the_last_week(floor):
    make = mix(floor, PLACED, volume_l="1000")
    where = f"containers/{floor.uids['R1-03']}/water-changes"
    floor.walk.post(where, {"make": make["uid"], "volume_l": "70"})

    found = floor.walk.get(f"sites/{floor.walk.site}/water-needs")

    assert {one["water_changes_l"] for one in found["days"]} == {"10"}
