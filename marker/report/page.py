"""How a spread cloth goes on paper: page, scale, and the rows that a long cloth is wrapped into.

Paper coordinates are millimetres from the lower left corner of the page.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from marker.model.layout import MaterialLayout
from marker.report.ground import Stretch, span, stretches

PAGES = ((297.0, 210.0), (420.0, 297.0), (594.0, 420.0), (841.0, 594.0))
"""A4 to A1, landscape (ISO 216): all of one shape, so any of them prints on A4 without loss of form."""

MOST_ROWS = 8
LARGEST_SCALE = 1 / 3
COMFORTABLE_SCALE = 1 / 7
SMALLEST_SCALE = 1 / 14
"""The next larger page is taken when the cloth would be drawn smaller than this."""

EDGE = 8.0
TITLE = 20.0
LEFT = 15.0
RIGHT = 7.0
WORDS = 4.4
RULER = 7.5
ROW_GAP = 3.0
SIDE_KEY = 62.0
"""Millimetres of paper around the cloth: page edge, heading, ruler and words beside each row."""


@dataclass(frozen=True)
class Row:
    """A stretch of the length from ``start`` to ``end`` (cloth millimetres), drawn with its lower left
    corner at ``left``, ``bottom`` on paper. ``height`` is the width of the cloth there."""

    start: float
    end: float
    height: float
    left: float
    bottom: float
    scale: float

    def x(self, along: float) -> float:
        return self.left + (along - self.start) * self.scale

    def y(self, across: float) -> float:
        return self.bottom + across * self.scale

    def at(self, point: tuple[float, float]) -> tuple[float, float]:
        return self.x(point[0]), self.y(point[1])

    @property
    def right(self) -> float:
        return self.x(self.end)

    @property
    def top(self) -> float:
        return self.y(self.height)


@dataclass(frozen=True)
class Sheet:
    """A page with its rows, top row first. ``grow`` is how much larger type is set than on A4.

    The key stands in the box ``key`` (left, bottom, width, height), beside or below the cloth.
    """

    width: float
    height: float
    scale: float
    grow: float
    rows: tuple[Row, ...]
    key: tuple[float, float, float, float]
    beside: bool


def plan_sheet(material: MaterialLayout, inner_words: float, key_below: float, key_beside: float) -> Sheet:
    """The smallest page on which the cloth is drawn large enough, at the largest scale it allows.

    ``inner_words`` is the room needed right of the cloth for words at edges inside it, ``key_below``
    and ``key_beside`` the heights the key takes across the page or in a column, all in millimetres
    on A4.
    """
    best: tuple[float, Sheet] | None = None
    divisions = [breaks(material, count) for count in range(1, MOST_ROWS + 1)]
    for page in PAGES:
        for sheet in _on_page(material, divisions, page, inner_words, key_below, key_beside):
            merit = _merit(sheet)
            if best is None or merit > 1.001 * best[0]:
                best = merit, sheet
        if best is not None and best[1].scale >= SMALLEST_SCALE:
            break
    assert best is not None
    return best[1]


def _merit(sheet: Sheet) -> float:
    """How well a sheet reads: its scale, of which there is enough at some point, less what wrapping costs."""
    enough = min(sheet.scale, COMFORTABLE_SCALE) + 0.1 * sheet.scale
    return enough / sheet.grow * (0.8 if len(sheet.rows) > 1 else 1.0)


def _on_page(
    material: MaterialLayout,
    divisions: list[list[float]],
    page: tuple[float, float],
    inner_words: float,
    key_below: float,
    key_beside: float,
) -> list[Sheet]:
    grow = (page[0] / PAGES[0][0]) ** 0.5
    left = (EDGE + LEFT) * grow
    wide = page[0] - left - (EDGE + max(RIGHT, inner_words)) * grow
    high = page[1] - (2 * EDGE + TITLE) * grow
    around = (2 * WORDS + RULER) * grow
    sheets = []
    for beside in (False, True):
        room_x = wide - (SIDE_KEY * grow if beside else 0.0)
        room_y = high - (0.0 if beside else key_below * grow)
        if beside and key_beside * grow > room_y:
            continue
        for count, cuts in enumerate(divisions, start=1):
            parts = [(a, b, _height(material, a, b)) for a, b in pairwise(cuts)]
            longest = max(b - a for a, b, _ in parts)
            tall = sum(height for _, _, height in parts)
            free = room_y - count * around - (count - 1) * ROW_GAP * grow
            if free <= 0 or longest <= 0:
                continue
            scale = min(room_x / longest, free / tall, LARGEST_SCALE)
            rows, top = [], page[1] - (EDGE + TITLE) * grow
            for a, b, height in parts:
                bottom = top - WORDS * grow - height * scale
                rows.append(Row(a, b, height, left, bottom, scale))
                top = bottom - (WORDS + RULER + ROW_GAP) * grow
            if beside:
                at = page[0] - (EDGE + SIDE_KEY - 4.0) * grow
                key = (at, EDGE * grow, (SIDE_KEY - 4.0) * grow, room_y)
            else:
                key = (EDGE * grow, top - key_below * grow, page[0] - 2 * EDGE * grow, key_below * grow)
            sheets.append(_cropped(Sheet(*page, scale, grow, tuple(rows), key, beside), key_beside))
    return sheets


def _cropped(sheet: Sheet, key_beside: float) -> Sheet:
    """A page larger than A4 without the empty paper at its foot."""
    foot = sheet.rows[-1].bottom - (WORDS + RULER) * sheet.grow
    left, bottom, width, height = sheet.key
    foot = min(foot, bottom + height - key_beside * sheet.grow if sheet.beside else bottom)
    spare = foot - EDGE * sheet.grow
    if sheet.width <= PAGES[0][0] or spare <= 0:
        return sheet
    rows = tuple(replace(row, bottom=row.bottom - spare) for row in sheet.rows)
    top = bottom + height - spare
    key = (left, EDGE * sheet.grow, width, top - EDGE * sheet.grow)
    return replace(sheet, height=sheet.height - spare, rows=rows, key=key)


def breaks(material: MaterialLayout, count: int) -> list[float]:
    """Where the length is cut into ``count`` rows: the ends, and between them the places near even
    division that the fewest pieces cross."""
    begin, end = span(material)
    step = (end - begin) / count
    lows = np.array([min(x for x, _ in p.outline) for p in material.placements])
    highs = np.array([max(x for x, _ in p.outline) for p in material.placements])
    starts = [s.start for s in stretches(material)]
    inner = []
    for k in range(1, count):
        target = begin + k * step
        near = [target + 0.08 * step * i / 20 for i in range(-20, 21)]
        near += [x for x in starts if abs(x - target) < 0.2 * step]

        def badness(x: float, target: float = target) -> tuple[int, int, float]:
            crossed = int(np.count_nonzero((lows + 0.5 < x) & (x < highs - 0.5)))
            return crossed, round(abs(x - target)), x

        inner.append(min(near, key=badness))
    return [begin, *inner, end]


def _height(material: MaterialLayout, start: float, end: float) -> float:
    shown = [s for s in stretches(material) if s.start < end - 1e-6 and s.end > start + 1e-6]
    return max(s.high.y for s in shown or stretches(material))


def shown_stretches(material: MaterialLayout, row: Row) -> list[Stretch]:
    """The stretches of the spread that a row shows, at least in part."""
    return [s for s in stretches(material) if s.start < row.end - 1e-6 and s.end > row.start + 1e-6]
