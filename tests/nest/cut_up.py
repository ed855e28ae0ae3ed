"""Rectangles cut up into pieces that fit each other exactly, so that the shortest strip is known."""

from __future__ import annotations

import numpy as np
from shapely.geometry import Polygon, box
from shapely.ops import unary_union

from marker.nest.problem import Kind, Problem, Variant
from tests.nest.polygons import Points, grid_outline

UNIT = 10_000
"""Lattice units of a step of the grid."""


def problem_of(pieces: list[Points], width: int, *, turn: bool = False) -> Problem:
    """Pieces on a strip ``width`` steps wide, each once, as they lie or also turned by 180°."""
    kinds = []
    for piece in pieces:
        variants = []
        for outline in (piece, -piece) if turn else (piece,):
            shape = (outline - outline.min(axis=0)) * UNIT
            x, y = shape.max(axis=0).tolist()
            variants.append(Variant(shape, 0, x, 0, width * UNIT - y))
        kinds.append(Kind(tuple(variants), 1, Polygon(variants[0].polygon).area))
    return Problem(tuple(kinds), width * UNIT)


def polyominoes(columns: int, rows: int, pieces: int, seed: int) -> list[Points]:
    """A rectangle of unit squares in pieces without holes, none of which touches itself at a corner."""
    rng = np.random.default_rng(seed)
    while True:
        cells = {(x, y) for x in range(columns) for y in range(rows)}
        starts = rng.permutation(sorted(cells))[:pieces]
        owner = {(int(x), int(y)): k for k, (x, y) in enumerate(starts)}
        while len(owner) < len(cells):
            x, y = sorted(owner)[rng.integers(len(owner))]
            u, v = ((1, 0), (0, 1), (-1, 0), (0, -1))[rng.integers(4)]
            if (x + u, y + v) in cells:
                owner.setdefault((x + u, y + v), owner[x, y])
        shapes = [
            unary_union([box(x, y, x + 1, y + 1) for (x, y), of in owner.items() if of == k])
            for k in range(pieces)
        ]
        if all(s.geom_type == "Polygon" and s.is_valid and not s.interiors for s in shapes):
            return [grid_outline(shape) for shape in shapes]


def puzzle(columns: int, rows: int, seed: int, side: int = 12) -> list[Points]:
    """A rectangle of squares whose common edges have tabs, straight ones and some that widen to the tip."""
    rng = np.random.default_rng(seed)

    def edge() -> list[tuple[int, int]]:
        """Along x from 0 to ``side``, with a tab up or down."""
        at, wide, out = rng.integers(3, 6), rng.integers(2, 4), rng.integers(2, 4) * rng.choice([-1, 1])
        flare = int(rng.integers(0, 2))
        tab = [(at, 0), (at - flare, out), (at + wide + flare, out), (at + wide, 0)]
        return [(0, 0), *((int(x), int(y)) for x, y in tab)]

    def straight() -> list[tuple[int, int]]:
        return [(0, 0)]

    across = [[edge() if 0 < r < rows else straight() for _ in range(columns)] for r in range(rows + 1)]
    along = [[edge() if 0 < c < columns else straight() for _ in range(rows)] for c in range(columns + 1)]

    def laid(
        points: list[tuple[int, int]], x: int, y: int, upright: bool, back: bool
    ) -> list[tuple[int, int]]:
        whole = [*points, (side, 0)]
        placed = [(x + v, y + u) if upright else (x + u, y + v) for u, v in whole]
        return placed[:0:-1] if back else placed[:-1]

    return [
        np.array(
            laid(across[r][c], c * side, r * side, False, False)
            + laid(along[c + 1][r], (c + 1) * side, r * side, True, False)
            + laid(across[r + 1][c], c * side, (r + 1) * side, False, True)
            + laid(along[c][r], c * side, r * side, True, True),
            dtype=np.int64,
        )
        for r in range(rows)
        for c in range(columns)
    ]
