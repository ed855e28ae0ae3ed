"""Shapes tied to lattices: the tables for the kernels, and which phases leave every kind a place.

A shape tied along an axis may lie at ``shift + k * period`` only, where its shift is its offset, plus or
minus the phase of its group. Its window lets it use some phases and not others: arcs on a circle of one
period. Kinds with several variants have a choice among arcs, of several groups perhaps.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from marker.nest.problem import Kind, Lattice, Problem

_Float = NDArray[np.float64]

Arcs = tuple[tuple[float, float], ...]
"""Disjoint stretches (from, to) of phases, in order, within 0 to the period."""

REACH = 0.49
"""How far outside its window a place may be before it is rounded."""


OFF = 1.0 + 1e-6
"""How far off its lattice a place may be: it is rounded."""


class NoLattice(ValueError):
    """No choice of phases leaves each of the ``kinds`` (indices) a place in the window of a variant."""

    def __init__(self, kinds: Sequence[int]) -> None:
        self.kinds = tuple(kinds)
        super().__init__(f"no phase leaves all of the kinds {list(self.kinds)} a place on their lattices")


@dataclass(frozen=True, eq=False)
class Ties:
    """Lattices as arrays; places are those of the tables, the low corners of boxes.

    ``row`` float64[variants, 8]: period (0: free), offset, sign and phase (its index, -1: none) along x,
    then the same across. Phases of x groups come first, ``along`` of them, then those of y groups;
    ``period`` float64[phases]. ``window`` and ``kinds`` (first variant, last + 1, of those that count)
    are what feasibility needs.
    """

    row: _Float
    period: _Float
    along: int
    window: _Float
    kinds: tuple[tuple[int, int, int], ...]

    @cached_property
    def anywhere(self) -> NDArray[np.bool_]:
        """For each phase whether any value leaves every kind a place on a strip that is long enough."""
        free = np.ones(len(self.period), dtype=np.bool_)
        for kind in self.kinds:
            for option in self._options(kind, np.inf):
                free[list(option)] = False
        return free

    def axis(self, phase: int) -> int:
        """0 for the phase of an x group, 1 for one of a y group."""
        return 0 if phase < self.along else 1

    def shifts(self, variant: NDArray[np.int64], axis: int, phase: _Float) -> tuple[_Float, _Float]:
        """Period and shift of each of the variants along an axis."""
        period, offset, sign, group = self.row[variant, 4 * axis : 4 * axis + 4].T
        chosen = np.append(phase, 0.0)[group.astype(np.int64)]
        return period, offset + sign * chosen

    def places(
        self, variant: NDArray[np.int64], axis: int, phase: _Float, at: _Float, low: _Float, high: _Float
    ) -> tuple[_Float, NDArray[np.bool_]]:
        """The place nearest to ``at`` in each window, and whether there is any (if not, the one past low)."""
        period, shift = self.shifts(variant, axis, phase)
        tied = period > 0
        step = np.where(tied, period, 1.0)
        first = np.ceil((low - REACH - shift) / step)
        last = np.floor((high + REACH - shift) / step)
        k = np.maximum(first, np.minimum(last, np.rint((at - shift) / step)))
        place = np.maximum(low, np.rint(shift + k * step))
        there = np.where(tied, first <= last, low <= high)
        place = np.where(there, np.minimum(place, high), place)
        return np.where(tied, place, np.maximum(low, np.minimum(at, high))), there

    def first_place(self, variant: int, phase: _Float, x: float, y: float) -> tuple[float, float]:
        """The first place of a variant that is neither before x nor below y."""
        found = []
        for axis, low in ((0, x), (1, y)):
            one = np.array([variant])
            period, shift = (float(each[0]) for each in self.shifts(one, axis, phase))
            k = np.ceil((low - REACH - shift) / period) if period > 0 else 0.0
            found.append(max(low, float(np.rint(shift + k * period))) if period > 0 else low)
        return found[0], found[1]

    def room(self, length: float, phase: _Float) -> NDArray[np.bool_]:
        """For each variant, whether there is a place for it on a strip of this length."""
        every = np.arange(len(self.row))
        low_x, back, low_y, high_y = self.window.T
        _, along = self.places(every, 0, phase, low_x, low_x, length - back)
        _, across = self.places(every, 1, phase, low_y, low_y, high_y)
        return along & across

    def hold(self, variant: NDArray[np.int64], phase: _Float, x: _Float, y: _Float) -> bool:
        """Whether all places are within one unit of their lattices."""
        for axis, place in ((0, x), (1, y)):
            period, shift = self.shifts(variant, axis, phase)
            tied = period > 0
            off = (place - shift)[tied] / period[tied]
            if (np.abs(off - np.rint(off)) * period[tied] > OFF).any():
                return False
        return True

    def phases(self, rng: np.random.Generator, length: float = np.inf) -> _Float | None:
        """Phases, at random, with which every kind has a place on a strip of this length; None: no such."""
        options = []
        for k in rng.permutation(len(self.kinds)):
            ways = self._options(self.kinds[k], length)
            options.append([ways[w] for w in rng.permutation(len(ways))])
        free = _choose(options, self._all())
        if free is None:
            return None
        return np.array([_pick(arcs, rng) for arcs in free])

    def check(self) -> None:
        """Raises NoLattice, naming as few kinds as will do, if no phases leave all of them a place."""
        options = [self._options(kind, np.inf) for kind in self.kinds]
        if _choose(options, self._all()) is not None:
            return
        needed = list(range(len(options)))
        for k in range(len(options)):
            fewer = [n for n in needed if n != k]
            if _choose([options[n] for n in fewer], self._all()) is None:
                needed = fewer
        raise NoLattice([self.kinds[n][0] for n in needed])

    def _all(self) -> list[Arcs]:
        return [((0.0, float(period)),) for period in self.period]

    def _options(self, kind: tuple[int, int, int], length: float) -> list[dict[int, Arcs]]:
        """For each variant with a window the arcs that it asks of phases; just {} if one asks nothing."""
        options: list[dict[int, Arcs]] = []
        for v in range(kind[1], kind[2]):
            x_lo, x_back, y_lo, y_hi = self.window[v]
            asked: dict[int, Arcs] | None = {}
            for axis, low, high in ((0, x_lo, length - x_back), (1, y_lo, y_hi)):
                period, offset, sign, group = self.row[v, 4 * axis : 4 * axis + 4]
                if period == 0.0:
                    possible = low <= high
                elif group < 0:
                    possible = np.ceil((low - REACH - offset) / period) * period + offset <= high + REACH
                else:
                    possible = low <= high
                    arc = sorted((sign * (low - REACH - offset), sign * (high + REACH - offset)))
                    if possible and asked is not None and arc[1] - arc[0] < period:
                        asked[int(group)] = _arc(arc[0], arc[1] - arc[0], period)
                if not possible:
                    asked = None
            if asked == {}:
                return [asked]
            if asked is not None:
                options.append(asked)
        # Variants that ask something of the same single phase are as good as one with all their arcs.
        merged: dict[int, Arcs] = {}
        rest = []
        for asked in options:
            if len(asked) == 1:
                (group, arcs), *_ = asked.items()
                merged[group] = _union(merged.get(group, ()), arcs)
            else:
                rest.append(asked)
        return [{group: arcs} for group, arcs in merged.items()] + rest


def ties_of(problem: Problem, window: _Float, corner: NDArray[np.int64]) -> Ties | None:
    """The lattices of a problem, None if nothing is tied. Raises ValueError for a lattice that is none.

    ``window`` and ``corner`` are those of the tables.
    """
    variants = [variant for kind in problem.kinds for variant in kind.variants]
    pairs = [(variant.x_lattice, variant.y_lattice) for variant in variants]
    if not any(lattice for pair in pairs for lattice in pair):
        return None
    count = [1 + max((pair[axis].group for pair in pairs if pair[axis]), default=-1) for axis in (0, 1)]  # type: ignore[union-attr]
    row = np.zeros((len(variants), 8))
    period = np.zeros(sum(count))
    for v, pair in enumerate(pairs):
        for axis, lattice in enumerate(pair):
            row[v, 4 * axis + 2 : 4 * axis + 4] = 1.0, -1.0
            if lattice is None:
                continue
            _validate(lattice)
            group = -1 if lattice.group < 0 else lattice.group + axis * count[0]
            row[v, 4 * axis : 4 * axis + 4] = (
                lattice.period, lattice.offset + corner[v, axis], lattice.sign, group,
            )  # fmt: skip
            if group >= 0:
                if period[group] not in (0.0, lattice.period):
                    raise ValueError(f"the lattices of group {lattice.group} have different periods")
                period[group] = lattice.period
    period[period == 0.0] = 1.0
    return Ties(row, period, count[0], window, tuple(_counting(problem.kinds)))


def _validate(lattice: Lattice) -> None:
    if not 1.0 <= lattice.period < np.inf or lattice.sign not in (1, -1):
        raise ValueError(f"no lattice: period {lattice.period}, sign {lattice.sign}")


def _counting(kinds: tuple[Kind, ...]) -> list[tuple[int, int, int]]:
    found, first = [], 0
    for k, kind in enumerate(kinds):
        if kind.count > 0:
            found.append((k, first, first + len(kind.variants)))
        first += len(kind.variants)
    return found


def _choose(kinds: list[list[dict[int, Arcs]]], free: list[Arcs]) -> list[Arcs] | None:
    """The arcs left to each phase when every kind has one of its options, the first that goes together."""
    if not kinds:
        return free
    # Kinds without a choice first: they may leave others none.
    kinds = sorted(kinds, key=len)
    for option in kinds[0]:
        left = list(free)
        for phase, arcs in option.items():
            left[phase] = _common(left[phase], arcs)
        if all(left):
            found = _choose(kinds[1:], left)
            if found is not None:
                return found
    return None


def _arc(start: float, width: float, period: float) -> Arcs:
    """The phases from start on, as far as ``width``, on a circle of one period."""
    start %= period
    if start + width <= period:
        return ((start, start + width),)
    return ((0.0, start + width - period), (start, period))


def _common(one: Arcs, two: Arcs) -> Arcs:
    both = ((max(a, c), min(b, d)) for a, b in one for c, d in two)
    return tuple(sorted((low, high) for low, high in both if low <= high))


def _union(one: Arcs, two: Arcs) -> Arcs:
    joined: list[tuple[float, float]] = []
    for low, high in sorted((*one, *two)):
        if joined and low <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(joined[-1][1], high))
        else:
            joined.append((low, high))
    return tuple(joined)


def _pick(arcs: Arcs, rng: np.random.Generator) -> float:
    """A phase anywhere on the arcs, each as likely, a whole one if there is one near."""
    at = rng.uniform(0.0, sum(high - low for low, high in arcs))
    for low, high in arcs:
        if at <= high - low:
            whole = np.rint(low + at)
            return float(whole) if low <= whole <= high else low + at
        at -= high - low
    return arcs[-1][1]
