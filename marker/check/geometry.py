"""Do outlines overlap, stay apart, stay inside, and have the same form? Every answer has its tolerance.

Lengths are in the unit of the coordinates (millimetres for layouts). Outlines are rings without a
repeated last point, in either direction.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TypeAlias

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon

from marker.model.piece import Point

Shape: TypeAlias = Polygon | MultiPolygon

DEPTH_TOLERANCE = 0.02
"""Millimetres that one piece may reach into another: a layout is kept on a lattice of 0.01 mm, and two
outlines rounded to it can each be off by half a lattice diagonal, 0.007 mm."""


def is_ring(outline: Sequence[Point]) -> bool:
    """At least three points, none of them infinite or not a number."""
    return len(outline) >= 3 and all(math.isfinite(x) and math.isfinite(y) for x, y in outline)


def solid(outline: Sequence[Point], holes: Sequence[Sequence[Point]] = ()) -> Shape:
    """The cloth inside an outline; valid, and empty if the outline encloses nothing.

    An outline that crosses itself counts as everything it encloses, wound either way and without its
    holes, so that repairing it never hides an overlap. ``ValueError`` if it is no ring at all.
    """
    if not is_ring(outline):
        raise ValueError("an outline needs at least three points, all of them finite")
    polygon = Polygon(outline, [hole for hole in holes if is_ring(hole)])
    if polygon.is_valid:
        return polygon
    noded = shapely.union_all([shapely.linestrings([*outline, outline[0]])])
    faces = shapely.union_all(shapely.get_parts(shapely.polygonize([noded])))
    return faces if isinstance(faces, Polygon | MultiPolygon) else Polygon()


def shrunk(shape: Shape, by: float) -> Shape:
    """The part of ``shape`` that lies at least ``by`` from its boundary; may be empty.

    Offsetting inwards takes at most ``by`` times the perimeter away (and a little more for each hole)
    and never adds. A result that breaks this is thrown away and the rim is cut off instead: slower,
    and another algorithm.
    """
    core = shape.buffer(-by, quad_segs=16)
    rings = len(shapely.get_parts(shape.boundary))
    least = shape.area - by * shape.length - 4 * by * by * rings
    if core.is_valid and least <= core.area <= shape.area:
        return core
    return shape.difference(shape.boundary.buffer(by, quad_segs=16))


def overlapping(shapes: Sequence[Shape], tolerance: float) -> list[tuple[int, int, float]]:
    """As ``overlapping_pairs``, for shapes that are made already."""
    found: dict[tuple[int, int], float] = {}
    if not shapes:
        return []
    cores = [_core(shape, tolerance) for shape in shapes]
    # Shrinking one of the two first keeps every test away from touching edges, where the common part
    # is a sliver made of rounding and neither its area nor its validity can be relied on.
    for inner, outer in shapely.STRtree(shapes).query(cores, predicate="intersects").T.tolist():
        if inner != outer:
            pair = (min(inner, outer), max(inner, outer))
            found[pair] = max(found.get(pair, 0.0), reach(shapes[outer], shapes[inner], tolerance))
    return [(a, b, depth) for (a, b), depth in sorted(found.items())]


def overlapping_pairs(outlines: Sequence[Sequence[Point]], tolerance: float) -> list[tuple[int, int, float]]:
    """Pairs (i, j, depth), i < j, of outlines that overlap: depth > tolerance.

    The depth of an overlap is how far a point of one outline can lie inside the other: the largest
    distance from a point common to both to the nearest edge of either outline, whichever of the two is
    farther. It is what the shears would cut into the neighbour. The test is that one outline
    meets the other shrunk by the tolerance. So a long overlap however thin is found as soon as it is
    deeper than the tolerance, as are outlines that contain one another or are the same, whereas
    touching outlines pass although rounding makes them share slivers. Areas are not compared: the
    sliver between two long touching edges can be larger than a real overlap at a corner. Parts of an
    outline thinner than twice the tolerance have no inside to reach; an outline that is so thin all
    over is shrunk by less, until something is left of it.

    Outlines that cross themselves count as all they enclose. Shrinking is exact along straight edges
    and within 2 % of the tolerance round inward corners, to the strict side. The depth reported is
    right to 1 %. ``ValueError`` for an outline of fewer than three points or with a coordinate that
    is not finite, or for a tolerance that is not positive.
    """
    if not tolerance > 0:
        raise ValueError("the tolerance must be positive")
    return overlapping([solid(outline) for outline in outlines], tolerance)


def too_close(shapes: Sequence[Shape], distance: float) -> list[tuple[int, int, float]]:
    """Pairs (i, j, distance between them), i < j, nearer to one another than ``distance``."""
    if distance <= 0 or not shapes:
        return []
    near = shapely.STRtree(shapes).query(shapes, predicate="dwithin", distance=distance).T.tolist()
    pairs = [(a, b, shapely.distance(shapes[a], shapes[b])) for a, b in sorted(near) if a < b]
    return [(a, b, apart) for a, b, apart in pairs if apart < distance]


def outside(
    outlines: Sequence[Sequence[Point]], x: tuple[float, float], y: tuple[float, float], tolerance: float
) -> list[tuple[int, float]]:
    """(index, how far) of each outline that leaves the rectangle by more than ``tolerance``.

    A coordinate that is not finite is infinitely far outside. Outlines without points are inside.
    """
    found = []
    for index, outline in enumerate(outlines):
        if not outline:
            continue
        xs, ys = np.asarray(outline, dtype=float).T
        if not (np.isfinite(xs).all() and np.isfinite(ys).all()):
            found.append((index, math.inf))
            continue
        far = max(x[0] - xs.min(), xs.max() - x[1], y[0] - ys.min(), ys.max() - y[1])
        if far > tolerance:
            found.append((index, float(far)))
    return found


def same_form(a: Shape, b: Shape, tolerance: float) -> bool:
    """Every point of either boundary, corner or not, lies within ``tolerance`` of the other boundary.

    Boundaries that touch or cross themselves are compared as they are. Round a corner the tolerance is
    kept to within 0.2 %, to the strict side.
    """
    one, two = a.boundary, b.boundary
    return bool(
        one.buffer(tolerance, quad_segs=16).covers(two) and two.buffer(tolerance, quad_segs=16).covers(one)
    )


def form_difference(a: Shape, b: Shape) -> float:
    """About how far the two boundaries are apart at worst: sampled at corners and nine places between."""
    return float(shapely.hausdorff_distance(a.boundary, b.boundary, densify=0.1))


def _core(shape: Shape, tolerance: float) -> Shape:
    """The shape shrunk by the tolerance, or by less where it is too thin for that."""
    core = shrunk(shape, tolerance)
    by = tolerance
    while core.is_empty and not shape.is_empty and by > tolerance * 1e-6:
        by /= 2
        core = shrunk(shape, by)
    return core


def reach(visitor: Shape, host: Shape, known: float) -> float:
    """How deep ``visitor`` reaches into ``host``: at least ``known``, found to 1 % by halving."""
    left, bottom, right, top = host.bounds
    low, high = known, max(min(right - left, top - bottom) / 2, known)
    while high - low > 0.01 * high:
        middle = (low + high) / 2
        if shrunk(host, middle).intersects(visitor):
            low = middle
        else:
            high = middle
    return high
