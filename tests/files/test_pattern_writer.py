"""Pattern files written from what a drawing told: readable, loadable, and blank where nothing was told.

Reference: tomllib of the standard library reads what is written.
"""

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from marker.errors import InputError
from marker.files.blanks import blank, blanks, hint_of
from marker.files.pattern import load_pattern
from marker.files.pattern_writer import pattern_text
from marker.importing.found import Found, FoundCut, FoundNotch, FoundPiece, number, path_data
from tests.files.samples import PATTERN, changed, write

SQUARE = path_data([(0, 0), (300, 0), (300, 200), (0, 200)])
GRAIN = ((150.0, 180.0), (150.0, 20.0))
TWO = (FoundCut("fabric", 2),)


def found(*pieces, name="Bag", unit="mm", **more):
    return Found(name, unit, more.pop("sizes", ()), pieces, **more)


def whole(**changes):
    told = {"outline": SQUARE, "name": "Front", "grain": GRAIN, "cuts": TWO, "seam_allowance": "10 mm"}
    return FoundPiece(**{**told, **changes})


def loaded(folder, made, widths=None):
    return load_pattern(write(folder, pattern_text(made, {"fabric": "140 cm"} if widths is None else widths)))


def test_all_that_is_told_comes_back(tmp_path):
    piece = whole(
        number="7",
        size="S",
        fold=((0, 0), (0, 200)),
        notches=(FoundNotch((100, 0), "a"), FoundNotch((200, 0))),
        drills=((50.0, 60.0),),
        lines=("M 10 10 L 20 20",),
        regions={"the edge": path_data([(0, 0), (300, 0), (300, 50), (0, 50)])},
        allowances=(((300, 0), (300, 200), 25.0),),
        cuts=(FoundCut("fabric", 1, "on fold"), FoundCut("interfacing", 1, "alike", "the edge")),
    )
    pattern = loaded(tmp_path, found(piece, sizes=("S",)), {"fabric": "140 cm", "interfacing": "90 cm"})
    (back,) = pattern.pieces["S"]
    assert (pattern.name, pattern.sizes, back.number, back.name) == ("Bag", ("S",), "7", "Front")
    assert {fabric: cloth.width for fabric, cloth in pattern.fabrics.items()} == {
        "fabric": 1400,
        "interfacing": 900,
    }
    assert set(back.stitching) >= {(0, 0), (300, 0), (300, -200), (0, -200)}
    assert [(cut.material, cut.count, cut.how, cut.region_name) for cut in back.cuts] == [
        ("fabric", 1, "on fold", ""),
        ("interfacing", 1, "alike", "the edge"),
    ]
    assert [notch.name for notch in back.notches] == ["a", "notch 7-2"]
    assert back.drills == ((50, -60),)
    assert back.lines == (((10, -10), (20, -20)),)
    assert max(x for x, _ in back.outline) == 325


@pytest.mark.parametrize("unit", ["mm", "cm", "in"])
def test_every_unit_gives_the_same_millimetres(unit, tmp_path):
    (piece,) = loaded(tmp_path, found(whole(seam_allowance="included"), unit=unit)).pieces["one size"]
    for point, (x, y) in zip(piece.outline, [(0, 0), (0, -200), (300, -200), (300, 0)], strict=True):
        assert point == pytest.approx((x, y), abs=0.001)


@pytest.mark.parametrize(
    ("made", "where", "count"),
    [
        (found(whole(), name=None), "name: is still blank: what the pattern is called", 1),
        (found(whole(seam_allowance=None)), "seam_allowance: is still blank: a length to add", 1),
        (found(whole(grain=None)), 'piece 1 "Front", every size, grain: is still blank', 1),
        (found(whole(cuts=None)), 'piece 1 "Front", cut 1, material: is still blank', 2),
        (found(whole(cuts=(FoundCut("fabric", None),))), 'piece 1 "Front", cut 1, count: is still blank', 1),
        (found(whole(cuts=(FoundCut(None, 2),))), 'piece 1 "Front", cut 1, material: is still blank', 1),
        (found(whole(), whole(grain=None)), 'piece 2 "Front", every size, grain: is still blank', 1),
    ],
)
def test_what_is_not_told_is_refused_in_one_sentence(made, where, count, tmp_path):
    with pytest.raises(InputError) as caught:
        loaded(tmp_path, made)
    told = str(caught.value)
    assert where in told and "\n" not in told
    assert ("only blank" if count == 1 else f"{count} blanks in all") in told
    assert len(list(blanks(tomllib.loads(pattern_text(made, {"fabric": "140 cm"}))))) == count


def test_a_width_that_nobody_said_is_blank(tmp_path):
    with pytest.raises(InputError, match="fabric fabric, width: is still blank"):
        loaded(tmp_path, found(whole()), {})


def test_lay_refuses_a_file_with_a_blank(tmp_path):
    from click.testing import CliRunner

    from marker.cli import main

    path = write(tmp_path, pattern_text(found(whole(grain=None)), {"fabric": "140 cm"}))
    result = CliRunner().invoke(main, ["lay", str(path), "--seconds", "1"])
    assert result.exit_code == 1
    assert "grain: is still blank" in result.output


@pytest.mark.parametrize("text", ["todo", "TODO", " todo ", "todo: the grain", "Todo : x"])
def test_blanks_are_blanks_however_written(text, tmp_path):
    assert hint_of(text) is not None
    with pytest.raises(InputError, match="is still blank"):
        load_pattern(write(tmp_path, changed(('"140 cm"', f'"{text}"'))))


def test_words_that_only_begin_alike_are_none(tmp_path):
    pattern = load_pattern(
        write(
            tmp_path,
            changed(
                ('name = "Flap"', 'name = "Todo list pocket"'), ('"A bag for', '"todo: washing. A bag for')
            ),
        )
    )
    assert "Todo list pocket" in {piece.name for piece in pattern.pieces["S"]}
    assert hint_of("todos: x") is None and hint_of(3) is None


def test_a_blank_in_a_list_says_which_entry(tmp_path):
    with pytest.raises(InputError, match=r'piece 1 "Front", size S, fold, 2: is still blank'):
        load_pattern(write(tmp_path, changed(("fold = [[0, 0], [0, 600]]", 'fold = [[0, 0], "todo"]'))))
    assert blank("x") == "todo: x"
    assert list(blanks(tomllib.loads(PATTERN))) == []


def test_drawings_of_one_number_or_name_are_sizes_of_one_piece(tmp_path):
    larger = path_data([(0, 0), (330, 0), (330, 220), (0, 220)])
    pattern = loaded(
        tmp_path,
        found(
            whole(size="S"),
            whole(size="M", outline=larger, cuts=None),
            whole(size="S", name="Loop", number="1"),
            whole(size="M", name="Loop", number="1"),
            sizes=("M", "S"),
        ),
    )
    assert pattern.sizes == ("M", "S")
    assert [(p.number, p.name) for p in pattern.pieces["M"]] == [("2", "Front"), ("1", "Loop")]
    widths = [max(x for x, _ in pattern.pieces[size][0].outline) for size in ("S", "M")]
    assert widths == [310, 340]


def test_two_drawings_of_one_name_and_size_are_two_pieces(tmp_path):
    pattern = loaded(tmp_path, found(whole(), whole(), whole(number="1", name="Back")))
    assert [(p.number, p.name) for p in pattern.pieces["one size"]] == [
        ("2", "Front"),
        ("3", "Front"),
        ("1", "Back"),
    ]


def test_a_number_that_is_taken_is_told():
    text = pattern_text(found(whole(number="1"), whole(number="1", name="Back")))
    assert '# It is number 1 in the drawing, as is "Front".\n[[piece]]\nnumber = "2"\nname = "Back"' in text


def test_notes_stay_in_the_file_as_comments():
    text = pattern_text(
        found(whole(notes=("Put together\nfrom 4 lines.",)), notes=("Read from a.svg.", "x" * 300))
    )
    assert text.startswith("# Read from a.svg.\n")
    assert "# Put together from 4 lines.\n[[piece]]" in text
    assert all(line.startswith("#") for line in text.split("\n\n")[0].splitlines())


def test_long_outlines_are_broken_between_commands(tmp_path):
    points = [(i, (i * i) % 97 / 100) for i in range(200)]
    made = found(whole(outline=path_data([*points, (199, 90), (0, 90)]), seam_allowance="included"))
    text = pattern_text(made, {"fabric": "1 m"})
    assert max(map(len, text.splitlines())) <= 101
    (piece,) = load_pattern(write(tmp_path, text)).pieces["one size"]
    assert len(piece.outline) == 202


def test_arcs_and_nothing_are_refused():
    with pytest.raises(ValueError, match="arcs"):
        pattern_text(found(whole(outline="M 0 0 A 5 5 0 0 1 9 9 Z")))
    with pytest.raises(ValueError, match="no piece"):
        pattern_text(found())


@given(st.text(max_size=120), st.text(max_size=120), st.text(max_size=40))
def test_any_words_make_a_file_that_toml_reads(name, note, material):
    made = found(whole(name=name, notes=(note,), cuts=(FoundCut(material, 1),)), name=name, notes=(note,))
    text = pattern_text(made)
    data = tomllib.loads(text)
    text.encode("utf-8")
    printable = " ".join("".join(c if c.isprintable() else " " for c in name).split())[:100].strip()
    assert data["piece"][0]["name"] == (printable or "Piece 1")
    assert len(data["piece"]) == 1 and data["unit"] == "mm"


@given(st.floats(-1e5, 1e5), st.integers(0, 5))
def test_numbers_keep_their_decimals(value, decimals):
    text = number(value, decimals)
    assert abs(float(text) - value) <= 0.5 * 10**-decimals + 1e-9
    assert text != "-0" and not (("." in text) and text.endswith("0"))
