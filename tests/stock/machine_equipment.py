"""What people tell of equipment and water, and what they set up and decide for the site."""

from dataclasses import replace
from datetime import timedelta
from typing import Any
from uuid import UUID

from hypothesis import strategies as st
from hypothesis.stateful import rule

from stock.doors.care import care_for, make_round
from stock.doors.fittings import Fitting, fit_piece, mark_defective
from stock.doors.kits import disinfect, empty_container, find_wet, see_dry
from stock.doors.measured import Value
from stock.doors.mixing import make_water
from stock.doors.probes import take_series
from stock.doors.readings import Series, check_instrument, take_readings
from stock.doors.sites import set_hours, set_rules, set_shift
from stock.doors.things import SORTS, change_thing, make_thing
from stock.models import Container, Instrument, Kit, Piece, Rack, Room
from stock.queries.sites import newest_seq
from tests.stock.machine import EXACT, HOUR, Ground, How, chlorine, hows, which

# Some of all containers, kits and pieces, as places in a list of all of them.
some = st.lists(st.integers(0, 30), min_size=1, max_size=5, unique=True)
settings_of_a_site = st.fixed_dictionaries(
    {},
    optional={
        "tolerance_s": st.sampled_from([0, 1800, 3600, 7200]),
        "late_reason_after_s": st.sampled_from([600, 3600]),
        "reading_age_max_s": st.sampled_from([3600, 7200]),
        "missing_close_after_s": st.sampled_from([0, 172800]),
    },
)
values = st.sampled_from(
    [
        ("salinity", "33.0", "1"),
        ("salinity", "28.1", "1"),
        ("temperature", "25.5", "Cel"),
        ("temperature", "29.4", "Cel"),
        ("temperature", "20", "Cel"),
        ("temperature", "79", "[degF]"),
        ("total_chlorine", "0", "mg/L"),
        ("ph", "8.1", "[pH]"),
        ("total_ammonia", "0.2", "mg/L"),
    ]
)
new_things = st.sampled_from(
    [
        ("kits", {"needs": ["heater"]}),
        ("kits", {"needs": []}),
        ("pieces", {"type": "heater", "single_use": False}),
        ("pieces", {"type": "shelter", "single_use": True}),
        ("instruments", {"quantities": ["temperature", "salinity"]}),
        ("rooms", {"light_on": "08:00", "light_off": "20:00"}),
    ]
)


class Equipment(Ground):
    def equipment(self, numbers: list[int]) -> list[UUID]:
        """Those with these places among all containers, kits and pieces."""
        every = self.all_equipment()
        return list({n % len(every): every[n % len(every)] for n in numbers}.values())

    @rule(
        how=hows,
        numbers=some,
        cleaned=st.booleans(),
        strength=st.sampled_from(["200", "150", None]),
        contact_s=st.sampled_from([3600, 1200, -60]),
    )
    def disinfect(
        self, how: How, numbers: list[int], cleaned: bool, strength: str | None, contact_s: int
    ) -> None:
        ended = self.now - timedelta(seconds=how.late_s)
        done = replace(
            chlorine(ended),
            cleaned=cleaned,
            mg_per_l=strength,
            measured=strength is not None,
            started_at=ended - timedelta(seconds=contact_s),
        )
        subjects = self.equipment(numbers)
        self.tell(how, disinfect, site=self.site.uid, subjects=subjects, done=done)

    @rule(hours=st.sampled_from([0, 23, 24, 25]))
    def prepare(self, hours: int) -> None:
        """What a good shop does: all that is free is made clean, seen dry, and waits."""
        self.make_ready()
        self.now += hours * HOUR

    @rule(how=hows, numbers=some)
    def see_dry(self, how: How, numbers: list[int]) -> None:
        self.tell(how, see_dry, site=self.site.uid, subjects=self.equipment(numbers))

    @rule(how=hows, numbers=some)
    def find_wet(self, how: How, numbers: list[int]) -> None:
        subjects = self.equipment(numbers)
        self.tell(how, find_wet, site=self.site.uid, subjects=subjects, contradicts=None)

    @rule(how=hows, container=which, searched=st.booleans())
    def empty(self, how: How, container: int, searched: bool) -> None:
        uid = self.pick(self.uids(Container), container)
        self.tell(how, empty_container, container=uid, searched=searched)

    @rule(
        how=hows,
        piece=which,
        kit=st.none() | which,
        replaces=st.none() | which,
        defective=st.booleans(),
    )
    def fit(
        self, how: How, piece: int, kit: int | None, replaces: int | None, defective: bool
    ) -> None:
        pieces = self.uids(Piece)
        if not pieces:
            return
        fitting = Fitting(
            piece=self.pick(pieces, piece),
            kit=None if kit is None else self.pick(self.uids(Kit), kit),
            container=self.pick(self.uids(Container), piece) if kit is None else None,
            replaces=None if replaces is None else self.pick(pieces, replaces),
            replaced_is_defective=defective,
        )
        self.tell(how, fit_piece, fitting=fitting)

    @rule(how=hows, piece=which)
    def find_defective(self, how: How, piece: int) -> None:
        uid = self.pick(self.uids(Piece), piece)
        if uid is not None:
            self.tell(how, mark_defective, piece=uid, what="a crack")

    # -- Water -------------------------------------------------------------------------------

    @rule(
        how=hows,
        container=which,
        instrument=st.none() | which,
        read=st.lists(values, min_size=1, max_size=3),
        late_s=st.sampled_from([0, 3600, 40 * 3600, -60]),
    )
    def measure(
        self, how: How, container: int, instrument: int | None, read: Any, late_s: int
    ) -> None:
        told = [
            Value(
                self.pick(self.uids(Container), container),
                quantity,
                value,
                unit,
                instrument=self.instrument(instrument),
                ph_scale="NBS" if quantity == "ph" else None,
                performed_at=self.now - timedelta(seconds=late_s),
            )
            for quantity, value, unit in read
        ]
        self.tell(how, take_readings, site=self.site.uid, values=told)

    @rule(how=hows, container=which, probe=which, warm=st.booleans(), times=st.integers(1, 9))
    def log_temperatures(
        self, how: How, container: int, probe: int, warm: bool, times: int
    ) -> None:
        """A probe's values, seven hours apart, up to now."""
        instrument = self.instrument(probe)
        if instrument is None:
            return
        series = Series(
            probe=instrument,
            quantity="temperature",
            unit="Cel",
            start=self.now - times * 7 * HOUR,
            step_s=7 * 3600,
            values=("28.6" if warm else "21.5",) * (times + 1),
        )
        uid = self.pick(self.uids(Container), container)
        self.tell(how, take_series, container=uid, series=series)

    @rule(how=hows, instrument=which, got=st.sampled_from(["25.0", "27.5"]))
    def check(self, how: How, instrument: int, got: str) -> None:
        uid = self.instrument(instrument)
        if uid is not None:
            self.tell(how, check_instrument, instrument=uid, compared=replace(EXACT, got=got))

    def instrument(self, n: int | None) -> UUID | None:
        return None if n is None else self.pick(self.uids(Instrument), n)

    @rule(how=hows, container=which, chlorine=st.sampled_from(["0", "0.4"]))
    def fill(self, how: How, container: int, chlorine: str) -> None:
        made = {
            "vat": "V1",
            "salt_lot": "L7",
            "volume_l": "200",
            "salinity": "33.0",
            "temperature_c": "25.0",
            "total_chlorine_mg_l": chlorine,
        }
        answer = self.tell(how, make_water, site=self.site.uid, body=made)
        if answer is not None:
            uid = self.pick(self.uids(Container), container)
            body = {"make": UUID(answer.body["make"]["uid"]), "volume_l": "40"}
            self.tell(how, care_for, container=uid, care="fillings", body=body)

    @rule(how=hows, container=which)
    def go_round(self, how: How, container: int) -> None:
        containers = self.uids(Container)
        seen = [{"container": self.pick(containers, container), "what": "the lid is open"}]
        room = self.uids(Room)[0]
        self.tell(how, make_round, room=room, looked_at=containers, exceptions=seen)

    # -- What there is, and what the site decides ----------------------------------------------

    @rule(how=hows, new=new_things, n=which)
    def set_up(self, how: How, new: Any, n: int) -> None:
        sort, body = new
        labelled = {"label": f"{sort[:2]}-{n}", **body}
        self.tell(how, make_thing, site=self.site.uid, sort=SORTS[sort], body=labelled)

    @rule(how=hows, container=which, blind=st.booleans(), rack=which)
    def change(self, how: How, container: int, blind: bool, rack: int) -> None:
        uid = self.pick(self.uids(Container), container)
        row = Container.objects.get(uid=uid)
        body = {
            "label": row.label,
            "rack": str(self.pick(self.uids(Rack), rack)),
            "x_m": "1.0",
            "y_m": "0",
            "z_m": "0.4",
            "shape": "box",
            "fill_mark_l": "55",
            "lid": False,
            "air_stone": True,
            "in_use": True,
        }
        version = 0 if blind else row.version
        self.tell(
            how, change_thing, sort=SORTS["containers"], uid=uid, version=version, body=body
        )

    @rule(how=hows, rules=settings_of_a_site, after_s=st.sampled_from([0, 3600, 100_000, -10]))
    def decide_rules(self, how: How, rules: Any, after_s: int) -> None:
        self.tell(
            how,
            set_rules,
            site=self.site.uid,
            rules=rules,
            in_force_from=self.now + timedelta(seconds=after_s),
            version=newest_seq("rules_set", self.site.uid),
        )

    @rule(how=hows, closed=st.booleans())
    def decide_hours(self, how: How, closed: bool) -> None:
        open_days = [] if closed else ["mon", "tue", "wed", "thu", "fri", "sat"]
        self.tell(
            how,
            set_hours,
            site=self.site.uid,
            weekly=[{"day": day, "from": "08:00", "to": "18:00"} for day in open_days],
            exceptions=[],
            in_force_from=self.now,
            version=newest_seq("hours_set", self.site.uid),
        )

    @rule(how=hows, who=which, hours=st.sampled_from([8, -1]))
    def plan_shift(self, how: How, who: int, hours: int) -> None:
        self.tell(
            how,
            set_shift,
            site=self.site.uid,
            person=self.cast[who % len(self.cast)].uid,
            begins=self.now - 12 * HOUR,
            ends=self.now + hours * HOUR,
            on_call=False,
        )
