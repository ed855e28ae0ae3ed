"""A remnant as a cloth: its box, and what of the box is no cloth."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from marker.model.fabric import Fabric, Remnant
from marker.model.piece import Ring

SLIVER = 0.01
"""Square millimetres of box outside the outline that are rounding."""


def size_of(remnant: Remnant) -> tuple[float, float]:
    """Millimetres along and across of the box round a remnant that begins at 0, 0."""
    return max(x for x, _ in remnant.outline), max(y for _, y in remnant.outline)


def area_of(remnant: Remnant) -> float:
    """Square millimetres of cloth."""
    return float(_cloth(remnant).area)


def remnant_cloth(fabric: Fabric, remnant: Remnant) -> Fabric:
    """The remnant as a cloth as wide as its box; nothing of it shrinks or is bought any more.

    How long it is, and what ``edges_of`` tells, is not in it.
    """
    _, across = size_of(remnant)
    return replace(
        fabric,
        name=f"{fabric.name}, {remnant.name}",
        width=across,
        selvage=remnant.selvage,
        shrink_along=0.0,
        shrink_across=0.0,
        tube=False,
        price=None,
        flaws=(),
        border=None,
        remnants=(),
    )


def longer(remnant: Remnant, along: float) -> Remnant:
    """The remnant with cloth in its full width behind its end, up to ``along`` millimetres from its start."""
    from shapely import Polygon, box, union_all

    end, across = size_of(remnant)
    whole = union_all([Polygon(remnant.outline), box(end, 0.0, max(along, end + SLIVER), across)])
    if not isinstance(whole, Polygon):
        return remnant
    return replace(remnant, outline=tuple((float(x), float(y)) for x, y in whole.exterior.coords[:-1]))


def edges_of(remnant: Remnant) -> tuple[Ring, ...]:
    """The box without the remnant, and the holes, as rings: nothing may be cut over them in either layer."""
    from shapely import Polygon, box, get_parts

    along, across = size_of(remnant)
    outside = box(0.0, 0.0, along, across).difference(Polygon(remnant.outline))
    parts = [*get_parts(outside), *(Polygon(hole) for hole in remnant.holes)]
    return tuple(
        tuple((float(x), float(y)) for x, y in part.exterior.coords[:-1])
        for part in parts
        if isinstance(part, Polygon) and part.area > SLIVER
    )


def _cloth(remnant: Remnant) -> Any:
    from shapely import Polygon

    return Polygon(remnant.outline, remnant.holes)
