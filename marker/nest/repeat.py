"""Large jobs made of many equal ones: a small layout, repeated along the strip.

Where all counts have a common divisor, a share of the shapes is laid well in much less time than all of
them, and copies of that layout side by side are a better start than any built shape by shape.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import reduce

import numpy as np

from marker.nest.landscape import Tables
from marker.nest.problem import Placing, Problem, Solution

LARGE = 120
"""Shapes from which on a job is looked at as a repetition."""

UNIT = 80
"""Most shapes of the part that is laid and repeated, where the counts allow it."""


def part(problem: Problem) -> tuple[Problem, int] | None:
    """The part of a problem to lay and repeat, and how many times; None if it is no repetition.

    Obstacles do not repeat, and copies slid together leave their lattice: problems with any are left alone.
    """
    counts = [kind.count for kind in problem.kinds if kind.count]
    if problem.total < LARGE or problem.obstacles or problem.tied:
        return None
    times = reduce(math.gcd, counts)
    if times < 2:
        return None
    least = problem.total // times
    sizes = [d for d in range(1, times) if times % d == 0 and (d == 1 or d * least <= UNIT)]
    times //= sizes[-1]
    kinds = tuple(replace(kind, count=kind.count // times) for kind in problem.kinds)
    return replace(problem, kinds=kinds), times


def repeated(tables: Tables, unit: Solution, times: int) -> Solution:
    """Copies of a layout one behind the other, slid together as far as the first two go.

    ``tables`` are those of the unit's problem or of any with the same kinds.
    """
    step = _step(tables, unit)
    placings = tuple(
        replace(placing, x=placing.x + k * step) for placing in _by_kind(unit) for k in range(times)
    )
    return replace(unit, length=unit.length + (times - 1) * step, placings=placings)


def _by_kind(unit: Solution) -> list[Placing]:
    return sorted(unit.placings, key=lambda placing: placing.kind)


def _step(tables: Tables, unit: Solution) -> int:
    """The least distance at which every shape of a copy lies wholly behind every one of the copy before it.

    Behind means: to the right of the no-fit polygon at its own height. So later copies are clear as well.
    """
    v = np.array([tables.first_variant[p.kind] + p.variant for p in unit.placings])
    x = np.array([p.x for p in unit.placings]) + tables.corner[v, 0]
    y = np.array([p.y for p in unit.placings]) + tables.corner[v, 1]
    poly = tables.variant_poly[v]
    # The shapes may not be pushed out of their windows either, and copies must advance.
    step = 1.0
    for i in range(len(v)):
        for j in range(len(v)):
            far = _right_end(tables, int(poly[i]) * tables.polys + int(poly[j]), float(y[j] - y[i]))
            step = max(step, far + x[i] - x[j])
    return math.ceil(step)


def _right_end(tables: Tables, row: int, dy: float) -> float:
    """The greatest distance along the strip at which a polygon dy higher than another overlaps it."""
    f = tables.pf[row]
    if dy <= f[2] or dy >= f[3]:
        return -math.inf
    g = tables.group[row]
    edges = tables.edges[tables.span[g] : tables.span[g + 1]]
    at = f[5] * dy + f[7]
    ends = [-math.inf]
    # Along a slide the height is that of an edge: look a little above and below.
    for height in (at - 0.5, at + 0.5):
        start, rise = edges[:, 1], edges[:, 3]
        crossing = (start > height) != (start + rise > height)
        across = edges[crossing, 0] + (height - start[crossing]) / rise[crossing] * edges[crossing, 2]
        if len(across):
            ends.append(float((f[4] * (across - f[6])).max()))
    return max(ends)
