"""Seam allowances: from the line that is stitched to the line that is cut, and back.

The cutting line is the stitching line moved outwards, edge by edge, each by its own width. Corners
are mitred (both edges run on until they meet) unless the mitre would reach farther than
``MITRE_LIMIT`` allowances from the corner; there it is cut off square to the corner's bisector.
Where the width changes along a smooth edge the cutting line steps out square. A fold edge gets no
allowance, and the cutting line of its neighbours runs on to the fold line and ends there.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from marker.model.fold import unfold
from marker.model.piece import Point, Ring
from marker.model.ring import chain, counter_clockwise, nearest_on_ring, off_line, without_repeats

MITRE_LIMIT = 3.0
"""How many allowances a corner of the cutting line may lie from the corner of the stitching line."""

SAME = 0.001
"""Millimetres below which two points of a cutting line are one."""

_TINY = 1e-9


def add_allowance(ring: Ring, widths: Sequence[float], fold: Sequence[bool] | None = None) -> Ring:
    """The cutting line round ``ring`` (stitching line, counter-clockwise, simple).

    ``widths[i]`` is the allowance of the edge from vertex i to i + 1, millimetres, 0 or more. Edges
    with ``fold[i]`` true lie on the fold, on one straight line, and have width 0.

    Raises ValueError with a few words if the allowances of different edges run into each other and
    enclose a hole.
    """
    on_fold = list(fold) if fold is not None else [False] * len(ring)
    if not any(widths):
        return ring
    direct = _direct(ring, widths, on_fold)
    return direct if direct is not None else _united(ring, widths, on_fold)


def take_allowance(
    ring: Ring, widths: Sequence[float], fold: tuple[Point, Point] | None = None
) -> Ring | None:
    """The stitching line inside ``ring`` (cutting line, counter-clockwise, simple).

    ``widths[i]`` is the allowance inside the edge from vertex i to i + 1, millimetres, 0 or more. The line
    runs from corner to corner of the allowances, and steps square where their width changes along an edge.
    ``fold`` are both ends of the edge on the fold, vertices in ring order, with widths of 0 between them.
    None if the allowances leave nothing, as on a binding.
    """
    from shapely import Polygon, unary_union
    from shapely.affinity import scale

    if not any(widths):
        return ring
    whole, around = ring, list(widths)
    if fold is not None:
        start, end = ring.index(fold[0]), ring.index(fold[1])
        outer = [widths[i] for i in chain(ring, end, start)]
        whole, around = unfold(ring, fold), outer + outer[::-1]
    # Seen in a mirror the inside lies where allowances are added.
    glass = tuple((-x, y) for x, y in whole)
    inside = Polygon(glass).difference(unary_union(_strips(glass, around, [False] * len(glass))))
    inside = scale(inside, xfact=-1, origin=(0, 0))
    if fold is not None:
        inside = inside.intersection(_left_of(fold, inside.bounds)) if not inside.is_empty else inside
    parts = [part for part in getattr(inside, "geoms", [inside]) if part.geom_type == "Polygon"]
    if not parts or max(part.area for part in parts) < 1.0:
        return None
    edge = max(parts, key=lambda part: part.area).simplify(1e-4).exterior.coords
    return counter_clockwise(without_repeats([(float(x), float(y)) for x, y in edge], SAME))


def move_out(point: Point, ring: Ring, widths: Sequence[float], cutting: Ring) -> Point:
    """Where a notch at the vertex ``point`` of the stitching line ``ring`` meets the cutting line.

    Straight out from the edge; at a corner, along its bisector. A notch where no allowance is added
    stays.
    """
    i = ring.index(point)
    if widths[i - 1] == 0 and widths[i] == 0:
        return point
    before, after = _direction(ring[i - 1], point), _direction(point, ring[(i + 1) % len(ring)])
    nx, ny = before[1] + after[1], -before[0] - after[0]
    size = math.hypot(nx, ny)
    if size < _TINY:
        return nearest_on_ring(point, cutting)[2]
    reach = (MITRE_LIMIT + 1) * max(widths[i - 1], widths[i])
    hit = _first_hit(point, (nx / size, ny / size), cutting)
    return hit if hit is not None and math.dist(hit, point) <= reach else nearest_on_ring(point, cutting)[2]


def move_in(point: Point, ring: Ring, widths: Sequence[float]) -> Point:
    """Where the stitching line passes a notch at the vertex ``point`` of the cutting line ``ring``.

    Straight in from the edge by its allowance; at a corner, by both edges' allowances at once, but no
    farther than ``MITRE_LIMIT`` times the larger. An edge of width 0 (a fold) is moved along, not off.
    """
    i = ring.index(point)
    w0, w1 = widths[i - 1], widths[i]
    d0, d1 = _direction(ring[i - 1], point), _direction(point, ring[(i + 1) % len(ring)])
    n0, n1 = (-d0[1], d0[0]), (-d1[1], d1[0])
    cross, dot = d0[0] * d1[1] - d0[1] * d1[0], d0[0] * d1[0] + d0[1] * d1[1]
    if abs(cross) < 1e-6:
        return _along(point, n0, max(w0, w1))
    if w0 == w1 and dot > 0:
        a = b = w0 / (1.0 + dot)
    else:
        a, b = (w0 - w1 * dot) / cross**2, (w1 - w0 * dot) / cross**2
    meet = (a * n0[0] + b * n1[0], a * n0[1] + b * n1[1])
    far, reach = math.hypot(*meet), MITRE_LIMIT * max(w0, w1)
    return _along(point, meet, min(1.0, reach / far) if far else 0.0)


def _direct(ring: Ring, widths: Sequence[float], fold: Sequence[bool]) -> Ring | None:
    """The offset corner by corner; None where edges vanish or the result crosses itself."""
    n = len(ring)
    directions = [_direction(ring[i], ring[(i + 1) % n]) for i in range(n)]
    lengths = [math.dist(ring[i], ring[(i + 1) % n]) for i in range(n)]
    corners: list[list[Point]] = []
    for i in range(n):
        made = _corner(
            ring[i],
            (directions[i - 1], widths[i - 1], lengths[i - 1], fold[i - 1]),
            (directions[i], widths[i], lengths[i], fold[i]),
        )
        if made is None:
            return None
        corners.append(made)
    for i in range(n):
        (ax, ay), (bx, by) = corners[i][-1], corners[(i + 1) % n][0]
        if (bx - ax) * directions[i][0] + (by - ay) * directions[i][1] < 0:
            return None
    found = without_repeats([point for corner in corners for point in corner], SAME)
    line = _fold_line(ring, fold)
    if line is not None and any(off_line(point, line) < -1e-6 for point in found):
        return None
    from shapely import Polygon

    return tuple(found) if len(found) >= 3 and Polygon(found).is_valid else None


Edge = tuple[Point, float, float, bool]
"""Direction, allowance, length, on the fold."""


def _corner(at: Point, before: Edge, after: Edge) -> list[Point] | None:
    """The points of the cutting line round one vertex; None where the edges are too short for it."""
    (d0, w0, length0, fold0), (d1, w1, length1, fold1) = before, after
    n0, n1 = (d0[1], -d0[0]), (d1[1], -d1[0])
    out0, out1 = _along(at, n0, w0), _along(at, n1, w1)
    cross, dot = d0[0] * d1[1] - d0[1] * d1[0], d0[0] * d1[0] + d0[1] * d1[1]
    if w0 == w1 == 0:
        return [at]
    if abs(cross) < (_TINY if w0 == w1 else 1e-6):
        return [out0] if w0 == w1 and dot > 0 else [out0, out1]
    if w0 == w1 and dot > 0:
        # The same as below, but without the difference of nearly equal numbers along a smooth edge.
        a = b = w0 / (1.0 + dot)
    else:
        a, b = (w0 - w1 * dot) / cross**2, (w1 - w0 * dot) / cross**2
    meet = (a * n0[0] + b * n1[0], a * n0[1] + b * n1[1])
    along0 = meet[0] * d0[0] + meet[1] * d0[1]
    along1 = meet[0] * d1[0] + meet[1] * d1[1]
    meets = (at[0] + meet[0], at[1] + meet[1])
    far = math.hypot(*meet) > MITRE_LIMIT * max(w0, w1)
    if cross > 0 and (fold0 or fold1):
        if dot >= 0:
            return [meets] if (-along0 <= length0 if fold1 else along1 <= length1) else None
        if not far:
            return [meets]
        # Cut off as the unfolded corner would be, whose bisector is the fold line.
        cut0, cut1 = _cut_off(at, out0, out1, meet, MITRE_LIMIT * max(w0, w1))
        return [cut0, _foot(cut0, at, d1)] if fold1 else [_foot(cut1, at, d0), cut1]
    if cross > 0:
        if a < -_TINY or b < -_TINY:
            return [out0, out1]
        return _cut_off(at, out0, out1, meet, MITRE_LIMIT * max(w0, w1)) if far else [meets]
    if along0 > _TINY or along1 < -_TINY:
        # The wider strip ends square at the corner; the narrower one runs up against that end.
        narrow, normal = (w1, n0) if along0 > _TINY else (w0, n1)
        if dot <= 0 or narrow / dot > max(w0, w1):
            return None
        step = _along(at, normal, narrow / dot)
        return [out0, step] if along0 > _TINY else [step, out1]
    return [meets] if -along0 <= length0 and along1 <= length1 else None


def _cut_off(at: Point, out0: Point, out1: Point, meet: Point, reach: float) -> list[Point]:
    """A mitre cut off square to the direction of its tip, ``reach`` from the corner."""
    size = math.hypot(*meet)
    unit = (meet[0] / size, meet[1] / size)
    cut = []
    for out in (out0, out1):
        start = (out[0] - at[0]) * unit[0] + (out[1] - at[1]) * unit[1]
        t = (reach - start) / (size - start) if size > start else 0.0
        cut.append((out[0] + t * (at[0] + meet[0] - out[0]), out[1] + t * (at[1] + meet[1] - out[1])))
    return cut


def _united(ring: Ring, widths: Sequence[float], fold: Sequence[bool]) -> Ring:
    """The offset as a union of the piece, a strip along every edge and a patch at every convex corner."""
    from shapely import Polygon, unary_union

    # On a grid of a millionth of a millimetre: strips along a smooth edge leave no slit of no width.
    whole = unary_union([Polygon(ring), *_strips(ring, widths, fold)], grid_size=1e-6)
    line = _fold_line(ring, fold)
    if line is not None:
        whole = _half_of_both(whole, line)
    if whole.geom_type != "Polygon":
        whole = max((part for part in whole.geoms if part.geom_type == "Polygon"), key=lambda part: part.area)
    if any(Polygon(hole).area > 1.0 for hole in whole.interiors):
        raise ValueError("the seam allowances of two edges run into each other and leave a hole between them")
    # A union leaves vertices behind on straight edges.
    edge = Polygon(whole.exterior).simplify(1e-4).exterior.coords
    return counter_clockwise(without_repeats([(float(x), float(y)) for x, y in edge], SAME))


def _strips(ring: Ring, widths: Sequence[float], fold: Sequence[bool]) -> list[Any]:
    """A strip on the right of every edge and a patch at every corner to the left."""
    from shapely import Polygon

    n = len(ring)
    directions = [_direction(ring[i], ring[(i + 1) % n]) for i in range(n)]
    parts = []
    for i in range(n):
        at, following, d1 = ring[i], ring[(i + 1) % n], directions[i]
        n1 = (d1[1], -d1[0])
        if widths[i] > 0:
            parts.append(
                Polygon([at, _along(at, n1, widths[i]), _along(following, n1, widths[i]), following])
            )
        d0 = directions[i - 1]
        # An obtuse corner on the fold is no corner, or a hollow one, of the piece opened out.
        hollow = (fold[i - 1] or fold[i]) and d0[0] * d1[0] + d0[1] * d1[1] >= 0
        if d0[0] * d1[1] - d0[1] * d1[0] > _TINY and not hollow:
            # Endless edges: what vanishes by being too short is left to the union.
            patch = _corner(
                at, (d0, widths[i - 1], math.inf, fold[i - 1]), (d1, widths[i], math.inf, fold[i])
            )
            n0 = (d0[1], -d0[0])
            round_it = without_repeats(
                [at, _along(at, n0, widths[i - 1]), *(patch or []), _along(at, n1, widths[i])], SAME
            )
            if len(round_it) >= 3 and Polygon(round_it).is_valid:
                parts.append(Polygon(round_it))
    return parts


def _half_of_both(half: Any, line: tuple[Point, Point]) -> Any:
    """What lies left of the fold when ``half`` and its mirror image are opened out over each other."""
    from shapely import union
    from shapely.affinity import affine_transform

    (ax, ay), (dx, dy) = line[0], _direction(*line)
    a, b = dx * dx - dy * dy, 2 * dx * dy
    mirror = affine_transform(half, [a, b, b, -a, ax - a * ax - b * ay, ay - b * ax + a * ay])
    return union(half, mirror).intersection(_left_of(line, half.bounds))


def _left_of(line: tuple[Point, Point], bounds: tuple[float, float, float, float]) -> Any:
    """A rectangle left of a line that is larger than what has these bounds."""
    from shapely import Polygon

    at, (dx, dy) = line[0], _direction(*line)
    left, low, right, high = bounds
    far = 2 * (right - left + high - low)
    back, ahead = _along(at, (dx, dy), -far), _along(at, (dx, dy), far)
    return Polygon([back, ahead, _along(ahead, (-dy, dx), far), _along(back, (-dy, dx), far)])


def _fold_line(ring: Ring, fold: Sequence[bool]) -> tuple[Point, Point] | None:
    """The fold, from the first to the last vertex of its run, in ring order."""
    n = len(ring)
    starts = [i for i in range(n) if fold[i] and not fold[i - 1]]
    if not starts:
        return None
    end = starts[0]
    while fold[end]:
        end = (end + 1) % n
    return ring[starts[0]], ring[end]


def _first_hit(start: Point, direction: Point, ring: Ring) -> Point | None:
    """The first point of ``ring`` met on the way from ``start`` in ``direction`` (unit length)."""
    best = math.inf
    for i, (ax, ay) in enumerate(ring):
        bx, by = ring[(i + 1) % len(ring)]
        ex, ey = bx - ax, by - ay
        cross = direction[0] * ey - direction[1] * ex
        if abs(cross) < _TINY:
            continue
        t = ((ax - start[0]) * ey - (ay - start[1]) * ex) / cross
        s = ((ax - start[0]) * direction[1] - (ay - start[1]) * direction[0]) / cross
        if -_TINY <= s <= 1 + _TINY and -1e-6 <= t < best:
            best = t
    return None if best == math.inf else _along(start, direction, best)


def _direction(start: Point, end: Point) -> Point:
    dx, dy = end[0] - start[0], end[1] - start[1]
    size = math.hypot(dx, dy)
    return dx / size, dy / size


def _along(point: Point, direction: Point, distance: float) -> Point:
    return point[0] + direction[0] * distance, point[1] + direction[1] * distance


def _foot(point: Point, on: Point, direction: Point) -> Point:
    """The foot of the perpendicular from ``point`` to the line through ``on``."""
    return _along(on, direction, (point[0] - on[0]) * direction[0] + (point[1] - on[1]) * direction[1])
