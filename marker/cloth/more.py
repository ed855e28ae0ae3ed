"""More on a remnant that is laid already: copies put where there is room beside those that lie on it."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from marker.cloth.choose import NothingFits, Runner
from marker.cloth.cloths import ENDS, Cloths, Copies, Copy, Filled, with_placements
from marker.cloth.orient import SCALE
from marker.cloth.place import material_layout
from marker.model.layout import Placement
from marker.nest.nfp import no_fit_polygon
from marker.nest.problem import Placing, Problem, Solution, Variant

KEPT_OFF = 2.0
"""Lattice units that a copy is kept off the others: places are rounded to whole ones."""

SPARE = 0.02
"""Square millimetres of cloth below which nobody looks for room: rounding."""


def with_more(cloths: Cloths, filled: Filled, left: Copies) -> Filled:
    """A remnant with those of the copies ``left`` besides, largest first, that have room as it lies.

    Nothing that lies there moves. Prints that match leave it as it is.
    """
    if cloths.matches:
        return filled
    vain: set[Copy] = set()
    for copy in sorted(left, key=lambda copy: (-cloths.area(copy), copy.need, copy.hand)):
        free = filled.cloth.area - sum(cloths.area(other) for other in filled.copies)
        if copy in vain or cloths.area(copy) > free + SPARE:
            continue
        more = _with_one(cloths, filled, copy)
        if more is None:
            vain.add(copy)
        else:
            filled = more
    return filled


def _with_one(cloths: Cloths, filled: Filled, copy: Copy) -> Filled | None:
    try:
        entered = cloths.entered(filled.cloth, (copy,))
    except NothingFits:
        return None
    taken = [_kept_clear(placement, filled.cloth.fabric.gap) for placement in filled.layout.placements]
    for runner in entered.runners:
        if not _lies_as(runner, filled):
            continue
        (stretch,) = runner.plan.stretches
        if stretch.problem.total > 1:
            continue
        solution = _placed(stretch.problem, taken, round((filled.cloth.along + ENDS) * SCALE))
        if solution is None:
            continue
        laid = material_layout(
            entered.material, filled.cloth.fabric, runner.plan, entered.needs, [solution], runner.bounds
        )
        if any(placement.spare for placement in laid.placements):
            continue
        placements = tuple(sorted((*filled.layout.placements, *laid.placements), key=_begins))
        copies = (*filled.copies, copy)
        length = max(filled.layout.length, laid.length)
        return with_placements(filled, cloths.wanted(copies), placements, copies, length)
    return None


def _lies_as(runner: Runner, filled: Filled) -> bool:
    """Whether a plan spreads the cloth as the layout does."""
    strips = runner.plan.stretches[0].section.strips
    bands = [(band.y, band.layers) for band in filled.layout.bands]
    return len(runner.plan.stretches) == 1 and bands == [((s.low, s.high), s.layers) for s in strips]


def _begins(placement: Placement) -> float:
    return min(x for x, _ in placement.outline)


def _kept_clear(placement: Placement, gap: float) -> NDArray[np.int64]:
    """The outline, counter-clockwise, that others keep clear of, lattice units: half the gap is theirs."""
    outline: Any = shapely.Polygon(placement.outline).buffer(gap / 2, join_style="mitre")
    ring = shapely.geometry.polygon.orient(outline).exterior.coords[:-1]
    return np.rint(np.asarray(ring) * SCALE).astype(np.int64)


def _placed(problem: Problem, taken: list[NDArray[np.int64]], end: int) -> Solution | None:
    """The one shape of a problem laid as far left as there is room before ``end``; None if there is none."""
    found: list[tuple[int, int, int]] = []
    (kind,) = (k for k, kind in enumerate(problem.kinds) if kind.count)
    for v, variant in enumerate(problem.kinds[kind].variants):
        room = _room(variant, [*taken, *problem.obstacles], end)
        if not room.is_empty:
            corners = shapely.get_coordinates(room)
            x, y = min((round(float(x)), round(float(y))) for x, y in corners)
            found.append((x + variant.x_back, v, y))
    if not found:
        return None
    length, v, y = min(found)
    x = length - problem.kinds[kind].variants[v].x_back
    return Solution(length, (Placing(kind, v, x, y),))


def _room(variant: Variant, taken: list[NDArray[np.int64]], end: int) -> Any:
    """Where the reference point of a variant may lie: its window without what others take from it."""
    right = end - variant.x_back
    if right < variant.x_lo or variant.y_hi < variant.y_lo:
        return shapely.Polygon()
    window = shapely.box(variant.x_lo, variant.y_lo, right, variant.y_hi)
    if window.area == 0.0:
        window = shapely.LineString([(variant.x_lo, variant.y_lo), (right, variant.y_hi)])
    for other in taken:
        rings = [shapely.Polygon(ring) for ring in no_fit_polygon(other, variant.polygon)]
        outer = [ring for ring in rings if ring.exterior.is_ccw]
        holes = [ring for ring in rings if not ring.exterior.is_ccw]
        held = shapely.union_all([ring.buffer(0) for ring in outer])
        free = shapely.union_all([ring.buffer(0) for ring in holes])
        window = window.difference(held.difference(free).buffer(KEPT_OFF))
    return window
