"""Shapes of the marks on a drawn piece: grain arrow, fold bracket, notches, hatching. Paper millimetres."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import shapely
from shapely import affinity

Point = tuple[float, float]
Segment = tuple[Point, Point]


def lines_of(shape: Any) -> list[list[Point]]:
    """The polylines of any shapely result, points and areas left out."""
    if shape.is_empty:
        return []
    if shape.geom_type in ("LineString", "LinearRing"):
        return [[(float(x), float(y)) for x, y in shape.coords]]
    if hasattr(shape, "geoms"):
        return [line for part in shape.geoms for line in lines_of(part)]
    return []


def areas_of(shape: Any) -> list[Any]:
    """The polygons of any shapely result, largest first."""
    if shape.is_empty:
        return []
    if shape.geom_type == "Polygon":
        return [shape]
    if hasattr(shape, "geoms"):
        return sorted((p for part in shape.geoms for p in areas_of(part)), key=lambda p: -p.area)
    return []


def longest(shape: Any) -> Segment | None:
    """First and last point of the longest polyline in ``shape``."""
    lines = lines_of(shape)
    if not lines:
        return None
    line = max(lines, key=lambda points: math.dist(points[0], points[-1]))
    return line[0], line[-1]


def arrow_line(grain: Segment, shape: Any) -> Segment | None:
    """The part of a grain line that lies inside ``shape``, tail first.

    Where the grain line misses the shape (a region cut out of a larger piece) a parallel through the
    middle of the shape stands in.
    """
    room = shape.buffer(-0.8)
    if room.is_empty:
        room = shape.buffer(-0.2)
    if room.is_empty:
        return None
    found = longest(shapely.LineString(grain).intersection(room))
    length = math.dist(*grain)
    if length == 0.0:
        return None
    ux, uy = (grain[1][0] - grain[0][0]) / length, (grain[1][1] - grain[0][1]) / length
    if found is None or math.dist(*found) < min(2.5, 0.3 * length):
        middle = room.representative_point()
        far = 10.0 * (math.sqrt(shape.area) + shape.length)
        through = shapely.LineString(
            [(middle.x - far * ux, middle.y - far * uy), (middle.x + far * ux, middle.y + far * uy)]
        )
        chord = longest(through.intersection(room))
        if chord is None:
            return None
        found = stretch(chord, 0.1, 0.9)
    (ax, ay), (bx, by) = found
    if (bx - ax) * ux + (by - ay) * uy < 0:
        return found[1], found[0]
    return found


def stretch(segment: Segment, start: float, end: float) -> Segment:
    """Part of a segment between two fractions of its length."""
    (ax, ay), (bx, by) = segment
    return (
        (ax + start * (bx - ax), ay + start * (by - ay)),
        (ax + end * (bx - ax), ay + end * (by - ay)),
    )


def arrow_head(segment: Segment, size: float) -> list[Point]:
    """A filled triangle with its tip at the end of ``segment``."""
    (ax, ay), (bx, by) = segment
    length = math.dist(*segment) or 1.0
    ux, uy = (bx - ax) / length, (by - ay) / length
    back_x, back_y = bx - size * ux, by - size * uy
    half = 0.38 * size
    return [(bx, by), (back_x - half * uy, back_y + half * ux), (back_x + half * uy, back_y - half * ux)]


def fold_bracket(
    edge: Segment, shape: Any, grow: float = 1.0
) -> tuple[list[Point], list[list[Point]]] | None:
    """The customary bracket along a fold edge: its line, and arrow heads that touch the fold.

    ``grow`` times as large as in a picture of a lay. ``None`` where the piece is too small for one.
    """
    length = math.dist(*edge)
    depth = min(2.6 * grow, 0.3 * shape.area / max(length, 1e-9), 0.25 * length)
    if length < 4.0 * grow or depth < 0.7 * grow:
        return None
    inset = min(0.12 * length, 6.0 * grow) / length
    (ax, ay), (bx, by) = stretch(edge, inset, 1.0 - inset)
    nx, ny = inward(edge, shape)
    line = [(ax, ay), (ax + depth * nx, ay + depth * ny), (bx + depth * nx, by + depth * ny), (bx, by)]
    size = min(1.5 * grow, 0.7 * depth)
    heads = [arrow_head((line[1], line[0]), size), arrow_head((line[2], line[3]), size)]
    return line, heads


def inward(edge: Segment, shape: Any) -> Point:
    """Unit normal of ``edge`` that points into ``shape``."""
    (ax, ay), (bx, by) = edge
    length = math.dist(*edge) or 1.0
    nx, ny = -(by - ay) / length, (bx - ax) / length
    for reach in (0.2, 0.05, 1.0):
        middle = shapely.Point((ax + bx) / 2 + reach * nx, (ay + by) / 2 + reach * ny)
        if shape.contains(middle):
            return nx, ny
        middle = shapely.Point((ax + bx) / 2 - reach * nx, (ay + by) / 2 - reach * ny)
        if shape.contains(middle):
            return -nx, -ny
    return nx, ny


def notch_mark(at: Point, shape: Any, depth: float = 1.3) -> Segment | None:
    """A short tick from the edge into the piece, square to the edge at ``at``."""
    ring = shape.exterior
    where = ring.project(shapely.Point(at))
    reach = min(0.3, ring.length / 20)
    before = ring.interpolate((where - reach) % ring.length)
    after = ring.interpolate((where + reach) % ring.length)
    foot = ring.interpolate(where)
    if math.dist((before.x, before.y), (after.x, after.y)) < 1e-9:
        return None
    nx, ny = inward(((before.x, before.y), (after.x, after.y)), shape)
    depth = min(depth, 0.2 * math.sqrt(shape.area))
    return (foot.x, foot.y), (foot.x + depth * nx, foot.y + depth * ny)


def hatching(shape: Any, spacing: float, angle: float) -> list[list[Point]]:
    """Parallel lines across ``shape``, ``spacing`` apart, at ``angle`` degrees."""
    if shape.is_empty:
        return []
    turned = affinity.rotate(shape, -angle, origin=(0, 0))
    x0, y0, x1, y1 = turned.bounds
    # On one grid over the whole sheet, so that hatching of neighbours lines up and looks calm.
    heights = np.arange(math.ceil(y0 / spacing), math.floor(y1 / spacing) + 1) * spacing
    if len(heights) == 0:
        return []
    raw = shapely.MultiLineString([[(x0 - 1, y), (x1 + 1, y)] for y in heights])
    return lines_of(affinity.rotate(raw.intersection(turned), angle, origin=(0, 0)))
