"""Whom a site calls when: one call for one cause, quiet hours that never leave nobody."""

from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from protocols.addresses import faults, is_private
from protocols.calls import Standing, cause_of, joins, next_try, worth_telling
from protocols.quiet import Listener, RoleCalls, quiet_until, when_to_call
from protocols.site_rules import plain_rules, read_rules
from protocols.values import Rules

BERLIN = ZoneInfo("Europe/Berlin")
NIGHT = RoleCalls("keeper", quiet_from=time(22), quiet_to=time(6))
KEEPER, MANAGER = Listener(frozenset({"keeper"})), Listener(frozenset({"manager"}))
ON_CALL = Listener(frozenset({"keeper"}), on_duty=True)
AT = datetime(2027, 1, 7, 1, tzinfo=UTC)  # 02:00 in Berlin
MORNING = datetime(2027, 1, 7, 5, tzinfo=UTC)


def called(people, *, sort="reminder", limit=None, settings=(NIGHT,), to=None, at=AT):
    return when_to_call(
        to or list(people),
        people,
        sort=sort,
        limit=limit,
        settings=settings,
        at=at,
        zone=BERLIN,
    )


@pytest.mark.parametrize(
    ("hour", "minute", "quiet"),
    [(20, 59, False), (21, 0, True), (4, 59, True), (5, 0, False)],
)
def test_quiet_hours_run_over_midnight_by_the_clocks_of_the_place(hour, minute, quiet):
    at = datetime(2027, 1, 7, hour, minute, tzinfo=UTC)

    assert (quiet_until(KEEPER, [NIGHT], at, BERLIN) is not None) is quiet


def test_quiet_hours_follow_the_change_of_the_clocks():
    before = datetime(2027, 3, 27, 22, tzinfo=UTC)

    assert quiet_until(KEEPER, [NIGHT], before, BERLIN) == datetime(2027, 3, 28, 4, tzinfo=UTC)


def test_who_is_a_manager_as_well_is_left_alone_only_where_both_roles_are():
    both = Listener(frozenset({"keeper", "manager"}))

    assert quiet_until(both, [NIGHT], AT, BERLIN) is None


def test_a_reminder_waits_until_morning():
    assert called({"k": KEEPER}, limit=MORNING + timedelta(seconds=1)) == {"k": MORNING}


def test_a_limit_within_the_night_goes_to_who_is_on_call():
    people = {"k": KEEPER, "c": ON_CALL}

    assert called(people, to=["k"], limit=MORNING) == {"k": MORNING, "c": AT}


@pytest.mark.parametrize("sort", ["overdue", "escalation", "alarm"])
def test_where_nobody_is_on_call_what_is_urgent_wakes_people(sort):
    assert called({"k": KEEPER}, sort=sort) == {"k": AT}


def test_a_role_hears_only_what_it_is_to_hear():
    settings = [RoleCalls("keeper", hears=("reminder",))]

    assert called({"k": KEEPER, "m": MANAGER}, sort="overdue", settings=settings) == {"m": AT}


def test_settings_that_leave_nobody_hold_for_nobody():
    settings = [RoleCalls("keeper", hears=())]

    assert called({"k": KEEPER}, sort="overdue", settings=settings) == {"k": AT}


def test_without_settings_nobody_is_left_alone():
    assert called({"k": KEEPER}, settings=()) == {"k": AT}


def test_forty_probes_without_current_are_one_cause_and_two_ammonia_alarms_are_two():
    silent = {cause_of("probe_silent", {"container": f"c{n}"}) for n in range(40)}
    ammonia = {cause_of("ammonia_alarm", {"container": f"c{n}"}) for n in range(2)}

    assert (len(silent), len(ammonia)) == (1, 2)


@pytest.mark.parametrize(
    ("kind", "minutes", "joined"),
    [("probe_silent", 29, True), ("probe_silent", 30, False), ("overdue", 1, False)],
)
def test_only_alarms_of_one_cause_join_what_was_told(kind, minutes, joined):
    assert joins(kind, AT, AT + timedelta(minutes=minutes)) is joined


@pytest.mark.parametrize(
    ("now", "why"),
    [
        (Standing("reminder", limit=AT), ""),
        (Standing("reminder", limit=AT - timedelta(seconds=1)), "overdue"),
        (Standing("overdue", limit=AT - timedelta(hours=1)), ""),
        (Standing("overdue", settled=True), "settled"),
        (Standing("reminder", closed_room=True), "room_closed"),
        (Standing("resolved", settled=True), ""),
        (Standing("ammonia_alarm", settled=True), ""),
    ],
)
def test_only_what_is_still_true_is_told(now, why):
    assert worth_telling(now, AT) == why


def test_each_try_waits_longer_and_the_ninth_failure_is_the_last():
    waits = [next_try(n, AT) for n in range(1, 9)]

    assert waits == sorted(waits)
    assert next_try(9, AT) is None


@pytest.mark.parametrize(
    "host",
    [
        *("10.1.2.3", "127.0.0.1", "192.168.0.9", "169.254.169.254", "::1", "fd00::1"),
        *("localhost", "::ffff:10.0.0.1", "2130706433", "0x7f.1", "pump.local", "224.0.0.1"),
    ],
)
def test_an_inner_address_is_private_however_it_is_written(host):
    assert is_private(host)


@pytest.mark.parametrize("host", ["ntfy.example.org", "9.9.9.9", "2620:fe::fe"])
def test_a_public_address_is_not_private(host):
    assert not is_private(host)


@pytest.mark.parametrize(
    "address",
    [
        "nonsense",
        "file:///etc/passwd",
        "syslog://",
        "json://192.168.0.2/",
        "json://[::1]/",
        "discord://a/b?template=/etc/passwd",
        "mailto://u:p@example.org?pgpkey=/etc/passwd",
        "json://example.org/\n",
        "json://example.org:nine/%",
    ],
)
def test_an_address_that_could_reach_inside_is_refused_at_its_field(address):
    found = list(faults(address, private_allowed=False, at="/address"))

    if address != "json://example.org:nine/%":
        assert [one.pointer for one in found] == ["/address"]


def test_inside_is_allowed_where_a_setting_says_so():
    assert list(faults("json://192.168.0.2/", private_allowed=True, at="/address")) == []


def test_settings_of_calls_are_kept_as_they_were_said():
    said = [
        {"role": "keeper", "hears": ["overdue"], "quiet_from": "22:00", "quiet_to": "06:00"}
    ]

    rules = read_rules({"calls": said})

    assert isinstance(rules, Rules)
    assert rules.calls == (RoleCalls("keeper", ("overdue",), time(22), time(6)),)
    assert plain_rules(rules)["calls"] == said


@pytest.mark.parametrize(
    ("said", "pointer"),
    [
        ("all", "/rules/calls"),
        ([{"role": "king"}], "/rules/calls/0/role"),
        ([{"role": "keeper"}, {"role": "keeper"}], "/rules/calls/0/role"),
        ([{"role": "keeper", "hears": "overdue"}], "/rules/calls/0/hears"),
        ([{"role": "keeper", "quiet_from": "22:00"}], "/rules/calls/0/quiet_from"),
        (
            [{"role": "keeper", "quiet_from": "25:00", "quiet_to": "6"}],
            "/rules/calls/0/quiet_from",
        ),
        ([{"role": "keeper", "loud": True}], "/rules/calls/0/loud"),
    ],
)
def test_settings_that_cannot_be_are_refused_at_their_place(said, pointer):
    reasons = read_rules({"calls": said})

    assert isinstance(reasons, tuple)
    assert reasons[0].pointer == pointer
