"""Rooms, racks, systems, containers, kits, pieces, instruments, salt lots, bleach over REST."""

from datetime import date, datetime
from typing import Any, ClassVar
from uuid import UUID

from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.rest import inputs, outputs
from api.rest.inputs import Input, Number, person
from protocols.kinds.kits import PIECE_TYPES
from protocols.kinds.mixing import KNOWN_FROM, STRENGTH_BASES
from protocols.kinds.places import SYSTEM_STATUSES
from protocols.mixing import DRY_FRACTION_ASSUMED
from stock import access
from stock.doors.things import SORTS, Sort, change_thing, make_thing
from stock.queries.things import listed, shown

CLOCK = r"^([01]\d|2[0-3]):[0-5]\d$"


class Labelled(Input):
    # The name of the field is also that of an attribute of every serializer field.
    label = serializers.CharField(max_length=40)  # type: ignore[assignment]


class RoomInput(Labelled):
    light_on = serializers.RegexField(CLOCK, default="08:00")
    light_off = serializers.RegexField(CLOCK, default="20:00")


class RackInput(Labelled):
    room = inputs.Uid()
    x_m = Number(max_length=12, default="0")
    y_m = Number(max_length=12, default="0")


class SystemInput(Labelled):
    status = serializers.ChoiceField(SYSTEM_STATUSES, default="unknown")


class InsideInput(Input):
    length = Number(max_length=12)
    width = Number(max_length=12)
    height = Number(max_length=12)


class ContainerInput(Labelled):
    rack = inputs.Uid()
    x_m = Number(max_length=12, default="0")
    y_m = Number(max_length=12, default="0")
    z_m = Number(max_length=12, default="0")
    inside_m = InsideInput(required=False, allow_null=True, default=None)
    shape = serializers.ChoiceField(["box", "round"], default="box")
    fill_mark_l = Number(max_length=12, default="40")
    lid = serializers.BooleanField(default=True)
    air_stone = serializers.BooleanField(default=True)
    system = inputs.Uid(required=False, allow_null=True, default=None)
    in_use = serializers.BooleanField(default=True)


class KitInput(Labelled):
    needs = serializers.ListField(child=serializers.ChoiceField(PIECE_TYPES), default=list)


class PieceInput(Labelled):
    type = serializers.ChoiceField(PIECE_TYPES)
    single_use = serializers.BooleanField(default=False)


class InstrumentInput(Labelled):
    quantities = serializers.ListField(
        child=serializers.CharField(max_length=20), min_length=1, max_length=20
    )
    convention = serializers.CharField(max_length=16, required=False, allow_null=True)


class SaltLotInput(Labelled):
    product = serializers.CharField(max_length=120)
    dry_fraction = Number(max_length=12, default=str(DRY_FRACTION_ASSUMED))
    dry_fraction_from = serializers.ChoiceField(KNOWN_FROM, default="assumed")
    measured_how = serializers.CharField(max_length=200, required=False, allow_null=True)
    measured_at = inputs.Moment(required=False, allow_null=True)
    in_use = serializers.BooleanField(default=True)


class BleachInput(Labelled):
    product = serializers.CharField(max_length=120)
    strength_percent = Number(max_length=12)
    strength_basis = serializers.ChoiceField(STRENGTH_BASES)
    density_g_ml = Number(max_length=12, required=False, allow_null=True)
    strength_from = serializers.ChoiceField(KNOWN_FROM, default="label")
    measured_at = inputs.Moment(required=False, allow_null=True)
    opened_on = serializers.DateField(required=False, allow_null=True)
    in_use = serializers.BooleanField(default=True)


INPUTS: dict[str, type[Input]] = {
    "rooms": RoomInput,
    "racks": RackInput,
    "systems": SystemInput,
    "containers": ContainerInput,
    "kits": KitInput,
    "pieces": PieceInput,
    "instruments": InstrumentInput,
    "salt-lots": SaltLotInput,
    "bleaches": BleachInput,
}


class SortView(APIView):
    """One sort of thing; the route says which."""

    sort: ClassVar[str] = ""

    @property
    def kind(self) -> Sort:
        return SORTS[self.sort]

    @property
    def given(self) -> type[Input]:
        return INPUTS[self.sort]

    def body(self, request: Request) -> dict[str, Any]:
        """The fact's body: plain JSON values, absent what was not said."""
        given = self.given.read(request)
        return {name: _plain(value) for name, value in given.items() if value is not None}


def _plain(value: Any) -> Any:
    """Uids and days as text; a moment stays one until it is entered."""
    is_day = isinstance(value, date) and not isinstance(value, datetime)
    return str(value) if is_day or isinstance(value, UUID) else value


class ThingsView(SortView):
    def get(self, request: Request, site: UUID) -> Response:
        access.site_for(person(request), site)
        return Response({self.sort: listed(self.kind.model, site)})

    def post(self, request: Request, site: UUID) -> Response:
        asking = inputs.asking(request, site)
        return outputs.answered(
            make_thing(asking, site=site, sort=self.kind, body=self.body(request))
        )


class ThingView(SortView):
    def get(self, request: Request, uid: UUID) -> Response:
        thing, _ = access.thing_for(person(request), self.kind.model, uid)
        return outputs.tagged({self.kind.name: shown(self.kind.model, uid)}, thing.version)

    def put(self, request: Request, uid: UUID) -> Response:
        _, site = access.thing_for(person(request), self.kind.model, uid)
        answer = change_thing(
            inputs.asking(request, site.uid),
            sort=self.kind,
            uid=uid,
            version=inputs.if_match(request),
            body=self.body(request),
        )
        return outputs.answered(answer)
