"""Handing a shift over, and confirming that it was read."""

from collections.abc import Mapping
from uuid import UUID

from protocols.handing_over import may_confirm_reading
from protocols.walks import Band, band_of
from stock import access
from stock.answers import Answered
from stock.doors.door import Asking, Door, enter
from stock.ledger import Told
from stock.models import Handover
from stock.queries.handovers import handover_of, handover_shown
from stock.queries.rooms import closed_rooms
from stock.queries.shift import work_due
from stock.refusals import NotFound

# The names of what is said; each is an erasable text of the fact.
SAID = ("odd", "promised", "silenced")
OVER = (Band.OVER, Band.OVER_PAPER)
# More than so many are named in no entry; the number that is open stands in it all the same.
MOST = 200


def hand_over(asking: Asking, *, site: UUID, said: Mapping[str, str]) -> Answered:
    """What stands at the end of a shift, with what only people know of it."""
    access.site_for(asking.person, site, access.HANDS)
    uid = asking.new_uid()
    texts = {name: said[name] for name in SAID if said.get(name)} | asking.texts

    def load(_: object) -> dict[str, object]:
        due = work_due(site, asking.performed_at)
        late = [one for one in due if band_of(one.work, asking.performed_at) in OVER]
        return {
            "open": len(due),
            "late": [one.uid for one in late][:MOST],
            "taken": [one.uid for one in due if one.taken_by][:MOST],
            "closed": sorted(closed_rooms(site, asking.performed_at)),
        }

    return enter(
        asking,
        site,
        Door(
            load=load,
            ask=lambda _: (),
            tell=lambda body: (Told("shift_handed_over", body, uid, texts=texts),),
            show=lambda _: {"handover": handover_shown(uid)},
        ),
    )


def confirm_handover(asking: Asking, *, handover: UUID) -> Answered:
    """I have read it. Nobody confirms what they wrote; twice is once."""
    site = handover_of(handover).site_id
    access.site_for(asking.person, site, access.HANDS)

    def load(_: object) -> Handover:
        found = Handover.objects.filter(fact=handover, site=site).first()
        if found is None:
            raise NotFound
        return found

    return enter(
        asking,
        site,
        Door(
            load=load,
            ask=lambda found: may_confirm_reading(asking.doer or asking.person.uid, found.by),
            tell=lambda _: (
                Told("handover_read", {"handover": handover}, asking.uid, texts=asking.texts),
            ),
            show=lambda _: {"handover": handover_shown(handover)},
        ),
    )
