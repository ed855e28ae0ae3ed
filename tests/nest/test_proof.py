from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon, box

from benchmarks.instance import load, to_task
from marker.nest.bounds import lower_bound
from marker.nest.budget import Budget
from marker.nest.compaction import is_valid
from marker.nest.problem import Kind, Placing, Problem, Solution, Variant
from marker.nest.proof import inscribed_rectangle, prove
from marker.nest.search import solve
from tests.nest.polygons import Points, outlines, polygon, rectangle
from tests.nest.test_bounds import kind, shortest_strip_of_rectangles


def in_a_row(problem: Problem) -> Solution:
    x, placings = 0, []
    for k, each in enumerate(problem.kinds):
        variant = each.variants[0]
        for _ in range(each.count):
            placings.append(Placing(k, 0, x + variant.x_lo, variant.y_lo))
            x = placings[-1].x + variant.x_back
    return Solution(x, tuple(placings))


@given(sizes=st.lists(st.tuples(st.integers(1, 9), st.integers(1, 9)), min_size=1, max_size=5))
@settings(max_examples=25, deadline=None)
def test_the_best_strip_of_rectangles_is_found_and_proven(sizes: list[tuple[int, int]]) -> None:
    problem = Problem(tuple(kind(rectangle(10 * a, 10 * b), 100) for a, b in sizes), 100)
    proof = prove(problem, in_a_row(problem))
    assert proof.optimal
    assert proof.solution.length == 10 * shortest_strip_of_rectangles(sizes, 10)
    assert is_valid(problem, proof.solution)


def test_triangles_that_make_a_rectangle_are_proven_best() -> None:
    lower, upper = polygon((0, 0), (600, 0), (0, 1000)), polygon((600, 1000), (0, 1000), (600, 0))
    problem = Problem((kind(lower, 1000), kind(upper, 1000)), 1000)
    proof = prove(problem, in_a_row(problem))
    assert (proof.lower_bound, proof.solution.length, proof.optimal) == (600, 600, True)


def test_combs_that_interlock_exactly_are_proven_best_where_the_area_is_not_enough() -> None:
    # The back of the comb is 100, its two teeth and the gap between are 100 each, the teeth 200 long.
    comb = polygon((0, 0), (300, 0), (300, 100), (100, 100), (100, 200), (300, 200), (300, 300), (0, 300))
    narrow = Problem((kind(comb, 300, 2, turns=(0, 2)),), 300)
    # On a strip as high as the comb there are teeth at both edges, so none can enter a gap.
    proof = prove(narrow, in_a_row(narrow))
    assert lower_bound(narrow) < 600
    assert (proof.lower_bound, proof.solution.length) == (600, 600)
    # With 100 more, they lie tooth by tooth, backs outside.
    wide = Problem((kind(comb, 400, 2, turns=(0, 2)),), 400)
    proof = prove(wide, in_a_row(wide))
    assert (proof.lower_bound, proof.solution.length) == (400, 400)
    assert is_valid(wide, proof.solution)


def test_who_hears_ctrl_c_still_does_after_a_proof() -> None:
    # In a process of its own: where the solver's handler has taken the place of ours, it dies.
    program = """
import signal
from marker.nest.problem import Problem
from marker.nest.proof import prove
from tests.nest.test_bounds import kind, rectangle
from tests.nest.test_proof import in_a_row

signal.signal(signal.SIGINT, lambda *_: print("heard", flush=True))
problem = Problem((kind(rectangle(300, 500), 1000, 3),), 1000)
assert prove(problem, in_a_row(problem)).optimal
signal.raise_signal(signal.SIGINT)
"""
    ran = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, cwd=Path(__file__).parents[2]
    )
    assert (ran.returncode, ran.stdout) == (0, "heard\n"), ran.stderr


def test_an_obstacle_and_a_window_are_respected() -> None:
    tied = Kind((Variant(rectangle(200, 300), 0, 200, 400, 400),), 2, 60_000.0)
    problem = Problem((tied,), 1000, (rectangle(100, 200, 250, 450),))
    proof = prove(problem, Solution(900, (Placing(0, 0, 0, 400), Placing(0, 0, 700, 400))))
    assert proof.optimal and proof.solution.length == 550
    assert sorted(p.x for p in proof.solution.placings) == [0, 350]


def test_the_jigsaw_of_a_square_needs_no_search() -> None:
    # Dighe & Jakiela (1996): the pieces of a square of 100 x 100.
    problem = to_task(load("dighe2")).problem
    assert lower_bound(problem) == problem.width


@pytest.mark.parametrize("kinds", [(0, 1, 2, 3), (4, 5, 6, 8)])
def test_some_pieces_of_a_published_jigsaw_are_proven_within_their_square(kinds: tuple[int, ...]) -> None:
    whole = to_task(load("dighe2")).problem
    problem = Problem(tuple(whole.kinds[k] for k in kinds), whole.width)
    proof = prove(problem, solve(problem, Budget(effort=0.1), seed=1, cores=1))
    assert proof.optimal and is_valid(problem, proof.solution)
    # All ten fit on a length of 100, so some of them need no more.
    assert lower_bound(problem) <= proof.solution.length <= whole.width


@given(
    cuts=st.lists(
        st.tuples(st.integers(10, 90), st.integers(10, 90), st.integers(10, 90)), min_size=1, max_size=2
    )
)
@settings(max_examples=15, deadline=None)
def test_nothing_is_claimed_that_a_known_layout_refutes(cuts: list[tuple[int, int, int]]) -> None:
    scale = 1000
    parts = [box(0, 0, 150 * scale, 100 * scale)]
    for at, up, down in cuts:
        line = Polygon([(0, -1), (at * 1500, up * scale), (150 * scale, down * scale), (150 * scale, -1)])
        parts = [p for part in parts for p in (part.intersection(line), part.difference(line))]
    polygons = [
        p
        for part in parts
        for p in getattr(part, "geoms", [part])
        if p.geom_type == "Polygon" and p.area > 1e6
    ]
    rounded = [
        np.rint(np.array(p.exterior.coords[:-1])).astype(np.int64) for p in polygons if not p.interiors
    ]
    width = 100 * scale + 4
    problem = Problem(
        tuple(kind(r if Polygon(r).exterior.is_ccw else r[::-1], width) for r in rounded), width
    )
    # Rounding the corners may cost a few units, and more along slanting edges.
    assert prove(problem, in_a_row(problem), effort=1).lower_bound <= 150 * scale + 200


@given(shape=outlines())
@settings(max_examples=80, deadline=None)
def test_the_inscribed_rectangle_is_inside(shape: Points) -> None:
    x0, y0, x1, y1 = inscribed_rectangle(shape)
    if x0 < x1 and y0 < y1:
        assert box(x0, y0, x1, y1).difference(Polygon(shape)).area < 1e-6


def test_the_inscribed_rectangle_of_a_rectangle_is_itself() -> None:
    assert inscribed_rectangle(rectangle(500, 300, -20, 7)) == (-20, 7, 480, 307)


def test_the_same_effort_gives_the_same_answer() -> None:
    problem = Problem((kind(polygon((0, 0), (500, 0), (300, 700), (0, 400)), 1000, 3, turns=(0, 2)),), 1000)
    assert prove(problem, in_a_row(problem), effort=0.2) == prove(problem, in_a_row(problem), effort=0.2)
