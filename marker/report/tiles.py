"""A plane cut into sheets of paper that are stuck together again: which sheet shows what.

The plane is measured in millimetres, x to the right and y up. Sheets stand in rows from the top and
columns from the left: A1, A2, ... B1 and so on. Neighbours meet at a join and both show a strip of
half the overlap beyond it, so that crosses on the join are whole on either sheet.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Literal

PaperName = Literal["a4", "letter", "a0", "roll"]

LARGEST_PAGE = 14_400 / 72 * 25.4
"""Millimetres a page of a PDF file may measure: 14,400 units of 1/72 in (ISO 32000-1, annex C)."""

FOOT = 8.0
"""Millimetres at the foot of each sheet for its name and its scale."""


@dataclass(frozen=True)
class Paper:
    """A sheet as printers know it. ``margin`` is left blank all round: few printers reach the edge."""

    name: str
    width: float
    height: float
    margin: float
    overlap: float

    @property
    def turned(self) -> Paper:
        return Paper(self.name, self.height, self.width, self.margin, self.overlap)

    @property
    def room(self) -> tuple[float, float]:
        """Width and height of what one sheet can show, overlap and all."""
        return self.width - 2 * self.margin, self.height - 2 * self.margin - FOOT

    @property
    def step(self) -> tuple[float, float]:
        """How far it is from one sheet to the next."""
        return self.room[0] - self.overlap, self.room[1] - self.overlap


# ISO 216 (A4, A0) and ANSI/ASME Y14.1 (letter, 8 1/2 x 11 in). Margins: common practice, no source.
A4 = Paper("A4", 210.0, 297.0, 10.0, 10.0)
LETTER = Paper("Letter", 215.9, 279.4, 10.0, 10.0)
A0 = Paper("A0", 841.0, 1189.0, 10.0, 20.0)
PAPERS = {"a4": A4, "letter": LETTER, "a0": A0}


@dataclass(frozen=True)
class Tile:
    """One sheet. ``left``, ``bottom``, ``right``, ``top`` bound the part of the plane that is its own;
    it shows ``spill`` more on every side."""

    row: int
    column: int
    left: float
    bottom: float
    right: float
    top: float
    spill: float

    @property
    def label(self) -> str:
        return row_letters(self.row) + str(self.column + 1)

    @property
    def shown(self) -> tuple[float, float, float, float]:
        s = self.spill
        return self.left - s, self.bottom - s, self.right + s, self.top + s


@dataclass(frozen=True)
class Grid:
    """Where the joins are: ``xs`` from left to right, ``ys`` from the top down, ends included.

    ``first_row`` counts the rows of the grids before it, so that every sheet has a name of its own.
    """

    xs: tuple[float, ...]
    ys: tuple[float, ...]
    spill: float
    first_row: int = 0

    @property
    def rows(self) -> int:
        return len(self.ys) - 1

    @property
    def columns(self) -> int:
        return len(self.xs) - 1

    def tiles(self) -> list[Tile]:
        """All sheets, row by row."""
        return [
            Tile(self.first_row + row, column, left, bottom, right, top, self.spill)
            for row, (top, bottom) in enumerate(pairwise(self.ys))
            for column, (left, right) in enumerate(pairwise(self.xs))
        ]


def row_letters(row: int) -> str:
    """A to Z, then AA, AB and so on; rows count from 0."""
    letters = ""
    row += 1
    while row > 0:
        row, digit = divmod(row - 1, 26)
        letters = chr(ord("A") + digit) + letters
    return letters


def even_joins(start: float, end: float, step: float) -> list[float]:
    """Ends and joins of as few stretches as it takes, each ``step`` long but for the last."""
    count = max(1, math.ceil((end - start) / step - 1e-9))
    return [*(start + k * step for k in range(count)), end]


def grid_for(extent: tuple[float, float, float, float], paper: Paper) -> Grid:
    """The grid of sheets over ``extent`` (left, bottom, right, top)."""
    left, bottom, right, top = extent
    xs = even_joins(left, right, paper.step[0])
    ys = [-y for y in even_joins(-top, -bottom, paper.step[1])]
    return Grid(tuple(xs), tuple(ys), paper.overlap / 2)


def needed(grid: Grid, shapes: Sequence[object]) -> list[Tile]:
    """The sheets that any of the shapely ``shapes`` reaches into; the others would be blank.

    What lies beyond the outermost joins, as far as sheets show it, counts for the sheets beside them.
    """
    import shapely

    tree = shapely.STRtree(list(shapes))
    left, right, top, bottom = grid.xs[0], grid.xs[-1], grid.ys[0], grid.ys[-1]

    def own(tile: Tile) -> Any:
        s = tile.spill
        return shapely.box(
            tile.left - s * (tile.left == left),
            tile.bottom - s * (tile.bottom == bottom),
            tile.right + s * (tile.right == right),
            tile.top + s * (tile.top == top),
        )

    return [tile for tile in grid.tiles() if len(tree.query(own(tile), predicate="intersects"))]
