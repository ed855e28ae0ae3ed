"""Sizes copied from another one with differences at named corners.

References: plane geometry and shapely; cubic Béziers leave a corner towards their control point. That a point
between two graded points moves in proportion is common practice, no source.
"""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, Polygon

from marker.errors import InputError
from marker.files.copied import mean_value_weights
from marker.files.curves import spline
from marker.files.edges import Edge
from marker.files.json_schema import pattern_schema
from marker.files.pattern import load_pattern
from tests.files.samples import write

HEAD = """\
name = "Vest"
unit = "cm"
sizes = ["S", "M", "L", "XL"]
seam_allowance = "included"
[fabric.fabric]
width = "140 cm"
[[piece]]
number = "1"
name = "Front"
cuts = [{ material = "fabric", count = 1 }]
"""
CORNERS = """\
corners = [
  { at = [0, 10], name = "neck" },
  { through = [5, 9] }, { through = [8, 5] },
  { at = [10, 0], name = "neck side" },
  { at = [20, 4], name = "shoulder" },
  { at = [26, 20], hollow = 3, name = "underarm" },
  { at = [26, 60], name = "side hem" },
  { at = [0, 60], name = "front hem" },
]
"""
OUTLINE = """\
outline = "M 0 10 C 6 10 10 6 10 0 L 20 4 Q 19 18 26 20 V 60 H 0 Z"
named_corners = { neck = [0, 10], "neck side" = [10, 0], shoulder = [20, 4], underarm = [26, 20], \
"side hem" = [26, 60], "front hem" = [0, 60] }
"""
MORE = """\
grain = [[13, 50], [13, 20]]
fold = [[0, 10], "front hem"]
notches = [{ name = "side", from = "underarm", towards = "side hem", distance = 9 },
  { name = "low", at = [26, 40] }]
drills = [[13, 40]]
lines = ["M 0 60 V 30 H 26"]
regions = { edge = "M 0 60 H 26 V 50 H 0 Z" }
"""
EACH = "[piece.drawing.{}]\n"
LONGER = 'like = "M"\nmove = { "side hem" = [0, 2], "front hem" = { down = "20 mm" } }\n'


def pattern(folder, **drawings):
    text = HEAD + "".join(EACH.format(size) + drawing for size, drawing in drawings.items())
    sizes = ", ".join(f'"{size}"' for size in drawings)
    return load_pattern(write(folder, text.replace('"S", "M", "L", "XL"', sizes), "vest.toml"))


def piece(folder, size, **drawings):
    (found,) = pattern(folder, **drawings).pieces[size]
    return found


def shape(found):
    """In centimetres, y downwards."""
    return Polygon([(x / 10, -y / 10) for x, y in found.outline])


def centimetres(points):
    return [(x / 10, -y / 10) for x, y in points]


def refusal(folder, **drawings):
    with pytest.raises(InputError) as caught:
        pattern(folder, **drawings)
    assert "\n" not in str(caught.value)
    return str(caught.value)


both = pytest.mark.parametrize("drawing", [CORNERS, OUTLINE], ids=["corners", "outline"])


@both
def test_a_copy_without_differences_is_the_same(drawing, tmp_path):
    made = pattern(tmp_path, M=drawing + MORE, L='like = "M"\n')
    (one,), (other,) = made.pieces["M"], made.pieces["L"]
    assert shape(one).symmetric_difference(shape(other)).area < 1e-3
    for a, b in zip(one.notches, other.notches, strict=True):
        assert a.at == pytest.approx(b.at, abs=1e-3)
    assert one.drills[0] == pytest.approx(other.drills[0], abs=1e-3)
    assert np.array(one.fold_edge) == pytest.approx(np.array(other.fold_edge), abs=1e-3)
    assert np.array(one.grain) == pytest.approx(np.array(other.grain), abs=1e-3)


@both
def test_a_longer_size_is_longer_and_nothing_else(drawing, tmp_path):
    made = pattern(tmp_path, M=drawing + MORE, L=LONGER)
    one, other = shape(made.pieces["M"][0]), shape(made.pieces["L"][0])
    assert other.area - one.area == pytest.approx(26 * 2, abs=0.01)
    assert other.bounds == pytest.approx((0, 0, 26, 62), abs=1e-6)
    # Above the underarm nothing has changed.
    upper = Polygon([(-1, -1), (30, -1), (30, 19.9), (-1, 19.9)])
    assert one.intersection(upper).symmetric_difference(other.intersection(upper)).area < 1e-3
    (found,) = made.pieces["L"]
    notches = {
        notch.name: at
        for notch, at in zip(found.notches, centimetres(n.at for n in found.notches), strict=True)
    }
    # One keeps its distance from the underarm, the other its share of the seam: half of 42 instead of 40.
    assert notches["side"] == pytest.approx((26, 29), abs=1e-4)
    assert notches["low"] == pytest.approx((26, 41), abs=1e-4)
    assert centimetres(found.fold_edge) in ([(0, 10), (0, 62)], [(0, 62), (0, 10)])
    # A region that ends at the hem ends there again; a line that begins there begins there.
    assert centimetres(found.lines[0])[0] == pytest.approx((0, 62), abs=1e-4)
    ((x, y),) = centimetres(found.drills)
    assert 40 < y < 42 and 12 < x < 14
    tail, head = centimetres(found.grain)
    assert tail[0] == pytest.approx(head[0], abs=1e-6) and math.dist(tail, head) == pytest.approx(30)


def test_a_region_keeps_to_the_edge_it_was_drawn_on(tmp_path):
    text = CORNERS + MORE
    head = HEAD.replace(
        "count = 1 }]", 'count = 1 }, { material = "interfacing", count = 1, region = "edge" }]'
    )
    path = write(
        tmp_path,
        head.replace('"S", "M", "L", "XL"', '"M", "L"') + EACH.format("M") + text + EACH.format("L") + LONGER,
    )
    (found,) = load_pattern(path).pieces["L"]
    region = Polygon(centimetres(found.cuts[1].region))
    assert region.bounds[3] == pytest.approx(62, abs=1e-4)
    assert region.bounds[0] == pytest.approx(0, abs=1e-4) and region.bounds[2] == pytest.approx(26, abs=1e-4)
    # 10 of 50 down the front, 10 of 40 down the side: with 2 more they are 10.4 and 10.5.
    assert sorted({round(y, 2) for _, y in region.exterior.coords})[:2] == [51.5, 51.6]


@both
def test_a_curve_stays_square_to_the_fold_when_its_end_moves(drawing, tmp_path):
    """The neckline of M leaves the centre front level, and so does one lower and wider."""
    moved = 'like = "M"\nmove = { neck = [0, 1.5], "neck side" = [2, 0] }\n'
    made = pattern(tmp_path, M=drawing + MORE, L=moved)
    for size, start in (("M", 10), ("L", 11.5)):
        ring = shape(made.pieces[size][0]).exterior
        at = ring.project(Point(0, start))
        near = [ring.interpolate((at + step) % ring.length) for step in (-0.5, 0.5)]
        beside = next(point for point in near if point.x > 0.1)
        slope = abs(beside.y - start) / beside.x
        if size == "M":
            drawn = slope
    assert slope == pytest.approx(drawn, abs=0.03)
    assert shape(made.pieces["L"][0]).exterior.distance(Point(12, 0)) < 0.01


def test_points_on_a_curve_move_by_their_share_of_it(tmp_path):
    """A whole curve moved is the same curve moved; with one end moved a point half-way moves by half."""
    corners = "corners = [{ at = [0, 0], name = 'a' }, { at = [20, 0], name = 'b' }, { through = [10, 8] }]\n"
    grain = "grain = [[10, 6], [10, 2]]\n"
    both_ends = 'like = "M"\nmove = { a = [3, 1], b = [3, 1] }\n'
    one_end = 'like = "M"\nmove = { b = [4, 0] }\n'
    made = pattern(tmp_path, M=corners + grain, L=both_ends, XL=one_end)
    one, other, wide = (shape(made.pieces[size][0]) for size in ("M", "L", "XL"))
    assert Polygon([(x + 3, y + 1) for x, y in one.exterior.coords]).symmetric_difference(other).area < 0.1
    assert wide.exterior.distance(Point(12, 8)) < 0.011


def test_a_curve_drawn_in_two_parts_moves_as_one_and_a_named_point_on_it_by_itself(tmp_path):
    """Half a circle from two quarters: where they join is no corner, until it has a name and moves."""
    named = "named_corners = {{ a = [0, 0], b = [20, 0]{} }}\ngrain = [[10, 6], [10, 2]]\n"
    half = 'outline = "M 0 0 H 20 A 10 10 0 0 1 10 10 A 10 10 0 0 1 0 0 Z"\n'
    made = pattern(
        tmp_path,
        M=half + named.format(""),
        L='like = "M"\nmove = { b = [4, 0] }\n',
        XL='like = "L"\nmove = { b = [4, 0] }\n',
    )
    for size, low in (("M", 10), ("L", 12), ("XL", 14)):
        ring = shape(made.pieces[size][0])
        assert ring.exterior.distance(Point(low, 10)) < 0.011
        assert ring.bounds[3] == pytest.approx(10, abs=0.02)
    lowered = piece(
        tmp_path, "L", M=half + named.format(", low = [10, 10]"), L='like = "M"\nmove.low = [0, 3]\n'
    )
    ring = shape(lowered)
    assert ring.bounds == pytest.approx((0, 0, 20, 13), abs=0.02)
    # No kink: close to the lowest point the curve is as good as level on both sides.
    assert ring.exterior.distance(Point(9.8, 13)) < 0.02 and ring.exterior.distance(Point(10.2, 13)) < 0.02


shifts = st.tuples(st.floats(-20, 20), st.floats(-20, 20))


@settings(max_examples=60)
@given(
    st.lists(st.tuples(st.floats(5, 60), st.floats(-30, 30)), min_size=4, max_size=7),
    shifts,
    shifts,
)
def test_a_smooth_curve_with_moved_ends_is_as_smooth_as_before(steps, start, end):
    """Slope and curvature run on where the parts of a spline meet, and the ends keep their directions.

    Measured on the Béziers themselves, over the chords of the curve before: derivatives of Bézier curves are
    differences of their control points (Farin 2002).
    """
    points = [(0.0, 0.0)]
    for x, y in steps:
        points.append((points[-1][0] + x, y))
    before = Edge(points[0], tuple(spline(points)), points[-1])
    after = before.moved(start, end)
    assert after.start == pytest.approx(start)
    assert after.end == pytest.approx((points[-1][0] + end[0], points[-1][1] + end[1]))
    controls = np.array([after.start, *after.curve])
    h = [math.dist(a, b) for a, b in pairwise(points)]
    for k in range(1, len(h)):
        p, q = controls[3 * k - 3 : 3 * k + 1], controls[3 * k : 3 * k + 4]
        assert (p[3] - p[2]) / h[k - 1] == pytest.approx((q[1] - q[0]) / h[k], abs=1e-9)
        one = (p[1] - 2 * p[2] + p[3]) / h[k - 1] ** 2
        other = (q[0] - 2 * q[1] + q[2]) / h[k] ** 2
        assert one == pytest.approx(other, abs=1e-9)
    old = np.array([before.start, *before.curve])
    assert controls[1] - controls[0] == pytest.approx(old[1] - old[0], abs=1e-9)
    assert controls[-1] - controls[-2] == pytest.approx(old[-1] - old[-2], abs=1e-9)


def test_a_bulge_is_as_deep_as_before_and_a_measured_length_gives_way(tmp_path):
    corners = (
        'corners = [[0, 0], { at = [20, 0], name = "a" }, { at = [20, 30], bulge = 2, '
        'length = 30.35, name = "b" }, { at = [0, 30], length = 20, name = "c" }]\n'
        "grain = [[10, 20], [10, 5]]\n"
    )
    found = shape(piece(tmp_path, "L", M=corners, L='like = "M"\nmove = { b = [0, 6], c = [0, 6] }\n'))
    assert found.bounds == pytest.approx((0, 0, 22, 36), abs=0.011)


def test_chains_of_sizes_add_up_in_any_order(tmp_path):
    step = 'move = { "side hem" = [1, 2], "front hem" = [0, 2], underarm = [1, 0] }\n'
    made = pattern(
        tmp_path,
        XL='like = "L"\n' + step,
        L='like = "M"\n' + step,
        M=OUTLINE + MORE,
        S='like = "M"\nmove = { "side hem" = { left = 1, up = 2 }, "front hem" = { up = 2 }, '
        "underarm = [-1, 0] }\n",
    )
    widths = {size: shape(made.pieces[size][0]).bounds[2:] for size in made.sizes}
    assert widths["S"] == pytest.approx((25, 58))
    assert widths["L"] == pytest.approx((27, 62))
    assert widths["XL"] == pytest.approx((28, 64))


def test_the_drawing_for_every_size_can_be_copied_too(tmp_path):
    text = HEAD + EACH.format("every") + CORNERS + MORE + EACH.format("XL") + LONGER.replace('"M"', '"every"')
    found = load_pattern(write(tmp_path, text)).pieces
    assert [shape(found[size][0]).bounds[3] for size in ("S", "M", "L", "XL")] == pytest.approx(
        [60, 60, 60, 62]
    )


def test_what_a_copy_says_itself_takes_the_place_of_what_it_copies(tmp_path):
    found = piece(
        tmp_path,
        "L",
        M=CORNERS + MORE,
        L=LONGER + 'notches = [{ name = "new", at = "underarm" }]\ndrills = []\n',
    )
    assert [notch.name for notch in found.notches] == ["new"]
    assert found.drills == () and len(found.lines) == 1


@pytest.mark.parametrize(
    ("drawings", "parts"),
    [
        ({"M": 'like = "L"\n', "L": 'like = "M"\n'}, ["size M, like", "in a circle, M, L, M"]),
        ({"M": 'like = "M"\n'}, ["size M, like", "in a circle, M, M"]),
        (
            {"M": CORNERS + MORE, "L": 'like = "XL"\n', "XL": 'like = "S"\n', "S": 'like = "XL"\n'},
            ["in a circle, XL, S, XL"],
        ),
        ({"Medium": CORNERS + MORE, "L": 'like = "medum"\n'}, ["size L, like", 'did you mean "Medium"?']),
        (
            {"M": CORNERS + MORE, "L": 'like = "M"\nmove = { hem = [0, 1] }\n'},
            ["size L, move", "no corner hem"],
        ),
        (
            {
                "M": 'outline = "M 0 0 H 9 V 9 Z"\ngrain = [[1, 8], [1, 2]]\n',
                "L": 'like = "M"\nmove = { a = [0, 1] }\n',
            },
            ["size L, move", "no corner a", "give its corners names first"],
        ),
        (
            {
                "M": 'outline = "M 0 0 H 9 V 9 Z"\nnamed_corners = { a = [4, 0] }\n'
                "grain = [[8, 7], [8, 4]]\n",
                "L": 'like = "M"\nmove = { a = [0, 1] }\n',
            },
            ["size L, move", "a lies between two corners"],
        ),
        (
            {"M": CORNERS + MORE, "L": 'like = "M"\nmove = { neck = { down = 1, up = 1 } }\n'},
            ["move", '"down"'],
        ),
        ({"M": CORNERS + MORE, "L": 'like = "M"\nmove = { neck = {} }\n'}, ["move", "neck says no distance"]),
        ({"M": CORNERS + MORE, "L": 'like = "M"\nmove = { neck = [1] }\n'}, ["move", "neck", "at least 2"]),
        (
            {"M": CORNERS + MORE, "L": 'like = "M"\nmove = { neck = { dwn = 1 } }\n'},
            ["move", "neck", '"down"?'],
        ),
        ({"M": CORNERS + MORE, "L": 'like = "M"\n' + CORNERS}, ["size L, corners", "leave"]),
        (
            {"M": CORNERS + MORE, "L": 'like = "M"\nmove = { "side hem" = [-40, 0] }\n'},
            ["size L, outline", "crosses"],
        ),
        (
            {"L": 'like = "M"\n', "M": "corners = [[0, 0], { right = 2, left = 3 }, [4, 4]]\n" + MORE},
            ["size M, corner 2"],
        ),
        ({"M": CORNERS}, ["size M", '"grain" is missing; add it']),
    ],
)
def test_what_is_wrong_with_a_copy_is_told(drawings, parts, tmp_path):
    told = refusal(tmp_path, **drawings)
    assert all(part in told for part in ['vest.toml: piece 1 "Front"', *parts]), told


def test_editors_know_copies():
    from jsonschema import Draft202012Validator

    schema = pattern_schema()
    drawing = Draft202012Validator({"$defs": schema["$defs"], "$ref": "#/$defs/DrawingTable"})
    assert drawing.is_valid({"like": "M"})
    assert drawing.is_valid({"like": "M", "move": {"hem": [1, 0], "neck": {"down": "1/2 in"}}, "drills": []})
    assert not drawing.is_valid({"like": "M", "outline": "M 0 0 H 9 V 9 Z", "grain": [[0, 1], [0, 2]]})
    assert not drawing.is_valid(
        {"outline": "M 0 0 H 9 V 9 Z", "grain": [[0, 1], [0, 2]], "move": {"a": [1, 0]}}
    )
    assert not drawing.is_valid({"outline": "M 0 0 H 9 V 9 Z"})


@settings(max_examples=60)
@given(
    st.lists(st.floats(20, 100), min_size=3, max_size=9),
    st.tuples(st.floats(-5, 5), st.floats(-5, 5)),
    st.tuples(*[st.floats(-2, 2)] * 6),
)
def test_mean_value_coordinates_give_affine_maps_back(radii, at, affine):
    """Floater (2003): weights sum to 1, and their mean of any affine function is that function."""
    turns = [math.tau * k / len(radii) for k in range(len(radii))]
    ring = np.array([(r * math.cos(t), r * math.sin(t)) for r, t in zip(radii, turns, strict=True)])
    if len(radii) == 3 and not Polygon(ring).buffer(-1e-3).contains(Point(at)):
        return
    weights = mean_value_weights(np.array(at), ring)
    assert weights.sum() == pytest.approx(1)
    a, b, c, d, e, f = affine
    mapped = ring @ np.array([[a, c], [b, d]]) + (e, f)
    expected = np.array(at) @ np.array([[a, c], [b, d]]) + (e, f)
    assert weights @ mapped == pytest.approx(expected, abs=1e-6)
    # On an edge the two ends alone count, by their nearness.
    on = mean_value_weights(0.25 * ring[0] + 0.75 * ring[1], ring)
    assert on[:2] == pytest.approx((0.25, 0.75), abs=1e-6)
    assert np.abs(on[2:]).max() < 1e-6
