"""Arcs, and smooth curves through measured points, as cubic Béziers."""

from __future__ import annotations

import math
from collections.abc import Sequence

from marker.model.piece import Point


def arc(start: Point, rx: float, ry: float, turn: float, large: bool, sweep: bool, end: Point) -> list[Point]:
    """Control points of the cubic Béziers that follow an elliptical arc: three points a curve.

    ``turn`` is the angle of the axis in degrees. After W3C SVG 2, appendix B.2 (implementation notes). Curves
    span 45° at most, which keeps them within 5 millionths of the radius.
    """
    rx, ry = abs(rx), abs(ry)
    if start == end:
        return []
    if not rx or not ry:
        return [between(start, end, 1 / 3), between(start, end, 2 / 3), end]
    cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    dx, dy = (start[0] - end[0]) / 2, (start[1] - end[1]) / 2
    x, y = cos * dx + sin * dy, -sin * dx + cos * dy
    grow = math.hypot(x / rx, y / ry)
    if grow > 1:
        rx, ry = rx * grow, ry * grow
    under = max(0.0, 1 / ((x / rx) ** 2 + (y / ry) ** 2) - 1)
    factor = math.sqrt(under) * (-1 if large == sweep else 1)
    cx0, cy0 = factor * rx * y / ry, -factor * ry * x / rx
    cx = cos * cx0 - sin * cy0 + (start[0] + end[0]) / 2
    cy = sin * cx0 + cos * cy0 + (start[1] + end[1]) / 2
    first = math.atan2((y - cy0) / ry, (x - cx0) / rx)
    span = math.atan2((-y - cy0) / ry, (-x - cx0) / rx) - first
    if sweep and span < 0:
        span += 2 * math.pi
    if not sweep and span > 0:
        span -= 2 * math.pi
    steps = max(1, math.ceil(abs(span) / (math.pi / 4) - 1e-9))
    step = span / steps
    reach = 4 / 3 * math.tan(step / 4)

    def at(u: float, v: float) -> Point:
        return cx + cos * rx * u - sin * ry * v, cy + sin * rx * u + cos * ry * v

    found: list[Point] = []
    for i in range(steps):
        a, b = first + i * step, first + (i + 1) * step
        found += [
            at(math.cos(a) - reach * math.sin(a), math.sin(a) + reach * math.cos(a)),
            at(math.cos(b) + reach * math.sin(b), math.sin(b) - reach * math.cos(b)),
            at(math.cos(b), math.sin(b)),
        ]
    found[-1] = end
    return found


def arc_through(start: Point, middle: Point, end: Point) -> list[Point]:
    """Control points of the part of a circle from ``start`` over ``middle`` to ``end``, three a Bézier.

    Points in one line give a straight one. Raises ValueError if two of the points are the same.
    """
    if min(math.dist(start, middle), math.dist(middle, end), math.dist(start, end)) == 0:
        raise ValueError("two of the points are the same")
    ax, ay = middle[0] - start[0], middle[1] - start[1]
    bx, by = end[0] - start[0], end[1] - start[1]
    cross = ax * by - ay * bx
    chord = math.hypot(bx, by)
    if abs(cross) <= 1e-9 * chord * chord:
        return [between(start, end, 1 / 3), between(start, end, 2 / 3), end]
    # The radius of the circle round a triangle: the product of the sides over four times its area.
    radius = math.hypot(ax, ay) * chord * math.dist(middle, end) / (2 * abs(cross))
    # More than half of the circle if the angle at the middle point is acute.
    cx, cy = end[0] - middle[0], end[1] - middle[1]
    large = -ax * cx - ay * cy > 0
    return arc(start, radius, radius, 0.0, large, cross > 0, end)


def spline(points: Sequence[Point]) -> list[Point]:
    """Control points of the smooth curve through four points or more, three a Bézier.

    The cubic spline over the lengths of the chords whose third derivative does not jump at the second point
    and at the last but one ("not-a-knot", de Boor 1978): four points lie on one cubic. Raises
    ValueError if two points in a row are the same, or there are fewer than four.
    """
    import numpy as np

    if len(points) < 4:
        raise ValueError("there are fewer than four points")
    at = np.asarray(points, dtype=float)
    h = np.hypot(*np.diff(at, axis=0).T)
    if h.min() == 0:
        raise ValueError("two points in a row are the same")
    n = len(points)
    # Unknown are the second derivatives at the points.
    system, right = np.zeros((n, n)), np.zeros((n, 2))
    rise = np.diff(at, axis=0) / h[:, None]
    for i in range(1, n - 1):
        system[i, i - 1 : i + 2] = h[i - 1], 2 * (h[i - 1] + h[i]), h[i]
        right[i] = 6 * (rise[i] - rise[i - 1])
    system[0, :3] = h[1], -(h[0] + h[1]), h[0]
    system[-1, -3:] = h[-1], -(h[-2] + h[-1]), h[-2]
    bend = np.linalg.solve(system, right)
    found: list[Point] = []
    for i in range(n - 1):
        leaving = rise[i] - h[i] * (2 * bend[i] + bend[i + 1]) / 6
        arriving = rise[i] + h[i] * (bend[i] + 2 * bend[i + 1]) / 6
        one, two = at[i] + leaving * h[i] / 3, at[i + 1] - arriving * h[i] / 3
        found += [(float(one[0]), float(one[1])), (float(two[0]), float(two[1])), points[i + 1]]
    return found


def between(a: Point, b: Point, t: float) -> Point:
    """The point a share ``t`` of the way from ``a`` to ``b``."""
    return a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])


def curve_length(start: Point, controls: Sequence[Point], steps: int = 64) -> float:
    """Length of Béziers one after the other, three control points each, from chords."""
    total, a = 0.0, start
    for i in range(0, len(controls), 3):
        b, c, d = controls[i : i + 3]
        before = a
        for k in range(1, steps + 1):
            t = k / steps
            u = 1 - t
            w = (u**3, 3 * t * u * u, 3 * t * t * u, t**3)
            here = (
                w[0] * a[0] + w[1] * b[0] + w[2] * c[0] + w[3] * d[0],
                w[0] * a[1] + w[1] * b[1] + w[2] * c[1] + w[3] * d[1],
            )
            total += math.dist(before, here)
            before = here
        a = d
    return total
