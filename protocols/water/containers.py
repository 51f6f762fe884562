"""How much water is in a container, by its inside dimensions and the height of the water."""

import math
from typing import Annotated, Literal

from protocols.said import said
from protocols.water.domains import HEIGHT, LENGTH, VOLUME_OR_NONE
from protocols.water.quantity import quantity
from protocols.water.refused import OutOfDomain, fault, out_of_domain

Shape = Literal["box", "cylinder", "frustum"]
NEEDS = {
    "box": ("length_cm", "width_cm"),
    "cylinder": ("diameter_cm",),
    "frustum": ("bottom_diameter_cm", "top_diameter_cm", "full_height_cm"),
}
STEPS = 80
INSIDE = (
    "Inside dimensions: outside ones show about 5 % too much. Weigh one filling and mark it.",
)
FRESH = ("Replace what evaporated with fresh water only, never with salt water.",)
Dimensions = dict[str, float | None]
Length = Annotated[float, LENGTH]


@quantity(cautions=INSIDE)
def container_volume_l(
    *,
    shape: Shape,
    fill_height_cm: Annotated[float, HEIGHT],
    length_cm: Length | None = None,
    width_cm: Length | None = None,
    diameter_cm: Length | None = None,
    bottom_diameter_cm: Length | None = None,
    top_diameter_cm: Length | None = None,
    full_height_cm: Length | None = None,
) -> float:
    """Water in a container filled to a height: a box, a cylinder, or a bucket (frustum).

    Unit: L
    Formula: box: length x width x height; cylinder: pi x diameter^2 / 4 x height; frustum: pi x
        height / 3 x (rb^2 + rb x r + r^2), r the radius at the height
    Range: inside dimensions; not above the rim
    Source: geometry
    Raises: OutOfDomain, also above the rim
    """
    size = {
        "length_cm": length_cm,
        "width_cm": width_cm,
        "diameter_cm": diameter_cm,
        "bottom_diameter_cm": bottom_diameter_cm,
        "top_diameter_cm": top_diameter_cm,
        "full_height_cm": full_height_cm,
    }
    return _litres(shape, fill_height_cm, _whole(shape, size), "fill_height_cm")


@quantity(cautions=INSIDE)
def fill_height_cm(
    *,
    shape: Shape,
    volume_l: Annotated[float, VOLUME_OR_NONE],
    length_cm: Length | None = None,
    width_cm: Length | None = None,
    diameter_cm: Length | None = None,
    bottom_diameter_cm: Length | None = None,
    top_diameter_cm: Length | None = None,
    full_height_cm: Length | None = None,
) -> float:
    """How high this much water stands in a container.

    Unit: cm
    Formula: the volume of a box, a cylinder or a frustum turned round
    Range: inside dimensions; not above the rim
    Source: geometry
    Raises: OutOfDomain, also where it would not go in
    """
    size = _whole(
        shape,
        {
            "length_cm": length_cm,
            "width_cm": width_cm,
            "diameter_cm": diameter_cm,
            "bottom_diameter_cm": bottom_diameter_cm,
            "top_diameter_cm": top_diameter_cm,
            "full_height_cm": full_height_cm,
        },
    )
    rim = size.get("full_height_cm")
    if rim is not None:
        most = _litres(shape, rim, size, "full_height_cm")
        # As much as a full one holds is allowed, whatever the last digit says.
        if volume_l > most * (1 + 1e-12):
            raise out_of_domain("volume_l", volume_l, f"0 to {most:.4g} L, up to the rim")
    if shape == "frustum":
        assert rim is not None
        return _height_in_frustum(volume_l, size, rim)
    return volume_l / _litres(shape, 1.0, size | {"full_height_cm": 1.0}, "volume_l")


@quantity(cautions=FRESH)
def topoff_volume_l(
    *,
    shape: Shape,
    full_mark_cm: Length,
    level_drop_cm: Annotated[float, HEIGHT],
    length_cm: Length | None = None,
    width_cm: Length | None = None,
    diameter_cm: Length | None = None,
    bottom_diameter_cm: Length | None = None,
    top_diameter_cm: Length | None = None,
    full_height_cm: Length | None = None,
) -> float:
    """Fresh water that brings a fallen level back to the mark.

    Unit: L
    Formula: volume at the mark - volume at the mark less the drop
    Range: inside dimensions; a drop not deeper than the mark
    Source: geometry
    Raises: OutOfDomain, also for a drop below the bottom and a mark above the rim
    """
    size = _whole(
        shape,
        {
            "length_cm": length_cm,
            "width_cm": width_cm,
            "diameter_cm": diameter_cm,
            "bottom_diameter_cm": bottom_diameter_cm,
            "top_diameter_cm": top_diameter_cm,
            "full_height_cm": full_height_cm,
        },
    )
    if level_drop_cm > full_mark_cm:
        raise out_of_domain(
            "level_drop_cm", level_drop_cm, f"0 to {full_mark_cm:g} cm (the mark)"
        )
    full = _litres(shape, full_mark_cm, size, "full_mark_cm")
    return full - _litres(shape, full_mark_cm - level_drop_cm, size, "full_mark_cm")


def _whole(shape: str, size: Dimensions) -> dict[str, float]:
    """The dimensions that are told; every one that this shape needs."""
    missing = [name for name in NEEDS[shape] if size[name] is None]
    if missing:
        faults = [
            fault(
                one,
                "missing",
                said("{allowed} for a {shape}", allowed=LENGTH.allowed, shape=shape),
            )
            for one in missing
        ]
        raise OutOfDomain(*faults)
    return {name: value for name, value in size.items() if value is not None}


def _litres(shape: str, height: float, size: dict[str, float], name: str) -> float:
    rim = size.get("full_height_cm")
    if rim is not None and height > rim:
        raise out_of_domain(name, height, f"0 to {rim:g} cm (the rim)")
    if shape == "box":
        return size["length_cm"] * size["width_cm"] * height / 1000
    if shape == "cylinder":
        return math.pi * size["diameter_cm"] ** 2 / 4 * height / 1000
    bottom, top = size["bottom_diameter_cm"] / 2, size["top_diameter_cm"] / 2
    radius = bottom + (top - bottom) * height / size["full_height_cm"]
    return math.pi * height / 3 * (bottom**2 + bottom * radius + radius**2) / 1000


def _height_in_frustum(volume_l: float, size: dict[str, float], rim: float) -> float:
    """By halving: the volume only rises with the height."""
    low, high = 0.0, rim
    for _ in range(STEPS):
        middle = (low + high) / 2
        below = _litres("frustum", middle, size, "volume_l") < volume_l
        low, high = (middle, high) if below else (low, middle)
    return high
