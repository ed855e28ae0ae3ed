"""Whether cloth in hand can be enough at all: bounds that hold however the pieces are laid and spread."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from marker.cloth.choose import NothingFits
from marker.cloth.cloths import Cloths
from marker.model.fabric import Remnant
from marker.model.job import Job
from marker.model.piece import Ring

SLACK = 1.0
"""Millimetres that a cloth is taken to be larger by on all sides: outlines are simplified by less."""


@dataclass(frozen=True)
class Shown:
    """What bounds show of a material's remnants: that they ``cannot`` take all its cuts, or nothing.

    ``length`` is what the only remnant would have to be long at least, as it lies now, in millimetres; 0
    where no length would help, or none is known.
    """

    cannot: bool
    length: float = 0.0


def shown(job: Job, material: str) -> Shown:
    """Whether the cuts of a material do not all fit on its remnants, with no roll to go on.

    By area, by pieces that have room on none of them, and on a single remnant by the length below which no
    layout exists. Copies from two layers lie beside each other on the cloth opened flat, so what holds for
    the open cloth holds for every spread. Raises InputError for a job that cannot be.
    """
    fabric = job.fabrics[material]
    if fabric.roll:
        return Shown(False)
    larger = replace(fabric, remnants=tuple(map(_larger, fabric.remnants)))
    cloths = Cloths(
        replace(job, matching="none", fabrics={**job.fabrics, material: larger}), material, "best"
    )
    if len(cloths.remnants) == 1:
        (cloth,) = cloths.remnants
        try:
            length = cloths.bound(replace(cloth, along=float("inf")), cloths.every)
        except NothingFits:
            length = 0.0
        if length > cloth.along:
            washed = cloth.remnant is None or cloth.remnant.washed
            return Shown(True, (length - 2.0 * SLACK) / (1.0 if washed else 1.0 - fabric.shrink_along))
    if sum(cloths.area(copy) for copy in cloths.every) > sum(cloth.usable for cloth in cloths.remnants):
        return Shown(True)
    copies = dict.fromkeys(cloths.every)
    return Shown(any(not any(cloths.fits(cloth, copy) for cloth in cloths.remnants) for copy in copies))


def _larger(remnant: Remnant) -> Remnant:
    """The remnant with ``SLACK`` more cloth at every edge."""
    from shapely import Polygon, affinity, get_parts

    outline = Polygon(remnant.outline).buffer(SLACK, join_style="mitre")
    left, low, _, _ = outline.bounds

    def ring(part: Any) -> Ring:
        moved = affinity.translate(part, -left, -low)
        return tuple((float(x), float(y)) for x, y in moved.exterior.coords[:-1])

    holes = [part for hole in remnant.holes for part in get_parts(Polygon(hole).buffer(-SLACK))]
    return replace(remnant, outline=ring(outline), holes=tuple(ring(hole) for hole in holes if hole.area > 0))
