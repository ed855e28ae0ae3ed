"""The two necklines: a band collar, or a stand with a collar that turns over it.

Band and stand are drawn whole and cut lengthwise, the seam to the neck at the bottom; both are solved
for the measured neckline. The collar is half, on the fold at the centre back.
"""

from __future__ import annotations

from dataclasses import dataclass

from drafting.curves import (
    Edge,
    Point,
    curve,
    end,
    joined,
    length,
    line,
    mirrored,
    off,
    point_at,
    reverse,
    solve,
    split,
    square_to,
    start,
)
from drafting.piece import Drawing, level, upright
from drafting.smock.body import SLIT_WIDTH, Body

OVERLAP = SLIT_WIDTH / 2.0
"""How far the stand goes past the centre front, to the edge of the placket."""


@dataclass(frozen=True)
class Stand:
    """Stitching lines of the right half; all run from the centre back to the front."""

    neck_seam: Edge
    upper: Edge
    """Ends at the centre front, where the collar ends."""
    front: Edge
    """The rounded end, from ``upper`` to ``neck_seam``."""
    centre_front: Point
    """On the neck seam."""


def stand_block(b: Body, at_back: float, at_front: float) -> Stand:
    """A stand as high as that, its neck seam as long as half the neckline and the overlap."""
    want = b.half_neck + OVERLAP
    reach = solve(lambda x: length(_neck_seam(x, at_back)) - want, 0.5 * want, want)
    neck_seam = _neck_seam(reach, at_back)
    to_front, beyond = split(neck_seam, b.half_neck)
    centre_front = end(to_front)
    up = square_to(beyond[0][1], centre_front)
    top = off(centre_front, up, at_front)
    ahead = (-up[1], up[0])
    upper = curve(
        (0.0, 0.0),
        (0.45 * top[0], 0.0),
        off(top, ahead, -0.30 * top[0]),
        top,
    )
    front = curve(top, off(top, ahead, 0.75 * OVERLAP), off(end(beyond), up, 0.62 * at_front), end(beyond))
    return Stand(neck_seam, upper, front, centre_front)


def _neck_seam(reach: float, at_back: float) -> Edge:
    rise = 0.085 * reach
    return curve(
        (0.0, at_back),
        (0.45 * reach, at_back),
        (0.75 * reach, at_back - 0.25 * rise),
        (reach, at_back - rise),
    )


def stand(s: Stand, b: Body, with_collar: bool) -> Drawing:
    at_back = start(s.neck_seam)[1]
    shoulder = point_at(s.neck_seam, length(b.back_neck))
    reach = end(s.neck_seam)[0]
    upper = joined(reverse(mirrored(s.upper)), s.upper)
    notches = [
        ("centre back", (0.0, at_back)),
        *_both(("neck shoulder", shoulder)),
    ]
    if with_collar:
        notches += [("collar centre", (0.0, 0.0)), *_both(("collar end", end(s.upper)))]
    return Drawing(
        edges=(
            upper,
            s.front,
            joined(reverse(s.neck_seam), mirrored(s.neck_seam)),
            reverse(mirrored(s.front)),
        ),
        grain=level(0.5 * at_back, -0.7 * reach, 0.7 * reach),
        notches=tuple(notches),
        lines=tuple(line(a, c) for a, c in zip(*_fronts(s), strict=True)),
    )


def _both(notch: tuple[str, Point]) -> tuple[tuple[str, Point], tuple[str, Point]]:
    name, (x, y) = notch
    return (name, (-x, y)), (name, (x, y))


def _fronts(s: Stand) -> tuple[tuple[Point, Point], tuple[Point, Point]]:
    """Centre-front points at the neck seam and at the upper edge, left and right."""
    (ax, ay), (bx, by) = s.centre_front, end(s.upper)
    return ((-ax, ay), (ax, ay)), ((-bx, by), (bx, by))


def collar(s: Stand, at_back: float) -> Drawing:
    """Half a turned collar; the seam to the stand, at the bottom, is as long as the stand's upper edge."""
    want = length(s.upper)
    reach = solve(lambda x: length(_collar_seam(x, at_back)) - want, 0.5 * want, want)
    seam = _collar_seam(reach, at_back)
    corner = end(seam)
    point = (1.09 * reach, -0.062 * reach)
    outer = curve((0.0, 0.0), (0.5 * reach, 0.0), (0.8 * reach, -0.015 * reach), point)
    back = line((0.0, at_back), (0.0, 0.0))
    return Drawing(
        edges=(outer, line(point, corner), reverse(seam), back),
        grain=upright(0.35 * reach, 0.0, at_back),
        fold=((0.0, 0.0), (0.0, at_back)),
        notches=(("collar centre", (0.0, at_back)),),
    )


def _collar_seam(reach: float, at_back: float) -> Edge:
    falls, fall = at_back + 0.01 * reach, at_back + 0.047 * reach
    return curve((0.0, at_back), (0.5 * reach, at_back), (0.8 * reach, falls), (reach, fall))
