"""Named corners, and notches told by how far they are from one along an edge.

References: plane geometry (a 3-4-5 triangle, the circumference of a circle); an inch is 25.4 mm exactly
(international yard and pound agreement of 1959).
"""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from marker.errors import InputError
from marker.files.json_schema import pattern_schema
from marker.files.pattern import load_pattern
from marker.model.ring import along, way_between
from tests.files.samples import write

HEAD = """\
name = "Vest"
unit = "in"
seam_allowance = "included"
[fabric.fabric]
width = "45 in"
[[piece]]
number = "1"
name = "Front"
cuts = [{ material = "fabric", count = 2 }]
[piece.drawing.every]
grain = [[4, 16], [4, 4]]
"""
CORNERS = """\
corners = [
  { at = [0, 0], name = "neck" },
  { right = 8, name = "shoulder" },
  { at = [11, 8], hollow = 1, name = "underarm" },
  { down = 12, name = "side hem" },
  { left = 11, name = "front hem" },
]
"""
OUTLINE = """\
outline = "M 0 0 H 8 Q 8 8 11 8 V 20 H 0 Z"
named_corners = { neck = [0, 0], shoulder = [8, 0], underarm = [11, 8], \
"side hem" = [11, 20], "front hem" = [0, 20] }
"""


def load(folder, drawing):
    (piece,) = load_pattern(write(folder, HEAD + drawing, "vest.toml")).pieces["one size"]
    return piece


def refusal(folder, drawing):
    with pytest.raises(InputError) as caught:
        load(folder, drawing)
    assert "\n" not in str(caught.value)
    return str(caught.value)


def notch(text):
    return f"notches = [{{ {text} }}]\n"


@pytest.mark.parametrize("drawing", [CORNERS, OUTLINE], ids=["corners", "outline"])
@pytest.mark.parametrize(
    ("place", "at"),
    [
        ('from = "underarm", towards = "side hem", distance = "3 1/2 in"', (11, 11.5)),
        ('from = "underarm", towards = "side hem", distance = "8.89 cm"', (11, 11.5)),
        ('from = "side hem", towards = "underarm", distance = 3.5', (11, 16.5)),
        ('from = "side hem", towards = "front hem", distance = 1', (10, 20)),
        ('from = "front hem", towards = "side hem", distance = 1', (1, 20)),
        # Round the corner at the side hem: 12 down the side, 2 along the hem.
        ('from = "underarm", towards = "front hem", distance = 14', (9, 20)),
        ('from = "neck", towards = "shoulder", distance = 0', (0, 0)),
        ('from = "neck", towards = "shoulder", distance = 8', (8, 0)),
        ('at = "underarm"', (11, 8)),
    ],
)
def test_a_notch_is_so_far_from_a_corner_along_the_edge(drawing, place, at, tmp_path):
    piece = load(tmp_path, drawing + notch(f'name = "a", {place}'))
    assert piece.notches[0].at == pytest.approx((at[0] * 25.4, -at[1] * 25.4), abs=1e-6)


def test_along_a_curve_it_is_measured_on_the_curve(tmp_path):
    """A quarter of a circle of 10 in: a third of the way along it is at 30°."""
    way = 10 * math.pi / 2 / 3
    piece = load(
        tmp_path,
        'outline = "M 0 0 H 10 A 10 10 0 0 1 0 10 Z"\nnamed_corners = { a = [10, 0], b = [0, 10] }\n'
        + notch(f'name = "n", from = "a", towards = "b", distance = {way:.6f}'),
    )
    turn = math.radians(30)
    assert piece.notches[0].at == pytest.approx((254 * math.cos(turn), -254 * math.sin(turn)), abs=0.15)


def test_with_an_allowance_it_is_measured_where_it_is_sewn(tmp_path):
    text = (
        HEAD + CORNERS + notch('name = "a", from = "underarm", towards = "side hem", distance = 2')
    ).replace('"included"', '"1/2 in"')
    (piece,) = load_pattern(write(tmp_path, text)).pieces["one size"]
    assert piece.notches[0].sewn == pytest.approx((279.4, -254), abs=1e-6)
    assert piece.notches[0].at == pytest.approx((279.4 + 12.7, -254), abs=1e-6)


def test_a_named_point_on_a_curve_is_a_place_to_measure_from(tmp_path):
    piece = load(
        tmp_path,
        'corners = [[0, 0], { at = [10, 0], name = "a" }, { through = [5, 5], name = "low" }]\n'
        + notch(f'name = "n", from = "a", towards = "low", distance = {5 * math.pi / 4:.6f}'),
    )
    # Half a circle about (5, 0): an eighth of its circumference on from (10, 0) is at 45°.
    there = 5 + 5 / math.sqrt(2), 5 / math.sqrt(2)
    assert piece.notches[0].at == pytest.approx((there[0] * 25.4, -there[1] * 25.4), abs=0.15)


@pytest.mark.parametrize("drawing", [CORNERS, OUTLINE], ids=["corners", "outline"])
def test_fold_hem_and_allowances_take_names_of_corners(drawing, tmp_path):
    text = (
        HEAD
        + drawing
        + 'fold = ["neck", "front hem"]\nhem = ["side hem", "front hem"]\n'
        + 'allowances = [{ from = "side hem", to = "front hem", width = "2 in" }]\n'
    ).replace('"included"', '"1/2 in"')
    text = text.replace("count = 2", "count = 1")
    (piece,) = load_pattern(write(tmp_path, text)).pieces["one size"]
    assert {x for x, _ in piece.fold_edge} == {0}
    assert piece.hem[0][1] == piece.hem[1][1] == pytest.approx(-22 * 25.4)


@pytest.mark.parametrize(
    ("more", "parts"),
    [
        (notch('name = "a"'), ['notch 1 "a"', '"at" is missing', "towards"]),
        (notch('name = "a", from = "neck", distance = 3'), ['notch 1 "a"', '"towards" is missing']),
        (notch('name = "a", from = "neck", towards = "shoulder"'), ['"distance" is missing']),
        (
            notch('name = "a", at = [0, 0], from = "neck", towards = "shoulder", distance = 1'),
            ["twice", '"at" and "from"'],
        ),
        (
            notch('name = "a", from = "underam", towards = "side hem", distance = 1'),
            ['notch 1 "a", from', 'did you mean "underarm"?', "neck, shoulder"],
        ),
        (
            notch('name = "a", from = "neck", towards = "shoulder", distance = 9'),
            ['notch 1 "a", distance', "only 8 in from neck to shoulder", "9 in"],
        ),
        (notch('name = "a", from = "neck", towards = "neck", distance = 1'), ["one place"]),
        (
            notch('name = "a", from = "neck", towards = "shoulder", distance = "-1 in"'),
            ["distance", "negative"],
        ),
        ('fold = ["neck", "hem"]\n', ["fold", "no corner hem", "side hem, front hem"]),
        ('fold = ["neck"]\n', ["fold", "at least 2"]),
        ('fold = ["neck", [0, "a"]]\n', ["fold", "write a number"]),
        ("move = { neck = [1, 1] }\n", ["move", '"like"']),
    ],
)
def test_what_is_wrong_with_a_name_or_a_distance_is_told(more, parts, tmp_path):
    told = refusal(tmp_path, CORNERS + more)
    assert all(part in told for part in ['vest.toml: piece 1 "Front", every size', *parts]), told


def test_names_are_given_once_and_where_they_belong(tmp_path):
    twice = CORNERS.replace('"shoulder"', '"neck"') + 'fold = ["neck", "front hem"]\n'
    assert 'corner 2: has the name "neck"' in refusal(tmp_path, twice)
    both = CORNERS + "named_corners = { neck = [0, 0] }\n"
    assert "named_corners: is for outlines" in refusal(tmp_path, both)
    unnamed = 'outline = "M 0 0 H 8 V 20 H 0 Z"\n' + notch('name = "a", at = "neck"')
    assert 'give a corner that name, with name = "neck"' in refusal(tmp_path, unnamed)
    off = 'outline = "M 0 0 H 8 V 20 H 0 Z"\nnamed_corners = { neck = [0, 5], mid = [4, 5] }\n'
    assert "is not on the outline" in refusal(tmp_path, off + notch('name = "a", at = "mid"'))
    last = CORNERS.replace('name = "front hem" },', 'name = "front hem" }, { up = 20, name = "top" },')
    assert 'which is called "neck"' in refusal(tmp_path, last + 'fold = ["neck", "top"]\n')


def test_editors_know_names_and_distances():
    schema = pattern_schema()
    notch_ = Draft202012Validator({"$defs": schema["$defs"], "$ref": "#/$defs/NotchTable"})
    assert notch_.is_valid({"name": "a", "at": [0, 0]})
    assert notch_.is_valid({"name": "a", "at": "neck"})
    by_distance = {"name": "a", "from": "neck", "towards": "hem", "distance": "3 1/2 in"}
    assert notch_.is_valid(by_distance)
    assert not notch_.is_valid({"name": "a"})
    assert not notch_.is_valid({**by_distance, "at": [0, 0]})
    assert not notch_.is_valid({"name": "a", "from": "neck", "distance": 1})


@given(st.floats(1, 1000), st.floats(1, 1000), st.floats(0, 1))
def test_the_shorter_way_round_a_rectangle(wide, high, share):
    ring = ((0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high))
    way = way_between(ring, ring[0], ring[1])
    assert way == [ring[0], ring[1]]
    assert along(way, share * wide) == pytest.approx((share * wide, 0), abs=1e-9)
    assert along(way, wide + 1) is None
