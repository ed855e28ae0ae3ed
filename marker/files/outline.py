"""SVG path data to polygons: the notation of outlines and inner lines in pattern files.

The grammar is that of the SVG 1.1 and SVG 2 path data chapters (W3C). Curves become chords that stay
within ``CHORD`` of them, and close enough for the line an allowance outside them.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from marker.files.chords import CHORD, chords
from marker.files.curves import arc
from marker.model.piece import Line, Point, Ring
from marker.model.ring import counter_clockwise, extent, off_line, signed_area
from marker.model.seam import MITRE_LIMIT
from marker.units import unit_size

__all__ = ["CHORD", "Drawn", "Frame", "Wrong", "parse_lines", "parse_ring"]

SAME = 0.001
"""Millimetres below which two points are one."""
MOST_POINTS = 5000
LARGEST = 10_000.0
"""Millimetres a piece may measure at most."""
SMALLEST = 5.0
"""Millimetres the longer side of a piece must measure at least."""
_SMOOTH = 1e-3
"""Radians by which an outline turns at a corner at least."""
FARTHEST = 1e6
"""Millimetres a coordinate may lie from the origin."""

_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
_ARITY = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}
_FLAGS = (3, 4)


class Wrong(ValueError):
    """What is wrong with one value and what to do, as the end of a sentence; the caller says where."""


@dataclass(frozen=True)
class Frame:
    """How the numbers of a file stand to the model: a unit, and y downwards in the file, upwards inside."""

    unit: str

    @property
    def size(self) -> float:
        """Millimetres in one unit."""
        return unit_size(self.unit)

    def inside(self, point: Sequence[float]) -> Point:
        """A point of the file in millimetres, y upwards."""
        return point[0] * self.size, -point[1] * self.size

    def say(self, point: Point) -> str:
        """A point of the model as the file would write it, for messages."""
        x, y = round(point[0] / self.size, 3), round(-point[1] / self.size, 3)
        return f"({x + 0.0:g}, {y + 0.0:g})" if max(abs(x), abs(y)) < 1e6 else f"({x:.4g}, {y:.4g})"


Segment = tuple[Point, ...]
"""Two points: a straight line; three or four: the control points of a Bézier curve. Millimetres."""


@dataclass(frozen=True)
class Drawn:
    """A closed outline, counter-clockwise, without repeats; ``turned`` if the file drew it the other way.

    ``segments`` are the lines and curves as drawn, end to start all the way round in the order of ``ring``,
    in which chords stand for the curves. ``corners`` are the segments' ends.
    """

    ring: Ring
    turned: bool
    segments: tuple[Segment, ...]
    frame: Frame

    @property
    def corners(self) -> frozenset[Point]:
        return frozenset(segment[0] for segment in self.segments)

    def beside(self, reaches: Sequence[float]) -> Drawn:
        """The same with chords that suit an allowance of so many millimetres at each segment.

        Raises Wrong for more points than are allowed.
        """
        ring = _ring(self.segments, reaches)
        _check_simple(ring, self.frame)
        return Drawn(ring, self.turned, self.segments, self.frame)


@dataclass
class _Stroke:
    """One subpath as drawn."""

    start: Point
    segments: list[Segment] = field(default_factory=list)
    closed: bool = False
    repeated: list[int] = field(default_factory=list)
    """Indices of segments that lead nowhere."""

    @property
    def end(self) -> Point:
        return self.segments[-1][-1] if self.segments else self.start


class _Pen:
    """Collects subpaths in model coordinates; the receiving end of fontTools' path parser."""

    def __init__(self, frame: Frame) -> None:
        self.frame = frame
        self.strokes: list[_Stroke] = []

    def moveTo(self, point: Point) -> None:
        self.strokes.append(_Stroke(self._inside(point)))

    def lineTo(self, point: Point) -> None:
        self._draw(point)

    def curveTo(self, *points: Point) -> None:
        self._draw(*points)

    def qCurveTo(self, *points: Point) -> None:
        self._draw(*points)

    def arcTo(self, rx: float, ry: float, rotation: float, large: bool, sweep: bool, end: Point) -> None:
        at = self.strokes[-1].end
        start = (at[0] / self.frame.size, -at[1] / self.frame.size)
        if min(rx, ry) == 0 or math.dist(start, end) * self.frame.size <= SAME:
            self.lineTo(end)
            return
        curves = arc(start, rx, ry, rotation, bool(large), bool(sweep), end)
        for i in range(0, len(curves), 3):
            self.curveTo(*curves[i : i + 3])

    def closePath(self) -> None:
        stroke = self.strokes[-1]
        stroke.closed = True
        # The parser draws the closing line itself; where the path had come home already it has no length.
        if len(stroke.segments) > 1 and stroke.repeated[-1:] == [len(stroke.segments) - 1]:
            stroke.repeated.pop()

    def endPath(self) -> None:
        pass

    def _inside(self, point: Point) -> Point:
        inside = self.frame.inside(point)
        if not max(abs(inside[0]), abs(inside[1])) <= FARTHEST:
            far = metric(max(abs(inside[0]), abs(inside[1])))
            raise Wrong(f"reaches {far} from the origin, which is absurd; check the numbers and the unit")
        return inside

    def _draw(self, *points: Point) -> None:
        stroke = self.strokes[-1]
        segment = (stroke.end, *(self._inside(point) for point in points))
        if max(math.dist(segment[0], point) for point in segment) <= SAME:
            stroke.repeated.append(len(stroke.segments))
        stroke.segments.append(segment)


def parse_ring(path: str, frame: Frame) -> Drawn:
    """One closed outline from path data.

    Raises Wrong if it is unreadable, open, in several parts, self-crossing, without area, repeats a
    point, or is of an absurd size.
    """
    strokes = _strokes(path, frame)
    if len(strokes) != 1:
        raise Wrong(f"has {len(strokes)} separate parts; an outline is one closed line, so keep one M")
    stroke = strokes[0]
    if not stroke.closed and math.dist(stroke.start, stroke.end) > 0.01:
        raise Wrong(
            f"is open: it begins at {frame.say(stroke.start)} and stops at {frame.say(stroke.end)}; "
            "end the path with Z, or bring it back to where it began"
        )
    if stroke.repeated:
        at = stroke.segments[stroke.repeated[0]][0]
        raise Wrong(f"has the point {frame.say(at)} twice in a row; leave one out")
    segments = _closed(stroke)
    ring = _ring(segments)
    if _in_one_line(ring):
        raise Wrong("encloses no area; draw at least three points that are not in one line")
    check_size(ring, frame)
    _check_simple(ring, frame)
    turned = signed_area(ring) < 0
    if turned:
        segments = [segment[::-1] for segment in reversed(segments)]
    return Drawn(counter_clockwise(ring), turned, tuple(segments), frame)


def parse_lines(path: str, frame: Frame) -> list[Line]:
    """Inner lines, open or closed, from path data; a closed one repeats its first point. Raises Wrong."""
    lines = []
    for stroke in _strokes(path, frame):
        points = [stroke.start, *_chords(stroke.segments, [0.0] * len(stroke.segments))]
        kept = [points[0]]
        kept += [b for a, b in pairwise(points) if math.dist(a, b) > SAME]
        if len(kept) < 2:
            raise Wrong(
                f"has a part that is only the point {frame.say(kept[0])}; draw a line or leave it out"
            )
        lines.append(tuple(kept))
    return lines


def check_size(points: list[Point] | Ring, frame: Frame) -> None:
    """Raise Wrong for a piece that is absurdly large or small, with a hint if another unit would suit."""
    width, height = extent(points)
    longer = max(width, height)
    if SMALLEST <= longer <= LARGEST:
        return
    which, limit = ("large", LARGEST) if longer > LARGEST else ("small", SMALLEST)
    bound = "at most 10 m is possible" if which == "large" else f"at least {limit:g} mm is needed"
    hint = unit_hint(longer, frame.unit, 20.0, 2500.0)
    raise Wrong(
        f"is far too {which}: {metric(width)} by {metric(height)}, and {bound}"
        + (f"; {hint}" if hint else "; check the numbers and the unit")
    )


def unit_hint(mm: float, unit: str, least: float, most: float) -> str:
    """What ``mm``, read in ``unit``, would be in another unit, if that lies between the limits; else ""."""
    number = mm / unit_size(unit)
    fits = [
        f'with unit = "{other}" it would be {metric(number * unit_size(other))}'
        for other in ("mm", "cm", "in")
        if other != unit and least <= number * unit_size(other) <= most
    ]
    return f"{' and '.join(fits)}, so check the unit" if fits else ""


def _strokes(path: str, frame: Frame) -> list[_Stroke]:
    from fontTools.svgLib.path import parse_path

    pen = _Pen(frame)
    parse_path(spelled_out(path), pen)
    if not pen.strokes:
        raise Wrong('is empty; write SVG path data like "M 0 0 L 100 0 L 100 50 Z"')
    return pen.strokes


def spelled_out(path: str) -> str:
    """The same path data, checked against the grammar, with one space between all tokens.

    The parser skips what it cannot read and would draw something else; this raises Wrong instead.
    """
    tokens: list[str] = []
    at = 0
    command = ""
    given = 0
    while True:
        while at < len(path) and path[at] in " \t\r\n\f,":
            at += 1
        if at < len(path) and command and _ARITY[command.upper()] and not path[at].isalpha():
            slot = given % _ARITY[command.upper()]
            if command in "Aa" and slot in _FLAGS:
                word = path[at] if path[at] in "01" else ""
            else:
                match = _NUMBER.match(path, at)
                word = match.group() if match else ""
            if not word or not math.isfinite(float(word)):
                raise Wrong(f"cannot be read at {_excerpt(path, at)}; write numbers and SVG path commands")
            tokens.append(repr(float(word)) if command not in "Aa" or slot not in _FLAGS else word)
            at += len(word)
            given += 1
            continue
        if at < len(path) and path[at].upper() not in _ARITY:
            raise Wrong(f"cannot be read at {_excerpt(path, at)}; write numbers and SVG path commands")
        if command and (given % (_ARITY[command.upper()] or 1) or (not given and command not in "Zz")):
            raise Wrong(
                f"gives {command} {given} number{'s' * (given != 1)}; "
                f"it takes {_ARITY[command.upper()]} at a time"
            )
        if at >= len(path):
            return " ".join(tokens)
        if not command and path[at] not in "Mm":
            raise Wrong(f"begins with {path[at]}; path data begins with M and a point")
        if command in ("Z", "z") and path[at] not in "MmZz":
            raise Wrong(f"goes on with {path[at]} after Z; begin a new part with M")
        if path[at] not in "Zz" or command not in ("Z", "z"):
            tokens.append(path[at])
        command, given = path[at], 0
        at += 1


def _excerpt(path: str, at: int) -> str:
    text = path[at : at + 12]
    return f'"{text}…"' if at + 12 < len(path) else f'"{text}"'


def _in_one_line(points: Ring) -> bool:
    far = max(points, key=lambda point: math.dist(point, points[0]))
    return len(points) < 3 or max(abs(off_line(point, (points[0], far))) for point in points) <= SAME


def _check_simple(points: Ring, frame: Frame) -> None:
    from shapely import Polygon, is_valid_reason

    polygon = Polygon(points)
    if polygon.is_valid:
        return
    where = re.search(r"\[(\S+) (\S+)\]", is_valid_reason(polygon))
    near = f" at {frame.say((float(where[1]), float(where[2])))}" if where else ""
    raise Wrong(f"crosses or touches itself{near}; redraw it so that it does not")


def _closed(stroke: _Stroke) -> list[Segment]:
    """The segments of a closed line, each from the end of the one before; what leads nowhere left out."""
    same = SAME if stroke.closed else 0.01
    segments = [s for s in stroke.segments if max(math.dist(s[0], point) for point in s) > SAME]
    if segments and math.dist(segments[-1][-1], stroke.start) <= same:
        segments[-1] = (*segments[-1][:-1], stroke.start)
        if len(segments[-1]) == 2 and math.dist(*segments[-1]) <= same:
            segments.pop()
    else:
        segments.append((stroke.end, stroke.start))
    return segments


def _ring(segments: Sequence[Segment], reaches: Sequence[float] = ()) -> Ring:
    """The points of a closed line, its start first. Raises Wrong for too many."""
    *others, start = _chords(segments, reaches or [0.0] * len(segments))
    return start, *others


def _chords(segments: Sequence[Segment], reaches: Sequence[float]) -> list[Point]:
    """The points after the first. Raises Wrong for too many."""
    points: list[Point] = []
    for i, (segment, reach) in enumerate(zip(segments, reaches, strict=True)):
        left = MOST_POINTS - len(points)
        try:
            if len(segment) > 2:
                past = _runs_on(segments, reaches, i) if any(reaches) else (0.0, 0.0)
                points += chords(segment, reach, left, past)
            else:
                points.append(segment[-1])
        except ValueError:
            left = -1
        if left <= 0:
            raise Wrong(f"has more than {MOST_POINTS} points; draw it with fewer, or check the unit")
    return points


def _runs_on(segments: Sequence[Segment], reaches: Sequence[float], i: int) -> tuple[float, float]:
    """How far the line beside one segment runs on past its start and its end, to meet its neighbours'."""
    before, own, after = segments[i - 1], segments[i], segments[(i + 1) % len(segments)]
    at_start = _turn(_leaves(before[::-1]), _leaves(own))
    at_end = _turn(_leaves(own[::-1]), _leaves(after))
    return (
        _runs_past(at_start, reaches[i], reaches[i - 1]),
        _runs_past(at_end, reaches[i], reaches[(i + 1) % len(segments)]),
    )


def _runs_past(turn: float, own: float, other: float) -> float:
    """How far the line ``own`` outside an edge runs past a corner until it meets the line beside the next."""
    if abs(turn) < _SMOOTH:
        return 0.0
    far = own * math.tan(turn / 2) + (other - own) / math.sin(turn)
    return min(max(far, 0.0), MITRE_LIMIT * max(own, other))


def _leaves(segment: Segment) -> Point:
    """The way in which a segment leaves its start, of any length."""
    start = segment[0]
    ahead = next((p for p in segment[1:] if math.dist(p, start) > SAME), segment[-1])
    return ahead[0] - start[0], ahead[1] - start[1]


def _turn(coming: Point, going: Point) -> float:
    """Radians to the left from one edge to the next at a corner, both seen from it."""
    u, v = (-coming[0], -coming[1]), going
    return math.atan2(u[0] * v[1] - u[1] * v[0], u[0] * v[0] + u[1] * v[1])


def metric(mm: float) -> str:
    """A length of any order of magnitude, for messages: ``40 km``, ``1.4 m``, ``3 cm``, ``0.3 mm``."""
    if mm >= 1e6:
        return f"{mm / 1e6:.4g} km"
    return f"{mm / 1000:.4g} m" if mm >= 1000 else f"{mm / 10:.4g} cm" if mm >= 10 else f"{mm:.3g} mm"
