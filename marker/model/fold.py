"""The edge of a piece that is laid on the fold of the cloth."""

from __future__ import annotations

import math
from collections.abc import Sequence

from marker.model.piece import Point
from marker.model.ring import chain, mirrored, off_line

ON_LINE = 0.05
"""Millimetres an edge may be off the fold line and still count as lying on it."""
ACROSS = 0.1
"""Millimetres an outline may reach across its own fold line."""


def straight_stretch(
    ring: Sequence[Point], one: Point, other: Point, tolerance: float = ON_LINE
) -> tuple[Point, Point] | None:
    """The straight run of ``ring`` between two of its vertices, in ring order; None if neither is."""
    i, j = ring.index(one), ring.index(other)
    for start, end in ((i, j), (j, i)):
        run = [*chain(ring, start, end), end]
        line = (ring[start], ring[end])
        if line[0] != line[1] and all(abs(off_line(ring[k], line)) <= tolerance for k in run):
            return line
    return None


def fold_edge_of(
    ring: Sequence[Point], fold_line: tuple[Point, Point], tolerance: float = ON_LINE
) -> tuple[Point, Point] | None:
    """The longest run of edges of ``ring`` on the endless line through ``fold_line``, in ring order.

    Works for a piece and for a region of it alike. None if no edge lies on the line.
    """
    return max(_runs_on(ring, fold_line, tolerance), key=lambda edge: math.dist(*edge), default=None)


def edge_beside(
    ring: Sequence[Point], edge: tuple[Point, Point], width: float, tolerance: float = ON_LINE
) -> tuple[Point, Point] | None:
    """The straight run of ``ring`` that lies ``width`` outside ``edge`` (right of it), in ring order.

    Of several runs on that line, the one beside the middle of ``edge``. None if there is none.
    """
    (ax, ay), (bx, by) = edge
    long = math.dist(*edge)
    dx, dy = (bx - ax) / long, (by - ay) / long
    line = (ax + width * dy, ay - width * dx), (bx + width * dy, by - width * dx)

    def beside(run: tuple[Point, Point]) -> bool:
        one, other = ((x - ax) * dx + (y - ay) * dy for x, y in run)
        return one < long / 2 < other

    return next((run for run in _runs_on(ring, line, tolerance) if beside(run)), None)


def _runs_on(ring: Sequence[Point], line: tuple[Point, Point], tolerance: float) -> list[tuple[Point, Point]]:
    """Both ends of every run of edges of ``ring`` on the endless line, in ring order."""
    n = len(ring)
    on = [abs(off_line(point, line)) <= tolerance for point in ring]
    runs = []
    for start in range(n):
        if not on[start] or on[start - 1]:
            continue
        length = 0
        while length < n - 1 and on[(start + length + 1) % n]:
            length += 1
        if length and ring[start] != ring[(start + length) % n]:
            runs.append((ring[start], ring[(start + length) % n]))
    return runs


def reaches_across(ring: Sequence[Point], fold_edge: tuple[Point, Point]) -> Point | None:
    """The vertex farthest on the wrong side of the fold (right of ``fold_edge``), or None if none is.

    ``fold_edge`` runs in ring order, the ring counter-clockwise, so the piece is on its left.
    """
    farthest = min(ring, key=lambda point: off_line(point, fold_edge))
    return farthest if off_line(farthest, fold_edge) < -ACROSS else None


def unfold(ring: Sequence[Point], fold_edge: tuple[Point, Point]) -> tuple[Point, ...]:
    """The whole piece opened out: the ring and its mirror image across the fold, joined along it.

    Points on the fold inside the fold edge vanish. Counter-clockwise if ``ring`` is.
    """
    i, j = ring.index(fold_edge[0]), ring.index(fold_edge[1])
    outer = [ring[k] for k in chain(ring, j, i)] + [ring[i]]
    return (*outer, *(mirrored(point, fold_edge) for point in reversed(outer[1:-1])))
