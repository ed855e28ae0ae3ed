"""From the stitching line to the cutting line.

Facts of geometry, and shapely's own mitred buffer (GEOS) as a reference for one allowance all round.
"""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon
from shapely.affinity import scale
from shapely.geometry import box

from marker.model import seam
from marker.model.fold import fold_edge_of
from marker.model.ring import counter_clockwise, signed_area
from marker.model.seam import MITRE_LIMIT, add_allowance, move_out, take_allowance

SIZES = st.floats(30, 800)
WIDTHS = st.sampled_from([5.0, 10.0, 15.875, 25.0])


def rectangle(a, b):
    return ((0.0, 0.0), (a, 0.0), (a, b), (0.0, b))


@st.composite
def star_shaped(draw, least=3, most=14):
    """A simple polygon, convex or not, counter-clockwise, 60 to 300 mm from its middle."""
    n = draw(st.integers(least, most))
    angles = [2 * math.pi * (i + draw(st.floats(-0.35, 0.35))) / n for i in range(n)]
    radii = [draw(st.floats(60, 300)) for _ in range(n)]
    return counter_clockwise([(r * math.cos(t), r * math.sin(t)) for r, t in zip(radii, angles, strict=True)])


def apart(one, other):
    """How far the borders of two areas are from each other at most."""
    return Polygon(one).exterior.hausdorff_distance(Polygon(other).exterior)


@settings(deadline=None)
@given(SIZES, SIZES, WIDTHS)
def test_a_rectangle_grows_by_the_allowance_on_every_side(a, b, s):
    grown = add_allowance(rectangle(a, b), [s] * 4)
    assert len(grown) == 4
    assert signed_area(grown) == pytest.approx((a + 2 * s) * (b + 2 * s))
    assert Polygon(grown).length == pytest.approx(2 * (a + b) + 8 * s)


@settings(deadline=None)
@given(SIZES, SIZES, st.tuples(*[st.sampled_from([0.0, 5.0, 10.0, 25.0])] * 4))
def test_every_edge_of_a_rectangle_may_have_its_own_allowance(a, b, widths):
    bottom, right, top, left = widths
    grown = add_allowance(rectangle(a, b), widths)
    assert Polygon(grown).equals(box(-left, -bottom, a + right, b + top))


@settings(max_examples=60, deadline=None)
@given(star_shaped(), WIDTHS)
def test_one_allowance_all_round_agrees_with_the_mitred_buffer_of_geos(ring, s):
    reference = Polygon(Polygon(ring).buffer(s, join_style="mitre", mitre_limit=MITRE_LIMIT).exterior)
    assert apart(add_allowance(ring, [s] * len(ring)), reference) < 2 * seam.SAME


@settings(max_examples=60, deadline=None)
@given(star_shaped(), st.data())
def test_corner_by_corner_and_as_a_union_are_the_same_line(ring, data):
    widths = [data.draw(st.sampled_from([0.0, 5.0, 10.0, 25.0])) for _ in ring]
    direct = seam._direct(ring, widths, [False] * len(ring))
    if direct is not None and any(widths):
        assert apart(direct, seam._united(ring, widths, [False] * len(ring))) < 2 * seam.SAME


@settings(max_examples=60, deadline=None)
@given(star_shaped(), st.data())
def test_no_edge_gets_less_than_its_allowance(ring, data):
    widths = [data.draw(st.sampled_from([0.0, 5.0, 10.0, 25.0])) for _ in ring]
    try:
        cutting = Polygon(add_allowance(ring, widths))
    except ValueError:
        return
    assert cutting.is_valid and cutting.buffer(seam.SAME).covers(Polygon(ring))
    for i, width in enumerate(widths):
        start, end = ring[i], ring[(i + 1) % len(ring)]
        size = math.dist(start, end)
        normal = ((end[1] - start[1]) / size, (start[0] - end[0]) / size)
        out = [(x + width * normal[0], y + width * normal[1]) for x, y in (start, end)]
        assert cutting.buffer(seam.SAME).covers(LineString(out))


def test_a_mitre_that_would_reach_too_far_is_cut_off_square():
    # A point of 20 degrees: its mitre would reach 1 / sin 10° = 5.76 allowances from the corner.
    half = math.radians(10)
    ring = (
        (0.0, 0.0),
        (500 * math.cos(half), -500 * math.sin(half)),
        (500 * math.cos(half), 500 * math.sin(half)),
    )
    cutting = add_allowance(ring, [10.0] * 3)
    left = min(x for x, _ in cutting)
    assert left == pytest.approx(-MITRE_LIMIT * 10)
    cut_off = [y for x, y in cutting if x < left + 1e-6]
    assert len(cut_off) == 2 and cut_off[0] == pytest.approx(-cut_off[1])


def test_the_width_steps_out_square_along_a_smooth_edge():
    ring = ((0.0, 0.0), (100.0, 0.0), (200.0, 0.0), (200.0, 50.0), (0.0, 50.0))
    cutting = add_allowance(ring, [10.0, 25.0, 0.0, 0.0, 0.0])
    assert Polygon(cutting).equals(
        Polygon([(0, -10), (100, -10), (100, -25), (200, -25), (200, 50), (0, 50)])
    )


@settings(deadline=None)
@given(st.floats(40, 400), st.floats(40, 400), WIDTHS)
def test_a_rectangle_on_the_fold_grows_on_three_sides_and_ends_on_the_fold_line(a, b, s):
    cutting = add_allowance(rectangle(a, b), [s, s, s, 0.0], [False, False, False, True])
    assert Polygon(cutting).equals(box(0, -s, a + s, b + s))
    assert fold_edge_of(cutting, ((0.0, b), (0.0, 0.0))) == ((0.0, b + s), (0.0, -s))


@settings(max_examples=80, deadline=None)
@given(star_shaped(6, 12), WIDTHS)
def test_half_a_piece_with_its_allowance_is_half_of_the_whole_piece_with_its_allowance(ring, s):
    # Half of a symmetric piece: what lies right of the fold line x = 0, fold edge on the line.
    half = Polygon(ring).intersection(box(0, -1000, 1000, 1000))
    if half.geom_type != "Polygon" or half.area < 500:
        return
    outline = counter_clockwise([(float(x), float(y)) for x, y in list(half.exterior.coords)[:-1]])
    n = len(outline)
    on = [abs(x) < 1e-9 for x, _ in outline]
    fold = [on[i] and on[(i + 1) % n] for i in range(n)]
    # GEOS simplifies away what is tiny beside the allowance, so edges are kept long enough to compare.
    shortest = min(math.dist(outline[i], outline[(i + 1) % n]) for i in range(n))
    if sum(on) != 2 or sum(fold) != 1 or shortest < 3:
        return
    cutting = Polygon(add_allowance(outline, [0.0 if f else s for f in fold], fold))
    whole = half.union(scale(half, xfact=-1, origin=(0, 0)))
    grown = whole.buffer(s, join_style="mitre", mitre_limit=MITRE_LIMIT)
    expected = Polygon(grown.exterior).intersection(box(0, -2000, 2000, 2000))
    assert cutting.bounds[0] > -seam.SAME
    assert cutting.difference(expected.buffer(seam.SAME)).area < 0.05
    assert expected.difference(cutting.buffer(seam.SAME)).area < 0.05


def test_a_narrow_slot_is_filled_by_its_allowances():
    ring = counter_clockwise(
        [(0, 0), (200, 0), (200, 100), (110, 100), (110, 30), (100, 30), (100, 100), (0, 100)]
    )
    cutting = add_allowance(tuple((float(x), float(y)) for x, y in ring), [10.0] * 8)
    assert Polygon(cutting).equals_exact(box(-10, -10, 210, 110), 1e-9) or apart(
        cutting, [(-10, -10), (210, -10), (210, 110), (-10, 110)]
    ) == pytest.approx(0, abs=1e-6)


def test_allowances_that_close_round_a_hole_are_refused():
    # A frame with a gap of 15 mm: allowances of 10 mm close the gap and leave a hole inside.
    ring = counter_clockwise(
        [(0.0, 0.0), (300.0, 0.0), (300.0, 142.0), (200.0, 142.0), (200.0, 100.0), (100.0, 100.0)]
        + [(100.0, 200.0), (200.0, 200.0), (200.0, 157.0), (300.0, 157.0), (300.0, 300.0), (0.0, 300.0)]
    )
    with pytest.raises(ValueError, match="run into each other"):
        add_allowance(ring, [10.0] * len(ring))


def test_notches_move_straight_out_to_the_cutting_line():
    ring = ((0.0, 0.0), (60.0, 0.0), (200.0, 0.0), (200.0, 50.0), (0.0, 50.0))
    widths = [10.0, 10.0, 5.0, 5.0, 0.0]
    cutting = add_allowance(ring, widths)
    assert move_out((60.0, 0.0), ring, widths, cutting) == pytest.approx((60.0, -10.0))
    assert move_out((200.0, 50.0), ring, widths, cutting) == pytest.approx((205.0, 55.0))


@settings(max_examples=60, deadline=None)
@given(star_shaped(5, 12), WIDTHS, st.integers(0, 100))
def test_a_notch_lands_on_the_cutting_line_no_nearer_than_its_allowance(ring, s, which):
    widths = [s] * len(ring)
    cutting = add_allowance(ring, widths)
    at = ring[which % len(ring)]
    moved = move_out(at, ring, widths, cutting)
    assert Polygon(cutting).exterior.distance(Point(moved)) < 1e-6
    assert math.dist(at, moved) >= s - seam.SAME


def test_without_allowances_the_line_stays():
    ring = rectangle(30, 40)
    assert add_allowance(ring, [0.0] * 4) == ring


@given(st.floats(1e-13, 1e-3), st.booleans(), WIDTHS)
def test_a_vertex_on_a_nearly_straight_edge_makes_no_slit(bend, inwards, s):
    # A notch whose vertex lay 1e-8 mm off its edge once drew the cutting line to the stitching line and back.
    y = -bend if inwards else bend
    ring = ((0.0, 0.0), (100.0, y), (200.0, 0.0), (200.0, 90.0), (0.0, 90.0))
    cutting = add_allowance(counter_clockwise(ring), [s] * 5)
    assert Polygon(cutting).area == pytest.approx((200 + 2 * s) * (90 + 2 * s), rel=1e-4)
    for before, at, after in zip(
        cutting[-1:] + cutting[:-1], cutting, cutting[1:] + cutting[:1], strict=True
    ):
        one, two = (at[0] - before[0], at[1] - before[1]), (after[0] - at[0], after[1] - at[1])
        assert one[0] * two[0] + one[1] * two[1] > -0.5 * math.hypot(*one) * math.hypot(*two)


@settings(deadline=None)
@given(SIZES, SIZES, st.tuples(*[st.sampled_from([0.0, 5.0, 6.35, 10.0])] * 4))
def test_inside_a_rectangle_every_edge_has_its_own_allowance(a, b, widths):
    bottom, right, top, left = widths
    inside = take_allowance(rectangle(a, b), widths)
    assert Polygon(inside).symmetric_difference(box(left, bottom, a - right, b - top)).area < 1e-6


@settings(max_examples=60, deadline=None)
@given(star_shaped(), st.sampled_from([2.0, 5.0, 10.0]))
def test_one_allowance_inside_agrees_with_the_mitred_buffer_of_geos(ring, s):
    reference = Polygon(ring).buffer(-s, join_style="mitre", mitre_limit=MITRE_LIMIT)
    if reference.geom_type == "Polygon" and not reference.is_empty:
        assert apart(take_allowance(ring, [s] * len(ring)), reference) < 2 * seam.SAME


@settings(max_examples=60, deadline=None)
@given(star_shaped(), st.data())
def test_the_stitching_line_keeps_every_edge_its_allowance_away(ring, data):
    widths = [data.draw(st.sampled_from([0.0, 5.0, 10.0, 25.0])) for _ in ring]
    found = take_allowance(ring, widths)
    inside = Polygon(found)
    assert inside.is_valid and Polygon(ring).buffer(seam.SAME).covers(inside)
    for i, width in enumerate(widths):
        edge = LineString([ring[i], ring[(i + 1) % len(ring)]])
        strip = edge.buffer(width - seam.SAME, cap_style="flat", single_sided=True) if width else None
        assert strip is None or inside.intersection(strip).area < 0.05


def test_inside_too_the_width_steps_square_along_a_straight_edge():
    ring = ((0.0, 0.0), (100.0, 0.0), (200.0, 0.0), (200.0, 80.0), (0.0, 80.0))
    inside = take_allowance(ring, [10.0, 25.0, 0.0, 0.0, 0.0])
    assert Polygon(inside).equals(Polygon([(0, 10), (100, 10), (100, 25), (200, 25), (200, 80), (0, 80)]))


def test_at_a_hollow_corner_the_stitching_lines_run_on_until_they_meet():
    # An L: its inner corner at (40, 40), with 10 mm beside one of its edges and 6 mm beside the other.
    ring = ((0.0, 0.0), (100.0, 0.0), (100.0, 40.0), (40.0, 40.0), (40.0, 100.0), (0.0, 100.0))
    inside = take_allowance(ring, [0.0, 0.0, 10.0, 6.0, 0.0, 0.0])
    assert Polygon(inside).equals(Polygon([(0, 0), (100, 0), (100, 30), (34, 30), (34, 100), (0, 100)]))


@settings(deadline=None)
@given(st.floats(-0.3, 0.3), st.floats(-0.3, 0.3), st.sampled_from([5.0, 10.0, 15.0]))
def test_on_the_fold_the_stitching_line_is_half_of_that_of_the_whole_piece(top, bottom, s):
    """The edges beside the fold lean; opened out, the piece has a blunt or a hollow corner there."""
    ring = ((0.0, 0.0), (150.0, 150 * bottom), (150.0, 200 + 150 * top), (0.0, 200.0))
    inside = take_allowance(ring, [s, s, s, 0.0], ((0.0, 200.0), (0.0, 0.0)))
    half = Polygon(ring)
    whole = half.union(scale(half, xfact=-1, origin=(0, 0)))
    reference = whole.buffer(-s, join_style="mitre", mitre_limit=MITRE_LIMIT).intersection(
        box(0, -500, 500, 500)
    )
    assert Polygon(inside).symmetric_difference(reference).area < 0.05


def test_a_binding_has_no_stitching_line_left():
    assert take_allowance(rectangle(400.0, 30.0), [15.0] * 4) is None
