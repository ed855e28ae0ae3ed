"""Polygons in convex parts, exactly, in integers."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Point = tuple[int, int]
Convex = list[Point]


def outside_parts(rings: Sequence[NDArray[np.int64]]) -> tuple[list[tuple[Point, Point]], list[Convex]]:
    """All that is not strictly inside a no-fit polygon, as convex sets: (edges, polygons).

    Each edge (from, to) of the convex hull stands for the half-plane to its right; each polygon,
    counter-clockwise, is a part of a bay between outline and hull, or of a hole. ``rings`` as from
    ``no_fit_polygon``: one outer ring counter-clockwise, holes clockwise. A bay that touches itself in
    a way that cannot be cut up is given whole, as its hull: too much, never too little.
    """
    outlines = [[(int(x), int(y)) for x, y in ring] for ring in rings]
    outer = max(outlines, key=_area)
    corners = hull(outer)
    edges = list(zip(corners, corners[1:] + corners[:1], strict=True))
    on_hull = set(corners)
    at = [i for i, p in enumerate(outer) if p in on_hull]
    bays = []
    for i, j in zip(at, at[1:] + [at[0] + len(outer)], strict=True):
        bay = [outer[k % len(outer)] for k in range(j, i - 1, -1)]
        if len(bay) > 2 and _area(bay) > 0:
            bays.append(bay)
    holes = [ring[::-1] for ring in outlines if _area(ring) < 0]
    return edges, [part for polygon in bays + holes for part in convex_parts(polygon)]


def convex_parts(polygon: Convex) -> list[Convex]:
    """Convex polygons that cover a simple, counter-clockwise one exactly (Hertel & Mehlhorn 1983).

    Triangles by cutting off ears, joined again where the result stays convex: at most four times as many
    parts as are needed. Gives the hull if the polygon is not simple.
    """
    parts = _triangles(polygon)
    if parts is None:
        return [hull(polygon)]
    joined = True
    while joined:
        joined = False
        for i in range(len(parts)):
            for j in range(i + 1, len(parts)):
                both = _joined(parts[i], parts[j])
                if both is not None:
                    parts[i] = both
                    del parts[j]
                    joined = True
                    break
            if joined:
                break
    return parts


def hull(points: Sequence[Point]) -> Convex:
    """Corners of the convex hull, counter-clockwise, none in the middle of an edge (Andrew 1979)."""
    ordered = sorted(set(points))

    def chain(sequence: Sequence[Point]) -> Convex:
        kept: Convex = []
        for point in sequence:
            while len(kept) > 1 and side(kept[-2], kept[-1], point) <= 0:
                kept.pop()
            kept.append(point)
        return kept[:-1]

    return chain(ordered) + chain(ordered[::-1])


def side(a: Point, b: Point, c: Point) -> int:
    """Positive if a, b, c turn left, negative if they turn right, 0 if they are in line."""
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _area(ring: Sequence[Point]) -> int:
    """Twice the signed area."""
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(ring, [*ring[1:], ring[0]], strict=True))


def _triangles(polygon: Convex) -> list[Convex] | None:
    left = list(polygon)
    found = []
    while len(left) > 3:
        for i in range(len(left)):
            a, b, c = left[i - 1], left[i], left[(i + 1) % len(left)]
            turn = side(a, b, c)
            if turn == 0 and (b[0] - a[0]) * (c[0] - b[0]) + (b[1] - a[1]) * (c[1] - b[1]) >= 0:
                del left[i]
                break
            if turn > 0 and not any(_within(p, a, b, c) for p in left if p not in (a, b, c)):
                found.append([a, b, c])
                del left[i]
                break
        else:
            return None
    if len(left) == 3 and side(*left) > 0:
        found.append(left)
    # Cut off from a ring that crosses or touches itself, ears may overlap or be left over.
    return found if sum(map(_area, found)) == _area(polygon) else None


def _within(p: Point, a: Point, b: Point, c: Point) -> bool:
    return side(a, b, p) >= 0 and side(b, c, p) >= 0 and side(c, a, p) >= 0


def _joined(p: Convex, q: Convex) -> Convex | None:
    """Two convex polygons with an edge in common as one, if that is convex."""
    for u, a in enumerate(p):
        b = p[(u + 1) % len(p)]
        if b in q and q[(q.index(b) + 1) % len(q)] == a:
            w = q.index(b)
            turned = q[w:] + q[:w]  # from b on to a, and round to b again
            both = p[u + 1 :] + p[: u + 1] + turned[2:]
            n = len(both)
            if all(side(both[k - 1], both[k], both[(k + 1) % n]) >= 0 for k in range(n)):
                return both
    return None
