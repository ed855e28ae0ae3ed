from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon

from marker.nest.problem import LIMIT
from marker.nest.simplify import inflate, simplify_outwards
from tests.nest.polygons import Points, outlines, polygon, rectangle


def contains(outer: Points, inner: Points) -> bool:
    """Whether the outer polygon contains the inner one, up to the rounding of shapely's floats."""
    return Polygon(inner).difference(Polygon(outer)).area < 1e-6


def wavy(points: int, radius: float = 20_000.0) -> Points:
    """A smooth outline with hollows and bulges, flattened finely."""
    t = np.linspace(0, 2 * math.pi, points, endpoint=False)
    r = radius * (1 + 0.25 * np.sin(5 * t) + 0.05 * np.cos(11 * t))
    return np.rint(np.column_stack((r * np.cos(t), 0.6 * r * np.sin(t)))).astype(np.int64)


@given(shape=outlines(), tolerance=st.integers(0, 150))
@settings(max_examples=150, deadline=None)
def test_contains_the_outline_within_the_tolerance_with_no_more_points(shape: Points, tolerance: int) -> None:
    simple = simplify_outwards(shape, tolerance)
    result = Polygon(simple)
    assert result.is_valid and result.exterior.is_ccw
    assert contains(simple, shape)
    assert len(simple) <= len(shape)
    assert result.exterior.hausdorff_distance(Polygon(shape).exterior) <= tolerance + 1e-6


@given(shape=outlines(), by=st.integers(1, 40), tolerance=st.integers(0, 60))
@settings(max_examples=80, deadline=None)
def test_inflated_then_simplified_keeps_the_distance(shape: Points, by: int, tolerance: int) -> None:
    wide = inflate(shape, by)
    around = simplify_outwards(wide, tolerance)
    assert Polygon(wide).is_valid and Polygon(wide).exterior.is_ccw
    assert Polygon(around).exterior.distance(Polygon(shape)) >= by
    assert Polygon(wide).within(Polygon(shape).buffer(2 * by + 5, quad_segs=32))


@pytest.mark.parametrize("points", [60, 500])
def test_a_finely_flattened_curve_loses_most_of_its_points(points: int) -> None:
    shape = wavy(points)
    simple = simplify_outwards(shape, 300)
    assert len(simple) <= 45
    assert Polygon(simple).area <= 1.03 * Polygon(shape).area
    assert contains(simple, shape)


def test_polygons_without_small_features_stay_as_they_are() -> None:
    l_shape = polygon((0, 0), (5000, 0), (5000, 2000), (2000, 2000), (2000, 5000), (0, 5000))
    assert simplify_outwards(l_shape, 100).tolist() == l_shape.tolist()
    assert simplify_outwards(rectangle(300, 200), 0).tolist() == rectangle(300, 200).tolist()


def test_cut_corners_and_notches_go_but_straight_edges_stay() -> None:
    shape = polygon(
        (0, 0), (4000, 0), (4000, 2960), (3960, 3000), (2040, 3000), (2000, 2930), (1960, 3000), (0, 3000)
    )
    assert sorted(simplify_outwards(shape, 80).tolist()) == [[0, 0], [0, 3000], [4000, 0], [4000, 3000]]


def test_a_rectangle_inflates_to_a_rectangle() -> None:
    wide = Polygon(inflate(rectangle(500, 300), 15))
    assert wide.equals(Polygon(rectangle(534, 334, -17, -17)))


def test_by_nothing_changes_nothing() -> None:
    assert inflate(rectangle(500, 300), 0).tolist() == rectangle(500, 300).tolist()


def test_a_room_that_closes_up_is_filled() -> None:
    room = polygon(
        (0, 0),
        (100, 0),
        (100, 48),
        (90, 48),
        (90, 10),
        (10, 10),
        (10, 90),
        (90, 90),
        (90, 52),
        (100, 52),
        (100, 100),
        (0, 100),
    )
    assert Polygon(inflate(room, 3)).equals(Polygon(rectangle(110, 110, -5, -5)))


def test_refuses_to_shrink_or_to_leave_the_lattice() -> None:
    with pytest.raises(ValueError, match="positive"):
        inflate(rectangle(5, 5), -1)
    with pytest.raises(ValueError, match="reach"):
        inflate(rectangle(LIMIT - 10, 5), 10)
