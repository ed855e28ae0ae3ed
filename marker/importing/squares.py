"""The scale of a drawing, measured on its test squares: told, and never corrected silently."""

from __future__ import annotations

import math
from collections.abc import Iterable

from marker.importing.stroke import Stroke
from marker.units import parse_length

TOLERANCE = 0.005
"""Share by which a side may be off before the note warns."""


def check_squares(squares: Iterable[tuple[Stroke, str]]) -> list[str]:
    """A sentence for each test square (its outline in millimetres, its side as written)."""
    return [_sentence(stroke, side) for stroke, side in squares]


def sides(stroke: Stroke) -> tuple[float, float] | None:
    """The two sides of a rectangle in millimetres (means of opposite sides); None if it is none."""
    points = stroke.points()
    if not stroke.closed or len(points) != 4:
        return None
    a, b, c, d = (math.dist(points[i], points[(i + 1) % 4]) for i in range(4))
    one, other = math.dist(points[0], points[2]), math.dist(points[1], points[3])
    width, height = (a + c) / 2, (b + d) / 2
    off = max(abs(a - c), abs(b - d), abs(one - other), abs(one - math.hypot(width, height)))
    return (width, height) if off <= 0.02 * max(width, height) else None


def _sentence(stroke: Stroke, side: str) -> str:
    measured = sides(stroke)
    stated = parse_length(side)
    if measured is None:
        return f"Careful: the test square of {side} is no rectangle, so the scale was not checked on it."
    shares = [length / stated for length in measured]
    told = f"The test square of {side} measures {measured[0]:.2f} by {measured[1]:.2f} mm"
    if max(abs(share - 1) for share in shares) <= TOLERANCE:
        return f"{told}: the scale is right."
    percent = " by ".join(f"{100 * share:.1f} %" for share in dict.fromkeys(round(s, 3) for s in shares))
    mend = 100 * 2 / sum(shares)
    return (
        f"Careful: {told}, which is {percent} of what it should be; nothing was corrected. "
        f"If the square is right, import again with --scale {mend:.2f}%."
    )
