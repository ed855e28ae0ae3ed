"""A pattern told on the terminal or by a pipe: what becomes of it, what is asked again, what a stop leaves.

References: plane geometry, and the pattern file loader's own sentences. An inch is 25.4 mm exactly.
"""

import os
import select
import sys
import time
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon

from marker.cli import main
from marker.errors import InputError
from marker.files.pattern import load_pattern
from marker.new import words
from marker.new.draft import NewCut, NewPattern, NewPiece, checked, rectangle
from marker.new.questions import Asker, ask_pattern
from marker.new.text import new_text
from marker.new.words import Unclear

DIALOGUE = {
    "name": "Knot tote", "unit": "in", "allowance": "5/8",
    "body": "Body", "body of": "", "body count": "1", "body more": "", "body fold": "yes", "body kind": "",
    "body wide": "8", "body long": "21 1/2", "body top": "", "body own": "", "body right": "",
    "handle": "Handle", "handle of": "", "handle count": "2", "handle more": "", "handle fold": "",
    "handle kind": "", "handle wide": "3 1/2", "handle long": "24", "handle top": "", "handle own": "",
    "handle right": "",
    "pocket": "Pocket", "pocket of": "", "pocket count": "1", "pocket more": "interfacing",
    "pocket count 2": "1", "pocket more 2": "", "pocket fold": "no", "pocket kind": "corners",
    "corner 1": "0; 0", "corner 2": "7; 0", "corner 3": "7; 6", "corner 4": "through 3.5; 7",
    "corner 5": "0; 6", "corner end": "", "pocket top": "", "pocket own": '1/2"', "pocket right": "yes",
    "yoke": "Yoke", "yoke of": "", "yoke count": "2", "yoke more": "", "yoke fold": "", "yoke kind": "edges",
    "edge 1": "10; 80", "edge 2": "4 1/2; 100", "edge 3": "11 3/4", "edge end": "", "yoke hands": "pairs",
    "yoke top": "", "yoke own": "", "yoke right": "",
    "no more": "", "fabric wide": '44"', "interfacing wide": "20",
}  # fmt: skip
"""What is asked, and what is answered."""
TOTE = list(DIALOGUE.values())
AT = {question: i for i, question in enumerate(DIALOGUE)}


def test_yes_is_no_name_of_a_material(tmp_path):
    lines = list(TOTE)
    lines[AT["pocket more"] : AT["pocket more"]] = ["yes"]
    lines[AT["body of"] : AT["body of"]] = ["y"]
    done = piped(tmp_path, lines)
    assert done.exit_code == 0, done.output
    assert done.output.count("write its name, like interfacing") == 2
    assert set(load_pattern(tmp_path / "tote.toml").fabrics) == {"fabric", "interfacing"}


def piped(folder: Path, lines, name="tote"):
    return CliRunner().invoke(main, ["new", str(folder / name)], input="".join(f"{line}\n" for line in lines))


def scripted(lines):
    """A reader of these lines, that is interrupted after the last one."""
    left = list(lines)

    def read(question):
        if not left:
            raise KeyboardInterrupt
        return left.pop(0)

    return read


def told(lines, path=Path("tote.toml"), before=()):
    said, kept = [], []
    asker = Asker(scripted(lines), said.append, lambda answers: kept.append(list(answers)), list(before))
    try:
        _, text = ask_pattern(asker, path)
    except KeyboardInterrupt:
        return None, said, kept[-1] if kept else list(before)
    return text, said, kept[-1] if kept else list(before)


def test_a_pattern_from_scratch(tmp_path):
    run = piped(tmp_path, TOTE)
    assert run.exit_code == 0, run.output
    assert [file.name for file in tmp_path.iterdir()] == ["tote.toml"]
    pattern = load_pattern(tmp_path / "tote.toml")
    assert pattern.name == "Knot tote" and pattern.unit == "in"
    body, handle, pocket, yoke = pattern.pieces["one size"]
    assert [piece.name for piece in (body, handle, pocket, yoke)] == ["Body", "Handle", "Pocket", "Yoke"]
    assert body.cuts[0].how == "on fold" and body.cuts[0].count == 1
    assert {round(x, 6) for x, _ in body.fold_edge} == {0}
    inch = 25.4
    assert Polygon(body.stitching).area == pytest.approx(8 * 21.5 * inch**2)
    # Half of it has its allowance on three sides: 5/8 in at the top, at the foot and at the side.
    assert Polygon(body.outline).area == pytest.approx(8.625 * 22.75 * inch**2)
    assert Polygon(handle.stitching).area == pytest.approx(3.5 * 24 * inch**2)
    assert [(cut.material, cut.count) for cut in pocket.cuts] == [("fabric", 1), ("interfacing", 1)]
    x0, y0, x1, y1 = Polygon(pocket.outline).bounds
    assert x1 - x0 == pytest.approx(8 * inch, abs=0.3) and y1 - y0 == pytest.approx(8 * inch, abs=0.3)
    assert yoke.cuts[0].how == "mirrored" and len(yoke.stitching) == 4
    tail, head = yoke.grain
    assert head[1] > tail[1] and head[0] == pytest.approx(tail[0])
    assert pattern.fabrics["fabric"].width == pytest.approx(44 * inch)
    assert pattern.fabrics["interfacing"].width == pytest.approx(20 * inch)
    assert pattern.fabrics["fabric"].system == "imperial"
    # A person finds out what the fields mean.
    text = (tmp_path / "tote.toml").read_text(encoding="utf-8")
    assert text.count("#") >= 8 and "marker check" in text


def test_the_file_says_what_was_understood_with_lengths_to_compare(tmp_path):
    run = piped(tmp_path, TOTE)
    assert "Edges one after the other: 10, 4 1/2, 11 3/4, 4 9/16 in." in run.output
    assert "8 in wide and 21 1/2 in high as drawn, half of it; cut 1 on fold from fabric." in run.output


@pytest.mark.parametrize("count", range(0, len(TOTE), 5))
def test_stopped_anywhere_nothing_is_written_and_nothing_lost(count, tmp_path):
    """A pipe that ends leaves no file; kept answers lead to the very same file when the rest is told."""
    whole, _, _ = told(TOTE)
    text, _, kept = told(TOTE[:count])
    assert text is None
    assert told(TOTE[count:], before=kept)[0] == whole
    if count % 20 == 0:
        run = piped(tmp_path, TOTE[:count])
        assert run.exit_code == 1 and "nothing was written" in run.output
        assert list(tmp_path.iterdir()) == []


def test_what_is_kept_is_not_asked_or_said_again():
    _, _, kept = told(TOTE[:14])
    _, said, _ = told(TOTE[14:], before=kept)
    assert not any("A new pattern" in line or "Piece 1" in line for line in said)


@pytest.mark.parametrize("count", range(1, len(TOTE), 5))
def test_one_step_back_and_on_again_is_the_same(count):
    whole, _, _ = told(TOTE)
    assert told([*TOTE[:count], "<", TOTE[count - 1], *TOTE[count:]])[0] == whole


def test_back_from_the_first_question_asks_it_again():
    assert told(["<", "<", *TOTE])[0] == told(TOTE)[0]


def file_says(folder: Path, old: str, new: str) -> str:
    text, _, _ = told(TOTE)
    assert old in text
    path = folder / "tote.toml"
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load_pattern(path)
    path.unlink()
    return str(caught.value)


@pytest.mark.parametrize(
    ("at", "wrong", "old", "new"),
    [
        ("allowance", "30 cm", 'seam_allowance = "5/8 in"', 'seam_allowance = "30 cm"'),
        ("allowance", "-1", 'seam_allowance = "5/8 in"', 'seam_allowance = "-1"'),
        ("allowance", "some", 'seam_allowance = "5/8 in"', 'seam_allowance = "some"'),
        ("body count", "two", "count = 1", 'count = "two"'),
        ("body count", "1001", "count = 1", "count = 1001"),
        ("body wide", "8 ells", "right = 8 ", 'right = "8 ells" '),
        ("fabric wide", "0.1", "width = '44\"'", 'width = "0.1 in"'),
        ("fabric wide", "44 mi", "width = '44\"'", 'width = "44 mi"'),
    ],
)
def test_a_wrong_answer_is_told_at_once_in_the_words_of_the_file(at, wrong, old, new, tmp_path):
    sentence = file_says(tmp_path, old, new)
    # "file: place: what is wrong"
    what = sentence.split(": ", 2)[2].strip(".")
    run = piped(tmp_path, [*TOTE[: AT[at]], wrong, *TOTE[AT[at] :]])
    assert run.exit_code == 0, run.output
    assert what.lower() in run.output.lower()
    assert load_pattern(tmp_path / "tote.toml").name == "Knot tote"


@pytest.mark.parametrize(
    ("at", "wrong", "says"),
    [
        ("unit", "ell", "write mm, cm or in"),
        ("body", "", "is empty"),
        ("body", "todo", "marks a blank"),
        ("body fold", "perhaps", "neither yes nor no"),
        ("body kind", "circle", "is not a kind of shape"),
        ("body wide", "0", "greater than 0"),
        ("corner 1", "through 1; 1", "begin with a corner"),
        ("corner 2", "3 1/2", "not two measures"),
        ("corner 3", "", "fewer than three corners"),
        ("edge 1", "10; 400", "more than a whole turn"),
        ("edge 1", "10; left", "not an angle"),
        ("body top", "north", "not a direction"),
    ],
)
def test_other_wrong_answers_are_asked_again(at, wrong, says, tmp_path):
    run = piped(tmp_path, [*TOTE[: AT[at]], wrong, *TOTE[AT[at] :]])
    assert says in run.output.lower(), run.output
    assert run.exit_code == 0, run.output
    assert len(load_pattern(tmp_path / "tote.toml").pieces["one size"]) == 4


def test_an_outline_that_crosses_itself_is_mended_by_going_back(tmp_path):
    crossed = ["0; 0", "7; 0", "0; 6", "7; 6", "", "<", "<", "7; 6", "0; 6", ""]
    run = piped(tmp_path, [*TOTE[: AT["corner 1"]], *crossed, *TOTE[AT["pocket top"] :]])
    assert run.exit_code == 0 and "crosses or touches itself" in run.output, run.output


def test_an_impossible_piece_is_told_again_in_the_words_of_the_file(tmp_path):
    """The allowances of a narrow mouth meet and leave a hole: the file would say so, and so it is told."""
    jaw = ["0;0", "40;0", "40;40", "21;40", "21;30", "30;30", "30;10", "10;10", "10;30", "19;30", "19;40"]
    lines = ["Jaw", "cm", "3", "Jaw", "", "2", "", "", "corners", *jaw, "0;40", "", "", "", ""]
    run = piped(tmp_path, [*lines, "", "2", "", "", "", "8", "40", "", "", "", "", "140"], "jaw")
    assert run.exit_code == 0, run.output
    assert 'piece 1 "Jaw"' in run.output and "run into each other" in run.output
    assert "Tell piece 1 again" in run.output
    (piece,) = load_pattern(tmp_path / "jaw.toml").pieces["one size"]
    assert Polygon(piece.stitching).area == pytest.approx(32000)


def test_no_file_is_overwritten(tmp_path):
    (tmp_path / "tote.toml").write_text("mine", encoding="utf-8")
    run = piped(tmp_path, TOTE)
    assert run.exit_code == 1 and "is there already" in run.output
    assert (tmp_path / "tote.toml").read_text(encoding="utf-8") == "mine"
    (tmp_path / "sub.toml").mkdir()
    assert piped(tmp_path, TOTE, "sub").exit_code == 1


def test_answers_that_are_no_text_are_refused(tmp_path):
    run = CliRunner().invoke(main, ["new", str(tmp_path / "tote")], input=b"\xff\xfe\xfa\n")
    assert run.exit_code == 1 and "UTF-8" in run.output and "Traceback" not in run.output
    assert list(tmp_path.iterdir()) == []


def test_a_guide_and_included_allowances(tmp_path):
    lines = ["Guide", "mm", "included 10", "Buttonholes", "", "0", "", "30", "200", "right", "", "", ""]
    run = piped(tmp_path, lines, "guide")
    assert run.exit_code == 0, run.output
    (piece,) = load_pattern(tmp_path / "guide.toml").pieces["one size"]
    assert piece.is_guide and piece.included
    assert Polygon(piece.stitching).area == pytest.approx(10 * 180)
    (ax, _), (bx, _) = piece.grain
    assert bx > ax


@pytest.mark.skipif(os.name == "nt", reason="terminals of this kind are Unix's")
def test_at_a_terminal_ctrl_c_keeps_the_answers_and_the_same_command_goes_on(tmp_path):
    status, output = at_terminal(tmp_path, [b"Cap\n", b"in\n", b"1/2\n", b"Brim\n", b"\n", b"2\n", b"\x03"])
    assert status == 1 and "kept in cap.answers.txt" in output and "Traceback" not in output
    assert [file.name for file in tmp_path.iterdir()] == ["cap.answers.txt"]
    status, output = at_terminal(
        tmp_path, [b"\n", b"\n", b"\n", b"4\n", b"3\n", b"\n", b"\n", b"\n", b"\n", b"45\n"]
    )
    assert status == 0 and "Going on after the 6 answers" in output
    assert [file.name for file in tmp_path.iterdir()] == ["cap.toml"]
    assert load_pattern(tmp_path / "cap.toml").pieces["one size"][0].cuts[0].count == 2


def at_terminal(folder: Path, sends):
    """Run the command at a terminal of its own and type each line when it asks for one."""
    import pty

    pid, terminal = pty.fork()
    if pid == 0:
        os.chdir(folder)
        os.execv(sys.executable, [sys.executable, "-m", "marker", "new", "cap"])
    output = b""
    left = list(sends)
    ends = time.monotonic() + 60
    while time.monotonic() < ends:
        # A line typed early waits for its question; Ctrl-C must not come early.
        patience = 1.0 if left and left[0] == b"\x03" else 0.1
        ready, _, _ = select.select([terminal], [], [], patience)
        if ready:
            try:
                data = os.read(terminal, 4096)
            except OSError:
                break
            if not data:
                break
            output += data
        elif left and output.rstrip(b" ").endswith((b"?", b"]", b":", b")")):
            os.write(terminal, left.pop(0))
    _, status = os.waitpid(pid, 0)
    os.close(terminal)
    return os.waitstatus_to_exitcode(status), output.decode()


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("12; 30", ("12", "30")),
        ("12, 30", ("12", "30")),
        ("12,30", ("12", "30")),
        ("12,5 30", ("12,5", "30")),
        ("12,5; 30,25", ("12,5", "30,25")),
        ("3 1/2; 4", ("3 1/2", "4")),
        ("3 1/2, 4 1/4", ("3 1/2", "4 1/4")),
        ("3, 1/2", ("3", "1/2")),
        ("-2 7", ("-2", "7")),
    ],
)
def test_two_measures_in_a_line(text, found):
    assert words.two(text) == found


@pytest.mark.parametrize("text", ["3 1/2", "12", "1;2;3", "1, 2, 3", "", ";", "3 1/2 4 1/2"])
def test_what_is_not_two_measures(text):
    with pytest.raises(Unclear, match="not two measures"):
        words.two(text)


def test_angles_and_signs():
    assert words.degrees("90") == 90 and words.degrees("-12,5°") == -12.5 and words.degrees("−30 deg") == -30
    assert words.signed("-1 1/2", "in") == pytest.approx(-1.5) and words.signed(
        "-25.4 mm", "in"
    ) == pytest.approx(-1)
    assert words.with_unit("5/8", "in") == "5/8 in" and words.with_unit("2 cm", "in") == "2 cm"
    assert words.allowance("included 5/8", "in") == "included 5/8 in"


ODD = [
    "", "", "<", "0", "1", "3", "yes", "no", "corners", "edges", "rectangle", "0;0", "10; 0", "5;5",
    "through 5; 12", "3;3 bulge 1", "10; -90", "10;60 hollow 9", "in", "cm", "included 1", "1/2", "todo",
    "\x00", "1e9", "-5", "1;2;3", "pairs", "fabric", "\\", "'\"", "through", "½", "∞", "nan; nan",
    "20; 400", "0.01", "1000; 1000",
]  # fmt: skip


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(st.integers(0, len(TOTE) - 1), st.sampled_from(ODD), st.booleans()), max_size=4))
def test_whatever_is_typed_ends_in_a_right_file_or_in_the_end_of_the_answers(changes):
    lines = list(TOTE)
    for at, put, instead in changes:
        lines[at : at + instead] = [put]
    text, _, _ = told([*lines, "", "", "45", "45"])
    if text is not None:
        checked("tote.toml", text)


@pytest.mark.parametrize("wide, long", [("5 mm", "20"), ("20", "5 mm"), ("0.3", "0.5")])
def test_a_narrow_strip_is_a_rectangle_too(wide, long, tmp_path):
    lines = ["Strip", "cm", "included", "Strip", "", "", "", "", "", wide, long, "", "", "", "", ""]
    run = piped(tmp_path, lines, "strip")
    assert run.exit_code == 0, run.output
    (piece,) = load_pattern(tmp_path / "strip.toml").pieces["one size"]
    sides = [0.5 if "mm" in side else float(side) for side in (wide, long)]
    assert Polygon(piece.outline).area == pytest.approx(100 * sides[0] * sides[1])


sizes = st.floats(1, 300, allow_nan=False)


@settings(max_examples=60, deadline=None)
@given(sizes, sizes, st.sampled_from(["mm", "cm", "in"]), st.booleans(), st.text(min_size=1, max_size=30))
def test_any_rectangle_of_any_name_is_the_rectangle(wide, long, unit, fold, name):
    mm = {"mm": 10.0, "cm": 10.0, "in": 25.4}[unit]
    try:
        name = words.name(name)
    except Unclear:
        return
    corners = rectangle(wide * mm, long * mm, unit)
    piece = NewPiece(name, (NewCut(name, 2),), corners, fold, "down")
    text = new_text(NewPattern(name, unit, "included", (piece,), {name: "140 cm"}))
    (found,) = checked("any.toml", text).pieces["one size"]
    assert found.name == name and found.cuts[0].material == name
    assert Polygon(found.outline).area == pytest.approx(wide * long * mm * mm, rel=1e-3)
    assert (found.fold_edge is not None) == fold
    assert found.grain[1][1] < found.grain[0][1]
