"""SVG drawings to pieces.

References: coordinates worked out by hand from W3C SVG 2 (chapters 8 to 10: viewBox, transforms, paths,
shapes), CSS Values and Units 3, section 6.2 (96 px to the inch), and shapely for shapes.
"""

import math
import re

import pytest
from hypothesis import given, reject
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon, box
from shapely.affinity import scale, translate

from marker.errors import InputError
from marker.files.blanks import hint_of
from marker.files.outline import Frame, parse_ring
from marker.files.pattern import load_pattern
from marker.files.pattern_writer import pattern_text
from marker.importing.found import FoundCut, Options
from marker.importing.svg import read_svg, svg_drawing
from tests.importing.opened import opened

NS = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
MM = 'width="600mm" height="800mm" viewBox="0 0 600 800"'
BOX = '<path d="M 10 10 H 210 V 310 H 10 Z"/>'


def drawn(folder, body, root=MM, name="bag.svg"):
    path = folder / name
    path.write_text(f"<svg {NS} {root}>{body}</svg>", encoding="utf-8")
    return path


def read(folder, body, root=MM, **options):
    return read_svg(drawn(folder, body, root), Options(**options))


def corners(folder, body, root=MM, **options):
    """Corners of the first object in millimetres from the top left of the drawing."""
    drawing = svg_drawing(drawn(folder, body, root), Options(**options))
    return drawing.objects[0].strokes[0].points()


def refusal(folder, body, root=MM, **options):
    with pytest.raises(InputError) as caught:
        read(folder, body, root, **options)
    told = str(caught.value)
    assert told.startswith(f"{folder / 'bag.svg'}: ") and "\n" not in told and told.endswith((".", "?"))
    return told


def same(points, expected):
    return len(points) == len(expected) and all(
        point == pytest.approx(other, abs=1e-9) for point, other in zip(points, expected, strict=True)
    )


def shape(piece):
    return Polygon(parse_ring(piece.outline, Frame("mm")).ring)


# Units, viewBox, transforms: millimetres worked out by hand.


@pytest.mark.parametrize(
    ("root", "millimetres"),
    [
        ('width="100mm" height="50mm" viewBox="0 0 100 50"', 1),
        ('width="10cm" height="5cm" viewBox="0 0 100 50"', 1),
        ('width="1in" height="0.5in" viewBox="0 0 100 50"', 0.254),
        ('width="72pt" height="36pt" viewBox="0 0 100 50"', 0.254),
        ('width="6pc" height="3pc" viewBox="0 0 100 50"', 0.254),
        ('width="96px" height="48px" viewBox="0 0 100 50"', 0.254),
        ('width="96" height="48" viewBox="0 0 100 50"', 0.254),
        ('width="100mm" viewBox="0 0 100 50"', 1),
        ('height="50mm" viewBox="0 0 100 50"', 1),
        ('width="100mm" height="50mm"', 25.4 / 96),
        ("", 25.4 / 96),
    ],
)
def test_the_size_of_a_unit(root, millimetres, tmp_path):
    found = corners(tmp_path, '<polygon points="0,0 90,0 90,40"/>', root)
    for point, (x, y) in zip(found, [(0, 0), (90, 0), (90, 40)], strict=True):
        assert point == pytest.approx((x * millimetres, y * millimetres))


def test_a_length_with_a_unit_inside_counts_by_the_scale_of_the_drawing(tmp_path):
    # 1in is 96 user units, whatever they measure: here 1 mm each.
    (_, right, *_) = corners(tmp_path, '<rect width="1in" height="50%"/>')
    assert right == pytest.approx((96, 0))
    assert corners(tmp_path, '<rect width="1in" height="50%"/>')[2] == pytest.approx((96, 400))


def test_the_viewbox_may_begin_anywhere(tmp_path):
    root = 'width="200mm" height="100mm" viewBox="-50 10 400 200"'
    found = corners(tmp_path, '<path d="M -50 10 h 400 v 200 z"/>', root)
    assert same(found, [(0, 0), (200, 0), (200, 100)])


@pytest.mark.parametrize(
    ("aspect", "expected"),
    [
        # 100 × 100 units into 300 × 200 mm: scale 2, room of 100 mm across.
        ("", (50, 0, 2, 2)),
        ("xMinYMin meet", (0, 0, 2, 2)),
        ("xMaxYMid", (100, 0, 2, 2)),
        ("xMidYMid slice", (0, -50, 3, 3)),
        ("xMidYMax slice", (0, -100, 3, 3)),
        ("none", (0, 0, 3, 2)),
    ],
)
def test_how_the_viewbox_fits(aspect, expected, tmp_path):
    told = f'preserveAspectRatio="{aspect}"' if aspect else ""
    left, top, sx, sy = expected
    found = corners(
        tmp_path,
        '<path d="M 10 10 h 50 v 40 z"/>',
        f'width="300mm" height="200mm" viewBox="0 0 100 100" {told}',
    )
    assert same(found, [(left + sx * x, top + sy * y) for x, y in [(10, 10), (60, 10), (60, 50)]])


@pytest.mark.parametrize(
    ("transform", "expected"),
    [
        # Of the point (10, 20).
        ("translate(3)", (13, 20)),
        ("translate(3, -4)", (13, 16)),
        ("scale(2)", (20, 40)),
        ("scale(2 .5)", (20, 10)),
        ("rotate(90)", (-20, 10)),
        ("rotate(90 10 0)", (-10, 0)),
        ("rotate(180,10,10)", (10, 0)),
        ("skewX(45)", (30, 20)),
        ("skewY(45)", (10, 30)),
        ("matrix(1 2 3 4 5 6)", (10 + 60 + 5, 20 + 80 + 6)),
        ("translate(100) scale(2)", (120, 40)),
        ("scale(2),translate(100)", (220, 40)),
        ("matrix(0-1 1 0-5.5.5)", (14.5, -9.5)),
        (" translate ( 1e1 , 2 ) \n rotate( 90 )", (-10, 12)),
    ],
)
def test_transforms(transform, expected, tmp_path):
    (first, *_) = corners(tmp_path, f'<path transform="{transform}" d="M 10 20 h 30 v 30 z"/>')
    assert first == pytest.approx(expected, abs=1e-9)


def test_transforms_nest_from_the_outside_in(tmp_path):
    body = """<g transform="translate(100 50)"><g transform="rotate(90)">
        <svg x="10" y="20" width="40" height="40" viewBox="0 0 20 20">
        <polygon transform="scale(1 -1)" points="1 -2, 11 -2, 11 -12"/></svg></g></g>"""
    # (1, -2) → (1, 2) → ×2 and + (10, 20) = (12, 24) → turned (-24, 12) → (76, 62).
    # (11, 2) → (32, 24) → (-24, 32) → (76, 82). (11, 12) → (32, 44) → (-44, 32) → (56, 82).
    assert same(corners(tmp_path, body), [(76, 62), (76, 82), (56, 82)])


def test_use_draws_again_elsewhere(tmp_path):
    body = """<defs><path id="tab" d="M 0 0 H 40 V 60 H 0 Z"/><symbol id="s" viewBox="0 0 10 10">
        <circle cx="5" cy="5" r="5"/></symbol></defs>
        <use href="#tab" x="5" y="7"/><use xlink:href="#tab" transform="translate(100 0) rotate(90)"/>
        <use href="#s" x="200" y="100" width="80" height="80"/>"""
    objects = svg_drawing(drawn(tmp_path, body), Options()).objects
    assert same(objects[0].strokes[0].points(), [(5, 7), (45, 7), (45, 67), (5, 67)])
    assert same(objects[1].strokes[0].points(), [(100, 0), (100, 40), (40, 40), (40, 0)])
    circle = Polygon(objects[2].strokes[0].points())
    assert circle.bounds == pytest.approx((200, 100, 280, 180), abs=0.06)
    assert len(read(tmp_path, body).pieces) == 3


def test_a_name_around_use_counts_before_the_id_that_use_needs(tmp_path):
    body = """<defs><path id="strip" d="M 0 0 H 40 V 60 H 0 Z"/></defs>
        <g><title>Belt loop; number 4</title><use href="#strip" x="5" y="7"/></g>
        <g><use href="#strip" x="105" y="7"/></g>"""
    assert [piece.name for piece in read(tmp_path, body).pieces] == ["Belt loop", "strip"]


WEDGE = Polygon([(0, 0), (100, 0), (100, 50)])
SLOT = scale(Point(50, 20).buffer(50, 256), 1, 0.4)
PARABOLA = Polygon([(t, 160 * t / 100 * (1 - t / 100)) for t in range(101)])
SPANDREL = box(0, 0, 100, 100).difference(Point(100, 100).buffer(100, 256))


@pytest.mark.parametrize(
    ("element", "expected"),
    [
        ('<rect x="10" y="20" width="100" height="50"/>', box(10, 20, 110, 70)),
        ('<rect x="10" y="20" width="100" height="50" rx="10"/>', box(20, 30, 100, 60).buffer(10, 64)),
        ('<rect width="100" height="40" rx="80" ry="20"/>', SLOT),
        ('<circle cx="100" cy="80" r="60"/>', Point(100, 80).buffer(60, 256)),
        ('<ellipse cx="100" cy="80" rx="60" ry="30"/>', scale(Point(100, 80).buffer(60, 256), 1, 0.5)),
        ('<polygon points="0 0 100 0 100 50"/>', WEDGE),
        ('<polyline points="0,0 100,0 100,50 0,0"/>', WEDGE),
        ('<path d="m 0 0 l 100 0 0 50 z"/>', WEDGE),
        ('<path d="M 0 0 Q 50 80 100 0 Z"/>', PARABOLA),
        ('<path d="M0,100A100 100 0 0 1 100 0L0 0z"/>', SPANDREL),
    ],
)
def test_shapes(element, expected, tmp_path):
    found = Polygon(corners(tmp_path, element))
    assert found.exterior.hausdorff_distance(expected.exterior) < 0.1


def test_an_arc_whose_radii_are_too_small_becomes_half_an_ellipse(tmp_path):
    # SVG 2, 9.5.1: the radii are scaled up until the arc reaches.
    found = Polygon(corners(tmp_path, '<path d="M 0 0 A 10 5 0 0 1 100 0 Z"/>'))
    assert found.area == pytest.approx(math.pi * 50 * 25 / 2, rel=2e-3)


def test_an_elliptic_arc_lies_on_its_ellipse(tmp_path):
    """Rotated by 30°, large: every point satisfies the ellipse's equation about its centre."""
    (*points, _) = corners(tmp_path, '<path d="M 0 0 A 60 30 30 1 1 40 10 Z"/>')
    cos, sin = math.cos(math.radians(30)), math.sin(math.radians(30))

    def flat(x, y):
        return (cos * x + sin * y) / 60, (-sin * x + cos * y) / 30

    local = [flat(*point) for point in points]
    (ax, ay), (bx, by), (cx, cy) = local[0], local[len(local) // 3], local[-1]
    # The circle through three of the points, in coordinates in which the ellipse is a unit circle.
    d = 2 * (ax * (by - cy) + bx * (cy - ay) + cx * (ay - by))
    ux = ((ax**2 + ay**2) * (by - cy) + (bx**2 + by**2) * (cy - ay) + (cx**2 + cy**2) * (ay - by)) / d
    uy = ((ax**2 + ay**2) * (cx - bx) + (bx**2 + by**2) * (ax - cx) + (cx**2 + cy**2) * (bx - ax)) / d
    assert [math.hypot(x - ux, y - uy) for x, y in local] == pytest.approx([1] * len(local), abs=1e-5)


def test_curves_stay_curves(tmp_path):
    (piece,) = read(
        tmp_path, '<path d="M 0 0 C 10 50 90 50 100 0 Q 50 -40 0 0 Z" transform="scale(2)"/>'
    ).pieces
    assert re.fullmatch(r"M 0 \S+ C .* Q .* Z", piece.outline)
    assert "C 20 " in piece.outline and " 180 " in piece.outline


# What one unit is, where the drawing does not say.


def test_a_drawing_without_a_size_is_asked_about(tmp_path):
    assert "--unit" in refusal(tmp_path, BOX, 'viewBox="0 0 600 800"')
    (piece,) = read(tmp_path, BOX, 'viewBox="0 0 60 80"', unit="cm").pieces
    assert shape(piece).bounds == pytest.approx((0, -3000, 2000, 0))
    assert "--unit" in refusal(tmp_path, BOX, 'viewBox="0 0 9 9" width="100%" height="100%"')


def test_unit_and_scale_are_said_aloud(tmp_path):
    found = read(tmp_path, BOX, 'width="600" height="800" viewBox="0 0 600 800"', unit="mm")
    assert shape(found.pieces[0]).bounds == pytest.approx((0, -300, 200, 0))
    assert any("--unit mm" in note for note in found.notes)
    found = read(tmp_path, BOX, scale=1.1)
    assert shape(found.pieces[0]).bounds == pytest.approx((0, -330, 220, 0))
    assert any("--scale" in note for note in found.notes)
    assert "says by itself that one unit is 1 mm" in refusal(tmp_path, BOX, unit="cm")


@pytest.mark.parametrize("words", ["test square 100 mm", "Test square: 10 cm", "100 mm / 4 in test square"])
@pytest.mark.parametrize("by", ["title", "text"])
def test_the_test_square_is_measured_and_told(by, words, tmp_path):
    square = '<rect x="400" y="20" width="{0}" height="{0}">{1}</rect>'
    text = f'<text x="420" y="60">{words}</text>'
    told = (f"<title>{words}</title>", "") if by == "title" else ("", text)
    for side, share in ((100, None), (97, "97.0 %"), (103, "103.0 %")):
        found = read(tmp_path, BOX + square.format(side, told[0]) + told[1])
        assert len(found.pieces) == 1
        (note,) = [note for note in found.notes if "square" in note]
        assert ("is right" in note) if share is None else (share in note and note.startswith("Careful")), note
        assert shape(found.pieces[0]).bounds == pytest.approx((0, -300, 200, 0))


def test_four_inches_are_not_taken_for_ten_centimetres(tmp_path):
    square = '<rect x="400" y="20" width="101.6" height="101.6"/><text x="420" y="60">100 mm / 4 in</text>'
    (note,) = [note for note in read(tmp_path, BOX + square).notes if "square" in note]
    assert "measures 101.60 by 101.60 mm: the scale is right" in note


def test_a_square_that_says_nothing_is_a_piece_with_a_note(tmp_path):
    found = read(tmp_path, BOX + '<rect x="400" y="20" width="98" height="98"/>')
    assert len(found.pieces) == 2
    assert any("test square" in note for note in found.pieces[1].notes)


# The convention.


def test_titles_say_everything(tmp_path):
    body = """<g><title>Front; number 3; size M; cut 1 of fabric on fold;
        cut 2 of interfacing region edge alike; seam allowance 10 mm</title>
        <path d="M 10 10 H 210 V 310 H 10 Z"><title>outline</title></path>
        <path d="M 100 250 V 50"><title>grain</title></path>
        <path d="M 10 310 V 10"><title>Fold</title></path>
        <line x1="150" y1="5" x2="150" y2="16"><title>notch neck</title></line>
        <circle cx="60" cy="90" r="2"><title>drill</title></circle>
        <path d="M 30 30 L 90 30"><title>line</title></path>
        <path d="M 10 10 H 210 V 60 H 10 Z"><title>region edge</title></path>
        <rect x="0" y="0" width="5" height="900"><title>ignore</title></rect></g>"""
    found = read(tmp_path, f"<title>Oar bag</title>{body}")
    (piece,) = found.pieces
    assert (found.name, found.sizes, found.seam_allowance) == ("Oar bag", ("M",), "10 mm")
    assert (piece.name, piece.number, piece.size) == ("Front", "3", "M")
    assert piece.cuts == (
        FoundCut("fabric", 1, "on fold"),
        FoundCut("interfacing", 2, "alike", "edge"),
    )
    assert piece.outline == "M 0 0 L 200 0 L 200 300 L 0 300 Z"
    assert piece.grain == ((90, 240), (90, 40))
    assert piece.fold == ((0, 300), (0, 0))
    assert [(notch.name, notch.at) for notch in piece.notches] == [("neck", (140, 0))]
    assert piece.drills == (pytest.approx((50, 80)),)
    assert piece.lines == ("M 20 20 L 80 20",)
    assert list(piece.regions) == ["edge"]
    path = tmp_path / "bag.toml"
    path.write_text(pattern_text(found, {"fabric": "140 cm", "interfacing": "90 cm"}))
    pattern = load_pattern(path)
    assert [cut.how for cut in pattern.pieces["M"][0].cuts] == ["on fold", "alike"]


def test_ids_labels_and_layers_say_it_too(tmp_path):
    body = """<g id="front_panel"><path id="outline-1" d="M 10 10 H 210 V 310 H 10 Z"/>
        <path id="grain-2" d="M 100 250 V 50"/><path id="notch-a-3" d="M 150 5 V 16"/></g>
        <g id="layer2" xmlns:k="urn:k" k:label="Grain"><path id="path7" d="M 350 250 V 50"/></g>
        <path id="rect12" k:label="Back" xmlns:k="urn:k" d="M 310 10 H 510 V 310 H 310 Z"/>
        <path id="path9" d="M 310 410 H 510 V 610 H 310 Z"/>"""
    found = read(tmp_path, body)
    assert [piece.name for piece in found.pieces] == ["front panel", "Back", None]
    assert [piece.grain for piece in found.pieces] == [((90, 240), (90, 40)), ((40, 240), (40, 40)), None]
    assert found.pieces[0].notches[0].name == "a"
    assert 'name = "Piece 3"' in pattern_text(found)


def test_text_on_a_piece_says_it_too(tmp_path):
    body = f"""{BOX}<text x="50" y="100"><tspan x="50">Sleeve</tspan>
        <tspan x="50" dy="20">Cut 2 of fabric</tspan>
        <tspan x="50" dy="20">cut 2 lining mirrored</tspan><tspan x="50" dy="20">Number 5</tspan></text>
        <text x="300" y="700">Seam allowance 5/8 in</text><text x="300" y="750">Pattern Deck smock</text>
        <text x="300" y="790">printed on paper</text>"""
    found = read(tmp_path, body)
    (piece,) = found.pieces
    assert (piece.name, piece.number) == ("Sleeve", "5")
    assert piece.cuts == (FoundCut("fabric", 2), FoundCut("lining", 2, "mirrored"))
    assert (found.name, found.seam_allowance) == ("Deck smock", "5/8 in")
    assert any("1 text on no piece" in note for note in found.notes)


def test_titles_go_before_text_before_ids(tmp_path):
    path = '<path id="front" d="M 10 10 H 210 V 310 H 10 Z">{}</path>'
    text = '<text x="50" y="100">Middle</text>'
    names = [
        read(tmp_path, body).pieces[0].name
        for body in (path.format("<title>Bib</title>") + text, path.format("") + text, path.format(""))
    ]
    assert names == ["Bib", "Middle", "front"]


def test_what_is_not_said_stays_open(tmp_path):
    found = read(tmp_path, BOX)
    (piece,) = found.pieces
    assert (found.name, found.seam_allowance, found.sizes) == (None, None, ())
    assert (piece.name, piece.cuts, piece.grain, piece.size) == (None, None, None, None)
    text = pattern_text(found)
    assert text.count('"todo: ') == 5 and text.count("'todo: ") == 1


def test_marks_find_their_piece_by_place(tmp_path):
    body = """<path id="front" d="M 10 10 H 210 V 310 H 10 Z"/>
        <path id="back" d="M 215 10 H 410 V 310 H 215 Z"/>
        <g id="grain"><path d="M 100 250 V 50"/><path d="M 300 250 V 50"/></g>
        <g id="notch"><path d="M 210 60 h -6"/><path d="M 215 90 h 6"/></g>
        <path id="fold" d="M 11 60 V 200"/><path d="M 250 20 L 300 20"/>
        <path id="drill" d="M 500 500 h 4"/>"""
    found = read(tmp_path, body)
    front, back = found.pieces
    assert (front.grain, back.grain) == (((90, 240), (90, 40)), ((85, 240), (85, 40)))
    assert same([n.at for n in front.notches], [(200, 50)])
    assert same([n.at for n in back.notches], [(0, 80)])
    assert front.fold == ((0, 0), (0, 300))
    assert "whole straight edge" in front.notes[0]
    assert back.lines == ("M 35 10 L 85 10",)
    assert any("Drill" in note and "left out" in note for note in found.notes)


def test_sizes_by_groups(tmp_path):
    body = "".join(
        f"<g><title>size {size}</title>"
        f'<path d="M 10 10 h {width} v 300 H 10 Z"><title>Front; number 1</title></path>'
        f'<path d="M 10 410 h {width} v 100 H 10 Z"><title>Yoke; number 2</title></path></g>'
        for size, width in (("S", 200), ("M", 220))
    )
    found = read(tmp_path, body)
    assert found.sizes == ("S", "M")
    assert [(piece.number, piece.size) for piece in found.pieces] == [
        ("1", "S"),
        ("2", "S"),
        ("1", "M"),
        ("2", "M"),
    ]
    assert pattern_text(found).count("[[piece]]") == 2


def test_a_guide_is_never_cut(tmp_path):
    (piece,) = read(tmp_path, f"{BOX}<text x='50' y='60'>Guide</text>").pieces
    assert piece.cuts == ()


def test_edges_drawn_line_by_line_are_put_together(tmp_path):
    body = """<path d="M 0 0 L 100 0"/><path d="M 0 200 V 0"/><path d="M 100.05 0 C 120 50 120 150 100 200"/>
        <line x1="100" y1="200" x2="0" y2="200"/>"""
    (piece,) = read(tmp_path, body).pieces
    assert shape(piece).area == pytest.approx(100 * 200 + 0.75 * 20 * 150, rel=0.02)
    assert "4 lines" in piece.notes[0]


def test_a_path_of_several_parts_is_one_piece(tmp_path):
    (piece,) = read(
        tmp_path, '<path d="M 40 40 h 20 v 20 h -20 z M 0 0 H 100 V 100 H 0 Z M 5 5 L 9 9"/>'
    ).pieces
    assert shape(piece).area == pytest.approx(10000)
    assert len(piece.lines) == 2


def test_a_piece_inside_another_is_a_piece_with_a_note(tmp_path):
    found = read(tmp_path, f'{BOX}<path id="pocket" d="M 50 50 h 60 v 60 h -60 z"/>')
    assert len(found.pieces) == 2 and "Drawn inside" in found.pieces[1].notes[0]


def test_what_is_hidden_small_or_drawn_twice_is_told(tmp_path):
    hidden = f'<g style="display: none">{BOX}</g><image href="data:image/png;base64,x"/>'
    body = f'{BOX}{BOX}<circle cx="50" cy="50" r="1"/>{hidden}'
    found = read(tmp_path, body)
    assert len(found.pieces) == 1
    told = " ".join(found.notes)
    assert all(word in told for word in ("hidden", "smaller than 5 mm", "taken once", "Pictures"))


def test_misread_phrases_are_told(tmp_path):
    found = read(tmp_path, f"{BOX}<text x='50' y='60'>Front;cut two of;seam allowance 3</text>")
    assert found.pieces[0].cuts is None and hint_of(found.seam_allowance)
    assert [note for note in found.pieces[0].notes if "cut two of" in note]
    assert [note for note in found.pieces[0].notes if '"seam allowance 3"' in note]


# Round trips.

lengths = st.floats(20, 900)


@st.composite
def outlines(draw):
    """Path data of a star-shaped outline of lines and curves, and the same as a polygon."""
    n = draw(st.integers(3, 12))
    steps = [draw(st.floats(0.2, 1)) for _ in range(n)]
    angles = [2 * math.pi * sum(steps[:i]) / sum(steps) for i in range(n)]
    radii = [draw(st.floats(60, 400)) for _ in range(n)]
    points = [(r * math.cos(a), r * math.sin(a)) for r, a in zip(radii, angles, strict=True)]
    words = [f"M {points[0][0]!r} {points[0][1]!r}"]
    for i in range(n):
        (ax, ay), (bx, by) = points[i], points[(i + 1) % n]
        kind = draw(st.sampled_from("LLCQ"))
        if kind == "C":
            words.append(f"C {ax * 0.9 + bx * 0.1!r} {ay * 0.9 + by * 0.1!r} {bx * 0.98!r} {by * 0.98!r}")
        elif kind == "Q":
            words.append(f"Q {(ax + bx) * 0.52!r} {(ay + by) * 0.52!r}")
        else:
            words.append("L")
        words[-1] += f" {bx!r} {by!r}"
    return " ".join(words) + " Z"


@given(outlines(), st.floats(-180, 180), st.floats(-500, 500), st.sampled_from([0.1, 1.0, 10.0, 25.4]))
def test_outlines_come_back_within_a_hundredth_of_a_millimetre(tmp_path_factory, path, angle, shift, unit):
    """Drawn in another unit, turned and shifted by the transforms of two groups, and read."""
    try:
        ring = parse_ring(path, Frame("mm")).ring
    except ValueError:
        reject()
    folder = tmp_path_factory.mktemp("round")
    turned = f'<path transform="rotate({-angle!r})" d="{path}"/>'
    inner = f'<g transform="translate({shift!r} 7) rotate({angle!r})">{turned}</g>'
    body = f'<g transform="scale({1 / unit!r})">{inner}</g>'
    root = f'width="{unit!r}mm" height="{unit!r}mm" viewBox="0 0 1 1"'
    found = read(folder, body, root)
    text = pattern_text(found).split("[[piece]]")
    assert len(text) == 2
    back = parse_ring(re.search(r'outline = "+([^"]*)"', text[1])[1], Frame(found.unit)).ring
    one, other = Polygon(ring), Polygon(back)
    (left, _, _, top), (x, _, _, y) = one.bounds, other.bounds
    moved = translate(other, left - x, top - y)
    assert len(ring) == len(back)
    assert LineString([*moved.exterior.coords]).hausdorff_distance(LineString([*one.exterior.coords])) < 0.01


@given(outlines())
def test_a_pattern_goes_to_svg_and_back(tmp_path_factory, path):
    """A pattern file read, drawn by hand as SVG, imported and read again: the same piece."""
    folder = tmp_path_factory.mktemp("trip")
    file = folder / "one.toml"
    head = 'name = "Bag"\nunit = "mm"\nseam_allowance = "included"\n[fabric.fabric]\nwidth = "3 m"\n'
    file.write_text(
        f'{head}[[piece]]\nnumber = "4"\nname = "Gore"\ncuts = [{{ material = "fabric", count = 4 }}]\n'
        f'[piece.drawing.every]\noutline = "{path}"\ngrain = [[0, 30], [3, -30]]\n'
    )
    try:
        (piece,) = load_pattern(file).pieces["one size"]
    except InputError:
        reject()
    points = " ".join(f"{x!r},{-y!r}" for x, y in piece.outline)
    (tx, ty), (hx, hy) = piece.grain
    body = (
        f"<title>Bag</title><g><title>Gore; number 4; cut 4 of fabric; seam allowance included</title>"
        f'<polygon points="{points}"/><path id="grain" d="M {tx!r} {-ty!r} L {hx!r} {-hy!r}"/></g>'
    )
    found = read(folder, body)
    again = folder / "two.toml"
    again.write_text(pattern_text(found, {"fabric": "3 m"}))
    (back,) = load_pattern(again).pieces["one size"]
    left, top = min(x for x, _ in piece.outline), max(y for _, y in piece.outline)
    assert len(back.outline) == len(piece.outline)
    moved = [(x + left, y + top) for x, y in back.outline]
    assert Polygon(moved).exterior.hausdorff_distance(Polygon(piece.outline).exterior) < 0.01
    for one, other in zip(piece.grain, back.grain, strict=True):
        assert math.dist(one, (other[0] + left, other[1] + top)) < 0.01
    assert [(cut.material, cut.count, cut.how) for cut in back.cuts] == [("fabric", 4, "mirrored")]
    assert (back.number, back.name) == (piece.number, piece.name)


# Broken and hostile drawings.

BOMB = """<?xml version="1.0"?><!DOCTYPE svg [<!ENTITY a "aaaaaaaaaa">
<!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;"><!ENTITY c "&b;&b;&b;&b;&b;&b;&b;&b;">]>
<svg xmlns="http://www.w3.org/2000/svg"><title>&c;</title></svg>"""


@pytest.mark.parametrize(
    ("body", "parts"),
    [
        ("", ["no piece", "closed"]),
        ('<path d="M 0 0 L 9 9"/>', ["no closed line"]),
        ("<script>alert(1)</script>", ["script"]),
        (f'<g onclick="x()">{BOX}</g>', ["script", "onclick"]),
        ('<use href="other.svg#piece"/>', ["outside the file"]),
        ("<style>@import 'x.css';</style>", ["outside the file"]),
        ('<use href="#nowhere"/>', ["not in the drawing"]),
        ('<g id="a"><use href="#a"/></g>', ["uses itself"]),
        ('<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g>', ["uses itself"]),
        ('<path id="front" d="M 0 0 L 9 x"/>', ['path "front"', "cannot be read"]),
        ('<path id="front" d="L 9 9"/>', ['path "front"', "begins with L"]),
        ('<path id="front" d="M 0 0 L 100 100 L 100 0 L 0 100 Z"/>', ['path "front"', "crosses"]),
        ('<path id="front" d="M 0 0 L 100000 0 L 100 100 Z"/>', ['path "front"', "far too large"]),
        ('<path id="outline" d="M 0 0 L 100 0 L 0 50"/>', ["called an outline", "close"]),
        ('<rect width="abc" height="5"/>', ["width", "abc"]),
        ('<circle cx="1em" cy="5" r="9"/>', ["cx", "1em"]),
        ('<polygon points="0 0 1 q"/>', ["0 0 1 q"]),
        ('<polygon points="0 0 1e999 1 3 4"/>', ["finite"]),
        ('<g transform="twist(3)"/>', ["twist"]),
        ('<g transform="scale(1e300)"><g transform="scale(1e300)"/></g>', ["transform"]),
        ('<path style="transform: scale(2)" d="M 0 0 H 9 V 9 Z"/>', ["moved by a style"]),
        (f'{BOX}<path id="fold" d="M 100 100 V 200"/>', ["fold", "straight edge"]),
        (f'{BOX}<path id="region-a" d="M 30 30 V 60"/>', ["region", "closed"]),
        (f'{BOX}<circle id="grain" cx="90" cy="90" r="9"/>', ["grain", "no line"]),
        ("<g>" * 150 + "</g>" * 150, ["nested more than"]),
        ("<g/>" * 60_000, ["more than 50000"]),
        ("<b", ["not XML"]),
        ("&undefined;", ["not XML"]),
        ("</g>", ["not XML"]),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told_in_one_sentence(body, parts, tmp_path):
    told = refusal(tmp_path, body)
    assert all(part in told for part in parts), told


@pytest.mark.parametrize(
    ("root", "part"),
    [
        ('width="-5mm" height="5mm" viewBox="0 0 5 5"', "-5mm"),
        ('width="5ells" height="5mm" viewBox="0 0 5 5"', "5ells"),
        ('width="5mm" height="5mm" viewBox="0 0 0 5"', "viewBox"),
        ('width="5mm" height="5mm" viewBox="0 0 5"', "viewBox"),
        ('width="5mm" height="5mm" viewBox="a b c d"', "a b c d"),
        ('width="1e999mm" height="5mm" viewBox="0 0 5 5"', "1e999"),
    ],
)
def test_a_wrong_size_is_told(root, part, tmp_path):
    assert part in refusal(tmp_path, BOX, root)


@pytest.mark.parametrize(
    ("data", "part"),
    [
        (b"", "not XML"),
        (b"<html/>", "no SVG"),
        (b"\x89PNG\r\n\x1a\n" + bytes(range(256)), "not XML"),
        (b"\x1f\x8b\x08\x00", "compressed"),
        (BOMB.encode(), "entity"),
        (b'<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/passwd">]><svg><title>&x;</title></svg>', "entity"),
        (b'<!DOCTYPE svg [<!ENTITY % x SYSTEM "http://example.org/x.dtd"> %x;]><svg/>', "entity"),
        (b'<?xml-stylesheet href="http://example.org/x.css"?><svg/>', "style sheet"),
        (b'<?xml version="1.0" encoding="no-such-thing"?><svg/>', "not XML"),
        (b"<svg>" + b" " * 20_000_001 + b"</svg>", "larger than 20 MB"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_hostile_files_are_refused(data, part, tmp_path):
    path = tmp_path / "bag.svg"
    path.write_bytes(data)
    with pytest.raises(InputError) as caught:
        read_svg(path, Options())
    assert part in str(caught.value) and "\n" not in str(caught.value)
    assert "root:" not in str(caught.value)


def test_a_tree_of_uses_does_not_grow_without_end(tmp_path, monkeypatch):
    monkeypatch.setattr("marker.importing.svg.MOST_OBJECTS", 2000)
    levels = "".join(f'<g id="l{i}">' + f'<use href="#l{i + 1}"/>' * 10 + "</g>" for i in range(12))
    told = refusal(tmp_path, f'{levels}<g id="l12">{BOX}</g>')
    assert "more than 2000 objects" in told


@pytest.mark.parametrize("name", ["missing.svg", "."])
def test_what_cannot_be_opened_is_told(name, tmp_path):
    with pytest.raises(InputError):
        read_svg(tmp_path / name, Options())


def test_nothing_but_the_file_is_opened(tmp_path):
    doctype = (
        '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd">'
    )
    path = tmp_path / "bag.svg"
    body = f'{BOX}<a href="http://example.org/">{BOX}</a><image href="data:image/png;base64,aaaa"/>'
    path.write_text(f"{doctype}<svg {NS} {MM}>{body}</svg>")
    read_svg(path, Options())
    with opened() as seen:
        assert len(read_svg(path, Options()).pieces) == 1
    assert seen == [("open", str(path))]
    with opened() as seen:
        refusal(tmp_path, '<use href="file:///etc/passwd#x"/>')
        assert "../secret.png" in " ".join(read(tmp_path, f'{BOX}<image href="../secret.png"/>').notes)
    assert {what for _, what in seen} == {str(path)}


@pytest.mark.parametrize(
    ("body", "part"),
    [
        ('<path d="M 0 0' + " L 1 1" * 120_000 + '"/>', "more than 100000 segments"),
        (
            '<path d="M 0 0 ' + " ".join(f"L {i} {i % 2}" for i in range(6000)) + ' V 9 H 0 Z"/>',
            "5000 points",
        ),
        (f'<path d="M 0 0{" " * 2_000_000}Z"/>', "far too much path data"),
        (
            "".join(f'<rect width="9" height="{9 + i / 100}"/>' for i in range(600)),
            "more than 500 closed shapes",
        ),
    ],
    ids=["segments", "points", "path data", "pieces"],
)
def test_drawings_without_measure_are_refused(body, part, tmp_path):
    assert part in refusal(tmp_path, body)
