"""A workbench: the arrays on which one thread of the search works, and the kernels bound to them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from marker.nest import kernels
from marker.nest.budget import Meter
from marker.nest.landscape import Tables
from marker.nest.lattice import Ties
from marker.nest.overlap import any_overlap
from marker.nest.problem import Placing, Solution

DEEP = 1.0
"""Deepest overlap in lattice units that a layout may be certified with: rounding, no more."""

CHUNK = 4.0e4
"""Kernel work units between looks at the clock."""


MANY, TRIES = 40, 6
"""With more than so many shapes, each is tried at so many places of its landscape, with fewer at the least
alone: that is faster, but in a crowd the least node is seldom the place where a shape fits."""

LINKS = 96
"""Most pairs a shape that are remembered because they overlap or have a weight."""

RESTLESS = (1.2, 0.8, 0.95)
"""Least growth of the weight of a pair that overlaps, further growth of the worst pair, decay of others."""


@dataclass(frozen=True, eq=False)
class Layout:
    """Places of all shapes (overlapping or not) on a strip of ``length``; ``loss`` is their overlap.

    ``phase`` of each group of lattices, those along x first.
    """

    x: NDArray[np.float64]
    y: NDArray[np.float64]
    variant: NDArray[np.int64]
    length: int
    loss: float
    phase: NDArray[np.float64]


class Bench:
    """Shapes being moved about on a strip, by one thread."""

    def __init__(self, tables: Tables, seed: int) -> None:
        n = len(tables.kind)
        everything = n + len(tables.fixed_poly)
        self.tables = tables
        self.movable = n
        self.length = 0
        self.x = np.zeros(everything)
        self.y = np.zeros(everything)
        self.x[n:], self.y[n:] = tables.fixed_x, tables.fixed_y
        self.poly = np.zeros(everything, dtype=np.int64)
        self.poly[n:] = tables.fixed_poly
        self.variant = np.zeros(n, dtype=np.int64)
        most = min(everything, LINKS)
        self.links = np.zeros((n, 1 + most), dtype=np.int32)
        self.overlap = np.zeros((n, most), dtype=np.float32)
        self.weight = np.ones((n, most), dtype=np.float32)
        self.weights = np.ones(everything, dtype=np.float32)
        self.best_x = np.zeros(n)
        self.best_y = np.zeros(n)
        self.best_variant = np.zeros(n, dtype=np.int64)
        self.best_loss = 0.0
        self.phase = np.zeros(0 if tables.ties is None else len(tables.ties.period))
        self.best_phase = self.phase.copy()
        self.passes = 0
        self.work = np.zeros(4)
        self._charged = 0.0
        self.state = np.array([(2 * seed + 1) * 0x9E3779B97F4A7C15 % (1 << 64)], dtype=np.uint64)
        self._tries = TRIES if n > MANY else 1
        self._order = np.zeros(n, dtype=np.int64)
        self._spare = np.zeros(n)
        self._found = np.zeros((16, 4))
        self._near = np.zeros(kernels.NEAR, dtype=np.int64)
        self._planes = np.zeros((kernels.PLANES + 1, 4))
        self._at = np.zeros(2)
        self._land = np.zeros(0, dtype=np.float32)

    # -- places ------------------------------------------------------------------------------------

    def put(self, i: int, v: int, x: float, y: float) -> None:
        """Lays shape i as variant v at x, y."""
        self.x[i], self.y[i] = x, y
        self.variant[i] = v
        self.poly[i] = self.tables.variant_poly[v]

    def load(self, layout: Layout) -> None:
        """Takes over a layout's places."""
        n = self.movable
        self.x[:n], self.y[:n], self.variant[:] = layout.x, layout.y, layout.variant
        self.poly[:n] = self.tables.variant_poly[layout.variant]
        self.phase[:] = layout.phase
        self.length = layout.length

    def layout(self, loss: float = 0.0) -> Layout:
        """A copy of the present places."""
        n = self.movable
        return Layout(
            self.x[:n].copy(), self.y[:n].copy(), self.variant.copy(), self.length, loss, self.phase.copy()
        )

    def best_layout(self) -> Layout:
        """A copy of the places of least overlap that the last separation went through."""
        return Layout(
            self.best_x.copy(), self.best_y.copy(), self.best_variant.copy(), self.length, self.best_loss,
            self.best_phase.copy(),
        )  # fmt: skip

    def clamp(self) -> None:
        """Brings every shape back into its window at the present length, and onto its lattices."""
        n = self.movable
        if self.tables.ties is not None:
            self._clamp_tied(self.tables.ties)
            return
        window = self.tables.window[self.variant]
        self.x[:n] = np.maximum(window[:, 0], np.minimum(self.x[:n], self.length - window[:, 1]))
        self.y[:n] = np.maximum(window[:, 2], np.minimum(self.y[:n], window[:, 3]))

    def _clamp_tied(self, ties: Ties) -> None:
        n = self.movable
        room = ties.room(self.length, self.phase)
        for i in np.flatnonzero(~room[self.variant]):
            kind = self.tables.kind[i]
            first, last = self.tables.first_variant[kind], self.tables.first_variant[kind + 1]
            others = np.flatnonzero(room[first:last])
            if len(others):
                self.put(int(i), int(first + others[0]), self.x[i], self.y[i])
        window = self.tables.window[self.variant]
        for axis, place, high in ((0, self.x, self.length - window[:, 1]), (1, self.y, window[:, 3])):
            low = window[:, 2 * axis]
            place[:n], _ = ties.places(self.variant, axis, self.phase, place[:n], low, high)

    def set_phase(self, phase: NDArray[np.float64]) -> None:
        """Changes the phases; the shapes move with them."""
        ties = self.tables.ties
        if ties is None:
            return
        n = self.movable
        for axis, place in ((0, self.x), (1, self.y)):
            period, before = ties.shifts(self.variant, axis, self.phase)
            _, after = ties.shifts(self.variant, axis, phase)
            by = after - before
            # The shorter way round.
            place[:n] += by - period * np.rint(by / np.where(period > 0, period, 1.0))
        self.phase[:] = phase % ties.period
        self.clamp()

    def fits(self, length: int) -> bool:
        """Whether each kind has a variant with room on a strip of this length."""
        tables = self.tables
        if tables.ties is not None:
            tied_room = tables.ties.room(length, self.phase)
            return bool(np.logical_or.reduceat(tied_room, tables.first_variant[:-1]).all())
        room = (tables.window[:, 0] + tables.window[:, 1] <= length) & (
            tables.window[:, 2] <= tables.window[:, 3]
        )
        return bool(np.logical_or.reduceat(room, tables.first_variant[:-1]).all()) if len(room) else True

    def certify(self) -> bool:
        """Whether all shapes are in their windows and none overlap by more than ``DEEP``, from all edges.

        And, not quite so closely, from the outlines alone: no-fit polygons could be wrong themselves.
        """
        n = self.movable
        window = self.tables.window[self.variant]
        inside = (
            (self.x[:n] >= window[:, 0]).all()
            and (self.x[:n] <= self.length - window[:, 1]).all()
            and (self.y[:n] >= window[:, 2]).all()
            and (self.y[:n] <= window[:, 3]).all()
        )
        t = self.tables
        if t.ties is not None:
            inside &= t.ties.hold(self.variant, self.phase, self.x[:n], self.y[:n])
        worst = kernels.deepest_of_all(
            self.x, self.y, self.poly, n, t.polys, t.pf, t.group, t.span, t.edges, self.work
        )
        if not inside or worst > DEEP:
            return False
        position = np.column_stack((self.x, self.y)).astype(np.int64)
        return not any_overlap([t.solids[k] for k in self.poly], position, n)

    def solution(self) -> Solution:
        """The present places as a solution."""
        kinds = self.tables.kind
        first = self.tables.first_variant[kinds]
        corner = self.tables.corner[self.variant]
        placings = tuple(
            Placing(
                int(kinds[i]),
                int(self.variant[i] - first[i]),
                int(self.x[i]) - int(corner[i, 0]),
                int(self.y[i]) - int(corner[i, 1]),
            )
            for i in range(self.movable)
        )
        along = 0 if self.tables.ties is None else self.tables.ties.along
        phases = tuple(self.phase.tolist())
        return Solution(self.length, placings, phases[:along], phases[along:])

    def take(self, solution: Solution) -> None:
        """Takes over a solution's places."""
        order = np.argsort([placing.kind for placing in solution.placings], kind="stable")
        for i, k in enumerate(order):
            placing = solution.placings[int(k)]
            v = int(self.tables.first_variant[placing.kind]) + placing.variant
            corner = self.tables.corner[v]
            self.put(i, v, placing.x + corner[0], placing.y + corner[1])
        self.length = solution.length
        phases = (*solution.x_phases, *solution.y_phases)
        if len(phases) == len(self.phase):
            self.phase[:] = phases

    # -- kernels -----------------------------------------------------------------------------------

    def construct(self, order: NDArray[np.int64], unset: NDArray[np.bool_] | None = None) -> int:
        """Lays the shapes one after the other, in this order; returns the length used.

        Phases of lattices that are ``unset`` bool[phases] are chosen on the way.
        """
        t = self.tables
        self.x[: self.movable] = -float(1 << 40)
        construct: Any = kernels.construct
        tied: tuple[Any, ...] = ()
        if t.ties is not None:
            open_ones = np.zeros(len(self.phase), dtype=np.bool_) if unset is None else unset.copy()
            construct, tied = kernels.construct_tied, (t.ties.row, self.phase, open_ones)
        length = construct(
            order, t.begin, t.kind, t.first_variant, t.window, t.variant_poly, t.box,
            t.polys, t.pitch, t.cell, t.pf, t.pi, t.first, t.near, t.edges, t.raster,
            self.x, self.y, self.poly, self.variant, self.weights, self._found, self._near, self._planes,
            self._at, self.work, *tied,
        )  # fmt: skip
        self.length = math.ceil(length)
        return self.length

    def measure(self) -> float:
        """Sum of all overlaps; lists the pairs that overlap anew, with weights of 1."""
        t = self.tables
        return float(
            kernels.update_all(
                self.movable, t.polys, t.cell, t.pf, t.pi, t.first, t.near, t.edges,
                self.x, self.y, self.poly, self.links, self.overlap, self.weight, self.work,
            )
        )  # fmt: skip

    def separate(self, meter: Meter, patience: int) -> bool:
        """Moves shapes until none overlap; False when ``patience`` passes bring nothing or budget ends."""
        t = self.tables
        self._reserve()
        self.measure()
        control = np.array([0.0, 0.0, 0.0, 0.0, 0.0, 0.0, *RESTLESS])
        tied: tuple[Any, ...] = (1,)
        if t.ties is not None:
            tied = (None, t.ties.row, t.ties.period, t.ties.along, self.phase, self.best_phase, self._spare)
        while True:
            status = kernels.separate(
                self.length, self.tables.sight, patience, self.work[0] + CHUNK, control,
                self._order, self.state, self._tries,
                t.kind, t.first_variant, t.window, t.variant_poly,
                t.polys, t.pitch, t.cell, t.pf, t.pi, t.first, t.near, t.edges, t.raster,
                self.x, self.y, self.poly, self.variant, self.weights,
                self.links, self.overlap, self.weight, self.best_x, self.best_y, self.best_variant,
                self._land, self._found, self._near, self._planes, self._at, self.work, *tied,
            )  # fmt: skip
            # What was done since the last time counts too: building, measuring, certifying.
            meter.spend(self.work[0] - self._charged)
            self._charged = self.work[0]
            self.best_loss = float(control[2])
            self.passes = int(control[4])
            if status == 1:
                return True
            if status == 2 or meter.over():
                return False

    def _reserve(self) -> None:
        t = self.tables
        columns = np.maximum(0.0, self.length - t.window[:, 1] - t.window[:, 0]) / t.pitch
        columns += 3 + 2 * kernels.BLOCK
        rows = np.maximum(0.0, t.window[:, 3] - t.window[:, 2]) / t.pitch + 5
        need = int((columns * rows).max(initial=1.0)) + 1
        if need > len(self._land):
            self._land = np.zeros(need + need // 4, dtype=np.float32)
