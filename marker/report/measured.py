"""What one can measure on a piece: corners, the edges between them, allowances, where notches sit.

Plain geometry in millimetres, on the line that was drawn: the stitching line if allowances were
added to it, else the cutting line.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from marker.model.piece import Piece, Point, Ring

SURELY = math.radians(35.0)
CHORD_TURN = 1.0
"""A vertex is a corner if the outline turns by more than the first angle there; or by less, if the
shorter edge beside it times the turn (radians) is longer than this many millimetres: chords that keep
to a curve within 0.1 mm have less than 0.96, twelve times what they are chosen for
(``marker/files/chords.py``)."""

STRAIGHT = 0.2
"""Millimetres an edge may bend and still count as straight."""

FARTHEST = 250.0
"""Millimetres an allowance is looked for."""

SAME = 0.35
"""Millimetres two allowances may differ and still count as the same."""


@dataclass(frozen=True)
class EdgeMeasure:
    """A stretch of the drawn line from one corner to the next, counter-clockwise.

    ``start`` and ``end`` count corners from 0. ``allowance`` is its least and its greatest width along
    the edge, ``None`` where none is added. ``fold``: it lies on the fold.
    """

    start: int
    end: int
    points: tuple[Point, ...]
    length: float
    straight: bool
    allowance: tuple[float, float] | None
    fold: bool


@dataclass(frozen=True)
class NotchMeasure:
    """A notch: its foot on the drawn line, the edge it is on, how far from that edge's corners."""

    name: str
    at: Point
    edge: int
    after_start: float
    before_end: float


@dataclass(frozen=True)
class Measured:
    """A piece and its measures; ``ring`` is the line that was drawn."""

    piece: Piece
    ring: Ring
    corners: tuple[Point, ...]
    edges: tuple[EdgeMeasure, ...]
    notches: tuple[NotchMeasure, ...]

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, bottom, right, top of the drawn line."""
        xs, ys = [x for x, _ in self.ring], [y for _, y in self.ring]
        return min(xs), min(ys), max(xs), max(ys)


def measure(piece: Piece) -> Measured:
    """Corners, edges and notches of a piece. A line without corners has one edge, all round."""
    from shapely import LinearRing, LineString

    ring = piece.stitching if piece.added and piece.stitching else piece.outline
    rings = LinearRing(piece.outline), LinearRing(ring)
    at = corner_indices(ring)
    around = at or [0]
    edges = []
    for k, first in enumerate(around):
        last = around[(k + 1) % len(around)]
        points = _stretch(ring, first, last)
        edges.append(_edge(piece, k, (k + 1) % len(around), points, rings))
    corners = tuple(ring[i] for i in around)
    lines = [LineString(edge.points) for edge in edges]
    notches = tuple(_notch(n.name, n.at, edges, lines) for n in piece.notches)
    return Measured(piece, ring, corners, tuple(edges), notches)


def corner_indices(ring: Ring) -> list[int]:
    """The vertices at which the outline has a corner and does not merely follow a curve."""
    found = []
    for i, point in enumerate(ring):
        before, after = ring[i - 1], ring[(i + 1) % len(ring)]
        a, b = math.dist(before, point), math.dist(point, after)
        one = math.atan2(point[1] - before[1], point[0] - before[0])
        two = math.atan2(after[1] - point[1], after[0] - point[0])
        turn = abs((two - one + math.pi) % math.tau - math.pi)
        if turn > SURELY or min(a, b) * turn > CHORD_TURN:
            found.append(i)
    return found


def _stretch(ring: Ring, first: int, last: int) -> tuple[Point, ...]:
    """The vertices from one index to another going on, all round if they are the same."""
    count = (last - first) % len(ring) or len(ring)
    return tuple(ring[(first + k) % len(ring)] for k in range(count + 1))


def _edge(
    piece: Piece, start: int, end: int, points: tuple[Point, ...], rings: tuple[Any, Any]
) -> EdgeMeasure:
    from shapely import LineString
    from shapely import Point as Dot

    line = LineString(points)
    chord = LineString([points[0], points[-1]])
    straight = points[0] != points[-1] and all(chord.distance(Dot(p)) <= STRAIGHT for p in points)
    fold = False
    if piece.fold_edge is not None:
        (ax, ay), (bx, by) = piece.fold_edge
        long = math.dist(*piece.fold_edge)
        fold = straight and all(
            abs((bx - ax) * (y - ay) - (by - ay) * (x - ax)) <= STRAIGHT * long
            for x, y in (points[0], points[-1])
        )
    allowance = None
    if piece.added and not fold:
        allowance = _allowance(line, *rings)
    return EdgeMeasure(start, end, points, float(line.length), straight, allowance, fold)


def _allowance(line: Any, cutting: Any, stitching: Any) -> tuple[float, float] | None:
    """Least and greatest distance from the stitching line square out to the cutting line.

    Looked for away from the corners, where a neighbour's cutting line may come nearer.
    """
    from shapely import LineString
    from shapely import Point as Dot

    step = min(0.5, line.length / 20)
    widths = []
    for k in range(2, 9):
        along = k / 10 * line.length
        a, b = line.interpolate(along - step), line.interpolate(along + step)
        foot = line.interpolate(along)
        long = math.dist((a.x, a.y), (b.x, b.y))
        if long == 0.0:
            continue
        # Counter-clockwise: outside is on the right hand.
        nx, ny = (b.y - a.y) / long, (a.x - b.x) / long
        ray = LineString([(foot.x, foot.y), (foot.x + FARTHEST * nx, foot.y + FARTHEST * ny)])
        hit = ray.intersection(cutting)
        if hit.is_empty:
            continue
        width = float(hit.distance(foot))
        end = Dot(foot.x + width * nx, foot.y + width * ny)
        # Beside a hollow corner the ray runs on within the neighbour's allowance, and does not count.
        if stitching.distance(end) > 0.97 * width - 0.05:
            widths.append(width)
    return (min(widths), max(widths)) if widths else None


def _notch(name: str, at: Point, edges: Sequence[EdgeMeasure], lines: Sequence[Any]) -> NotchMeasure:
    import numpy as np
    import shapely

    dot = shapely.Point(at)
    nearest = int(np.argmin(np.round(shapely.distance(lines, dot), 6)))
    along = float(lines[nearest].project(dot))
    foot = lines[nearest].interpolate(along)
    return NotchMeasure(name, (foot.x, foot.y), nearest, along, edges[nearest].length - along)
