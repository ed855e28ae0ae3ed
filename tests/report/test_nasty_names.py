"""What files call things is harmless in every output, and can still be read there."""

import csv
import io
import json
import re
import warnings
from xml.etree import ElementTree

import ezdxf
import pytest
from click.testing import CliRunner
from ezdxf.lldxf.encoding import decode_dxf_unicode
from hypothesis import given
from hypothesis import strategies as st

from marker.cli import main
from marker.plain import FORMULAS, LONGEST_STEM, RESERVED, csv_bytes, csv_text, file_stem, file_stems, visible
from tests.report import nasty

EVERYTHING = ("--pictures", "png,svg,pdf,table,seams", "--paper", "a4", "--drawings", "svg,dxf")
ANY_TEXT = st.text(st.characters(exclude_categories=["Cs"]))


def run(*words):
    """One command; a warning of a library, which the user would see, is a failure."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        result = CliRunner().invoke(main, [str(word) for word in words])
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    return result


def lay(tmp_path, text, *options):
    file, out = tmp_path / "pattern.toml", tmp_path / "out"
    file.write_text(text, encoding="utf-8")
    result = run("lay", file, "--effort", "0.001", "--cores", "1", "--out", out, *options)
    return result, out


def harmless(printed):
    """Nothing but characters that can be seen, and line ends."""
    return all(char.isprintable() or char == "\n" for char in printed)


@pytest.fixture(scope="module")
def laid(tmp_path_factory):
    result, out = lay(
        tmp_path_factory.mktemp("names"),
        nasty.a_piece_each(nasty.NASTY),
        *("--pictures", "none", "--drawings", "svg,dxf"),
    )
    assert result.exit_code == 0, result.output
    return result, out


def test_the_report_tells_every_name_as_it_is_written(laid):
    result, out = laid
    assert result.stderr == ""
    assert harmless(result.stdout)
    told = (out / "report.txt").read_text(encoding="utf-8")
    for number, name in enumerate(nasty.NASTY, start=1):
        if len(name) < 15:
            assert re.search(rf"^ *{number} +{re.escape(name)}( |$)", told, re.MULTILINE), name


def test_no_cell_of_the_chart_is_a_formula_and_names_are_read_back(laid):
    _, out = laid
    data = (out / "fabric-cutting-chart.csv").read_bytes()
    rows = list(csv.DictReader(io.StringIO(data.decode("utf-8-sig"), newline="")))
    assert data.startswith(b"\xef\xbb\xbforder,")
    assert not [cell for row in rows for cell in row.values() if cell.startswith(tuple(FORMULAS))]
    names = {row["piece"]: row["name"] for row in rows}
    for number, name in enumerate(nasty.NASTY, start=1):
        assert names[str(number)] in (name, f"'{name}"), name


def test_the_drawings_are_sound_and_hold_the_names(laid):
    _, out = laid
    tree = ElementTree.parse(out / "fabric-full-size.svg")
    titles = [element.text or "" for element in tree.iter("{http://www.w3.org/2000/svg}title")]
    assert {e.tag.rpartition("}")[2] for e in tree.iter()} <= {
        "svg",
        "title",
        "style",
        "g",
        "path",
        "desc",
        "text",
    }
    drawing = ezdxf.readfile(out / "fabric-full-size.dxf")
    assert not drawing.audit().errors
    texts = [
        decode_dxf_unicode(e.dxf.text) for block in drawing.blocks for e in block if e.dxftype() == "TEXT"
    ]
    for number, name in enumerate(nasty.NASTY, start=1):
        words = " ".join(name.replace(";", " ").split())
        assert any(title.startswith(f"name {number} {words}; number {number};") for title in titles), name
        if all(ord(char) < 65536 for char in name):
            assert f"Piece Name: {number} {name}" in texts, name


def test_the_layout_file_holds_the_names_and_verifies(laid):
    _, out = laid
    layout = json.loads((out / "layout.json").read_text(encoding="utf-8"))
    names = {p["piece"]: p["name"] for p in layout["materials"][0]["placements"]}
    assert [names[str(k + 1)] for k in range(len(nasty.NASTY))] == list(nasty.NASTY)
    assert run("check", out / "layout.json").exit_code == 0


@pytest.mark.parametrize("name", ["[/]", "../../up"])
def test_a_name_in_every_place_and_all_outputs(tmp_path, name):
    result, out = lay(tmp_path, nasty.in_every_place(name), "--size", "other size", *EVERYTHING)
    assert result.exit_code == 0, result.output
    check_all(result, out, name)


@pytest.mark.slow
@pytest.mark.parametrize("name", [*nasty.NASTY[::5], "table-sheet"])
def test_many_a_name_in_every_place_and_all_outputs(tmp_path, name):
    result, out = lay(tmp_path, nasty.in_every_place(name), "--size", "other size", *EVERYTHING)
    assert result.exit_code == 0, result.output
    check_all(result, out, name)
    assert run("check", tmp_path / "pattern.toml", "--drawings", tmp_path / "drawn").exit_code == 0
    common = ("--effort", "0.001", "--cores", "1", "--cache", tmp_path / "kept")
    for command, folder, more in (("yardage", "y", ()), ("compare", "c", ("--size", name))):
        result = run(command, tmp_path / "pattern.toml", *common, "--out", tmp_path / folder, *more)
        assert result.exit_code == 0, result.output
        assert harmless(result.stdout)


def check_all(result, out, name):
    assert result.stderr == "" and harmless(result.stdout)
    files = [path for path in out.rglob("*") if path.is_file()]
    assert all(path.parent == out for path in files)
    assert len(files) == 3 + 2 * 7, files
    for path in files:
        stem = path.name.partition(".")[0]
        assert re.fullmatch(r"[\w-]+", stem) and stem.lower() not in RESERVED, path.name
        if path.suffix == ".svg":
            ElementTree.parse(path)
        elif path.suffix == ".dxf":
            assert not ezdxf.readfile(path).audit().errors
    # The table sheet has its name first.
    named = [out / f"{file_stem(name)}{ending}.svg" for ending in ("", "-2")]
    shown = ElementTree.parse(next(path for path in named if path.exists()))
    texts = " ".join("".join(shown.getroot().itertext()).split())
    assert " ".join(name.split())[:8] in texts


@pytest.mark.parametrize("name", nasty.REFUSED)
def test_a_name_that_cannot_be_seen_is_bad_input_in_a_sentence_that_can(tmp_path, name):
    result, out = lay(tmp_path, nasty.a_piece_each((name,)))
    assert result.exit_code == 1
    assert harmless(result.stderr) and len(result.stderr.splitlines()) == 1
    assert not out.exists()


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("Front\nfacing", "goes over several lines: write it on one line."),
        ("Front\u00a0facing", 'cannot be seen (U+00A0) after "Front": type these words afresh.'),
        ("\u202efacing", "cannot be seen (U+202E) at its start: type these words afresh."),
    ],
)
def test_it_is_told_which_character_is_meant_and_where(tmp_path, name, told):
    result, _ = lay(tmp_path, nasty.a_piece_each((name,)))
    assert result.stderr.strip().endswith(told)


def test_an_import_tells_what_a_drawing_says_without_its_control_characters(tmp_path):
    file = tmp_path / "drawing.svg"
    title = "name Gr&#x202e;&#x9b;31m [/]; cut 1 of fab&#x9b;ric; whatever&#x9b; this is"
    file.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="100mm" viewBox="0 0 200 100">'
        f'<g><title>{title}</title><path d="M 10 10 H 110 V 70 H 10 Z"/></g></svg>'
    )
    result = run("import", file, "--out", tmp_path / "drawn.toml")
    assert result.exit_code == 0 and harmless(result.output) and "[/]" in result.output
    assert harmless((tmp_path / "drawn.toml").read_text(encoding="utf-8"))


@given(ANY_TEXT)
def test_a_file_stem_is_one_that_every_system_takes(text):
    stem = file_stem(text)
    assert re.fullmatch(r"[^\W_]+(-[^\W_]+)*-?|-", stem) and stem.lower() not in RESERVED
    assert len(stem.encode()) <= LONGEST_STEM + 1


@given(st.lists(ANY_TEXT, max_size=6))
def test_file_stems_differ_even_without_capitals(texts):
    stems = [stem.casefold() for stem in file_stems(texts)]
    assert len(set(stems)) == len(texts)


def test_names_that_were_good_already_stay_as_they_are():
    assert file_stems(["fabric", "interfacing", "Wolle 2"]) == ["fabric", "interfacing", "Wolle-2"]
    assert file_stems(["a/b", "a-b", "A b"]) == ["a-b", "a-b-2", "A-b-3"]


@given(ANY_TEXT)
def test_no_text_is_a_formula_in_a_spreadsheet(text):
    (cell,) = list(csv.reader(io.StringIO(csv_text(("x",), [(text,)]), newline="")))[1] or [""]
    assert not cell.startswith(tuple(FORMULAS))
    assert cell.removeprefix("'") == text.removeprefix("'")


def test_only_what_needs_it_has_the_mark_of_utf_8():
    assert csv_bytes("a,b\n") == b"a,b\n"
    assert csv_bytes("ü\n").decode("utf-8-sig") == "ü\n" != csv_bytes("ü\n").decode()


def test_what_cannot_be_seen_is_told_by_a_sign():
    assert visible("a\x1b[31mb\u202ec\nd") == "a·[31mb·c·d"
