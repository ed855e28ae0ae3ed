"""Polygons with many parallel and collinear edges: what is said to be free is, and what is free is found.

The judge is shapely, which knows nothing of no-fit polygons.
"""

from __future__ import annotations

import json
from dataclasses import replace
from itertools import combinations
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.affinity import translate
from shapely.geometry import Point, Polygon
from shapely.ops import unary_union

from benchmarks.instance import load, to_task
from marker.cli import main as marker
from marker.nest import kernels
from marker.nest.bench import Bench
from marker.nest.budget import Budget, Schedule
from marker.nest.compaction import is_valid
from marker.nest.crew import Crew
from marker.nest.landscape import make_tables
from marker.nest.nfp import NoFitPolygons, no_fit_polygon
from marker.nest.problem import Kind, Placing, Problem, Solution, Variant
from marker.nest.search import solve
from marker.nest.searcher import Best, Searcher
from tests.nest.cut_up import UNIT, polyominoes, problem_of, puzzle
from tests.nest.polygons import Points, comb, jigsaws, letters, overlap, polygon, rectangle, rectilinear
from tests.nest.test_nfp import region

SCALE = 420
"""Lattice units of a step of the grids on which shapes are drawn: half and quarter steps are whole too."""

combs = st.builds(
    comb, st.lists(st.tuples(*[st.integers(1, 3)] * 3), min_size=1, max_size=4), st.integers(1, 2)
)
shapes = st.one_of(rectilinear(), letters(), combs)
ways = st.sampled_from([(1, 0), (0, 1), (-1, 0), (0, -1), (1, 1), (3, 4), (-12, 5), (2, -1)])


@st.composite
def pairs(draw: Any) -> tuple[Points, Points]:
    """Two shapes on one grid, or two halves of a jigsaw, turned together and scaled."""
    a, b = draw(jigsaws()) if draw(st.booleans()) else (draw(shapes), draw(shapes))
    if draw(st.booleans()):
        b = -b
    u, v = draw(ways)
    grid = np.array([[u, v], [-v, u]]) * SCALE
    return a @ grid, b @ grid


class Judge:
    """Whether b may lie somewhere, as shapely says, but for the width of what an exact fit is opened to."""

    def __init__(self, a: Points, b: Points) -> None:
        self.a, self.b = a, b
        self.rings = no_fit_polygon(a, b)
        self.forbidden = region(self.rings)
        self.core, self.other = Polygon(a).buffer(-2.5), Polygon(b)

    def agrees(self, x: int, y: int) -> bool:
        deep = self.forbidden.boundary.distance(Point(x, y)) if self.forbidden.contains(Point(x, y)) else 0.0
        if overlap(self.a, self.b, (x, y)):
            return deep > 0.0 or not self.core.intersects(translate(self.other, x, y))
        return deep <= 1.5

    def agrees_all_along(self) -> bool:
        """At all corners of the outline, in the middle of its edges and near both ends."""
        for ring in self.rings:
            for here, there in zip(ring, np.roll(ring, -1, axis=0), strict=True):
                for part in (0.0, 0.03, 0.25, 0.5, 0.75, 0.97):
                    x, y = np.rint(here + part * (there - here)).astype(int).tolist()
                    if not self.agrees(x, y):
                        return False
        return True


def spread(a: Points, b: Points, data: st.DataObject, step: int) -> tuple[int, int]:
    """A place on a grid at which the boxes of a and b come near each other."""
    low, high = (a.min(axis=0) - b.max(axis=0)) // step, (a.max(axis=0) - b.min(axis=0)) // step
    x, y = (data.draw(st.integers(int(lo) - 1, int(hi) + 2)) * step for lo, hi in zip(low, high, strict=True))
    return x, y


@given(pair=pairs(), data=st.data())
@settings(max_examples=150, deadline=None)
def test_on_and_near_places_where_edges_and_corners_meet_free_means_free(
    pair: tuple[Points, Points], data: st.DataObject
) -> None:
    a, b = pair
    judge = Judge(a, b)
    for _ in range(15):
        x, y = spread(a, b, data, data.draw(st.sampled_from([SCALE, SCALE // 2, SCALE // 4])))
        assert judge.agrees(x, y)
        assert judge.agrees(x + data.draw(st.integers(-3, 3)), y + data.draw(st.integers(-3, 3)))


@given(pair=pairs())
@settings(max_examples=120, deadline=None)
def test_all_along_the_outline_nothing_overlaps_deeply(pair: tuple[Points, Points]) -> None:
    assert Judge(*pair).agrees_all_along()


def variants(name: str, pieces: tuple[str, ...] | None = None) -> list[Points]:
    """The outlines of an instance in all their rotations."""
    task = to_task(load(name))
    return [
        variant.polygon
        for kind, of in zip(task.problem.kinds, task.pieces, strict=True)
        for variant in kind.variants
        if pieces is None or task.instance.pieces[of[0]].id in pieces
    ]


@pytest.mark.parametrize(
    ("name", "some", "others"),
    [
        ("jakobs2", ("p7",), ("p20",)),
        ("jakobs2", ("p17",), ("p8",)),
        ("shapes0", None, None),
        ("shapes1", None, None),
    ],
)
def test_slits_of_an_instance_are_free_from_end_to_end(
    name: str, some: tuple[str, ...] | None, others: tuple[str, ...] | None
) -> None:
    for a in variants(name, some):
        for b in variants(name, others):
            assert Judge(a, b).agrees_all_along()


@given(halves=jigsaws(), way=ways, x=st.integers(-999, 999), y=st.integers(-999, 999))
@settings(max_examples=60, deadline=None)
def test_the_parts_of_a_jigsaw_fit_as_they_were_cut(
    halves: tuple[Points, Points], way: tuple[int, int], x: int, y: int
) -> None:
    grid = np.array([[way[0], way[1]], [-way[1], way[0]]]) * SCALE
    left, right = halves[0] @ grid, halves[1] @ grid - np.array([x, y])
    assert not region(no_fit_polygon(left, right)).contains(Point(x, y))


def test_a_slit_ends_where_something_else_comes_into_the_way() -> None:
    # A bar of 20 in a slot of 20 that a nose narrows half way down: it goes in as far as the nose.
    block = polygon(
        (0, 0), (100, 0), (100, 90), (60, 90), (60, 50), (55, 45), (60, 40), (60, 10), (40, 10), (40, 90),
        (0, 90),
    )  # fmt: skip
    forbidden = region(no_fit_polygon(block, rectangle(20, 30)))
    assert not overlap(block, rectangle(20, 30), (40, 50)) and overlap(block, rectangle(20, 30), (40, 30))
    assert not forbidden.contains(Point(40, 50)) and not forbidden.contains(Point(40, 70))
    assert forbidden.contains(Point(40, 48)) and forbidden.contains(Point(40, 30))
    assert forbidden.contains(Point(40, 12))


@pytest.mark.parametrize("way", [(10007, 3001), (-99991, 40009), (7, 400_003)])
def test_a_slit_is_found_on_a_line_that_seldom_meets_the_lattice(way: tuple[int, int]) -> None:
    u, v = way
    grid = np.array([[u, v], [-v, u]])
    block, bar = comb([(2, 1, 3), (2, 2, 3), (1, 1, 3)], 1) @ grid, rectangle(1, 2) @ grid
    judge = Judge(block, bar)
    for part in (0.1, 0.3, 0.7, 1.9, 2.6, 2.9):
        x, y = np.rint(np.array([2.0, 1.0 + part]) @ grid).astype(int).tolist()
        assert (
            not judge.forbidden.contains(Point(x, y)) or judge.forbidden.boundary.distance(Point(x, y)) <= 1.5
        )
    assert judge.agrees_all_along()


def test_a_part_that_cannot_move_is_found_where_a_bar_along_and_one_across_fit() -> None:
    # A cross in a hole of a cross: no corner of the two meets, for the hole's arms are cut short by bays.
    ring = polygon(
        (0, 0), (90, 0), (90, 90), (46, 90), (46, 60), (60, 60), (60, 54), (66, 54), (66, 36), (60, 36),
        (60, 30), (54, 30), (54, 24), (36, 24), (36, 30), (30, 30), (30, 36), (24, 36), (24, 54), (30, 54),
        (30, 60), (44, 60), (44, 90), (0, 90),
    ) * 10  # fmt: skip
    cross = polygon(
        (40, 24), (50, 24), (50, 40), (66, 40), (66, 50), (50, 50), (50, 60), (40, 60), (40, 50), (24, 50),
        (24, 40), (40, 40),
    ) * 10  # fmt: skip
    assert not overlap(ring, cross)
    assert all(overlap(ring, cross, way) for way in [(9, 0), (-9, 0), (0, 9), (0, -9), (9, 9), (-9, 9)])
    assert not region(no_fit_polygon(ring, cross)).contains(Point(0, 0))


@pytest.mark.parametrize("name", ["jakobs2", "shapes0", "shapes1", "dighe2"])
def test_places_on_the_grid_of_an_instance_are_judged_right(name: str) -> None:
    # Corners of these instances lie on whole numbers, so that exact fits abound there.
    outlines, scale = variants(name), load(name).scale
    rng = np.random.default_rng(1)
    for _ in range(40):
        a, b = (outlines[k] for k in rng.integers(len(outlines), size=2))
        judge = Judge(a, b)
        low, high = (a.min(axis=0) - b.max(axis=0)) // scale, (a.max(axis=0) - b.min(axis=0)) // scale
        for _ in range(25):
            x, y = (rng.integers(low, high + 1) * scale).tolist()
            assert judge.agrees(x, y)


@pytest.mark.parametrize("seed", [1, 2])
def test_a_search_among_exact_fits_ends_without_overlap(seed: int) -> None:
    task = to_task(load("jakobs2"))
    solution = solve(task.problem, Budget(effort=0.2), seed=seed, cores=1)
    kinds = task.problem.kinds
    laid = [
        translate(Polygon(kinds[p.kind].variants[p.variant].polygon), p.x, p.y) for p in solution.placings
    ]
    common = sum(a.intersection(b).area for a, b in combinations(laid, 2))
    assert len(laid) == 25 and common < 1e-5 * task.problem.area
    assert min(s.bounds[0] for s in laid) >= 0 and max(s.bounds[2] for s in laid) <= solution.length
    assert min(s.bounds[1] for s in laid) >= 0 and max(s.bounds[3] for s in laid) <= task.problem.width


def test_pieces_that_go_into_each_others_slots_end_in_a_layout(tmp_path: Path) -> None:
    pattern = str(Path(__file__).with_name("slots.toml"))
    arguments = ["lay", pattern, "--effort", "0.3", "--cores", "1", "--out", str(tmp_path / "out")]
    result = CliRunner().invoke(marker, arguments)
    assert result.exit_code == 0, result.output
    (material,) = json.loads((tmp_path / "out" / "layout.json").read_text())["materials"]
    laid = [Polygon(placement["outline"]) for placement in material["placements"]]
    assert sum(placement["copies"] for placement in material["placements"]) == 24
    assert sum(a.intersection(b).area for a, b in combinations(laid, 2)) < 1e-4 * sum(s.area for s in laid)


def test_validity_is_not_taken_from_no_fit_polygons_alone() -> None:
    # No-fit polygons that are wrong, as if a slot went right through: the layout is refused all the same.
    class Wrong(NoFitPolygons):
        def __call__(self, fixed: Any, moving: Any) -> tuple[Points, ...]:
            return (rectangle(1, 1, -9000, -9000),)

    square = rectangle(1000, 1000)
    problem = Problem((Kind((Variant(square, 0, 1000, 0, 2000),), 2, 1e6),), 3000)
    apart = Solution(2000, (Placing(0, 0, 0, 0), Placing(0, 0, 1000, 300)))
    upon = Solution(1990, (Placing(0, 0, 0, 0), Placing(0, 0, 990, 300)))
    assert is_valid(problem, apart, Wrong(problem))
    assert not is_valid(problem, upon, Wrong(problem))
    assert not is_valid(problem, upon)


def test_a_layout_is_not_certified_by_its_tables_alone() -> None:
    square = rectangle(1000, 1000)
    problem = Problem((Kind((Variant(square, 0, 1000, 0, 2000),), 2, 1e6),), 3000)
    tables = make_tables(problem)
    wrong = replace(tables, pf=np.zeros_like(tables.pf))
    for places, free in (((1000, 300), True), ((990, 300), False)):
        for each in (tables, wrong):
            bench = Bench(each, 1)
            bench.length = 2000
            bench.put(0, 0, 0, 0)
            bench.put(1, 0, *places)
            assert bench.certify() == free


@given(pair=pairs(), data=st.data())
@settings(max_examples=150, deadline=None)
def test_two_outlines_overlap_as_shapely_says(pair: tuple[Points, Points], data: st.DataObject) -> None:
    a, b = pair
    for _ in range(10):
        x, y = spread(a, b, data, SCALE // 2)
        x, y = x + data.draw(st.integers(-1, 1)), y + data.draw(st.integers(-1, 1))
        assert kernels.interiors_meet(a, b, x, y) == overlap(a, b, (x, y))


@pytest.mark.parametrize("seed", [1, 2])
def test_a_rectangle_cut_into_a_puzzle_is_put_together_again(seed: int) -> None:
    # Tabs, some wider at the tip, fit only where they were cut: the area is the bound, and it is reached.
    problem = problem_of(puzzle(3, 2, seed), 24)
    solution = solve(problem, Budget(effort=0.5), seed=1, cores=1)
    assert abs(solution.length - 36 * UNIT) <= 2
    assert is_valid(problem, solution)


def test_polyominoes_cut_from_a_rectangle_fill_it_again() -> None:
    problem = problem_of(polyominoes(8, 6, 10, 1), 6)
    solution = solve(problem, Budget(effort=0.5), seed=1, cores=1)
    assert abs(solution.length - 8 * UNIT) <= 2 and is_valid(problem, solution)


@pytest.mark.parametrize("pieces", [puzzle(3, 3, 5), polyominoes(9, 7, 12, 3)])
def test_what_was_cut_up_fills_the_rectangle(pieces: list[Points]) -> None:
    whole = unary_union([Polygon(piece) for piece in pieces])
    assert whole.area == sum(Polygon(piece).area for piece in pieces)
    assert whole.equals(whole.envelope)
    assert all(Polygon(piece).is_valid and Polygon(piece).exterior.is_ccw for piece in pieces)


def test_nodes_lie_on_the_grid_of_shapes_that_fit_exactly_and_only_of_those() -> None:
    comb_like = polygon((0, 0), (6, 0), (6, 3), (4, 3), (4, 1), (2, 1), (2, 3), (0, 3))
    tooth = polygon((0, 0), (2, 0), (2, 2), (0, 2))
    for shapes, gridded in (([comb_like, tooth], True), ([tooth, rectangle(4, 2)], False)):
        problem = problem_of(shapes, 8)
        tables = make_tables(problem, 0.7 * UNIT)
        assert tables.gridded == gridded
        assert tables.pitch == (UNIT if gridded else 0.7 * UNIT)
        assert make_tables(problem, tables.pitch).pitch == tables.pitch
        # A grid finer than the nodes are to be is none to lie on.
        assert not make_tables(problem, 1.1 * UNIT).gridded


def test_on_the_grid_a_landscape_is_exact_where_shapes_fit() -> None:
    # A tooth in the gap of a comb: no overlap there, and none is interpolated from beside it.
    comb_like = polygon((0, 0), (6, 0), (6, 3), (4, 3), (4, 1), (2, 1), (2, 3), (0, 3))
    tables = make_tables(problem_of([comb_like, polygon((0, 0), (2, 0), (2, 2), (0, 2))], 8), 0.7 * UNIT)
    bench = Bench(tables, 1)
    bench.length = 8 * UNIT
    bench.put(0, 0, 0, 0)
    bench.put(1, 1, 0, 0)
    land = np.zeros(10_000, dtype=np.float32)
    _, _, stride = kernels.build_landscape(
        1, tables.variant_poly[1], 0.0, 6.0 * UNIT, 0.0, 6.0 * UNIT, land, tables.polys, tables.pitch,
        tables.pf, tables.pi, tables.raster, bench.x, bench.y, bench.poly, bench.weights, bench.work,
    )  # fmt: skip
    nodes = {(x, y): land[(y + 1) * stride + x] for x in range(7) for y in range(7)}
    assert nodes[2, 1] < 2.0 and nodes[2, 2] < 2.0 and nodes[2, 3] == 0.0
    assert min(nodes[x, 1] for x in (0, 1, 3, 4)) > 0.1 * UNIT


def test_lines_that_come_to_one_length_by_themselves_take_large_steps() -> None:
    problem = problem_of([rectangle(5, 4), rectangle(3, 4), rectangle(4, 3)], 8)
    tables = make_tables(problem)
    for lengths, handed, agree in (
        ((900, 903, 700), None, True),
        ((900, 910, 700), None, False),
        ((900, 900, 700), 0, False),  # two have only what they were given
    ):
        lines = [Searcher(tables, seed, Best(None), 1) for seed in range(3)]
        for line, length in zip(lines, lengths, strict=True):
            line.start(1, 0.0)
            assert line.best is not None
            line.best = replace(line.best, length=length)
        crew = Crew([lines], Schedule(Budget(effort=1.0), 0.0, None), None)
        if handed is not None:
            crew.given = lines[1].best = lines[0].best
        assert crew.agree(lines) == agree
