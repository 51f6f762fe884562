"""The longer sentences of `sentences.py`: what each kind of fact says, from its body."""

from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from typing import Any

from django.utils.translation import gettext as _

from api.pages.amounts import reading
from api.pages.words import plain
from protocols.units import Units

Body = Mapping[str, Any]
Name = Callable[[Any], str]
Sentence = Callable[[Body, Name], str]
MeasuredSentence = Callable[[Body, Name, Units], str]


def several(uids: Iterable[Any], name: Name, most: int = 6) -> str:
    """Names of several things, at most so many of them."""
    names = drawn_together(sorted({name(uid) for uid in uids}))
    more = len(names) - most
    return ", ".join(names[:most]) + (
        _(" and {more} more").format(more=more) if more > 0 else ""
    )


def drawn_together(names: list[str]) -> list[str]:
    """Pieces bear the label of their kit: more than two of them are said by it."""
    kits = Counter(one.partition(" ")[0] for one in names if " " in one)
    large = {of for of, count in kits.items() if count > 2}
    shown = {
        _("{kit} ({count} pieces)").format(kit=of, count=kits[of])
        if (of := one.partition(" ")[0]) in large
        else one
        for one in names
    }
    return sorted(shown)


def placed(body: Body, name: Name) -> str:
    count = sum(one["count"] for one in body["from"])
    return _("{count} placed in {container}{kit}").format(
        count=count, container=name(body["container"]), kit=kit(body, name)
    )


def moved(body: Body, name: Name) -> str:
    text = _("Moved to {container}{kit}").format(
        container=name(body["container"]), kit=kit(body, name)
    )
    if body["counts"]:
        text += _(", counted {listed}").format(
            listed=_(" and ").join(str(one) for one in body["counts"])
        )
    return text + (
        _(", {missing} not found").format(missing=body["missing"]) if body["missing"] else ""
    )


def kit(body: Body, name: Name) -> str:
    return (
        _(" with kit {kit}").format(kit=name(body["kit"]))
        if body.get("kit")
        else _(" without a kit")
    )


def lost(body: Body, name: Name) -> str:
    cause = f", {', '.join(body['cause'])}" if body["cause"] else ""
    return f"{body['count']} {plain(body['fate'])}{cause}"


def found(body: Body, name: Name) -> str:
    how = _("alive") if body["alive"] else _("dead")
    return _("{count} found again {how} in {container}").format(
        count=body["count"], how=how, container=name(body["container"])
    )


def water_read(body: Body, name: Name, units: Units) -> str:
    said = reading(units, body["quantity"], body["value"], body["unit"], body.get("convention"))
    value = f"{plain(body['quantity'])} {said}"
    instrument = (
        _(", read with {instrument}").format(instrument=name(body["instrument"]))
        if body.get("instrument")
        else ""
    )
    return f"{name(body['container'])}: {value}{instrument}"


def disinfected(body: Body, name: Name) -> str:
    strength = f" {body['mg_per_l']} mg/L" if body.get("mg_per_l") else ""
    how = [f"{body['agent']}{strength}"]
    how += [_("not measured")] if not body["measured"] else []
    how += [_("not cleaned before")] if not body["cleaned"] else []
    how += [_("rinsed")] if body["rinsed"] else [_("not rinsed")]
    how += [_("neutralised")] if body.get("neutralised") else []
    return _("Disinfected {what}: {listed}").format(
        what=several(body["subjects"], name), listed=", ".join(how)
    )


def fitted(body: Body, name: Name) -> str:
    text = _("{piece} fitted to {where}").format(
        piece=name(body["piece"]), where=name(body.get("kit") or body.get("container"))
    )
    return text + (
        _(" in place of {replaces}").format(replaces=name(body["replaces"]))
        if body.get("replaces")
        else ""
    )


def checked(body: Body, name: Name) -> str:
    result = _("passed") if body["passed"] else _("failed")
    values = _("expected {expected}, got {got}").format(
        expected=body["expected"], got=body["got"]
    )
    return _("{instrument} checked on {standard}: {values}, {result}").format(
        instrument=name(body["instrument"]),
        standard=body["standard"],
        values=values,
        result=result,
    )


def counted_line(body: Body, name: Name) -> str:
    box = _(", box {box}").format(box=body["box"]) if body.get("box") else ""
    return _("{line}{box}: {received} received, {doa} DOA").format(
        line=name(body["line"]), box=box, received=body["received"], doa=body["doa"]
    )


def packing_list(body: Body, name: Name) -> str:
    total = sum(one["listed"] for one in body["lines"])
    lines = len(body["lines"])
    return _("Packing list of {supplier}: {total} listed in {lines} lines").format(
        supplier=name(body["supplier"]), total=total, lines=lines
    )


def contact(body: Body, name: Name) -> str:
    thing = f" ({name(body['thing'])})" if body.get("thing") else ""
    return _("From {origin} to {to} by {way}{thing}").format(
        origin=name(body["from"]), to=name(body["to"]), way=plain(body["way"]), thing=thing
    )


def corrected(body: Body, name: Name) -> str:
    was = _(", before {old}").format(old=body["old"]) if "old" in body else ""
    return _("Corrected: {field} is {new}{was}").format(
        field=plain(body["field"]), new=body.get("new", _("nothing")), was=was
    )


def decided(body: Body, name: Name) -> str:
    return _("Decided about {rule}: {decision}").format(
        rule=plain(body["rule"]), decision=plain(body["decision"])
    )


def settled(body: Body, name: Name) -> str:
    if not body.get("attribution"):
        return _("Settled: the report is void and counts for nothing")
    parts = (
        _("{count} of {batch}").format(count=one["count"], batch=name(one["batch"]))
        for one in body["attribution"]
    )
    return _("Settled: it counts for {listed}").format(listed=", ".join(parts))


def signs(body: Body, name: Name) -> str:
    return _("Seen on {affected}: {listed}").format(
        affected=body["affected"], listed=", ".join(plain(one) for one in body["signs"])
    )


def incident(body: Body, name: Name) -> str:
    where = body.get("container") or body.get("batch")
    return _("Incident in {where}: {kind}").format(where=name(where), kind=plain(body["kind"]))


def round_made(body: Body, name: Name) -> str:
    text = _("Round in {room}: {count} containers looked at").format(
        room=name(body["room"]), count=len(body["looked_at"])
    )
    exceptions = (f"{name(one['container'])} {one['what']}" for one in body["exceptions"])
    return "; ".join([text, *exceptions])


def certificate(text: str) -> Sentence:
    """What became of a certificate."""
    return lambda body, name: _("Certificate {certificate} {text}").format(
        certificate=name(body["certificate"]), text=text
    )


def thing(what: str) -> Sentence:
    """Something of the site was set up or changed."""
    return lambda body, name: _("{what} {label} set up or changed").format(
        what=what, label=body["label"]
    )


def dispatched(body: Body, name: Name) -> str:
    return _("{count} handed over").format(count=body["count"])
