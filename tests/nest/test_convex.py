from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import MultiPoint, Point, Polygon
from shapely.ops import unary_union

from marker.nest.convex import convex_parts, hull, outside_parts, side
from marker.nest.nfp import no_fit_polygon
from tests.nest.polygons import Points, outlines, rectangle


def corners(shape: Points) -> list[tuple[int, int]]:
    return [(int(x), int(y)) for x, y in shape]


@given(shape=outlines())
@settings(max_examples=80, deadline=None)
def test_parts_are_convex_and_make_up_the_polygon(shape: Points) -> None:
    parts = [Polygon(part) for part in convex_parts(corners(shape))]
    assert all(part.equals(part.convex_hull) and part.exterior.is_ccw for part in parts)
    assert sum(part.area for part in parts) == pytest.approx(Polygon(shape).area)
    assert unary_union(parts).symmetric_difference(Polygon(shape)).area < 1e-6 * Polygon(shape).area


def test_a_convex_polygon_is_one_part() -> None:
    assert [sorted(part) for part in convex_parts(corners(rectangle(30, 20)))] == [
        sorted(corners(rectangle(30, 20)))
    ]


def test_a_ring_that_crosses_itself_is_given_as_its_hull() -> None:
    bow = [(0, 0), (10, 10), (10, 0), (0, 10)]
    assert convex_parts(bow) == [hull(bow)]


@given(
    points=st.lists(st.tuples(st.integers(-9, 9), st.integers(-9, 9)), min_size=3, max_size=20, unique=True)
)
@settings(max_examples=60, deadline=None)
def test_hull_is_that_of_shapely(points: list[tuple[int, int]]) -> None:
    expected = MultiPoint(points).convex_hull
    if expected.geom_type == "Polygon":
        assert Polygon(hull(points)).equals(expected)
        assert len(hull(points)) == len(expected.exterior.coords) - 1


@given(a=outlines(), b=outlines(), data=st.data())
@settings(max_examples=60, deadline=None)
def test_every_place_is_either_inside_or_in_a_part_outside(a: Points, b: Points, data: st.DataObject) -> None:
    rings = no_fit_polygon(a, b)
    edges, polygons = outside_parts(rings)
    outer = unary_union([Polygon(r) for r in rings if Polygon(r).exterior.is_ccw])
    inside = outer.difference(unary_union([Polygon(r) for r in rings if not Polygon(r).exterior.is_ccw]))
    low, high = np.floor(outer.bounds[:2]).astype(int), np.ceil(outer.bounds[2:]).astype(int)
    for _ in range(12):
        place = tuple(
            data.draw(st.integers(int(lo) - 5, int(hi) + 5)) for lo, hi in zip(low, high, strict=True)
        )
        beyond = any(side(start, end, place) <= 0 for start, end in edges)  # type: ignore[arg-type]
        bay = any(Polygon(part).covers(Point(place)) for part in polygons)
        if inside.boundary.distance(Point(place)) > 1e-6:
            assert (beyond or bay) != inside.contains(Point(place))
        else:
            assert beyond or bay
