"""Proofs of optimality for small jobs, by constraint programming.

Each pair of shapes lies in one of the convex parts of the outside of its no-fit polygon: a choice for
CP-SAT, which then finds a shorter layout, or proves that there is none, or at least how short one could
be. Largest inscribed rectangles that must not overlap help it (and are all it is given for jobs with too
many choices). The model has integer coordinates throughout, so nothing is lost to rounding but what
no-fit polygons lose: their crossings are rounded to the lattice.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from itertools import combinations, pairwise
from math import ceil, floor, gcd
from typing import Any

import numpy as np
from numpy.typing import NDArray

from marker.nest.bounds import lower_bound
from marker.nest.budget import Stopped
from marker.nest.compaction import is_valid
from marker.nest.convex import Point, outside_parts
from marker.nest.nfp import NoFitPolygons, Shape
from marker.nest.problem import Placing, Problem, Solution, Variant

SHAPES = 20
"""Jobs of more shapes than this get no more than ``lower_bound``."""

CHOICES = 12_000
"""With more convex parts than this in all, only inscribed rectangles are kept apart."""


LOOK = 0.05
"""Seconds between looks whether to stop."""

PROBES = 4
"""Shorter lengths that are tried when the full one is too much."""


@dataclass(frozen=True)
class Proof:
    """``solution`` is the shortest layout known, ``lower_bound`` the length below which there is none."""

    lower_bound: int
    solution: Solution

    @property
    def optimal(self) -> bool:
        """Whether the solution is proven best, to the lattice unit."""
        return self.solution.length <= self.lower_bound


def prove(
    problem: Problem,
    solution: Solution,
    *,
    effort: float = 20.0,
    seconds: float | None = None,
    seed: int = 1,
    stop: Callable[[], bool] = lambda: False,
) -> Proof:
    """Tries to prove that no layout is shorter than the given one, or finds one that is.

    ``effort`` is CP-SAT's deterministic time, about seconds on one core: the same effort gives the same
    answer, unless ``seconds`` of wall time, or ``stop``, end it sooner. Only what is proven is claimed: the
    bound holds for no-fit polygons on the lattice. A shorter layout is only returned if it is verified. For
    shapes tied to lattices the bound is the one without them, and no layout is looked for.
    """
    proof = Proof(lower_bound(problem), solution)
    if proof.optimal or problem.tied or problem.total > SHAPES or not _within_reach(problem, solution.length):
        return proof
    ends = time.monotonic() + seconds if seconds is not None else None

    def over() -> bool:
        return stop() or (ends is not None and time.monotonic() > ends)

    proof = _attempt(problem, proof, solution.length - 1, effort / 2, over, seed)
    # What is too much to prove at the full length may be within reach at a shorter one.
    for _ in range(PROBES):
        middle = (proof.lower_bound + proof.solution.length) // 2
        if proof.optimal or over():
            break
        narrower = _attempt(problem, proof, middle, effort / 2 / PROBES, over, seed)
        if narrower == proof:
            middle = (3 * proof.lower_bound + proof.solution.length) // 4
            narrower = _attempt(problem, proof, middle, effort / 2 / PROBES, over, seed)
            if narrower == proof:
                break
        proof = narrower
    return proof


def _attempt(
    problem: Problem, proof: Proof, high: int, effort: float, over: Callable[[], bool], seed: int
) -> Proof:
    """What one run of CP-SAT, for layouts no longer than ``high``, adds to a proof."""
    from ortools.sat.python import cp_model

    known, solution = proof.lower_bound, proof.solution
    if high < known:
        return proof
    try:
        model = _Model(problem, known, high, over)
    except Stopped:
        return proof
    solver = cp_model.CpSolver()
    # The solver's own handler would leave none behind, and the next Ctrl-C would end the process at once.
    solver.parameters.catch_sigint_signal = False
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = seed
    solver.parameters.max_deterministic_time = effort
    # Ctrl-C is the caller's, who hears of it only while Python runs: so the solver has a thread to itself.
    solver.parameters.catch_sigint_signal = False
    done: list[Any] = []
    thread = threading.Thread(target=lambda: done.append(solver.solve(model.model)), daemon=True)
    thread.start()
    while thread.is_alive():
        thread.join(LOOK)
        if over():
            solver.stop_search()
    (status,) = done
    if status == cp_model.MODEL_INVALID:
        raise RuntimeError(model.model.validate())
    if status == cp_model.INFEASIBLE:
        return Proof(high + 1, solution)
    bound = min(high + 1, max(known, ceil(solver.best_objective_bound - 1e-6)))
    if model.exact and status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        better = model.read(solver)
        if is_valid(problem, better, model.no_fit):
            solution = better
    return Proof(min(bound, solution.length), solution)


def _within_reach(problem: Problem, length: int) -> bool:
    """Whether the products of no-fit edges and positions stay far inside 64 bits."""
    polygons = [v.polygon for kind in problem.kinds for v in kind.variants] + list(problem.obstacles)
    reach = max((int(np.abs(polygon).max()) for polygon in polygons), default=0)
    return (2 * reach + length + problem.width) ** 2 < 1 << 60


@dataclass(frozen=True, eq=False)
class _Laid:
    """One shape to be laid: its position and, for each variant with a window, whether it is that one."""

    x: Any
    y: Any
    choices: list[tuple[Shape, Variant, Any]]


class _Model:
    """All layouts with a length from ``low`` to ``high``, as a CP-SAT model that minimises the length.

    ``exact`` tells whether its layouts are free of overlap, or only their inscribed rectangles are.
    """

    def __init__(self, problem: Problem, low: int, high: int, over: Callable[[], bool]) -> None:
        from ortools.sat.python import cp_model

        self.model = cp_model.CpModel()
        self.no_fit = NoFitPolygons(problem)
        self.high = high
        self.length = self.model.new_int_var(low, high, "length")
        self._made: dict[tuple[Shape, Shape], list[list[tuple[int, int, int]]]] = {}
        self.shapes: list[_Laid] = []
        for k, kind in enumerate(problem.kinds):
            for copy in range(kind.count):
                laid = self._lay(k, kind.variants)
                if copy > 0:  # copies are alike, so their order is free
                    self.model.add(self.shapes[-1].x <= laid.x)
                self.shapes.append(laid)
        always = self.model.new_constant(1)
        for n, obstacle in enumerate(problem.obstacles):
            still = Variant(obstacle, 0, 0, 0, 0)
            self.shapes.append(_Laid(0, 0, [((-1, n), still, always)]))
        self.movable = problem.total
        self._keep_rectangles_apart()
        pairs = [
            (a, b)
            for a, b in combinations(self.shapes, 2)
            if a.choices[0][0][0] >= 0 or b.choices[0][0][0] >= 0
        ]
        self.exact = 4 * sum(len(a.choices) * len(b.choices) for a, b in pairs) <= CHOICES
        if self.exact:
            for a, b in pairs:
                if over():
                    raise Stopped
                self._keep_apart(a, b)
        self.model.minimize(self.length)

    def _lay(self, kind: int, variants: tuple[Variant, ...]) -> _Laid:
        model = self.model
        there = [
            (k, v) for k, v in enumerate(variants) if v.y_lo <= v.y_hi and v.x_lo + v.x_back <= self.high
        ]
        x = model.new_int_var(min(v.x_lo for _, v in there), self.high - min(v.x_back for _, v in there), "")
        y = model.new_int_var(min(v.y_lo for _, v in there), max(v.y_hi for _, v in there), "")
        choices = []
        for k, v in there:
            chosen = model.new_bool_var("")
            for rule in (x >= v.x_lo, x + v.x_back <= self.length, y >= v.y_lo, y <= v.y_hi):
                model.add(rule).only_enforce_if(chosen)
            choices.append(((kind, k), v, chosen))
        model.add_exactly_one(chosen for _, _, chosen in choices)
        return _Laid(x, y, choices)

    def _keep_rectangles_apart(self) -> None:
        spans_x, spans_y = [], []
        for laid in self.shapes:
            for _, variant, chosen in laid.choices:
                x0, y0, x1, y1 = inscribed_rectangle(variant.polygon)
                if x0 < x1 and y0 < y1:
                    spans_x.append(self._span(laid.x, x0, x1, chosen))
                    spans_y.append(self._span(laid.y, y0, y1, chosen))
        self.model.add_no_overlap_2d(spans_x, spans_y)

    def _span(self, at: Any, low: int, high: int, chosen: Any) -> Any:
        return self.model.new_optional_fixed_size_interval_var(at + low, high - low, chosen, "")

    def _keep_apart(self, a: _Laid, b: _Laid) -> None:
        for shape_a, va, chosen_a in a.choices:
            for shape_b, vb, chosen_b in b.choices:
                far_x = (vb.x_lo - self.high + va.x_back, self.high - vb.x_back - va.x_lo)
                far_y = (vb.y_lo - va.y_hi, vb.y_hi - va.y_lo)
                if shape_a[0] < 0:
                    far_x = (vb.x_lo, self.high - vb.x_back)
                elif shape_b[0] < 0:
                    far_x = (va.x_back - self.high, -va.x_lo)
                parts = []
                for part in self._parts(shape_a, shape_b):
                    if all(max(p * x for x in far_x) + max(q * y for y in far_y) >= c for p, q, c in part):
                        inside = self.model.new_bool_var("")
                        for p, q, c in part:
                            self.model.add(p * (b.x - a.x) + q * (b.y - a.y) >= c).only_enforce_if(inside)
                        parts.append(inside)
                self.model.add_bool_or([*parts, ~chosen_a, ~chosen_b])

    def _parts(self, a: Shape, b: Shape) -> list[list[tuple[int, int, int]]]:
        """Where b may be relative to a: convex sets of (p, q, c) for p x + q y >= c."""
        made = self._made.get((a, b))
        if made is None:
            edges, polygons = outside_parts(self.no_fit(a, b))
            made = [[_left_of(end, start)] for start, end in edges]
            made += [[_left_of(*edge) for edge in pairwise([*polygon, polygon[0]])] for polygon in polygons]
            self._made[a, b] = made
        return made

    def read(self, solver: Any) -> Solution:
        """The layout that the solver found."""
        placings = []
        for laid in self.shapes[: self.movable]:
            (kind, variant), _, _ = next(choice for choice in laid.choices if solver.value(choice[2]))
            placings.append(Placing(kind, variant, solver.value(laid.x), solver.value(laid.y)))
        return Solution(solver.value(self.length), tuple(placings))


def _left_of(start: Point, end: Point) -> tuple[int, int, int]:
    """(p, q, c) such that p x + q y >= c says: on the left of, or on, the line from start to end."""
    p, q = start[1] - end[1], end[0] - start[0]
    common = gcd(p, q)
    return p // common, q // common, (p * start[0] + q * start[1]) // common


def inscribed_rectangle(polygon: NDArray[np.int64]) -> tuple[int, int, int, int]:
    """(x0, y0, x1, y1) of a large upright rectangle inside a simple polygon, int64[n, 2].

    The largest with sides at the corners' places along x, or at quarters of the way between two of
    them; exact for rectangles, never too large for anything. Without width if there is none.
    """
    corners = np.unique(polygon[:, 0]).tolist()
    places = sorted({a + (b - a) * k // 4 for a, b in pairwise(corners) for k in range(5)})
    columns = [_openings(polygon, a, b) for a, b in pairwise(places)]
    best, area = (0, 0, 0, 0), 0
    for i in range(len(columns)):
        openings = columns[i]
        for j in range(i, len(columns)):
            if j > i:
                both = [(max(a, c), min(b, d)) for a, b in openings for c, d in columns[j]]
                openings = [(low, high) for low, high in both if low < high]
            if not openings:
                break
            low, high = max(openings, key=lambda opening: opening[1] - opening[0])
            width = places[j + 1] - places[i]
            if width * (high - low) > area:
                best, area = (places[i], low, places[j + 1], high), width * (high - low)
    return best


def _openings(polygon: NDArray[np.int64], left: int, right: int) -> list[tuple[int, int]]:
    """Heights (low, high) that are inside the polygon all the way from left to right; no corner between."""
    crossing = []
    for (ax, ay), (bx, by) in zip(polygon.tolist(), np.roll(polygon, -1, axis=0).tolist(), strict=True):
        if min(ax, bx) <= left and max(ax, bx) >= right:
            at_left = ay + (by - ay) * (left - ax) / (bx - ax)
            at_right = ay + (by - ay) * (right - ax) / (bx - ax)
            crossing.append((at_left + at_right, at_left, at_right))
    crossing.sort()
    found = []
    for (_, a, b), (_, c, d) in zip(crossing[::2], crossing[1::2], strict=True):
        low, high = ceil(max(a, b) - 1e-9), floor(min(c, d) + 1e-9)
        if low < high:
            found.append((low, high))
    return found
