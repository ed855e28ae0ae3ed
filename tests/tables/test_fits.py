"""Which sizes fit on cloth in hand: two triangles that make a rectangle as long as one of them."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from marker.cli import main
from marker.files.cloth_words import ClothWords
from marker.tables import fits
from marker.tables.source import open_source

from .sewn import PATTERN

SEARCH = {"fold": "best", "seed": 1, "seconds": None, "effort": 0.5, "cores": 1}


@pytest.fixture
def pennants(tmp_path):
    path = tmp_path / "pennants.toml"
    path.write_text(PATTERN)
    return path


def jobs_on(path, *have):
    source = open_source(path)
    words = ClothWords({"fabric": have})
    return fits.every_job(source, lambda size, view: source.job(size=size, view=view, words=words))


def verdicts(path, *have, known=(), **more):
    found = fits.which_fit(jobs_on(path, *have), ("fabric",), dict(known), **{**SEARCH, **more})
    return {fit.size: fit.verdict for fit in found}


def test_a_size_fits_only_with_a_layout_and_cannot_only_by_a_bound(pennants):
    # S is 480 x 400 in all, L is 480 x 600: 401 mm of cloth hold the one, and are too little for the other.
    assert verdicts(pennants, "401 mm x 500 mm") == {"S": "fits", "L": "cannot fit"}
    assert verdicts(pennants, "601 mm x 500 mm") == {"S": "fits", "L": "fits"}


def test_what_was_not_tried_is_not_called_impossible(pennants):
    assert verdicts(pennants, "601 mm x 500 mm", stop=lambda: True) == {"S": "not found", "L": "not found"}


def test_what_is_known_is_not_laid_again(pennants, monkeypatch):
    monkeypatch.setattr(fits, "_lacking", lambda *_, **__: pytest.fail("laid again"))
    known = {("S", "A"): 0.0, ("L", "A"): fits.UNKNOWN}
    assert verdicts(pennants, "601 mm x 500 mm", known=known) == {"S": "fits", "L": "not found"}
    assert verdicts(pennants, "401 mm x 500 mm", known=known) == {"S": "fits", "L": "cannot fit"}


def test_sizes_that_cut_the_same_are_laid_once(tmp_path, monkeypatch):
    path = tmp_path / "alike.toml"
    path.write_text(PATTERN.replace("L 0 600 Z", "L 0 400 Z"))
    laid = []
    monkeypatch.setattr(fits, "_lacking", lambda job, *_, **__: laid.append(job.size) or 0.0)
    assert verdicts(path, "401 mm x 500 mm") == {"S": "fits", "L": "fits"}
    assert len(laid) == 1


def test_the_time_is_shared_out(pennants, monkeypatch):
    given = []
    monkeypatch.setattr(fits, "_lacking", lambda *_, seconds, **__: given.append(seconds) or fits.UNKNOWN)
    verdicts(pennants, "601 mm x 500 mm", seconds=10.0, effort=None)
    # The first has half, and leaves all of it to the second.
    assert given == [pytest.approx(5.0, abs=1.0), pytest.approx(10.0, abs=2.0)]


def lay(*words):
    search = ("--effort", "0.5", "--cores", "1", "--pictures", "none")
    return CliRunner().invoke(main, ["lay", *map(str, words), *search])


def test_lay_tells_what_fits_and_ends_with_three_where_the_size_asked_for_does_not(pennants, tmp_path):
    words = (pennants, "--have", "40.1 x 50 cm", "--out", tmp_path / "out")
    small, large = lay(*words, "--size", "S"), lay(*words, "--size", "L")
    assert (small.exit_code, large.exit_code) == (0, 3), small.output + large.output
    for result in (small, large):
        assert "taken as 40.1 cm x 50 cm" in result.output
        assert "What fits on fabric 40.1 cm x 50 cm" in result.output
        assert "cannot fit: by the size of the pieces" in result.output
    # What is in hand need not be bought, the rest must.
    layout = json.loads((tmp_path / "out" / "layout.json").read_text())
    assert {m["material"]: m["buy"]["length"] for m in layout["materials"]} == {
        "fabric": 0.0,
        "stiffening": 100.0,
    }


def test_a_layout_on_cloth_said_in_words_verifies_again(pennants, tmp_path):
    out = tmp_path / "out"
    said = ("--have", "1 m x 60 cm washed", "--print", "stripes along 3 cm", "--nap")
    result = lay(pennants, "--size", "S", "--out", out, *said)
    assert result.exit_code == 0, result.output
    checked = CliRunner().invoke(main, ["check", str(out / "layout.json")])
    assert checked.exit_code == 0, checked.output
    assert "verified" in checked.output
    # Without the words the cloth is another one, and the layout does not hold on it.
    layout = json.loads((out / "layout.json").read_text())
    del layout["asked"]["have"]
    (out / "layout.json").write_text(json.dumps(layout))
    assert CliRunner().invoke(main, ["check", str(out / "layout.json")]).exit_code == 3


def test_without_a_size_all_are_told_and_nothing_is_written(pennants, tmp_path):
    out = tmp_path / "out"
    result = lay(pennants, "--have", "401 mm x 500 mm", "--out", out)
    assert result.exit_code == 0, result.output
    assert "S     fits" in result.output and "L     cannot fit, takes at least 5" in result.output
    assert not out.exists()
    assert lay(pennants, "--have", "201 mm x 500 mm", "--out", out).exit_code == 3


def test_verdicts_alone_are_json_where_that_is_asked_for(pennants):
    result = lay(pennants, "--have", "401 mm x 500 mm", "--json")
    assert json.loads(result.stdout) == [
        {"size": "S", "view": "A", "verdict": "fits", "length": 0.0, "enough": 0.0},
        {
            "size": "L",
            "view": "A",
            "verdict": "cannot fit",
            "length": pytest.approx(600.0, abs=25.0),
            "enough": 0.0,
        },
    ]
    both = lay(pennants, "--have", "401 mm x 500 mm", "--json", "--size", "S")
    assert json.loads(both.stdout)["size"] == "S"


def test_what_is_not_found_is_told_the_length_that_a_layout_took(tmp_path):
    # Three, one after the other since only one lies across: 880 in all could be shown neither
    # to do nor not to.
    def on(said):
        return fits.which_fit(jobs_on(path, said), ("fabric",), {}, **SEARCH)

    path = tmp_path / "panels.toml"
    path.write_text(
        """name = "Panel"
unit = "mm"
seam_allowance = "included"
[fabric.fabric]
width = 390
shrink_along = "20 %"
[[piece]]
number = "1"
name = "Panel"
cuts = [{ material = "fabric", count = 3, how = "alike" }]
[piece.drawing.every]
outline = "M 0 0 H 210 V 300 L 105 290 L 0 300 Z"
grain = [[100, 250], [100, 50]]
"""
    )
    for wide, washed in (("390 mm washed", 1.0), ("390 mm", 0.8)):
        (fit,) = on(f"{880.0 / washed} mm x {wide}")
        assert fit.verdict == "not found"
        assert 880.0 < fit.enough * washed <= 900.0
        (fit,) = on(f"{fit.enough:.3f} mm x {wide}")
        assert (fit.verdict, fit.enough) == ("fits", 0.0)
    told = lay(path, "--have", "88 cm x 39 cm washed", "--out", tmp_path / "out").output
    assert "was found in the time, 89 cm is enough; one may still exist" in " ".join(told.split())
    # Of several pieces nobody knows which of them is to be longer.
    (fit,) = fits.which_fit(
        jobs_on(path, "580 mm x 390 mm washed", "290 mm x 390 mm washed"), ("fabric",), {}, **SEARCH
    )
    assert fit.verdict != "fits" and fit.enough == 0.0


def test_cloth_on_which_nothing_fits_ends_with_three(pennants, tmp_path):
    result = lay(pennants, "--size", "S", "--have", "10 cm x 10 cm", "--out", tmp_path / "out")
    assert result.exit_code == 3
    assert "no piece fits on any of the remnants" in result.output
    assert "cannot fit" in result.output


@pytest.mark.parametrize(
    ("words", "code", "told"),
    [
        (("--have", "felt=1 m x 1 m"), 1, "--have tells of felt, but the pattern cuts nothing from it"),
        (("--print", "felt=check 3 cm"), 1, "--print tells of felt"),
        (("--have", "1 m x 1 m", "--width", "90cm"), 1, "only remnants"),
        (("--print", "check 3 cm", "--print", "fabric=none"), 2, "--print is given twice for fabric"),
        (("--have", "1 m"), 1, "one length is given"),
        (("--print", "stiffening=stripes 3 cm"), 1, "along the cloth or across it?"),
    ],
)
def test_mistakes_are_one_sentence(pennants, words, code, told, tmp_path):
    result = lay(pennants, "--size", "S", *words, "--out", tmp_path / "out")
    assert result.exit_code == code
    assert told in result.output
    assert not (tmp_path / "out").exists()


def test_words_win_over_a_fabric_file(pennants, tmp_path):
    cloth = tmp_path / "cloth.toml"
    cloth.write_text(
        'unit = "mm"\n[fabric.fabric]\nname = "Filed"\nwidth = 700\n[fabric.fabric.print]\nkind = "check"\n'
        "along = 40\nacross = 40\n"
    )
    source = open_source(pennants)
    from marker.files.fabric import load_fabrics

    words = ClothWords(prints={"fabric": "stripes across 3 cm"})
    job = source.job(size="S", fabrics=load_fabrics(cloth), words=words)
    cloth = job.fabrics["fabric"]
    assert (cloth.width, cloth.print.kind, cloth.print.along) == (700.0, "stripes across", 30.0)
    assert "Filed" in cloth.name


def test_tables_take_prints_in_words(pennants, tmp_path):
    search = (
        "--effort",
        "0.02",
        "--cores",
        "1",
        "--cache",
        str(tmp_path / "kept"),
        "--out",
        str(tmp_path / "out"),
    )
    both = ("--print", "stripes along 3 cm", "--print", "none", "--nap", "--json")
    compared = CliRunner().invoke(main, ["compare", str(pennants), "--size", "S", *both, *search])
    assert compared.exit_code == 0, compared.output
    assert "stripes along 3 cm" in compared.output
    listed = CliRunner().invoke(main, ["yardage", str(pennants), "--print", "stripes along 3", *search])
    assert listed.exit_code == 0, listed.output
    assert "taken as stripes along 3 mm" in listed.output
    assert "stripes along 3 mm" in Path(tmp_path / "out" / "yardage.md").read_text()
