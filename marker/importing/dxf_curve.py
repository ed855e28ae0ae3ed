"""Smooth curves through the curve points of an outline, where chords alone would cut corners.

The standard tells turn points, where the edge may have a corner, from curve points, where it is smooth.
Outlines whose curve points are close together are kept point by point. Where the chords would miss the curve
by more than ``COARSE``, cubic Béziers take their place; they go through every point of the file.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from marker.importing.found import Point, number

COARSE = 0.25
"""Millimetres that the middle of a chord may miss its curve by before curves are drawn instead."""
SAME = 0.05
"""Millimetres between a curve point and the vertex it is about."""
STEEPEST = math.radians(60)
"""A turn at a curve point beyond which the drawing hardly means a smooth curve there."""
LOPSIDED = 4.0
"""How many times longer than its neighbour a chord may be and still follow the same curve."""


def smooth_path(
    ring: Sequence[Point],
    curve_points: Sequence[Point],
    out: Callable[[Point], Point],
    note: Callable[[str], None],
) -> str | None:
    """SVG path data of the outline with curves, points mapped by ``out``; None where none are needed."""
    smooth = _smooth_vertices(ring, curve_points)
    n = len(ring)
    missed = [_missed(ring, smooth, i) for i in range(n)]
    if not any(by > COARSE for by in missed):
        return None
    tangents = {i: _tangent(ring[i - 1], ring[i], ring[(i + 1) % n]) for i in range(n) if smooth[i]}
    words = [f"M {_say(out(ring[0]))}"]
    curves = 0
    for i in range(n):
        a, d = ring[i], ring[(i + 1) % n]
        curve = _curve(a, d, tangents.get(i), tangents.get((i + 1) % n)) if missed[i] > 0 else None
        if curve is not None:
            curves += 1
            words.append(f"C {' '.join(_say(out(point)) for point in (*curve, d))}")
        elif i < n - 1:
            words.append(f"L {_say(out(d))}")
    note(
        f"Its curve points (layer 3) lie so far apart that straight lines between them would miss the "
        f"curve by about {max(missed):.1f} mm; {curves} smooth curves are drawn through them: check them."
    )
    return " ".join(words) + " Z"


def _smooth_vertices(ring: Sequence[Point], curve_points: Sequence[Point]) -> list[bool]:
    """For each vertex whether it is a curve point at which the edge does not turn too steeply."""
    cells = {(round(x / SAME), round(y / SAME)) for x, y in curve_points}
    found = []
    for i, point in enumerate(ring):
        cx, cy = round(point[0] / SAME), round(point[1] / SAME)
        near = any((cx + dx, cy + dy) in cells for dx in (-1, 0, 1) for dy in (-1, 0, 1))
        found.append(near and abs(_turn(ring[i - 1], point, ring[(i + 1) % len(ring)])) < STEEPEST)
    return found


def _missed(ring: Sequence[Point], smooth: Sequence[bool], i: int) -> float:
    """Millimetres between the middle of edge ``i`` and a curve through its ends; 0 if it is no curve."""
    n = len(ring)
    before, a, d, after = ring[i - 1], ring[i], ring[(i + 1) % n], ring[(i + 2) % n]
    length = math.dist(a, d)
    turns = []
    for one, other, at in ((before, d, a), (a, after, d)):
        if smooth[i if at is a else (i + 1) % n]:
            beside = math.dist(at, one if at is a else other)
            if length > LOPSIDED * beside:
                return 0.0
            # Of the turn at a vertex, each edge takes the share that its length has in both.
            turns.append(_turn(one, at, other) * length / (length + beside))
    if not turns:
        return 0.0
    # The height of a circular arc over its chord, from the angle between chord and tangent.
    return length / 2 * math.tan(max(abs(turn) for turn in turns) / 2)


def _curve(a: Point, d: Point, leaving: Point | None, arriving: Point | None) -> tuple[Point, Point] | None:
    """Control points of the curve from ``a`` to ``d``; a direction that is not told mirrors the other."""
    length = math.dist(a, d)
    chord = ((d[0] - a[0]) / length, (d[1] - a[1]) / length)
    if leaving is None and arriving is None:
        return None
    start = leaving or _mirrored(arriving or chord, chord)
    end = arriving or _mirrored(leaving or chord, chord)
    one, two = _angle(chord, start), _angle(chord, end)
    if max(abs(one), abs(two)) > STEEPEST:
        return None
    # For equal angles this is the usual cubic stand-in for a circular arc.
    reach = length * 2 / 3 / (1 + math.cos((abs(one) + abs(two)) / 2))
    return (
        (a[0] + reach * start[0], a[1] + reach * start[1]),
        (d[0] - reach * end[0], d[1] - reach * end[1]),
    )


def _tangent(before: Point, at: Point, after: Point) -> Point:
    """The direction at ``at`` of the circle through three points."""
    (ux, uy), (vx, vy) = (at[0] - before[0], at[1] - before[1]), (after[0] - at[0], after[1] - at[1])
    u2, v2 = ux * ux + uy * uy, vx * vx + vy * vy
    tx, ty = ux / u2 + vx / v2, uy / u2 + vy / v2
    size = math.hypot(tx, ty)
    return tx / size, ty / size


def _mirrored(direction: Point, chord: Point) -> Point:
    dot = direction[0] * chord[0] + direction[1] * chord[1]
    return 2 * dot * chord[0] - direction[0], 2 * dot * chord[1] - direction[1]


def _angle(one: Point, other: Point) -> float:
    return math.atan2(one[0] * other[1] - one[1] * other[0], one[0] * other[0] + one[1] * other[1])


def _turn(before: Point, at: Point, after: Point) -> float:
    return _angle((at[0] - before[0], at[1] - before[1]), (after[0] - at[0], after[1] - at[1]))


def _say(point: Point) -> str:
    return f"{number(point[0])} {number(point[1])}"
