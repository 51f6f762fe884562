"""Reckonings about water over REST: nothing is kept, so no request key is asked for."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any, ClassVar

from django.urls import path
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.rest.inputs import Input
from protocols.reckoning import Typed, reasons, reckon
from protocols.units import SORTS
from protocols.water import QUANTITIES, Argument, OutOfDomain, Quantity
from stock.refusals import Refused, refuse

DIGITS = 8
SAYS = 'Type a number such as "25.4", or {"value": "25.4", "unit": "Cel"}.'


class Amount(serializers.Field[Any, Any, Any, Any]):
    """A number as text, or with its unit beside it."""


def _says(argument: Argument) -> str:
    return SAYS if argument.domain else f"Say one of {', '.join(argument.words)}."


def _fields(quantity: Quantity) -> dict[str, Any]:
    """What the body of a reckoning may say, for the description of this interface."""
    return {
        name: Amount(required=one.required, help_text=one.domain.allowed)
        if one.domain
        else serializers.CharField(required=one.required, help_text=_says(one))
        for name, one in quantity.arguments.items()
    }


def _input(quantity: Quantity) -> type[Input]:
    name = "".join(part.capitalize() for part in quantity.name.split("_"))
    return type(f"{name}Input", (Input,), {**_fields(quantity), "__doc__": quantity.says})


INPUTS = {name: _input(quantity) for name, quantity in QUANTITIES.items()}


class ReckoningView(APIView):
    """One quantity; the route says which."""

    quantity: ClassVar[str] = ""
    keyed = False

    @property
    def given(self) -> type[Input]:
        return INPUTS[self.quantity]

    def post(self, request: Request) -> Response:
        typed = _typed(request.data, QUANTITIES[self.quantity].arguments)
        try:
            answer = reckon(self.quantity, typed)
        except OutOfDomain as error:
            raise Refused(*reasons(error)) from error
        flags = [{"flag": one.flag, "name": one.name, "text": one.text} for one in answer.flags]
        value = format(Decimal(f"{answer.value:.{DIGITS}g}"), "f")
        said = _described(QUANTITIES[self.quantity])
        return Response({"water": {**said, "value": value, "flags": flags}})


class ReckoningsView(APIView):
    """Every quantity: what it takes, in which units, and what it gives."""

    def get(self, request: Request) -> Response:
        found = [
            {**_described(one), "inputs": [_shown(each) for each in one.arguments.values()]}
            for one in QUANTITIES.values()
        ]
        return Response({"water": found})


def _described(quantity: Quantity) -> dict[str, Any]:
    return {
        "quantity": quantity.name,
        "says": quantity.says,
        "unit": quantity.unit,
        "formula": quantity.formula,
        "range": quantity.range,
        "source": quantity.source,
        "cautions": list(quantity.cautions),
    }


def _shown(one: Argument) -> dict[str, Any]:
    shown: dict[str, Any] = {"name": one.name, "required": one.required}
    if one.domain is None:
        return {**shown, "one_of": list(one.words)}
    units = [unit.name for unit in SORTS.get(one.domain.sort, ())] or [one.domain.unit]
    return {**shown, "allowed": one.domain.allowed, "units": units}


def _typed(body: Any, arguments: Mapping[str, Argument]) -> dict[str, Typed]:
    """The arguments as they were typed; what says nothing (null) is left out."""
    if not isinstance(body, Mapping):
        raise Refused(refuse("unreadable", "The body must be an object.", pointer="/"))
    unknown = [name for name in body if name not in arguments]
    if unknown:
        wrong = [
            refuse("unknown_field", "No such field.", pointer=f"/{one}") for one in unknown
        ]
        raise Refused(*wrong)
    found: dict[str, Typed] = {}
    unreadable = []
    for name, value in body.items():
        one = _one(value, arguments[name])
        if one is None and value is not None:
            unreadable.append(refuse("unreadable", _says(arguments[name]), pointer=f"/{name}"))
        elif one is not None:
            found[name] = one
    if unreadable:
        raise Refused(*unreadable)
    return found


def _one(value: Any, argument: Argument) -> Typed | None:
    """A text, a number, or both of value and unit; None for anything else."""
    if isinstance(value, Mapping) and argument.domain is not None:
        unit, inner = value.get("unit"), _text(value.get("value"))
        if set(value) != {"value", "unit"} or inner is None or not isinstance(unit, str):
            return None
        return Typed(inner, unit)
    text = value if argument.domain is None and isinstance(value, str) else None
    text = _text(value) if argument.domain is not None else text
    return None if text is None else Typed(text)


def _text(value: Any) -> str | None:
    if isinstance(value, str):
        return value
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    return format(Decimal(repr(value)), "f")


routes = [
    path("water", ReckoningsView.as_view()),
    *(path(f"water/{name}", ReckoningView.as_view(quantity=name)) for name in QUANTITIES),
]
