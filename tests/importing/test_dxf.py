"""DXF files made by hand from the definitions of the open standard ASTM D6673, plain ones, and broken ones.

Layers and fields as secondary sources tell the standard; Units METRIC for millimetres is from memory.
"""

from __future__ import annotations

import json
import math
import subprocess
import sys
from itertools import pairwise
from pathlib import Path

import pytest
from fontTools.misc.bezierTools import cubicPointAtT
from shapely import Polygon

from marker.errors import InputError
from marker.files.outline import Frame, parse_ring
from marker.files.pattern import load_pattern
from marker.files.pattern_writer import pattern_text
from marker.importing.dxf import read_dxf
from marker.importing.dxf_rings import wrong_with
from marker.importing.found import Found, FoundCut, FoundPiece, Options
from marker.model.pattern import Pattern
from tests.importing import dxf_text as d
from tests.limits import MOST_MEMORY, MOST_SECONDS

BOX = ((0.0, 0.0), (100.0, 0.0), (100.0, 60.0), (0.0, 60.0))
LEANING = ((0.0, 0.0), (100.0, 0.0), (130.0, 60.0), (0.0, 60.0))


def read(tmp_path: Path, text: str | bytes, **options: object) -> Found:
    file = tmp_path / "drawing.dxf"
    file.write_bytes(text if isinstance(text, bytes) else text.encode())
    return read_dxf(file, Options(**options))  # type: ignore[arg-type]


def refused(tmp_path: Path, text: str | bytes, **options: object) -> str:
    """The one sentence a file is refused with."""
    with pytest.raises(InputError) as caught:
        read(tmp_path, text, **options)
    words = str(caught.value)
    assert words.startswith(f"{tmp_path / 'drawing.dxf'}: ") and words.endswith(".") and "\n" not in words
    return words.removeprefix(f"{tmp_path / 'drawing.dxf'}: ")


def ring(piece: FoundPiece) -> Polygon:
    """The outline as the pattern file will be read: y upwards."""
    return Polygon(parse_ring(piece.outline, Frame("mm")).ring)


def as_pattern(tmp_path: Path, found: Found) -> Pattern:
    file = tmp_path / "pattern.toml"
    materials = {cut.material or "fabric" for piece in found.pieces for cut in piece.cuts or ()}
    file.write_text(pattern_text(found, dict.fromkeys(materials, "140 cm")))
    return load_pattern(file)


def simple(outline: tuple[d.Point, ...] = BOX, *more: str, quantity: str | None = "1,1") -> str:
    parts = [d.polyline(outline, 1), d.line((20, 10), (20, 50), 7), d.text("Piece Name: FLAP"), *more]
    if quantity is not None:
        parts += [d.text(f"Quantity: {quantity}"), d.text("Material: FABRIC")]
    return d.dxf([d.block("FLAP", *parts)], [d.style()])


def test_every_layer_of_the_standard_is_read(tmp_path: Path) -> None:
    found = read(tmp_path, d.dxf([d.body()], [d.insert("BODY-M"), d.style()]))
    assert (found.name, found.unit, found.sizes, found.seam_allowance) == (
        "Oar bag",
        "mm",
        ("M",),
        "included",
    )
    (piece,) = found.pieces
    assert (piece.name, piece.size) == ("BODY", "M")
    assert ring(piece).equals(Polygon([(x, y - 420) for x, y in d.BODY]))
    # y downwards from the top left corner, as pattern files have it
    assert piece.grain == ((60, 370), (60, 70))
    assert sorted(piece.fold or ()) == [(0, 0), (0, 420)]
    assert {notch.at for notch in piece.notches} == {(200, 420), (100, 420)}
    assert piece.drills == ((90, 120),)
    assert piece.cuts == (FoundCut("fabric", 1, "on fold"),)
    assert len(piece.lines) == 3
    assert piece.lines[0] == "M 20 120 L 90 120 L 90 40"
    said = " ".join(piece.notes)
    assert "inner cut-out" in said and "Sew lines" in said and "check the print" in said


def test_it_becomes_a_pattern_that_holds_the_same_shape(tmp_path: Path) -> None:
    pattern = as_pattern(tmp_path, read(tmp_path, d.dxf([d.body()], [d.style()])))
    (piece,) = pattern.pieces["M"]
    assert Polygon(piece.outline).area == pytest.approx(Polygon(d.BODY).area, abs=0.01)
    assert piece.fold_edge is not None and math.dist(*piece.fold_edge) == pytest.approx(420)


def test_blocks_of_one_piece_are_its_sizes(tmp_path: Path) -> None:
    blocks = [d.body("S"), d.body("M", 10.0), d.body("L", 20.0)]
    found = read(tmp_path, d.dxf(blocks, [d.style()]))
    assert found.sizes == ("S", "M", "L")
    pattern = as_pattern(tmp_path, found)
    assert [len(pattern.pieces[size]) for size in pattern.sizes] == [1, 1, 1]
    widths = [max(x for x, _ in pattern.pieces[size][0].outline) for size in pattern.sizes]
    assert widths == pytest.approx([210, 220, 230])


def test_a_block_without_texts_is_called_as_it_is_and_has_the_sample_size(tmp_path: Path) -> None:
    found = read(tmp_path, d.dxf([d.block("FLAP-M", d.polyline(BOX, 1))], [d.style()]))
    (piece,) = found.pieces
    assert (piece.name, piece.size, piece.grain, piece.cuts) == ("FLAP", "M", None, None)


@pytest.mark.parametrize(
    ("quantity", "cuts"),
    [
        ("1,1", [(2, "mirrored")]),
        ("2, 2", [(4, "mirrored")]),
        ("1,0", [(1, "alike")]),
        ("0,2", [(2, "alike")]),
        ("3,1", [(2, "mirrored"), (2, "alike")]),
        ("1", [(1, "alike")]),
        ("2", [(2, None)]),
    ],
)
def test_quantities_are_right_and_left(tmp_path: Path, quantity: str, cuts: list[tuple[int, str]]) -> None:
    (piece,) = read(tmp_path, simple(quantity=quantity)).pieces
    assert [(cut.count, cut.how) for cut in piece.cuts or ()] == cuts


def test_quantities_that_say_nothing(tmp_path: Path) -> None:
    (none,) = read(tmp_path, simple(quantity="0,0")).pieces
    assert none.cuts == ()
    (odd,) = read(tmp_path, simple(quantity="a few")).pieces
    assert odd.cuts == (FoundCut("fabric"),) and "a few" in odd.notes[0]


def test_which_hand_is_drawn_is_asked_where_it_matters(tmp_path: Path) -> None:
    def asks(text: str) -> bool:
        return any("--hand" in note for note in read(tmp_path, text).notes)

    assert asks(simple(LEANING, quantity="0,1"))
    assert asks(simple(LEANING, quantity="2,1"))
    assert not asks(simple(LEANING, quantity="1,1"))
    assert not asks(simple(BOX, quantity="0,1"))


def test_the_answer_turns_the_drawing_over_where_the_other_hand_is_cut(tmp_path: Path) -> None:
    text = simple(LEANING, quantity="0,1")
    drawn = [(x, y - 60) for x, y in LEANING]
    over = [(130 - x, y) for x, y in drawn]
    for hand, expected in ((None, drawn), (False, drawn), (True, over)):
        found = read(tmp_path, text, right_hand=hand)
        assert ring(found.pieces[0]).equals(Polygon(expected))
        assert not any("--hand" in note for note in found.notes) or hand is None


@pytest.mark.parametrize(
    ("units", "options", "factor", "unit"),
    [
        ("METRIC", {}, 1.0, "mm"),
        ("ENGLISH", {}, 25.4, "in"),
        ("english", {}, 25.4, "in"),
        (None, {"unit": "cm"}, 10.0, "cm"),
        ("METRIC", {"unit": "in"}, 25.4, "in"),
        ("METRIC", {"scale": 1.03}, 1.03, "mm"),
    ],
)
def test_units(tmp_path: Path, units: str | None, options: dict, factor: float, unit: str) -> None:
    text = d.dxf([d.block("A", d.polyline(BOX, 1))], [d.style(units)])
    found = read(tmp_path, text, **options)
    assert ring(found.pieces[0]).bounds == pytest.approx((0, -60 * factor, 100 * factor, 0), abs=1e-4)
    assert found.unit == unit


def test_a_file_that_does_not_say_its_unit_is_asked_about(tmp_path: Path) -> None:
    words = refused(tmp_path, d.dxf([], [d.polyline(BOX, "EDGE")]))
    assert "--unit" in words and "100" in words
    assert "--unit" in refused(tmp_path, d.dxf([d.block("A", d.polyline(BOX, 1))], [d.style("FATHOMS")]))
    # 100 m and 0.1 mm are no pieces of clothing.
    for unit in ("m", "in"):
        big = ((0, 0), (1000, 0), (1000, 600), (0, 600))
        assert "--unit" in refused(tmp_path, d.dxf([], [d.polyline(big, "EDGE")]), unit=unit)
    with pytest.raises(InputError, match="unit"):
        read(tmp_path, d.dxf([], [d.polyline(BOX, "EDGE")]), unit="furlong")


def test_the_header_can_say_the_unit(tmp_path: Path) -> None:
    header = d.pairs((9, "$ACADVER"), (1, "AC1009"), (9, "$INSUNITS"), (70, 5))
    found = read(tmp_path, d.dxf([], [d.polyline(BOX, "EDGE")], header))
    assert ring(found.pieces[0]).bounds == pytest.approx((0, -600, 1000, 0))


def test_the_layout_of_the_grain_line_tells_its_head_by_an_arrow(tmp_path: Path) -> None:
    arrow = [d.line((18, 16), (20, 10), 7), d.line((22, 16), (20, 10), 7)]
    found = read(tmp_path, simple(BOX, *arrow))
    assert found.pieces[0].grain == ((20, 10), (20, 50))
    assert not any("grain line" in note for note in found.notes)
    assert any("grain line" in note for note in read(tmp_path, simple(BOX)).notes)


def test_a_mirror_line_inside_the_piece_is_no_fold(tmp_path: Path) -> None:
    (piece,) = read(tmp_path, simple(BOX, d.line((50, 0), (50, 60), 6))).pieces
    assert piece.fold is None and piece.lines == ("M 50 60 L 50 0",)
    assert any("mirror line" in note for note in piece.notes)


def test_a_mirror_line_may_run_past_its_edge(tmp_path: Path) -> None:
    (piece,) = read(tmp_path, simple(BOX, d.line((0.2, -30), (0, 80), 6))).pieces
    assert sorted(piece.fold or ()) == [(0, 0), (0, 60)]


def test_notches_drawn_as_symbols_and_off_the_edge(tmp_path: Path) -> None:
    slit = d.line((30, 0), (30, 6), 4)
    v = d.line((60, 0), (62, 5), 80) + d.line((62, 5), (64, 0), 80)
    off = d.point((50, 62.5), 4) + d.point((50, 90), 4)
    (piece,) = read(tmp_path, simple(BOX, slit, v, off)).pieces
    assert {notch.at for notch in piece.notches} == {(30, 60), (62, 60), (50, 0)}
    assert "1 notch up to 5 mm" in " ".join(piece.notes) and "1 notch more than" in " ".join(piece.notes)


def test_inner_outlines_and_cut_outs_become_lines_and_are_told(tmp_path: Path) -> None:
    hole = [(40, 20), (60, 20), (60, 40), (40, 40)]
    for layer in (1, 11):
        (piece,) = read(tmp_path, simple(BOX, d.polyline(hole, layer))).pieces
        assert ring(piece).area == pytest.approx(6000)
        assert len(piece.lines) == 1 and piece.lines[0].endswith("Z") and piece.notes


def test_the_boundary_may_be_lines_end_to_end(tmp_path: Path) -> None:
    corners = [*LEANING, LEANING[0]]
    sides = [d.line(a, b, 1) for a, b in pairwise(corners)]
    mixed = [sides[2], d.line(LEANING[1], LEANING[0], 1), sides[3], sides[1]]
    text = d.dxf([d.block("A", *mixed, d.text("Piece Name: FLAP"))], [d.style()])
    assert ring(read(tmp_path, text).pieces[0]).equals(Polygon([(x, y - 60) for x, y in LEANING]))
    gap = d.dxf([d.block("A", *mixed[:3], d.text("Piece Name: FLAP"))], [d.style()])
    words = refused(tmp_path, gap)
    assert "piece FLAP" in words and "no closed boundary" in words and "mm apart" in words


@pytest.mark.parametrize("step", [5, 10, 18])
def test_curve_points_far_apart_get_a_smooth_curve_through_them(tmp_path: Path, step: int) -> None:
    # Outside check: a circle of 200 mm, of which curve points are given every few degrees.
    angles = range(0, 91, step)
    quarter = [(200 * math.cos(math.radians(a)), 200 * math.sin(math.radians(a))) for a in angles]
    text = d.dxf(
        [d.block("A", d.polyline([(0, 0), *quarter], 1), d.points(quarter[1:-1], 3))], [d.style("METRIC")]
    )
    (piece,) = read(tmp_path, text).pieces
    drawn = parse_ring(piece.outline, Frame("mm"))
    made = drawn.ring
    curves = [curve for curve in drawn.segments if len(curve) == 4]
    on_curves = [cubicPointAtT(*curve, i / 20) for curve in curves for i in range(21)]
    assert max((abs(math.hypot(x, y + 200) - 200) for x, y in on_curves), default=0.0) < 0.02
    # Within the tenth of a millimetre that chords of the pattern file may be off.
    assert max(abs(math.hypot(x, y + 200) - 200) for x, y in made if x > 0.01) <= 0.1
    chords = 200 * (1 - math.cos(math.radians(step / 2)))
    assert ("C" in piece.outline) == (chords > 0.25)
    assert ring(piece).area == pytest.approx(math.pi * 200**2 / 4, rel=0.002)
    for x, y in quarter:
        assert min(math.dist((x, y - 200), corner) for corner in made) < 0.001


def test_plain_arcs_circles_splines_and_bulges(tmp_path: Path) -> None:
    import ezdxf

    document = ezdxf.new("R2010", units=4)
    space = document.modelspace()
    space.add_circle((100, 100), 50)
    # Half a circle by a bulge of 1, closed by the straight side.
    space.add_lwpolyline([(300, 0, 1), (300, 100, 0)], format="xyb", close=True)
    space.add_arc((500, 100), 50, 0, 180)
    space.add_line((450, 100), (550, 100))
    space.add_spline([(700, 0), (800, 100), (700, 200), (600, 100), (700, 0)])
    space.add_ellipse((1000, 100), (80, 0), 0.5)
    file = tmp_path / "plain.dxf"
    document.saveas(file)
    found = read_dxf(file)
    areas = [ring(piece).area for piece in found.pieces]
    half = math.pi * 50**2 / 2
    assert areas[:3] == pytest.approx([math.pi * 50**2, half, half], rel=1e-3)
    assert areas[4] == pytest.approx(math.pi * 80 * 40, rel=1e-3)
    assert len(areas) == 5 and found.seam_allowance is None


def test_plain_layers_by_words_and_what_lies_inside(tmp_path: Path) -> None:
    entities = [
        d.polyline(BOX, "EDGES"),
        d.polyline([(200, 0), (300, 0), (300, 60), (200, 60)], "EDGES"),
        d.polyline([(20, 20), (30, 20), (30, 30)], "EDGES"),
        d.line((10, 10), (10, 50), "GRAIN"),
        d.line((0, 0), (0, 60), "FOLD"),
        d.line((50, 0), (50, 5), "NOTCHES"),
        d.point((80, 30), "DRILL"),
        d.line((40, 30), (60, 30), "PEN"),
        d.polyline([(-50, -50), (400, -50), (400, 400), (-50, 400)], "IGNORE"),
        d.text("Flap", "WORDS", (60, 40)),
        d.text("Quantity: 2,0", "WORDS", (60, 45)),
    ]
    found = read(tmp_path, d.dxf([], entities), unit="mm")
    flap, other = found.pieces
    assert (flap.name, other.name) == ("Flap", None)
    assert flap.grain == ((10, 50), (10, 10)) and sorted(flap.fold or ()) == [(0, 0), (0, 60)]
    assert [notch.at for notch in flap.notches] == [(50, 60)] and flap.drills == ((80, 30),)
    assert flap.cuts == (FoundCut(None, 2, "on fold"),)
    assert len(flap.lines) == 2 and other.cuts is None and other.lines == ()


def test_an_outline_drawn_twice_is_one_piece(tmp_path: Path) -> None:
    found = read(tmp_path, d.dxf([], [d.polyline(BOX, 0), d.polyline(BOX, 5000)]), unit="mm")
    assert len(found.pieces) == 1 and any("twice" in note for note in found.notes)


def test_inserted_blocks_of_a_plain_drawing_are_moved_and_turned(tmp_path: Path) -> None:
    blocks = [d.block("SHAPE", d.polyline(LEANING, 0))]
    turned = d.insert("SHAPE", (500, 0), (41, 2), (42, 2), (50, 90))
    found = read(tmp_path, d.dxf(blocks, [d.insert("SHAPE"), turned]), unit="mm")
    small, large = sorted((ring(piece) for piece in found.pieces), key=lambda shape: shape.area)
    assert large.area == pytest.approx(4 * small.area)
    assert large.bounds[2] - large.bounds[0] == pytest.approx(120)


def test_pieces_of_one_name_and_size_are_told_apart(tmp_path: Path) -> None:
    blocks = [d.block(f"B{i}", d.polyline(BOX, 1), d.text("Piece Name: TIE")) for i in range(3)]
    found = read(tmp_path, d.dxf(blocks, [d.style()]))
    assert [piece.name for piece in found.pieces] == ["TIE", "TIE (2)", "TIE (3)"]


def test_what_the_audit_repairs_is_told(tmp_path: Path) -> None:
    whole = d.dxf([d.body()], [d.style()])
    missing = d.pairs((0, "SECTION"), (2, "ENTITIES"))
    assert not any("DXF file:" in note for note in read(tmp_path, whole).notes)
    # The blocks' ENDSEC left out.
    flawed = whole.replace(d.pairs((0, "ENDSEC")) + missing, missing)
    assert flawed != whole
    notes = read(tmp_path, flawed).notes
    assert any("Repaired in the DXF file" in note and "ENDSEC" in note for note in notes)


def test_layers_that_are_not_read_are_told(tmp_path: Path) -> None:
    notes = read(tmp_path, simple(BOX, d.line((0, 0), (50, 50), 9), d.point((3, 3), 5))).notes
    assert any("5 (grade reference), 9 (stripe reference)" in note for note in notes)


def test_words_beyond_ascii(tmp_path: Path) -> None:
    for text in (simple(BOX, d.text("Annotation: \\U+00C4rmel")), simple(BOX, d.text("Annotation: Ärmel"))):
        (piece,) = read(tmp_path, text).pieces
        assert "Annotation: Ärmel" in piece.notes


BOMB = [
    d.block("B0", d.polyline(BOX, 0)),
    *(d.block(f"B{i}", *[d.insert(f"B{i - 1}", (i, k)) for k in range(20)]) for i in range(1, 7)),
]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (b"", "empty"),
        (b" \r\n \n", "empty"),
        (bytes(range(256)) * 40, "binary"),
        (b"XXXXXXX Binary DXF\r\n\x1a\0" + bytes(100), "binary DXF"),
        (b"AC1032" + bytes(100), "DWG"),
        (b"<svg/>", "no sections"),
        ("hello\nworld\n" * 50, "no sections"),
        (simple()[: len(simple()) // 2], "breaks off"),
        (simple().replace("SECTION\n2\nBLOCKS", "SECTION\nx\nBLOCKS"), "not a DXF file that can be read"),
        (d.dxf(), "no closed outline"),
        (d.dxf([d.block("A", d.text("Piece Name: FLAP"))], [d.style()]), "no closed boundary"),
        (d.dxf([d.block("A", d.polyline(BOX, 1, closed=False))], [d.style()]), "no closed boundary"),
        (d.dxf([], [d.line((0, 0), (50, 50), 0)], ""), "no closed outline"),
        (simple((*BOX[:3], (0.0, 1e300))), "absurd"),
        (simple((*BOX[:3], (0.0, math.nan))), "absurd"),
        (simple((*BOX[:3], (math.inf, 60.0))), "absurd"),
        (d.dxf([d.block("A", d.polyline(BOX, 1), d.insert("A"))], [d.style()]), "in itself"),
        (d.dxf([], [d.pairs((0, "CIRCLE"), (8, 0), (10, 0), (20, 0), (40, 1e30))]), "radius"),
        (d.dxf(BOMB, [d.insert("B6")]), "more than 20,000 entities by blocks"),
        (d.dxf(BOMB[:1], [d.insert("B0", (0, 0), (70, 30000), (71, 30000))]), "inserted 900,000,000 times"),
    ],
    ids=lambda value: value if isinstance(value, str) and len(value) < 40 else "",
)
def test_broken_files_are_refused_with_one_sentence(tmp_path: Path, text: str | bytes, words: str) -> None:
    assert words in refused(tmp_path, text)


def test_names_of_files_that_cannot_be_read(tmp_path: Path) -> None:
    for name in ("none.dxf", ".", "a\0b.dxf"):
        with pytest.raises(InputError, match=r"no such file|folder|not valid"):
            read_dxf(tmp_path / name)


def test_more_records_than_the_limit_are_refused_before_they_are_built(tmp_path: Path) -> None:
    words = refused(tmp_path, d.dxf([], ["0\nPOINT\n" * 200_001]))
    assert "more than 50,000 entities" in words


def test_more_values_than_the_limit_are_refused_before_they_are_built(tmp_path: Path) -> None:
    long = d.dxf([], ["0\nPOINT\n" + "39\n0\n" * 200_001])
    assert "more than 200,000 values" in refused(tmp_path, long)


NEAR_THE_LIMIT = """
import resource, sys, time
resource.setrlimit(resource.RLIMIT_DATA, (1 << 30, 1 << 30)) if sys.platform == "linux" else None
from marker.files.pattern_writer import pattern_text
from marker.importing.dxf import read_dxf
from marker.importing.found import Options
begun = time.process_time()
found = read_dxf(sys.argv[1], Options(unit="mm"))
text = pattern_text(found)
print(len(found.pieces), time.process_time() - begun)
"""
"""Of the processor, so that other work on the machine does not count."""


def _wheel(at: int, corners: int) -> list[d.Point]:
    x, y = 30.0 * (at % 30), 30.0 * (at // 30)
    turns = [math.tau * i / corners for i in range(corners)]
    return [(x + 10 * math.cos(turn), y + 8 * math.sin(turn)) for turn in turns]


@pytest.mark.slow
@pytest.mark.parametrize("kind", ("lines", "polylines", "texts"))
def test_files_near_the_limits_are_read_within_ten_seconds_and_a_gibibyte(tmp_path: Path, kind: str) -> None:
    if kind == "lines":
        wheels = [_wheel(at, 100) for at in range(330)]
        drawn = [d.line(a, b, 0) for wheel in wheels for a, b in zip(wheel, wheel[1:] + wheel[:1])]  # noqa: B905
    elif kind == "polylines":
        drawn = [d.polyline(_wheel(at, 100), 0) for at in range(480)]
    else:
        drawn = [d.polyline(BOX, 0), d.text("hem") * 33_000]
    file = tmp_path / "near.dxf"
    file.write_text(d.dxf([], drawn))
    command = [sys.executable, "-c", NEAR_THE_LIMIT, str(file)]
    done = subprocess.run(
        command, capture_output=True, text=True, timeout=600, cwd=Path(__file__).parents[2], check=False
    )
    assert done.returncode == 0 and done.stderr == "", done.stderr[-2000:]
    pieces, seconds = done.stdout.split()
    assert int(pieces) == {"lines": 330, "polylines": 480, "texts": 1}[kind]
    assert float(seconds) < 10


EIGHT = ((0.0, 0.0), (100.0, 60.0), (100.0, 0.0), (0.0, 40.0))
SMALL_EIGHT = tuple((40 + x / 5, 20 + y / 5) for x, y in EIGHT)


def test_outlines_that_cross_themselves_are_refused_and_symbols_that_do_are_lines(tmp_path: Path) -> None:
    for text in (simple(EIGHT), d.dxf([], [d.polyline(EIGHT, 0)])):
        assert "crosses or touches itself at (40, 24)" in refused(tmp_path, text, unit="mm")
    symbol = d.dxf([], [d.polyline(BOX, 0), d.polyline(SMALL_EIGHT, 0)])
    (piece,) = read(tmp_path, symbol, unit="mm").pieces
    assert ring(piece).area == pytest.approx(6000) and len(piece.lines) == 1


def test_wild_outlines_are_refused_before_anything_is_done_with_them(tmp_path: Path) -> None:
    wild = [(math.sin(i * 12.9898) * 300, math.cos(i * 78.233) * 300) for i in range(50_001)]
    assert "crosses or touches itself" in refused(tmp_path, simple(tuple(wild[:3_000])))
    assert "50,000 points" in (wrong_with(wild, 1.0) or "")


def test_crowds_of_marks_and_outlines_are_refused(tmp_path: Path) -> None:
    many = "".join(d.point((x / 10, 0), 4) for x in range(600))
    assert "more than 200 notches" in refused(tmp_path, simple(BOX, many))
    boxes = [d.polyline([(x, 0), (x + 1, 0), (x, 1)], 0) for x in range(0, 4100, 2)]
    assert "closed outlines" in refused(tmp_path, d.dxf([], boxes), unit="mm")


def fuzzed(first: int, count: int) -> dict:
    """What reading that many mutants gave, in a process of its own: a crash or an abort is seen as well."""
    command = [sys.executable, "-m", "tests.importing.dxf_fuzz", str(first), str(count)]
    done = subprocess.run(
        command, capture_output=True, text=True, timeout=600, cwd=Path(__file__).parents[2], check=False
    )
    assert done.returncode == 0 and done.stderr == "", done.stderr[-2000:]
    return json.loads(done.stdout)


def test_mutated_files_are_read_or_refused_with_a_sentence() -> None:
    told = fuzzed(0, 200)
    assert told["wrong"] == []
    assert told["read"] > 20 and told["refused"] > 20 and told["read"] + told["refused"] == 200


@pytest.mark.slow
def test_two_thousand_mutated_files() -> None:
    told = fuzzed(1000, 2000)
    assert told["wrong"] == [] and told["read"] + told["refused"] == 2000
    assert told["slowest"] < MOST_SECONDS and told["peak"] < MOST_MEMORY >> 20
