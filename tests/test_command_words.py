"""What options have in common on every command: given once, and numbers without a unit."""

import json
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from marker.cli import main
from marker.commands.once import Command

PIECES = Path(__file__).parent.parent / "pieces"
APRON = str(PIECES / "market-apron.toml")
SMOCK = str(PIECES / "harbour-smock.toml")
QUICK = ("--effort", "0.01", "--cores", "1", "--pictures", "none")


def run(*words):
    return CliRunner().invoke(main, [str(word) for word in words])


def once_options():
    """Every option of every command that cannot be repeated, with a value that it takes."""
    for name, command in main.commands.items():
        for option in command.params:
            if isinstance(option, click.Option) and not option.multiple:
                value = option.type.choices[0] if isinstance(option.type, click.Choice) else "1"
                yield name, max(option.opts, key=len), () if option.is_flag else (value,)


def test_every_command_refuses_repeated_options():
    assert all(isinstance(command, Command) for command in main.commands.values())


@pytest.mark.parametrize(("command", "option", "value"), list(once_options()))
def test_an_option_that_counts_once_is_given_once(command, option, value):
    result = run(command, APRON, option, *value, option, *value)
    assert result.exit_code == 2
    assert f"{option} is given twice" in result.output


def test_two_sizes_in_one_lay_are_wrong_usage_and_nothing_is_written(tmp_path):
    out = tmp_path / "out"
    result = run("lay", SMOCK, "--size", "S", "--size", "M", "--out", out, *QUICK)
    assert result.exit_code == 2
    assert "--size is given twice" in result.output
    assert not out.exists()


def test_help_may_be_asked_for_twice():
    assert run("lay", "--help", "--help").exit_code == 0


@pytest.mark.parametrize(
    "widths",
    [("110cm", "120cm"), ("110cm", "fabric=120cm"), ("interfacing=75cm", "interfacing=80cm")],
)
def test_two_widths_for_one_material_of_a_lay_are_wrong_usage(widths):
    result = run("lay", SMOCK, "--size", "M", *(word for width in widths for word in ("--width", width)))
    assert result.exit_code == 2
    assert "--width is given twice for" in result.output


def test_two_widths_for_one_material_of_an_imported_drawing_are_wrong_usage(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    result = run("import", PIECES / "chart-bag.svg", "--width", "110cm", "--width", "fabric=120cm")
    assert result.exit_code == 2
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("command", ["lay", "yardage"])
def test_two_cloths_for_one_material_are_refused(command):
    files = (PIECES / "linen-150.toml", PIECES / "remnants-ticking.toml")
    result = run(command, APRON, "--fabric", files[0], "--fabric", files[1])
    assert result.exit_code == 1
    assert "both hold a cloth for fabric" in result.output


@pytest.fixture
def square(tmp_path):
    """A pattern in inches: one square."""
    path = tmp_path / "square.toml"
    path.write_text(
        'name = "Square"\nunit = "in"\nseam_allowance = "included"\n[fabric.fabric]\nwidth = 45\n'
        '[[piece]]\nnumber = "1"\nname = "Square"\ncuts = [{ material = "fabric", count = 1 }]\n'
        '[piece.drawing.every]\noutline = "M 0 0 H 10 V 10 H 0 Z"\ngrain = [[5, 9], [5, 1]]\n'
    )
    return path


def test_a_bare_width_counts_in_inches_on_an_inch_pattern(square, tmp_path):
    result = run("lay", square, "--width", "44", *QUICK, "--out", tmp_path / "out")
    assert result.exit_code == 0, result.output
    assert "--width 44: taken as 44 in." in result.output
    layout = json.loads((tmp_path / "out" / "layout.json").read_text())
    # An inch is 25.4 mm (international yard and pound agreement, 1959).
    assert layout["materials"][0]["width"] == pytest.approx(44 * 25.4)


def test_a_width_with_a_unit_is_not_echoed(square, tmp_path):
    result = run("lay", square, "--width", "44in", *QUICK, "--out", tmp_path / "out")
    assert result.exit_code == 0
    assert "taken as" not in result.output


def test_tables_take_bare_widths_in_the_unit_of_the_pattern(square, tmp_path):
    words = ("--effort", "0.01", "--cores", "1", "--cache", tmp_path / "kept", "--out", tmp_path / "out")
    for command in ("yardage", "compare"):
        result = run(command, square, "--width", "44", *words)
        assert result.exit_code == 0, result.output
        assert "--width 44: taken as 44 in." in result.output
        assert "44 in" in (tmp_path / "out" / f"{command}.md").read_text()


def test_an_absurd_bare_width_is_refused(tmp_path):
    result = run("lay", APRON, "--width", "1120", *QUICK, "--out", tmp_path / "out")
    assert result.exit_code == 1
    assert "taken as 1120 cm" in result.output
    assert "at most 10 m" in result.output
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--width", "44"), "--width 44: 44 what? say the unit too: 44 cm or 44 in."),
        (("--width", "interfacing=90"), "--width interfacing=90: 90 what?"),
        (("--seam-allowance", "5/8"), "--seam-allowance 5/8: 5/8 what?"),
    ],
)
def test_import_asks_for_the_unit(words, told, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    result = run("import", PIECES / "chart-bag.svg", *words)
    assert result.exit_code == 1
    assert told in result.output
    assert not list(tmp_path.iterdir())


def test_import_takes_bare_numbers_in_the_unit_that_was_named(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    # As it stands the drawing says that its numbers are centimetres.
    drawing = (PIECES / "chart-bag.svg").read_text()
    (tmp_path / "bag.svg").write_text(drawing.replace('width="60cm" height="90cm" ', ""))
    words = ("--seam-allowance", "5/8", "--width", "44", "--width", "interfacing=20")
    result = run("import", "bag.svg", "--unit", "in", "--out", "bag.toml", *words)
    assert result.exit_code == 0, result.output
    written = (tmp_path / "bag.toml").read_text()
    assert 'seam_allowance = "5/8 in"' in written
    assert 'width = "44 in"' in written and 'width = "20 in"' in written


@pytest.mark.parametrize(
    "words", [("--ruler", "98"), ("--board", "180x235"), ("--tolerance", "1"), ("--seam-allowance", "1")]
)
def test_trace_asks_for_the_unit(words, tmp_path, monkeypatch):
    pytest.importorskip("cv2")
    monkeypatch.chdir(tmp_path)
    photo = tmp_path / "front.jpg"
    photo.write_bytes(b"")
    if words[0] == "--seam-allowance":
        from marker.commands.pattern_file import asked_allowance
        from marker.errors import InputError

        # Asked for once the photographs are read.
        with pytest.raises(InputError, match="--seam-allowance 1: 1 what"):
            asked_allowance("1", None)
        return
    result = run("trace", photo, *words)
    assert result.exit_code == 1
    assert f"{' '.join(words)}: {words[1].split('x')[0]} what?" in result.output


def test_a_width_is_all_that_a_material_without_a_cloth_needs(square, tmp_path):
    square.write_text(square.read_text().replace("[fabric.fabric]\nwidth = 45\n", ""))
    without = run("lay", square, *QUICK, "--out", tmp_path / "out")
    assert without.exit_code == 1
    assert "--width fabric=" in without.output
    result = run("lay", square, "--width", "44", *QUICK, "--out", tmp_path / "out")
    assert result.exit_code == 0, result.output
    # A square of 10 in: 10 in are more than 1/4 yd, and less than 3/8 yd.
    assert "buy 3/8 yd" in result.output
