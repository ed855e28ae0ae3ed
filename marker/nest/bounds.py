"""Lengths below which no layout can exist.

Cut the strip across anywhere: what the cut takes from the shapes are disjoint stretches, so their lengths
together are at most the height of the strip. That stays true of the lengths seen through a *dual feasible
function* f, one whose values sum to at most 1 wherever its arguments do (Fekete & Schepers 2001): f may,
for instance, count everything longer than half the height as the whole height. Summed along the strip, f
over all cuts through a shape is the length of strip that the shape uses up. f = identity is the bound by
area; other f see that wide shapes cannot lie side by side.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from math import ceil

import numpy as np
import pyclipper
from numpy.typing import NDArray

from marker.nest.problem import LIMIT, Kind, Problem, Variant

THRESHOLDS = 40
"""About so many lengths of cuts are tried as the limit between long and short."""

STEPS = 8
"""Step functions of up to so many steps are tried."""

CORRIDORS = 60
"""So many stretches across the strip are looked at by themselves, at most."""

_Float = NDArray[np.float64]


def lower_bound(problem: Problem) -> int:
    """A length, in lattice units, below which no layout without overlap exists; 0 for no shapes.

    The largest of: the longest shape; the true areas (``Kind.area``) over the width; and cuts across the
    polygons seen through dual feasible functions. The latter two for all shapes together, and for those by
    themselves that are kept to a part of the width. A strip that is wider, with windows as much wider,
    never has a longer bound. Kinds that fit nowhere are left out.
    """
    kinds = [_Shape.of(kind) for kind in problem.kinds if kind.count > 0 and _open(kind)]
    if not kinds:
        return 0
    best = float(max(min(v.x_lo + v.x_back for v in shape.open) for shape in kinds))
    limits = _limits(problem)
    used_at: dict[int, _Float] = {}
    for low, high in _corridors(kinds):
        if high - low not in used_at:
            used_at[high - low] = _used(kinds, limits, float(high - low))
        inside = [k for k, shape in enumerate(kinds) if low <= shape.low and shape.high <= high]
        amounts = used_at[high - low][:, inside].sum(axis=1)
        best = max(best, _corridor_bound(problem, [kinds[k] for k in inside], amounts, low, high, limits))
    return ceil(best - 1e-6 - 1e-9 * best)


@dataclass(frozen=True, eq=False)
class _Shape:
    """A kind and how far across the strip it can reach (its polygon, at any window)."""

    kind: Kind
    open: tuple[Variant, ...]
    low: int
    high: int

    @property
    def area(self) -> float:
        """Of the smallest of the polygons."""
        return min(_area_of(_profile_of(variant)) for variant in self.open)

    @classmethod
    def of(cls, kind: Kind) -> _Shape:
        variants = _open(kind)
        return cls(
            kind,
            variants,
            min(v.y_lo + int(v.polygon[:, 1].min()) for v in variants),
            max(v.y_hi + int(v.polygon[:, 1].max()) for v in variants),
        )


def _open(kind: Kind) -> tuple[Variant, ...]:
    """The variants that have a window."""
    return tuple(v for v in kind.variants if v.y_lo <= v.y_hi)


def _corridors(shapes: list[_Shape]) -> list[tuple[int, int]]:
    """Stretches (low, high) across the strip: all of it, and those that some shapes are kept to."""
    found: dict[frozenset[int], tuple[int, int]] = {}
    lows, highs = {shape.low for shape in shapes}, {shape.high for shape in shapes}
    pairs = [(low, high) for low in lows for high in highs if low < high]
    if len(pairs) > CORRIDORS:
        pairs = [(shape.low, shape.high) for shape in shapes[: CORRIDORS - 1]] + [(min(lows), max(highs))]
    for low, high in pairs:
        inside = frozenset(k for k, s in enumerate(shapes) if low <= s.low and s.high <= high)
        if inside:
            found[inside] = (min(shapes[k].low for k in inside), max(shapes[k].high for k in inside))
    return list(found.values())


def _corridor_bound(
    problem: Problem, shapes: list[_Shape], amounts: _Float, low: int, high: int, limits: _Float
) -> float:
    """The bound for shapes whose polygons stay between low and high and use up ``amounts`` of strip."""
    # Polygons may reach over the ends of the strip, true shapes may not.
    start = min(v.x_lo + int(v.polygon[:, 0].min()) for shape in shapes for v in shape.open)
    over = max(int(v.polygon[:, 0].max()) - v.x_back for shape in shapes for v in shape.open)
    obstacles = _obstacle_slabs(problem, low, high)
    best = float(_end(start, amounts, obstacles, limits, STEPS, float(high - low)).max()) - over
    true_low, true_high = max(low, problem.low), min(high, problem.low + problem.width)
    if true_low < true_high:
        area = sum(shape.kind.count * min(shape.kind.area, shape.area) for shape in shapes)
        amount = np.array([area / (true_high - true_low)])
        clipped = _obstacle_slabs(problem, true_low, true_high)
        end = _end(max(start, 0), amount, clipped, np.zeros(1), 0, float(true_high - true_low))
        best = max(best, float(end[0]) - min(over, 0))
    return best


def _used(shapes: list[_Shape], limits: _Float, height: float) -> _Float:
    """Length of strip that all copies of each shape use up, by each function: float64[functions, shapes]."""
    profiles = [list({p.tobytes(): p for p in map(_profile_of, shape.open)}.values()) for shape in shapes]
    flat = [profile for of_shape in profiles for profile in of_shape]
    amounts = _spent(np.concatenate(flat), limits, STEPS, height)
    starts = np.cumsum([0] + [len(profile) for profile in flat[:-1]])
    of_profiles = np.add.reduceat(amounts, starts, axis=1)
    first = np.cumsum([0] + [len(of_shape) for of_shape in profiles[:-1]])
    least = np.minimum.reduceat(of_profiles, first, axis=1)
    return least * np.array([shape.kind.count for shape in shapes])


def _spent(slabs: _Float, limits: _Float, steps: int, height: float) -> _Float:
    """Length of strip that slabs use up, by dual feasible functions: float64[len(limits) + steps, slabs].

    ``slabs`` has rows (width, shorter and longer cut). For each of ``limits``, cuts longer than the height
    less the limit count as the height, cuts shorter than the limit as nothing. (A limit above half the
    height is taken with a height of twice the limit, a taller strip, so that nothing counts as more than
    it is.) Then, for 1 to ``steps`` steps, cuts are rounded: j of steps + 1 equal parts of the height
    count as j of steps, whole parts as themselves.
    """
    width, a, b = slabs.T
    rise = b - a
    slanting = rise > 0.5
    divisor = np.where(slanting, rise, 1.0)

    limit = limits[:, None]
    taller = np.maximum(height, 2 * limit)
    long = taller - limit

    def up_to(cut: _Float) -> _Float:
        middle = np.clip(cut, limit, long)
        return (middle**2 - limit**2) / (2 * taller) + np.maximum(cut - long, 0)

    level = np.where(a > long, 1.0, np.where(a >= limit, a / taller, 0.0))
    by_limit = np.where(slanting, (up_to(b) - up_to(a)) / divisor, level)

    step = np.arange(1, steps + 1)[:, None]
    part = height / (step + 1)

    def rounded_up_to(cut: _Float) -> _Float:
        whole = np.floor(cut / part)
        return (part * whole * (whole - 1) / 2 + (cut - whole * part) * whole) / step

    exact = np.abs(a / part - np.rint(a / part)) < 1e-9
    level = np.where(exact, a / height, np.floor(a / part) / step)
    by_steps = np.where(slanting, (rounded_up_to(b) - rounded_up_to(a)) / divisor, level)
    return width * np.concatenate((by_limit, by_steps))


def _end(
    start: float, amounts: _Float, obstacles: _Float, limits: _Float, steps: int, height: float
) -> _Float:
    """Where strip from ``start`` on, but for what obstacles use up of it, comes to each of the amounts."""
    ends = start + amounts
    for _ in range(50 if len(obstacles) else 0):
        # What is used up to here is used up to the end: each step stays below it.
        taken = [
            _spent(_between(obstacles, start, end), limits, steps, height)[k].sum()
            for k, end in enumerate(ends.tolist())
        ]
        further = start + amounts + np.array(taken)
        if (further <= ends).all():
            break
        ends = np.maximum(ends, further)
    return ends


def _limits(problem: Problem) -> _Float:
    """Lengths of cuts worth trying as limits; the same for any width of the strip."""
    profiles = [_profile_of(variant) for kind in problem.kinds for variant in kind.variants]
    cuts = np.unique(np.concatenate([profile[:, 1:].ravel() for profile in profiles]))
    longest = np.array([profile[:, 1:].max() for profile in profiles])
    some = cuts[np.linspace(0, len(cuts) - 1, min(len(cuts), THRESHOLDS // 2)).astype(np.int64)]
    chosen = np.unique(np.concatenate((some, longest)))
    chosen = chosen[np.linspace(0, len(chosen) - 1, min(len(chosen), THRESHOLDS)).astype(np.int64)]
    # Just below a length, cuts of that length are above the limit.
    return np.unique(np.concatenate(([0.0], chosen, np.maximum(chosen - 1.0, 0.0))))


def _profile_of(variant: Variant) -> _Float:
    return _profile(np.ascontiguousarray(variant.polygon).tobytes())


@lru_cache(maxsize=4096)
def _profile(polygon: bytes) -> _Float:
    """Cuts across a polygon: rows (width of a slab, shorter and longer cut at its sides), sorted."""
    slabs = _slabs([np.frombuffer(polygon, dtype=np.int64).reshape(-1, 2)])[:, 1:]
    slabs[:, 1:].sort(axis=1)
    return slabs[np.lexsort(slabs.T)]


def _area_of(profile: _Float) -> float:
    return float((profile[:, 0] * (profile[:, 1] + profile[:, 2])).sum() / 2)


def _slabs(rings: list[NDArray[np.int64]]) -> _Float:
    """Rows (x, width, cut length at x, at x + width) of all trapezoids between corners of disjoint rings."""
    starts = np.concatenate(rings).astype(float)
    ends = np.concatenate([np.roll(ring, -1, axis=0) for ring in rings]).astype(float)
    upright = starts[:, 0] == ends[:, 0]
    starts, ends = starts[~upright], ends[~upright]
    slope = (ends[:, 1] - starts[:, 1]) / (ends[:, 0] - starts[:, 0])
    left, right = np.minimum(starts[:, 0], ends[:, 0]), np.maximum(starts[:, 0], ends[:, 0])
    corners = np.unique(np.concatenate((left, right)))
    rows = []
    for x0, x1 in pairwise(corners.tolist()):
        across = np.nonzero((left <= x0) & (right >= x1))[0]
        y0 = starts[across, 1] + (x0 - starts[across, 0]) * slope[across]
        y1 = starts[across, 1] + (x1 - starts[across, 0]) * slope[across]
        order = np.argsort(y0 + y1, kind="stable")
        cut0, cut1 = np.diff(y0[order])[::2], np.diff(y1[order])[::2]
        rows += [(x0, x1 - x0, max(a, 0.0), max(b, 0.0)) for a, b in zip(cut0, cut1, strict=True)]
    return np.array(rows, dtype=float).reshape(-1, 4)


def _between(obstacles: _Float, start: float, end: float) -> _Float:
    """The parts between two places of slabs with a position; rows as of a profile."""
    x, width, a, b = obstacles.T
    t0, t1 = np.clip((start - x) / width, 0, 1), np.clip((end - x) / width, 0, 1)
    cuts = np.sort(np.column_stack((a + t0 * (b - a), a + t1 * (b - a))), axis=1)
    return np.column_stack(((t1 - t0) * width, cuts))


def _obstacle_slabs(problem: Problem, low: int, high: int) -> _Float:
    """Slabs with a position of what obstacles cover between low and high across the strip."""
    if not problem.obstacles:
        return np.empty((0, 4))
    clipper = pyclipper.Pyclipper()
    for obstacle in problem.obstacles:
        clipper.AddPath(obstacle.tolist(), pyclipper.PT_SUBJECT, True)
    reach = LIMIT - 1
    corridor = [(-reach, low), (reach, low), (reach, high), (-reach, high)]
    clipper.AddPath(corridor, pyclipper.PT_CLIP, True)
    rings = clipper.Execute(pyclipper.CT_INTERSECTION, pyclipper.PFT_NONZERO, pyclipper.PFT_NONZERO)
    return _slabs([np.array(ring, dtype=np.int64) for ring in rings]) if rings else np.empty((0, 4))
