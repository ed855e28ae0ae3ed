"""Phrases on pieces: understood as a whole, or left blank with the words quoted; never made up.

The phrases are common practice on printed patterns, no source. What they mean is written beside each by hand;
the generated ones are put together from parts whose meaning is known before there is a phrase.
"""

from __future__ import annotations

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from marker.files.blanks import hint_of
from marker.files.pattern_writer import pattern_text
from marker.importing.allowance import read_allowance
from marker.importing.cuts import read_cuts
from marker.importing.found import Found, FoundCut, FoundPiece, Options
from marker.importing.merge import with_answers
from marker.importing.phrases import Said, read_words
from marker.importing.svg import read_svg
from marker.units import parse_length

NS = 'xmlns="http://www.w3.org/2000/svg" width="600mm" height="800mm" viewBox="0 0 600 800"'


def cuts(text: str) -> list[tuple[str | None, int | None, str | None]] | None:
    reading = read_cuts(text)
    if reading is None or reading.cuts is None:
        return None
    return [(cut.material, cut.count, cut.how) for cut in reading.cuts]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("cut 1 pair of fabric", [("fabric", 2, "mirrored")]),
        ("cut 2 of fabric, 1 of lining", [("fabric", 2, None), ("lining", 1, None)]),
        ("cut 2 fabric, 1 interfacing", [("fabric", 2, None), ("interfacing", 1, None)]),
        ("cut 4 self", [("fabric", 4, None)]),
        ("cut 1 on fold", [(None, 1, "on fold")]),
        ("cut one on the fold", [(None, 1, "on fold")]),
        ("Cut one (1)", None),
        ("cut 2 main", [("fabric", 2, None)]),
        ("cut 1 pair", [(None, 2, "mirrored")]),
        ("cut a pair", [(None, 2, "mirrored")]),
        ("Cut 2 (1 pair)", [(None, 2, "mirrored")]),
        ("Cut 2 (2 pairs)", None),
        ("Cut: 2", [(None, 2, None)]),
        ("2x", [(None, 2, None)]),
        ("2 × fabric", [("fabric", 2, None)]),
        ("2x fabric + 1x interfacing", [("fabric", 2, None), ("interfacing", 1, None)]),
        ("CUT TWO PAIRS OF LINING.", [("lining", 4, "mirrored")]),
        ("cut 2 fabric and 1 lining & 3 mesh", [("fabric", 2, None), ("lining", 1, None), ("mesh", 3, None)]),
        ("cut 2 fabric 1 lining", [("fabric", 2, None), ("lining", 1, None)]),
        ("cut 2 each of fabric and lining", [("fabric", 2, None), ("lining", 2, None)]),
        ("cut 2 fabric and lining", None),
        ("Fabric: cut 2", [("fabric", 2, None)]),
        ("Fabric: 2, Lining: 1", [("fabric", 2, None), ("lining", 1, None)]),
        ("2 fabric, 1 interfacing", [("fabric", 2, None), ("interfacing", 1, None)]),
        ("cut 1 + 1 reversed", [(None, 2, "mirrored")]),
        ("cut 2 reversed", None),
        ("cut 1 left, 1 right", [(None, 2, "mirrored")]),
        ("cut 1 left", None),
        ("cut 3 mirrored", None),
        ("cut 2 of fabric A, 1 of fabric B on fold", [("fabric A", 2, None), ("fabric B", 1, "on fold")]),
        ("cut 2 of sail remnants", [("sail remnants", 2, None)]),
        ("cut 2 sail remnants", None),
        ("cut 2 in fabric", [("fabric", 2, None)]),
        ("cut 1 fabric, on fold", [("fabric", 1, "on fold")]),
        ("Cut 1, on fold", [(None, 1, "on fold")]),
        ("cut 2 fabric, 1 lining, on fold", None),
        ("cut 2 of cotton drill", [("cotton drill", 2, None)]),
        ("CUT 2 INTERFACING ONLY", [("interfacing", 2, None)]),
        ("1 pair", [(None, 2, "mirrored")]),
        ("2 pairs of lining", [("lining", 4, "mirrored")]),
        ("cut 2 of pair of fabric", None),
        ("cut 2 on the bias", None),
        ("cut 1 1/2 of fabric", None),
        ("cut 0 of fabric", None),
        ("cut 1001 of fabric", None),
        ("cut on fold", None),
    ],
)  # fmt: skip
def test_phrases_about_cutting(text: str, expected: list | None) -> None:
    assert cuts(text) == expected
    if expected is None:
        reading = read_cuts(text)
        assert reading is not None and reading.asks, "speaks of copies, so it is asked about"


@pytest.mark.parametrize(
    "text",
    [
        "cut away here", "cut along line", "cut along this line", "do not cut", "do not cut 2 of these",
        "don't cut one", "Cutting line", "cut here", "cut 2 cm from the edge", "cut 1 in from edge",
        "cut 3/8 in deep", "cut 2 in slit", "cut to notch", "cut open", "cut on solid line",
        "before you cut 2", "cut 2 mm outside", 'cut 1" away', "if cut, mark",
    ],
)  # fmt: skip
def test_sentences_that_are_about_something_else_give_no_cut(text: str) -> None:
    reading = read_cuts(text)
    assert reading is not None and reading.cuts is None and not reading.asks
    said = read_words(text)
    assert said == Said(stray=(text,)), "neither a cut nor the name of the piece"


@pytest.mark.parametrize(
    "text",
    ["Pocket", "Waistband", "Undercut 2", "1 lining", "Size 2", "2 1/2", "Two-seater", "1 pair of pockets"],
)
def test_words_without_cutting_in_them_are_not_read_as_cuts(text: str) -> None:
    assert read_cuts(text) is None


COUNTS = {
    1: ["1", "one"],
    2: ["2", "two"],
    3: ["3", "three"],
    4: ["4", "four"],
    6: ["6", "six"],
    10: ["10", "ten"],
}
CLOTHS = {
    "fabric": ["fabric", "self", "main", "main fabric", "outer fabric"],
    "lining": ["lining", "lining fabric"],
    "interfacing": ["interfacing", "fusible interfacing"],
    "contrast": ["contrast", "contrast fabric"],
    "denim": ["denim"],
}


@st.composite
def entries(draw) -> tuple[str, tuple[str, int, str | None]]:
    """One entry of a list, and what it means: material, count, how."""
    material = draw(st.sampled_from(sorted(CLOTHS)))
    count = draw(st.sampled_from(sorted(COUNTS)))
    words = [draw(st.sampled_from(COUNTS[count]))]
    how = None
    kind = draw(st.sampled_from(["plain", "x", "pieces", "pair"]))
    if kind == "pair":
        count, how = 2 * count, "mirrored"
        words.append("pair" if count == 2 else "pairs")
    elif kind != "plain":
        words.append({"x": "x", "pieces": "pieces"}[kind])
    link = draw(st.sampled_from(["", "of ", "of the ", "from ", "in "]))
    cloth = link + draw(st.sampled_from(CLOTHS[material]))
    ways: list[tuple[str | None, str]] = [(how, "")]
    if how is None:
        ways += [("on fold", w) for w in ("on fold", "on the fold", "on a fold")]
        ways += [("alike", "alike")]
        ways += [("mirrored", w) for w in ("mirrored", "mirror image")] if count % 2 == 0 else []
    how, way = draw(st.sampled_from(ways))
    tail = [cloth, way] if draw(st.booleans()) else [way, cloth]
    return " ".join(filter(None, [*words, *tail])), (material, count, how)


@given(
    st.lists(entries(), min_size=1, max_size=4),
    st.sampled_from(["Cut ", "CUT: ", "cut "]),
    st.sampled_from([", ", " and ", " & ", " + ", ", and ", ", cut ", " / "]),
    st.sampled_from([str, str.upper, str.title]),
    st.sampled_from(["", "."]),
)
def test_lists_put_together_from_known_parts_are_read_as_they_are_meant(
    parts, verb, between, case, end
) -> None:
    text = case(verb + between.join(words for words, _ in parts) + end)
    assert cuts(text) == [meaning for _, meaning in parts], text


@given(
    st.lists(entries(), min_size=1, max_size=3),
    st.integers(0, 30),
    st.sampled_from(["teal", "&&", "1/2", "mm"]),
)
def test_a_phrase_with_a_word_in_it_that_is_not_known_is_never_half_read(parts, at, alien) -> None:
    words = ("cut " + ", ".join(words for words, _ in parts)).split()
    words.insert(1 + at % len(words), alien)
    found = cuts(" ".join(words))
    # Only a name of somebody's own after "of" may come of it, and then counts and ways are those meant.
    if found is not None and alien != "&&":
        assert alien == "teal" and any(material and "teal" in material for material, _, _ in found)
        assert [(count, how) for _, count, how in found] == [(count, how) for _, (_, count, how) in parts]


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("3/8 in seam allowance", "3/8 in"),
        ("Seam allowance 15 mm", "15 mm"),
        ("seam allowance: ⅝ inch", "⅝ inch"),
        ("SA 1,5 cm", "1,5 cm"),
        ("1/2-inch seam allowance", "1/2 inch"),
        ("Add 1 cm seam allowance all round", "1 cm"),
        ("seam allowance not included, add 1.5 cm", "1.5 cm"),
        ("seam allowance included", "included"),
        ("SEAM ALLOWANCES ARE INCLUDED", "included"),
        ("seam allowance included 5/8 in (1.5 cm)", "included 5/8 in"),
        ("includes 1.5 cm seam allowance", "included 1.5 cm"),
        ("1 cm SA included", "included 1 cm"),
        ('all pieces include a 5/8" seam allowance', 'included 5/8"'),
        ("no seam allowance", None),
        ("seam allowances not included", None),
        ("with 1 cm seam allowance", None),
        ("seam allowance 3", None),
        ("seam allowance 5/8 in (1 cm)", None),
        ("seam allowance 1 cm, hem 4 cm", None),
        ("seam allowance 30 cm", None),
        ("seam allowance 0 mm", None),
    ],
)
def test_seam_allowances(text: str, value: str | None) -> None:
    found = read_allowance(text)
    assert found is not None
    if value is None:
        hint = hint_of(found.value)
        assert hint is not None and text in hint and "left blank" in found.note
    else:
        assert found.value == value
        assert found.value == "included" or parse_length(found.value.removeprefix("included ")) > 0


@pytest.mark.parametrize("text", ["Pocket", "salsa 1 cm", "hem allowance 4 cm", "seam allowance", "SA"])
def test_what_tells_no_seam_allowance(text: str) -> None:
    assert read_allowance(text) is None


def test_a_length_before_the_words_is_told_to_be_added() -> None:
    found = read_allowance("3/8 in seam allowance")
    assert found is not None and '"included 3/8 in"' in found.note


@given(
    st.sampled_from(
        [("5/8 in", 15.875), ("1 cm", 10), ("1.5 cm", 15), ('3/8"', 9.525), ("10mm", 10), ("1/4 inch", 6.35)]
    ),
    st.sampled_from(["seam allowance", "seam allowances", "SA", "S.A."]),
    st.sampled_from(
        [
            ("{n} {a}", ""), ("{a} {n}", ""), ("{a}: {n}", ""), ("add {n} {a}", ""), ("{a} of {n} added", ""),
            ("{n} {a} included", "included "), ("includes {n} {a}", "included "),
            ("{a} included: {n}", "included "),
            ("incl. {n} {a}", "included "), ("{a} ({n}) is included", "included "),
        ]
    ),
    st.sampled_from([str, str.upper, str.capitalize]),
)  # fmt: skip
def test_allowances_put_together_from_known_parts(length, named, form, case) -> None:
    words, size = length
    text, before = form
    found = read_allowance(case(text.format(n=words, a=named)))
    assert found is not None and found.value.startswith(before) and hint_of(found.value) is None
    assert parse_length(found.value.removeprefix("included ")) == pytest.approx(size)
    assert found.value.startswith("included") == bool(before)


# What becomes of them in a drawing and in the pattern file.


def read(folder, texts: str | list[str], attributes: str = "", more: str = "") -> Found:
    rows = [texts] if isinstance(texts, str) else texts
    drawn = "".join(f'<text x="50" y="{60 + 20 * i}">{row}</text>' for i, row in enumerate(rows))
    file = folder / "bag.svg"
    file.write_text(f'<svg {NS}><path d="M 10 10 H 210 V 310 H 10 Z" {attributes}/>{drawn}{more}</svg>')
    return read_svg(file, Options())


@pytest.mark.parametrize(
    "given_id",
    ["p9", "path123", "rect4", "Layer_1", "g12", "XMLID_7_", "SVGID_1_", "Layer_x0020_1", "path-5-2",
     "_Path_", "Rectangle 3", "id0xdeadbeef12", "a1b2c3d4-0000-4000-8000-0123456789ab", "Ebene_2",
     "polygon7", "_1"],
)  # fmt: skip
def test_ids_made_by_programs_are_no_names(given_id: str, tmp_path) -> None:
    assert read(tmp_path, "Pocket", f'id="{given_id}"').pieces[0].name == "Pocket"
    assert read(tmp_path, [], f'id="{given_id}"').pieces[0].name is None


@pytest.mark.parametrize("name", ["Fold-over collar", "Seam binding", "Cut-away front", "Frame", "Base"])
def test_names_that_look_a_little_like_instructions_or_programs_are_names(name: str, tmp_path) -> None:
    assert read(tmp_path, name).pieces[0].name == name
    body = f'<path d="M 10 10 H 210 V 310 H 10 Z"><title>{name}</title></path>'
    (tmp_path / "bag.svg").write_text(f"<svg {NS}>{body}</svg>")
    assert read_svg(tmp_path / "bag.svg", Options()).pieces[0].name == name


@pytest.mark.parametrize(
    "text", ["place on fold", "PLACE ON THE FOLD", "sew here", "grain line top", "on fold"]
)
def test_instructions_are_no_names(text: str, tmp_path) -> None:
    (piece,) = read(tmp_path, text).pieces
    assert piece.name is None and any(text in note for note in piece.notes)


def test_titles_that_programs_write_are_no_names(tmp_path) -> None:
    group = (
        f"<svg {NS}><title>Untitled</title><g><title>Layer 1</title><rect width='99' height='70'/></g></svg>"
    )
    (tmp_path / "bag.svg").write_text(group)
    found = read_svg(tmp_path / "bag.svg", Options())
    assert found.name is None and found.pieces[0].name is None


def test_text_goes_before_a_deliberate_id_and_letters_beside_a_name_do_not(tmp_path) -> None:
    assert read(tmp_path, "Pocket", 'id="flap"').pieces[0].name == "Pocket"
    (piece,) = read(tmp_path, ["CF", "Pocket", "12", "left over"]).pieces
    assert piece.name == "Pocket"
    assert any('"CF", "12", "left over"' in note for note in piece.notes)
    assert read(tmp_path, ["CF"], 'id="flap"').pieces[0].name == "flap"
    assert read(tmp_path, ["CF"]).pieces[0].name == "CF"


def test_what_a_drawing_says_half_is_quoted_in_the_blank(tmp_path) -> None:
    found = read(tmp_path, ["Pocket", "cut 1 on fold"])
    (piece,) = tomllib.loads(pattern_text(found))["piece"]
    assert piece["cuts"] == [
        {
            "material": 'todo: fabric, interfacing, lining or another name; the drawing says "cut 1 on fold"',
            "count": 1,
            "how": "on fold",
        }
    ]


def test_what_nobody_can_be_sure_of_is_quoted_in_blanks_and_told(tmp_path) -> None:
    found = read(tmp_path, ["Pocket", "cut 2 fabric and lining", "seam allowance 3"])
    data = tomllib.loads(pattern_text(found))
    (cut,) = data["piece"][0]["cuts"]
    assert 'says "cut 2 fabric and lining"' in cut["material"] and 'says "cut 2 fabric' in cut["count"]
    assert 'says "seam allowance 3"' in data["seam_allowance"]
    told = " ".join(found.pieces[0].notes)
    assert '"cut 2 fabric and lining" does not say' in told and '"seam allowance 3" does not say' in told
    answered = tomllib.loads(pattern_text(with_answers(found, seam_allowance="3 mm")))
    assert answered["seam_allowance"] == "3 mm" and "seam_allowance" not in answered["piece"][0]


def test_an_answer_fills_a_blank_of_one_piece_and_leaves_what_another_says() -> None:
    asked = read_allowance("no seam allowance")
    assert asked is not None
    pieces = tuple(
        FoundPiece("M 0 0 L 9 0 L 9 9 Z", name=str(i), seam_allowance=said)
        for i, said in enumerate((asked.value, "included", None))
    )
    found = with_answers(Found(None, "mm", (), pieces), seam_allowance="1 cm")
    assert [piece.seam_allowance for piece in found.pieces] == [None, "included", None]


def test_near_misses_on_a_piece_are_told_and_left_open(tmp_path) -> None:
    (piece,) = read(tmp_path, ["cut along line", "do not cut", "Sleeve"]).pieces
    assert (piece.name, piece.cuts, piece.asked) == ("Sleeve", None, None)
    assert any('"cut along line", "do not cut"' in note for note in piece.notes)


def test_lines_of_one_text_that_go_on_are_one_phrase(tmp_path) -> None:
    rows = ["Sleeve", "CUT 2", "FABRIC", "1 LINING", "Number 5"]
    text = "".join(f'<tspan x="50" dy="20">{row}</tspan>' for row in rows)
    (piece,) = read(tmp_path, [text]).pieces
    assert (piece.name, piece.number) == ("Sleeve", "5")
    assert piece.cuts == (FoundCut("fabric", 2), FoundCut("lining", 1))


def test_a_name_may_stand_before_the_cut_and_an_allowance_behind_it(tmp_path) -> None:
    (piece,) = (
        found := read(tmp_path, "Sleeve - size M - cut 2 of fabric, seam allowance 1 cm included")
    ).pieces
    assert (piece.name, piece.size, piece.cuts) == ("Sleeve", "M", (FoundCut("fabric", 2),))
    assert found.seam_allowance == "included 1 cm"


def test_the_same_words_drawn_twice_are_cut_once(tmp_path) -> None:
    (piece,) = read(tmp_path, ["cut 2 of fabric", "cut 2 of fabric", "cut 1 of lining"]).pieces
    assert piece.cuts == (FoundCut("fabric", 2), FoundCut("lining", 1))


def test_a_group_says_its_cut_for_all_in_it(tmp_path) -> None:
    body = "".join(f'<rect x="{x}" width="90" height="70"/>' for x in (300, 400))
    group = f"<g><title>cut 2 of lining</title>{body}</g>"
    found = read(tmp_path, "cut 1 of fabric", more=group)
    assert [piece.cuts for piece in found.pieces] == [
        (FoundCut("fabric", 1),),
        *[(FoundCut("lining", 2),)] * 2,
    ]


def test_texts_beside_all_pieces_are_told_with_their_words(tmp_path) -> None:
    beside = '<text x="400" y="700">cut 2 of everything</text><text x="400" y="750">no seam allowance</text>'
    found = read(tmp_path, "Pocket", more=beside)
    assert any('1 text on no piece left out: "cut 2 of everything"' in note for note in found.notes)
    assert 'says "no seam allowance"' in (found.seam_allowance or "")
    assert any("left blank" in note for note in found.notes)
