"""What a pattern asks to match, and the places it names: marks, hems, sewn notches, pieces on the bias."""

import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Polygon
from shapely import Point as ShapelyPoint

from marker.errors import InputError
from marker.files.pattern import load_pattern
from marker.model.match import Match
from marker.model.ring import nearest_on_ring
from tests.files.samples import PATTERN, changed, write
from tests.files.test_bad_patterns import ODD

MARKED = (
    # The pocket (here the flap) carries "b", the front has "b" as a mark, and the loop carries "a" too.
    ("drills = [[150, 90]]", 'drills = [[150, 90]]\nnotches = [{ name = "b", at = [0, 0] }]'),
    (
        'notches = [{ name = "a", at = [210, 300] }]',
        'notches = [{ name = "a", at = [210, 300] }]\nmarks = [{ name = "b", at = [50, 200] }]',
    ),
    (
        'notches = [{ name = "a", at = [230, 320] }]',
        'notches = [{ name = "a", at = [230, 320] }]\nmarks = [{ name = "b", at = [55, 210] }]',
    ),
    ("grain = [[60, 25], [60, 5]]", 'grain = [[60, 25], [60, 5]]\nnotches = [{ name = "a", at = [60, 0] }]'),
)
FRONT_S = 'outline = "M 0 0 L 200 0 L 220 600 L 0 600 Z"'
FLAP = 'outline = "M 0 0 H 300 V 80 A 100 100 0 0 1 200 180 H 0 Z"'


def with_matches(*tables, more=()):
    return changed(*MARKED, *more) + "".join(f"\n[[match]]\n{table}\n" for table in tables)


def loaded(folder, *tables, more=()):
    return load_pattern(write(folder, with_matches(*tables, more=more)))


def told(folder, text):
    with pytest.raises(InputError) as caught:
        load_pattern(write(folder, text))
    sentence = str(caught.value)
    assert sentence.endswith((".", "?")) and "\n" not in sentence
    return sentence


def one(folder, drawing, seam="0 mm", more="", cuts='{ material = "fabric", count = 1 }'):
    """A pattern of one piece, loaded."""
    text = f'name = "One"\nunit = "mm"\nseam_allowance = "{seam}"\n[[piece]]\nnumber = 1\nname = "One"\n'
    text += f"{more}\ncuts = [{cuts}]\n[piece.drawing.every]\n{drawing}\n"
    return load_pattern(write(folder, text)).pieces["one size"][0]


def test_a_pattern_without_matches_has_none(tmp_path):
    assert load_pattern(write(tmp_path, PATTERN)).matches == ()


def test_matches_have_the_lines_they_are_meant_to_have(tmp_path):
    pattern = loaded(tmp_path, 'meet = "a"', 'centre = "1"', 'pair = "2"', 'meet = "b"\nlines = "both"')
    assert pattern.matches == (
        Match("meet", "a", True, False),
        Match("centre", "1", False, True),
        Match("pair", "2", True, True),
        Match("meet", "b", True, True),
    )


def test_a_list_is_a_match_for_each_of_its_names(tmp_path):
    pattern = loaded(tmp_path, 'meet = ["a", "b"]\nlines = "lengthwise"\nlevel = "everything"')
    assert pattern.matches == (
        Match("meet", "a", False, True, "everything"),
        Match("meet", "b", False, True, "everything"),
    )


def test_a_centre_may_be_a_notch_or_a_mark_and_numbers_need_no_quotes(tmp_path):
    pattern = loaded(tmp_path, 'centre = 1\nat = "b"\nlines = "both"', "centre = [2, 3]")
    assert pattern.matches == (
        Match("centre", "1", True, True, at="b"),
        Match("centre", "2", False, True),
        Match("centre", "3", False, True),
    )


MATCH_CASES = {
    "nothing to match": ('lines = "both"', ["match 1", "none of meet, centre and pair"]),
    "two things at once": ('meet = "a"\npair = "2"', ["match 1", "meet and pair", "one of the three"]),
    "unknown notch": ('meet = "front hip"', ["match 1, meet", "no notch or mark front hip", "a, b"]),
    "misspelt notch": ('meet = "B"', ["match 1, meet", 'did you mean "b"?']),
    "unknown piece to centre": ('centre = "9"', ["match 1, centre", "no piece 9", "1, 2, 3, 4"]),
    "unknown piece to pair": ('pair = ["2", "9"]', ["match 1, pair", "no piece 9"]),
    "guide to centre": ('centre = "4"', ["match 1, centre", 'piece 4 "Guide" is never cut']),
    "unknown middle": (
        'centre = "2"\nat = "a"',
        ["match 1, at", 'no notch or mark a on piece 2 "Flap" in size S', "there is b"],
    ),
    "middle on a piece without any": ('centre = "4"\nat = "a"', ["match 1, centre", "never cut"]),
    "middle of a meeting": ('meet = "a"\nat = "b"', ["match 1, at", "leave it out"]),
    "unknown lines": ('meet = "a"\nlines = "up"', ["match 1, lines", '"up"', '"crosswise"', '"both"']),
    "unknown level": ('meet = "a"\nlevel = "most"', ["match 1, level", '"main" or "everything"']),
    "misspelt field": ('met = "a"', ["match 1", '"met"', '"meet"?']),
    "no names": ("meet = []", ["match 1, meet", "empty list"]),
    "a name twice": ('meet = ["a", "a"]', ["match 1, meet", "a is listed twice"]),
    "a name that is none": ("meet = [1.5]", ["match 1, meet", "no name"]),
    "an empty name": ('meet = ""', ["match 1, meet", "is empty"]),
}


@pytest.mark.parametrize("case", MATCH_CASES)
def test_one_mistake_one_sentence(case, tmp_path):
    table, words = MATCH_CASES[case]
    sentence = told(tmp_path, with_matches(table))
    for word in ["oar-bag.toml: ", *words]:
        assert word in sentence, sentence


def test_the_match_that_is_wrong_is_counted(tmp_path):
    assert "match 2, meet" in told(tmp_path, with_matches('meet = "a"', 'meet = "c"'))


def test_what_meets_must_be_on_two_pieces_in_every_size(tmp_path):
    sentence = told(tmp_path, changed() + '\n[[match]]\nmeet = "a"\n')
    assert (
        'match 1, meet: a must be on two pieces to meet, and in size S only piece 1 "Front" has' in sentence
    )
    only_in_m = with_matches('meet = "b"').replace('[{ name = "b", at = [50, 200] }]', "[]")
    sentence = told(tmp_path, only_in_m)
    assert 'in size S only piece 2 "Flap" has' in sentence
    # A guide is never cut, so nothing meets it.
    guide = (
        "grain = [[0, 15], [0, 5]]",
        'grain = [[0, 15], [0, 5]]\nnotches = [{ name = "c", at = [0, 0] }]',
    )
    assert "no piece that is cut has" in told(tmp_path, with_matches('meet = "c"', more=[guide]))


def test_pieces_on_the_bias_cannot_match(tmp_path):
    more = [('name = "Flap"', 'name = "Flap"\nbias = true')]
    for table in ('meet = "b"', 'centre = "2"', 'pair = "2"'):
        sentence = told(tmp_path, with_matches(table, more=more))
        assert 'piece 2 "Flap" is cut on the bias' in sentence and "leave it out of the match" in sentence
    pattern = loaded(tmp_path, 'meet = "a"', more=more)
    assert [piece.bias for piece in pattern.pieces["S"]] == [False, True, False, False]


def test_a_piece_on_the_bias_is_not_cut_on_fold(tmp_path):
    sentence = told(tmp_path, changed(('name = "Front"', 'name = "Front"\nbias = true')))
    assert 'piece 1 "Front", size S: is cut on the bias and on fold' in sentence
    assert "draw the whole piece" in sentence


# Marks.


def test_marks_are_named_places_inside_the_piece(tmp_path):
    front = loaded(tmp_path).pieces["S"][0]
    (mark,) = front.marks
    assert (mark.name, mark.at, mark.sewn) == ("b", (50.0, -200.0), None)


def test_a_mark_outside_the_piece_is_told_where(tmp_path):
    sentence = told(tmp_path, with_matches().replace("at = [50, 200] }", "at = [500, 200] }"))
    assert 'piece 1 "Front", size S, mark 1 "b": (500, 200) is outside the piece' in sentence
    assert "mark 1, name" in told(
        tmp_path, with_matches().replace('{ name = "b", at = [50', '{ name = "", at = [50')
    )


# Sewn notches.


def test_notches_are_sewn_where_they_are_drawn_when_allowance_is_added(tmp_path):
    pattern = loaded(tmp_path)
    front, flap = pattern.pieces["S"][:2]
    (side,), (corner,) = front.notches, flap.notches
    assert side.sewn == (210.0, -300.0)
    assert math.dist(side.sewn, side.at) == pytest.approx(10)
    # At a square corner the cutting line turns 10 mm off both edges.
    assert corner.sewn == (0.0, 0.0) and corner.at == pytest.approx((-10.0, 10.0))


def test_notches_of_a_cutting_line_are_sewn_where_the_pattern_says_or_nowhere(tmp_path):
    drawing = 'outline = "M 0 0 H 300 V 200 H 0 Z"\ngrain = [[50, 150], [50, 50]]\nnotches = ['
    drawing += "".join(
        f'{{ name = "{name}", at = {at} }}, '
        for name, at in (("edge", [300, 80]), ("corner", [0, 200]), ("top", [40, 0]))
    )
    assert all(notch.sewn is None for notch in one(tmp_path, drawing + "]", "included").notches)
    edge, corner, top = one(tmp_path, drawing + "]", "included 15 mm").notches
    assert edge.sewn == pytest.approx((285.0, -80.0)) and edge.at == (300.0, -80.0)
    # On both stitching lines at once.
    assert corner.sewn == pytest.approx((15.0, -185.0)) and top.sewn == pytest.approx((40.0, -15.0))
    assert one(tmp_path, drawing + "]", "Included 5/8 in").notches[0].sewn == pytest.approx(
        (300 - 15.875, -80)
    )


def test_an_included_allowance_is_none_on_the_fold(tmp_path):
    drawing = (
        'outline = "M 0 0 H 300 V 200 H 0 Z"\ngrain = [[50, 150], [50, 50]]\nfold = [[0, 0], [0, 200]]\n'
        'notches = [{ name = "centre", at = [0, 0] }, { name = "on fold", at = [0, 90] }]'
    )
    centre, on_fold = one(tmp_path, drawing, "included 10 mm").notches
    assert centre.sewn == pytest.approx((0.0, -10.0)) and on_fold.sewn == (0.0, -90.0)


@pytest.mark.parametrize(
    ("seam", "words"),
    [
        ("included 30 cm", ["more than 20 cm", "no seam allowance"]),
        ("included x", ["no allowance", "included 10 mm"]),
        ("included -5 mm", ["negative"]),
        ("includes 5 mm", ["not a length"]),
        ("included 15 mm", ["notch 1", "outside the piece again", "check the allowance"]),
    ],
)
def test_what_is_said_of_an_allowance_that_cannot_be_included(seam, words, tmp_path):
    drawing = 'outline = "M 0 0 H 300 V 10 H 0 Z"\ngrain = [[50, 8], [50, 2]]\n'
    drawing += 'notches = [{ name = "a", at = [60, 0] }]'
    with pytest.raises(InputError) as caught:
        one(tmp_path, drawing, seam)
    for word in words:
        assert word in str(caught.value)


@settings(max_examples=60, deadline=None)
@given(st.integers(3, 9), st.floats(0, 6.28), st.floats(3, 20), st.integers(0, 8), st.floats(0.15, 0.85))
def test_a_sewn_notch_lies_as_far_inside_as_the_seam_is_wide(
    tmp_path_factory, sides, turn, width, side, share
):
    """On a regular polygon the stitching line is the smaller polygon, by the geometry of parallel lines."""
    corners = [
        (200 + 200 * math.cos(turn + k * math.tau / sides), 200 + 200 * math.sin(turn + k * math.tau / sides))
        for k in range(sides)
    ]
    (ax, ay), (bx, by) = corners[side % sides], corners[(side + 1) % sides]
    at = (ax + share * (bx - ax), ay + share * (by - ay))
    path = "M " + " L ".join(f"{x!r} {y!r}" for x, y in corners) + " Z"
    drawing = f'outline = "{path}"\ngrain = [[200, 300], [200, 100]]\n'
    drawing += f'notches = [{{ name = "a", at = [{at[0]!r}, {at[1]!r}] }}]'
    piece = one(tmp_path_factory.getbasetemp(), drawing, f"included {width!r} mm")
    (notch,) = piece.notches
    inner = Polygon(piece.outline).buffer(-width, join_style="mitre")
    assert inner.exterior.distance(ShapelyPoint(notch.sewn)) < 0.01
    assert math.dist(notch.at, notch.sewn) == pytest.approx(width, abs=0.01)
    # Drawn as the stitching line with the allowance added, the same seam comes out the other way round.
    stitched = one(tmp_path_factory.getbasetemp(), drawing, f"{width!r} mm")
    assert stitched.notches[0].sewn == pytest.approx((at[0], -at[1]), abs=0.01)
    assert nearest_on_ring(stitched.notches[0].at, stitched.outline)[0] < 1e-6


# Hems.

APRON = (
    'outline = "M 0 0 H 100 L 200 150 V 400 H 0 Z"\ngrain = [[50, 350], [50, 50]]\n'
    "fold = [[0, 0], [0, 400]]\nhem = [[200, 400], [0, 400]]\n"
)
ON_FOLD = '{ material = "fabric", count = 1, how = "on fold" }'


def test_the_hem_is_the_cutting_line_beside_the_edge_that_is_drawn(tmp_path):
    text = APRON + 'allowances = [{ from = [200, 400], to = [0, 400], width = "40 mm" }]'
    piece = one(tmp_path, text, "10 mm", cuts=ON_FOLD)
    # Down by the hem's own allowance; out to the corner of the cutting line, and to the fold.
    assert {*piece.hem} == {(0.0, -440.0), (210.0, -440.0)}
    assert {*piece.hem} <= {*piece.outline}
    included = one(tmp_path, APRON, "included", cuts=ON_FOLD)
    assert {*included.hem} == {(0.0, -400.0), (200.0, -400.0)}
    # In the order of the outline: the piece lies on the left of it.
    for found in (piece, included):
        (ax, _), (bx, _) = found.hem
        assert bx > ax


def test_a_hem_may_be_a_part_of_a_longer_straight_edge(tmp_path):
    text = 'outline = "M 0 0 H 300 V 200 H 0 Z"\ngrain = [[50, 150], [50, 50]]\nhem = [[50, 200], [250, 200]]'
    piece = one(tmp_path, text, "10 mm")
    # All of the straight cutting line goes along the border.
    assert {*piece.hem} == {(-10.0, -210.0), (310.0, -210.0)}


HEM_CASES = {
    "off the outline": (
        APRON.replace("hem = [[200, 400]", "hem = [[200, 300.0], [150, 420]] #"),
        ["hem", "on the outline"],
    ),
    "round a corner": (
        APRON.replace("hem = [[200, 400], [0, 400]]", "hem = [[100, 0], [0, 400]]"),
        ["hem", "not straight", "(100, 0)"],
    ),
    "no length": (
        APRON.replace("hem = [[200, 400], [0, 400]]", "hem = [[200, 400], [200, 400]]"),
        ["hem", "no length"],
    ),
    "slanted to the fold": (
        APRON.replace("hem = [[200, 400], [0, 400]]", "hem = [[100, 0], [200, 150]]"),
        ["hem", "not square to the fold"],
    ),
    "the piece beyond it": (
        APRON.replace("V 400 H 0 Z", "V 400 H 100 V 450 H 0 Z")
        .replace("[0, 400]]\nhem", "[0, 450]]\nhem")
        .replace("hem = [[200, 400], [0, 400]]", "hem = [[200, 400], [100, 400]]"),
        ["hem", "reaches across its own hem line", "4"],
    ),
    "two allowances": (
        APRON + 'allowances = [{ from = [200, 400], to = [100, 400], width = "40 mm" }]',
        ["hem", "changes on the way", "10 to 40 mm"],
    ),
    "one point": (APRON.replace("hem = [[200, 400], [0, 400]]", "hem = [[200, 400]]"), ["hem", "1 entry"]),
}


@pytest.mark.parametrize("case", HEM_CASES)
def test_a_hem_that_cannot_lie_along_a_border_is_told(case, tmp_path):
    drawing, words = HEM_CASES[case]
    with pytest.raises(InputError) as caught:
        one(tmp_path, drawing, "10 mm", cuts=ON_FOLD)
    for word in ['piece 1 "One"', *words]:
        assert word in str(caught.value), str(caught.value)


@settings(max_examples=40, deadline=None)
@given(st.floats(20, 300), st.floats(-15, 15), st.floats(0, 40), st.floats(0, 40))
def test_the_whole_piece_lies_on_one_side_of_its_hem(tmp_path_factory, width, lean, seam, more):
    """The hem of the cutting line is parallel to the drawn one, its allowance away, and the last of it."""
    seam, hem_width = round(seam, 3), round(seam + more, 3)
    text = (
        f'outline = "M {lean} 0 H {width} V 200 H 0 Z"\ngrain = [[{width / 2}, 150], [{width / 2}, 50]]\n'
        f"hem = [[{width}, 200], [0, 200]]\n"
        f'allowances = [{{ from = [{width}, 200], to = [0, 200], width = "{hem_width:.3f} mm" }}]'
    )
    piece = one(tmp_path_factory.getbasetemp(), text, f"{seam:.3f} mm")
    assert [y for _, y in piece.hem] == pytest.approx([-200 - hem_width] * 2, abs=1e-3)
    assert min(y for _, y in piece.outline) >= -200 - hem_width - 0.05
    assert Polygon(piece.outline).exterior.buffer(0.06).covers(LineString(piece.hem))
    assert piece.hem[0][0] < piece.hem[1][0]


def test_odd_values_anywhere_give_a_pattern_or_a_sentence_and_never_a_crash(tmp_path):
    tables = 'meet = "a"\nlines = "both"\nlevel = "everything"', 'centre = "1"\nat = "b"', 'pair = ["2"]'
    start = with_matches(more=[('name = "Loop"', 'name = "Loop"\nbias = false')])
    start = start.replace(
        "fold = [[0, 0], [0, 600]]", "fold = [[0, 0], [0, 600]]\nhem = [[0, 600], [220, 600]]"
    )
    text = start + "".join(f"\n[[match]]\n{table}\n" for table in tables)
    assert len(load_pattern(write(tmp_path, text)).matches) == 3
    lines = text.splitlines()
    refused = 0
    for (number, line), odd in itertools.product(enumerate(lines), ODD):
        if line.split(" = ")[0] in ("meet", "lines", "level", "centre", "at", "pair", "bias", "hem", "marks"):
            odd_text = "\n".join([*lines[:number], f"{line.split(' = ')[0]} = {odd}", *lines[number + 1 :]])
            try:
                load_pattern(write(tmp_path, odd_text))
            except InputError as error:
                refused += 1
                assert "\n" not in str(error)
    assert refused > 110
