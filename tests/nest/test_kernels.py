"""The compiled kernels against shapely and a general-purpose linear solver."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from ortools.linear_solver import pywraplp
from shapely.geometry import Point, Polygon
from shapely.ops import unary_union

from marker.nest import kernels
from marker.nest.bench import Bench
from marker.nest.landscape import Tables, _without_spikes, hull_area, make_tables
from marker.nest.nfp import no_fit_polygon
from marker.nest.problem import Kind, Problem, Variant

from .polygons import Points, outlines, stars

WIDTH = 6000


def tables_of(*polygons: Points, scale: int = 1) -> Tables:
    kinds = []
    for polygon in polygons:
        grown = polygon * scale
        low, high = grown.min(axis=0), grown.max(axis=0)
        way = Variant(grown, -int(low[0]), int(high[0]), -int(low[1]), WIDTH * scale - int(high[1]))
        kinds.append(Kind((way,), 1, Polygon(grown).area))
    return make_tables(Problem(tuple(kinds), WIDTH * scale))


def region(rings: tuple[Points, ...]) -> Polygon:
    """The inside of rings whose holes run clockwise."""
    solid = unary_union([Polygon(ring) for ring in rings if Polygon(ring).exterior.is_ccw])
    holes = [Polygon(ring) for ring in rings if not Polygon(ring).exterior.is_ccw]
    return solid.difference(unary_union(holes)) if holes else solid


def depth(tables: Tables, a: int, b: int, dx: float, dy: float) -> float:
    t = tables
    row = a * t.polys + b
    return float(kernels.depth_at(row, dx, dy, t.cell, t.pf, t.pi, t.first, t.near, t.edges))


@settings(max_examples=40, deadline=None)
@given(
    a=outlines(), b=outlines(), seed=st.integers(0, 1000), flip=st.sampled_from([(1, 1), (-1, -1), (1, -1)])
)
def test_depth_is_the_distance_to_the_outline_of_the_no_fit_polygon(
    a: Points, b: Points, seed: int, flip: tuple[int, int]
) -> None:
    # Flipped and swapped partners share one stored no-fit polygon: all must give shapely's distance.
    b = b * np.array(flip)
    if flip[0] * flip[1] < 0:
        b = b[::-1].copy()
    a, b = (polygon * 10 - (polygon * 10).min(axis=0) for polygon in (a, b))
    tables = tables_of(a, b)
    rng = np.random.default_rng(seed)
    for one, two, row in ((a, b, (0, 1)), (b, a, (1, 0)), (a, a, (0, 0))):
        if tables.polys == 1 and row != (0, 0):
            continue
        forbidden = region(no_fit_polygon(one, two))
        assume(forbidden.is_valid)
        x0, y0, x1, y1 = forbidden.bounds
        for x, y in zip(rng.uniform(x0, x1, 20), rng.uniform(y0, y1, 20), strict=True):
            place = Point(x, y)
            inside = forbidden.contains(place)
            expected = max(0.0, forbidden.boundary.distance(place) - kernels.TOLERANCE) if inside else 0.0
            assert depth(tables, *row, x, y) == pytest.approx(expected, abs=2.0)
            t = tables
            sure = kernels.deepest(
                0.0, 0.0, x, y, *row, t.polys, t.pf, t.group, t.span, t.edges
            )  # fmt: skip
            assert sure == pytest.approx(expected + kernels.TOLERANCE if expected else 0.0, abs=3.0)


@settings(max_examples=20, deadline=None)
@given(a=stars(), b=stars(), seed=st.integers(0, 1000))
def test_a_plane_tells_how_far_and_which_way_out(a: Points, b: Points, seed: int) -> None:
    tables = tables_of(a, b, scale=20)
    assume(tables.polys == 2)
    t = tables
    rng = np.random.default_rng(seed)
    plane = np.zeros(4)
    for _ in range(20):
        x, y = rng.uniform(t.pf[1, 0], t.pf[1, 1]), rng.uniform(t.pf[1, 2], t.pf[1, 3])
        here = depth(tables, 0, 1, x, y)
        if here <= 1.0:
            continue
        assert kernels.plane_at(1, x, y, t.cell, t.pf, t.pi, t.first, t.near, t.edges, plane)
        assert plane[0] == pytest.approx(here + kernels.TOLERANCE)
        assert np.hypot(plane[1], plane[2]) == pytest.approx(1.0)
        # Half the way out leaves half the depth: the nearest point of the outline stays the same.
        half = depth(tables, 0, 1, x + plane[1] * here / 2, y + plane[2] * here / 2)
        assert half == pytest.approx(here / 2, abs=1.0)


@pytest.mark.parametrize("seed", range(3))
def test_the_landscape_is_the_sum_of_overlaps(seed: int) -> None:
    rng = np.random.default_rng(seed)
    polygons = [Polygon(rng.uniform(0, 2000, (9, 2))).convex_hull for _ in range(7)]
    points = [np.rint(np.array(p.exterior.coords)[:-1]).astype(np.int64)[::-1] for p in polygons]
    points = [p if Polygon(p).exterior.is_ccw else p[::-1].copy() for p in points]
    bench = Bench(tables_of(*points, scale=100), seed)
    t = bench.tables
    bench.length = 500_000
    for i in range(7):
        bench.put(i, i, rng.uniform(0, 300_000), rng.uniform(0, 400_000))
    bench.weights[:] = rng.uniform(1, 3, bench.weights.shape)
    bench.clamp()
    window = t.window[0]
    x1, y0, y1 = bench.length - window[1], window[2], window[3]
    land = np.zeros(200_000, dtype=np.float32)
    columns, rows, stride = kernels.build_landscape(
        0, 0, window[0], x1, y0, y1, land, t.polys, t.pitch, t.pf, t.pi, t.raster,
        bench.x, bench.y, bench.poly, bench.weights, bench.work,
    )  # fmt: skip
    near = np.zeros(kernels.NEAR, dtype=np.int64)
    worst = 0.0
    for r in (0, 1, rows // 2, rows - 1, rows):
        for c in (0, 1, columns // 3, columns // 2, columns - 1, columns):
            x = x1 if c == columns else window[0] + c * t.pitch
            y = y1 if r == rows else y0 + r * t.pitch
            n = kernels.neighbours(0, 0, x, y, 0.0, t.polys, t.pf, bench.x, bench.y, bench.poly, near)
            exact = kernels.loss_at(
                0, 0, x, y, n, near, np.inf, t.polys, t.cell, t.pf, t.pi, t.first, t.near, t.edges,
                bench.x, bench.y, bench.poly, bench.weights,
            )  # fmt: skip
            worst = max(worst, abs(float(land[(r + 1) * stride + c]) - exact))
    # Depth changes by at most the step taken, so an interpolated node is off by less than a pitch each.
    assert worst < 3 * t.pitch * bench.weights.max()
    found = np.zeros((16, 4))
    count = kernels.collect_minima(
        land, columns, rows, stride, 0, window[0], x1, y0, y1, t.pitch, found, 0, 6
    )
    nodes = np.array([land[r * stride : r * stride + columns + 1] for r in range(1, rows + 2)])
    assert count >= 1
    assert found[0, 0] == nodes.min()
    assert list(found[:count, 0]) == sorted(found[:count, 0])


def test_short_lists_hold_every_pair_that_overlaps() -> None:
    rng = np.random.default_rng(5)
    polygons = [Polygon(rng.uniform(0, 2000, (9, 2))).convex_hull for _ in range(12)]
    points = [np.rint(np.array(p.exterior.coords)[:-1]).astype(np.int64)[::-1] for p in polygons]
    bench = Bench(tables_of(*points, scale=100), 1)
    bench.length = 900_000
    for _ in range(3):
        for i in range(12):
            bench.put(i, i, rng.uniform(0, 700_000), rng.uniform(0, 400_000))
        bench.clamp()
        total = bench.measure()
        shapes = [
            Polygon(points[i] * 100 - (points[i] * 100).min(axis=0) + (bench.x[i], bench.y[i]))
            for i in range(12)
        ]
        expected = {
            (i, j)
            for i in range(12)
            for j in range(12)
            if i != j and shapes[i].intersects(shapes[j].buffer(-2 * kernels.TOLERANCE))
        }
        listed = {(i, int(j)) for i in range(12) for j in bench.links[i, 1 : 1 + bench.links[i, 0]]}
        assert expected and listed == expected
        assert sum(bench.overlap[i, : bench.links[i, 0]].sum() for i in range(12)) == pytest.approx(2 * total)


def test_a_full_list_drops_its_lightest_pair_that_does_not_overlap() -> None:
    links = np.array([[3, 7, 8, 9]], dtype=np.int32)
    overlap = np.array([[5.0, 0.0, 0.0]], dtype=np.float32)
    weight = np.array([[1.0, 3.0, 2.0]], dtype=np.float32)
    assert kernels.link(0, 8, links, overlap, weight) == 1
    assert kernels.link(0, 4, links, overlap, weight) == 2
    assert links.tolist() == [[3, 7, 8, 4]] and weight[0].tolist() == [1.0, 3.0, 1.0]
    overlap[0, 1:] = 1.0
    assert kernels.link(0, 5, links, overlap, weight) == -1
    kernels.reweigh(5.0, 1.2, 0.8, 0.95, links, overlap, weight)
    assert weight[0].tolist() == pytest.approx([2.0, 3.0 * 1.36, 1.36])


@pytest.mark.parametrize("seed", range(10))
def test_a_step_is_the_optimum_of_its_linear_programme(seed: int) -> None:
    rng = np.random.default_rng(seed)
    n = int(rng.integers(1, 9))
    angle = rng.uniform(0, 2 * np.pi, n)
    planes = np.zeros((kernels.PLANES + 1, 4))
    planes[:n] = np.column_stack(
        (rng.uniform(-50, 100, n), np.cos(angle), np.sin(angle), rng.uniform(0.5, 4, n))
    )
    box = (-80.0, 60.0, -40.0, 90.0)
    found = kernels.model_step(n, planes, *box, planes[kernels.PLANES])

    solver = pywraplp.Solver.CreateSolver("GLOP")
    x, y = solver.NumVar(*box[:2], "x"), solver.NumVar(*box[2:], "y")
    cost = 0
    for d, a, b, weight in planes[:n]:
        over = solver.NumVar(0, solver.infinity(), "")
        solver.Add(over >= d - a * x - b * y)
        cost += weight * over
    solver.Minimize(cost)
    assert solver.Solve() == pywraplp.Solver.OPTIMAL
    assert found == pytest.approx(solver.Objective().Value(), abs=1e-4)
    step = planes[kernels.PLANES, :2]
    reached = np.maximum(0, planes[:n, 0] - planes[:n, 1:3] @ step) @ planes[:n, 3]
    assert reached == pytest.approx(found, abs=1e-4)


def test_tips_left_by_rounding_are_dropped() -> None:
    ring = np.array([(0, 0), (9000, 0), (9000, 9000), (4000, 9043), (4002, 9043), (0, 9100)], dtype=np.int64)
    assert _without_spikes(ring).tolist() == [[0, 0], [9000, 0], [9000, 9000], [4002, 9043], [0, 9100]]


@given(outlines())
def test_hull_area_is_shapelys(polygon: Points) -> None:
    assert hull_area(polygon) == Polygon(polygon).convex_hull.area
