"""A pattern from a spreadsheet: what it becomes, how spreadsheets save it, and mistakes by row and column.

References: RFC 4180 (comma-separated values), the byte order marks of Unicode, plane geometry with shapely.
"""

import math
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shapely import Polygon

from marker.cli import main
from marker.errors import InputError
from marker.files.pattern import load_pattern
from marker.new.draft import checked
from marker.new.spreadsheet import TEMPLATE, read_sheet

TARGET = Path("bag.toml")
SIMPLE = """\
unit,cm
seam allowance,included
width of fabric,140

piece,cut from,copies,wide,long
Body,fabric,2,24.5,60
Strap,,1,8,1 m
"""


def text_of(folder, data, name="bag.csv"):
    path = folder / name
    path.write_bytes(data if isinstance(data, bytes) else data.encode("utf-8"))
    return read_sheet(path, TARGET)[0]


def refusal(folder, data):
    with pytest.raises(InputError) as caught:
        text_of(folder, data)
    assert "\n" not in str(caught.value) and str(caught.value).endswith((".", "?"))
    return str(caught.value)


def shapes(text):
    return {
        piece.name: Polygon([(x / 10, -y / 10) for x, y in piece.stitching or piece.outline])
        for piece in checked(TARGET, text).pieces["one size"]
    }


def test_the_template_is_an_example_of_everything(tmp_path):
    pattern = checked(TARGET, text_of(tmp_path, TEMPLATE))
    assert pattern.name == "Oar bag" and pattern.fabrics["interfacing"].width == 900
    found = shapes(text_of(tmp_path, TEMPLATE))
    assert found["Body"].area == pytest.approx(24 * 80)
    assert found["Strap"].area == pytest.approx(8 * 60)
    # 48 by 12, and the segment of a circle of chord 48 and height 12: r = (24² + 12²) / 24 = 30.
    segment = 30**2 * math.asin(24 / 30) - 24 * 18
    assert found["Flap"].area == pytest.approx(48 * 12 + segment, rel=2e-3)
    body, _, flap, gusset = pattern.pieces["one size"]
    assert body.fold_edge is not None and body.cuts[0].how == "on fold"
    assert [(cut.material, cut.count, cut.how) for cut in flap.cuts] == [
        ("fabric", 2, "alike"),
        ("interfacing", 1, "alike"),
    ]
    assert gusset.cuts[0].how == "mirrored"
    allowance = Polygon(gusset.stitching).exterior.distance(Polygon(gusset.outline).exterior)
    assert allowance == pytest.approx(10, abs=0.05)


@pytest.mark.parametrize(
    "save",
    [
        lambda text: text.encode("utf-8-sig"),
        lambda text: text.encode("utf-16"),
        lambda text: text.replace("\n", "\r\n").encode(),
        lambda text: text.replace(",", ";").encode(),
        lambda text: text.replace(",", "\t").encode("utf-16"),
        lambda text: b"sep=;\r\n" + text.replace(",", ";").encode(),
        lambda text: text.replace(",", ";").replace("24.5", "24,5").encode(),
        lambda text: text.replace("24.5", '"24,5"').encode(),
        lambda text: text.replace("\n", ",,,,,,\n").encode(),
        lambda text: text.replace("\n\n", "\n,,,,\n,,,,\n\n").encode(),
        lambda text: text.replace("piece,cut from", "Piece , CUT  FROM").encode(),
        lambda text: text.replace("140", "'140").replace("1 m", "1\u00a0m").encode(),
        lambda text: text.replace(",2,24.5", ",2.00,24.500").encode(),
        lambda text: text.replace("cm\n", "cm\n\n\n", 1).encode(),
    ],
    ids=[
        "byte order mark", "utf-16", "windows line ends", "semicolons", "tabs and utf-16", "sep line",
        "semicolons and decimal comma", "quoted decimal comma", "empty columns", "empty rows", "capitals",
        "apostrophe and no-break space", "decimals", "more empty rows",
    ],
)  # fmt: skip
def test_however_a_spreadsheet_saves_it_it_is_the_same(save, tmp_path):
    assert text_of(tmp_path, save(SIMPLE)) == text_of(tmp_path, SIMPLE)
    assert shapes(text_of(tmp_path, SIMPLE))["Body"].area == pytest.approx(24.5 * 60)
    assert shapes(text_of(tmp_path, SIMPLE))["Strap"].area == pytest.approx(800)


def test_letters_of_western_european_windows_are_read(tmp_path):
    text = text_of(tmp_path, SIMPLE.replace("Body", "Bänder").encode("cp1252"))
    assert "Bänder" in shapes(text)


def test_columns_may_stand_in_any_order_and_fractions_of_an_inch_are_exact(tmp_path):
    text = text_of(
        tmp_path,
        'unit;in\nseam allowance;5/8\n\nlong;piece;wide;copies\n21 1/2;Body;"8 3/4""";2\n',
    )
    (piece,) = checked(TARGET, text).pieces["one size"]
    assert Polygon(piece.stitching).bounds == pytest.approx((0, -21.5 * 25.4, 8.75 * 25.4, 0))


def test_edges_and_corners_of_one_trapezium_agree(tmp_path):
    """A right trapezium of sides 30, 20, 22 (so the last is √(20² + 8²)): told both ways."""
    head = "unit,cm\nseam allowance,included\n\npiece,copies,right,down,edge,turn\n"
    corners = text_of(tmp_path, head + "A,2,0,0,,\n,,30,0,,\n,,30,20,,\n,,8,20,,\n")
    edges = text_of(tmp_path, head + "A,2,,,30,90\n,,,,20,90\n,,,,22,\n")
    home = text_of(tmp_path, head + "A,2,,,30,90\n,,,,20,90\n,,,,22,68.2\n,,,,21.54,\n")
    assert shapes(corners)["A"].symmetric_difference(shapes(edges)["A"]).area < 1e-3
    assert shapes(corners)["A"].symmetric_difference(shapes(home)["A"]).area < 1e-3


@pytest.mark.parametrize(
    ("old", "new", "parts"),
    [
        ("unit,cm", "unit,ell", ["row 1, column B (unit)", "write mm, cm or in"]),
        ("unit,cm\n", "", ['no row "unit"']),
        ("unit,cm", "unit", ["row 1, column A", "nothing beside it"]),
        ("unit,cm", "unt,cm", ["row 1, column A", 'did you mean "unit"?']),
        ("unit,cm", "unit,cm,5", ["row 1, column C", "one value"]),
        ("unit,cm", "unit,cm\nunit,mm", ["row 2, column A", "twice"]),
        ("included", "30 cm", ["row 2, column B (seam allowance)", "more than 20 cm"]),
        (
            "width of fabric,140",
            "width of fabric,wide",
            ["row 3, column B (width of fabric)", "not a length"],
        ),
        ("width of fabric,140", "width of fabric,0.1", ["bag.csv", "fabric fabric, width"]),
        ("piece,cut from", "peace,cut from", ["no row of headings"]),
        (
            "piece,cut from,copies,wide",
            "piece,cut from,copies,wdie",
            ["row 5, column D", 'did you mean "wide"?'],
        ),
        ("piece,cut from,copies,wide", "piece,cut from,piece,wide", ["row 5, column C", "twice"]),
        ("Body,fabric,2,24.5,60", "Body,fabric,2,24.5", ["row 6, column E (long)", "is empty"]),
        ("Body,fabric,2", "Body,fabric,two", ["row 6, column C (copies)", "whole number"]),
        ("Body,fabric,2", "Body,fabric,", ["row 6, column C (copies)", "how often it is cut"]),
        ("Body,fabric,2", "Body,fabric,1001", ["row 6, column C (copies)", "at most 1000"]),
        ("Body,fabric,2", ",fabric,2", ["row 6, column B (cut from)", "belongs to no piece"]),
        ("24.5", "24.5 ells", ["row 6, column D (wide)", '"ells"']),
        ("24.5", "0", ["row 6, column D (wide)", "greater than 0"]),
        ("24.5", "1,200", ["stands under no heading"]),
        ("24.5", '"1,200"', ["row 6, column D (wide)", "two ways"]),
        ("24.5", "#DIV/0!", ["row 6, column D (wide)", "error of the spreadsheet"]),
        ("24.5", "01. Feb", ["row 6, column D (wide)", "is a date"]),
        ("24.5", "2-Jan", ["row 6, column D (wide)", "is a date"]),
        ("24.5", "2026-02-01", ["row 6, column D (wide)", "is a date"]),
        ("24.5", "24500", ["row 6", 'the outline of "Body"', "far too large"]),
        ("1 m", "1 m,9", ["row 7, column F", "under no heading"]),
        ("1 m\n", "1 m\n,fabric,1,,5\n", ["row 8, column E (long)", "first row"]),
        ("1 m\n", "1 m\n,,3,,\n", ["row 8, column B (cut from)", "is cut from fabric already"]),
    ],
)
def test_mistakes_are_told_by_row_and_column(old, new, parts, tmp_path):
    assert old in SIMPLE
    told = refusal(tmp_path, SIMPLE.replace(old, new, 1))
    assert all(part in told for part in ["bag.csv: ", *parts]), told


SHAPES = """\
unit,cm
seam allowance,1
piece,copies,pairs,on fold,wide,right,down,edge,turn,curve,top,allowance
A,2,,,,0,0,,,,,
,,,,,20,0,,,,,
,,,,,20,30,,,bulge 2,,
,,,,,0,30,,,,,
B,1,,,,,,10,90,,,
,,,,,,,10,90,,,
,,,,,,,10,,,,
"""


@pytest.mark.parametrize(
    ("old", "new", "parts"),
    [
        (",20,0,,,,,", ",20,,,,,,", ["row 5, column G (down)", "is empty"]),
        (",20,0,,,,,", ",20,0,5,,,,", ["row 5, column H (edge)", "as corners and as edges"]),
        (",20,0,,,,,", ",0,0,,,,,", ["row 5, column F (right)", 'of "A"', "same place"]),
        (",20,0,,,,,", ",0,30,,,,,", ['rows 4 to 7: the outline of "A"', "crosses"]),
        ("A,2,,,,0", "A,2,,,9,0", ["as a rectangle and as corners"]),
        ("bulge 2", "bulgy", ["row 6, column J (curve)", "is no curve"]),
        ("bulge 2", "bulge 2 ells", ["row 6, column J (curve)", "ells"]),
        ("bulge 2", "bulge 40", ["row 6, column F (right)", "measure it again"]),
        ("A,2,", "A,3,yes", ["row 4, column C (pairs)", "mirrored pairs"]),
        ("A,2,,", "A,2,,maybe", ["row 4, column D (on fold)", "neither yes nor no"]),
        ("B,1,,", "B,0,,yes", ["row 8, column D (on fold)", "never cut"]),
        (",,,,,0,30,,,,,\n", ",,,,,0,30,,,,north,\n", ["row 7, column K (top)", "first row"]),
        ("A,2,,,,0,0,,,,,", "A,2,,,,0,0,,,,north,", ["row 4, column K (top)", "not a direction"]),
        ("A,2,,,,0,0,,,,,", "A,2,,,,0,0,,,,,30", ["row 4, column L (allowance)", "more than 20 cm"]),
        (
            ",10,90,,,\n,,,,,,,10,90",
            ",10,90,,,\n,,,,,,,,90",
            ["row 9, column H (edge)", "length of the edge"],
        ),
        (",10,90,,,\n,,,,,,,10,90", ",10,right,,,\n,,,,,,,10,90", ["row 8, column I (turn)", "not an angle"]),
        (
            "B,1,,,,,,10,90,,,\n",
            "C,1,,,,,,,,,,\nB,1,,,,,,10,90,,,\n",
            ["row 8, column A (piece)", "no shape"],
        ),
    ],
)
def test_mistakes_in_shapes_are_told_by_row_and_column(old, new, parts, tmp_path):
    assert old in SHAPES
    told = refusal(tmp_path, SHAPES.replace(old, new, 1))
    assert all(part in told for part in ["bag.csv: ", *parts]), told


@pytest.mark.parametrize(
    ("data", "part"),
    [
        (b"PK\x03\x04 and so on", "is a workbook"),
        (b"\x00\x01\x02\x03", "is not text"),
        (b"", "no row of headings"),
        (b"unit,cm\n", "no row of headings"),
        (b"unit,cm\nseam allowance,1\npiece,copies\n", "has no piece"),
        (b'"' + b"x" * 200_000, "cannot be read as CSV"),
    ],
)
def test_files_that_are_no_spreadsheet_are_refused(data, part, tmp_path):
    assert part in refusal(tmp_path, data)


def test_what_the_loader_finds_is_told_with_the_rows(tmp_path):
    """Allowances that meet across a narrow mouth and leave a hole: only the whole check sees it."""
    jaw = ["0,0", "40,0", "40,40", "21,40", "21,30", "30,30", "30,10", "10,10", "10,30", "19,30", "19,40"]
    rows = "".join(f"{'Jaw,1' if i == 0 else ','},{point}\n" for i, point in enumerate([*jaw, "0,40"]))
    told = refusal(tmp_path, f"unit,cm\nseam allowance,3\npiece,copies,right,down\n{rows}")
    assert 'bag.csv: rows 4 to 15: piece 1 "Jaw"' in told and "run into each other" in told


def test_a_fold_that_the_piece_reaches_across_is_told_with_the_rows(tmp_path):
    told = refusal(
        tmp_path,
        "unit,cm\nseam allowance,1\npiece,copies,on fold,right,down\n"
        "A,1,yes,0,0\n,,,20,0\n,,,0,30\n,,,5,15\n",
    )
    assert 'bag.csv: rows 4 to 7: piece 1 "A"' in told and "reaches across its own fold line" in told


def test_the_command_writes_a_template_and_takes_it(tmp_path):
    sheet, target = tmp_path / "pieces.csv", tmp_path / "bag.toml"
    first = CliRunner().invoke(main, ["new", "--template", str(sheet)])
    assert first.exit_code == 0 and sheet.exists()
    again = CliRunner().invoke(main, ["new", "--template", str(sheet)])
    assert again.exit_code == 1 and "is there already" in again.output
    made = CliRunner().invoke(main, ["new", str(target), "--from", str(sheet)])
    assert made.exit_code == 0, made.output
    assert len(load_pattern(target).pieces["one size"]) == 4
    before = target.read_bytes()
    over = CliRunner().invoke(main, ["new", str(target), "--from", str(sheet)])
    assert over.exit_code == 1 and target.read_bytes() == before
    absent = CliRunner().invoke(main, ["new", str(tmp_path / "x"), "--from", str(tmp_path / "no.csv")])
    assert absent.exit_code == 1 and "there is no such file" in absent.output
    for wrong in (["new"], ["new", "a", "--template", str(tmp_path / "b.csv")]):
        assert CliRunner().invoke(main, wrong).exit_code == 2
    assert sorted(file.name for file in tmp_path.iterdir()) == ["bag.toml", "pieces.csv"]


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    at=st.integers(0, len(TEMPLATE) - 1),
    length=st.integers(0, 12),
    put=st.text(alphabet=st.sampled_from("0129.,;-\"\n\t abx=/#'\x00é"), max_size=8),
)
def test_a_spoilt_spreadsheet_is_a_pattern_or_one_sentence(at, length, put, tmp_path):
    data = TEMPLATE[:at] + put + TEMPLATE[at + length :]
    try:
        text = text_of(tmp_path, data)
    except InputError as problem:
        assert "\n" not in str(problem)
    else:
        checked(TARGET, text)
