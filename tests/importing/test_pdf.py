"""Sheets in PDF to pieces.

References: files written by hand from the syntax of ISO 32000 (a point is 1/72 inch), and files that
matplotlib draws with known measures.
"""

import io
import math

import pytest
from shapely import Point, Polygon

from marker.errors import InputError
from marker.files.outline import Frame, parse_ring
from marker.files.pattern import load_pattern
from marker.files.pattern_writer import pattern_text
from marker.importing.found import FoundCut, Options
from marker.importing.merge import with_answers
from marker.importing.pdf import pdf_drawing, read_pdf
from tests.importing.opened import opened
from tests.importing.pdfs import assembled, pdf, words

BOX = "20 20 m 120 20 l 120 320 l 20 320 l h S"
"""A piece of 100 by 300 mm."""


def read(folder, data, **options):
    path = folder / "sheet.pdf"
    path.write_bytes(data if isinstance(data, bytes) else pdf(data))
    return read_pdf(path, Options(**options))


def shape(piece):
    return Polygon(parse_ring(piece.outline, Frame("mm")).ring)


def refusal(folder, data, **options):
    with pytest.raises(InputError) as caught:
        read(folder, data, **options)
    told = str(caught.value)
    assert told.startswith(str(folder / "sheet.pdf")) and "\n" not in told
    return told


def test_closed_lines_are_pieces_in_true_size(tmp_path):
    (piece,) = read(tmp_path, BOX).pieces
    assert shape(piece).bounds == pytest.approx((0, -300, 100, 0), abs=0.001)


def test_the_page_is_turned_to_y_downwards(tmp_path):
    path = tmp_path / "sheet.pdf"
    path.write_bytes(pdf("20 20 m 120 20 l 20 320 l h S"))
    (thing,) = pdf_drawing(path, Options()).objects
    expected = [(20, 680), (120, 680), (20, 380)]
    for point, other in zip(thing.strokes[0].tidy(0.1).points(), expected, strict=True):
        assert point == pytest.approx(other, abs=0.001)


def test_curves_are_kept(tmp_path):
    k = 4 / 3 * math.tan(math.pi / 8) * 60
    circle = (
        f"160 100 m 160 {100 + k} {100 + k} 160 100 160 c {100 - k} 160 40 {100 + k} 40 100 c "
        f"40 {100 - k} {100 - k} 40 100 40 c {100 + k} 40 160 {100 - k} 160 100 c h f"
    )
    (piece,) = read(tmp_path, circle).pieces
    assert piece.outline.count("C") == 4
    # Four cubic Béziers in the usual form stay within 0.03 % of the radius.
    middle = Point(60, -60)
    assert all(abs(middle.distance(Point(p)) - 60) < 0.1 for p in shape(piece).exterior.coords)


def test_transforms_and_forms_apply(tmp_path):
    body = (
        "q 0 1 -1 0 300 0 cm 50 50 m 150 50 l 150 90 l 50 90 l h S Q "
        "q 1 0 0 1 10 200 cm 2 0 0 2 0 0 cm /X Do Q"
    )
    found = read(tmp_path, body).pieces
    boxes = sorted(shape(piece).bounds[2:] + (-shape(piece).bounds[1],) for piece in found)
    # The first is turned by 90°; the form has a turn of its own and is drawn twice as large: 120 by 80 mm.
    assert [(box[0], box[2]) for box in boxes] == [
        pytest.approx((40, 100), abs=0.01),
        pytest.approx((80, 120), abs=0.01),
    ]


def test_text_on_a_piece_says_what_it_is(tmp_path):
    lines = ["Front", "Number 3", "Cut 2 of fabric", "size M"]
    found = read(tmp_path, BOX + " ".join(words(25, 200 - 12 * i, line) for i, line in enumerate(lines)))
    (piece,) = found.pieces
    assert (piece.name, piece.number, piece.size, piece.cuts) == ("Front", "3", "M", (FoundCut("fabric", 2),))


def test_lines_inside_are_lines_and_frames_are_nothing(tmp_path):
    found = read(tmp_path, f"5 5 340 690 re S {BOX} 40 40 m 40 300 l S 60 60 30 30 re S 200 20 m 300 20 l S")
    (piece,) = found.pieces
    assert shape(piece).area == pytest.approx(30000, rel=1e-5)
    assert len(piece.lines) == 2
    told = " ".join(found.notes)
    assert "frame" in told and "1 open line" in told


def test_a_frame_round_several_pieces_is_no_piece(tmp_path):
    frame = "10 10 m 250 10 l 250 340 l 10 340 l h S 5 5 300 400 re S"
    found = read(tmp_path, f"{frame} {BOX} 130 20 100 200 re S 135 30 20 20 re S")
    assert sorted(shape(piece).area for piece in found.pieces) == pytest.approx([20000, 30000], rel=1e-5)
    assert sum("frame" in note for note in found.notes) == 2
    # Two pockets drawn on a piece are no reason to think so.
    (piece,) = read(tmp_path, f"{BOX} 30 30 20 20 re S 60 30 20 20 re S").pieces
    assert len(piece.lines) == 2


def test_edges_drawn_one_by_one_and_twice_are_one_outline(tmp_path):
    edges = "20 20 m 120 20 l S 120 320 m 120 20 l S 120 320 m 20 320 l S 20 320 m 20 20 l S"
    (piece,) = read(tmp_path, edges).pieces
    assert shape(piece).area == pytest.approx(30000, rel=1e-5)
    found = read(tmp_path, f"{BOX} 20 20 100 300 re f")
    assert len(found.pieces) == 1 and any("taken once" in note for note in found.notes)


def test_what_is_not_painted_is_not_there(tmp_path):
    found = read(tmp_path, f"{BOX} 150 20 100 100 re n 150 20 90 90 re W n")
    assert len(found.pieces) == 1


@pytest.mark.parametrize(("side", "verdict"), [(100, "right"), (97, "97.0 %"), (102.5, "102.5 %")])
@pytest.mark.parametrize("text", ["Test square 100 mm", "10 cm", "10 x 10 cm: check the scale"])
def test_the_test_square_is_measured_and_nothing_corrected(side, verdict, text, tmp_path):
    found = read(tmp_path, f"{BOX} 200 400 {side} {side} re S {words(210, 440, text)}")
    (piece,) = found.pieces
    (note,) = [note for note in found.notes if "square" in note]
    assert verdict in note and f"{side:.2f} by {side:.2f} mm" in note
    assert note.startswith("Careful") == (verdict != "right")
    assert shape(piece).area == pytest.approx(30000, rel=1e-5)
    if verdict != "right":
        corrected = read(
            tmp_path,
            f"{BOX} 200 400 {side} {side} re S {words(210, 440, text)}",
            scale=100 / side,
        )
        assert any("the scale is right" in note for note in corrected.notes)
        assert any("--scale" in note for note in corrected.notes)
        assert shape(corrected.pieces[0]).area == pytest.approx(30000 * (100 / side) ** 2, rel=1e-4)


def test_a_pocket_with_a_length_written_on_it_is_no_test_square(tmp_path):
    found = read(tmp_path, f"{BOX} 200 400 60 60 re S {words(205, 430, 'hem 10 mm')}")
    assert len(found.pieces) == 2


def test_units_of_large_sheets(tmp_path):
    (piece,) = read(tmp_path, pdf(BOX, extra="/UserUnit 2.5")).pieces
    assert shape(piece).bounds == pytest.approx((0, -750, 250, 0), abs=0.01)
    told = refusal(tmp_path, pdf(BOX, pages=2, extra="/UserUnit 2.5"), page=1)
    assert "UserUnit" in told


def test_pages(tmp_path):
    assert "2 pages" in refusal(tmp_path, pdf(BOX, pages=2))
    assert len(read(tmp_path, pdf(BOX, pages=2), page=2).pieces) == 1
    assert "no page 3" in refusal(tmp_path, pdf(BOX, pages=2), page=3)
    assert "--unit" in refusal(tmp_path, pdf(BOX), unit="mm")


def test_a_sheet_drawn_by_another_program(tmp_path):
    """matplotlib draws a quarter of a ring, a square and words, in millimetres."""
    from matplotlib.figure import Figure
    from matplotlib.patches import Polygon as Patch
    from matplotlib.patches import Wedge

    figure = Figure(figsize=(400 / 25.4, 300 / 25.4))
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set(xlim=(0, 400), ylim=(0, 300))
    axes.axis("off")
    axes.add_patch(Wedge((20, 20), 250, 0, 90, width=150, fill=False))
    axes.add_patch(Patch([(290, 190), (390, 190), (390, 290), (290, 290)], fill=False))
    axes.text(300, 230, "test square 10 cm", fontsize=12)
    axes.text(120, 120, "cut 3 of fabric", fontsize=12)
    data = io.BytesIO()
    figure.savefig(data, format="pdf")
    found = read(tmp_path, data.getvalue())
    (piece,) = found.pieces
    assert shape(piece).area == pytest.approx(math.pi * (250**2 - 100**2) / 4, rel=1e-3)
    assert piece.cuts == (FoundCut("fabric", 3),)
    assert any("measures 100.00 by 100.00 mm: the scale is right" in note for note in found.notes)


def test_a_sheet_goes_to_a_pattern(tmp_path):
    found = read(tmp_path, BOX + words(25, 200, "cut 2 of fabric"))
    answered = with_answers(found, name="Bag", seam_allowance="10 mm", grain="up")
    path = tmp_path / "bag.toml"
    path.write_text(pattern_text(answered, {"fabric": "140 cm"}))
    (piece,) = load_pattern(path).pieces["one size"]
    assert piece.grain == ((50, -240), (50, -60))
    assert {(cut.material, cut.count, cut.how) for cut in piece.cuts} == {("fabric", 2, "mirrored")}


@pytest.mark.parametrize(
    ("way", "expected"),
    [
        ("up", ((50, 240), (50, 60))),
        ("down", ((50, 60), (50, 240))),
        ("left", ((80, 150), (20, 150))),
        ("right", ((20, 150), (80, 150))),
    ],
)
def test_grain_by_option(way, expected, tmp_path):
    (piece,) = with_answers(read(tmp_path, BOX), grain=way).pieces
    assert piece.grain == tuple(pytest.approx(end, abs=0.01) for end in expected)


PICTURE = "q 100 0 0 100 0 0 cm BI /W 1 /H 1 /BPC 8 /CS /G ID x EI Q"


@pytest.mark.parametrize(
    ("data", "part"),
    [
        (b"", "no PDF"),
        (b"hello", "no PDF"),
        (b"%PDF-1.7\n", "no PDF that can be read"),
        (pdf(BOX)[:200], "PDF"),
        (assembled([b"<< /Type /Catalog /Pages 2 0 R >>", b"<< /Type /Pages /Kids [] /Count 0 >>"]), "PDF"),
        (pdf(""), "no piece"),
        (pdf(PICTURE), "scan"),
        (pdf("0 0 m 100 0 l 0 100 l 100 100 l h S"), "crosses"),
        (pdf("0 0 m 1e9 0 l 1e9 1e9 l h S"), "no piece"),
        (pdf("20 20 m 20020 20 l 120 320 l h S"), "far too large"),
        (b"%PDF-1.7" + b" " * 50_000_001, "larger than 50 MB"),
    ],
    ids=range(11),
)
def test_what_is_wrong_is_told_in_one_sentence(data, part, tmp_path):
    assert part in refusal(tmp_path, data)


@pytest.mark.parametrize("name", ["missing.pdf", "."])
def test_what_cannot_be_opened_is_told(name, tmp_path):
    with pytest.raises(InputError):
        read_pdf(tmp_path / name, Options())


def test_nothing_but_the_file_is_opened(tmp_path):
    read(tmp_path, BOX)
    link = "/AA << /O << /S /URI /URI (http://example.org/) >> >>"
    data = pdf(BOX, extra=link)
    with opened() as seen:
        assert len(read(tmp_path, data).pieces) == 1
    assert {what for _, what in seen} == {str(tmp_path / "sheet.pdf")}


@pytest.mark.parametrize(
    ("content", "part"),
    [
        ("1 1 m " + "2 2 l 1 1 l " * 101_000 + "h S", "more than 200000 lines"),
        ("1 1 m 2 2 l S " * 51_000, "more than 50000 objects"),
    ],
    ids=["lines", "objects"],
)
def test_sheets_without_measure_are_refused(content, part, tmp_path):
    assert part in refusal(tmp_path, pdf(content))


def test_a_page_full_of_text_is_read_without_it(tmp_path):
    found = read(tmp_path, BOX + words(25, 200, "cut 2 of fabric " * 1500))
    assert found.pieces[0].cuts is None
    assert any("text on the page was not read" in note for note in found.notes)
