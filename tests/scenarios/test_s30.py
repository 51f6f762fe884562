"""S-30: 03/04/2027 in a packing list."""

import hashlib
import json

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from stock.files import path_of
from stock.models import Consignment
from tests.walk import Walk

TODAY = "2027-03-20T09:00:00+01:00"
OPEN = """\
Box,Species,Qty,Arrival
1,Gramma loreto,5,03/04/2027
1,Chromis viridis,5,04/04/2027
2,Chromis viridis,4,05/04/2027
"""
SURE = OPEN + "".join(f"3,Gramma loreto,1,{day:02}/04/2027\n" for day in (6, 7, 8, 9, 13))


@pytest.fixture
def walk(transactional_db, client, settings, tmp_path):
    settings.TEST_CLOCK = True
    settings.DATA = tmp_path
    return Walk.begin(client, TODAY)


@pytest.fixture
def supplier(walk):
    return walk.post("suppliers", {"name": "Lautan Contoh"})["supplier"]["uid"]


@pytest.fixture
def preview(walk, supplier):
    def preview(text, name="list.csv", of=supplier, **answers):
        form = {"supplier": of, "file": SimpleUploadedFile(name, text.encode())}
        if answers:
            form["answers"] = json.dumps(answers)
        headers = {"Fillmark-Now": walk.now, "Authorization": f"Bearer {walk.token}"}
        address = f"/api/v1/sites/{walk.site}/imports"
        return walk.client.post(address, form, headers=headers).json()["import"]

    return preview


def arrivals(listing):
    return [line["arrives"] for line in listing["lines"]]


def told(listing, code):
    return [one for one in listing["problems"] if one["code"] == code]


def test_s30_1_it_asks_once_and_shows_both_readings(preview):
    (question,) = preview(OPEN)["questions"]

    assert question["key"] == "date_order"
    assert [choice["shows"] for choice in question["choices"]] == [
        "day first: 03/04/2027 is 3 April 2027",
        "month first: 03/04/2027 is 4 March 2027",
    ]


def test_s30_2_the_answer_is_kept_for_this_supplier_alone(walk, preview):
    other = walk.post("suppliers", {"name": "Another"})["supplier"]["uid"]
    listing = preview(OPEN)
    answers = {"answers": {"date_order": "day_first"}}
    walk.post(f"imports/{listing['uid']}/applications", answers)
    next_list = OPEN.replace("2,Chromis viridis,4", "2,Chromis viridis,3")

    again, elsewhere = preview(next_list), preview(next_list, of=other)

    assert again["questions"] == []
    assert arrivals(again) == ["2027-04-03", "2027-04-04", "2027-04-05"]
    assert [one["key"] for one in elsewhere["questions"]] == ["date_order"]


def test_s30_3_one_row_that_reads_one_way_only_decides_for_the_column_and_is_told(preview):
    listing = preview(SURE)

    assert listing["questions"] == []
    assert arrivals(listing)[0] == "2027-04-03"
    (note,) = listing["notes"]
    assert "Row 9 (13/04/2027) can only be read day first" in note["detail"]


def test_s30_4_another_file_with_iso_dates_and_a_sure_row_asks_nothing(preview):
    listing = preview(
        "Species,Qty,Arrival\nGramma loreto,5,2027-04-03\nChromis viridis,5,13/04/2027\n"
    )

    assert listing["questions"] == []
    assert arrivals(listing) == ["2027-04-03", "2027-04-13"]


def test_s30_5_a_day_more_than_sixty_days_ahead_is_flagged(preview):
    listing = preview(OPEN.replace("05/04/2027", "2027-05-20"), date_order="day_first")

    (flag,) = told(listing, "far_future")
    assert (flag["row"], flag["column"]) == (4, "Arrival")


def test_s30_6_a_day_before_its_order_is_flagged(preview):
    listing = preview("Species,Qty,Order date,Arrival\nGramma loreto,5,2027-03-15,2027-03-14\n")

    (flag,) = told(listing, "before_order")
    assert (flag["row"], flag["column"]) == (2, "Arrival")


def test_s30_7_nothing_is_entered_before_and_the_original_is_kept_with_its_checksum(
    walk, preview
):
    listing = preview(OPEN)

    problem = walk.refused(f"imports/{listing['uid']}/applications", {})

    assert (problem.status, problem.code) == (409, "question_open")
    assert not Consignment.objects.exists()
    kept = path_of(listing["sha256"]).read_bytes()
    assert (kept, hashlib.sha256(kept).hexdigest()) == (OPEN.encode(), listing["sha256"])
