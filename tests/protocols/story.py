"""Makes facts: a story of one batch told in a line per fact, times in hours from its start."""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID, uuid5

from protocols.judged import Judgement, Placing, Readiness, Reading, State
from protocols.judgement import judge
from protocols.lineage import history, placements
from protocols.order import happenings
from protocols.ruled import Protocol, Rules, RulesHistory
from protocols.told import Fact, Lineage, Standing
from protocols.versions import protocol

START = datetime(2027, 1, 5, 8, tzinfo=UTC)
HOUR = timedelta(hours=1)
SECOND = timedelta(seconds=1)
SPACE = UUID(int=7)
READY = Placing(Readiness(State.READY), Readiness(State.READY))
NO_LINKS = Lineage({})


def uid(name: str) -> UUID:
    """Always the same uid for the same name."""
    return uuid5(SPACE, name)


def hour(hours: float, seconds: int = 0) -> datetime:
    """`hours` after the start of the story."""
    return START + timedelta(seconds=round(hours * 3600) + seconds)


BATCH, LINE = uid("batch"), uid("line")
ADA, BEN, MAX, EVE = uid("Ada"), uid("Ben"), uid("Max"), uid("Eve")


def container(number: int) -> UUID:
    return uid(f"container {number}")


def kit(number: int) -> UUID:
    return uid(f"kit {number}")


def stay(number: int) -> UUID:
    return uid(f"stay {number}")


def tell(
    name: str, kind: str, at: datetime, *, recorded: datetime | None = None, **given: Any
) -> Fact:
    """A fact told by Ada at once, unless said otherwise; what is no field of it is its body."""
    fields = {one: given.pop(one) for one in list(given) if one in Fact.__slots__}
    doer = fields.pop("doer", ADA)
    return Fact(
        uid=uid(name),
        seq=1,
        kind=kind,
        performed_at=at,
        recorded_at=recorded or at,
        doer=doer,
        messenger=fields.pop("messenger", doer),
        body=fields.pop("body", None) or plain(given),
        **fields,
    )


def plain(body: dict[str, Any]) -> dict[str, Any]:
    return {
        name.rstrip("_"): str(value) if isinstance(value, UUID) else value
        for name, value in body.items()
    }


@dataclass
class Story:
    """Facts of one batch in the making. Stays, containers and kits are numbered from 0."""

    protocol: Protocol = field(default_factory=lambda: protocol("transfer-288@1"))
    rules: Rules = field(default_factory=Rules)
    facts: list[Fact] = field(default_factory=list)
    places: dict[UUID, Placing] = field(default_factory=dict)
    temperatures: dict[UUID, list[Reading]] = field(default_factory=dict)
    stays: int = 0

    def add(self, name: str, kind: str, at: datetime, **given: Any) -> Fact:
        fact = tell(name, kind, at, **given)
        self.facts.append(fact)
        return fact

    def placed(self, hours: float = 0, count: int = 20, **given: Any) -> Fact:
        self.stays = 1
        body = {
            "batch": BATCH,
            "from_": [{"line": str(LINE), "count": count}],
            "container": container(0),
            "kit": kit(0),
            "counts": [count],
            "protocol": self.protocol.name,
            "version": self.protocol.version,
            "stay": stay(0),
        }
        return self.add("placed", "batch_placed", hour(hours), **(body | given))

    def moved(self, hours: float, *, seconds: int = 0, **given: Any) -> Fact:
        number = self.stays
        self.stays += 1
        body = {
            "batch": BATCH,
            "ended_stay": stay(number - 1),
            "stay": stay(number),
            "container": container(number),
            "kit": kit(number),
            "counts": [20],
            "missing": 0,
            "readings": [],
        }
        name = given.pop("name", f"move {number}")
        return self.add(name, "batch_moved", hour(hours, seconds), **(body | given))

    def moved_again(self, hours: float, **given: Any) -> Fact:
        """Another account of the last move."""
        self.stays -= 1
        number = self.stays
        told: dict[str, Any] = {
            "name": f"move {number} told again",
            "doer": BEN,
            "stay": uid("stay of Ben"),
        }
        return self.moved(hours, **(told | given))

    def lost(self, hours: float, count: int = 1, **given: Any) -> Fact:
        body = {"batch": BATCH, "fate": "dead", "count": count, "cause": ["unknown"]}
        name = given.pop("name", f"loss {hours}")
        at = hour(hours)
        return self.add(name, "loss_recorded", at, **(body | {"found_at": str(at)} | given))

    def signed(self, hours: float, **given: Any) -> Fact:
        body = {"batch": BATCH, "signs": ["white spots"], "affected": 2}
        return self.add(given.pop("name", "sign"), "sign_seen", hour(hours), **(body | given))

    def noted(
        self, kind: str, of: Fact, hours: float, *, doer: UUID = BEN, **given: Any
    ) -> Fact:
        """A fact about a fact, told by Ben."""
        name = given.pop("name", f"{kind} {of.uid} {hours}")
        return self.add(name, kind, hour(hours), doer=doer, **({"of": of.uid} | given))

    def decided(
        self,
        hours: float,
        rule: str,
        cause: UUID,
        decision: str = "keep",
        *,
        doer: UUID = MAX,
        **given: Any,
    ) -> Fact:
        """Max decides, knowing the numbers that stand at that moment unless said otherwise."""
        known = given.pop("known", None)
        if known is None:
            found = self.judged(hours).deviations
            known = next(
                dict(one.numbers) for one in found if (one.rule, one.cause) == (rule, cause)
            )
        body = {"batch": BATCH, "rule": rule, "cause": cause, "known": known}
        name = given.pop("name", f"decision {hours} {rule}")
        return self.add(
            name,
            "deviation_decided",
            hour(hours),
            doer=doer,
            **body,
            decision=decision,
            **given,
        )

    def emergency(self) -> None:
        """The last fact was an emergency."""
        self.facts[-1] = replace(self.facts[-1], standing=Standing.EMERGENCY)

    def place(self, number: int, placing: Placing) -> None:
        """What is known of container, kit and water as stay `number` began."""
        self.places[stay(number)] = placing

    def read(self, number: int, *values: tuple[float, str]) -> None:
        """Temperatures in container `number`: hours and degrees Celsius."""
        here = container(number)
        for hours, value in values:
            reading = Reading(
                uid(f"{here} {hours}"), here, "temperature", Decimal(value), hour(hours)
            )
            self.temperatures.setdefault(here, []).append(reading)

    def judged(
        self, hours: float, *, seconds: int = 0, facts: Iterable[Fact] | None = None
    ) -> Judgement:
        at, rules = hour(hours, seconds), RulesHistory(((START - 1000 * HOUR, self.rules),))
        told = happenings(self.facts if facts is None else facts, at=at, rules=rules)
        found = history(BATCH, told, NO_LINKS)
        places = {one.stay: READY for one in placements(found)} | self.places
        return judge(
            found,
            protocol=self.protocol,
            rules=rules,
            places=places,
            cover={uid: tuple(found) for uid, found in self.temperatures.items()},
            at=at,
        )


def rules_open(judgement: Judgement) -> list[str]:
    """The rules of open deviations, by name."""
    return sorted(one.rule for one in judgement.deviations if one.is_open)
