"""What README.md and pieces/README.md show holds."""

import re
from pathlib import Path

import pytest

from marker.api import describe_file, load_job

TOP = Path(__file__).parent.parent
README = (TOP / "README.md").read_text(encoding="utf-8")
REFERENCE = (TOP / "pieces" / "README.md").read_text(encoding="utf-8")


@pytest.fixture
def oar_bag(tmp_path):
    (block,) = re.findall(r"```toml\n(.*?)```", REFERENCE, re.DOTALL)
    file = tmp_path / "oar-bag.toml"
    file.write_text(block)
    return file


def test_the_worked_example_is_a_valid_pattern(oar_bag):
    assert "Oar bag" in describe_file(oar_bag)


def test_the_worked_example_measures_what_it_says(oar_bag):
    job = load_job(oar_bag, size="short", with_=["3"])
    body = next(piece for piece in job.pieces if piece.number == "1")
    xs = [x for x, _ in body.outline]
    ys = [y for _, y in body.outline]
    # 160 cm, 1.5 cm allowance at the top and 4 cm at the bottom; the fold edge gets none.
    assert max(ys) - min(ys) == pytest.approx(1655.0, abs=0.01)
    assert min(xs) == pytest.approx(0.0, abs=0.01)
    assert [cut.count for piece in job.pieces for cut in piece.cuts] == [1, 2, 1, 1]
    assert job.notions == (("Snap hook", "30 mm, brass", 1),)


def test_the_commands_shown_name_files_that_exist():
    shown = re.findall(r"pieces/[\w-]+\.(?:toml|py)", README)
    assert shown
    assert all((TOP / name).exists() for name in shown)


def test_spreadsheets_shown_are_written_by_a_line_before_and_no_pattern_is_made_twice():
    sheets, patterns = [], []
    for line in re.findall(r"^\S*marker new (.*?)\s*(?:#.*)?$", README, re.MULTILINE):
        words = line.split()
        if words[0] == "--template":
            sheets.append(words[1])
            continue
        assert words[0] not in patterns, line
        patterns.append(words[0])
        if "--from" in words:
            assert words[words.index("--from") + 1] in sheets, line
    assert sheets and len(patterns) >= 2
