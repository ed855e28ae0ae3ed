"""Outlines typed as corners: places, steps, curves through points, bulges, and lengths that disagree.

References: plane geometry (circles, ellipses), the standard Bézier form, and shapely for areas and distances.
"""

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LinearRing, LineString, Point, Polygon

from marker.errors import InputError
from marker.files.curves import arc, curve_length, spline
from marker.files.json_schema import pattern_schema
from marker.files.pattern import load_pattern
from tests.files.samples import write

HEAD = """\
name = "Bag"
unit = "cm"
seam_allowance = "included"
[fabric.fabric]
width = "140 cm"
[[piece]]
number = "1"
name = "Body"
cuts = [{ material = "fabric", count = 1 }]
[piece.drawing.every]
grain = [[5, 8], [5, 2]]
"""


def load(folder, corners, more=""):
    (piece,) = load_pattern(write(folder, f"{HEAD}corners = {corners}\n{more}")).pieces["one size"]
    return piece


def outline(folder, corners):
    """The outline as a polygon in centimetres, y downwards as typed."""
    return Polygon([(x / 10, -y / 10) for x, y in load(folder, corners).outline])


def refusal(folder, corners, more=""):
    with pytest.raises(InputError) as caught:
        load(folder, corners, more)
    return str(caught.value)


def farthest(one, other):
    """The largest distance of a point of either line from the other."""
    return one.hausdorff_distance(other)


def test_corners_are_joined_by_straight_edges(tmp_path):
    shape = outline(tmp_path, "[[0, 0], [24, 0], [26, 60], [0, 60]]")
    assert shape.equals(Polygon([(0, 0), (24, 0), (26, 60), (0, 60)]))


@pytest.mark.parametrize(
    "corners",
    [
        "[[0, 0], { right = 24 }, { down = 60 }, { left = 24 }]",
        "[[0, 0], { right = 24 }, { down = 60 }, { left = 24 }, { up = 60 }]",
        '[[0, 0], { right = "24 cm" }, { down = "600 mm" }, { left = "0.24 m" }]',
        "[[0, 0], { go = 24 }, { go = 60, turn = 90 }, { go = 24, turn = 90 }]",
        "[[0, 60], { up = 60 }, { go = 24, turn = 90 }, { go = 60, turn = 90 }]",
    ],
    ids=["steps", "steps all the way round", "steps with units", "turns", "turns after a step"],
)
def test_a_rectangle_by_steps_is_the_same_by_places(corners, tmp_path):
    shape = outline(tmp_path, corners)
    assert shape.symmetric_difference(Polygon([(0, 0), (24, 0), (24, 60), (0, 60)])).area < 1e-6


def test_a_regular_hexagon_by_turns(tmp_path):
    # Outer angles of a convex polygon add up to 360°.
    shape = outline(tmp_path, "[[0, 0], " + ", ".join(["{ go = 10, turn = 60 }"] * 5) + "]")
    assert shape.area == pytest.approx(1.5 * math.sqrt(3) * 100, rel=1e-5)
    assert shape.length == pytest.approx(60, rel=1e-6)


def test_two_steps_in_one_go_aslant(tmp_path):
    shape = outline(tmp_path, "[[5, 5], { right = 20, down = 3 }, { left = 2, down = 30 }]")
    assert shape.symmetric_difference(Polygon([(5, 5), (25, 8), (23, 38)])).area < 1e-6


@pytest.mark.parametrize("clockwise", [True, False])
def test_a_bulge_stands_out_and_a_hollow_goes_in_whichever_way_round(clockwise, tmp_path):
    for word, sign in (("bulge", 1), ("hollow", -1)):
        if clockwise:
            corners = f"[[0, 0], [20, 0], {{ at = [20, 20], {word} = 3 }}, [0, 20]]"
        else:
            corners = f"[[0, 0], [0, 20], [20, 20], {{ at = [20, 0], {word} = 3 }}]"
        shape = outline(tmp_path, corners)
        # Radius of a circle of chord c and sagitta s: (c² / 4 + s²) / 2 s; the segment's area from it.
        radius = (100 + 9) / 6
        angle = 2 * math.asin(10 / radius)
        segment = radius**2 / 2 * (angle - math.sin(angle))
        # Chords lie within a tenth of a millimetre of the curve, which is 21 cm long.
        assert shape.area == pytest.approx(400 + sign * segment, abs=0.01 * 21)
        assert shape.exterior.distance(Point(20 + sign * 3, 10)) < 0.011


def test_a_bulge_on_the_first_corner_is_on_the_closing_edge(tmp_path):
    shape = outline(tmp_path, "[{ at = [0, 0], bulge = 2 }, [20, 0], [20, 20], [0, 20]]")
    assert shape.bounds == pytest.approx((-2, 0, 20, 20), abs=0.011)


def test_one_point_on_a_curve_makes_it_part_of_a_circle(tmp_path):
    half = outline(tmp_path, "[[0, 0], [20, 0], { through = [10, 10] }]")
    assert (
        farthest(
            half.exterior,
            Point(10, 0)
            .buffer(10, 256)
            .intersection(Polygon([(-1, 0), (21, 0), (21, 11), (-1, 11)]))
            .exterior,
        )
        < 0.012
    )
    # Three quarters of a circle: the point lies on the far side.
    most = outline(tmp_path, "[[10, 10], [20, 10], { through = [2.9289, 2.9289] }, [10, 20]]")
    circle = Point(10, 10).buffer(10, 256)
    assert most.area == pytest.approx(0.75 * circle.area, abs=0.01 * 47)


def test_points_every_ten_centimetres_on_a_neckline_are_enough(tmp_path):
    """A quarter of an ellipse, 25 by 15 cm, from six points on it: off by less than half a millimetre."""
    at = [(25 * math.sin(t), 15 * (1 - math.cos(t))) for t in (math.pi / 2 * i / 5 for i in range(6))]
    through = ", ".join(f"{{ through = [{x:.2f}, {y:.2f}] }}" for x, y in at[1:-1])
    shape = outline(tmp_path, f"[[0, 0], {through}, [25, 15], [0, 15]]")
    true = [(25 * math.sin(t / 200), 15 * (1 - math.cos(t / 200))) for t in range(int(100 * math.pi) + 1)]
    ring = Polygon([*true, (25, 15), (0, 15)]).exterior
    assert farthest(shape.exterior, ring) < 0.05


def test_a_curve_goes_through_every_point_and_keeps_the_corners(tmp_path):
    points = [(22, 10), (17, 16), (18, 24)]
    through = ", ".join(f"{{ through = [{x}, {y}] }}" for x, y in points)
    shape = outline(tmp_path, f"[[0, 0], [25, 0], {through}, [26, 30], [0, 30]]")
    for x, y in [*points, (25, 0), (26, 30), (0, 0), (0, 30)]:
        assert shape.exterior.distance(Point(x, y)) < 0.011


def test_a_curve_may_close_the_outline(tmp_path):
    one = outline(
        tmp_path, "[[0, 0], [20, 0], [20, 20], [0, 20], { through = [-2, 14] }, { through = [-1, 6] }]"
    )
    other = outline(
        tmp_path, "[[0, 20], { through = [-2, 14] }, { through = [-1, 6] }, [0, 0], [20, 0], [20, 20]]"
    )
    assert one.symmetric_difference(other).area < 1e-6


def test_fold_and_notches_find_typed_corners(tmp_path):
    piece = load(
        tmp_path,
        "[[0, 0], [24, 0], { at = [26, 60], bulge = 1 }, [0, 60]]",
        'fold = [[0, 0], [0, 60]]\nnotches = [{ name = "a", at = [12, 0] }]\n',
    )
    assert set(piece.fold_edge) == {(0, 0), (0, -600)}
    assert piece.notches[0].at == (120, 0)


@pytest.mark.parametrize(
    ("corners", "parts"),
    [
        (
            "[[0, 0], [24, 0], { at = [26, 60], length = 62 }, [0, 60]]",
            [
                "corner 3",
                "(24, 0) to (26, 60)",
                "60.03 cm long as typed",
                "62 cm as measured",
                "2 cm shorter",
            ],
        ),
        ("[{ at = [0, 0], length = 30 }, [24, 0], [24, 60], [0, 60]]", ["corner 1", "60 cm long", "30 cm"]),
        ("[[0, 0], [24, 0], { at = [24, 60], bulge = 20, length = 60 }, [0, 60]]", ["corner 3", "longer"]),
        ("[[0, 0], { right = 24 }, { down = 60 }, { left = 24 }, { up = 59.7 }]", ["corner 5", "3.0 mm"]),
        ("[{ right = 4 }, { right = 24 }, { down = 60 }]", ["corner 1", "no place", "[0, 0]"]),
        ("[{ through = [1, 1] }, [24, 0], [0, 60]]", ["corner 1", "begins with"]),
        ("[[0, 0], { at = [24, 0], right = 5 }, [0, 60]]", ["corner 2", "twice", '"at" and "right"']),
        ("[[0, 0], { right = 24, left = 5 }, [0, 60]]", ["corner 2", '"right" and "left"']),
        ("[[0, 0], { right = 24, go = 5 }, [0, 60]]", ["corner 2", "twice"]),
        ("[[0, 0], { turn = 24 }, [0, 60]]", ["corner 2", "no place"]),
        ("[[0, 0], { right = 10, turn = 24 }, [0, 60]]", ["corner 2", '"turn"', '"go"']),
        ("[[0, 0], {}, [0, 60]]", ["corner 2", "no place"]),
        ("[[0, 0], [9, 9], { at = [0, 60], bulge = 1, hollow = 1 }]", ["corner 3", '"bulge" and "hollow"']),
        ("[[0, 0], [24, 0], { at = [24, 60], bulge = 70 }, [0, 60]]", ["corner 3", "measure it again"]),
        ("[[0, 0], { through = [9, 1] }, { at = [24, 0], bulge = 1 }, [0, 60]]", ["corner 3", "through"]),
        (
            "[[0, 0], { through = [9, 1], length = 4 }, [24, 0], [0, 60]]",
            ["corner 2", "no corner", '"length"'],
        ),
        ("[[0, 0], { through = [0, 0] }, [24, 0], [0, 60]]", ["corner 2", "same place"]),
        ("[[0, 0], { through = [24, 0] }, [24, 0], [0, 60]]", ["corner 3", "same place"]),
        ("[[0, 0], [24, 0]]", ["corners", "at least 3"]),
        ("[[0, 0], [24, 0], [24, 0], [0, 60]]", ["corner 3", "same place"]),
        ("[[0, 0], [24, 60], [24, 0], [0, 60]]", ["corners", "crosses"]),
        ("[[0, 0], [24], [0, 60]]", ["corner 2", "1 entry"]),
        ('[[0, 0], ["a", 1], [0, 60]]', ["corner 2, at, x", "write a number"]),
        ("[[0, 0], { at = [1, nan] }, [0, 60]]", ["corner 2", "finite"]),
        ("[[0, 0], { rigth = 5 }, [0, 60]]", ["corner 2", '"rigth"', '"right"?']),
        ('[[0, 0], { right = "5 ells" }, [0, 60]]', ["corner 2, right", "ells"]),
        ('"M 0 0"', ["corners", "a list"]),
    ],
)
def test_what_is_wrong_is_told_in_one_sentence(corners, parts, tmp_path):
    told = refusal(tmp_path, corners)
    assert all(part in told for part in ['oar-bag.toml: piece 1 "Body", every size', *parts]), told
    assert "\n" not in told


def test_outline_or_corners(tmp_path):
    assert "leave one of them out" in refusal(tmp_path, "[[0, 0], [9, 0], [0, 9]]", 'outline = "M 0 0 Z"')
    with pytest.raises(InputError, match='"outline" is missing; add it, or "corners"'):
        load_pattern(write(tmp_path, HEAD))


def test_a_length_that_agrees_is_no_news(tmp_path):
    assert load(tmp_path, "[[0, 0], [24, 0], { at = [26, 60], length = 60.2 }, [0, 60]]")


def test_editors_know_corners():
    from jsonschema import Draft202012Validator

    schema = pattern_schema()
    drawing = {"$defs": schema["$defs"], "$ref": "#/$defs/DrawingTable"}
    good = {"grain": [[0, 0], [0, 1]], "corners": [[0, 0], {"right": 5}, {"through": [1, 2]}, [3, 4]]}
    assert not list(Draft202012Validator(drawing).iter_errors(good))
    for bad in (
        {"grain": [[0, 0], [0, 1]]},
        {**good, "outline": "M 0 0"},
        {**good, "corners": [[0, 0], {"rigth": 5}, [3, 4]]},
        {**good, "corners": [[0, 0, 0], [1, 1], [3, 4]]},
    ):
        assert list(Draft202012Validator(drawing).iter_errors(bad)), bad


coordinates = st.tuples(st.floats(-500, 500), st.floats(-500, 500))


@given(st.lists(coordinates, min_size=4, max_size=4, unique=True))
def test_the_spline_through_points_of_a_cubic_is_smooth(points):
    """Slopes on both sides of every inner point agree in direction and size (the curve has no corner)."""
    if min(math.dist(a, b) for a, b in pairwise(points)) < 1:
        return
    found = spline(points)
    lengths = [math.dist(a, b) for a, b in pairwise(points)]
    for i in (1, 2):
        at = points[i]
        arriving, leaving = found[3 * i - 2], found[3 * i]
        before = [3 * (at[k] - arriving[k]) / lengths[i - 1] for k in (0, 1)]
        after = [3 * (leaving[k] - at[k]) / lengths[i] for k in (0, 1)]
        assert before == pytest.approx(after, abs=1e-6 * max(1, *map(abs, before)))


@given(st.floats(10, 3000), st.floats(5, 355))
def test_arcs_stay_on_their_circle(radius, degrees):
    angle = math.radians(degrees)
    end = (radius * math.cos(angle), radius * math.sin(angle))
    controls = arc((radius, 0), radius, radius, 0, degrees > 180, True, end)
    assert controls[-1] == end
    start = (radius, 0.0)
    for i in range(0, len(controls), 3):
        b, c, d = controls[i : i + 3]
        for t in (0.1, 0.25, 0.5, 0.7):
            u = 1 - t
            x, y = (
                u**3 * start[k] + 3 * t * u * u * b[k] + 3 * t * t * u * c[k] + t**3 * d[k] for k in (0, 1)
            )
            assert abs(math.hypot(x, y) - radius) < 1e-5 * radius
        start = d
    assert curve_length((radius, 0.0), controls) == pytest.approx(radius * angle, rel=1e-4)


def test_an_arc_of_an_outline_is_as_exact_as_its_chords(tmp_path):
    """The hem of a circular skirt, radius 1 m: no chord is farther off than a tenth of a millimetre."""
    text = HEAD.replace('"cm"', '"mm"').replace("[[5, 8], [5, 2]]", "[[50, 80], [50, 20]]")
    path = write(tmp_path, f'{text}outline = "M 0 0 H 1000 A 1000 1000 0 0 1 0 1000 Z"\n')
    (piece,) = load_pattern(path).pieces["one size"]
    quarter = LinearRing(Point(0, 0).buffer(1000, 4096).exterior)
    rim = [(x, -y) for x, y in piece.outline if math.hypot(x, y) > 500]
    assert max(quarter.distance(Point(point)) for point in rim) < 0.1
    chords = LineString(sorted(rim))
    assert max(quarter.distance(chords.interpolate(i / 500, normalized=True)) for i in range(501)) < 0.1
    # Half of it outside, half inside: the area is the quarter of the circle.
    assert Polygon(piece.outline).area == pytest.approx(math.pi * 1000**2 / 4, rel=1e-5)
