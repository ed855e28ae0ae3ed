"""How the edge of a piece runs at a notch, and so how stripes meet there."""

from __future__ import annotations

import math
from dataclasses import dataclass

from marker.model.piece import Notch, Piece, Point
from marker.model.ring import nearest_on_ring

ALONG = 2.0
"""Degrees within which an edge counts as running along the grain, or across it."""
INSIDE = 3.0
"""Millimetres from the outline at which a mark counts as inside the piece."""


@dataclass(frozen=True)
class Edge:
    """The edge of a piece at a notch: its lean from the grain (degrees, above -90 to 90) and the side.

    ``side`` is 1 where cloth ends towards 90 degrees counter-clockwise of the grain arrow, -1 where it ends
    on the other side.
    """

    lean: float
    side: int


def in_frame(piece: Piece, point: Point) -> Point:
    """A point of the drawing along the grain arrow and 90 degrees counter-clockwise of it."""
    (tx, ty), (hx, hy) = piece.grain
    long = math.hypot(hx - tx, hy - ty)
    ux, uy = (hx - tx) / long, (hy - ty) / long
    return point[0] * ux + point[1] * uy, point[1] * ux - point[0] * uy


def sewn_at(mark: Notch) -> Point:
    """The place on the drawing where lines have to meet: on the stitching line, if the pattern tells it."""
    return mark.sewn or mark.at


def marks_are_mirrored(piece: Piece, middle: float, tolerance: float) -> bool:
    """Whether the named marks of a piece are their own mirror image across ``middle`` (v of its frame)."""
    marks = [(mark.name, in_frame(piece, sewn_at(mark))) for mark in (*piece.notches, *piece.marks)]
    return all(
        any(other == name and math.dist((u, 2 * middle - v), at) <= tolerance for other, at in marks)
        for name, (u, v) in marks
        if name
    )


def edge_at(piece: Piece, mark: Notch) -> Edge | None:
    """The edge at a notch; None for a mark inside the piece, something sewn on top."""
    distance, k, _ = nearest_on_ring(mark.at, piece.outline)
    if distance > INSIDE:
        return None
    a = in_frame(piece, piece.outline[k])
    b = in_frame(piece, piece.outline[(k + 1) % len(piece.outline)])
    du, dv = b[0] - a[0], b[1] - a[1]
    lean = math.degrees(math.atan2(dv, du))
    lean = lean - 180.0 if lean > 90.0 else lean + 180.0 if lean <= -90.0 else lean
    # Outlines run counter-clockwise: cloth is on the left of an edge, the seam's other side on its right.
    return Edge(lean, 1 if du < 0 else -1)


def seam_sign(one: Edge | None, other: Edge | None) -> int:
    """1 if stripes go on across the seam as drawn, -1 if they meet as mirror images.

    Where both edges lean the same way a stripe meets the same stripe all along the seam; where they lean
    opposite ways, as between gores, it does so in a chevron. Along the grain it goes straight on if the
    pieces lie on opposite sides of the seam.
    """
    if one is None or other is None:
        return 1
    if abs(one.lean) <= ALONG and abs(other.lean) <= ALONG:
        return -1 if one.side == other.side else 1
    if min(abs(one.lean), abs(other.lean)) >= 90.0 - ALONG:
        return 1
    return 1 if abs(one.lean - other.lean) <= abs(one.lean + other.lean) else -1
