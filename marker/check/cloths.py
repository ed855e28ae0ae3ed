"""The cloth that one entry of a layout lies on: the roll, or a remnant with its edges."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from shapely.geometry import box

from marker.check.geometry import DEPTH_TOLERANCE, Shape, overlapping, reach, solid
from marker.model.fabric import Fabric, Remnant
from marker.model.layout import MaterialLayout

MARGIN = 100.0
"""Millimetres of nothing drawn round a remnant and all that lies on it: any will do."""


@dataclass(frozen=True)
class Cloth:
    """Millimetres, as the flat cloth lies. ``flaws`` are places not to cut over."""

    width: float
    selvage: float
    flaws: tuple[Shape, ...]
    remnant: Remnant | None = None

    @property
    def usable(self) -> tuple[float, float]:
        return self.selvage, self.width - self.selvage

    @property
    def along(self) -> float | None:
        """How long it is; a roll has no end."""
        return max(x for x, _ in self.remnant.outline) if self.remnant else None


def cloth_of(fabric: Fabric, name: str) -> Cloth | None:
    """The remnant of that name, the roll if there is none, or ``None`` if the fabric has no such cloth."""
    if name:
        for remnant in fabric.remnants:
            if remnant.name == name:
                return Cloth(max(y for _, y in remnant.outline), remnant.selvage, (), remnant)
        return None
    if not fabric.roll:
        return None
    width = fabric.width * (2 if fabric.tube else 1) * (1 - fabric.shrink_across)
    return Cloth(width, 0.0 if fabric.tube else fabric.selvage, tuple(solid(flaw) for flaw in fabric.flaws))


def wrong_cloths(entries: Sequence[MaterialLayout], fabric: Fabric) -> Iterator[str]:
    """Each remnant and the roll serve once, and only if there are any."""
    names = [entry.cloth for entry in entries]
    for name in dict.fromkeys(names):
        if names.count(name) > 1:
            what = f"remnant “{name}” of {entries[0].material}" if name else entries[0].material
            yield f"{what} is {'used' if name else 'to be cut and is laid out'} more than once"
        if name and all(remnant.name != name for remnant in fabric.remnants):
            yield f"there is no remnant “{name}” of {fabric.name}"
        if not name and not fabric.roll:
            yield f"there is no roll of {fabric.name}, only what is left of it"


def over_the_edge(shapes: Sequence[Shape], remnant: Remnant) -> Iterator[tuple[int, str]]:
    """(index of a shape, what it does) of those that do not lie on the cloth of a remnant."""
    bounds = [shape.bounds for shape in (*shapes, solid(remnant.outline)) if not shape.is_empty]
    left, bottom, right, top = (
        pick(bound[side] for bound in bounds) for side, pick in enumerate((min, min, max, max))
    )
    room = box(left - MARGIN, bottom - MARGIN, right + MARGIN, top + MARGIN)
    nothing = [room.difference(solid(remnant.outline)), *(solid(hole) for hole in remnant.holes)]
    for index, shape in enumerate(shapes):
        for hole, place in enumerate(nothing):
            if overlapping([shape, place], DEPTH_TOLERANCE):
                depth = reach(shape, place, DEPTH_TOLERANCE)
                what = "over a hole" if hole else "over the edge"
                yield index, f"reaches {depth:.2f} mm {what} of the remnant “{remnant.name}”"
