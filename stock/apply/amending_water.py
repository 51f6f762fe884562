"""Words that change what was read, or what an instrument was worth: their rows follow.

A correction counts at once, a withdrawal once a second person says so, exactly as they are
judged. Values that nobody corrected stay as they were typed.
"""

from stock.apply.kits import thing_here
from stock.apply.readings import doubt_again
from stock.apply.words import Amended, amended, report_of
from stock.models import Container, Fact, Instrument, InstrumentCheck, WaterReading

OF_WATER = ("reading_taken", "instrument_checked")


def amend_water(note: Fact) -> None:
    """Follow a word about a reading or about a check of an instrument."""
    if report_of(note).kind not in OF_WATER:
        return
    change = amended(note)
    if change is None:
        return
    if change.report.kind == "reading_taken":
        _reading(change)
    else:
        _check(change)


def _reading(change: Amended) -> None:
    row = WaterReading.objects.filter(uid=change.report.uid).first()
    if change.after is None:
        WaterReading.objects.filter(uid=change.report.uid).delete()
        return
    row = row or WaterReading(
        uid=change.report.uid,
        fact=change.report.uid,
        site_id=change.report.log_id,
        performed_at=change.report.performed_at,
    )
    by = change.now("instrument")
    row.container = thing_here(change.report, Container, change.now("container"))
    row.instrument = thing_here(change.report, Instrument, by) if by else None
    row.quantity, row.value = change.now("quantity"), change.now("value")
    row.unit, row.in_doubt = change.now("unit"), False
    row.ph_scale, row.reported_as = change.now("ph_scale"), change.now("reported_as")
    row.save()
    if row.instrument is not None:
        doubt_again(row.instrument, row.performed_at)


def _check(change: Amended) -> None:
    InstrumentCheck.objects.filter(fact=change.report.uid).delete()
    at = change.report.performed_at
    for uid in {body["instrument"] for body in (change.before, change.after) if body}:
        instrument = thing_here(change.report, Instrument, uid)
        if change.after is not None and change.now("instrument") == uid:
            InstrumentCheck.objects.create(
                fact=change.report.uid,
                instrument=instrument,
                at=at,
                passed=change.now("passed"),
                standard=change.now("standard"),
                expected=change.now("expected"),
                got=change.now("got"),
            )
        doubt_again(instrument, at)
