"""Do shapes overlap? From their outlines alone: this judges no-fit polygons, so it uses none."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pyclipper
from numpy.typing import NDArray

from marker.nest import kernels

SKIN = 4
"""Lattice units taken off a shape all round before it is asked whether another reaches into what is left:
places on a no-fit polygon's outline are exact to a unit or two, where edges cross off the lattice."""


class Solid:
    """A polygon (int64[n, 2], simple, counter-clockwise), its box, and what its skin leaves of it."""

    def __init__(self, polygon: NDArray[np.int64]) -> None:
        self.outline = np.array(polygon, dtype=np.int64, order="C")
        self.low, self.high = self.outline.min(axis=0), self.outline.max(axis=0)
        offset = pyclipper.PyclipperOffset()
        offset.AddPath(self.outline.tolist(), pyclipper.JT_MITER, pyclipper.ET_CLOSEDPOLYGON)
        self.core = [np.array(part, dtype=np.int64, order="C") for part in offset.Execute(-SKIN)]


def any_overlap(solids: Sequence[Solid], position: NDArray[np.int64], movable: int) -> bool:
    """Whether any shape and one of the first ``movable`` overlap, deeper than the skin.

    ``position`` int64[n, 2]: where each of the n shapes lies.
    """
    # Few outlines lie there many times.
    kinds = {id(solid): solid for solid in solids}
    number = {key: k for k, key in enumerate(kinds)}
    which = np.array([number[id(solid)] for solid in solids], dtype=np.int64)
    low = position + np.array([solid.low for solid in kinds.values()]).reshape(-1, 2)[which]
    high = position + np.array([solid.high for solid in kinds.values()]).reshape(-1, 2)[which]
    close = (low[:movable, None] < high[None]).all(axis=2) & (low[None] < high[:movable, None]).all(axis=2)
    pairs = np.argwhere(np.triu(close, 1))
    moves = (position[pairs[:, 1]] - position[pairs[:, 0]]).tolist()
    for (i, j), (dx, dy) in zip(pairs.tolist(), moves, strict=True):
        other = solids[j].outline
        if any(kernels.interiors_meet(part, other, dx, dy) for part in solids[i].core):
            return True
    return False
