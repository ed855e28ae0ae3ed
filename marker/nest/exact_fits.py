"""Where one polygon fits another so exactly that its places are a line or a point, which no outline can show.

A line of such places (a slit) is a stretch on which two edges of the convolution run head on into each
other, each the end of an overlap that lies to its left. Single places are crossings on such a stretch, or
where two corners meet two others at once. Whether any other overlap is left there is asked of the two
polygons themselves, exactly.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from marker.nest import kernels

SHORTEST = 2.0
"""Lattice units that a slit must be long to be looked at."""

WITHIN = 1 << 28
"""How far the polygons may reach, in lattice units, for the kernel to be exact."""

_Int = NDArray[np.int64]


def exact_fits(
    fixed: _Int, moving: _Int, start: _Int, along: _Int, turned_back: NDArray[np.bool_]
) -> tuple[list[_Int], list[_Int]]:
    """Slits (int64[2, 2] each) and places (int64[2] each) at which ``moving`` just fits ``fixed``.

    ``start``, ``along`` int64[n, 2]: the edges of their convolution; ``turned_back`` bool[n]: those that are
    walked backwards, which are no end of an overlap. The places are free, but not all of them are single.
    Of polygons that reach too far none are found, and none shorter than some thousandths of a step on a line
    whose next point of the lattice is far off.
    """
    if _reach(fixed, moving) >= WITHIN:
        return [], []
    fixed, moving = np.array(fixed, order="C"), np.array(moving, order="C")
    slits: list[_Int] = []
    places = _repeated(start)
    for base, unit, stretches in _head_on(start, along, turned_back):
        cuts = _cuts(base, unit, start, along)
        for begin, end in stretches:
            ends = [begin, *cuts[(cuts > begin) & (cuts < end)].tolist(), end]
            free = [_slides(fixed, moving, base, unit, *part) for part in pairwise(ends)]
            slits += [
                base + np.rint(np.outer((ends[first], ends[last]), unit)).astype(np.int64)
                for first, last in _runs(free)
            ]
            beside = zip([False, *free], [*free, False], strict=True)
            lone = [cut for cut, sides in zip(ends, beside, strict=True) if not any(sides)]
            places += [base + np.rint(cut * unit).astype(np.int64) for cut in lone]
    return slits, [at for at in places if not kernels.interiors_meet(fixed, moving, at[0], at[1])]


def _reach(fixed: _Int, moving: _Int) -> int:
    return int(np.abs(fixed).max() + np.abs(moving).max())


def _repeated(points: _Int) -> list[_Int]:
    """Those that are there more than once, each of them once."""
    points = points[np.lexsort(points.T)]
    again = (points[1:] == points[:-1]).all(axis=1)
    again[1:] &= ~again[:-1]
    return list(points[1:][again])


def _head_on(
    start: _Int, along: _Int, turned_back: NDArray[np.bool_]
) -> Iterator[tuple[_Int, _Int, list[tuple[float, float]]]]:
    """Lines (base, unit) on which edges run head on into each other, and on which stretches.

    Places on a line are counted in steps of ``unit``, a vector of the lattice, from its ``base``.
    """
    forward = (along[:, 0] > 0) | ((along[:, 0] == 0) & (along[:, 1] > 0))
    step = along // np.gcd(along[:, 0], along[:, 1])[:, None]
    step[~forward] *= -1
    # The line an edge lies on: its direction, and its distance from the origin times that.
    line = np.column_stack((step, step[:, 0] * start[:, 1] - step[:, 1] * start[:, 0]))
    usable = np.nonzero(~turned_back)[0]
    order = usable[np.lexsort(line[usable].T)]
    of_line = np.concatenate(([0], np.cumsum((line[order][1:] != line[order][:-1]).any(axis=1))))
    both_ways = np.bincount(of_line, forward[order]) * np.bincount(of_line, ~forward[order])
    for number in np.nonzero(both_ways)[0]:
        group = order[of_line == number]
        base, unit = start[group[0]], step[group[0]]
        axis = 0 if unit[0] else 1
        one = (start[group, axis] - base[axis]) // unit[axis]
        other = one + along[group, axis] // unit[axis]
        low, high = np.minimum(one, other), np.maximum(one, other)
        stretches = []
        for begin, end in pairwise(np.unique(np.concatenate((low, high))).tolist()):
            here = forward[group][(low <= begin) & (high >= end)]
            if here.any() and not here.all():
                stretches.append((float(begin), float(end)))
        if stretches:
            yield base, unit, stretches


def _cuts(base: _Int, unit: _Int, start: _Int, along: _Int) -> NDArray[np.float64]:
    """Where edges end on a line or cross it, in steps of ``unit`` from its ``base``, in order.

    Only there can it change what overlaps.
    """
    here = start - base
    side = unit[0] * here[:, 1] - unit[1] * here[:, 0]
    turn = unit[0] * along[:, 1] - unit[1] * along[:, 0]
    crossing = (np.minimum(side, side + turn) <= 0) & (np.maximum(side, side + turn) >= 0) & (turn != 0)
    in_line = (side == 0) & (turn == 0)
    part = -side[crossing] / turn[crossing]
    points = np.concatenate(
        (here[crossing] + part[:, None] * along[crossing], here[in_line], here[in_line] + along[in_line])
    )
    return np.asarray(np.unique(points @ unit / float(unit @ unit)))


def _slides(fixed: _Int, moving: _Int, base: _Int, unit: _Int, low: float, high: float) -> bool:
    """Whether the moving polygon overlaps nothing in the middle and near both ends of a part of a line."""
    if (high - low) * np.hypot(*unit) < SHORTEST:
        return False
    # Places a half, a fourth, ... of a step apart are whole on a finer lattice: so fine that some lie within.
    finer = 1
    while (high - low) * finer < 4.0:
        finer *= 2
    if _reach(fixed, moving) * finer >= WITHIN:
        return False
    first, last = int(np.ceil(low * finer + 0.5)), int(np.floor(high * finer - 0.5))
    for place in sorted({first, (first + last) // 2, last}):
        x, y = (base * finer + place * unit).tolist()
        if kernels.interiors_meet(fixed * finer, moving * finer, x, y):
            return False
    return True


def _runs(free: list[bool]) -> list[tuple[int, int]]:
    """Where runs of free parts begin and end, as numbers of the cuts round them."""
    edges = [k for k, (a, b) in enumerate(pairwise([False, *free, False])) if a != b]
    return list(zip(edges[::2], edges[1::2], strict=True))
