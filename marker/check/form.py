"""What a piece of the pattern must look like once it lies on the cloth."""

from __future__ import annotations

import math
from collections.abc import Sequence

from shapely.affinity import affine_transform, translate
from shapely.geometry import Polygon

from marker.check.geometry import Shape, same_form, solid
from marker.model.piece import Point, Ring

Affine = tuple[float, float, float, float, float, float]
"""(a, b, d, e, u, v): x' = a·x + b·y + u and y' = d·x + e·y + v, the order shapely takes."""

IDENTITY: Affine = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
SAME_HAND = 0.1
"""Millimetres within which a piece and its mirror image count as the same piece: finer than anyone cuts."""
OWN_MIRROR_IMAGE = 0.05
"""Millimetres within which an outline is the same on both sides where a print must match."""
MARKS_MIRRORED = 0.5
"""Millimetres within which its notches and marks are, finer than a notch is cut."""
ON_THE_LINE = 0.001
"""Millimetres within which a drawn point counts as lying on the fold."""


def apply(motion: Affine, point: Point) -> Point:
    a, b, d, e, u, v = motion
    return a * point[0] + b * point[1] + u, d * point[0] + e * point[1] + v


def shifted(motion: Affine, shift: Point) -> Affine:
    return (*motion[:4], motion[4] + shift[0], motion[5] + shift[1])


def after(second: Affine, first: Affine) -> Affine:
    """One motion after another: what ``second`` makes of what ``first`` makes of a point."""
    a, b, d, e, _, _ = second
    p, q, r, t, u, v = first
    x, y = apply(second, (u, v))
    return a * p + b * r, a * q + b * t, d * p + e * r, d * q + e * t, x, y


def turned(grain: tuple[Point, Point], rotation: float, mirrored: bool) -> Affine:
    """The motion that brings a drawn grain arrow to ``rotation`` degrees, after mirroring in the arrow."""
    drawn = math.atan2(grain[1][1] - grain[0][1], grain[1][0] - grain[0][0])
    cos, sin = math.cos(drawn), math.sin(drawn)
    flip = -1.0 if mirrored else 1.0
    c, s = math.cos(math.radians(rotation)), math.sin(math.radians(rotation))
    return (
        c * cos + s * flip * sin,
        c * sin - s * flip * cos,
        s * cos - c * flip * sin,
        s * sin + c * flip * cos,
        0.0,
        0.0,
    )


def reflected(points: Sequence[Point], line: tuple[Point, Point]) -> Ring:
    """The points mirrored in a line; those on it stay exactly where they are."""
    (px, py), (qx, qy) = line
    length = math.hypot(qx - px, qy - py)
    nx, ny = (py - qy) / length, (qx - px) / length
    image = []
    for x, y in points:
        off = (x - px) * nx + (y - py) * ny
        image.append((x, y) if abs(off) <= ON_THE_LINE else (x - 2 * off * nx, y - 2 * off * ny))
    return tuple(image)


def across(line: tuple[Point, Point]) -> Affine:
    """The motion that mirrors in a line."""
    (px, py), (qx, qy) = line
    angle = 2 * math.atan2(qy - py, qx - px)
    c, s = math.cos(angle), math.sin(angle)
    return c, s, s, -c, px - c * px - s * py, py - s * px + c * py


def unfolded(half: Ring, fold_edge: tuple[Point, Point]) -> Polygon | None:
    """The whole of a piece drawn as a half; ``None`` if the half does not reach its fold."""
    whole = solid(half).union(solid(reflected(half, fold_edge)))
    return whole if isinstance(whole, Polygon) else None


def shift_onto(shape: Shape, target: Shape) -> Point:
    """The translation that puts the middle of one box on the middle of the other."""
    a, b = shape.bounds, target.bounds
    return (b[0] + b[2] - a[0] - a[2]) / 2, (b[1] + b[3] - a[1] - a[3]) / 2


def same_up_to_shift(shape: Shape, target: Shape, tolerance: float) -> bool:
    return same_form(translate(shape, *shift_onto(shape, target)), target, tolerance)


def has_no_hand(shape: Shape, grain: tuple[Point, Point], nap: bool) -> bool:
    """Laid face down it is the same piece again, at once or, on cloth without nap, after a half turn."""
    drawn = affine_transform(shape, turned(grain, 0.0, False))
    turns = (0.0,) if nap else (0.0, 180.0)
    flips = (affine_transform(shape, turned(grain, turn, True)) for turn in turns)
    return any(same_up_to_shift(flip, drawn, SAME_HAND) for flip in flips)


def is_own_mirror_image(shape: Shape, grain: tuple[Point, Point], marks: Sequence[tuple[str, Point]]) -> bool:
    """Left and right of a line along the grain all is the same: one copy serves either side as it lies.

    ``marks`` are the named places of the piece; each must have one of its name on the other side.
    """
    upright = turned(grain, 0.0, False)
    drawn, flip = affine_transform(shape, upright), affine_transform(shape, turned(grain, 0.0, True))
    if not same_up_to_shift(flip, drawn, OWN_MIRROR_IMAGE):
        return False
    both = drawn.bounds[1] + drawn.bounds[3]
    places = [(name, apply(upright, at)) for name, at in marks]
    return all(
        any(other == name and math.dist((x, both - y), at) <= MARKS_MIRRORED for other, at in places)
        for name, (x, y) in places
    )
