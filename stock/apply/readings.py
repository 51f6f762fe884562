"""Water: instruments and what they are worth, values as typed, care that is only recorded.

Makes of water and what is filled from them: `mixing.py`.
"""

from datetime import datetime, timedelta

from protocols.codes import fact_uid
from protocols.matching import Check, Checked, in_check
from stock.apply.codes import free_code
from stock.apply.kits import thing_here
from stock.apply.places import put
from stock.apply.registry import applies, moment
from stock.models import (
    Container,
    Fact,
    Instrument,
    InstrumentCheck,
    ProbeSeen,
    Room,
    WaterReading,
)
from stock.refusals import not_here

# How often an instrument must be checked is a rule of the site, which may change; a failed
# check throws doubt on readings whatever that rule says.
WHENEVER = timedelta.max


@applies("instrument_set")
def set_instrument(fact: Fact) -> None:
    body = fact.body
    put(
        Instrument,
        fact,
        body["instrument"],
        site_id=fact.log_id,
        label=body["label"],
        quantities=body["quantities"],
        convention=body.get("convention"),
        code=free_code(Instrument, fact.log_id, body["instrument"]),
    )


@applies("instrument_checked")
def check_instrument(fact: Fact) -> None:
    body = fact.body
    instrument = thing_here(fact, Instrument, body["instrument"])
    InstrumentCheck.objects.create(
        fact=fact.uid,
        instrument=instrument,
        at=fact.performed_at,
        passed=body["passed"],
        standard=body["standard"],
        expected=body["expected"],
        got=body["got"],
    )
    doubt_again(instrument, fact.performed_at)


@applies("reading_taken")
def take_reading(fact: Fact) -> None:
    body = fact.body
    container = thing_here(fact, Container, body["container"])
    instrument = None
    if "instrument" in body:
        instrument = thing_here(fact, Instrument, body["instrument"])
    WaterReading.objects.create(
        uid=fact.uid,
        fact=fact.uid,
        site_id=fact.log_id,
        container=container,
        quantity=body["quantity"],
        value=body["value"],
        unit=body["unit"],
        instrument=instrument,
        performed_at=fact.performed_at,
        in_doubt=_is_doubted(checks_of(instrument), fact.performed_at) if instrument else False,
        ph_scale=body.get("ph_scale"),
        reported_as=body.get("reported_as"),
    )


@applies("readings_taken")
def take_series(fact: Fact) -> None:
    """Every value of a probe's series is a reading; its uid follows from its place."""
    body = fact.body
    container = thing_here(fact, Container, body["container"])
    probe = thing_here(fact, Instrument, body["probe"])
    checks = checks_of(probe)
    start, step = moment(body["start"]), timedelta(seconds=body["step_s"])
    taken = [(start + n * step, value) for n, value in enumerate(body["values"])]
    WaterReading.objects.bulk_create(
        WaterReading(
            uid=fact_uid(fact.uid, "reading", str(n)),
            fact=fact.uid,
            site_id=fact.log_id,
            container=container,
            quantity=body["quantity"],
            value=value,
            unit=body["unit"],
            instrument=probe,
            performed_at=at,
            in_doubt=_is_doubted(checks, at),
            ph_scale=body.get("ph_scale"),
            reported_as=body.get("reported_as"),
        )
        for n, (at, value) in enumerate(taken)
    )
    begins, ends = taken[0][0], taken[-1][0]
    seen, _ = ProbeSeen.objects.get_or_create(
        probe=probe,
        container=container,
        quantity=body["quantity"],
        defaults={"site_id": fact.log_id, "first_at": begins, "last_at": ends},
    )
    if begins < seen.first_at or ends > seen.last_at:
        seen.first_at, seen.last_at = min(seen.first_at, begins), max(seen.last_at, ends)
        seen.save(update_fields=["first_at", "last_at"])


@applies("fed", "dose_given")
def care(fact: Fact) -> None:
    """Found by its container; whoever judges water, readiness or a batch reads the fact."""
    thing_here(fact, Container, fact.body["container"])


@applies("round_made")
def make_round(fact: Fact) -> None:
    """That somebody looked is found by room and container; there is nothing else to keep."""
    thing_here(fact, Room, fact.body["room"])
    looked_at = {
        *fact.body["looked_at"],
        *(one["container"] for one in fact.body["exceptions"]),
    }
    here = Container.objects.filter(uid__in=looked_at, site=fact.log_id)
    if here.count() != len(looked_at):
        raise not_here("container")


def checks_of(instrument: Instrument) -> list[Checked]:
    rows = instrument.checks.order_by("at", "fact").values_list("at", "passed")
    return [Checked(at, passed) for at, passed in rows]


def doubt_again(instrument: Instrument, at: datetime) -> None:
    """After news of a check or a reading at `at`: what the instrument is worth now.

    Readings between the check before and the one after may be worth something else.
    """
    checks = checks_of(instrument)
    instrument.checked_at = checks[-1].at if checks else None
    instrument.passed = checks[-1].passed if checks else None
    instrument.save()
    before = max((one.at for one in checks if one.at < at), default=None)
    after = min((one.at for one in checks if one.at > at), default=None)
    rows = instrument.readings.all()
    if before is not None:
        rows = rows.filter(performed_at__gte=before)
    if after is not None:
        rows = rows.filter(performed_at__lt=after)
    for doubted in (True, False):
        changed = [
            uid
            for uid, taken in rows.exclude(in_doubt=doubted).values_list("uid", "performed_at")
            if _is_doubted(checks, taken) is doubted
        ]
        WaterReading.objects.filter(uid__in=changed).update(in_doubt=doubted)


def _is_doubted(checks: list[Checked], at: datetime) -> bool:
    return in_check(checks, at, every=WHENEVER) is Check.DOUBTED
