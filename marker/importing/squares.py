"""The scale of a drawing, measured on its test squares: told, and never corrected silently."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable

from marker.importing.stroke import Stroke
from marker.units import parse_length

_LENGTH = re.compile(r"\d+(?:[.,]\d+)?\s*(?:mm|cm|inch(?:es)?|in\b|[\"″])", re.IGNORECASE)
CLOSE = 0.1
"""Share by which a square may differ from a length written in it and still be meant by it."""
TOLERANCE = 0.005
"""Share by which a side may be off before the note warns."""


def check_squares(squares: Iterable[tuple[Stroke, str]]) -> list[str]:
    """A sentence for each test square: its outline in millimetres, and what is written about it."""
    return [_sentence(stroke, words) for stroke, words in squares]


def stated(words: str) -> list[str]:
    """The lengths that ``words`` name: "100 mm", "4 in"."""
    return [" ".join(match[0].split()) for match in _LENGTH.finditer(words)]


def is_test_square(stroke: Stroke, words: str) -> bool:
    """Is this a square about as large as ``words`` in or beside it say, so that they are about its size?"""
    measured = sides(stroke)
    if measured is None or abs(measured[0] - measured[1]) > 0.05 * max(measured):
        return False
    mean = sum(measured) / 2
    return any(abs(mean / parse_length(side) - 1) <= CLOSE for side in stated(words) if parse_length(side))


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


def _sentence(stroke: Stroke, words: str) -> str:
    measured = sides(stroke)
    named = [side for side in stated(words) if parse_length(side) > 0] or ["100 mm"]
    if measured is None:
        return f"Careful: the test square of {named[0]} is no rectangle, so the scale was not checked on it."
    told = f"the test square of {' / '.join(named)} measures {measured[0]:.2f} by {measured[1]:.2f} mm"
    means = {side: sum(measured) / 2 / parse_length(side) for side in named}
    for side in named:
        if max(abs(length / parse_length(side) - 1) for length in measured) <= TOLERANCE:
            return f"{told.capitalize()}: the scale is right."
    percent = " or ".join(f"{100 * mean:.1f} % of {side}" for side, mean in means.items())
    mends = " or ".join(f"--scale {100 / mean:.2f}%" for mean in means.values())
    return (
        f"Careful: {told}, which is {percent}; nothing was corrected. "
        f"If the square is right, import again with {mends}."
    )
