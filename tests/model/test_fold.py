"""The edge that is laid on the fold."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon

from marker.model.fold import fold_edge_of, reaches_across, straight_stretch, unfold
from marker.model.ring import signed_area

HALF = ((0.0, 0.0), (100.0, 0.0), (80.0, 150.0), (0.0, 120.0))


def test_the_fold_edge_is_found_in_ring_order():
    assert fold_edge_of(HALF, ((0.0, 0.0), (0.0, 120.0))) == ((0.0, 120.0), (0.0, 0.0))
    assert straight_stretch(HALF, (0.0, 0.0), (0.0, 120.0)) == ((0.0, 120.0), (0.0, 0.0))


def test_points_on_the_way_do_not_break_the_fold_edge():
    ring = (*HALF, (0.0, 70.0), (0.0, 20.0))
    assert fold_edge_of(ring, ((0.0, 0.0), (0.0, 1.0))) == ((0.0, 120.0), (0.0, 0.0))
    assert straight_stretch(ring, (0.0, 0.0), (0.0, 120.0)) == ((0.0, 120.0), (0.0, 0.0))


def test_of_two_edges_on_the_line_the_longer_one_counts():
    ring = ((0.0, 0.0), (50.0, 0.0), (50.0, 100.0), (0.0, 100.0), (0.0, 90.0), (20.0, 80.0), (0.0, 70.0))
    assert fold_edge_of(ring, ((0.0, 0.0), (0.0, 100.0))) == ((0.0, 70.0), (0.0, 0.0))


def test_no_edge_on_the_line_no_fold_edge():
    assert fold_edge_of(HALF, ((50.0, 0.0), (50.0, 10.0))) is None
    assert straight_stretch(HALF, (0.0, 0.0), (80.0, 150.0)) is None


def test_a_piece_that_reaches_across_its_fold_is_noticed():
    ring = ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (-5.0, 200.0), (0.0, 100.0))
    assert reaches_across(HALF, ((0.0, 120.0), (0.0, 0.0))) is None
    assert reaches_across(ring, ((0.0, 100.0), (0.0, 0.0))) == (-5.0, 200.0)


@settings(deadline=None)
@given(st.floats(20, 300), st.floats(20, 300), st.floats(10, 300))
def test_an_unfolded_piece_has_twice_the_area_and_is_symmetric(width, height, slant):
    ring = ((0.0, 0.0), (width, 0.0), (width / 2, slant), (0.0, height))
    if not Polygon(ring).is_valid:
        return
    whole = unfold(ring, ((0.0, height), (0.0, 0.0)))
    assert len(whole) == 6
    assert signed_area(whole) == pytest.approx(2 * signed_area(ring))
    for x, y in whole:
        assert any(math.dist((-x, y), other) < 1e-9 for other in whole)
