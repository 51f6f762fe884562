"""First organisation, sites, people and sign-ins over REST."""

from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from rest_framework import serializers
from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.limits import place_of
from api.rest import inputs, outputs
from api.rest.inputs import Input, Moment, person
from protocols.kinds.places import ROLES
from protocols.units import PERSONAL
from stock.doors.own_units import choose_units
from stock.doors.people import (
    NewPerson,
    Place,
    add_person,
    add_site,
    change_person,
    make_first_organisation,
)
from stock.doors.sign_in import token_for


class Zone(serializers.CharField):
    """An IANA time zone, such as Europe/Berlin."""

    def to_internal_value(self, data: Any) -> str:
        text = super().to_internal_value(data)
        try:
            ZoneInfo(text)
        except (ValueError, KeyError, OSError) as error:
            text = "Name a time zone such as Europe/Berlin."
            raise serializers.ValidationError(text, code="unreadable") from error
        return text


class SiteInput(Input):
    name = serializers.CharField(max_length=120)
    zone = Zone(max_length=64)


class PersonInput(Input):
    name = serializers.CharField(max_length=120)
    email = serializers.EmailField()
    password = serializers.CharField(min_length=8, max_length=200, trim_whitespace=False)


class OrganisationInput(Input):
    name = serializers.CharField(max_length=120)
    email = serializers.EmailField()
    password = serializers.CharField(min_length=8, max_length=200, trim_whitespace=False)
    person = serializers.CharField(max_length=120, required=False)
    site = SiteInput()
    setup_code = serializers.CharField(max_length=100)


class RoleInput(Input):
    site = inputs.Uid()
    role = serializers.ChoiceField(ROLES)


class NewPersonInput(PersonInput):
    roles = RoleInput(many=True)


class RolesInput(Input):
    roles = RoleInput(many=True)
    ended_at = Moment(required=False, allow_null=True, default=None)


UnitsInput = type(
    "UnitsInput",
    (Input,),
    {
        "__doc__": "In which units somebody reads; what is left out is read as it is kept.",
        **{
            sort: serializers.ChoiceField(names, required=False)
            for sort, names in PERSONAL.items()
        },
    },
)


class UnitsView(APIView):
    """The units of whoever is signed in."""

    given: type[Input] = UnitsInput
    keyed = False
    versioned = False

    def get(self, request: Request) -> Response:
        return Response({"units": person(request).units})

    def put(self, request: Request) -> Response:
        units = self.given.read(request)
        return Response({"units": choose_units(person(request), units=units)})


class OrganisationsView(APIView):
    permission_classes = [AllowAny]
    authentication_classes: list[Any] = []
    given = OrganisationInput

    def post(self, request: Request) -> Response:
        given = OrganisationInput.read(request)
        name = given.get("person") or given["email"].partition("@")[0]
        answer = make_first_organisation(
            name=given["name"],
            person=NewPerson(name, given["email"], given["password"]),
            site=Place(**given["site"]),
            setup_code=given["setup_code"],
        )
        return outputs.answered(answer)


class SignInInput(Input):
    email = serializers.CharField(max_length=254)
    password = serializers.CharField(max_length=200, trim_whitespace=False)
    code = serializers.CharField(max_length=40, required=False, allow_blank=True)


class TokensView(APIView):
    permission_classes = [AllowAny]
    authentication_classes: list[Any] = []

    given = SignInInput

    def post(self, request: Request) -> Response:
        given = SignInInput.read(request)
        token = token_for(
            email=given["email"],
            password=given["password"],
            code=given.get("code", ""),
            place=place_of(request),
        )
        return Response(token, status=201)


class SitesView(APIView):
    given = SiteInput

    def post(self, request: Request) -> Response:
        asked = inputs.asking(request, person(request).organisation)
        return outputs.answered(add_site(asked, place=Place(**SiteInput.read(request))))


class PeopleView(APIView):
    given = NewPersonInput

    def post(self, request: Request) -> Response:
        given = NewPersonInput.read(request)
        newcomer = NewPerson(given["name"], given["email"], given["password"])
        asked = inputs.asking(request, person(request).organisation)
        return outputs.answered(add_person(asked, person=newcomer, roles=given["roles"]))


class PersonView(APIView):
    given = RolesInput
    versioned = False

    def put(self, request: Request, uid: UUID) -> Response:
        given = RolesInput.read(request)
        asked = inputs.asking(request, person(request).organisation)
        return outputs.answered(
            change_person(asked, uid=uid, roles=given["roles"], ended_at=given["ended_at"])
        )
