"""Facts about layouts: nothing overlaps, windows and obstacles are respected, work decides the answer."""

from __future__ import annotations

import math
from collections import Counter

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import STRtree
from shapely.geometry import Polygon

from benchmarks.instance import load, to_task
from marker.nest.bench import Bench
from marker.nest.budget import Budget, Meter
from marker.nest.crew import LAST_HEAT, LEAST_HEAT, LINES, MORE_HEAT, lines_and_heats
from marker.nest.problem import Kind, Placing, Problem, Solution, Variant
from marker.nest.search import NoRoom, prepare, solve
from marker.nest.searcher import Best, Searcher, restarts
from marker.nest.start import build

from .polygons import Points, rectangle

TOLERANCE = 2.0
"""Deepest overlap in lattice units that a checker on a lattice of 100 units a millimetre lets pass."""


def variant(polygon: Points, width: int, *, y: tuple[int, int] | None = None) -> Variant:
    """A variant that may lie anywhere on a strip of the given width (or at the given range of y)."""
    low, high = polygon.min(axis=0), polygon.max(axis=0)
    y_lo, y_hi = y or (-int(low[1]), width - int(high[1]))
    return Variant(polygon, -int(low[0]), int(high[0]), y_lo, y_hi)


def kind(polygon: Points, width: int, count: int = 1, *, turns: bool = True) -> Kind:
    ways = [polygon, -polygon] if turns else [polygon]
    return Kind(tuple(variant(way, width) for way in ways), count, Polygon(polygon).area)


def star(rng: np.random.Generator, radius: float) -> Points:
    n = int(rng.integers(5, 14))
    angle = 2 * math.pi * (np.arange(n) + 0.8 * rng.random(n)) / n
    r = radius * rng.uniform(0.3, 1.0, n)
    points = np.column_stack((r * np.cos(angle), r * np.sin(angle)))
    return np.rint(points + rng.uniform(-radius, radius, 2)).astype(np.int64)


def random_problem(seed: int, kinds: int = 5, width: int = 30_000) -> Problem:
    rng = np.random.default_rng(seed)
    made = tuple(
        kind(star(rng, rng.uniform(3000, 11000)), width, int(rng.integers(1, 4)), turns=bool(rng.integers(2)))
        for _ in range(kinds)
    )
    return Problem(made, width)


def outline(problem: Problem, placing: Placing) -> Polygon:
    way = problem.kinds[placing.kind].variants[placing.variant]
    return Polygon(way.polygon + np.array([placing.x, placing.y]))


def assert_valid(problem: Problem, solution: Solution) -> None:
    """Counts, windows and overlaps, by shapely alone."""
    counts = Counter(placing.kind for placing in solution.placings)
    assert counts == {k: each.count for k, each in enumerate(problem.kinds) if each.count}
    for placing in solution.placings:
        way = problem.kinds[placing.kind].variants[placing.variant]
        assert way.x_lo <= placing.x <= solution.length - way.x_back
        assert way.y_lo <= placing.y <= way.y_hi
    shapes = [outline(problem, placing) for placing in solution.placings]
    shapes += [Polygon(obstacle) for obstacle in problem.obstacles]
    thin = [shape.buffer(-TOLERANCE / 2, join_style="mitre") for shape in shapes]
    movable = len(solution.placings)
    for i, j in STRtree(thin).query(thin, predicate="intersects").T:
        assert i == j or min(i, j) >= movable, f"{i} and {j} overlap"


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("cores", [1, 2])
def test_layouts_of_random_outlines_are_valid(seed: int, cores: int) -> None:
    problem = random_problem(seed)
    solution = solve(problem, Budget(effort=0.15), seed=seed, cores=cores)
    assert_valid(problem, solution)
    assert solution.length * problem.width >= problem.area


@pytest.mark.parametrize("cores", [1, 2])
def test_same_seed_and_effort_give_the_same_layout(cores: int) -> None:
    problem = random_problem(7)
    first, again = (solve(problem, Budget(effort=0.2), seed=3, cores=cores) for _ in range(2))
    assert first == again
    assert solve(problem, Budget(effort=0.2), seed=4, cores=cores) != first


def test_preparing_once_changes_nothing() -> None:
    problem = random_problem(8)
    prepared = prepare(problem)
    straight = solve(problem, Budget(effort=0.1), cores=1)
    assert solve(prepared, Budget(effort=0.1), cores=1) == straight
    assert solve(prepared, Budget(effort=0.1), cores=1) == straight


@settings(max_examples=8, deadline=None)
@given(shifts=st.lists(st.tuples(*[st.integers(-50_000, 50_000)] * 2), min_size=3, max_size=3))
def test_moving_reference_points_moves_nothing(shifts: list[tuple[int, int]]) -> None:
    plain = random_problem(5, kinds=3)
    moved = Problem(
        tuple(
            Kind(
                tuple(
                    Variant(w.polygon + np.array([a, b]), w.x_lo - a, w.x_back + a, w.y_lo - b, w.y_hi - b)
                    for w in each.variants
                ),
                each.count,
                each.area,
            )
            for each, (a, b) in zip(plain.kinds, shifts, strict=True)
        ),
        plain.width,
    )
    one = solve(plain, Budget(effort=0.05), cores=1)
    two = solve(moved, Budget(effort=0.05), cores=1)
    assert two.length == one.length
    for p, q in zip(one.placings, two.placings, strict=True):
        a, b = shifts[p.kind]
        assert q == Placing(p.kind, p.variant, p.x - a, p.y - b)


def test_many_outlines_with_nearly_straight_stretches_are_laid_tightly() -> None:
    # No-fit polygons of smooth outlines have tips of a unit or two from rounding; nothing may hide in them.
    width, made = 140_000, []
    rng = np.random.default_rng(1)
    for _ in range(12):
        angle = 2 * math.pi * (np.arange(45) + 0.5 * rng.random(45)) / 45
        r = 1 + 0.25 * np.sin(3 * angle + rng.uniform(0, 6)) + 0.05 * rng.random(45)
        size = rng.uniform(8_000, 26_000)
        points = np.column_stack((size * r * np.cos(angle), 0.6 * size * r * np.sin(angle)))
        made.append(kind(np.rint(points).astype(np.int64), width, 4))
    problem = Problem(tuple(made), width)
    first = solve(problem, Budget(effort=0.0), cores=1)
    assert_valid(problem, first)
    assert problem.area / (problem.width * first.length) > 0.6


def test_shapes_tied_to_a_line_stay_on_it() -> None:
    # Two half pieces on the fold at the upper edge (turned over, they would lie on no fold), others free.
    width = 20_000
    half = np.array([(0, 0), (9000, 4000), (9000, 8000), (0, 8000)], dtype=np.int64)
    tied = Kind((variant(half, width, y=(width - 8000, width - 8000)),), 3, Polygon(half).area)
    problem = Problem((tied, kind(rectangle(5000, 6000), width, 6)), width)
    solution = solve(problem, Budget(effort=0.2), cores=1)
    assert_valid(problem, solution)
    assert {p.y for p in solution.placings if p.kind == 0} == {width - 8000}
    assert solution.length >= 27_000


def test_shapes_use_every_band_they_are_allowed_in() -> None:
    # Bands 0-10 and 12-22: four squares of side 10 need both of them.
    square = rectangle(10_000, 10_000)
    both = Kind((variant(square, 0, y=(0, 0)), variant(square, 0, y=(12_000, 12_000))), 4, 1e8)
    problem = Problem((both,), 22_000)
    solution = solve(problem, Budget(effort=0.2), cores=1, lower_bound=20_000)
    assert_valid(problem, solution)
    assert solution.length == 20_000
    assert Counter(p.y for p in solution.placings) == {0: 2, 12_000: 2}


def test_obstacles_stay_free() -> None:
    flaws = (rectangle(3000, 3000, 4000, 9000), rectangle(2000, 2000, 15_000, 2000))
    plain = random_problem(11)
    problem = Problem(plain.kinds, plain.width, flaws)
    assert_valid(problem, solve(problem, Budget(effort=0.2), cores=2))


def test_an_obstacle_costs_what_it_must() -> None:
    # A bar as wide as the strip cannot lie beside the flaw, and does not fit before it.
    width = 10_000
    bar = Problem((kind(rectangle(6000, width), width),), width, (rectangle(1000, 1000, 5000, 4000),))
    assert solve(bar, Budget(effort=0.05), cores=1).length == 12_000


def test_squares_fill_the_strip() -> None:
    problem = Problem((kind(rectangle(5000, 5000), 10_000, 8),), 10_000)
    solution = solve(problem, Budget(effort=1.0), cores=1, lower_bound=20_000)
    assert_valid(problem, solution)
    assert solution.length == 20_000


def test_a_layout_at_the_lower_bound_ends_the_search() -> None:
    problem = Problem((kind(rectangle(5000, 7000), 10_000),), 10_000)
    assert solve(problem, Budget(effort=1e9), lower_bound=5000).length == 5000


@pytest.mark.parametrize("cores", [1, 2])
def test_a_strip_that_cannot_be_shorter_ends_the_search(cores: int) -> None:
    # No lower bound is given, but on a shorter strip the shape has no room.
    problem = Problem((kind(rectangle(5000, 7000), 10_000),), 10_000)
    assert solve(problem, Budget(effort=1e9), cores=cores).length == 5000


def test_only_better_layouts_are_announced_and_the_last_is_the_answer() -> None:
    problem = random_problem(12)
    seen: list[Solution] = []
    solution = solve(problem, Budget(effort=0.3), cores=1, on_better=seen.append)
    lengths = [each.length for each in seen]
    assert lengths == sorted(set(lengths), reverse=True)
    assert lengths[-1] == solution.length
    for each in seen:
        assert_valid(problem, each)


def test_backing_off_never_loses_the_best_layout(monkeypatch: pytest.MonkeyPatch) -> None:
    # A line backs off after every failure at the smallest step, to strips a third longer.
    monkeypatch.setattr("marker.nest.searcher.STUCK", 0)
    monkeypatch.setattr("marker.nest.searcher.BACK", (0.3, 0.3))
    problem = random_problem(11)
    line = Searcher(prepare(problem).tables, 1, Best(None), 1)
    line.start(1, 0.0)
    lengths = [line.length]
    for _ in range(6):
        line.explore(Meter(effort=0.05, stop=lambda: False))
        lengths.append(line.length)
        assert line.best is not None
        line.bench.load(line.best)
        assert line.bench.length == line.length
        assert_valid(problem, line.bench.solution())
    assert lengths == sorted(lengths, reverse=True) and lengths[-1] < lengths[0]


@pytest.mark.parametrize("linear", [True, False])
def test_an_attempt_that_aims_too_short_is_parted_by_linear_programming(
    linear: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Four squares in a row, 2.5 % apart, and every attempt takes off more than all the gaps together.
    for name, value in {"LATER_STEP": 0.03, "LAST_STEP": 0.03, "HALF_BACK": 0.0, "STUCK": math.inf}.items():
        monkeypatch.setattr(f"marker.nest.searcher.{name}", value)
    side, width = 1000, 1300
    ready = prepare(Problem((kind(rectangle(side, side), width, 4, turns=False),), width))
    line = Searcher(ready.tables, 1, Best(None), 1, no_fit=ready.no_fit if linear else None)
    row = tuple(Placing(0, 0, round(1.025 * side * k), 0) for k in range(4))
    line.bench.take(Solution(row[-1].x + side, row))
    assert line.record()
    line.go_on(line.best)
    line.explore(Meter(effort=0.3, stop=lambda: False))
    assert line.length == (4 * side if linear else row[-1].x + side)


def test_no_attempt_begins_when_the_share_is_used_up() -> None:
    line = Searcher(prepare(random_problem(12)).tables, 1, Best(None), 1)
    line.start(1, 0.0)
    first = line.length
    meter = Meter(effort=5.0, stop=lambda: False)
    line.explore(meter, 0.0)
    line.compress(meter, 0.0)
    assert line.length == first and meter.spent == 0.0
    line.explore(meter, 0.01)
    assert line.length < first and 0.05 <= meter.spent < 5.0


@given(amount=st.floats(0.0, 1e5), more=st.floats(1.0, 100.0), shapes=st.integers(1, 2000))
def test_lines_are_halved_down_to_one_and_none_is_judged_by_too_little(
    amount: float, more: float, shapes: int
) -> None:
    lines, heats = lines_and_heats(amount, shapes)
    assert 1 <= lines <= 2**heats
    if lines > 1:
        first = amount * (1.0 - LAST_HEAT) / heats / lines
        assert first >= (MORE_HEAT if lines > LINES else LEAST_HEAT * shapes**2) - 1e-9
    assert lines_and_heats(amount * more, shapes)[0] >= lines
    assert lines_and_heats(amount, shapes + 1)[0] <= lines


def test_stopping_at_once_still_gives_a_layout() -> None:
    problem = random_problem(13)
    assert_valid(problem, solve(problem, Budget(effort=1e9), stop=lambda: True))


def test_a_start_is_never_made_worse() -> None:
    problem = random_problem(14)
    good = solve(problem, Budget(effort=0.4), cores=1)
    assert solve(problem, Budget(effort=0.0), cores=1, start=good).length <= good.length
    assert solve(problem, Budget(effort=0.1), cores=2, start=good, seed=9).length <= good.length


def test_a_kind_too_wide_has_no_room() -> None:
    problem = Problem((kind(rectangle(5, 5), 10), kind(rectangle(5, 11), 10)), 10)
    with pytest.raises(NoRoom) as refusal:
        solve(problem, Budget(effort=0.1))
    assert refusal.value.kind == 1


def test_nothing_to_place_takes_nothing() -> None:
    assert solve(Problem((), 1000), Budget(effort=0.1)) == Solution(0, ())


def test_a_budget_is_either_time_or_work() -> None:
    for wrong in ({}, {"seconds": 1.0, "effort": 1.0}, {"seconds": -1.0}, {"effort": math.nan}):
        with pytest.raises(ValueError, match="budget"):
            Budget(**wrong)


# Densities found with a small amount of work, in %. The floors are what this search reaches less a margin
# for its luck; the ceilings are the best known (Gardeyn, Vanden Berghe & Wauters 2025, arXiv:2509.13329,
# Table 3), and 100 for the two jigsaws of Dighe & Jakiela (1996), which fill their rectangle.
@pytest.mark.parametrize(
    ("name", "effort", "floor", "ceiling"),
    [
        ("dighe1", 1.5, 98.0, 100.0),
        ("dighe2", 1.0, 99.9, 100.0),
        ("shirts", 1.5, 85.0, 90.92),
        ("swim", 1.5, 72.5, 79.83),
        ("trousers", 1.0, 87.3, 92.62),
        ("albano", 1.0, 86.0, 89.82),
        ("marques", 1.0, 87.0, 92.02),
    ],
)
def test_published_instances(name: str, effort: float, floor: float, ceiling: float) -> None:
    problem = to_task(load(name)).problem
    # The large jigsaw is all or nothing: one search in eight is a piece short of it, so the median of three.
    densities = []
    for seed in (1, 2, 3) if name == "dighe1" else (1,):
        solution = solve(problem, Budget(effort=effort), seed=seed, cores=1)
        assert_valid(problem, solution)
        densities.append(100.0 * problem.area / (problem.width * solution.length))
    assert floor <= sorted(densities)[len(densities) // 2] and max(densities) <= ceiling + 1e-6


def test_first_layouts_fill_their_holes_with_small_shapes() -> None:
    # 99 shapes, many of them small: places that only seem free must not use up the search for a hole.
    problem = to_task(load("shirts")).problem
    bench = Bench(prepare(problem).tables, 1)
    rng = np.random.default_rng(1)
    lengths = [build(bench, rng, 0.3).length for _ in range(8)]
    assert problem.area / (problem.width * np.mean(lengths)) > 0.75


def test_patience_follows_the_published_sequence() -> None:
    # Luby, Sinclair & Zuckerman (1993), Optimal speedup of Las Vegas algorithms, section 1.
    published = [1, 1, 2, 1, 1, 2, 4, 1, 1, 2, 1, 1, 2, 4, 8, 1]
    assert [restarts(attempt) for attempt in range(1, 17)] == published
