"""Packing lists from files: looked through first, entered only when somebody applies them."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any
from uuid import UUID

from protocols.bodies import BodyRefused, plain
from protocols.intake import may_apply
from protocols.list_matching import Compared, Names, compare, match_lines, names_of
from protocols.lists import ListedLine, Understood
from protocols.values import Reason, Standing
from stock import access, files, ledger, lock, names
from stock.answers import Answered
from stock.apply import apply
from stock.doors.door import Asking, Door, enter
from stock.doors.files import keeping
from stock.doors.intake import in_parts, note_of
from stock.ledger import Envelope, Told
from stock.models import Import, Line, Log, Site, Supplier
from stock.packing_lists import fits_an_entry, read_list, settings_of, today_at
from stock.queries.intake import consignment_shown
from stock.queries.lists import (
    OnRecord,
    as_read,
    chosen_species,
    existing_shown,
    import_and_site,
    import_shown,
    known_species,
    list_on_record,
    on_record,
)
from stock.queries.suppliers import supplier_of
from stock.refusals import NotFound, Refused, refuse
from stock.tables_limits import MOST_BYTES

LEARNT = ("date_order", "decimal", "mapping")


@dataclass(frozen=True, slots=True)
class Sent:
    """A packing list as it was uploaded, with answers to what its file leaves open."""

    upload: files.Upload
    name: str
    answers: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class World:
    """What a list meets on record: an earlier version of it, and which lines it continues."""

    consignment: UUID
    found: OnRecord | None
    compared: Compared
    uids: Mapping[int, UUID]

    @property
    def is_applied(self) -> bool:
        """Whether the record says already all that this list says."""
        found = self.found
        return found is not None and (found.same_file or not self.compared.differences)


def import_for(
    person: access.Person, uid: UUID, roles: Collection[str] = access.MANAGERS
) -> tuple[Import, Site]:
    """An import with its site, if this person may see or apply it."""
    listing, site = import_and_site(uid)
    return listing, access.site_for(person, site.uid, roles)


def preview_list(
    person: access.Person, *, site: UUID, supplier: UUID, sent: Sent, at: datetime
) -> Answered:
    """Read a list and keep its original; nothing of it is entered. The same file of the same
    supplier is the same import, read again with the new answers."""
    place = access.site_for(person, site, access.MANAGERS)
    sender = supplier_of(person, supplier)
    if sender is None:
        raise NotFound
    answers, settings = _answers(sent.answers), settings_of(sender)
    chosen_species(answers, person.organisation)
    with files.coming(sent.upload, most_bytes=MOST_BYTES) as came:
        read = read_list(came.path, sent.name, answers, settings, today_at(place, at))
        came.keep()
    kind = str(read.form.get("format", "csv"))
    with keeping(site, at):
        files.record(came, site=site, name=sent.name, kind=kind, by=person.uid, at=at)
        listing, made = Import.objects.get_or_create(
            site=site,
            supplier=supplier,
            sha256=came.sha256,
            defaults={"uid": names.new_uid(at), "read": {}, "made_at": at},
        )
        if listing.consignment is None:
            listing.read, listing.answers = as_read(read, settings), answers
            listing.save()
    return Answered(201 if made else 200, {"import": import_shown(listing, person)})


def apply_list(
    asking: Asking, *, uid: UUID, answers: Mapping[str, Any], accepted: Collection[str]
) -> Answered:
    """Enter what a list says. A later list for the same waybill is the next version of it."""
    listing, site = import_for(asking.person, uid)
    merged = _answers({**listing.answers, **answers})
    read = _read_again(listing, merged, today_at(site, asking.now))
    species = _species(asking.person, read, merged)

    def tell(world: World) -> Sequence[Told]:
        _learn(asking, listing, read, site.organisation_id)
        Import.objects.filter(uid=uid).update(
            consignment=world.consignment,
            answers=merged,
            read=as_read(read, listing.read["settings"]),
        )
        return _told(asking, listing, read, world, species)

    return enter(
        # A list says what somebody printed, not what happened: it may always be refused.
        replace(asking, standing=Standing.ASKED),
        site.uid,
        Door(
            load=lambda log: _world(asking, listing, read),
            ask=lambda world: _may_apply(world, read, accepted),
            tell=tell,
            show=lambda world: {
                "consignment": consignment_shown(world.consignment, asking.now)
            },
        ),
    )


def _answers(given: Mapping[str, Any]) -> dict[str, Any]:
    try:
        kept: dict[str, Any] = plain(given)
    except BodyRefused as error:
        reasons = (replace(one, pointer=f"/answers{one.pointer}") for one in error.reasons)
        raise Refused(*reasons) from error
    return kept


def _read_again(listing: Import, answers: Mapping[str, Any], today: date) -> Understood:
    """As it was looked through, with what was answered since."""
    name = str(listing.read["understood"].get("file_name", ""))
    path = files.path_of(listing.sha256)
    if not path.exists():
        text = "The original is not there any more: send the file again."
        raise Refused(refuse("unreadable", text))
    return read_list(path, name, answers, listing.read["settings"], today)


def _species(
    person: access.Person, read: Understood, answers: Mapping[str, Any]
) -> dict[Names, str]:
    """The species of each printed name that means exactly one."""
    matches = match_lines(
        read.lines,
        known_species(person.organisation),
        chosen=chosen_species(answers, person.organisation),
        propose=False,
    )
    return {names: match.exact.uid for names, match in matches.items() if match.exact}


def _world(asking: Asking, listing: Import, read: Understood) -> World:
    found = on_record(listing, read.waybill)
    old = list_on_record(found.consignment) if found else []
    return World(
        consignment=found.consignment.uid if found else asking.new_uid(),
        found=found,
        compared=compare([line for _, line in old], read.lines),
        uids={line.row: uid for uid, line in old},
    )


def _may_apply(world: World, read: Understood, accepted: Collection[str]) -> Iterator[Reason]:
    if world.found and world.is_applied:
        text = "This list is on record already."
        existing = existing_shown(world.found, read.lines)
        raise Refused(refuse("already_applied", text), existing=existing)
    differences = world.compared.differences if world.found else ()
    yield from may_apply(read, differences, accepted)


def _told(
    asking: Asking,
    listing: Import,
    read: Understood,
    world: World,
    species: Mapping[Names, str],
) -> Sequence[Told]:
    version = world.found.consignment.list_version if world.found else 0
    head = {
        "consignment": world.consignment,
        "supplier": listing.supplier,
        "waybill": read.waybill,
        "list_version": version + 1,
        "file": listing.sha256,
    }
    matched = dict(
        Line.objects.filter(consignment=world.consignment).values_list("uid", "species")
    )
    lines = []
    for line in read.lines:
        uid = world.uids.get(world.compared.continues.get(line.row, 0))
        means = (uid and matched.get(uid)) or species.get(names_of(line))
        lines.append(_line_body(line, uid or names.new_uid(asking.now), means))
    return in_parts(head, lines, note_of(asking))


def _line_body(line: ListedLine, uid: UUID, species: UUID | str | None) -> dict[str, Any]:
    said = {
        "line": uid,
        "box": line.box,
        "bag": line.bag,
        "code": line.code,
        "text": line.text,
        "scientific_name": line.scientific_name,
        "species": species,
        "size": line.size,
        "listed": line.listed,
        "price": line.price,
        "origin": line.origin,
        "wild": line.wild,
    }
    return {name: value for name, value in said.items() if value is not None}


def _learn(asking: Asking, listing: Import, read: Understood, organisation: UUID) -> None:
    """Keep for the supplier what was answered about its lists, so that nobody is asked twice.

    The site's lock is held; the organisation's is taken after it, here and everywhere.
    """
    before = listing.read["settings"]
    learnt = {
        name: read.settings[name]
        for name in LEARNT
        if read.settings.get(name) and read.settings[name] != before.get(name)
    }
    if not learnt:
        return
    if not fits_an_entry(learnt.get("mapping", {})):
        text = "Too many headings are kept for this supplier."
        raise Refused(refuse("too_large", text, pointer="/answers/mapping"))
    book: Log = lock.take(organisation)
    supplier = Supplier.objects.get(uid=listing.supplier)
    terms = {"supplier": supplier.uid, "claim_terms": supplier.claim_terms}
    told = Told("supplier_set", {**settings_of(supplier), **learnt, **terms})
    apply(ledger.append(book, _beside(asking), told))


def _beside(asking: Asking) -> Envelope:
    return Envelope(
        doer=asking.doer or asking.person.uid,
        messenger=asking.person.uid,
        performed_at=asking.performed_at,
        offset_min=asking.offset_min,
        recorded_at=asking.now,
        standing=Standing.ASKED,
        group=names.new_uid(asking.now),
    )


def answer_list(
    person: access.Person, *, uid: UUID, answers: Mapping[str, Any], at: datetime
) -> Answered:
    """Read a kept list again with what was answered since; nothing of it is entered."""
    listing, site = import_for(person, uid)
    path = files.path_of(listing.sha256)
    if not path.exists():
        text = "The original is not there any more: send the file again."
        raise Refused(refuse("unreadable", text))
    name = str(listing.read["understood"].get("file_name", ""))
    merged = {**listing.answers, **answers}
    with path.open("rb") as kept:
        return preview_list(
            person,
            site=site.uid,
            supplier=listing.supplier,
            sent=Sent(kept, name, merged),
            at=at,
        )
