"""Pattern files measured from the outside: their drawings as edges between corners, by fontTools and shapely.

Nothing here is shared with the drafting scripts or with the loader. Millimetres, y downwards.
"""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

from fontTools.misc.bezierTools import cubicPointAtT
from fontTools.pens.recordingPen import RecordingPen
from fontTools.svgLib.path import parse_path
from shapely import LineString, Point, Polygon

PIECES = Path(__file__).parents[2] / "pieces"
CORNER = math.radians(20)
"""Where the outline turns by more than this, one edge ends and the next begins."""
_CHORDS = 200

XY = tuple[float, float]


@dataclass(frozen=True)
class Drawn:
    """One drawing: ``edges`` between corners in drawing order, from the first point of the path."""

    edges: tuple[LineString, ...]
    polygon: Polygon
    raw: dict[str, Any]
    scale: float

    def notch(self, name: str, nth: int = 0) -> Point:
        return self.notches(name)[nth]

    def notches(self, name: str) -> list[Point]:
        return [self._point(n["at"]) for n in self.raw.get("notches", []) if n["name"] == name]

    def marks(self) -> dict[str, Point]:
        return {mark["name"]: self._point(mark["at"]) for mark in self.raw.get("marks", [])}

    def grain(self) -> tuple[Point, Point]:
        tail, head = self.raw["grain"]
        return self._point(tail), self._point(head)

    def fold(self) -> LineString:
        return LineString([self._point(p) for p in self.raw["fold"]])

    def lines(self) -> list[LineString]:
        return [LineString(_flat(path, self.scale)[0]) for path in self.raw.get("lines", [])]

    def _point(self, at: list[float]) -> Point:
        return Point(at[0] * self.scale, at[1] * self.scale)


@cache
def read(name: str) -> dict[str, Any]:
    return tomllib.loads((PIECES / name).read_text(encoding="utf-8"))


@cache
def drawn(name: str, number: str, size: str) -> Drawn:
    file = read(name)
    (piece,) = (piece for piece in file["piece"] if piece["number"] == number)
    raw = piece["drawing"].get(size) or piece["drawing"]["every"]
    scale = {"mm": 1.0, "cm": 10.0}[file["unit"]]
    points, joints = _flat(raw["outline"], scale)
    return Drawn(_edges(points, joints), Polygon(points), raw, scale)


def along(edge: LineString, notch: Point, from_end: bool = False) -> float:
    """Distance of a notch along an edge, which it must lie on within the rounding of the file."""
    assert edge.distance(notch) < 0.2
    at = edge.project(notch)
    return edge.length - at if from_end else at


def _flat(path: str, scale: float) -> tuple[list[XY], list[int]]:
    """Points of a path, and the indices of those that end a segment of it."""
    pen = RecordingPen()
    parse_path(path, pen)
    points: list[XY] = []
    joints: list[int] = []
    for operator, given in pen.value:
        if operator == "curveTo":
            a, (c, d, b) = points[-1], given
            points += [cubicPointAtT(a, c, d, b, i / _CHORDS) for i in range(1, _CHORDS + 1)]
        elif operator in ("moveTo", "lineTo") and (not points or given[0] != points[-1]):
            points.append(given[0])
        joints.append(len(points) - 1)
    if pen.value[-1][0] == "closePath" and points[-1] != points[0]:
        points.append(points[0])
        joints.append(len(points) - 1)
    return [(x * scale, y * scale) for x, y in points], sorted(set(joints))


def _edges(points: list[XY], joints: list[int]) -> tuple[LineString, ...]:
    """The closed outline cut at its corners; its first point counts as one."""
    inner = [i for i in joints if 0 < i < len(points) - 1 and _turn(*points[i - 1 : i + 2]) > CORNER]
    return tuple(LineString(points[i : j + 1]) for i, j in pairwise([0, *inner, len(points) - 1]))


def _turn(a: XY, b: XY, c: XY) -> float:
    before, after = (b[0] - a[0], b[1] - a[1]), (c[0] - b[0], c[1] - b[1])
    cross, dot = before[0] * after[1] - before[1] * after[0], before[0] * after[0] + before[1] * after[1]
    return abs(math.atan2(cross, dot))
