"""A half opened out: twice the area, its own mirror image."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon
from shapely.affinity import scale

from marker.cloth.demand import ring_area
from marker.cloth.unfold import reflection, unfold

heights = st.lists(st.floats(5.0, 80.0), min_size=2, max_size=12)


@given(heights, st.floats(-50, 50), st.floats(-50, 50))
def test_whole_is_twice_the_half_and_symmetric(tops, dx, dy):
    points = [(0.0, 0.0), (10.0 * (len(tops) - 1), 0.0)]
    points += [(10.0 * k, top) for k, top in reversed(list(enumerate(tops)))]
    half = tuple((x + dx, y + dy) for x, y in points)
    whole = unfold(half, (half[0], half[1]))
    shape = Polygon(whole)
    assert shape.is_valid and shape.exterior.is_ccw
    assert ring_area(whole) == pytest.approx(2 * ring_area(half))
    mirrored = scale(shape, 1, -1, origin=(0, dy))
    assert shape.symmetric_difference(mirrored).area == pytest.approx(0, abs=1e-6)


def test_a_split_fold_edge_leaves_no_vertex_on_the_fold_line():
    half = ((0.0, 0.0), (4.0, 0.0), (10.0, 0.0), (10.0, 5.0), (0.0, 5.0))
    assert len(unfold(half, ((0.0, 0.0), (10.0, 0.0)))) == 6


def test_the_edge_must_be_on_the_ring():
    with pytest.raises(ValueError):
        unfold(((0.0, 0.0), (10.0, 0.0), (10.0, 5.0)), ((0.0, 90.0), (10.0, 90.0)))


@given(st.floats(-9, 9), st.floats(-9, 9), st.floats(-9, 9), st.floats(-9, 9))
def test_reflecting_twice_changes_nothing(x, y, px, py):
    reflect = reflection(((x, y), (x + 3, y + 4)))
    assert reflect(reflect((px, py))) == pytest.approx((px, py), abs=1e-9)
