"""Closed outlines from strokes that are closed, or that follow one another end to end."""

from __future__ import annotations

import math
import re
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from marker.importing.dxf_layers import INNER, NOTCH
from marker.importing.dxf_shapes import Stroke
from marker.importing.found import Point
from marker.importing.mend import mended, notch_of, slit_note
from marker.importing.stroke import ring_stroke
from marker.model.ring import without_repeats

MEETS = 0.05
"""Millimetres between two ends that are taken to meet."""
MOST_DRAWN = 50_000
"""Points of an outline."""
MOST_OUTLINES = 2_000
"""Closed outlines that one piece or plain drawing may hold."""


@dataclass(frozen=True)
class Rings:
    """Closed outlines (without a repeated last point), and the strokes that close none."""

    closed: tuple[tuple[Point, ...], ...]
    open: tuple[Stroke, ...]


def rings_of(strokes: Sequence[Stroke], reach: float) -> Rings:
    """The closed outlines that ``strokes`` draw; ends within ``reach`` of each other meet.

    Where three or more ends meet nothing says which way the outline goes on: such strokes stay open.
    """
    closed = [stroke.points for stroke in strokes if stroke.closed]
    rest: list[Stroke] = []
    for stroke in strokes:
        if stroke.closed:
            continue
        if len(stroke.points) > 3 and math.dist(stroke.points[0], stroke.points[-1]) <= reach:
            closed.append(stroke.points[:-1])
        else:
            rest.append(stroke)
    chained, left = _chains(rest, reach)
    found = [ring for points in (*closed, *chained) if (ring := _spread_out(points, reach / 50))]
    return Rings(tuple(found), tuple(left))


def wrong_with(ring: Sequence[Point], mm: float) -> str | None:
    """What keeps a ring from being an outline, as the end of a sentence; None if nothing does.

    ``ring`` is in millimetres, places are told in units of the file of ``mm`` millimetres.
    """
    from shapely import Polygon, is_valid_reason

    if len(ring) > MOST_DRAWN:
        return f"has an outline of more than {MOST_DRAWN:,} points; draw it with fewer"
    polygon = Polygon(ring)
    if polygon.is_valid:
        return None
    where = re.search(r"\[(\S+) (\S+)\]", is_valid_reason(polygon))
    at = f" at ({float(where[1]) / mm:.6g}, {float(where[2]) / mm:.6g})" if where else ""
    return f"has an outline that crosses or touches itself{at}; redraw it so that it does not"


@dataclass(frozen=True)
class Untangled:
    """What an outline that touches itself draws: outlines apart, closed lines in them, and slits."""

    outer: tuple[tuple[Point, ...], ...]
    inner: tuple[tuple[Point, ...], ...] = ()
    slits: tuple[tuple[Point, ...], ...] = ()


def untangled(ring: Sequence[Point]) -> Untangled:
    """``ring`` (millimetres) without slits drawn out and back, cut apart where it only touches itself."""
    found = mended(ring_stroke(list(ring)))
    outer, inner = (
        tuple(kept for stroke in strokes if (kept := _spread_out(stroke.points(), MEETS / 50)))
        for strokes in (found.parts, found.holes)
    )
    return Untangled(outer, inner, found.slits)


def slit_strokes(
    slits: Sequence[tuple[Point, ...]], outline: Sequence[Point]
) -> tuple[list[Stroke], list[str]]:
    """Slits of an outline on the standard's layers for notches and for inner lines, and notes."""
    strokes, notes = [], []
    for slit in slits:
        is_notch = notch_of(slit, outline) is not None
        strokes.append(Stroke(str(NOTCH if is_notch else INNER), slit, False))
        notes.append(slit_note(slit, is_notch))
    return strokes, notes


def inside(ring: Sequence[Point], outer: Any) -> bool:
    """Whether all of ``ring`` lies in the (prepared) polygon ``outer``, give or take ``MEETS``."""
    from shapely import dwithin, points

    return bool(dwithin(outer, points(ring), MEETS).all())


def gap_in_words(strokes: Sequence[Stroke], mm: float) -> str:
    """``: lines end 12 mm apart at (x, y)`` for the loosest end of ``strokes``, "" if there is none.

    ``strokes`` are in millimetres, the point is told in units of the file of ``mm`` millimetres.
    """
    ends = [point for stroke in strokes for point in (stroke.points[0], stroke.points[-1])]
    if not 2 <= len(ends) <= 600:
        return ""
    widest, at = max(
        (min(math.dist(point, other) for m, other in enumerate(ends) if m != k), point)
        for k, point in enumerate(ends)
    )
    if widest <= MEETS:
        return ""
    return f": lines end {widest:.3g} mm apart at ({at[0] / mm:.6g}, {at[1] / mm:.6g})"


def _chains(strokes: Sequence[Stroke], reach: float) -> tuple[list[tuple[Point, ...]], list[Stroke]]:
    nodes = _nodes([point for s in strokes for point in (s.points[0], s.points[-1])], reach)
    at: dict[int, list[int]] = defaultdict(list)
    for i in range(len(strokes)):
        at[nodes[2 * i]].append(i)
        at[nodes[2 * i + 1]].append(i)
    used: set[int] = set()
    walked: set[int] = set()
    found: list[tuple[Point, ...]] = []
    for first in range(len(strokes)):
        if first in walked:
            continue
        node = nodes[2 * first + 1]
        points = list(strokes[first].points)
        begin = nodes[2 * first]
        seen = {first}
        while node != begin and len(at[node]) == 2:
            following = next((i for i in at[node] if i not in seen), None)
            if following is None:
                break
            seen.add(following)
            forwards = nodes[2 * following] == node
            points += strokes[following].points[1:] if forwards else strokes[following].points[-2::-1]
            node = nodes[2 * following + 1] if forwards else nodes[2 * following]
        # A walk that ends at a loose end or a branching fails from each of its strokes alike.
        walked |= seen
        if node == begin and len(at[begin]) == 2 and len(points) > 3:
            used |= seen
            found.append(tuple(points[:-1]))
    return found, [stroke for i, stroke in enumerate(strokes) if i not in used]


def _nodes(points: Sequence[Point], reach: float) -> list[int]:
    """A number for each point, the same for points within ``reach`` of one another."""
    cells: dict[tuple[int, int], list[int]] = defaultdict(list)
    where: list[Point] = []
    numbers = []
    for point in points:
        cx, cy = math.floor(point[0] / reach), math.floor(point[1] / reach)
        near = (
            number
            for dx in (-1, 0, 1)
            for dy in (-1, 0, 1)
            for number in cells.get((cx + dx, cy + dy), ())
            if math.dist(where[number], point) <= reach
        )
        number = next(near, None)
        if number is None:
            number = len(where)
            where.append(point)
            cells[cx, cy].append(number)
        numbers.append(number)
    return numbers


def _spread_out(points: Sequence[Point], same: float) -> tuple[Point, ...] | None:
    """The ring without points that repeat the one before; None if they all lie on one line."""
    from shapely import MultiPoint

    kept = without_repeats(points, same)
    return tuple(kept) if len(kept) >= 3 and MultiPoint(kept).convex_hull.area > same else None
