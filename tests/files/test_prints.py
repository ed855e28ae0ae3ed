"""Prints, borders, remnants and flaws of fabric files, and what is said when they cannot be.

Reference: shapely for areas and distances.
"""

import itertools
import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from shapely import Polygon
from shapely.geometry import box

from marker.errors import InputError
from marker.files.fabric import load_fabrics
from marker.files.json_schema import fabric_schema
from marker.model.fabric import Border, Print
from marker.model.ring import signed_area
from tests.files.samples import write
from tests.files.test_bad_patterns import ODD

CLOTH = 'width = "150 cm"\n'
CHECK = 'print = { kind = "check", along = "90 mm", across = "60 mm" }\n'
ONLY = "roll = false\n"
PATCH = '[[fabric.fabric.remnant]]\nname = "patch"\n'
SQUARE = f'{PATCH}outline = "M 0 0 H 500 V 400 H 0 Z"\n'


def fabric(folder, text, unit="mm"):
    path = write(folder, f'unit = "{unit}"\n[fabric.fabric]\n{text}')
    return load_fabrics(path)["fabric"]


def told(folder, text):
    with pytest.raises(InputError) as caught:
        fabric(folder, text)
    sentence = str(caught.value)
    assert sentence.endswith((".", "?")) and "\n" not in sentence
    return sentence


def schema_problems(text):
    data = tomllib.loads(f"[fabric.fabric]\n{text}")
    return list(Draft202012Validator(fabric_schema()).iter_errors(data))


def test_a_print_shrinks_with_its_cloth(tmp_path):
    text = (
        CLOTH + 'shrink_along = "10 %"\nshrink_across = "5 %"\n'
        'print = { kind = "motifs", along = "200 mm", across = "10 cm", start = ["30 mm", "2 cm"], '
        'tolerance = "2 mm" }\nborder = { side = "upper", width = "120 mm" }\n'
    )
    found = fabric(tmp_path, text)
    assert found.print == Print("motifs", 180.0, 95.0, (27.0, 19.0), True, True, 2.0)
    assert found.border == Border("upper", 114.0)
    # The cloth itself is told as it is sold.
    assert found.width == 1500.0


def test_a_print_that_says_no_more_is_even_and_starts_at_the_corner(tmp_path):
    found = fabric(tmp_path, CLOTH + CHECK)
    assert found.print == Print("check", 90.0, 60.0, (0.0, 0.0), True, True, 1.0)
    assert found.nap is False and found.border is None and found.remnants == () and found.roll


@pytest.mark.parametrize(
    ("even", "along", "across"),
    [("both", True, True), ("along", True, False), ("across", False, True), ("none", False, False)],
)
def test_a_print_uneven_either_way_has_a_nap(even, along, across, tmp_path):
    found = fabric(tmp_path, CLOTH + CHECK.replace(" }", f', even = "{even}" }}'))
    assert (found.print.even_along, found.print.even_across) == (along, across)
    assert found.nap is (even != "both")


def test_a_nap_stays_under_an_even_print(tmp_path):
    assert fabric(tmp_path, CLOTH + "nap = true\n" + CHECK).nap


@pytest.mark.parametrize(
    ("kind", "given", "expected"),
    [
        ("stripes along", 'across = "24 mm"', (None, 24.0)),
        ("stripes across", 'along = "120 mm"', (120.0, None)),
        ("check", 'along = "9 cm", across = "6 cm"', (90.0, 60.0)),
        ("motifs", 'along = "9 cm", across = "6 cm"', (90.0, 60.0)),
    ],
)
def test_each_kind_of_print_has_its_repeats(kind, given, expected, tmp_path):
    text = CLOTH + f'print = {{ kind = "{kind}", {given} }}\n'
    found = fabric(tmp_path, text)
    assert (found.print.along, found.print.across) == expected
    assert not schema_problems(text)


def test_a_rectangle_is_a_remnant(tmp_path):
    text = ONLY + PATCH + 'length = "90 cm"\nwidth = "70 cm"\n'
    found = fabric(tmp_path, text)
    (remnant,) = found.remnants
    assert remnant.name == "patch" and remnant.holes == ()
    assert Polygon(remnant.outline).equals(box(0, 0, 900, 700))
    assert not found.roll and found.flat_width == pytest.approx(700)
    assert not schema_problems(text)


def test_without_a_roll_the_cloth_is_as_wide_as_its_widest_remnant_lies(tmp_path):
    text = (
        ONLY
        + 'shrink_across = "10 %"\nselvage = "5 cm"\n'
        + SQUARE
        + SQUARE.replace("patch", "b").replace("400", "300")
    )
    found = fabric(tmp_path, text.replace("outline", "washed = true\noutline"))
    # Washed remnants are as they lie; the width is told as sold.
    assert found.flat_width == pytest.approx(400) and found.width == pytest.approx(400 / 0.9)
    found = fabric(tmp_path, text)
    # Left out, the wash is still to come.
    assert found.flat_width == pytest.approx(360) and found.width == pytest.approx(400)


@pytest.mark.parametrize(
    ("washed", "left"), [("true", (1.0, 1.0)), ("false", (0.95, 0.9)), ("", (0.95, 0.9))]
)
def test_a_remnant_is_as_large_as_the_wash_leaves_it(washed, left, tmp_path):
    """ISO 5077: dimensional change in percent of the length before; 5 % along and 10 % across are lost."""
    shape = 'outline = "M 20 10 H 90 V 60 L 60 80 H 20 Z"\nholes = ["M 30 20 h 10 v 10 h -10 Z"]\n'
    given = f"washed = {washed}\n" if washed else ""
    text = ONLY + 'shrink_along = "5 %"\nshrink_across = "10 %"\n' + PATCH + given + shape
    (remnant,) = fabric(tmp_path, text).remnants
    assert remnant.washed is (washed == "true")
    whole, hole = Polygon(remnant.outline), Polygon(remnant.holes[0])
    assert whole.bounds == pytest.approx((0.0, 0.0, 70 * left[0], 70 * left[1]))
    assert hole.bounds == pytest.approx((10 * left[0], 10 * left[1], 20 * left[0], 20 * left[1]))
    assert not schema_problems(text)


@pytest.mark.parametrize(
    ("unit", "remnant", "system"),
    [
        ("in", 'outline = "M 0 0 H 30 V 20 H 0 Z"', "imperial"),
        ("mm", 'length = "1 yd"\nwidth = "20 in"', "imperial"),
        ("in", 'length = "90 cm"\nwidth = "50 cm"', "metric"),
        ("cm", 'outline = "M 0 0 H 30 V 20 H 0 Z"', "metric"),
    ],
)
def test_remnants_speak_the_units_they_were_measured_in(unit, remnant, system, tmp_path):
    assert fabric(tmp_path, f"{ONLY}{PATCH}{remnant}\n", unit).system == system


def test_a_remnant_keeps_its_shape_and_holes_and_begins_at_the_corner(tmp_path):
    text = (
        ONLY + PATCH + 'outline = "M 20 10 H 90 V 60 L 60 80 H 20 Z"\n'
        'holes = ["M 30 20 H 40 V 25 H 30 Z", "M 70 10 H 80 V 20 H 70 Z"]\n'
    )
    (remnant,) = fabric(tmp_path, text, "cm").remnants
    # y runs across from the lower edge, as written: nothing is turned over.
    assert Polygon(remnant.outline).equals(Polygon([(0, 0), (700, 0), (700, 500), (400, 700), (0, 700)]))
    inner, at_edge = remnant.holes
    assert Polygon(inner).equals(box(100, 100, 200, 150)) and Polygon(at_edge).equals(box(500, 0, 600, 100))
    assert all(signed_area(ring) > 0 for ring in (remnant.outline, inner, at_edge))


def test_remnants_and_a_roll_go_together(tmp_path):
    found = fabric(tmp_path, CLOTH + SQUARE)
    assert found.roll and found.width == 1500.0 and len(found.remnants) == 1


def test_a_flaw_that_reaches_over_the_edge_of_the_cloth_is_no_mistake(tmp_path):
    spot = 'flaws = [{ along = "50 m", across = "1505 mm", radius = "2 cm" }]\n'
    assert len(fabric(tmp_path, CLOTH + spot).flaws) == 1


FABRIC = "fabric fabric, "
CASES = {
    "no repeat": (CLOTH + CHECK.replace("90 mm", "0 mm"), ["print, along", "greater than 0"]),
    "negative repeat": (CLOTH + CHECK.replace("60 mm", "-60 mm"), ["print, across", "negative"]),
    "repeat wider than the cloth": (
        CLOTH + CHECK.replace("60 mm", "160 cm"),
        ["print, across", "1600 mm", "1500 mm wide"],
    ),
    "repeat just wider than the cloth": (
        CLOTH + CHECK.replace("60 mm", "1501 mm"),
        ["print, across", "does not fit"],
    ),
    "repeat longer than 5 m": (CLOTH + CHECK.replace("90 mm", "5.1 m"), ["print, along", "5.1 m", "5 m"]),
    "missing repeat": (
        CLOTH + 'print = { kind = "check", along = "9 cm" }\n',
        ["print:", '"across" is missing', '"check"'],
    ),
    "stripes along that repeat along": (
        CLOTH + 'print = { kind = "stripes along", along = "9 cm", across = "9 cm" }\n',
        ["print, along", "no repeat along", "leave it out"],
    ),
    "stripes across that repeat across": (
        CLOTH + 'print = { kind = "stripes across", along = "9 cm", across = "9 cm" }\n',
        ["print, across", "no repeat across"],
    ),
    "stripes without a repeat": (
        CLOTH + 'print = { kind = "stripes across" }\n',
        ["print:", '"along" is missing'],
    ),
    "unknown kind": (CLOTH + CHECK.replace('"check"', '"tartan"'), ["print, kind", '"tartan"', '"check"']),
    "unknown evenness": (CLOTH + CHECK.replace(" }", ', even = "yes" }'), ["print, even", '"none"']),
    "no kind": (CLOTH + CHECK.replace('kind = "check", ', ""), ["print", '"kind" is missing']),
    "unknown field of a print": (CLOTH + CHECK.replace("across", "acros"), ["print", '"across"?']),
    "half a start": (CLOTH + CHECK.replace(" }", ", start = [5] }"), ["print, start", "1 entry"]),
    "start that is no length": (
        CLOTH + CHECK.replace(" }", ', start = [5, "x"] }'),
        ["print, start, y", "not a length"],
    ),
    "absurd start": (
        CLOTH + CHECK.replace(" }", ', start = [0, "900 m"] }'),
        ["print, start, y", "absurd", "the unit"],
    ),
    "tolerance of nothing": (
        CLOTH + CHECK.replace(" }", ", tolerance = 0 }"),
        ["print, tolerance", "greater than 0"],
    ),
    "tolerance nobody can lay": (
        CLOTH + CHECK.replace(" }", ', tolerance = "0.01 mm" }'),
        ["print, tolerance", "at least 0.1 mm"],
    ),
    "tolerance as long as the repeat": (
        CLOTH + CHECK.replace(" }", ', tolerance = "30 mm" }'),
        ["print, tolerance", "60 mm across", "smaller"],
    ),
    "print that is a word": (CLOTH + 'print = "check"\n', ["print", "write a table"]),
    "border as wide as the cloth": (
        CLOTH + 'border = { side = "lower", width = "150 cm" }\n',
        ["border, width", "as wide as the cloth", "1500 mm"],
    ),
    "border of no width": (
        CLOTH + 'border = { side = "lower", width = 0 }\n',
        ["border, width", "greater than 0"],
    ),
    "border at no side": (
        CLOTH + 'border = { side = "left", width = 9 }\n',
        ["border, side", '"lower" or "upper"'],
    ),
    "border on a tube": (
        CLOTH + 'tube = true\nborder = { side = "lower", width = 90 }\n',
        ["border", "tube has no selvage"],
    ),
    "border on a remnant": (
        CLOTH + 'border = { side = "lower", width = 90 }\n' + SQUARE,
        ["border", "remnant"],
    ),
    "spot beyond the width": (
        CLOTH + 'flaws = [{ along = "1 m", across = "1511 mm", radius = "1 cm" }]\n',
        ["flaw 1", "outside the cloth", "1500 mm"],
    ),
    "spot beyond the washed width": (
        CLOTH + 'shrink_across = "5 %"\nflaws = [{ along = "1 m", across = "1450 mm", radius = "1 cm" }]\n',
        ["flaw 1", "outside the cloth", "1425 mm"],
    ),
    "flaw below the selvage": (
        CLOTH + 'flaws = [{ outline = "M 0 -50 H 90 V -10 H 0 Z" }]\n',
        ["flaw 1", "outside the cloth"],
    ),
    "flaw before the cut end": (
        CLOTH + 'flaws = [{ outline = "M -50 10 H -10 V 90 H -50 Z" }]\n',
        ["flaw 1", "before the cut end"],
    ),
    "no cloth at all": (CLOTH + ONLY, ["roll", "no cloth at all", "add a remnant"]),
    "no width on the roll": (SQUARE, ['"width" is missing', "roll = false"]),
    "flaws on no roll": (
        ONLY + 'flaws = [{ along = "1 m", across = 90, radius = 9 }]\n' + SQUARE,
        ["flaws", "holes of the remnant"],
    ),
    "remnant of a tube": (CLOTH + "tube = true\n" + SQUARE, ['remnant "patch"', "tube"]),
    "two remnants of one name": (CLOTH + SQUARE + SQUARE, ['remnant "patch", name', "two remnants"]),
    "remnant without a name": (CLOTH + SQUARE.replace('name = "patch"\n', ""), ['"name" is missing']),
    "remnant without a shape": (CLOTH + PATCH, ['remnant "patch"', '"length" and "width"', '"outline"']),
    "remnant with half a shape": (CLOTH + PATCH + 'length = "1 m"\n', ['"length" and "width"']),
    "remnant with two shapes": (
        CLOTH + SQUARE + 'length = "1 m"\nwidth = "1 m"\n',
        ['"length" and "width"', '"outline" alone'],
    ),
    "tiny remnant": (
        CLOTH + PATCH + 'length = "1 m"\nwidth = "1 mm"\n',
        ['remnant "patch", width', "absurd"],
    ),
    "remnant that crosses itself": (
        CLOTH + PATCH + 'outline = "M 0 0 L 500 500 L 500 0 L 0 500 Z"\n',
        ['remnant "patch", outline', "crosses", "(250, 250)"],
    ),
    "open remnant": (
        CLOTH + PATCH + 'outline = "M 0 0 L 500 500 L 500 0"\n',
        ['remnant "patch", outline', "open"],
    ),
    "hole outside": (
        CLOTH + SQUARE + 'holes = ["M 600 0 H 650 V 50 H 600 Z"]\n',
        ['remnant "patch", hole 1', "reaches out", "(650, 0)"],
    ),
    "hole over the edge": (
        CLOTH + SQUARE + 'holes = ["M 9 9 H 50 V 50 H 9 Z", "M 480 300 H 520 V 350 H 480 Z"]\n',
        ['remnant "patch", hole 2', "reaches out", "(520, 3"],
    ),
    "hole that crosses itself": (
        CLOTH + SQUARE + 'holes = ["M 0 0 L 50 50 L 50 0 L 0 50 Z"]\n',
        ['remnant "patch", hole 1', "crosses"],
    ),
    "nothing but hole": (
        CLOTH + SQUARE + 'holes = ["M 0 0 H 500 V 400 H 0 Z"]\n',
        ['remnant "patch", holes', "leave nothing"],
    ),
    "hole that is a number": (CLOTH + SQUARE + "holes = [3]\n", ['remnant "patch", hole 1', "in quotes"]),
}


@pytest.mark.parametrize("case", CASES)
def test_one_mistake_one_sentence(case, tmp_path):
    text, words = CASES[case]
    sentence = told(tmp_path, text)
    for word in [FABRIC.rstrip(", "), *words]:
        assert word in sentence, sentence


@pytest.mark.parametrize(
    "case",
    [
        "missing repeat",
        "stripes along that repeat along",
        "stripes across that repeat across",
        "stripes without a repeat",
        "unknown kind",
        "unknown evenness",
        "no kind",
        "half a start",
        "tolerance of nothing",
        "border of no width",
        "border at no side",
        "no width on the roll",
        "remnant without a name",
        "remnant without a shape",
        "remnant with two shapes",
        "hole that is a number",
    ],
)
def test_editors_refuse_what_they_can_tell(case):
    assert schema_problems(CASES[case][0])


@settings(max_examples=50, deadline=None)
@given(
    st.floats(2.5, 5000), st.floats(2.5, 1500), st.integers(0, 49), st.integers(0, 49), st.floats(0.1, 1.2)
)
def test_what_is_left_of_a_print_is_the_share_that_did_not_shrink(
    tmp_path_factory, along, across, percent_along, percent_across, tolerance
):
    text = (
        CLOTH + f"shrink_along = {percent_along}\nshrink_across = {percent_across}\n"
        f'print = {{ kind = "check", along = {along}, across = {across}, start = [{along}, {across}], '
        f"tolerance = {tolerance} }}\n"
    )
    found = fabric(tmp_path_factory.getbasetemp(), text).print
    assert found.along == pytest.approx(along * (100 - percent_along) / 100)
    assert found.across == pytest.approx(across * (100 - percent_across) / 100)
    # The same number of repeats lies before the start, on a roll that holds as many repeats as before.
    assert found.start == pytest.approx((found.along, found.across))


EVERYTHING = """\
[fabric.fabric]
width = "150 cm"
roll = true
flaws = [{ along = "1 m", across = "20 cm", radius = "1 cm" }]
[fabric.fabric.print]
kind = "check"
along = "90 mm"
across = "60 mm"
start = ["30 mm", "20 mm"]
even = "along"
tolerance = "1 mm"
[[fabric.fabric.remnant]]
name = "patch"
outline = "M 0 0 H 500 V 400 H 0 Z"
holes = ["M 10 10 H 50 V 50 H 10 Z"]
[[fabric.fabric.remnant]]
name = "bit"
length = "90 cm"
width = "70 cm"
[fabric.lining]
width = "150 cm"
[fabric.lining.border]
side = "upper"
width = "120 mm"
"""


def test_odd_values_anywhere_give_a_fabric_or_a_sentence_and_never_a_crash(tmp_path):
    assert {*load_fabrics(write(tmp_path, EVERYTHING))} == {"fabric", "lining"}
    lines = EVERYTHING.splitlines()
    refused = 0
    for (number, line), odd in itertools.product(enumerate(lines), ODD):
        if " = " in line:
            text = "\n".join([*lines[:number], f"{line.split(' = ')[0]} = {odd}", *lines[number + 1 :]])
            try:
                load_fabrics(write(tmp_path, text))
            except InputError as error:
                refused += 1
                assert "\n" not in str(error)
    assert refused > 180
