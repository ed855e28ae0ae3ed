"""Outlines typed by hand: corners measured with a ruler, curves by points on them or by how far they bulge.

A list of corners goes round the piece once, either way. Every entry says where the next corner is, by its
place or by the way to it, and how the edge that leads there runs.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from marker.files.curves import arc_through, curve_length, spline
from marker.files.outline import Frame
from marker.files.schema import CornerTable, Measure
from marker.model.piece import Point
from marker.model.ring import signed_area

SLACK = 2.0
"""Millimetres by which an edge may differ from its stated length, and"""
SLACK_SHARE = 0.005
"""this share of the length besides: a tape on paper is no better."""
BACK = 5.0
"""Millimetres within which a way round by steps has come back to its first corner, or was meant to."""
MEETS = 1.0
"""Millimetres within which it has."""


class WrongCorner(ValueError):
    """What is wrong with one corner and what to do, as the end of a sentence; ``number`` counts from 1."""

    def __init__(self, number: int, what: str) -> None:
        super().__init__(what)
        self.number = number


@dataclass
class _Edge:
    """A corner in millimetres (y downwards), and the edge that leads to it."""

    number: int
    at: Point
    given: CornerTable
    stepped: bool
    through: list[tuple[int, Point]] = field(default_factory=list)


def corners_path(corners: Sequence[CornerTable], frame: Frame) -> str:
    """SVG path data, in the unit of the file, of the outline with these corners.

    Two corners with no point between them are joined by a straight edge, or by the part of a circle that
    stands out by ``bulge`` (in by ``hollow``); with one point, by the part of a circle through it; with
    more, by a smooth curve through all of them. Raises WrongCorner.
    """
    edges = _edges(corners, frame)
    ring = [point for edge in edges for point in (*(p for _, p in edge.through), edge.at)]
    # Positive area: the corners go round clockwise as seen on the page, where y points down.
    outwards = 1.0 if signed_area(ring) >= 0 else -1.0
    words = [f"M {_say(edges[-1].at, frame)}"]
    start = edges[-1].at
    for edge in edges:
        curve = _curve(start, edge, outwards)
        _check_length(start, edge, curve, frame)
        if curve is None:
            if edge is not edges[-1]:
                words.append(f"L {_say(edge.at, frame)}")
        else:
            words.append(f"C {' '.join(_say(point, frame) for point in curve)}")
        start = edge.at
    return f"{' '.join(words)} Z"


def _edges(corners: Sequence[CornerTable], frame: Frame) -> list[_Edge]:
    """Every corner with the points that its curve goes through; the first corner comes last."""
    edges: list[_Edge] = []
    waiting: list[tuple[int, Point]] = []
    heading = 0.0
    for number, corner in enumerate(corners, 1):
        _check_fields(number, corner)
        if corner.through is not None:
            if not edges:
                raise WrongCorner(number, 'the list begins with a "through" point; begin with a corner')
            waiting.append((number, _mm(corner.through, frame)))
            continue
        if corner.at is not None:
            at = _mm(corner.at, frame)
        elif not edges:
            raise WrongCorner(number, "is the first and has no place; write it as [x, y], like [0, 0]")
        else:
            at = _step(edges[-1].at, corner, heading)
        if edges and math.dist(at, edges[-1].at) > 0:
            before = edges[-1].at
            heading = math.degrees(math.atan2(at[1] - before[1], at[0] - before[0]))
        edges.append(_Edge(number, at, corner, corner.at is None, waiting))
        waiting = []
    first, *others = edges
    if others and others[-1].stepped:
        _come_back(first, others, waiting, frame)
        waiting = others.pop().through if math.dist(others[-1].at, first.at) <= MEETS else waiting
    first.through = waiting
    return [*others, first]


def _come_back(first: _Edge, others: list[_Edge], waiting: list[tuple[int, Point]], frame: Frame) -> None:
    """A last step back to the first corner is that corner again; a near miss is a wrong measure."""
    last = others[-1]
    gap = math.dist(last.at, first.at)
    if gap > BACK:
        return
    if gap > MEETS or waiting:
        raise WrongCorner(
            last.number,
            f"the steps end at {_place(last.at, frame)}, {gap:.1f} mm from the first corner at "
            f"{_place(first.at, frame)}; measure them again, or leave the last step out",
        )
    if first.given.length or first.given.bulge or first.given.hollow:
        raise WrongCorner(
            last.number, "leads back to the first corner, which says itself how that edge runs; leave one out"
        )
    first.given, first.number = last.given, last.number


def _check_fields(number: int, corner: CornerTable) -> None:
    steps = [name for name in ("right", "left", "up", "down") if getattr(corner, name) is not None]
    ways = [
        name
        for name, given in (
            ("at", corner.at),
            ("through", corner.through),
            ("go", corner.go),
            *((s, 1) for s in steps),
        )
        if given is not None
    ]
    if corner.through is not None:
        extra = [
            name
            for name in (*ways, "turn", "length", "bulge", "hollow")
            if name != "through" and getattr(corner, name) is not None
        ]
        if extra:
            raise WrongCorner(
                number, f'a "through" point is no corner, so it has no "{extra[0]}"; leave that out'
            )
        return
    if not ways:
        raise WrongCorner(number, "says no place; write [x, y], a step like { right = 24 }, or { go = 24 }")
    if ("at" in ways and len(ways) > 1) or ("go" in ways and len(ways) > 1):
        raise WrongCorner(number, f'says its place twice, by "{ways[0]}" and "{ways[1]}"; leave one out')
    for one, other in (("right", "left"), ("up", "down"), ("bulge", "hollow")):
        if getattr(corner, one) is not None and getattr(corner, other) is not None:
            raise WrongCorner(number, f'has both "{one}" and "{other}"; leave one out')
    if corner.turn is not None and corner.go is None:
        raise WrongCorner(number, 'says "turn" and not how far to "go"; add it')


def _step(before: Point, corner: CornerTable, heading: float) -> Point:
    if corner.go is not None:
        angle = math.radians(heading + (corner.turn or 0.0))
        return before[0] + corner.go.mm * math.cos(angle), before[1] + corner.go.mm * math.sin(angle)
    return (
        before[0] + _size(corner.right) - _size(corner.left),
        before[1] + _size(corner.down) - _size(corner.up),
    )


def _curve(start: Point, edge: _Edge, outwards: float) -> list[Point] | None:
    """Control points of the edge's Béziers; None for a straight one."""
    given = edge.given
    points = [start, *(point for _, point in edge.through), edge.at]
    for (number, _), one, other in zip(
        [*edge.through, (edge.number, edge.at)], points[:-1], points[1:], strict=True
    ):
        if math.dist(one, other) < 0.01:
            raise WrongCorner(number, "is at the same place as the point before it; leave one out")
    depth = _size(given.bulge) or -_size(given.hollow)
    if edge.through and depth:
        raise WrongCorner(
            edge.number,
            'has points to go "through" before it, so it needs no bulge or hollow; leave that out',
        )
    if len(edge.through) == 1:
        return arc_through(*points)
    if edge.through:
        return spline(points)
    if not depth:
        return None
    (ax, ay), (bx, by) = start, edge.at
    chord = math.dist(start, edge.at)
    if abs(depth) > chord:
        raise WrongCorner(
            edge.number,
            f"stands out or in by {abs(depth):.4g} mm, more than its ends are apart ({chord:.4g} mm); "
            'measure it again, or give points to go "through"',
        )
    # Clockwise on the page, outwards is to the left of the way.
    nx, ny = (by - ay) / chord * outwards, -(bx - ax) / chord * outwards
    return arc_through(start, ((ax + bx) / 2 + depth * nx, (ay + by) / 2 + depth * ny), edge.at)


def _check_length(start: Point, edge: _Edge, curve: list[Point] | None, frame: Frame) -> None:
    if edge.given.length is None:
        return
    stated = edge.given.length.mm
    drawn = curve_length(start, curve) if curve else math.dist(start, edge.at)
    if abs(drawn - stated) <= SLACK + SLACK_SHARE * stated:
        return
    more = "longer" if drawn > stated else "shorter"
    raise WrongCorner(
        edge.number,
        f"the edge from {_place(start, frame)} to {_place(edge.at, frame)} is "
        f"{drawn / frame.size:.4g} {frame.unit} long as typed and {stated / frame.size:.4g} {frame.unit} as "
        f"measured, {abs(drawn - stated) / frame.size:.2g} {frame.unit} {more}; measure its ends and its "
        "length again",
    )


def _mm(point: Sequence[float], frame: Frame) -> Point:
    return point[0] * frame.size, point[1] * frame.size


def _size(measure: Measure | None) -> float:
    return measure.mm if measure is not None else 0.0


def _say(point: Point, frame: Frame) -> str:
    return f"{point[0] / frame.size:.7g} {point[1] / frame.size:.7g}"


def _place(point: Point, frame: Frame) -> str:
    return frame.say((point[0], -point[1]))
