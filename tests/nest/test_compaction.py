from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.affinity import translate
from shapely.geometry import Polygon

from marker.nest.compaction import TOUCH, compact, is_valid, part
from marker.nest.nfp import NoFitPolygons
from marker.nest.problem import Kind, Placing, Problem, Solution, Variant
from tests.nest.polygons import Points, outlines, polygon, rectangle


def kind(shape: Points, width: int, count: int = 1, *, turn: bool = False) -> Kind:
    """A kind that may lie anywhere on the strip, as drawn or also turned by 180°."""
    variants = []
    for drawn in (shape, -shape) if turn else (shape,):
        low, high = drawn.min(axis=0).tolist(), drawn.max(axis=0).tolist()
        variants.append(Variant(drawn, -low[0], high[0], -low[1], width - high[1]))
    return Kind(tuple(variants), count, Polygon(shape).area)


def placed(problem: Problem, solution: Solution) -> list[Any]:
    return [
        translate(Polygon(problem.kinds[p.kind].variants[p.variant].polygon), p.x, p.y)
        for p in solution.placings
    ]


def worst_overlap(problem: Problem, solution: Solution) -> float:
    """The largest common area of two shapes, or a shape and an obstacle, over what touching allows."""
    shapes = placed(problem, solution)
    others = shapes + [Polygon(o) for o in problem.obstacles]
    ratio = 0.0
    for i, a in enumerate(shapes):
        for b in others[i + 1 :]:
            common = a.intersection(b)
            ratio = max(ratio, common.area / (TOUCH * max(a.length, b.length)))
    return ratio


def in_a_row(problem: Problem, gaps: list[int], drops: list[float]) -> Solution:
    """One behind the other with gaps, each at a part of the height that it has room for."""
    placings, x, k = [], 0, 0
    for index, each in enumerate(problem.kinds):
        variant = each.variants[0]
        for _ in range(each.count):
            y = variant.y_lo + int(drops[k % len(drops)] * (variant.y_hi - variant.y_lo))
            placings.append(Placing(index, 0, x + gaps[k % len(gaps)] + variant.x_lo, y))
            x = placings[-1].x + variant.x_back
            k += 1
    return Solution(x, tuple(placings))


def test_loose_rectangles_are_pushed_together_without_a_gap() -> None:
    problem = Problem((kind(rectangle(300, 900), 1000, 3),), 1000)
    loose = in_a_row(problem, [17, 40, 23], [0.0, 1.0, 0.5])
    assert compact(NoFitPolygons(problem), loose).length == 900


def test_triangles_slide_into_each_other() -> None:
    # Two right triangles, each 600 by 1000 with its right angle in opposite corners, make one rectangle.
    lower, upper = polygon((0, 0), (600, 0), (0, 1000)), polygon((600, 1000), (0, 1000), (600, 0))
    problem = Problem((kind(lower, 1000), kind(upper, 1000)), 1000)
    tight = compact(NoFitPolygons(problem), in_a_row(problem, [0, 50], [0.0]), rounds=30)
    assert 600 <= tight.length <= 603


def test_a_block_at_the_mouth_of_a_bay_slides_in() -> None:
    bay = polygon((0, 0), (500, 0), (500, 200), (100, 200), (100, 800), (500, 800), (500, 1000), (0, 1000))
    problem = Problem((kind(bay, 1000), kind(rectangle(390, 500), 1000)), 1000)
    start = Solution(840, (Placing(0, 0, 0, 0), Placing(1, 0, 450, 250)))
    assert compact(NoFitPolygons(problem), start, rounds=30).length == 500


def test_shapes_stay_out_of_obstacles_and_in_their_windows() -> None:
    tied = Kind((Variant(rectangle(200, 300), 50, 200, 400, 400),), 2, 60_000.0)
    problem = Problem((tied,), 1000, (rectangle(100, 1000, 300, 0),))
    start = Solution(1000, (Placing(0, 0, 60, 400), Placing(0, 0, 800, 400)))
    result = compact(NoFitPolygons(problem), start)
    assert sorted((p.x, p.y) for p in result.placings) == [(50, 400), (400, 400)]
    assert result.length == 600


@given(
    shapes=st.lists(outlines(), min_size=2, max_size=4),
    gaps=st.lists(st.integers(0, 300), min_size=4, max_size=4),
    drops=st.lists(st.floats(0, 1), min_size=4, max_size=4),
)
@settings(max_examples=40, deadline=None)
def test_compaction_never_lengthens_and_stays_valid(
    shapes: list[Points], gaps: list[int], drops: list[float]
) -> None:
    width = 400 + max(int(np.ptp(s[:, 1])) for s in shapes)
    problem = Problem(tuple(kind(s, width) for s in shapes), width)
    loose = in_a_row(problem, gaps, drops)
    assert is_valid(problem, loose)
    tight = compact(NoFitPolygons(problem), loose, rounds=4)
    assert tight.length <= loose.length
    assert is_valid(problem, tight)
    assert worst_overlap(problem, tight) <= 1
    assert sorted((p.kind, p.variant) for p in tight.placings) == sorted(
        (p.kind, p.variant) for p in loose.placings
    )
    for p in tight.placings:
        variant = problem.kinds[p.kind].variants[p.variant]
        assert variant.x_lo <= p.x <= tight.length - variant.x_back
        assert variant.y_lo <= p.y <= variant.y_hi


def test_slight_overlaps_are_pushed_apart_within_the_length() -> None:
    problem = Problem((kind(rectangle(300, 500), 1000, 4),), 1000)
    crowded = [Placing(0, 0, 0, 0), Placing(0, 0, 10, 480), Placing(0, 0, 290, 30), Placing(0, 0, 310, 470)]
    result = part(NoFitPolygons(problem), crowded, 600)
    assert result is not None and result.length <= 600
    assert is_valid(problem, result) and worst_overlap(problem, result) <= 1


def test_parting_takes_the_least_length_and_no_more_than_the_limit() -> None:
    no_fit = NoFitPolygons(Problem((kind(rectangle(300, 1000), 1000, 2),), 1000))
    crowded = [Placing(0, 0, 20, 0), Placing(0, 0, 290, 0)]
    result = part(no_fit, crowded, 1000)
    assert result is not None and result.length == 600
    assert part(no_fit, crowded, 600) is not None
    assert part(no_fit, crowded, 598) is None


@given(
    shapes=st.lists(outlines(), min_size=2, max_size=4),
    gaps=st.lists(st.integers(-60, 20), min_size=4, max_size=4),
    drops=st.lists(st.floats(0, 1), min_size=4, max_size=4),
    room=st.integers(-200, 200),
)
@settings(max_examples=40, deadline=None)
def test_what_is_parted_is_valid_and_within_the_limit(
    shapes: list[Points], gaps: list[int], drops: list[float], room: int
) -> None:
    width = 400 + max(int(np.ptp(s[:, 1])) for s in shapes)
    problem = Problem(tuple(kind(s, width) for s in shapes), width)
    crowded = in_a_row(problem, gaps, drops)
    limit = crowded.length + room
    result = part(NoFitPolygons(problem), crowded.placings, limit)
    if result is not None:
        assert result.length <= limit
        assert is_valid(problem, result) and worst_overlap(problem, result) <= 1


def test_no_room_is_reported_as_none() -> None:
    problem = Problem((kind(rectangle(300, 1000), 1000, 2),), 1000)
    assert part(NoFitPolygons(problem), [Placing(0, 0, 0, 0), Placing(0, 0, 250, 0)], 580) is None


@pytest.mark.parametrize(
    ("second", "valid"),
    [
        (Placing(0, 0, 300, 0), True),
        (Placing(0, 0, 299, 0), True),
        (Placing(0, 0, 298, 0), False),
        (Placing(0, 0, 301, 0), False),
        (Placing(0, 0, 300, 1), False),
    ],
)
def test_validity_is_judged_to_the_lattice_unit(second: Placing, valid: bool) -> None:
    problem = Problem((kind(rectangle(300, 1000), 1000, 2),), 1000)
    assert is_valid(problem, Solution(600, (Placing(0, 0, 0, 0), second))) == valid


def test_missing_and_extra_shapes_are_invalid() -> None:
    problem = Problem((kind(rectangle(300, 1000), 1000, 2),), 1000)
    row = tuple(Placing(0, 0, x, 0) for x in (0, 300, 600))
    assert not is_valid(problem, Solution(900, row[:1]))
    assert not is_valid(problem, Solution(900, row))
    assert is_valid(problem, Solution(900, row[:2]))
