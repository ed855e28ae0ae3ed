"""Path data to polygons.

References: the path grammar of SVG 1.1 (second edition, 2011), chapter 8, and areas of the exact curves
from fontTools' area pen (Green's theorem), a general-purpose library.
"""

import math
from itertools import pairwise

import pytest
from fontTools.pens.areaPen import AreaPen
from fontTools.svgLib.path import parse_path
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LinearRing, LineString, Point

from marker.files.outline import CHORD, Frame, Wrong, parse_lines, parse_ring
from marker.model.ring import signed_area

MM = Frame("mm")
SMOOTH = "M 0 0 H 200 C 260 0 260 120 200 120 S 120 180 100 120 Q 60 60 0 120 T -20 60 Z"


def ring(path, frame=MM):
    return parse_ring(path, frame).ring


@pytest.mark.parametrize("unit", ["mm", "cm", "in"])
def test_the_model_is_in_millimetres_with_y_upwards_and_counter_clockwise(unit):
    size = {"mm": 1.0, "cm": 10.0, "in": 25.4}[unit]
    drawn = parse_ring("M 0 0 H 8 V 20 H 0 Z", Frame(unit))
    assert signed_area(drawn.ring) == pytest.approx(160 * size * size)
    assert {*drawn.ring} == {(0, 0), (8 * size, 0), (8 * size, -20 * size), (0, -20 * size)}


def test_the_way_round_makes_no_difference_but_is_told():
    one, other = parse_ring("M 0 0 H 80 V 20 H 0 Z", MM), parse_ring("M 0 0 V 20 H 80 V 0 Z", MM)
    assert {*one.ring} == {*other.ring}
    assert signed_area(one.ring) == signed_area(other.ring) == 1600
    assert one.turned != other.turned


@pytest.mark.parametrize(
    "path",
    [
        "M 10 10 L 90 10 L 90 50 L 10 50 L 10 10 Z",
        "M 10 10 L 90 10 L 90 50 L 10 50 L 10 10",
        "M10,10,90,10 90,50 10,50z",
        "m10 10 80 0 0 40-80 0z",
        "m 10 10\nh 80\nv 40\th -80 v-40",
        "M10 10H90V50H10Z",
        "M 1e1 10. L+90 1.0E1 90 50L10,50 Z Z",
    ],
)
def test_one_rectangle_in_the_many_spellings_that_the_grammar_allows(path):
    assert {*ring(path)} == {(10, -10), (90, -10), (90, -50), (10, -50)}


def test_arc_flags_may_stand_without_a_space():
    spaced = ring("M 0 0 H 100 A 50 50 0 0 1 100 100 H 0 Z")
    assert ring("M0 0H100A50 50 0 01100 100H0Z") == spaced
    assert ring("M0 0H100\nA50 50\n0 0\n1 100 100H0Z") == spaced


def test_an_arc_without_radius_is_a_line():
    assert ring("M 0 0 H 100 A 0 50 0 0 1 100 100 H 0 Z") == ring("M 0 0 H 100 V 100 H 0 Z")


@settings(deadline=None)
@given(st.floats(5, 900))
def test_a_circle_keeps_within_the_chord_tolerance(radius):
    found = ring(
        f"M {-radius} 0 A {radius} {radius} 0 0 1 {radius} 0 A {radius} {radius} 0 0 1 {-radius} 0 Z"
    )
    # Ends of chords lie on the circle or outside it, their middles on it or inside.
    assert all(-1e-5 * radius <= math.hypot(x, y) - radius <= CHORD for x, y in found)
    middles = [((ax + bx) / 2, (ay + by) / 2) for (ax, ay), (bx, by) in pairwise(found)]
    assert all(0 <= radius - math.hypot(x, y) <= CHORD for x, y in middles)


@settings(max_examples=50, deadline=None)
@given(st.tuples(*[st.floats(-300, 300)] * 4))
def test_chords_stay_within_their_tolerance_of_a_curve(controls):
    bx, by, cx, cy = controls
    (line,) = parse_lines(f"M 0 0 C {bx} {by} {cx} {cy} 200 100", MM)
    chords = LineString(line)
    for k in range(201):
        t = k / 200
        weights = 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3
        x = weights[0] * bx + weights[1] * cx + weights[2] * 200
        y = weights[0] * by + weights[1] * cy + weights[2] * 100
        assert chords.distance(Point(x, -y)) <= CHORD + 1e-9


def test_areas_are_those_of_the_exact_curves():
    pen = AreaPen()
    parse_path(SMOOTH, pen)
    found = ring(SMOOTH)
    assert abs(abs(pen.value) - signed_area(found)) <= CHORD * LinearRing(found).length
    assert abs(abs(pen.value) - signed_area(found)) <= 0.002 * abs(pen.value)


def test_ends_of_drawn_lines_and_curves_stay_where_they_are():
    drawn = parse_ring(SMOOTH, MM)
    for corner in [(0, 0), (200, 0), (200, -120), (100, -120), (0, -120), (-20, -60)]:
        assert corner in drawn.ring and corner in drawn.corners


def test_relative_commands_draw_what_absolute_ones_do():
    relative = "m 0 0 h 200 c 60 0 60 120 0 120 s -80 60 -100 0 q -40 -60 -100 0 t -20 -60 z"
    one, other = ring(SMOOTH), ring(relative)
    assert len(one) == len(other)
    assert all(math.dist(p, q) < 1e-9 for p, q in zip(one, other, strict=True))


def test_inner_lines_may_be_open_closed_or_in_parts():
    lines = parse_lines("M 0 0 H 10 V 10 Z M 50 50 L 60 60", MM)
    assert [len(line) for line in lines] == [4, 2]
    assert lines[0][0] == lines[0][-1]
    with pytest.raises(Wrong, match="only the point"):
        parse_lines("M 5 5", MM)


@pytest.mark.parametrize(
    ("path", "told"),
    [
        ("M 0 0 H 10 V 10 Z L 5 5", "goes on with L after Z"),
        ("M 0 0 5", "gives M 3 numbers"),
        ("M", "gives M 0 numbers"),
        ("M 0 0 Q 1 1 2 Z", "gives Q 3 numbers; it takes 4"),
        ("M 0 0 A 5 5 0 1 1 9 Z", "gives A 6 numbers; it takes 7"),
        ("M 0 0 H 5 5 ;", "cannot be read"),
        ("0 0 H 5", "cannot be read"),
    ],
)
def test_broken_path_data_is_told_with_the_command(path, told):
    with pytest.raises(Wrong, match=told):
        parse_lines(path, MM)


@settings(deadline=None)
@given(st.text(alphabet="MLHVCSQTAZmlhvcsqtaz0123456789.,-+eE \n", max_size=40))
def test_any_text_is_an_outline_or_told_to_be_wrong(text):
    try:
        drawn = parse_ring(text, MM)
    except Wrong as wrong:
        assert str(wrong)
    else:
        assert signed_area(drawn.ring) > 0
