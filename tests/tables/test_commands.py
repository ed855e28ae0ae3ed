"""The two commands as a user meets them."""

import json

import pytest
from click.testing import CliRunner

from marker.cli import main
from tests.tables.sewn import PATTERN


@pytest.fixture
def run(tmp_path):
    file = tmp_path / "pennants.toml"
    file.write_text(PATTERN)

    def runs(command, *words):
        usual = ("--effort", "0.01", "--cores", "1", "--cache", tmp_path / "kept", "--out", tmp_path / "out")
        return CliRunner().invoke(main, [str(word) for word in (command, file, *usual, *words)])

    return runs


def test_yardage_prints_the_table_and_writes_it(run, tmp_path):
    result = run("yardage", "--fold", "open")
    assert result.exit_code == 0, result.output
    assert "Size S" in result.stdout and "0.4 m open" in result.stdout
    assert "0.4 m open" in (tmp_path / "out" / "yardage.md").read_text()
    assert (tmp_path / "out" / "yardage.csv").read_text().startswith("material,cloth,size")
    assert "layouts to find" in result.stderr
    again = run("yardage", "--fold", "open")
    assert again.stdout == result.stdout
    assert "layouts to find" not in again.stderr


def test_a_hole_in_the_table_ends_with_three(run):
    result = run("yardage", "--width", "400mm", "--width", "500mm", "--json")
    assert result.exit_code == 3
    table = json.loads(result.stdout)
    assert table["marker_yardage"] == 1 and table["effort"] == 0.01
    assert {entry["buy_mm"] is None for entry in table["entries"]} == {True, False}


def test_compare_writes_table_and_figure(run, tmp_path):
    result = run("compare", "--size", "S", "--width", "500mm", "--width", "900mm", "--json")
    assert result.exit_code == 0, result.output
    assert [row["width_mm"] for row in json.loads(result.stdout)["rows"] if row["material"] == "fabric"] == [
        500.0,
        900.0,
    ]
    names = {file.name for file in (tmp_path / "out").iterdir()}
    assert names == {
        "compare.md",
        "compare.csv",
        "compare-fabric.png",
        "compare-fabric.svg",
        "compare-fabric.pdf",
    }


def test_the_view_and_the_price_that_was_taken_are_told(run):
    result = run("yardage", "--fold", "open", "--size", "S")
    assert result.stdout.splitlines()[0] == "Pennants, view A: how much to buy"
    result = run("compare", "--size", "S", "--width", "500mm", "--width", "900mm")
    told = " ".join(result.stdout.split())
    assert "with the price of Signal cloth 50 cm wide, 12.00 EUR for 1 m" in told
    rows = [line for line in result.stdout.splitlines() if "Signal cloth" in line and " EUR" in line]
    assert "EUR (1)" in next(row for row in rows if "90 cm" in row)
    assert "EUR (1)" not in next(row for row in rows if "50 cm" in row)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("yardage", "--size", "XXL"), "XXL"),
        (("yardage", "--width", "wide"), "--width wide"),
        (("yardage", "--width", "felt=90cm"), "felt"),
        (("yardage", "--fold", "sideways"), "sideways"),
        (("compare",), "which size"),
        (("compare", "--size", "S", "--fabric", "nowhere.toml"), "nowhere.toml"),
        (("compare", "--size", "S", "--fold", "sideways"), "sideways"),
        (("compare", "--size", "S", "--material", "felt"), "felt"),
    ],
)
def test_bad_input_is_one_sentence_and_nothing_written(run, tmp_path, words, told):
    result = run(*words)
    assert result.exit_code == 1, result.output
    assert result.stdout == "" and len(result.stderr.strip().splitlines()) == 1
    assert told in result.stderr
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    "words", [("--seconds", 5), ("--laid", "sideways"), ("--effort", 0), ("--match", "all")]
)
def test_wrong_usage_ends_with_two(run, words):
    assert run("yardage", *words).exit_code == 2
