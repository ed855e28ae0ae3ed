"""Words that fit: the largest wording of a label that lies wholly inside a shape on paper.

Paper coordinates are millimetres, y upwards; type sizes are points.
"""

from __future__ import annotations

import contextlib
import math
import warnings
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
import shapely
from shapely import affinity

POINT = 25.4 / 72.0
"""Millimetres in a typographic point."""

LEADING = 1.16
"""Line distance in type sizes."""

FONT = "DejaVu Sans"
"""Comes with matplotlib, so that sizes measured here hold everywhere."""

SIZES = (10.0, 9.0, 8.0, 7.5, 7.0, 6.5, 6.0, 5.5, 5.0, 4.6, 4.2)


@dataclass(frozen=True)
class Line:
    """One line of a label."""

    text: str
    bold: bool = False


@dataclass(frozen=True)
class Label:
    """Lines set at ``size`` points, their box centred at ``at`` and turned by ``angle`` degrees."""

    lines: tuple[Line, ...]
    size: float
    at: tuple[float, float]
    angle: float

    @property
    def extent(self) -> tuple[float, float]:
        """Width and height of the box before turning."""
        return block_extent(self.lines, self.size)

    def box(self, margin: float = 0.0) -> Any:
        """The turned box as a polygon, ``margin`` wider on every side."""
        width, height = self.extent
        x, y = self.at
        box = shapely.box(
            x - width / 2 - margin, y - height / 2 - margin, x + width / 2 + margin, y + height / 2 + margin
        )
        return affinity.rotate(box, self.angle, origin=self.at)

    def baselines(self) -> Iterator[tuple[Line, float, float]]:
        """Each line with the middle of its baseline on paper."""
        _, height = self.extent
        turn = math.radians(self.angle)
        step = self.size * LEADING * POINT
        for index, line in enumerate(self.lines):
            up = height / 2 - index * step - (0.5 * LEADING + 0.36) * self.size * POINT
            yield line, self.at[0] - up * math.sin(turn), self.at[1] + up * math.cos(turn)


@contextlib.contextmanager
def unknown_glyphs_untold() -> Iterator[None]:
    """What the typeface lacks is drawn as a box, and stays text where text can be kept: no more to say."""
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing from font")
        warnings.filterwarnings("ignore", message="Matplotlib currently does not support .* natively")
        yield


@lru_cache(maxsize=4096)
def text_width(text: str, size: float, bold: bool = False) -> float:
    """Millimetres that a line of text takes on paper."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path

    font = FontProperties(family=FONT, weight="bold" if bold else "normal", size=100.0)
    with unknown_glyphs_untold():
        width, _, _ = text_to_path.get_text_width_height_descent(text, font, ismath=False)
    return float(width) / 100.0 * size * POINT


def block_extent(lines: Sequence[Line], size: float) -> tuple[float, float]:
    """Width and height in millimetres of lines set one below the other."""
    widest = max(text_width(line.text, size, line.bold) for line in lines)
    return widest, len(lines) * size * LEADING * POINT


def wrappings(words: Sequence[str], most: int) -> list[tuple[str, ...]]:
    """The most even ways to set words in one line, in two, and so on up to ``most``."""
    found = []
    for count in range(1, min(most, len(words)) + 1):
        found.append(min(_splits(tuple(words), count), key=lambda lines: (max(map(len, lines)), lines)))
    return found


def _splits(words: tuple[str, ...], count: int) -> Iterator[tuple[str, ...]]:
    if count == 1:
        yield (" ".join(words),)
        return
    for first in range(1, len(words) - count + 2):
        for rest in _splits(words[first:], count - 1):
            yield (" ".join(words[:first]), *rest)


class Room:
    """The free space of one shape, ready to be asked what fits where.

    ``free`` is a shapely area; ``angle`` turns the text, in degrees.
    """

    def __init__(self, free: Any, angle: float = 0.0) -> None:
        self.angle = angle
        self._free = affinity.rotate(free, -angle, origin=(0, 0))
        x0, y0, x1, y1 = self._free.bounds
        self._step = max(0.2, (x1 - x0) / 130, (y1 - y0) / 130)
        self._x0, self._y0 = x0, y0
        xs = np.arange(x0 + self._step / 2, x1, self._step)
        ys = np.arange(y0 + self._step / 2, y1, self._step)
        shapely.prepare(self._free)
        grid_x, grid_y = np.meshgrid(xs, ys)
        inside = shapely.contains_xy(self._free, grid_x.ravel(), grid_y.ravel()).reshape(grid_x.shape)
        self._sums = np.zeros((len(ys) + 1, len(xs) + 1), dtype=np.int64)
        self._sums[1:, 1:] = inside.cumsum(0).cumsum(1)
        centre = self._free.centroid
        self._centre = (centre.x, centre.y)

    def place(
        self, lines: Sequence[Line], size: float, near: tuple[float, float] | None = None
    ) -> Label | None:
        """The label at ``size`` as near the middle (or ``near``) as it goes, ``None`` if it doesn't fit."""
        width, height = block_extent(lines, size)
        columns, rows = math.ceil(width / self._step), math.ceil(height / self._step)
        s = self._sums
        if rows >= s.shape[0] or columns >= s.shape[1]:
            return None
        full = s[rows:, columns:] - s[:-rows, columns:] - s[rows:, :-columns] + s[:-rows, :-columns]
        at_rows, at_columns = np.nonzero(full == rows * columns)
        if len(at_rows) == 0:
            return None
        x = self._x0 + (at_columns + columns / 2) * self._step
        y = self._y0 + (at_rows + rows / 2) * self._step
        aim = self._centre
        if near is not None:
            turned = affinity.rotate(shapely.Point(near), -self.angle, origin=(0, 0))
            aim = (turned.x, turned.y)
        away = np.hypot(x - aim[0], y - aim[1])
        for best in np.argsort(away, kind="stable")[:40:4]:
            box = shapely.box(
                x[best] - width / 2, y[best] - height / 2, x[best] + width / 2, y[best] + height / 2
            )
            # The grid only samples the shape: the box itself has the last word.
            if self._free.covers(box):
                turned = affinity.rotate(shapely.Point(x[best], y[best]), self.angle, origin=(0, 0))
                return Label(tuple(lines), size, (turned.x, turned.y), self.angle)
        return None

    def largest(self, wordings: Sequence[Sequence[Line]], sizes: Sequence[float]) -> Label | None:
        """The first size, largest first, at which one of the wordings fits."""
        x0, y0, x1, y1 = self._free.bounds
        units = [block_extent(lines, 1.0) for lines in wordings]
        for size in sizes:
            for lines, (width, height) in zip(wordings, units, strict=True):
                if width * size > x1 - x0 or height * size > y1 - y0:
                    continue
                label = self.place(lines, size)
                if label is not None:
                    return label
        return None


def long_axis(shape: Any) -> float:
    """Direction of the longer side of the smallest box around ``shape``, in degrees from -90 to 90."""
    box = shapely.minimum_rotated_rectangle(shape)
    if box.geom_type != "Polygon":
        return 0.0
    points = list(box.exterior.coords)
    sides = [(points[i + 1][0] - points[i][0], points[i + 1][1] - points[i][1]) for i in (0, 1)]
    dx, dy = max(sides, key=lambda side: math.hypot(*side))
    angle = math.degrees(math.atan2(dy, dx))
    if angle > 90.0:
        angle -= 180.0
    if angle <= -90.0:
        angle += 180.0
    return angle


class Space:
    """The free space of one shape at every angle worth trying; remembers what it has worked out."""

    def __init__(self, free: Any) -> None:
        self.free = free
        self._rooms: dict[float, Room] = {}
        self._angles: list[float] | None = None

    @property
    def angles(self) -> list[float]:
        """Level, upright, and along the shape if that is neither."""
        if self._angles is None:
            slant = long_axis(self.free)
            odd = min(abs(slant - a) for a in (-90.0, 0.0, 90.0)) > 8.0
            self._angles = [0.0, 90.0, slant] if odd else [0.0, 90.0]
        return self._angles

    def fit(
        self,
        wordings: Sequence[Sequence[Line]],
        sizes: Sequence[float],
        *,
        level_if_possible: bool = False,
    ) -> Label | None:
        """The largest label that fits, level if that costs little, else upright or along the shape.

        A turned label has to be a third larger to be preferred over a level one, and is not asked
        for where ``level_if_possible`` and any level one fits: lone figures read badly on their side.
        """
        if self.free.is_empty or self.free.area < 1.0:
            return None
        best: Label | None = None
        for angle in self.angles:
            if best is not None and level_if_possible:
                break
            larger = [s for s in sizes if best is None or s >= 1.3 * best.size]
            if not larger:
                continue
            if angle not in self._rooms:
                self._rooms[angle] = Room(self.free, angle)
            found = self._rooms[angle].largest(wordings, larger)
            if found is not None:
                best = found
        return best
