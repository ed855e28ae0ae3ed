"""Outlines typed by hand: corners measured with a ruler, curves by points on them or by how far they bulge.

A list of corners goes round the piece once, either way. Every entry says where the next corner is, by its
place or by the way to it, and how the edge that leads there runs.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from marker.files.curves import arc_through, spline
from marker.files.edges import Edge, path_of
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
class _Way:
    """A corner in millimetres (y downwards), and how the edge runs that leads to it."""

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
    return path_of(corner_edges(corners, frame), frame)


def corner_edges(corners: Sequence[CornerTable], frame: Frame) -> list[Edge]:
    """The edge from each corner to the next, the last one back to the first. Raises WrongCorner."""
    ways = _ways(corners, frame)
    ring = [point for way in ways for point in (*(p for _, p in way.through), way.at)]
    # Positive area: the corners go round clockwise as seen on the page, where y points down.
    outwards = 1.0 if signed_area(ring) >= 0 else -1.0
    edges = []
    start = ways[-1].at
    for way in ways:
        edge = Edge(start, tuple(_curve(start, way, outwards) or ()), way.at)
        _check_length(edge, way, frame)
        edges.append(edge)
        start = way.at
    return edges


def corner_names(corners: Sequence[CornerTable], frame: Frame) -> dict[str, Point]:
    """Where the named corners and points lie, in the unit of the file. Raises WrongCorner."""
    *others, first = _ways(corners, frame)
    return {
        name: (at[0] / frame.size, at[1] / frame.size)
        for way in (first, *others)
        for name, at in [
            *((corners[number - 1].name, at) for number, at in way.through),
            (way.given.name, way.at),
        ]
        if name is not None
    }


def _ways(corners: Sequence[CornerTable], frame: Frame) -> list[_Way]:
    """Every corner with the points that its curve goes through; the first corner comes last."""
    ways: list[_Way] = []
    waiting: list[tuple[int, Point]] = []
    heading = 0.0
    names: set[str] = set()
    for number, corner in enumerate(corners, 1):
        _check_fields(number, corner)
        if corner.name in names:
            raise WrongCorner(
                number, f'has the name "{corner.name}", as an earlier corner has; name each differently'
            )
        names |= {corner.name} if corner.name is not None else set()
        if corner.through is not None:
            if not ways:
                raise WrongCorner(number, 'the list begins with a "through" point; begin with a corner')
            waiting.append((number, _mm(corner.through, frame)))
            continue
        if corner.at is not None:
            at = _mm(corner.at, frame)
        elif not ways:
            raise WrongCorner(number, "is the first and has no place; write it as [x, y], like [0, 0]")
        else:
            at = _step(ways[-1].at, corner, heading)
        if ways and math.dist(at, ways[-1].at) > 0:
            before = ways[-1].at
            heading = math.degrees(math.atan2(at[1] - before[1], at[0] - before[0]))
        ways.append(_Way(number, at, corner, corner.at is None, waiting))
        waiting = []
    first, *others = ways
    if others and others[-1].stepped:
        _come_back(first, others, waiting, frame)
        waiting = others.pop().through if math.dist(others[-1].at, first.at) <= MEETS else waiting
    first.through = waiting
    return [*others, first]


def _come_back(first: _Way, others: list[_Way], waiting: list[tuple[int, Point]], frame: Frame) -> None:
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
    names = {name for name in (first.given.name, last.given.name) if name is not None}
    if len(names) > 1:
        raise WrongCorner(
            last.number,
            f'leads back to the first corner, which is called "{first.given.name}"; leave one name out',
        )
    first.given = last.given.model_copy(update={"name": names.pop() if names else None})
    first.number = last.number


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


def _curve(start: Point, way: _Way, outwards: float) -> list[Point] | None:
    """Control points of the edge's Béziers; None for a straight one."""
    given = way.given
    points = [start, *(point for _, point in way.through), way.at]
    for (number, _), one, other in zip(
        [*way.through, (way.number, way.at)], points[:-1], points[1:], strict=True
    ):
        if math.dist(one, other) < 0.01:
            raise WrongCorner(number, "is at the same place as the point before it; leave one out")
    depth = _size(given.bulge) or -_size(given.hollow)
    if way.through and depth:
        raise WrongCorner(
            way.number,
            'has points to go "through" before it, so it needs no bulge or hollow; leave that out',
        )
    if len(way.through) == 1:
        return arc_through(*points)
    if way.through:
        return spline(points)
    if not depth:
        return None
    (ax, ay), (bx, by) = start, way.at
    chord = math.dist(start, way.at)
    if abs(depth) > chord:
        raise WrongCorner(
            way.number,
            f"stands out or in by {abs(depth):.4g} mm, more than its ends are apart ({chord:.4g} mm); "
            'measure it again, or give points to go "through"',
        )
    # Clockwise on the page, outwards is to the left of the way.
    nx, ny = (by - ay) / chord * outwards, -(bx - ax) / chord * outwards
    return arc_through(start, ((ax + bx) / 2 + depth * nx, (ay + by) / 2 + depth * ny), way.at)


def _check_length(edge: Edge, way: _Way, frame: Frame) -> None:
    if way.given.length is None:
        return
    stated, drawn = way.given.length.mm, edge.length
    if abs(drawn - stated) <= SLACK + SLACK_SHARE * stated:
        return
    more = "longer" if drawn > stated else "shorter"
    raise WrongCorner(
        way.number,
        f"the edge from {_place(edge.start, frame)} to {_place(edge.end, frame)} is "
        f"{drawn / frame.size:.4g} {frame.unit} long as typed and {stated / frame.size:.4g} {frame.unit} as "
        f"measured, {abs(drawn - stated) / frame.size:.2g} {frame.unit} {more}; measure its ends and its "
        "length again",
    )


def _mm(point: Sequence[float], frame: Frame) -> Point:
    return point[0] * frame.size, point[1] * frame.size


def _size(measure: Measure | None) -> float:
    return measure.mm if measure is not None else 0.0


def _place(point: Point, frame: Frame) -> str:
    return frame.say((point[0], -point[1]))
