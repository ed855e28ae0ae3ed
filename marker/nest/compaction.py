"""Compaction and parting of layouts by linear programming on no-fit polygons.

Every pair of shapes that could meet keeps to a convex free region round its present relative position: a
few half-planes, most of them along edges of the no-fit polygon (Li & Milenkovic 1995; Bennell & Dowsland
2001; Gomes & Oliveira 2006). Within these regions the best positions are a linear program. Its answer is
the start of the next round, until nothing is gained.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from marker.nest.nfp import NoFitPolygons, Shape
from marker.nest.overlap import any_overlap
from marker.nest.problem import Placing, Problem, Solution

TOUCH = 1.0
"""Shapes that overlap by no more lattice units than this count as touching: positions are whole numbers."""

MARGIN = 0.5
"""Lattice units kept off slanting edges: rounding both positions costs up to 1.42, of which 1 may overlap."""

REACH = 0.05
"""How far a shape may move in one round, as a part of the strip's width."""

TIDY = 0.01
"""Cost of moving everything along by a unit, where the length costs 1: loose shapes go to the start."""

_Float = NDArray[np.float64]
_Int = NDArray[np.int64]


def compact(no_fit: NoFitPolygons, solution: Solution, *, rounds: int = 10) -> Solution:
    """A layout like the given one, but shorter if linear programming finds a way; never longer.

    ``solution`` must be valid. At most ``rounds`` linear programs are solved; it ends sooner when both
    kinds of free regions gain less than a millionth of the length. The result is verified
    (``is_valid``).
    """
    sideways = False
    for _ in range(rounds):
        better = _round(no_fit, solution, sideways)
        gain = solution.length - better.length if better is not None else 0
        if better is not None and gain > 0:
            solution = better
        if gain < 1e-6 * solution.length:
            if sideways:
                break
            sideways = True
    return solution


def part(
    no_fit: NoFitPolygons, placings: Sequence[Placing], limit: int, *, rounds: int = 3
) -> Solution | None:
    """The shortest valid layout near placings that overlap a little; ``None`` if that passes ``limit``.

    Overlapping pairs are moved apart along the shortest ways out of their no-fit polygons, all at once. More
    than one of the ``rounds`` is needed only where rounding or a far move spoils the first.
    """
    problem = no_fit.problem
    reach = REACH * problem.width
    at = _Places.of(problem, placings)
    for _ in range(rounds):
        moved = _solve(at, _planes(at, no_fit, reach), reach, MARGIN, limit)
        if moved is None:
            return None
        result = _first_valid(no_fit, at, moved)
        if result is not None:
            return result
        at = next(_rounded(at, moved)).clamped(limit)
    return None


def is_valid(problem: Problem, solution: Solution, no_fit: NoFitPolygons | None = None) -> bool:
    """Whether all shapes are there, within their windows and the length, overlapping by ``TOUCH`` at most.

    Overlaps are looked for by no-fit polygons, and once more, not quite so closely, without them.
    """
    no_fit = no_fit or NoFitPolygons(problem)
    at = _Places.of(problem, solution.placings)
    counts = np.bincount([p.kind for p in solution.placings], minlength=len(problem.kinds))
    if counts.tolist() != [kind.count for kind in problem.kinds]:
        return False
    low, high = at.windows(solution.length)
    if (at.position[: at.free] < low).any() or (at.position[: at.free] > high).any():
        return False
    pairs = at.near(0.0)
    pair, starts, ends = _outlines(at, pairs, no_fit)
    for k in np.nonzero(_is_inside(pair, starts, ends, len(pairs)))[0]:
        if np.hypot(*_way_out(starts[pair == k], ends[pair == k])) > TOUCH:
            return False
    return not any_overlap([no_fit.solid(shape) for shape in at.shapes], at.position, at.free)


@dataclass
class _Places:
    """Where everything lies, as arrays: the shapes that can move first (``free`` of them), then obstacles.

    ``position`` int64[n, 2]; ``low``, ``high`` int64[n, 2] the shapes' boxes relative to it; ``window``
    int64[free, 4] the columns x_lo, x_back, y_lo, y_hi of the variants.
    """

    shapes: list[Shape]
    free: int
    position: _Int
    low: _Int
    high: _Int
    window: _Int

    @classmethod
    def of(cls, problem: Problem, placings: Sequence[Placing]) -> _Places:
        shapes: list[Shape] = [(p.kind, p.variant) for p in placings]
        variants = [problem.kinds[kind].variants[variant] for kind, variant in shapes]
        shapes += [(-1, k) for k in range(len(problem.obstacles))]
        polygons = [v.polygon for v in variants] + list(problem.obstacles)
        position = np.zeros((len(shapes), 2), dtype=np.int64)
        position[: len(placings)] = [(p.x, p.y) for p in placings]
        return cls(
            shapes,
            len(placings),
            position,
            np.array([polygon.min(axis=0) for polygon in polygons]),
            np.array([polygon.max(axis=0) for polygon in polygons]),
            np.array([(v.x_lo, v.x_back, v.y_lo, v.y_hi) for v in variants]),
        )

    def moved(self, position: _Int) -> _Places:
        return replace(self, position=position)

    def placings(self) -> tuple[Placing, ...]:
        return tuple(
            Placing(kind, variant, int(x), int(y))
            for (kind, variant), (x, y) in zip(self.shapes[: self.free], self.position.tolist(), strict=False)
        )

    def length(self) -> int:
        """The least length that has all shapes within their windows."""
        return int((self.position[: self.free, 0] + self.window[:, 1]).max())

    def windows(self, length: int) -> tuple[_Int, _Int]:
        """Lowest and highest positions of the shapes that can move, int64[free, 2] each."""
        x_lo, x_back, y_lo, y_hi = self.window.T
        return np.column_stack((x_lo, y_lo)), np.column_stack((length - x_back, y_hi))

    def clamped(self, length: int) -> _Places:
        low, high = self.windows(length)
        position = self.position.copy()
        position[: self.free] = np.clip(position[: self.free], low, np.maximum(low, high))
        return self.moved(position)

    def near(self, reach: float) -> _Int:
        """Pairs (i < j, i can move), int64[p, 2], whose boxes come closer than ``reach`` along both axes."""
        low, high = self.position + self.low, self.position + self.high
        close = np.ones((self.free, len(self.shapes)), dtype=bool)
        for axis in (0, 1):
            close &= low[: self.free, axis, None] < high[None, :, axis] + reach
            close &= low[None, :, axis] < high[: self.free, axis, None] + reach
        return np.argwhere(np.triu(close, 1))


@dataclass(frozen=True)
class _Planes:
    """Half-planes for pairs: normal · (move of second - move of first) >= bound, in lattice units."""

    first: _Int
    second: _Int
    normal: _Float
    bound: _Float


def _planes(at: _Places, no_fit: NoFitPolygons, trust: float, sideways: bool = False) -> _Planes:
    """Half-planes that keep every near pair apart (or nearly overlapping pairs from overlapping further)."""
    pairs = at.near(2 * trust)
    pair, starts, ends = _outlines(at, pairs, no_fit)
    # Of shapes that overlap, go on from the nearest place where they just touch.
    way = np.zeros((len(pairs), 2))
    for inside in np.nonzero(_is_inside(pair, starts, ends, len(pairs)))[0]:
        way[inside] = _way_out(starts[pair == inside], ends[pair == inside])
    along = (ends - starts).astype(float)
    normals = np.column_stack((along[:, 1], -along[:, 0])) / np.hypot(along[:, 0], along[:, 1])[:, None]
    reach = np.where(pairs[:, 1] >= at.free, trust, 2 * trust)
    k, normal, bound = _free_regions(pair, starts - way[pair], ends - way[pair], normals, reach, sideways)
    return _Planes(pairs[k, 0], pairs[k, 1], normal, bound + (normal * way[k]).sum(axis=1))


def _outlines(at: _Places, pairs: _Int, no_fit: NoFitPolygons) -> tuple[_Int, _Int, _Int]:
    """The edges of the no-fit polygons of all pairs, one after the other: (pair, starts, ends).

    ``pairs`` int64[p, 2]. Coordinates, int64[n, 2], are relative to the second shape's present place.
    """
    made: dict[tuple[Shape, Shape], int] = {}
    starts: list[_Int] = []
    ends: list[_Int] = []
    which: list[int] = []
    for i, j in pairs.tolist():
        shapes = at.shapes[i], at.shapes[j]
        if shapes not in made:
            made[shapes] = len(made)
            rings = no_fit(*shapes)
            starts.append(np.concatenate(rings))
            ends.append(np.concatenate([np.roll(ring, -1, axis=0) for ring in rings]))
        which.append(made[shapes])
    if not which:
        return np.empty(0, dtype=np.int64), np.empty((0, 2), dtype=np.int64), np.empty((0, 2), dtype=np.int64)
    sizes = np.array([len(s) for s in starts])
    offsets = np.concatenate(([0], np.cumsum(sizes)[:-1]))
    count = sizes[which]
    pair = np.repeat(np.arange(len(pairs)), count)
    within = np.arange(len(pair)) - np.repeat(np.cumsum(count) - count, count)
    row = offsets[which][pair] + within
    place = (at.position[pairs[:, 1]] - at.position[pairs[:, 0]])[pair]
    return pair, np.concatenate(starts)[row] - place, np.concatenate(ends)[row] - place


def _is_inside(pair: _Int, starts: _Int, ends: _Int, pairs: int) -> NDArray[np.bool_]:
    """For each of the pairs whether the origin is strictly inside the outline of its edges (exact)."""
    side = starts[:, 0] * ends[:, 1] - starts[:, 1] * ends[:, 0]
    on_edge = (side == 0) & ((starts * ends).sum(axis=1) <= 0)
    upward, downward = (starts[:, 1] <= 0) & (ends[:, 1] > 0), (starts[:, 1] > 0) & (ends[:, 1] <= 0)
    crossed = (upward & (side > 0)) | (downward & (side < 0))
    odd = np.bincount(pair[crossed], minlength=pairs) % 2 == 1
    return np.asarray(odd & (np.bincount(pair[on_edge], minlength=pairs) == 0))


def _free_regions(
    pair: _Int, a: _Float, b: _Float, normals: _Float, reach: _Float, sideways: bool
) -> tuple[_Int, _Float, _Float]:
    """Half-planes whose common part has no edge of the pair's no-fit polygon inside: (pair, normal, bound).

    Edges from a to b with outward unit normals, float64[n, 2] each, ordered by pair; coordinates are
    relative to the present relative position. Only the square of half-width ``reach`` (of each pair) round
    it matters. The nearest edge that is still inside gives the next half-plane (Deits & Tedrake 2015 grow
    free regions so): along the edge if the position lies on its outer side, else square to the way to
    the edge.
    """
    limit = reach[pair][:, None]
    inside = ((np.maximum(a, b) > -limit) & (np.minimum(a, b) < limit)).all(axis=1)
    pair, a, b, normals = pair[inside], a[inside], b[inside], normals[inside]
    height = -(normals * a).sum(axis=1)  # how far the position is beyond each edge's line
    found: list[tuple[_Int, _Float, _Float]] = []
    while len(pair):
        first = np.concatenate(([0], np.nonzero(np.diff(pair))[0] + 1))
        run = np.repeat(np.arange(len(first)), np.diff(np.append(first, len(pair))))
        along = b - a
        square = np.maximum((along * along).sum(axis=1), 1e-9)
        t = np.clip(-(a * along).sum(axis=1) / square, 0, 1)
        nearest = a + t[:, None] * along
        distance = np.hypot(nearest[:, 0], nearest[:, 1])
        least = np.minimum.reduceat(distance, first)
        tied = distance <= least[run] + 1e-6 * (1 + least[run])
        # Two edges tie at a corner. Either the one whose line is further away goes, for it leaves more
        # room, or (of those lines that are not crossed) the one that hinders moves along the strip least.
        hinders = np.round(np.abs(normals[:, 0]), 6)
        if sideways:
            order = np.lexsort((height, -hinders, height > -0.5, tied, run))
        else:
            order = np.lexsort((-hinders, np.rint(height), tied, run))
        k = order[np.append(first[1:], len(pair)) - 1]
        edge_on = (height[k] >= -0.5) | (least < 0.5)
        towards = -nearest[k] / np.maximum(least, 0.5)[:, None]
        normal = np.where(edge_on[:, None], normals[k], towards)
        bound = np.where(edge_on, -height[k], -least)
        found.append((pair[k], normal, bound))
        before = (a * normal[run]).sum(axis=1) - bound[run]
        after = (b * normal[run]).sum(axis=1) - bound[run]
        rest = np.maximum(before, after) > 0.5
        rest[k] = False
        pair, a, b, normals, height, before, after = (
            v[rest] for v in (pair, a, b, normals, height, before, after)
        )
        # Keep only the parts of the edges within the half-plane.
        across = before - after
        across[across == 0] = 1
        crossing = a + (before / across)[:, None] * (b - a)
        a, b = np.where((before < 0)[:, None], crossing, a), np.where((after < 0)[:, None], crossing, b)
    if not found:
        return np.empty(0, dtype=np.int64), np.empty((0, 2)), np.empty(0)
    pairs, planes, limits = zip(*found, strict=True)
    return np.concatenate(pairs), np.concatenate(planes), np.concatenate(limits)


def _way_out(starts: _Int, ends: _Int) -> _Float:
    """The shortest way from the origin to an outline of edges."""
    along = ends - starts
    t = np.clip(-(starts * along).sum(axis=1) / (along * along).sum(axis=1), 0, 1)
    nearest = starts + t[:, None] * along
    return np.asarray(nearest[np.hypot(nearest[:, 0], nearest[:, 1]).argmin()])


def _round(no_fit: NoFitPolygons, solution: Solution, sideways: bool) -> Solution | None:
    """One linear program's worth of compaction, rounded and verified; ``None`` if that fails."""
    problem = no_fit.problem
    reach = REACH * problem.width
    at = _Places.of(problem, solution.placings)
    planes = _planes(at, no_fit, reach, sideways)
    for margin in (MARGIN, 0.0):
        moved = _solve(at, planes, reach, margin, at.length())
        if moved is None:
            continue
        result = _first_valid(no_fit, at, moved)
        if result is not None:
            return result
    return None


def _first_valid(no_fit: NoFitPolygons, at: _Places, moved: _Float) -> Solution | None:
    """The places after a move, rounded in the first way that leaves them valid; ``None`` if none does."""
    for places in _rounded(at, moved):
        result = Solution(places.length(), places.placings())
        if is_valid(no_fit.problem, result, no_fit):
            return result
    return None


def _rounded(at: _Places, moved: _Float) -> Iterator[_Places]:
    """The places after a move, on the lattice, in a few ways.

    Rounding down keeps whole distances along an axis, but for the solver's error: hence several shifts.
    """
    for shift in (0.01, 0.51, 0.26, 0.76):
        position = at.position.copy()
        position[: at.free] += np.floor(moved + shift).astype(np.int64)
        yield at.moved(position)


def _solve(at: _Places, planes: _Planes, reach: float, margin: float, limit: int) -> _Float | None:
    """Moves of all shapes that can move, float64[free, 2] in lattice units, to the least length.

    ``None`` if the half-planes cannot be kept within the length ``limit``.
    """
    from ortools.math_opt import model_pb2
    from ortools.math_opt.python import mathopt

    unit = reach / 100  # so that the solver's absolute tolerances mean about 1e-9 of the reach
    n, rows = at.free, len(planes.bound)
    low, high = at.windows(limit)
    position = at.position[:n]
    lower = np.maximum(low - position, -reach).ravel() / unit
    upper = np.minimum(np.maximum(high - position, low - position), reach).ravel() / unit
    slanting = (planes.normal != 0).all(axis=1)
    bound = (planes.bound + margin * slanting) / unit

    # Columns: x and y of each shape, then by how much the length changes.
    row, shapes = np.arange(rows), np.arange(n)
    movable = planes.second < n
    first, second = planes.first, planes.second[movable]
    r = np.concatenate((row, row, row[movable], row[movable], rows + shapes, rows + shapes))
    c = np.concatenate((2 * first, 2 * first + 1, 2 * second, 2 * second + 1, np.full(n, 2 * n), 2 * shapes))
    normal = planes.normal
    v = np.concatenate(
        (-normal[:, 0], -normal[:, 1], normal[movable, 0], normal[movable, 1], np.ones(n), -np.ones(n))
    )
    backs = position[:, 0] + at.window[:, 1] - at.length()
    bound = np.concatenate((bound, backs / unit))
    lower, upper = np.append(lower, -100.0), np.append(upper, (limit - at.length() + margin) / unit)
    cost = np.append(np.tile((TIDY / n, 0.0), n), 1.0)
    if (lower > upper).any():  # farther to go than the reach
        return None

    r, c, v = r[v != 0], c[v != 0], v[v != 0]
    order = np.lexsort((c, r))
    model = model_pb2.ModelProto()
    model.variables.ids.extend(range(len(lower)))
    model.variables.lower_bounds.extend(lower)
    model.variables.upper_bounds.extend(upper)
    model.variables.integers.extend([False] * len(lower))
    model.linear_constraints.ids.extend(range(len(bound)))
    model.linear_constraints.lower_bounds.extend(bound)
    model.linear_constraints.upper_bounds.extend([np.inf] * len(bound))
    model.linear_constraint_matrix.row_ids.extend(r[order])
    model.linear_constraint_matrix.column_ids.extend(c[order])
    model.linear_constraint_matrix.coefficients.extend(v[order])
    costly = np.nonzero(cost)[0]
    model.objective.linear_coefficients.ids.extend(costly)
    model.objective.linear_coefficients.values.extend(cost[costly])

    built = mathopt.Model.from_model_proto(model)
    result = mathopt.solve(built, mathopt.SolverType.GLOP)
    if result.termination.reason != mathopt.TerminationReason.OPTIMAL:
        return None
    values = np.array([result.variable_values(built.get_variable(k)) for k in range(len(lower))])
    return values[: 2 * n].reshape(n, 2) * unit
