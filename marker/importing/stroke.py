"""Lines of a drawing: straight and curved segments, moved and scaled without losing their curves."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field

from marker.files.curves import arc
from marker.importing.found import Point, number

CHORD = 0.05
"""Millimetres between a curve and the chords that stand for it where distances are measured."""
SAME = 0.001
"""Millimetres below which two points are one."""
MOST_SEGMENTS = 100_000
"""Segments that one path may have."""


class Unreadable(ValueError):
    """What is wrong with one value of a drawing, as the end of a sentence; the caller says where."""


@dataclass(frozen=True)
class Stroke:
    """One line without lifting the pen. A segment is a line (its end), a quadratic Bézier (control point,
    end) or a cubic one (two control points, end). A closed stroke runs straight back to its start."""

    start: Point
    segments: tuple[tuple[Point, ...], ...]
    closed: bool

    @property
    def end(self) -> Point:
        return self.segments[-1][-1] if self.segments else self.start

    def moved(self, at: Callable[[Point], Point]) -> Stroke:
        """The stroke under an affine map ``at``; Bézier curves stay exactly what they were."""
        return Stroke(
            at(self.start),
            tuple(tuple(at(point) for point in segment) for segment in self.segments),
            self.closed,
        )

    def tidy(self, reach: float) -> Stroke:
        """Without segments of no length, and closed if its end comes within ``reach`` of its start."""
        kept: list[tuple[Point, ...]] = []
        at = self.start
        for segment in self.segments:
            if max(math.dist(at, point) for point in segment) > SAME:
                kept.append(segment)
                at = segment[-1]
        closed = self.closed or (len(kept) > 1 and math.dist(at, self.start) <= reach)
        if closed and kept and math.dist(at, self.start) <= reach:
            if len(kept[-1]) == 1:
                kept.pop()
            else:
                kept[-1] = (*kept[-1][:-1], self.start)
        return Stroke(self.start, tuple(kept), closed)

    def reversed(self) -> Stroke:
        ends = [self.start, *(segment[-1] for segment in self.segments)]
        turned = [
            (*reversed(segment[:-1]), before) for segment, before in zip(self.segments, ends, strict=False)
        ]
        return Stroke(self.end, tuple(reversed(turned)), self.closed)

    def points(self) -> list[Point]:
        """The corners of chords within ``CHORD`` of the stroke; a closed one does not repeat its start."""
        found = [self.start]
        for segment in self.segments:
            a = found[-1]
            if len(segment) == 1:
                found.append(segment[0])
                continue
            (b, *rest) = segment
            d = segment[-1]
            # A quadratic curve is the cubic one whose control points lie two thirds of the way to its own.
            one = b if rest[:-1] else _between(a, b, 2 / 3)
            two = rest[0] if rest[:-1] else _between(d, b, 2 / 3)
            bend = 6 * max(_bend(a, one, two), _bend(one, two, d))
            # A chord over a step h of the parameter is off by at most h² / 8 · max |second derivative|.
            steps = min(2000, max(1, math.ceil(math.sqrt(bend / (8 * CHORD)))))
            found += [_cubic(a, one, two, d, i / steps) for i in range(1, steps)]
            found.append(d)
        if self.closed and len(found) > 1 and math.dist(found[0], found[-1]) <= SAME:
            found.pop()
        return found

    def data(self) -> str:
        """SVG path data of the stroke."""
        words = [f"M {_say(self.start)}"]
        for segment in self.segments:
            words.append(f"{' LQC'[len(segment)]} {' '.join(_say(point) for point in segment)}")
        return " ".join(words) + (" Z" if self.closed else "")


def ring_stroke(points: list[Point]) -> Stroke:
    """A closed stroke of straight lines."""
    return Stroke(points[0], tuple((point,) for point in points[1:]), True)


def ellipse(cx: float, cy: float, rx: float, ry: float) -> Stroke:
    """A whole ellipse as eight Béziers."""
    right, left = (cx + rx, cy), (cx - rx, cy)
    points = [*arc(right, rx, ry, 0, False, True, left), *arc(left, rx, ry, 0, False, True, right)]
    return Stroke(right, _threes(points), True)


def strokes_of(path: str) -> list[Stroke]:
    """The strokes of SVG path data. Raises Unreadable if the grammar does not hold, or it is too long."""
    from fontTools.svgLib.path import parse_path

    from marker.files.outline import Wrong, spelled_out

    try:
        spelled = spelled_out(path)
    except Wrong as wrong:
        raise Unreadable(str(wrong)) from None
    pen = _Pen()
    parse_path(spelled, pen)
    return [Stroke(start, tuple(segments), closed) for start, segments, closed in pen.made]


@dataclass
class _Pen:
    """The receiving end of fontTools' path parser."""

    made: list[tuple[Point, list[tuple[Point, ...]], bool]] = field(default_factory=list)
    count: int = 0

    def moveTo(self, point: Point) -> None:
        self.made.append((point, [], False))

    def lineTo(self, point: Point) -> None:
        self._add((point,))

    def curveTo(self, *points: Point) -> None:
        self._add(points)

    def qCurveTo(self, *points: Point) -> None:
        self._add(points)

    def arcTo(self, rx: float, ry: float, turn: float, large: bool, sweep: bool, end: Point) -> None:
        start, segments, _ = self.made[-1]
        at = segments[-1][-1] if segments else start
        for segment in _threes(arc(at, rx, ry, turn, bool(large), bool(sweep), end)):
            self._add(segment)

    def closePath(self) -> None:
        start, segments, _ = self.made[-1]
        # The parser draws the closing line itself; Z says as much.
        if segments and len(segments[-1]) == 1 and math.dist(segments[-1][-1], start) == 0:
            segments.pop()
        self.made[-1] = (start, segments, True)

    def endPath(self) -> None:
        pass

    def _add(self, points: tuple[Point, ...]) -> None:
        self.count += 1
        if self.count > MOST_SEGMENTS:
            raise Unreadable(f"has more than {MOST_SEGMENTS} segments; draw it with fewer")
        self.made[-1][1].append(points)


def _threes(points: list[Point]) -> tuple[tuple[Point, ...], ...]:
    return tuple(tuple(points[i : i + 3]) for i in range(0, len(points), 3))


def _say(point: Point) -> str:
    return f"{number(point[0])} {number(point[1])}"


def _between(a: Point, b: Point, t: float) -> Point:
    return a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])


def _bend(a: Point, b: Point, c: Point) -> float:
    return math.hypot(a[0] - 2 * b[0] + c[0], a[1] - 2 * b[1] + c[1])


def _cubic(a: Point, b: Point, c: Point, d: Point, t: float) -> Point:
    u = 1 - t
    w = (u**3, 3 * t * u * u, 3 * t * t * u, t**3)
    return (
        w[0] * a[0] + w[1] * b[0] + w[2] * c[0] + w[3] * d[0],
        w[0] * a[1] + w[1] * b[1] + w[2] * c[1] + w[3] * d[1],
    )
