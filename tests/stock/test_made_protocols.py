"""Protocol versions of an organisation's own: frozen, kept, worked by, and found again."""

from datetime import timedelta
from hashlib import sha256

import pytest

from protocols.values import Standing
from protocols.versions import UnknownProtocol, text_of
from stock import rebuild, rejudge
from stock.apply import apply
from stock.doors.protocols import freeze_protocol
from stock.doors.splitting import JoinAsked, join_batches
from stock.judging.load import judged
from stock.models import Batch, Fact, MadeProtocol
from stock.queries.protocols import version_at
from stock.refusals import CannotApply, Refused
from tests.make import START, asking, make_batch, make_container, make_person, make_shop, move

pytestmark = pytest.mark.django_db(transaction=True)

HOUR = timedelta(hours=1)
LONGER = ("observation_s = 1209600", "observation_s = 1728000")


def text(key="warm-288@1", number=101, *edits):
    said = text_of(key).replace("version = 1\n", f"version = {number}\n")
    for old, new in edits:
        assert old in said
        said = said.replace(old, new, 1)
    return said


def freeze(who, said, made_from="warm-288@1", **given):
    return freeze_protocol(asking(who, **given), made_from=made_from, text=said)


def refused(who, said, made_from="warm-288@1", **given):
    with pytest.raises(Refused) as found:
        freeze(who, said, made_from, **given)
    return {(one.code, one.rule) for one in found.value.reasons}


def test_a_batch_goes_by_a_version_of_our_own_from_then_on():
    shop = make_shop()
    answer = freeze(shop.manager, text("warm-288@1", 101, LONGER))
    batch = make_batch(shop, protocol="warm-288@101")

    assert answer.body["protocol"]["protocol"] == "warm-288@101"
    assert Batch.objects.get(uid=batch).limit == START + 48 * HOUR
    for number in range(1, 7):
        move(shop, batch, (20,), at=START + number * 48 * HOUR)
    seen = judged(batch, START + 288 * HOUR)
    assert seen.observation.ends_at == START + 288 * HOUR + 20 * 24 * HOUR


def test_the_record_book_alone_brings_it_back():
    shop = make_shop()
    said = text("warm-288@1", 101, LONGER).replace("\n", "\r\n")
    freeze(shop.manager, said)
    make_batch(shop, protocol="warm-288@101")

    (fact,) = Fact.objects.filter(kind="protocol_frozen")
    assert fact.log_id == shop.organisation
    assert fact.body["sha256"] == sha256(fact.body["text"].encode()).hexdigest()
    assert "\r" not in fact.body["text"]
    assert rebuild.check(START) == []
    assert rejudge.check(START) == []


def test_a_text_that_is_not_that_of_its_digest_is_never_kept():
    shop = make_shop()
    freeze(shop.manager, text())
    fact = Fact.objects.get(kind="protocol_frozen")
    fact.body["text"] = fact.body["text"].replace("172800", "182800")

    with pytest.raises(CannotApply):
        apply(fact)

    assert MadeProtocol.objects.count() == 1


def test_one_number_means_another_text_in_another_house():
    shop, other = make_shop(), make_shop()
    freeze(shop.manager, text())
    with pytest.raises(UnknownProtocol):
        version_at(other.site, "warm-288@101")
    freeze(other.manager, text("warm-288@1", 101, LONGER))

    assert version_at(shop.site, "warm-288@101").observation == timedelta(days=14)
    assert version_at(other.site, "warm-288@101").observation == timedelta(days=20)


def test_what_is_unsafe_is_refused_even_as_happened_and_whoever_insists():
    shop = make_shop()
    said = text("warm-288@1", 101, ("stay_limit_s = 172800", "stay_limit_s = 262800"))
    how = {"standing": Standing.HAPPENED, "insist": ["gap_over_hatch"]}

    assert refused(shop.manager, said, **how) >= {("protocol_unsafe", "gap_over_hatch")}
    assert not Fact.objects.filter(kind="protocol_frozen").exists()


@pytest.mark.parametrize(
    ("said", "reason"),
    [
        (text("warm-288@1", 100), ("unreadable", "protocol_text")),
        (text("transfer-288-21@1"), ("unreadable", "protocol_text")),
        (text().replace('title = "', 'subtitle = "'), ("unreadable", "protocol_text")),
        (text() + "drying_s = 1\n", ("unreadable", "protocol_text")),
        ("", ("unreadable", "protocol_text")),
    ],
)
def test_what_is_no_version_of_this_one_is_refused(said, reason):
    assert reason in refused(make_shop().manager, said)


def test_a_frozen_number_is_taken_for_ever():
    shop = make_shop()
    freeze(shop.manager, text())

    assert refused(shop.manager, text("warm-288@1", 101, LONGER)) == {
        ("label_taken", "label_taken")
    }


def test_managers_freeze_moves_and_veterinarians_what_they_prescribe():
    shop = make_shop()
    vet = make_person(shop, "Vera", "veterinarian")
    wrong = ("wrong_role", "wrong_role")

    assert refused(vet, text()) == {wrong}
    assert refused(shop.manager, text("chloroquine@1"), "chloroquine@1") == {wrong}
    freeze(vet, text("chloroquine@1"), "chloroquine@1")
    freeze(vet, text("copper-ionic@1"), "copper-ionic@1")
    freeze(shop.manager, text("copper-ionic@1", 102), "copper-ionic@101")
    assert refused(make_person(shop, "Kim", "keeper"), text()) == {wrong}


def test_nobody_is_placed_under_what_is_no_series():
    shop = make_shop()
    freeze(shop.manager, text("copper-ionic@1"), "copper-ionic@1")

    for key in ("copper-ionic@1", "copper-ionic@101", "warm-288@101"):
        with pytest.raises(Refused) as found:
            make_batch(shop, protocol=key)
        assert [one.pointer for one in found.value.reasons] == ["/protocol"]


def test_joined_batches_go_by_the_strictest_of_their_versions():
    shop = make_shop()
    longer = text("warm-288@1", 101, ("span_least_s = 1036800", "span_least_s = 1036801"))
    longer = longer.replace("moves_least = 6", "moves_least = 7").replace(
        "slack_s = 0", "slack_s = 172799"
    )
    freeze(shop.manager, longer)
    members = (make_batch(shop, protocol="warm-288@101"), make_batch(shop))
    asked = JoinAsked(members, make_container(shop), told_apart=True)

    told = asking(shop.manager, START + HOUR, standing=Standing.HAPPENED)
    joined = join_batches(told, asked=asked).body["batch"]["uid"]

    assert Batch.objects.get(uid=joined).protocol == "warm-288@101"
