"""Small geometry on rings (closed outlines) and points, in plain Python."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from marker.model.piece import Point, Ring


def signed_area(ring: Sequence[Point]) -> float:
    """Area enclosed, positive when counter-clockwise; 0 for fewer than three points."""
    x0, y0 = ring[0] if ring else (0.0, 0.0)
    total = 0.0
    for (ax, ay), (bx, by) in zip(ring, (*ring[1:], *ring[:1]), strict=True):
        total += (ax - x0) * (by - y0) - (bx - x0) * (ay - y0)
    return total / 2.0


def counter_clockwise(ring: Sequence[Point]) -> Ring:
    """The same ring running counter-clockwise, starting at the same point."""
    if signed_area(ring) >= 0:
        return tuple(ring)
    return (ring[0], *reversed(ring[1:]))


def extent(ring: Sequence[Point]) -> tuple[float, float]:
    """Width and height of the bounding box."""
    xs = [x for x, _ in ring]
    ys = [y for _, y in ring]
    return max(xs) - min(xs), max(ys) - min(ys)


def off_line(point: Point, line: tuple[Point, Point]) -> float:
    """Signed distance of ``point`` from the endless line through ``line``; positive on its left."""
    (ax, ay), (bx, by) = line
    return ((bx - ax) * (point[1] - ay) - (by - ay) * (point[0] - ax)) / math.hypot(bx - ax, by - ay)


def mirrored(point: Point, line: tuple[Point, Point]) -> Point:
    """The mirror image of ``point`` in the endless line through ``line``."""
    (ax, ay), (bx, by) = line
    square = (bx - ax) ** 2 + (by - ay) ** 2
    t = ((point[0] - ax) * (bx - ax) + (point[1] - ay) * (by - ay)) / square
    fx, fy = ax + t * (bx - ax), ay + t * (by - ay)
    return (2 * fx - point[0], 2 * fy - point[1])


def nearest_on_ring(point: Point, ring: Sequence[Point]) -> tuple[float, int, Point]:
    """(distance, index of the edge, point) of the place on ``ring`` that is nearest to ``point``.

    Edge i runs from vertex i to vertex i + 1. An end of an edge comes back as exactly that vertex.
    """
    px, py = point
    best: tuple[float, int, Point] = (math.inf, 0, ring[0])
    for i, (ax, ay) in enumerate(ring):
        bx, by = ring[(i + 1) % len(ring)]
        dx, dy = bx - ax, by - ay
        square = dx * dx + dy * dy
        t = ((px - ax) * dx + (py - ay) * dy) / square if square else 0.0
        foot = (ax, ay) if t <= 0 else (bx, by) if t >= 1 else (ax + t * dx, ay + t * dy)
        distance = math.dist(point, foot)
        if distance < best[0]:
            best = (distance, i, foot)
    return best


def with_vertex(ring: Sequence[Point], point: Point, same: float = 0.01) -> tuple[Ring, Point]:
    """The ring with a vertex at the place nearest to ``point``, and that vertex.

    A vertex nearer than ``same`` to that place is used as it is, so no tiny edges appear.
    """
    _, i, foot = nearest_on_ring(point, ring)
    for vertex in (ring[i], ring[(i + 1) % len(ring)]):
        if math.dist(vertex, foot) <= same:
            return tuple(ring), vertex
    return (*ring[: i + 1], foot, *ring[i + 1 :]), foot


def chain(ring: Sequence[Point], start: int, end: int) -> list[int]:
    """Indices of the edges from vertex ``start`` to vertex ``end`` in ring order (none if equal)."""
    return [(start + k) % len(ring) for k in range((end - start) % len(ring))]


def way_between(ring: Sequence[Point], start: Point, end: Point) -> list[Point]:
    """The vertices from one vertex to another, the shorter way round."""
    i, j = ring.index(start), ring.index(end)
    ways = [
        [ring[(i + k) % len(ring)] for k in range((j - i) % len(ring) + 1)],
        [ring[(i - k) % len(ring)] for k in range((i - j) % len(ring) + 1)],
    ]
    return min(ways, key=lambda way: sum(math.dist(a, b) for a, b in pairwise(way)))


def along(way: Sequence[Point], distance: float, slack: float = 0.01) -> Point | None:
    """The point so far along an open way; None if the way is shorter by more than ``slack``."""
    for a, b in pairwise(way):
        step = math.dist(a, b)
        if distance <= step:
            t = distance / step
            return (a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1]))
        distance -= step
    return way[-1] if distance <= slack else None


def without_repeats(points: Sequence[Point], same: float) -> list[Point]:
    """A ring without points within ``same`` of the one before; the last comes before the first."""
    kept: list[Point] = []
    for point in points:
        if not kept or math.dist(kept[-1], point) > same:
            kept.append(point)
    while len(kept) > 1 and math.dist(kept[0], kept[-1]) <= same:
        kept.pop()
    return kept
