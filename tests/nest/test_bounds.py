from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon, box
from shapely.ops import unary_union

from marker.nest.bounds import lower_bound
from marker.nest.problem import Kind, Problem, Variant
from tests.nest.polygons import Points, outlines, polygon, rectangle


def kind(shape: Points, width: int, count: int = 1, *, turns: tuple[int, ...] = (0,)) -> Kind:
    """A kind that may lie anywhere on the strip, turned by quarter turns."""
    variants = []
    for turn in turns:
        drawn = shape
        for _ in range(turn):
            drawn = np.column_stack((-drawn[:, 1], drawn[:, 0]))
        low, high = drawn.min(axis=0).tolist(), drawn.max(axis=0).tolist()
        variants.append(Variant(drawn, -low[0], high[0], -low[1], width - high[1]))
    return Kind(tuple(variants), count, Polygon(shape).area)


def shortest_strip_of_rectangles(sizes: list[tuple[int, int]], width: int) -> int:
    """The least length that rectangles (length, height) fit on, unturned, by CP-SAT."""
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    longest = sum(length for length, _ in sizes)
    end = model.new_int_var(0, longest, "")
    xs, ys = [], []
    for length, height in sizes:
        x, y = model.new_int_var(0, longest - length, ""), model.new_int_var(0, width - height, "")
        model.add(x + length <= end)
        xs.append(model.new_fixed_size_interval_var(x, length, ""))
        ys.append(model.new_fixed_size_interval_var(y, height, ""))
    model.add_no_overlap_2d(xs, ys)
    model.minimize(end)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    assert solver.solve(model) == cp_model.OPTIMAL
    return round(solver.objective_value)


def test_of_squares_that_fill_the_strip_is_their_area() -> None:
    problem = Problem((kind(rectangle(500, 500), 1000, 6),), 1000)
    assert lower_bound(problem) == 1500


def test_shapes_wider_than_half_the_strip_lie_one_behind_the_other() -> None:
    problem = Problem((kind(rectangle(300, 501), 1000, 4), kind(rectangle(200, 600), 1000)), 1000)
    assert lower_bound(problem) == 1400


def test_a_wide_shape_and_one_wider_than_the_rest_of_the_strip_do_too() -> None:
    problem = Problem((kind(rectangle(300, 700), 1000, 2), kind(rectangle(300, 334), 1000, 2)), 1000)
    # Two of 334 lie side by side, but neither beside a 700.
    assert lower_bound(problem) == 900


def test_three_shapes_wider_than_a_third_need_two_columns() -> None:
    problem = Problem((kind(rectangle(300, 334), 1000, 3),), 1000)
    assert lower_bound(problem) == 450


def test_slanting_shapes_may_interlock() -> None:
    # Two triangles of 600 by 1000 make a rectangle of 600 by 1000: no bound may exceed 600.
    lower, upper = polygon((0, 0), (600, 0), (0, 1000)), polygon((600, 1000), (0, 1000), (600, 0))
    problem = Problem((kind(lower, 1000), kind(upper, 1000)), 1000)
    assert lower_bound(problem) == 600


def test_of_the_longest_shape_takes_its_best_orientation() -> None:
    problem = Problem((kind(rectangle(900, 100), 1000, turns=(0, 1)),), 1000)
    assert lower_bound(problem) == 100
    assert lower_bound(Problem((kind(rectangle(900, 100), 1000),), 1000)) == 900


def test_shapes_kept_to_a_band_only_have_the_band() -> None:
    shape = rectangle(400, 100)
    banded = Kind((Variant(shape, 0, 400, 0, 100),), 4, 40_000.0)
    problem = Problem((banded, kind(rectangle(10, 10), 1000)), 1000)
    assert lower_bound(problem) == 800


def test_an_obstacle_takes_its_part_of_the_strip() -> None:
    squares = kind(rectangle(500, 500), 1000, 4)
    assert lower_bound(Problem((squares,), 1000, (rectangle(300, 1000, 200, 0),))) == 1300
    assert lower_bound(Problem((squares,), 1000, (rectangle(300, 1000, 5000, 0),))) == 1000
    # Two obstacles on the same spot count once.
    assert lower_bound(Problem((squares,), 1000, (rectangle(300, 1000, 200, 0),) * 2)) == 1300


def test_a_gap_built_into_the_polygons_reaches_over_the_edges() -> None:
    # True squares of 480 with a gap of 20 between: the polygons are 500, and may stick out by 10 all round.
    padded = Kind((Variant(rectangle(500, 500, -10, -10), 0, 480, 0, 500),), 4, 480.0 * 480.0)
    problem = Problem((padded,), 980)
    assert lower_bound(problem) == 980


def test_of_nothing_is_nothing() -> None:
    assert lower_bound(Problem((), 1000)) == 0
    assert lower_bound(Problem((kind(rectangle(10, 10), 1000, 0),), 1000)) == 0


sizes = st.lists(st.tuples(st.integers(1, 12), st.integers(1, 12)), min_size=1, max_size=6)


@given(sizes=sizes, width=st.integers(12, 20))
@settings(max_examples=60, deadline=None)
def test_never_exceeds_the_optimum_of_rectangles(sizes: list[tuple[int, int]], width: int) -> None:
    scale = 100
    kinds = tuple(kind(rectangle(scale * a, scale * b), scale * width) for a, b in sizes)
    bound = lower_bound(Problem(kinds, scale * width))
    assert bound <= scale * shortest_strip_of_rectangles(sizes, width)
    assert bound >= scale * max(sum(a * b for a, b in sizes) / width, max(a for a, _ in sizes)) - 1


def moved(problem: Problem, across: int) -> Problem:
    """The same strip and all on it, so far across."""
    kinds = tuple(
        replace(
            each,
            variants=tuple(replace(v, y_lo=v.y_lo + across, y_hi=v.y_hi + across) for v in each.variants),
        )
        for each in problem.kinds
    )
    obstacles = tuple(ring + (0, across) for ring in problem.obstacles)
    return replace(problem, kinds=kinds, obstacles=obstacles, low=problem.low + across)


def test_squares_that_fill_a_strip_with_a_selvage_below_it() -> None:
    problem = Problem((kind(rectangle(500, 500), 1000, 4),), 1000)
    assert lower_bound(moved(problem, 10)) == 1000


@given(
    shapes=st.lists(st.tuples(outlines(), st.integers(1, 3)), min_size=1, max_size=4),
    across=st.integers(-500, 500),
)
@settings(max_examples=40, deadline=None)
def test_where_the_strip_lies_across_makes_no_difference(
    shapes: list[tuple[Points, int]], across: int
) -> None:
    width = max(int(np.ptp(shape[:, 1])) for shape, _ in shapes) + 10
    problem = Problem(tuple(kind(s, width, n) for s, n in shapes), width, (rectangle(50, 20, 30, 0),))
    assert lower_bound(moved(problem, across)) == lower_bound(problem)


@given(
    shapes=st.lists(st.tuples(outlines(), st.integers(1, 3)), min_size=1, max_size=5),
    wider=st.integers(0, 900),
)
@settings(max_examples=60, deadline=None)
def test_adding_width_never_lengthens_it(shapes: list[tuple[Points, int]], wider: int) -> None:
    narrow = max(int(np.ptp(shape[:, 1])) for shape, _ in shapes) + 10

    def problem(width: int) -> Problem:
        return Problem(tuple(kind(s, width, n, turns=(0, 1, 2)) for s, n in shapes), width)

    assert lower_bound(problem(narrow + wider)) <= lower_bound(problem(narrow))


@given(sizes=sizes, width=st.integers(12, 20), wider=st.integers(1, 12), spot=st.integers(0, 11))
@settings(max_examples=60, deadline=None)
def test_adding_width_beside_an_obstacle_never_lengthens_it(
    sizes: list[tuple[int, int]], width: int, wider: int, spot: int
) -> None:
    def problem(width: int) -> Problem:
        kinds = tuple(kind(rectangle(100 * a, 100 * b), 100 * width) for a, b in sizes)
        return Problem(kinds, 100 * width, (rectangle(300, 100 * (12 - spot), 250, 100 * spot),))

    assert lower_bound(problem(width + wider)) <= lower_bound(problem(width))


@given(shapes=st.lists(outlines(), min_size=1, max_size=5))
@settings(max_examples=60, deadline=None)
def test_is_at_least_the_area_over_the_width_and_at_most_a_row(shapes: list[Points]) -> None:
    width = max(int(np.ptp(shape[:, 1])) for shape in shapes) + 10
    bound = lower_bound(Problem(tuple(kind(s, width) for s in shapes), width))
    assert bound >= sum(Polygon(s).area for s in shapes) / width - 1
    assert bound <= sum(int(np.ptp(s[:, 0])) for s in shapes)


@given(
    cuts=st.lists(st.tuples(st.integers(1, 99), st.integers(1, 99), st.integers(1, 99)), max_size=4),
    length=st.integers(50, 200),
)
@settings(max_examples=60, deadline=None)
def test_pieces_of_a_cut_up_rectangle_never_need_more_than_it(
    cuts: list[tuple[int, int, int]], length: int
) -> None:
    # The rectangle itself is a layout of the pieces, so no bound may exceed its length.
    scale = 1000
    parts = [box(0, 0, length * scale, 100 * scale)]
    for at, up, down in cuts:
        x = at * length * scale // 100
        line = Polygon([(0, -1), (x, up * scale), (length * scale, down * scale), (length * scale, -1)])
        parts = [p for part in parts for p in (part.intersection(line), part.difference(line))]
    polygons = [
        p
        for part in parts
        for p in getattr(part, "geoms", [part])
        if p.geom_type == "Polygon" and p.area > 1e6
    ]
    whole = unary_union(polygons)
    rounded = [
        np.rint(np.array(p.exterior.coords[:-1])).astype(np.int64) for p in polygons if not p.interiors
    ]
    kinds = tuple(kind(r if Polygon(r).exterior.is_ccw else r[::-1], 100 * scale) for r in rounded)
    # Rounding the corners may add a unit a piece.
    assert lower_bound(Problem(kinds, 100 * scale)) <= whole.bounds[2] + 4 * len(rounded)


@pytest.mark.parametrize("seed", range(4))
def test_is_no_longer_than_what_a_rectangle_packer_finds(seed: int) -> None:
    import rectpack

    rng = np.random.default_rng(seed)
    sizes = rng.integers(2, 60, size=(14, 2)).tolist()
    packer = rectpack.newPacker(rotation=False)
    for a, b in sizes:
        packer.add_rect(a, b)
    packer.add_bin(10_000, 100)
    packer.pack()
    assert len(packer[0]) == len(sizes)
    length = max(placed.x + placed.width for placed in packer[0])
    problem = Problem(tuple(kind(rectangle(100 * a, 100 * b), 10_000) for a, b in sizes), 10_000)
    assert sum(a * b for a, b in sizes) <= lower_bound(problem) <= 100 * length
