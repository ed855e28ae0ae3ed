"""Outlines as edges from corner to corner: what typed corners and path data have in common.

Millimetres with y downwards, as files draw; ``path_of`` goes back to the file's unit.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from marker.files.curves import arc, between, curve_length
from marker.files.outline import Frame, spelled_out
from marker.model.piece import Point

SAME = 0.001
"""Millimetres below which two points are one."""
CLOSED = 0.01
"""Millimetres within which an outline has come home, and a named place is a corner."""
SMOOTH = math.cos(math.radians(2.0))
STEPS = 16
"""Parts in which each Bézier is looked at where it is nearest to a point."""


@dataclass(frozen=True)
class Edge:
    """The way from one corner to the next.

    ``curve`` holds the control points of cubic Béziers one after the other, three each, the last of them
    ``end``; without any the edge is straight.
    """

    start: Point
    curve: tuple[Point, ...]
    end: Point

    @property
    def length(self) -> float:
        return curve_length(self.start, self.curve) if self.curve else math.dist(self.start, self.end)

    def at(self, share: float) -> Point:
        """The point at a share of the way, 0 to 1; on a curve by the parameters of its Béziers."""
        if not self.curve:
            return between(self.start, self.end, share)
        count = len(self.curve) // 3
        k = min(int(share * count), count - 1)
        a = self.start if k == 0 else self.curve[3 * k - 1]
        return _cubic((a, *self.curve[3 * k : 3 * k + 3]), share * count - k)

    def nearest(self, point: Point) -> tuple[float, float]:
        """How near the edge comes to ``point``, and at which share of the way."""
        count = 1 if not self.curve else STEPS * len(self.curve) // 3
        best = (math.inf, 0.0)
        for k in range(count):
            low, high = k / count, (k + 1) / count
            # On a chord first, then by thirds on the curve itself.
            best = min(best, self._on_chord(point, low, high))
        share = best[1]
        reach = 1.0 / count
        low, high = max(0.0, share - reach), min(1.0, share + reach)
        while self.curve and high - low > 1e-9:
            one, two = low + (high - low) / 3, high - (high - low) / 3
            if math.dist(self.at(one), point) <= math.dist(self.at(two), point):
                high = two
            else:
                low = one
        if self.curve:
            share = (low + high) / 2
        return math.dist(self.at(share), point), share

    def _on_chord(self, point: Point, low: float, high: float) -> tuple[float, float]:
        (ax, ay), (bx, by) = self.at(low), self.at(high)
        square = (bx - ax) ** 2 + (by - ay) ** 2
        t = ((point[0] - ax) * (bx - ax) + (point[1] - ay) * (by - ay)) / square if square else 0.0
        t = min(1.0, max(0.0, t))
        return math.dist(point, (ax + t * (bx - ax), ay + t * (by - ay))), low + t * (high - low)

    def moved(self, start: Point, end: Point) -> Edge:
        """The edge with its ends moved by ``start`` and ``end``.

        At a share s of its way, by chords, a curve moves by 3s² - 2s³ of the way from ``start`` to ``end``:
        it keeps its directions at the ends, and stays as smooth as it was where Béziers join.
        """
        knots = [self.start, *self.curve[2::3]]
        steps = [math.dist(a, b) for a, b in pairwise(knots)]
        shares = [sum(steps[:k]) / sum(steps) for k in range(len(knots))] if self.curve else []
        controls: list[Point] = []
        for k, (u, v) in enumerate(pairwise(shares)):
            # The polar form of that cubic, uv + vw + wu - 2uvw, gives the control points of each part.
            for s, point in zip(
                (u * u + 2 * u * v - 2 * u * u * v, v * v + 2 * u * v - 2 * u * v * v, v * v * (3 - 2 * v)),
                self.curve[3 * k : 3 * k + 3],
                strict=True,
            ):
                controls.append(add(point, between(start, end, s)))
        return Edge(add(self.start, start), tuple(controls), add(self.end, end))

    def runs_on(self, other: Edge) -> bool:
        """Whether this curve goes on as ``other`` without a corner."""
        if not self.curve or not other.curve:
            return False
        arriving = _way([self.start, *self.curve][::-1])
        leaving = _way([other.start, *other.curve])
        along = -(arriving[0] * leaving[0] + arriving[1] * leaving[1])
        return along > SMOOTH * math.hypot(*arriving) * math.hypot(*leaving)


def path_edges(path: str, frame: Frame, named: Sequence[Point] = ()) -> list[Edge]:
    """The edges of one closed outline from path data that ``parse_ring`` accepts.

    Curves that run on smoothly are one edge, unless one of the points ``named`` lies where they join.
    """
    from fontTools.svgLib.path import parse_path

    pen = _Pen(frame)
    parse_path(spelled_out(path), pen)
    edges = [edge for edge in pen.edges if edge.curve or math.dist(edge.start, edge.end) > SAME]
    first, last = edges[0].start, edges[-1].end
    if math.dist(first, last) > CLOSED:
        edges.append(Edge(last, (), first))
    else:
        edges[-1] = replace(
            edges[-1], curve=(*edges[-1].curve[:-1], *([first] if edges[-1].curve else [])), end=first
        )
    joined = [edges[0]]
    for edge in edges[1:]:
        before = joined[-1]
        if before.runs_on(edge) and min((math.dist(edge.start, at) for at in named), default=1.0) > CLOSED:
            joined[-1] = Edge(before.start, (*before.curve, *edge.curve), edge.end)
        else:
            joined.append(edge)
    return joined


def path_of(edges: Sequence[Edge], frame: Frame) -> str:
    """SVG path data of a closed outline, in the unit of the file."""

    def say(point: Point) -> str:
        return f"{point[0] / frame.size:.9g} {point[1] / frame.size:.9g}"

    words = [f"M {say(edges[0].start)}"]
    for edge in edges:
        if edge.curve:
            words.append(f"C {' '.join(map(say, edge.curve))}")
        elif edge is not edges[-1]:
            words.append(f"L {say(edge.end)}")
    return f"{' '.join(words)} Z"


def add(point: Point, by: Point) -> Point:
    return point[0] + by[0], point[1] + by[1]


def _way(points: Sequence[Point]) -> Point:
    """The way from the first point to the next one that is another."""
    (ax, ay), *rest = points
    bx, by = next((point for point in rest if math.dist(point, points[0]) > SAME), rest[-1])
    return bx - ax, by - ay


def _cubic(points: Sequence[Point], t: float) -> Point:
    a, b, c, d = points
    u = 1 - t
    w = (u**3, 3 * t * u * u, 3 * t * t * u, t**3)
    return (
        w[0] * a[0] + w[1] * b[0] + w[2] * c[0] + w[3] * d[0],
        w[0] * a[1] + w[1] * b[1] + w[2] * c[1] + w[3] * d[1],
    )


class _Pen:
    """The receiving end of fontTools' path parser: each line or curve is an edge."""

    def __init__(self, frame: Frame) -> None:
        self.frame = frame
        self.edges: list[Edge] = []
        self.here: Point = (0.0, 0.0)

    def moveTo(self, point: Point) -> None:
        self.here = self._mm(point)

    def lineTo(self, point: Point) -> None:
        self._go((), self._mm(point))

    def curveTo(self, *points: Point) -> None:
        curve = tuple(self._mm(point) for point in points)
        self._go(curve, curve[-1])

    def qCurveTo(self, *points: Point) -> None:
        control, end = (self._mm(point) for point in points)
        # The cubic curve's control points lie two thirds of the way to the quadratic one's.
        one, two = between(self.here, control, 2 / 3), between(end, control, 2 / 3)
        self._go((one, two, end), end)

    def arcTo(self, rx: float, ry: float, turn: float, large: bool, sweep: bool, end: Point) -> None:
        size = self.frame.size
        at = self._mm(end)
        curve = arc(self.here, rx * size, ry * size, turn, bool(large), bool(sweep), at)
        straight = min(abs(rx), abs(ry)) == 0
        self._go(() if straight else tuple(curve), at)

    def closePath(self) -> None:
        pass

    def endPath(self) -> None:
        pass

    def _go(self, curve: tuple[Point, ...], end: Point) -> None:
        self.edges.append(Edge(self.here, curve, end))
        self.here = end

    def _mm(self, point: Point) -> Point:
        return point[0] * self.frame.size, point[1] * self.frame.size
