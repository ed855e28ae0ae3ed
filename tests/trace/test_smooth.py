"""Smoothing keeps corners and what was measured, and makes straight edges straight."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from marker.files.outline import Frame, parse_ring
from marker.trace.smooth import TOLERANCE, smooth
from tests.trace.scenes import bezier, bodice, cuff, sleeve

HIP = np.concatenate(
    [
        np.array([(0.0, 0.0), (0.0, 600.0), (220.0, 600.0)]),
        bezier((250, 600), (250, 400), (245, 150), (200, 0)),
    ]
)
CIRCLE = np.array(
    [(100 * np.cos(a), 100 * np.sin(a)) for a in np.linspace(0, 2 * np.pi, 300, endpoint=False)]
)
SHAPES = {
    "bodice": bodice(),
    "sleeve": sleeve(angle=20),
    "cuff": cuff(angle=13),
    "hip": HIP,
    "circle": CIRCLE,
}


def measured(outline, noise=0.2, seed=0):
    """Points every 0.7 mm of an outline, off by noise that neighbours share, as along a photographed edge."""
    line = shapely.LinearRing(outline)
    at = shapely.line_interpolate_point(line, np.arange(0.0, line.length, 0.7))
    points = shapely.get_coordinates(at)
    white = np.random.default_rng(seed).normal(0, noise, points.shape)
    return points + sum(np.roll(white, k, axis=0) for k in range(4)) / 2


@pytest.mark.parametrize("name", SHAPES)
def test_stays_near_the_truth_and_the_measured_points(name):
    outline = SHAPES[name]
    smoothed = smooth(measured(outline))
    there = shapely.hausdorff_distance(
        shapely.LinearRing(smoothed.ring), shapely.LinearRing(outline), densify=0.01
    )
    assert there < 0.8
    assert smoothed.off_98 <= TOLERANCE
    assert shapely.Polygon(smoothed.ring).area == pytest.approx(shapely.Polygon(outline).area, rel=0.002)


@pytest.mark.parametrize("name", ["bodice", "sleeve", "cuff", "hip"])
def test_corners_stay(name):
    corners = {
        "bodice": [(0, 90), (0, 420), (250, 408), (258, 190), (212, 35), (85, 0)],
        "sleeve": sleeve(angle=20)[[0, 120, 121, 181]].tolist(),
        "cuff": cuff(angle=13).tolist(),
        "hip": [(0, 0), (0, 600), (250, 600), (200, 0)],
    }[name]
    smoothed = smooth(measured(SHAPES[name]))
    joints = np.array([smoothed.start, *(segment.end for segment in smoothed.segments)])
    for corner in corners:
        assert np.linalg.norm(joints - corner, axis=1).min() < 0.7


def test_a_rectangle_is_four_straight_lines():
    smoothed = smooth(measured(cuff(angle=13)))
    assert len(smoothed.segments) == 4
    assert all(segment.controls is None for segment in smoothed.segments)


def test_straight_edges_of_a_curved_piece_are_lines_and_its_curves_are_curves():
    smoothed = smooth(measured(bodice()))
    lines = 0.0
    at = smoothed.start
    for segment in smoothed.segments:
        lines += np.linalg.norm(segment.end - at) if segment.controls is None else 0.0
        at = segment.end
    # Centre 330 mm, hem 250.3, side 218.1, shoulder 131.8 by the coordinates of the drawing.
    assert lines == pytest.approx(330 + 250.3 + 218.1 + 131.8, abs=6)


def test_a_long_slight_curve_is_no_chain_of_lines():
    smoothed = smooth(measured(HIP))
    curved = sum(segment.controls is not None for segment in smoothed.segments)
    assert curved >= 1
    assert len(smoothed.segments) < 20


def test_path_data_is_the_same_outline():
    smoothed = smooth(measured(sleeve()))
    drawn = parse_ring(smoothed.path(), Frame("mm")).ring
    turned = shapely.Polygon([(x, -y) for x, y in drawn])
    assert turned.symmetric_difference(shapely.Polygon(smoothed.ring)).area < 0.001 * turned.area


@settings(max_examples=15)
@given(st.floats(0, 360), st.floats(0.3, 2.5), st.integers(0, 10_000))
def test_turned_scaled_and_noisy_pieces_stay_within_the_tolerance(angle, scale, seed):
    outline = bodice(angle=angle, scale=scale)
    smoothed = smooth(measured(outline, 0.15, seed))
    assert smoothed.off_98 <= TOLERANCE
    polygon = shapely.Polygon(smoothed.ring)
    assert polygon.is_valid
    assert polygon.area == pytest.approx(shapely.Polygon(outline).area, rel=0.004)
