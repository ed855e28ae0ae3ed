"""A half piece opened out across its fold edge."""

from __future__ import annotations

from collections.abc import Callable

from marker.model.piece import Point, Ring


def reflection(edge: tuple[Point, Point]) -> Callable[[Point], Point]:
    """The mirror image in the line through ``edge``."""
    (ax, ay), (bx, by) = edge
    dx, dy = bx - ax, by - ay
    norm = dx * dx + dy * dy

    def reflect(point: Point) -> Point:
        along = ((point[0] - ax) * dx + (point[1] - ay) * dy) / norm
        foot = (ax + along * dx, ay + along * dy)
        return (2 * foot[0] - point[0], 2 * foot[1] - point[1])

    return reflect


def unfold(ring: Ring, edge: tuple[Point, Point], tolerance: float = 0.02) -> Ring:
    """The whole outline, counter-clockwise, of a half ``ring`` whose stretch ``edge`` lies on the fold.

    Vertices within ``tolerance`` mm of the fold line along the stretch are dropped: they are inside
    the whole piece.
    """
    reflect = reflection(edge)

    def on_line(point: Point) -> bool:
        image = reflect(point)
        return abs(image[0] - point[0]) + abs(image[1] - point[1]) <= 2 * tolerance

    count = len(ring)
    flags = [on_line(point) for point in ring]
    if all(flags) or sum(flags) < 2:
        raise ValueError("the fold edge is not an edge of the ring")
    # The free side runs from the last vertex on the fold line, round, to the first one again.
    start = next(k for k in range(count) if flags[k] and not flags[(k + 1) % count])
    free: list[Point] = []
    k = (start + 1) % count
    while not flags[k]:
        free.append(ring[k])
        k = (k + 1) % count
    half = [ring[start], *free, ring[k]]
    return tuple(half + [reflect(point) for point in reversed(free)])
