"""A print that the pattern says nothing about: what the report tells to write is copied, pasted and laid.

That notches of one name meet in sewing, that a centre lies on a bar and that left and right are alike is
common practice on prints (places named by Vilumsone-Nemes, Industrial Cutting of Textile Materials, p. 228).
"""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
from click.testing import CliRunner

from marker import lay, load_job
from marker.check import verify
from marker.cloth.suggest import Suggestion, suggestion
from marker.model.match import Match
from marker.report.matching import match_lines
from marker.report.text import render

PIECES = Path(__file__).parents[2] / "pieces"
CHECK = "check 9 cm x 6 cm"
PATTERN = """
name = "Oar bag"
unit = "mm"
seam_allowance = "10 mm"
[fabric.fabric]
width = "140 cm"
[[piece]]
number = "1"
name = "Front"
cuts = [{{ material = "fabric", count = 1, how = "on fold" }}]
[piece.drawing.every]
outline = "M 0 0 H 200 V 300 H 0 Z"
grain = [[100, 250], [100, 50]]
fold = [[0, 0], [0, 300]]
notches = [{{ name = "{side}", at = [200, {front}] }}]
[[piece]]
number = "2"
name = "Back"
cuts = [{{ material = "fabric", count = 2, how = "mirrored" }}]
[piece.drawing.every]
outline = "M 0 0 H 200 L 210 300 H 0 Z"
grain = [[100, 250], [100, 50]]
notches = [{{ name = "side", at = [0, 100] }}, {{ name = "low", at = [0, 250] }}]
[[piece]]
number = "3"
name = "Pocket"
cuts = [{{ material = "fabric", count = 1, how = "alike" }}]
[piece.drawing.every]
outline = "M 0 0 H 90 V 100 H 0 Z"
grain = [[45, 80], [45, 20]]
notches = [{{ name = "{low}", at = [0, 50] }}]
"""


def bag(folder: Path, *, side: str = "side", front: int = 100, low: str = "low") -> Path:
    path = folder / "bag.toml"
    path.write_text(PATTERN.format(side=side, front=front, low=low))
    return path


def job_of(path: Path, design: str = CHECK, **more):
    return load_job(path, prints={"": design}, **more)


def told(path: Path, design: str = CHECK, width: int = 80, **more) -> str:
    answer = lay(job_of(path, design, **more), effort=0.02, cores=1)
    assert not verify(answer.layout, answer.job)
    return render(answer.layout, answer.job, width=width)


def copied(report: str) -> str:
    """The lines to write as somebody copies them from the screen: with the blanks before them."""
    rows = report.split("add these lines at the end of the pattern file, and lay it again:")[1].splitlines()[
        1:
    ]
    block: list[str] = []
    for row in rows:
        if not re.fullmatch(r'\s+(\[\[match\]\]|\w+ = \[.*|".*",|\'.*\',|\])', row.rstrip()):
            break
        block.append(row.rstrip())
    return "\n".join(block)


@pytest.mark.parametrize(
    "design", [CHECK, "stripes along 6 cm", "stripes across 9 cm", "motifs 16 cm x 14 cm"]
)
def test_what_is_told_can_be_pasted_and_laid(design: str, tmp_path: Path) -> None:
    path = bag(tmp_path)
    first = told(path, design)
    assert "No two of these pieces" not in first
    assert "its print is not matched" in " ".join(first.split())
    block = copied(first)
    path.write_text(path.read_text() + "\n" + block + "\n")
    given = {key: value for table in tomllib.loads(path.read_text())["match"] for key, value in table.items()}
    along, across = "along" not in design, "across" not in design
    assert given == {
        **({"meet": ["side", "low"]} if along else {}),
        **({"centre": ["1"]} if across else {}),
        "pair": ["2"],
    }
    second = told(path, design)
    assert "Matched" in second and "the main seams" in second and "To match" not in second
    assert "its print is not matched" not in second


@pytest.mark.parametrize(
    ("name", "size"), [("gored-skirt", "M"), ("harbour-smock", "M"), ("market-apron", None)]
)
def test_the_demo_patterns_are_told_what_to_write_when_they_do_not_say_it(name, size, tmp_path: Path) -> None:
    text = (PIECES / f"{name}.toml").read_text()
    bare = re.sub(r"(?m)^\[\[match\]\]\n(?:\w+ = .*\n)+", "", text)
    (tmp_path / "bare.toml").write_text(bare)
    job = load_job(tmp_path / "bare.toml", size=size, prints={"": CHECK})
    found = suggestion(job, "fabric")
    assert found is not None and found.matches
    assert suggestion(load_job(PIECES / f"{name}.toml", size=size, prints={"": CHECK}), "fabric") is None
    (tmp_path / "pasted.toml").write_text(bare + "\n" + "\n".join(match_lines(found.matches)) + "\n")
    pasted = load_job(tmp_path / "pasted.toml", size=size, prints={"": CHECK})
    assert {(m.what, m.name) for m in pasted.matches} == {(m.what, m.name) for m in found.matches}
    assert len(pasted.asked_of("fabric")) == len(found.matches)


def test_without_notches_of_one_name_it_is_said_how_to_name_them(tmp_path: Path) -> None:
    report = " ".join(told(bag(tmp_path, side="hip", low="top")).split())
    assert "No two of these pieces have a notch of one name" in report and 'meet = ["side"]' in report
    assert '[[match]] centre = ["1"] [[match]] pair = ["2"]' in report


def test_a_pattern_with_nothing_to_suggest_is_told_what_is_missing(tmp_path: Path) -> None:
    path = bag(tmp_path, side="hip", low="top")
    text = path.read_text().replace('count = 1, how = "on fold"', 'count = 1, how = "alike"')
    path.write_text(text.replace('count = 2, how = "mirrored"', 'count = 2, how = "alike"'))
    report = " ".join(told(path).split())
    assert "the pattern file has to say what meets, under [[match]]" in report
    assert "No two of these pieces" in report and "add these lines" not in report


def test_notches_that_would_miss_each_other_are_left_out_and_named(tmp_path: Path) -> None:
    """A second pair of notches 20 mm off the first: on a repeat of 90 mm only one of the pairs can meet."""
    path = bag(tmp_path)
    text = path.read_text().replace(
        'notches = [{ name = "side", at = [200, 100] }]',
        'notches = [{ name = "side", at = [200, 100] }, { name = "low", at = [200, 230] }]',
    )
    path.write_text(text)
    report = told(path)
    assert "Left out, as they would miss each other on this print: low." in " ".join(report.split())
    path.write_text(text + "\n" + copied(report))
    assert "the main seams" in told(path)


def test_who_wants_nothing_matched_is_told_nothing(tmp_path: Path) -> None:
    path = bag(tmp_path)
    report = told(path, matching="none")
    assert "To match" not in report and "its print" not in report
    assert "To match" not in render_plain(path)


def render_plain(path: Path) -> str:
    answer = lay(load_job(path), effort=0.02, cores=1)
    return render(answer.layout, answer.job, width=80)


def test_a_match_that_is_about_other_lines_is_said_to_be(tmp_path: Path) -> None:
    path = bag(tmp_path)
    path.write_text(path.read_text() + '\n[[match]]\ncentre = "1"\n')
    report = " ".join(told(path, "stripes across 9 cm").split())
    assert (
        "no [[match]] of the pattern is about these pieces and lines" in report and "To match" not in report
    )


def test_names_are_written_so_that_any_of_them_can_be_pasted() -> None:
    names = ['say "cheese"', "it's", "back\\slash", "[brackets]", "a" * 50, "b" * 50]
    lines = match_lines([Match("meet", name, True, False) for name in names])
    assert tomllib.loads("\n".join(lines)) == {"match": [{"meet": names}]}
    assert max(map(len, lines)) <= 60


def test_names_that_another_size_lacks_or_that_lie_on_the_bias_are_not_suggested(tmp_path: Path) -> None:
    path = bag(tmp_path)
    text = path.read_text()
    biased = text.replace('name = "Pocket"', 'name = "Pocket"\nbias = true')
    path.write_text(biased)
    found = suggestion(job_of(path), "fabric")
    assert found is not None and [m.name for m in found.matches if m.what == "meet"] == ["side"]
    sized = text.replace('unit = "mm"', 'unit = "mm"\nsizes = ["S", "M"]')
    other = text[text.index("[piece.drawing.every]") :].split("[[piece]]")[0]
    lacking = re.sub(r"notches = .*\n", "", other).replace("every", "M")
    path.write_text(sized.replace(other, other.replace("every", "S") + lacking))
    found = suggestion(job_of(path, size="S"), "fabric")
    assert found is not None and [m.name for m in found.matches if m.what == "meet"] == ["low"]


def test_an_imported_drawing_is_told_by_its_named_notches_only(tmp_path: Path, monkeypatch) -> None:
    from marker.commands.import_ import import_command

    monkeypatch.chdir(tmp_path)
    pieces = "".join(
        f'<g transform="translate({250 * i} 0)"><title>{name}; number {i}; cut 2 of fabric mirrored</title>'
        f'<path d="M 10 10 H {210 + i} L 200 310 H 10 Z"/><path id="grain" d="M 90 250 V 50"/>'
        f'<path id="notch-side" d="M 10 150 h 9"/><path id="notch" d="M 10 220 h 9"/></g>'
        for i, name in ((1, "Front"), (2, "Back"))
    )
    root = 'xmlns="http://www.w3.org/2000/svg" width="900mm" height="400mm" viewBox="0 0 900 400"'
    Path("bag.svg").write_text(f"<svg {root}>{pieces}</svg>")
    result = CliRunner().invoke(import_command, ["bag.svg", "--seam-allowance", "1 cm", "--width", "140cm"])
    assert result.exit_code == 0, result.output
    block = copied(told(Path("bag.toml")))
    assert tomllib.loads(block)["match"] == [{"meet": ["side"]}, {"pair": ["1", "2"]}]
    Path("bag.toml").write_text(Path("bag.toml").read_text() + block)
    assert "the main seams" in told(Path("bag.toml"))


def test_cloths_that_cannot_be_matched_across_are_not_told_to(tmp_path: Path) -> None:
    path = bag(tmp_path)
    text = path.read_text()
    remnants = '[[fabric.fabric.remnant]]\nname = "a"\nlength = "1 m"\nwidth = "1 m"\nwashed = true\n'
    path.write_text(text.replace("[[piece]]", f"{remnants}[[piece]]", 1))
    assert suggestion(job_of(path), "fabric") is None
    path.write_text(text)
    assert suggestion(load_job(path), "fabric") is None
    assert isinstance(suggestion(job_of(path), "fabric"), Suggestion)
