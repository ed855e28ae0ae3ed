"""marker import from the command line: what is written, what is told, what is asked."""

import tomllib
from pathlib import Path

import pytest
from click.testing import CliRunner

from marker.cli import Friendly
from marker.commands.import_ import import_command
from marker.files.pattern import load_pattern
from tests.importing.pdfs import pdf, words

GROUP = Friendly("marker", commands={"import": import_command})

DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="60cm" height="90cm" viewBox="0 0 60 90">
<g><title>Body; number 2</title><path d="M 2 2 L 26 2 L 28 62 L 2 62 Z"/><path id="grain" d="M 12 50 V 10"/>
<path id="fold" d="M 2 2 V 62"/></g>
<text x="5" y="40">cut 1 of {material} on fold</text>{more}</svg>"""


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "chart-bag.svg").write_text(DRAWING.format(material="fabric", more=""))
    strap = '<rect id="strap" x="40" y="30" width="8" height="55"/>'
    (tmp_path / "more.svg").write_text(DRAWING.format(material="lining", more=strap))
    (tmp_path / "sheet.pdf").write_bytes(
        pdf("20 20 m 120 20 l 120 320 l h S" + words(100, 50, "cut 2 of fabric"))
    )
    return tmp_path


def run(*args):
    result = CliRunner().invoke(GROUP, ["import", *args])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


def test_a_drawing_becomes_a_pattern_file_that_says_what_is_missing(folder):
    result = run("chart-bag.svg")
    assert result.exit_code == 0
    assert "One unit of the drawing is 10 mm" in result.output
    assert "Written to chart-bag.toml: 1 piece." in result.output
    assert "2 blanks to fill in" in result.output
    assert "seam_allowance\n  fabric fabric, width" in result.output
    data = tomllib.loads((folder / "chart-bag.toml").read_text())
    assert (data["name"], data["unit"]) == ("Chart bag", "cm")
    assert data["piece"][0]["drawing"]["every"]["outline"] == "M 0 0 L 24 0 L 26 60 L 0 60 Z"


def test_answers_leave_no_blank(folder):
    result = run(
        "chart-bag.svg", "--seam-allowance", "1 cm", "--width", "140cm", "--name", "Bag", "--out", "x/b.toml"
    )
    assert result.exit_code == 0 and "blank" not in result.output and "valid pattern: Bag" in result.output
    (piece,) = load_pattern(folder / "x/b.toml").pieces["one size"]
    assert piece.number == "2" and piece.fold_edge


def test_an_answered_grain_runs_up_the_drawing(folder):
    result = run("sheet.pdf", "--grain", "up", "--seam-allowance", "included", "--width", "fabric=55 in")
    assert "valid pattern: Sheet" in result.output
    pattern = load_pattern("sheet.toml")
    assert pattern.pieces["one size"][0].grain[1][1] > pattern.pieces["one size"][0].grain[0][1]
    assert pattern.fabrics["fabric"].width == pytest.approx(55 * 25.4)


def test_several_drawings_make_one_pattern(folder):
    result = run("chart-bag.svg", "more.svg", "sheet.pdf", "--out", "all.toml")
    assert "all.toml: 4 pieces" in result.output
    assert "sheet.pdf: Page 1" in result.output
    data = tomllib.loads((folder / "all.toml").read_text())
    assert [piece["number"] for piece in data["piece"]] == ["2", "1", "3", "4"]
    assert list(data["fabric"]) == ["fabric", "lining"]


def test_a_file_that_is_there_is_not_written_over(folder):
    run("chart-bag.svg")
    (folder / "chart-bag.toml").write_text("mine")
    result = run("chart-bag.svg")
    assert result.exit_code == 1 and "--replace" in result.output
    assert (folder / "chart-bag.toml").read_text() == "mine"
    assert run("chart-bag.svg", "--replace").exit_code == 0


def test_a_piece_that_the_loader_refuses_is_told_at_once(folder):
    bad = '<circle id="region-x" cx="20" cy="20" r="15"/>'
    (folder / "bad.svg").write_text(DRAWING.format(material="fabric", more=bad))
    result = run("bad.svg", "--seam-allowance", "included", "--width", "1 m")
    assert "Careful: bad.toml: piece 2" in result.output and "region x" in result.output


@pytest.mark.parametrize(
    ("args", "code", "part"),
    [
        (["nothing.svg"], 1, "no such file"),
        (["nothing.xyz"], 1, "no such file"),
        (["chart-bag.svg", "--unit", "mm"], 1, "says by itself"),
        (["chart-bag.svg", "--unit", "ell"], 2, "ell"),
        (["chart-bag.svg", "--scale", "x"], 2, "103.1%"),
        (["chart-bag.svg", "--scale", "0"], 2, "103.1%"),
        (["chart-bag.svg", "--seam-allowance", "15"], 1, "say the unit"),
        (["chart-bag.svg", "--seam-allowance", "15 ells"], 1, "ells"),
        (["chart-bag.svg", "--width", "15 ells"], 1, "ells"),
        ([], 2, "FILE"),
    ],
)
def test_wrong_input_is_told(args, code, part, folder):
    result = run(*args)
    assert result.exit_code == code and part in result.output
    assert not list(folder.glob("*.toml"))


def test_other_kinds_of_files_are_told(folder):
    (folder / "photo.jpg").write_bytes(b"x")
    result = run("photo.jpg")
    assert result.exit_code == 1 and ".svg" in result.output and "trace" in result.output


def test_a_scale_corrects_every_length(folder):
    run("chart-bag.svg", "--scale", "110%")
    data = tomllib.loads((folder / "chart-bag.toml").read_text())
    assert data["piece"][0]["drawing"]["every"]["outline"] == "M 0 0 L 264 0 L 286 660 L 0 660 Z"
    assert data["unit"] == "mm"


def test_a_drawing_typed_by_hand_goes_to_a_verified_layout(folder):
    from marker import lay
    from marker.check import verify

    drawing = Path(__file__).parents[2] / "pieces" / "chart-bag.svg"
    result = run(str(drawing), "--seam-allowance", "1 cm", "--width", "140cm", "--width", "interfacing=90cm")
    assert "the scale is right" in result.output and "valid pattern: Chart bag; 3 pieces" in result.output
    answer = lay(folder / "chart-bag.toml", effort=0.02, cores=1)
    assert not verify(answer.layout, answer.job)
    assert {laid.material for laid in answer.layout.materials} == {"fabric", "interfacing"}
    # The flap is 24 by 24 cm, with 1 cm of allowance all round.
    (flap,) = answer.layout.materials[1].placements
    xs, ys = zip(*flap.outline, strict=True)
    assert sorted((max(xs) - min(xs), max(ys) - min(ys))) == pytest.approx([260, 260], abs=0.2)


def test_a_note_is_told_once_for_all_sizes_of_a_piece_and_else_with_its_sizes(folder):
    grains = '<path id="grain" d="M {0} 50 V 10"/><path id="grain-2" d="M {1} 50 V 10"/>'
    drill = '<circle id="drill" cx="50" cy="{}" r="0.2"/>'
    bodies = "".join(
        f'<g transform="translate({30 * k} 0)"><title>Body; number 2; size {size}; cut 1 of fabric</title>'
        f'<path d="M 2 2 H 26 V 60 H 2 Z"/>{grains.format(8, 18)}{outside}</g>'
        for k, (size, outside) in enumerate(
            [("S", ""), ("M", drill.format(5).replace("50", "1")), ("L", drill.format(5).replace("50", "1"))]
        )
    )
    (folder / "sizes.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="90cm" height="90cm" viewBox="0 0 90 90">'
        f"{bodies}</svg>"
    )
    lines = run("sizes.svg").output.splitlines()
    assert lines.count('"Body": It has more than one grain line; the first is taken.') == 1
    assert sum("more than one grain line" in line for line in lines) == 1
    assert [line for line in lines if "drill" in line and "Body" in line] == [
        '"Body", sizes M, L: 1 of its drill marks lie outside it: left out.'
    ]


def test_a_material_that_no_cloth_is_named_for_is_asked_about(folder):
    more = (
        '<rect id="strap" x="40" y="30" width="8" height="55"/><text x="41" y="50">cut 2 of sailcloth</text>'
    )
    (folder / "two.svg").write_text(DRAWING.format(material="fabric", more=more))
    told = run("two.svg", "--seam-allowance", "1 cm", "--width", "fabric=140cm").output
    assert 'strap is cut from "sailcloth", and no cloth is named for that' in told
    assert "[fabric.sailcloth]" in told and "in the cuts by fabric." in told
    told = run("two.svg", "--replace", "--width", "fabric=140cm", "--width", "sailcloth=90cm").output
    assert "no cloth is named" not in told
