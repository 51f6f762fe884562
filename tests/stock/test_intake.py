"""Intake below the edge: what the database refuses, what is parked, and two at once."""

import io

import pytest
from django.db import IntegrityError, connection, transaction

from protocols.intake import BoxCounted
from protocols.values import Standing
from stock import rebuild
from stock.apply.counts import balances
from stock.doors.imports import Sent, apply_list, preview_list
from stock.doors.intake import (
    LineAsked,
    count_line,
    deliver_consignment,
    enter_consignment,
    reverse_doa,
)
from stock.doors.suppliers import make_supplier
from stock.models import Consignment, LineCount, Parked, StoredFile, Supplier
from stock.refusals import Refused
from stock.sums import wrong_sums
from tests.make import START, asking, make_line, make_person, make_shop

pytestmark = pytest.mark.django_db(transaction=True)

LIST = b"AWB,Box,Species,Qty\n999-1,1,Gramma loreto,15\n999-1,2,Chromis viridis,5\n"


@pytest.fixture
def shop(settings, tmp_path):
    settings.DATA = tmp_path
    return make_shop()


@pytest.fixture
def supplier(shop):
    made = make_supplier(asking(shop.manager), name="Sample Atoll", settings={})
    return made.body["supplier"]["uid"]


@pytest.fixture
def consignment(shop, supplier):
    made = enter_consignment(
        asking(shop.manager),
        site=shop.site,
        supplier=supplier,
        waybill=None,
        lines=(LineAsked(20, text="Gramma loreto"),),
    )
    return made.body["consignment"]


@pytest.fixture
def line(consignment):
    return consignment["lines"][0]["uid"]


@pytest.fixture
def listing(shop, supplier):
    sent = Sent(io.BytesIO(LIST), "list.csv", {})
    found = preview_list(shop.manager, site=shop.site, supplier=supplier, sent=sent, at=START)
    return found.body["import"]["uid"]


def count(person, line, received, doa=0, **given):
    return count_line(asking(person, **given), uid=line, count=BoxCounted(None, received, doa))


def test_out_of_the_bags_into_the_line_and_the_dead_apart(shop, line):
    count(shop.manager, line, 18, 1)

    assert balances(line) == {"outside": -18, "received": 17, "doa": 1}


def test_an_empty_box_moves_nobody(shop, line):
    count(shop.manager, line, 0)

    assert balances(line) == {}
    assert LineCount.objects.get().received == 0


@pytest.mark.parametrize(("received", "doa"), [(3, 4), (0, 1)])
def test_more_dead_than_received_told_as_done_is_parked(shop, line, received, doa):
    answer = count(shop.manager, line, received, doa, standing=Standing.HAPPENED)

    assert answer.body["fact"]["parked"] is True
    assert Parked.objects.get().code == "more_than_received"
    assert balances(line) == {}
    assert rebuild.check(START) == []


def test_a_second_delivery_told_as_done_is_parked_and_the_first_stands(shop, consignment):
    uid = consignment["uid"]
    later = START.replace(hour=9)
    deliver_consignment(asking(shop.manager), uid=uid, delivered_at=START)

    answer = deliver_consignment(
        asking(shop.manager, later, standing=Standing.HAPPENED), uid=uid, delivered_at=later
    )

    assert answer.body["fact"]["parked"] is True
    assert Consignment.objects.get().delivered_at == START


def test_the_database_refuses_more_dead_than_received(shop, line):
    count(shop.manager, line, 18, 1)

    with (
        pytest.raises(IntegrityError, match="doa_within_received"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute("update line_count set doa = received + 1")


def test_the_database_refuses_two_consignments_of_one_file(shop, supplier, listing):
    apply_list(asking(shop.manager), uid=listing, answers={}, accepted=())
    other = {"site": shop.site, "supplier": supplier, "waybill": None}
    enter_consignment(
        asking(shop.manager), **other, lines=(LineAsked(1, text="Gramma loreto"),)
    )

    with (
        pytest.raises(IntegrityError),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute("update consignment set file = (select max(file) from consignment)")


def test_a_supplier_whose_name_is_erased_is_still_a_supplier(shop, supplier):
    with connection.cursor() as cursor:
        cursor.execute("delete from fact_text where name = 'name'")

    rebuild.rebuild(START)

    assert Supplier.objects.get(uid=supplier).name == ""


def test_one_list_applied_by_two_people_at_once_is_one_consignment(shop, listing, together):
    boss = make_person(shop, "Ines", "manager")

    outcomes = together(
        lambda: apply_list(asking(shop.manager), uid=listing, answers={}, accepted=()),
        lambda: apply_list(asking(boss), uid=listing, answers={}, accepted=()),
    )

    refused = [one.code for one in outcomes if isinstance(one, Refused)]
    assert refused == ["already_applied"]
    assert Consignment.objects.get().list_version == 1


def test_one_file_sent_by_two_people_at_once_is_one_import(shop, supplier, together):
    boss = make_person(shop, "Ines", "manager")

    def send(person):
        sent = Sent(io.BytesIO(LIST), "list.csv", {})
        return preview_list(person, site=shop.site, supplier=supplier, sent=sent, at=START)

    first, second = together(lambda: send(shop.manager), lambda: send(boss))

    assert {first.status, second.status} == {200, 201}
    assert first.body["import"]["uid"] == second.body["import"]["uid"]
    assert StoredFile.objects.count() == 1


def test_one_box_counted_by_two_people_at_once_is_counted_once(shop, line, together):
    keeper = make_person(shop, "Ola", "keeper")

    outcomes = together(lambda: count(shop.manager, line, 18), lambda: count(keeper, line, 18))

    refused = [one.code for one in outcomes if isinstance(one, Refused)]
    assert refused == ["contradicts_record"]
    assert balances(line)["received"] == 18


# -- Dead on arrival, and alive after all ------------------------------------------------------


def test_who_lives_after_all_is_placed_as_a_batch_of_its_own(shop):
    line = make_line(shop, 6, 2)

    reverse_doa(asking(shop.manager), uid=line, count=1, evidence="it breathes")

    assert balances(line) == {"outside": -6, "received": 5, "doa": 1}
    assert wrong_sums() == []


def test_no_more_can_live_than_were_counted_dead(shop):
    line = make_line(shop, 6, 2)

    with pytest.raises(Refused) as refused:
        reverse_doa(asking(shop.manager), uid=line, count=3, evidence="they breathe")

    assert refused.value.code == "more_than_received"
    assert balances(line)["doa"] == 2
