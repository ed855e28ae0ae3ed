"""The command line as a user meets it."""

import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from marker.cli import main
from marker.progress import Progress

APRON = str(Path(__file__).parent.parent / "pieces" / "market-apron.toml")
SMOCK = str(Path(__file__).parent.parent / "pieces" / "harbour-smock.toml")
QUICK = ("--effort", "0.02", "--cores", "1", "--pictures", "none")


def run(*words):
    return CliRunner().invoke(main, [str(word) for word in words])


@pytest.fixture(scope="module")
def apron(tmp_path_factory):
    """A finished run on the apron: its output and the folder written."""
    folder = tmp_path_factory.mktemp("apron")
    result = run("lay", APRON, "--effort", "0.02", "--cores", "1", "--out", folder)
    assert result.exit_code == 0, result.output
    return result.output, folder


def test_the_report_answers_the_question(apron):
    output, folder = apron
    layout = json.loads((folder / "layout.json").read_text())
    (fabric,) = [m for m in layout["materials"] if m["material"] == "fabric"]
    assert fabric["buy"]["text"] in output
    assert f"{fabric['waste_percent']:.1f} % waste" in output


def test_every_material_has_its_pictures_and_chart(apron):
    _, folder = apron
    layout = json.loads((folder / "layout.json").read_text())
    for material in layout["materials"]:
        for ending in (".png", ".svg", ".pdf", "-cutting-chart.csv"):
            assert (folder / f"{material['material']}{ending}").stat().st_size > 100


def test_the_layout_file_verifies_again_and_a_shifted_piece_does_not(apron, tmp_path):
    _, folder = apron
    good = folder / "layout.json"
    assert run("check", good).exit_code == 0
    layout = json.loads(good.read_text())
    first = layout["materials"][0]["placements"][0]
    first["outline"] = [[x + 40.0, y] for x, y in first["outline"]]
    moved = folder / "moved.json"
    moved.write_text(json.dumps(layout))
    result = run("check", moved)
    assert result.exit_code == 3
    assert f"piece {first['piece']}" in result.output


def test_a_layout_that_lacks_pieces_is_not_called_verified_without_a_word(tmp_path):
    file = tmp_path / "scrap.toml"
    file.write_text(
        """name = "Flag"
unit = "mm"
seam_allowance = "included"
[fabric.fabric]
roll = false
[[fabric.fabric.remnant]]
name = "scrap"
length = 200
width = 200
[[piece]]
number = "1"
name = "Flag"
cuts = [{ material = "fabric", count = 2, how = "alike" }]
[piece.drawing.every]
outline = "M 0 0 H 150 V 150 H 0 Z"
grain = [[75, 120], [75, 30]]
"""
    )
    assert "valid pattern: Flag; 1 piece; size one size; view A" in run("check", file).output
    assert run("lay", file, *QUICK, "--out", tmp_path / "out").exit_code == 3
    told = run("check", tmp_path / "out" / "layout.json").output.strip()
    assert told.endswith("verified but incomplete, 1 placement holds and 1 copy has no place")


def test_one_fault_that_is_about_no_piece_is_told_in_good_words(apron):
    _, folder = apron
    layout = json.loads((folder / "layout.json").read_text())
    layout["materials"][0]["waste_percent"] += 1.0
    stated = folder / "stated.json"
    stated.write_text(json.dumps(layout))
    result = run("check", stated)
    summary, fault = result.output.splitlines()
    assert result.exit_code == 3 and summary.endswith("stated.json: 1 fault")
    assert fault.startswith(f"  {layout['materials'][0]['material']}: ") and "is waste" in fault


def test_json_is_all_that_stands_on_stdout(tmp_path):
    result = run("lay", APRON, *QUICK, "--json", "--out", tmp_path)
    printed = json.loads(result.stdout)
    assert printed["marker_layout"] == 1
    # Files are named from the folder they are written to, everything else is the same.
    written = json.loads((tmp_path / "layout.json").read_text())
    assert printed["materials"] == written["materials"]


def test_the_same_seed_and_effort_write_the_same_bytes(tmp_path):
    for name in ("one", "other"):
        assert run("lay", APRON, *QUICK, "--seed", 3, "--out", tmp_path / name).exit_code == 0
    assert (tmp_path / "one" / "layout.json").read_bytes() == (
        tmp_path / "other" / "layout.json"
    ).read_bytes()


def test_what_a_killed_run_left_is_put_right_when_the_next_begins(tmp_path, monkeypatch):
    """Before the search: a run that then fails has still brought the killed one's files to their places."""
    left = tmp_path / "out" / ".marker-0123456789ab.part"
    (left / "new").mkdir(parents=True)
    for name, text in (("lock", ""), ("gone", "fabric.svg\n"), ("new/report.txt", "new")):
        (left / name).write_text(text)
    (tmp_path / "out" / "fabric.svg").write_text("old")
    monkeypatch.setattr("marker.api.lay", None)
    assert isinstance(run("lay", APRON, *QUICK, "--out", tmp_path / "out").exception, TypeError)
    assert {file.name: file.read_text() for file in (tmp_path / "out").iterdir()} == {"report.txt": "new"}


def test_a_folder_tells_of_one_layout_and_keeps_what_is_not_ours(tmp_path):
    first = ("--effort", "0.02", "--cores", "1", "--out", tmp_path, "--seed", 1)
    assert run("lay", APRON, *first, "--pictures", "svg,table", "--drawings", "dxf").exit_code == 0
    (tmp_path / "mine.svg").write_text("mine")
    # The same layout again, on paper too: nothing is outdated.
    assert run("lay", APRON, *first, "--pictures", "none", "--paper", "roll").exit_code == 0
    kept = {"layout.json", "report.txt", "fabric-cutting-chart.csv", "mine.svg"}
    more = {"fabric.svg", "table-sheet.pdf", "fabric-full-size.dxf", "fabric-full-size-roll.pdf"}
    assert {file.name for file in tmp_path.iterdir()} == kept | more
    assert run("lay", APRON, *first, "--pictures", "none", "--width", "120cm").exit_code == 0
    assert {file.name for file in tmp_path.iterdir()} == kept


def test_width_and_fabric_file_change_the_cloth(tmp_path):
    file = tmp_path / "sailcloth.toml"
    file.write_text('[fabric.fabric]\nname = "Sailcloth"\nwidth = "60 in"\nstep = "1/8 yd"\n')
    result = run("lay", APRON, *QUICK, "--fabric", file, "--out", tmp_path / "a")
    assert "Sailcloth" in result.output and " yd" in result.output
    result = run("lay", APRON, *QUICK, "--width", "120cm", "--out", tmp_path / "b")
    layout = json.loads((tmp_path / "b" / "layout.json").read_text())
    assert layout["materials"][0]["width"] == pytest.approx(1200.0, rel=0.1)
    assert run("check", tmp_path / "b" / "layout.json").exit_code == 0


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("lay", "nowhere.toml"), ["nowhere.toml"]),
        (("lay", SMOCK), ["size", "XS", "XL"]),
        (("lay", SMOCK, "--size", "XXL"), ["XXL", "XS, S, M, L"]),
        (("lay", SMOCK, "--size", "M", "--view", "Q"), ["Q", "A", "B"]),
        (("lay", SMOCK, "--size", "M", "--fold", "sideways"), ["sideways", "lengthwise fold"]),
        (("lay", SMOCK, "--size", "M", "--width", "wide"), ["wide"]),
        (("lay", SMOCK, "--size", "M", "--width", "0 cm"), ["width"]),
        (("lay", SMOCK, "--size", "M", "--width", "40cm"), ["wide"]),
        (("lay", SMOCK, "--size", "M", "--width", "1,4,0 m"), ["1,4,0 m"]),
        (("lay", SMOCK, "--size", "M", "--quantity", "0"), ["0"]),
        (("lay", SMOCK, "--size", "M", "--quantity", "500"), ["2000"]),
        (("lay", SMOCK, "--size", "M", "--with", "99"), ["99"]),
        (("check", "nowhere.json"), ["nowhere.json"]),
    ],
)
def test_bad_input_is_one_sentence_and_nothing_written(words, told, tmp_path):
    folder = tmp_path / "out"
    extra = ("--out", folder) if words[0] == "lay" else ()
    result = run(*words, *extra)
    assert result.exit_code == 1, result.output
    assert result.stdout == ""
    assert len(result.stderr.strip().splitlines()) == 1
    assert all(word in result.stderr for word in told), result.stderr
    assert not folder.exists()


def test_an_output_folder_that_is_a_file_leaves_it_alone(tmp_path):
    file = tmp_path / "taken"
    file.write_text("mine")
    result = run("lay", APRON, *QUICK, "--out", file)
    assert result.exit_code == 1
    assert "taken" in result.stderr
    assert file.read_text() == "mine"


def test_usage_errors_end_with_two():
    assert run("lay", APRON, "--seconds", "5", "--effort", "1").exit_code == 2
    assert run("lay", APRON, "--pictures", "bmp").exit_code == 2
    assert run("lay", APRON, "--seconds", "-1").exit_code == 2


def test_the_schemas_are_json():
    for kind in ("pattern", "fabric"):
        assert "properties" in json.loads(run("check", "--schema", kind).output)


def test_pattern_and_fabric_files_are_described():
    result = run("check", SMOCK)
    assert result.exit_code == 0
    assert "Harbour smock" in result.output and "XS, S, M, L, XL" in result.output


def test_an_interrupt_gives_the_best_verified_so_far(tmp_path, monkeypatch):
    before = signal.getsignal(signal.SIGINT)
    pressed = []

    def press_once(self, news):
        if not pressed:
            pressed.append(news.material)
            os.kill(os.getpid(), signal.SIGINT)

    # Ctrl-C at the first improvement; without it the search would go on for ten minutes.
    monkeypatch.setattr(Progress, "better", press_once)
    try:
        result = run("lay", SMOCK, "--size", "M", "--seconds", 600, "--pictures", "none", "--out", tmp_path)
    finally:
        signal.signal(signal.SIGINT, before)
    assert result.exit_code == 0, result.output
    assert "Stopped early" in result.output
    assert run("check", tmp_path / "layout.json").exit_code == 0


def test_help_needs_no_heavy_library():
    probe = (
        "import sys; from marker.cli import main\n"
        "try: main(['lay', '--help'])\n"
        "except SystemExit: pass\n"
        "heavy = {'numpy', 'numba', 'ortools', 'matplotlib', 'shapely', 'pydantic', 'rich'}\n"
        "print('heavy:', sorted(heavy & set(sys.modules)))"
    )
    output = subprocess.run([sys.executable, "-c", probe], capture_output=True, text=True, check=True).stdout
    assert output.strip().endswith("heavy: []")


@pytest.mark.parametrize("option", [("--paper", "a4"), ("--drawings", "drawn")])
def test_a_fabric_file_has_no_pieces_to_draw(tmp_path, monkeypatch, option):
    monkeypatch.chdir(tmp_path)
    Path("cloth.toml").write_text('[fabric.fabric]\nwidth = "112 cm"\n')
    result = run("check", "cloth.toml", *option)
    assert result.exit_code == 2 and "pieces of a pattern file, and none is named" in result.stderr
