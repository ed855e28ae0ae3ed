"""The placing problem: shapes with allowed places on a strip of fixed width and free length.

Nothing here knows about cloth. Coordinates are integers on a lattice; the caller chooses the scale
(cloth uses 1000 units a millimetre). Absolute coordinates stay below 2**30.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

LIMIT = 1 << 30
"""No coordinate of a problem may reach this: products of two must fit 64 bits with room to spare."""


@dataclass(frozen=True)
class Lattice:
    """Places along one axis a period apart: ``offset + sign * phase + k * period``, k whole, rounded.

    ``phase`` (0 to ``period``) is chosen by the search and shared by all variants of the same ``group``;
    group -1 has phase 0. Groups are numbered from 0 for each axis on its own; all lattices of a group have
    the same period. ``sign`` is 1 or -1. Lattice units, not necessarily whole ones.
    """

    period: float
    offset: float
    sign: int = 1
    group: int = -1


@dataclass(frozen=True, eq=False)
class Variant:
    """One allowed way to lay a shape: a fixed orientation and the window its reference point may be in.

    ``polygon`` is int64[n, 2], counter-clockwise, simple, relative to the reference point: what must not
    overlap. The reference point (x, y) of a placed variant obeys ``x_lo <= x <= length - x_back`` and
    ``y_lo <= y <= y_hi``; the window may be narrower or wider than the polygon's own box would ask (a
    gap kept between shapes but not to the edge; a shape tied to a line has ``y_lo == y_hi``). With a lattice,
    the reference point lies on it as well.
    """

    polygon: NDArray[np.int64]
    x_lo: int
    x_back: int
    y_lo: int
    y_hi: int
    x_lattice: Lattice | None = None
    y_lattice: Lattice | None = None


@dataclass(frozen=True, eq=False)
class Kind:
    """A shape to be placed ``count`` times, each time as any one of its ``variants``.

    ``area`` is the area that counts for density, in square lattice units (the polygon may be larger:
    a gap may be built into it).
    """

    variants: tuple[Variant, ...]
    count: int
    area: float


@dataclass(frozen=True, eq=False)
class Problem:
    """Kinds to place on a strip of ``width``; ``obstacles`` (int64[n, 2], counter-clockwise) stay put.

    The strip lies between ``low`` and ``low`` + ``width`` across; the windows say where on it.
    """

    kinds: tuple[Kind, ...]
    width: int
    obstacles: tuple[NDArray[np.int64], ...] = ()
    low: int = 0

    @cached_property
    def total(self) -> int:
        """How many shapes are to be placed."""
        return sum(kind.count for kind in self.kinds)

    @cached_property
    def tied(self) -> bool:
        """Whether any shape is tied to a lattice."""
        return any(v.x_lattice or v.y_lattice for kind in self.kinds for v in kind.variants)

    @cached_property
    def area(self) -> float:
        """Area of all shapes, square lattice units."""
        return float(sum(kind.area * kind.count for kind in self.kinds))


@dataclass(frozen=True)
class Placing:
    """Where one shape lies: kind and variant by index, reference point in lattice units."""

    kind: int
    variant: int
    x: int
    y: int


@dataclass(frozen=True)
class Solution:
    """A layout without overlap: every kind placed as often as it counts, within ``length``."""

    length: int
    placings: tuple[Placing, ...]
    x_phases: tuple[float, ...] = ()
    y_phases: tuple[float, ...] = ()
