"""Outlines that are cutting lines, with allowances of mixed widths included: where the stitching line runs.

Facts of plane geometry on rectangles and circles.
"""

import math

import pytest
from shapely import Point, Polygon
from shapely.geometry import box

from marker.errors import InputError
from marker.files.pattern import load_pattern
from tests.files.samples import write

HEAD = """
name = "Bag"
unit = "mm"
seam_allowance = "{allowance}"
[[piece]]
number = 1
name = "Body"
cuts = [{{ material = "fabric", count = 1 }}]
[piece.drawing.every]
outline = "M 0 0 H 200 V 300 H 0 Z"
grain = [[50, 250], [50, 50]]
"""


def load(folder, more, allowance="included 10 mm", head=HEAD):
    text = head.format(allowance=allowance) + more
    (piece,) = load_pattern(write(folder, text)).pieces["one size"]
    return piece


def test_the_cutting_line_stays_and_the_stitching_line_has_mixed_widths(tmp_path):
    hem = "allowances = [{ from = [200, 300], to = [0, 300], width = 40 }]\n"
    piece = load(
        tmp_path, hem + 'notches = [{ name = "a", at = [200, 100] }, { name = "b", at = [90, 300] }]'
    )
    assert Polygon(piece.outline).equals(box(0, -300, 200, 0))
    assert Polygon(piece.stitching).equals(box(10, -260, 190, -10))
    assert piece.included and not piece.added
    side, below = piece.notches
    assert side.at == (200.0, -100.0) and side.sewn == pytest.approx((190.0, -100.0))
    assert below.at == (90.0, -300.0) and below.sewn == pytest.approx((90.0, -260.0))


def test_a_notch_at_a_corner_is_sewn_where_both_seams_meet(tmp_path):
    piece = load(
        tmp_path,
        "allowances = [{ from = [200, 300], to = [0, 300], width = 40 }]\n"
        'notches = [{ name = "a", at = [200, 300] }]',
    )
    assert piece.notches[0].sewn == pytest.approx((190.0, -260.0))


def test_the_width_may_change_along_an_edge(tmp_path):
    piece = load(tmp_path, "allowances = [{ from = [200, 120], to = [200, 300], width = 25 }]")
    steps = Polygon([(10, -290), (175, -290), (175, -120), (190, -120), (190, -10), (10, -10)])
    assert Polygon(piece.stitching).symmetric_difference(steps).area < 1e-6


def test_a_fold_edge_has_none(tmp_path):
    piece = load(
        tmp_path,
        "fold = [[0, 0], [0, 300]]\nallowances = [{ from = [200, 300], to = [0, 300], width = 40 }]",
    )
    assert Polygon(piece.stitching).symmetric_difference(box(0, -260, 190, -10)).area < 1e-6


def test_inside_a_curve_the_stitching_line_keeps_its_distance(tmp_path):
    head = HEAD.replace("M 0 0 H 200 V 300 H 0 Z", "M 0 0 H 200 A 120 120 0 0 1 80 120 H 0 Z")
    piece = load(tmp_path, "", head=head.replace("[[50, 250], [50, 50]]", "[[20, 90], [20, 20]]"))
    edge = Polygon(piece.stitching).exterior
    for degrees in range(15, 85, 10):
        a = math.radians(degrees)
        at = Point(80 + 110 * math.cos(a), -110 * math.sin(a))
        assert edge.distance(at) < 0.1


def test_included_without_a_width_asks_for_that_of_the_rest(tmp_path):
    with pytest.raises(InputError, match=r"not on the rest.*included 15 mm"):
        load(tmp_path, "allowances = [{ from = [200, 300], to = [0, 300], width = 40 }]", "included")
    all_round = (
        "allowances = [{ from = [200, 300], to = [0, 300], width = 40 },"
        " { from = [0, 300], to = [200, 300], width = 10 }]"
    )
    piece = load(tmp_path, all_round, "included")
    assert Polygon(piece.stitching).equals(box(10, -260, 190, -10))


def test_a_binding_is_all_allowance_and_is_no_mistake(tmp_path):
    head = HEAD.replace("V 300", "V 30").replace("[[50, 250], [50, 50]]", "[[20, 15], [90, 15]]")
    piece = load(tmp_path, "", "included 15 mm", head)
    assert piece.stitching is None and Polygon(piece.outline).equals(box(0, -30, 200, 0))


def test_seams_in_pictures_run_on_the_stitching_line(tmp_path):
    from marker.report.flat import _sewn_on

    piece = load(tmp_path, "allowances = [{ from = [200, 300], to = [0, 300], width = 40 }]")
    assert Polygon(_sewn_on(piece)).equals(box(10, -260, 190, -10))
