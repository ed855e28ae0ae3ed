"""Edges of pattern pieces: runs of straight lines and cubic Bézier curves that can be measured and cut.

All lengths in millimetres; x to the right and y downwards, as in the pattern files.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from math import hypot

from numpy.polynomial.legendre import leggauss

Point = tuple[float, float]
Segment = tuple[Point, ...]
"""Two points: a straight line. Four: a cubic Bézier curve."""
Edge = tuple[Segment, ...]
"""Segments end to start in a row; an edge is never empty."""

_NODES, _WEIGHTS = (tuple(float(v) for v in values) for values in leggauss(16))
_JOIN = 1e-6


def line(*points: Point) -> Edge:
    """Straight segments from point to point."""
    return tuple(pairwise(points))


def curve(a: Point, c: Point, d: Point, b: Point) -> Edge:
    """One cubic from ``a`` to ``b`` with control points ``c`` and ``d``."""
    return ((a, c, d, b),)


def rounded(a: Point, corner: Point, b: Point, radius: float) -> Edge:
    """The curve that rounds a right-angled ``corner`` between straight edges from ``a`` and to ``b``."""
    into, out = toward(corner, a, radius), toward(corner, b, radius)
    return curve(into, toward(corner, a, 0.45 * radius), toward(corner, b, 0.45 * radius), out)


def joined(*edges: Edge) -> Edge:
    """The edges as one; ValueError where one does not start at the end of the last."""
    for before, after in pairwise(edges):
        if _apart(end(before), start(after)) > _JOIN:
            raise ValueError(f"edges do not join: {end(before)} and {start(after)}")
    return tuple(segment for edge in edges for segment in edge)


def start(edge: Edge) -> Point:
    return edge[0][0]


def end(edge: Edge) -> Point:
    return edge[-1][-1]


def reverse(edge: Edge) -> Edge:
    return tuple(tuple(reversed(segment)) for segment in reversed(edge))


def moved(edge: Edge, move: Callable[[Point], Point]) -> Edge:
    """The edge with ``move`` applied to every point; ``move`` must be affine for curves to stay true."""
    return tuple(tuple(move(point) for point in segment) for segment in edge)


def mirrored(edge: Edge) -> Edge:
    """The edge mirrored in the line x = 0."""
    return moved(edge, lambda p: (-p[0], p[1]))


def length(edge: Edge) -> float:
    return sum(_arc(segment, 1.0) for segment in edge)


def split(edge: Edge, distance: float) -> tuple[Edge, Edge]:
    """The edge cut in two at ``distance`` from its start, which must lie strictly inside it."""
    done: list[Segment] = []
    for i, segment in enumerate(edge):
        whole = _arc(segment, 1.0)
        if distance <= whole:
            first, second = _split_segment(segment, _parameter(segment, distance))
            return (*done, first), (second, *edge[i + 1 :])
        distance -= whole
        done.append(segment)
    raise ValueError("the edge is shorter than the distance to cut it at")


def split_where(edge: Edge, side: Callable[[Point], float]) -> tuple[Edge, Edge]:
    """The edge cut in two at the one place where ``side`` changes its sign."""
    return split(edge, solve(lambda d: side(point_at(edge, d)), 0.0, length(edge)))


def point_at(edge: Edge, distance: float) -> Point:
    """The point of the edge at ``distance`` along it from its start."""
    if distance <= 0.0:
        return start(edge)
    if distance >= length(edge):
        return end(edge)
    return end(split(edge, distance)[0])


def solve(f: Callable[[float], float], low: float, high: float) -> float:
    """The place where ``f`` is zero, by bisection; ValueError if it has one sign at both ends."""
    at_low, at_high = f(low), f(high)
    if at_low == 0.0 or at_high == 0.0:
        return low if at_low == 0.0 else high
    if (at_low < 0.0) == (at_high < 0.0):
        raise ValueError(f"no change of sign between {low} ({at_low}) and {high} ({at_high})")
    for _ in range(50):
        middle = (low + high) / 2.0
        if (f(middle) < 0.0) == (at_low < 0.0):
            low = middle
        else:
            high = middle
    return (low + high) / 2.0


def toward(a: Point, b: Point, distance: float) -> Point:
    """The point at ``distance`` from ``a`` in the direction of ``b``."""
    part = distance / _apart(a, b)
    return (a[0] + part * (b[0] - a[0]), a[1] + part * (b[1] - a[1]))


def square_to(a: Point, b: Point) -> Point:
    """The unit vector at right angles to a → b, turned clockwise as seen on the page."""
    reach = _apart(a, b)
    return (-(b[1] - a[1]) / reach, (b[0] - a[0]) / reach)


def off(point: Point, direction: Point, distance: float) -> Point:
    return (point[0] + distance * direction[0], point[1] + distance * direction[1])


def _apart(a: Point, b: Point) -> float:
    return hypot(b[0] - a[0], b[1] - a[1])


def _arc(segment: Segment, t: float) -> float:
    """Length from the segment's start to its parameter ``t``, by Gauss-Legendre quadrature."""
    if len(segment) == 2:
        return t * _apart(*segment)
    (ax, ay), (cx, cy), (dx, dy), (bx, by) = segment
    total = 0.0
    for node, weight in zip(_NODES, _WEIGHTS, strict=True):
        s = t * (node + 1.0) / 2.0
        u, v, w = (1.0 - s) ** 2, 2.0 * s * (1.0 - s), s * s
        total += weight * hypot(
            u * (cx - ax) + v * (dx - cx) + w * (bx - dx), u * (cy - ay) + v * (dy - cy) + w * (by - dy)
        )
    return 3.0 * total * t / 2.0


def _parameter(segment: Segment, distance: float) -> float:
    return solve(lambda t: _arc(segment, t) - distance, 0.0, 1.0)


def _split_segment(segment: Segment, t: float) -> tuple[Segment, Segment]:
    """De Casteljau's construction; the two parts share the cutting point."""
    rows = [list(segment)]
    while len(rows[-1]) > 1:
        rows.append(
            [
                (a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1]))
                for a, b in zip(rows[-1], rows[-1][1:], strict=False)
            ]
        )
    return tuple(row[0] for row in rows), tuple(row[-1] for row in reversed(rows))
