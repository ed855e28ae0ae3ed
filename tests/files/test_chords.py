"""Chords beside curves: what is cut lies within a tenth of a millimetre of the true line.

References: circles (the line w outside a circle of radius r is the circle of radius r + w; its area is
pi (r + w)²), GEOS' round buffer of densely sampled Béziers, and de Casteljau's construction by fontTools.
"""

import math

import pytest
from fontTools.misc.bezierTools import cubicPointAtT
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon

from marker.files.chords import CHORD, chords
from marker.files.outline import Frame, parse_ring
from marker.files.pattern import load_pattern
from marker.model.seam import add_allowance
from tests.files.samples import write

MM = Frame("mm")
WIDTHS = st.sampled_from([0.0, 6.35, 10.0, 15.0, 40.0])


def cutting_line(path, width):
    drawn = parse_ring(path, MM)
    ring = drawn.beside([width] * len(drawn.segments)).ring
    return Polygon(add_allowance(ring, [width] * len(ring)))


def circle(radius):
    return f"M {-radius} 0 A {radius} {radius} 0 0 1 {radius} 0 A {radius} {radius} 0 0 1 {-radius} 0 Z"


@settings(max_examples=60, deadline=None)
@given(st.floats(2.6, 900), WIDTHS)
def test_round_a_circle_the_cutting_line_is_the_larger_circle(radius, width):
    cut = cutting_line(circle(radius), width)
    off = [math.hypot(x, y) - radius - width for x, y in cut.exterior.segmentize(0.5).coords]
    assert -CHORD <= min(off) < 0 < max(off) <= CHORD
    # On the whole neither outside nor inside: the area is that of a line 0.01 mm off at most.
    assert cut.area == pytest.approx(math.pi * (radius + width) ** 2, abs=0.01 * cut.length)


@pytest.mark.parametrize("radius", [2.6, 4.0, 6.0, 12.0])
def test_small_round_pieces_keep_their_area(radius):
    # Chords all inside the curve made a disc of 5 mm 2.5 % too small.
    assert cutting_line(circle(radius), 0.0).area == pytest.approx(math.pi * radius**2, rel=1e-3)


@st.composite
def smooth_curves(draw):
    """Closed runs of cubic Béziers without corners, convex or not, 10 to 600 mm across."""
    n, size = draw(st.integers(3, 8)), draw(st.sampled_from([10.0, 30.0, 100.0, 300.0]))
    angles = [2 * math.pi * (i + draw(st.floats(-0.3, 0.3))) / n for i in range(n)]
    at = [complex(size * draw(st.floats(0.5, 1.0)), 0) * complex(math.cos(a), math.sin(a)) for a in angles]
    way = [(at[(i + 1) % n] - at[i - 1]) / 6 for i in range(n)]
    return [(at[i], at[i] + way[i], at[(i + 1) % n] - way[(i + 1) % n], at[(i + 1) % n]) for i in range(n)]


@settings(max_examples=60, deadline=None)
@given(smooth_curves(), WIDTHS)
def test_beside_any_smooth_curve_it_is_as_near(curves, width):
    dense = [
        cubicPointAtT(*((p.real, p.imag) for p in curve), i / 300) for curve in curves for i in range(300)
    ]
    piece = Polygon(dense)
    assume(piece.is_valid)
    true = Polygon(piece.buffer(width, quad_segs=200).exterior)
    path = f"M {curves[0][0].real!r} {-curves[0][0].imag!r}"
    for curve in curves:
        path += " C " + " ".join(f"{p.real!r} {-p.imag!r}" for p in curve[1:])
    try:
        cut = cutting_line(path + " Z", width)
    except ValueError:
        assume(False)
    assert cut.exterior.segmentize(1.0).hausdorff_distance(true.exterior) <= CHORD + 0.005
    assert true.exterior.hausdorff_distance(cut.exterior.segmentize(1.0)) <= CHORD + 0.005
    assert cut.area == pytest.approx(true.area, abs=0.015 * true.length)


def test_a_wide_allowance_round_a_tight_curve(tmp_path):
    """A corner rounded with 12 mm under a hem of 40 mm once missed the line by 3.8 mm."""
    text = """
name = "Flap"
unit = "mm"
seam_allowance = 15
[[piece]]
number = 1
name = "Flap"
cuts = [{ material = "fabric", count = 1 }]
[piece.drawing.every]
outline = "M 0 0 H 200 V 100 A 12 12 0 0 1 188 112 H 12 A 12 12 0 0 1 0 100 Z"
grain = [[50, 90], [50, 20]]
allowances = [{ from = [200, 100], to = [0, 100], width = 40 }]
"""
    (piece,) = load_pattern(write(tmp_path, text)).pieces["one size"]
    edge = Polygon(piece.outline).exterior
    for degrees in range(5, 90, 5):
        a = math.radians(degrees)
        right = (188 + 52 * math.cos(a), -(100 + 52 * math.sin(a)))
        left = (12 - 52 * math.cos(a), -(100 + 52 * math.sin(a)))
        assert edge.distance(Point(right)) <= CHORD and edge.distance(Point(left)) <= CHORD


@pytest.mark.parametrize(
    "corners",
    [
        "[[0, 0], [20, 0], { at = [20, 20], bulge = 6 }, [0, 20]]",
        "[[0, 0], [20, 0], { through = [26, 10] }, [20, 20], [0, 20]]",
    ],
    ids=["bulge", "through"],
)
def test_typed_curves_keep_to_the_same_tolerance(tmp_path, corners):
    text = f"""
name = "Bag"
unit = "cm"
seam_allowance = "4 cm"
[[piece]]
number = 1
name = "Bag"
cuts = [{{ material = "fabric", count = 1 }}]
[piece.drawing.every]
corners = {corners}
grain = [[5, 18], [5, 2]]
"""
    (piece,) = load_pattern(write(tmp_path, text)).pieces["one size"]
    # The circle through (20, 0), (26, 10) and (20, 20): sagitta 6, half chord 10.
    radius = (100 + 36) / 12
    middle = 26 - radius
    edge = Polygon(piece.outline).exterior
    for degrees in range(-50, 51, 5):
        a = math.radians(degrees)
        at = Point(10 * (middle + (radius + 4) * math.cos(a)), -10 * (10 + (radius + 4) * math.sin(a)))
        assert edge.distance(at) <= CHORD


def test_a_straight_curve_is_one_chord_and_ends_stay():
    assert chords(((0.0, 0.0), (10.0, 0.0), (20.0, 0.0), (30.0, 0.0)), 40.0) == [(30.0, 0.0)]
    found = chords(((0.0, 0.0), (0.0, 40.0), (60.0, 40.0)), 10.0)
    assert found[-1] == (60.0, 40.0) and len(found) > 3


points = st.tuples(st.floats(-300, 300), st.floats(-300, 300))


@settings(max_examples=150, deadline=None)
@given(st.tuples(points, points, points, points), WIDTHS)
def test_any_curve_with_loops_and_cusps_too_is_followed(curve, reach):
    assume(max(math.dist(curve[0], p) for p in curve) > 1)
    line = LineString([curve[0], *chords(curve, reach)])
    for i in range(101):
        assert line.distance(Point(cubicPointAtT(*curve, i / 100))) <= CHORD + 1e-6


@settings(max_examples=60, deadline=None)
@given(st.tuples(points, points, points, points), WIDTHS)
def test_a_mirror_image_has_mirrored_chords(curve, reach):
    """Pieces that are their own mirror image stay so: backwards and mirrored a curve lies the same way."""
    assume(max(math.dist(curve[0], p) for p in curve) > 1)
    one = [curve[0], *chords(curve, reach)]
    turned = tuple((-x, y) for x, y in reversed(curve))
    other = [turned[0], *chords(turned, reach)]
    # In the tip of a curve that turns about, the ends of chords may be others, all within a few hundredths.
    mirrored = LineString([(-x, y) for x, y in other])
    assert LineString(one).hausdorff_distance(mirrored) < 0.05
    if len(one) == len(other):
        assert max(math.dist((x, y), (-u, v)) for (x, y), (u, v) in zip(one, other[::-1], strict=True)) < 0.05


@settings(max_examples=60, deadline=None)
@given(st.floats(15, 600), st.sampled_from([6.35, 10.0, 15.0, 40.0]), st.sampled_from([6.35, 15.0, 40.0]))
def test_a_corner_between_a_curve_and_a_straight_edge_is_mitred_along_the_tangents(radius, round_, straight):
    # A quarter of a disc: its tangents at both ends stand square on the straight edges.
    drawn = parse_ring(f"M 0 0 V {-radius!r} A {radius!r} {radius!r} 0 0 1 {radius!r} 0 Z", MM)
    bent = [len(segment) > 2 for segment in drawn.segments]
    drawn = drawn.beside([round_ if each else straight for each in bent])
    ring = drawn.ring
    on_arc = [
        all(math.hypot(*p) > 0.9 * radius for p in (ring[i], ring[(i + 1) % len(ring)]))
        for i in range(len(ring))
    ]
    cut = add_allowance(ring, [round_ if each else straight for each in on_arc])
    for corner in ((radius + round_, -straight), (-straight, radius + round_)):
        assert min(math.dist(corner, point) for point in cut) <= CHORD
