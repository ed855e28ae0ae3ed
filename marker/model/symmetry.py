"""Whether a piece is its own mirror image, so that left and right hands are the same."""

from __future__ import annotations

import math

from marker.model.piece import Point, Ring
from marker.model.ring import signed_area

TOLERANCE = 0.5
"""Millimetres by which the outline and its mirror image may differ."""


def is_symmetric(outline: Ring, grain: tuple[Point, Point], nap: bool, tolerance: float = TOLERANCE) -> bool:
    """Is the piece the same as its mirror image, as far as laying it on cloth is concerned?

    The mirror image is taken across the grain line (left and right change places, the top stays the
    top) and shifted so that the centres of area meet. Without nap it may also be turned by 180°. Every
    vertex of either must lie within ``tolerance`` of the other's edge.
    """
    (ax, ay), (bx, by) = grain
    length = math.hypot(bx - ax, by - ay)
    ux, uy = (bx - ax) / length, (by - ay) / length
    cx, cy = _centroid(outline)
    # Across the grain and along it, from the centre of area.
    local = tuple(((x - cx) * uy - (y - cy) * ux, (x - cx) * ux + (y - cy) * uy) for x, y in outline)
    mirrored = tuple((-across, along) for across, along in reversed(local))
    if _same(local, mirrored, tolerance):
        return True
    return not nap and _same(local, tuple((-across, -along) for across, along in mirrored), tolerance)


def _same(one: Ring, other: Ring, tolerance: float) -> bool:
    from shapely import LinearRing, distance, points

    return all(
        bool((distance(points(corners), LinearRing(edge)) <= tolerance).all())
        for corners, edge in ((one, other), (other, one))
    )


def _centroid(ring: Ring) -> Point:
    x0, y0 = ring[0]
    sx = sy = 0.0
    for (ax, ay), (bx, by) in zip(ring, (*ring[1:], ring[0]), strict=True):
        cross = (ax - x0) * (by - y0) - (bx - x0) * (ay - y0)
        sx += (ax + bx - 2 * x0) * cross
        sy += (ay + by - 2 * y0) * cross
    area = signed_area(ring)
    return x0 + sx / (6 * area), y0 + sy / (6 * area)
