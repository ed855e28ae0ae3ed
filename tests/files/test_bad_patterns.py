"""Every mistake in a pattern file is told in one sentence: file, piece, field, what is wrong, what to do."""

import pytest

from marker.errors import InputError
from marker.files.fabric import load_fabrics
from marker.files.pattern import load_pattern
from tests.files.samples import PATTERN, changed, write

FRONT_S = 'outline = "M 0 0 L 200 0 L 220 600 L 0 600 Z"'
FLAP = 'outline = "M 0 0 H 300 V 80 A 100 100 0 0 1 200 180 H 0 Z"'
LOOP = 'outline = "M 0 0 H 120 V 30 H 0 Z"'
ON_FRONT = 'piece 1 "Front", size S'
ON_FLAP = 'piece 2 "Flap", every size'
ON_LOOP = 'piece 3 "Loop", every size'
STAIRS = (
    "M 0 0 " + "H 1 V 1 " * 0 + " ".join(f"L {i} {i % 2}" for i in range(1, 5003)) + " L 5002 90 L 0 90 Z"
)


def outline(path):
    return f'outline = "{path}"'


CASES = {
    # Fields and types.
    "unknown field": (
        ('seam_allowance = "10', 'seam_alowance = "10'),
        ['"seam_alowance"', '"seam_allowance"?'],
    ),
    "unknown field in a piece": (
        ('name = "Front"', 'name = "Front"\nnumbr = 1'),
        ['piece 1 "Front"', "numbr", '"number"?'],
    ),
    "unknown field in a drawing": (
        ("fold = [[0, 0], [0, 600]]", "fould = 1"),
        [ON_FRONT, "fould", '"fold"?'],
    ),
    "unknown field in a cut": (
        ("count = 1, how", "cuont = 1, how"),
        ['piece 1 "Front", cut 1', "cuont", '"count"?'],
    ),
    "unknown field in a fabric": (("selvage =", "selvedge ="), ["fabric fabric", "selvedge", '"selvage"?']),
    "unknown field in a notch": (("at = [210", "att = [210"), [ON_FRONT, "notch 1", '"at"?']),
    "unknown field unlike any": (
        ("selvage =", "zzz ="),
        ["fabric fabric", "zzz", "the fields are name, width"],
    ),
    "no unit": (('unit = "mm"\n', ""), ['"unit" is missing']),
    "unknown unit": (('unit = "mm"', 'unit = "ell"'), ["unit", '"ell"', '"mm", "cm" or "in"']),
    "no name": (('name = "Oar bag"\n', ""), ['"name" is missing']),
    "empty name": (('"Oar bag"', '" "'), ["name", "is empty"]),
    "name over two lines": (('"Oar bag"', '"Oar\\nbag"'), ["name", "on one line"]),
    "text for a table": (("[views.A]", '[views]\nC = "x"\n[views.A]'), ["view C", "write a table"]),
    "list for a text": (('number = "1"', 'number = ["1"]'), ["number", "text in quotes"]),
    "text for a flag": (('step = "10 cm"', 'nap = "yes"'), ["fabric fabric, nap", "true or false"]),
    "text for a coordinate": (("[210, 300]", '["210", 300]'), [ON_FRONT, "notch 1, at, x", "write a number"]),
    "one coordinate": (("[210, 300]", "[210]"), [ON_FRONT, "notch 1, at", "1 entry"]),
    "NaN coordinate": (("[210, 300]", "[nan, 300]"), [ON_FRONT, "notch 1, at, x", "finite"]),
    "infinite coordinate": (("[[100, 500]", "[[inf, 500]"), [ON_FRONT, "grain", "finite"]),
    "huge integer": (("[210, 300]", "[1" + "0" * 400 + ", 300]"), [ON_FRONT, "notch 1, at"]),
    # Sizes, views, numbers.
    "two pieces of one number": (
        ('number = "2"', 'number = "1"'),
        ['"Front"', "number", '"Flap"', "of its own"],
    ),
    "view of unknown piece": (
        ('pieces = ["1", "2", "4"]', 'pieces = ["1", "7"]'),
        ["view B, pieces", "no piece 7", "1, 2, 3, 4"],
    ),
    "view twice the same": (('optional = ["3"]', 'optional = ["2"]'), ["view A", "piece 2", "twice"]),
    "size twice": (('sizes = ["S", "M"]', 'sizes = ["S", "M", "S"]'), ["sizes", "size S", "twice"]),
    "size called every": (('sizes = ["S", "M"]', 'sizes = ["S", "every"]'), ["sizes", '"every"']),
    "no sizes": (('sizes = ["S", "M"]', "sizes = []"), ["sizes", "at least 1"]),
    "no drawing for a size": (
        ("[piece.drawing.M]", "[piece.drawing_M]"),
        ['piece 1 "Front"', "drawing_M", '"drawing"?'],
    ),
    "a drawing given twice": (
        ("[piece.drawing.S]", "[piece.drawing.M]"),
        ["not valid TOML", "[piece.drawing.M] twice"],
    ),
    "drawing of unknown size": (
        ("[piece.drawing.M]", "[piece.drawing.XL]"),
        ['piece 1 "Front", drawing', "no size XL", "S, M"],
    ),
    "notion of unknown size": (
        ("{ S = 6, M = 7 }", "{ S = 6, K = 7 }"),
        ['notion "Button", count', "no size K"],
    ),
    "notion without a size": (("{ S = 6, M = 7 }", "{ S = 6 }"), ['notion "Button", count', "size M"]),
    "notion with half a button": (("{ S = 6, M = 7 }", "6.5"), ['notion "Button", count', "whole number"]),
    "notion of unknown piece": (('with = "3"', 'with = "9"'), ['notion "Snap hook", with', "no piece 9"]),
    "notion of unknown view": (
        ('with = "3"', 'views = ["C"]'),
        ['notion "Snap hook", views', "no view C", "A, B"],
    ),
    # Outlines.
    "self-crossing": (
        (FRONT_S, outline("M 0 0 L 200 600 L 200 0 L 0 600 Z")),
        [ON_FRONT, "outline", "crosses", "(100, 300)"],
    ),
    "touching itself": (
        (LOOP, outline("M 0 0 H 100 V 50 L 50 0 L 0 50 Z")),
        [ON_LOOP, "outline", "touches", "(50, 0)"],
    ),
    "there and back": (
        (LOOP, outline("M 0 0 H 120 H 60 V 30 H 0 Z")),
        [ON_LOOP, "outline", "touches itself"],
    ),
    "open": (
        (FRONT_S, outline("M 0 0 L 200 0 L 220 600 L 0 600")),
        [ON_FRONT, "outline", "open", "(0, 0)", "(0, 600)", "Z"],
    ),
    "zero area": ((LOOP, outline("M 0 0 L 50 50 L 100 100 Z")), [ON_LOOP, "outline", "no area"]),
    "a single point": ((LOOP, outline("M 5 5 Z")), [ON_LOOP, "outline", "no area"]),
    "repeated point": (
        (FRONT_S, outline("M 0 0 L 200 0 L 200 0 L 220 600 L 0 600 Z")),
        [ON_FRONT, "outline", "(200, 0)", "twice in a row"],
    ),
    "repeated start": (
        (LOOP, outline("M 0 0 L 0 0 H 120 V 30 H 0 Z")),
        [ON_LOOP, "outline", "(0, 0)", "twice in a row"],
    ),
    "curve to where it is": (
        (LOOP, outline("M 0 0 H 120 C 120 0 120 0 120 0 V 30 H 0 Z")),
        [ON_LOOP, "(120, 0)", "twice in a row"],
    ),
    "two parts": (
        (LOOP, outline("M 0 0 H 120 V 30 Z M 200 0 H 220 V 30 Z")),
        [ON_LOOP, "outline", "2 separate parts"],
    ),
    "empty outline": ((LOOP, outline("  ")), [ON_LOOP, "outline", "is empty"]),
    "garbage in an outline": (
        (LOOP, outline("M 0 0 H 120 V 3O H 0 Z")),
        [ON_LOOP, "outline", 'cannot be read at "O'],
    ),
    "NaN in an outline": (
        (LOOP, outline("M 0 0 H nan V 30 H 0 Z")),
        [ON_LOOP, "outline", 'cannot be read at "nan'],
    ),
    "infinite outline": (
        (LOOP, outline("M 0 0 H 1e999 V 30 H 0 Z")),
        [ON_LOOP, "outline", 'cannot be read at "1e999'],
    ),
    "outline without M": ((LOOP, outline("L 0 0 H 120 V 30 H 0 Z")), [ON_LOOP, "outline", "begins with L"]),
    "number missing": (
        (LOOP, outline("M 0 0 L 120 V 30 H 0 Z")),
        [ON_LOOP, "outline", "gives L 1 number", "takes 2"],
    ),
    "too many points": ((LOOP, outline(STAIRS)), [ON_LOOP, "outline", "5000"]),
    "40 km long": ((LOOP, outline("M 0 0 H 40000000 V 30 H 0 Z")), [ON_LOOP, "outline", "40 km", "absurd"]),
    "11 m long": (
        (LOOP, outline("M 0 0 H 11000 V 30 H 0 Z")),
        [ON_LOOP, "outline", "too large", "11 m", "10 m"],
    ),
    "millimetres called inches": (
        ('unit = "mm"', 'unit = "in"'),
        [ON_FRONT, "outline", "too large", 'with unit = "mm" it would be 60 cm'],
    ),
    "a speck": ((LOOP, outline("M 0 0 H 2 V 1 H 0 Z")), [ON_LOOP, "outline", "too small", "2 mm"]),
    "metres called millimetres": ((LOOP, outline("M 0 0 H 1.2 V .3 H 0 Z")), [ON_LOOP, "too small"]),
    "bad inner line": (
        ('lines = ["M 20 20 L 280 20"]', 'lines = ["M 20 20 L 280"]'),
        [ON_FLAP, "line 1", "takes 2"],
    ),
    "bad arc flag": (
        (FLAP, outline("M 0 0 H 300 V 80 A 100 100 0 2 1 200 180 H 0 Z")),
        [ON_FLAP, "outline", 'at "2 1 200'],
    ),
    # Grain, fold, notches, drills.
    "grain of no length": (
        ("grain = [[100, 500], [100, 20]]", "grain = [[100, 500], [100, 500]]"),
        [ON_FRONT, "grain", "no length"],
    ),
    "one grain point": (
        ("grain = [[100, 500], [100, 20]]", "grain = [[100, 500]]"),
        [ON_FRONT, "grain", "at least 2"],
    ),
    "on fold without a fold edge": (
        ("fold = [[0, 0], [0, 600]]\n", ""),
        [ON_FRONT, "cut 1 (fabric)", "no fold edge", '"fold"'],
    ),
    "fold along a bent edge": (
        ("fold = [[0, 0], [0, 600]]", "fold = [[0, 0], [220, 600]]"),
        [ON_FRONT, "fold", "not straight"],
    ),
    "fold off the outline": (
        ("fold = [[0, 0], [0, 600]]", "fold = [[-5, 0], [-5, 600]]"),
        [ON_FRONT, "fold", "(-5, 0)", "not on the outline"],
    ),
    "fold of no length": (
        ("fold = [[0, 0], [0, 600]]", "fold = [[0, 0], [0, 0]]"),
        [ON_FRONT, "fold", "no length"],
    ),
    "part of the straight edge": (
        ("fold = [[0, 0], [0, 600]]", "fold = [[0, 0], [0, 400]]"),
        [ON_FRONT, "fold", "whole length"],
    ),
    "bent fold": (
        (FRONT_S, outline("M 0 0 L 200 0 L 220 600 L 0 600 L 0 500 L -20 250 L 0 250 Z")),
        [ON_FRONT, "fold", "not straight"],
    ),
    "notch off the outline": (
        ("at = [210, 300]", "at = [100, 300]"),
        [ON_FRONT, 'notch 1 "a", at', "(100, 300)", "nearest point"],
    ),
    "drill outside": (("drills = [[150, 90]]", "drills = [[400, 90]]"), [ON_FLAP, "drill 1", "outside"]),
    # Cuts.
    "count of none": (
        ("count = 1, how", "count = 0, how"),
        ['piece 1 "Front", cut 1, count', "is 0", "at least 1"],
    ),
    "negative count": (
        ("count = 1, how", "count = -2, how"),
        ['piece 1 "Front", cut 1, count', "is -2", "at least 1"],
    ),
    "ten million": (
        ("count = 1, how", "count = 10000000, how"),
        ['piece 1 "Front", cut 1, count', "10000000", "at most 1000"],
    ),
    "half a piece": (
        ("count = 1, how", "count = 1.5, how"),
        ['piece 1 "Front", cut 1, count', "1.5", "whole number"],
    ),
    "count in words": (
        ("count = 1, how", 'count = "two", how'),
        ['piece 1 "Front", cut 1, count', "whole number"],
    ),
    "unknown how": (('how = "on fold"', 'how = "onfold"'), ['piece 1 "Front", cut 1, how', '"on fold"']),
    "three mirrored": (
        ("count = 2 }", 'count = 3, how = "mirrored" }'),
        [ON_FLAP, "cut 1 (fabric), count", "even"],
    ),
    "three of a lopsided piece": (
        ("count = 2 }", "count = 3 }"),
        [ON_FLAP, "cut 1 (fabric), count", '"alike"'],
    ),
    "unknown region": (
        ('region = "tab"', 'region = "tub"'),
        [ON_FLAP, "cut 2 (interfacing), region", "no region tub", "tab"],
    ),
    "region outside": (
        ('"M 10 10 H 60 V 100 H 10 Z"', '"M -50 10 H 60 V 100 H -50 Z"'),
        [ON_FLAP, "region tab", "reaches out", "(-50, "],
    ),
    "crossing region": (
        ('"M 10 10 H 60 V 100 H 10 Z"', '"M 10 10 L 60 100 H 10 L 60 10 Z"'),
        [ON_FLAP, "region tab", "crosses"],
    ),
    "region on fold without an edge on it": (
        ('how = "alike", region = "tab"', 'how = "on fold", region = "tab"'),
        [ON_FLAP, "cut 2 (interfacing)", "on fold"],
    ),
    # Allowances.
    "no allowance": (
        ('seam_allowance = "10 mm"\n', ""),
        ['piece 1 "Front", seam_allowance', "missing", '"included"'],
    ),
    "allowance in words": (
        ('seam_allowance = "10 mm"', 'seam_allowance = "some"'),
        ["seam_allowance", "'some'", '"included"'],
    ),
    "negative allowance": (
        ('seam_allowance = "10 mm"', 'seam_allowance = "-10 mm"'),
        ["seam_allowance", "negative"],
    ),
    "absurd allowance": (
        ('seam_allowance = "10 mm"', 'seam_allowance = "10 m"'),
        ["seam_allowance", "20 cm"],
    ),
    "stretch off the outline": (
        ("from = [300, 0]", "from = [310, 10]"),
        [ON_FLAP, "allowance 1, from", "(310, 10)"],
    ),
    "stretch of no length": (("to = [300, 80]", "to = [300, 0]"), [ON_FLAP, "allowance 1", "same point"]),
    "stretch of an outline with allowance included": (
        ('name = "Flap"', 'name = "Flap"\nseam_allowance = "included"'),
        [ON_FLAP, "allowances", "included"],
    ),
    # Fabrics.
    "fabric of no width": (
        ('width = "140 cm"', 'width = "0 cm"'),
        ["fabric fabric, width", "greater than 0"],
    ),
    "fabric of negative width": (('width = "140 cm"', "width = -1400"), ["fabric fabric, width", "negative"]),
    "fabric of NaN width": (('width = "140 cm"', "width = nan"), ["fabric fabric, width", "finite"]),
    "fabric of absurd width": (('width = "140 cm"', 'width = "140 m"'), ["fabric fabric, width", "absurd"]),
    "fabric without width": (('width = "140 cm"\n', ""), ["fabric fabric", '"width" is missing']),
    "fabric width in no unit": (
        ('width = "140 cm"', 'width = "140 ells"'),
        ["fabric fabric, width", "ells", "not a unit"],
    ),
    "selvages wider than the cloth": (
        ('selvage = "10 mm"', 'selvage = "70 cm"'),
        ["fabric fabric, selvage", "1400 mm"],
    ),
    "grain crosswise": (('grain = "any"', 'grain = "crosswise"'), ["fabric interfacing, grain", '"any"']),
    "tolerance of a right angle": (
        ("price = 14.5", "grain_tolerance = 90"),
        ["fabric fabric, grain_tolerance", "0 to 45"],
    ),
    "shrinks to nothing": (
        ("price = 14.5", 'shrink_along = "100 %"'),
        ["fabric fabric, shrink_along", "absurd"],
    ),
    "negative price": (("price = 14.5", "price = -1"), ["fabric fabric, price", "at least 0"]),
    "infinite price": (("price = 14.5", "price = inf"), ["fabric fabric, price", "finite"]),
    "step of nothing": (('step = "10 cm"', 'step = "0 cm"'), ["fabric fabric, step", "greater than 0"]),
    "absurd gap": (("price = 14.5", 'gap = "3 m"'), ["fabric fabric, gap", "absurd"]),
    "half a flaw": (("price = 14.5", 'flaws = [{ along = "3 cm" }]'), ["fabric fabric, flaw 1", '"radius"']),
    "open flaw": (
        ("price = 14.5", 'flaws = [{ outline = "M 0 0 H 30 V 30" }]'),
        ["fabric fabric, flaw 1, outline", "open"],
    ),
}


def told(path, load=load_pattern):
    """The sentence about the file, checked for what all sentences have in common."""
    with pytest.raises(InputError) as caught:
        load(path)
    sentence = str(caught.value)
    assert sentence.startswith(f"{path}: ")
    assert sentence.endswith((".", "?")) and "\n" not in sentence and len(sentence) < len(str(path)) + 320
    return sentence


@pytest.mark.parametrize("case", CASES)
def test_one_mistake_one_sentence(case, tmp_path):
    change, words = CASES[case]
    sentence = told(write(tmp_path, changed(change)))
    for word in words:
        assert word in sentence, sentence


def test_a_fabric_width_read_in_the_wrong_unit_is_hinted_at(tmp_path):
    text = changed(('unit = "mm"', 'unit = "cm"'), ('width = "140 cm"', "width = 1400"))
    pieces = text.index("[[piece]]")
    path = write(
        tmp_path,
        text[:pieces] + '[[piece]]\nnumber = 1\nname = "Band"\ndrawing.every = '
        '{ outline = "M 0 0 H 30 V 5 H 0 Z", grain = [[0, 0], [9, 0]] }\n',
    )
    text = path.read_text().replace('pieces = ["1", "2"]\noptional = ["3"]', "pieces = [1]")
    text = text.replace('pieces = ["1", "2", "4"]', "pieces = [1]").replace('with = "3"', "with = 1")
    sentence = told(write(tmp_path, text))
    assert "fabric fabric, width" in sentence and 'with unit = "mm" it would be 1.4 m' in sentence


def test_there_is_no_such_file(tmp_path):
    assert "no such file" in told(tmp_path / "gone.toml")


def test_a_folder_is_no_pattern(tmp_path):
    assert "folder" in told(tmp_path)


def test_a_binary_file_is_no_pattern(tmp_path):
    path = tmp_path / "oar-bag.png"
    path.write_bytes(b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR")
    assert "not text" in told(path)
    path.write_bytes(b'name = "a\0b"')
    assert "not text" in told(path)


def test_a_line_that_is_no_toml_is_named(tmp_path):
    assert "line 2" in told(write(tmp_path, 'name = "Oar bag"\nunit : mm\n'))
    assert "line 3" in told(write(tmp_path, 'name = "Oar bag"\nunit = "mm"\nname = "Again"\n'))
    assert "not valid TOML" in told(write(tmp_path, "sizes = ["))
    assert "nested too deeply" in told(write(tmp_path, "sizes = " + "[" * 5000))
    assert "not valid TOML" in told(write(tmp_path, "about = 1" + "0" * 5000))


def test_an_empty_file_misses_its_fields(tmp_path):
    assert '"name" is missing' in told(write(tmp_path, ""))


def test_a_piece_that_reaches_across_its_fold_is_told_where(tmp_path):
    text = changed(
        (FRONT_S, outline("M 0 0 L 200 0 L 220 600 L -30 600 L 0 450 Z")), ("[0, 600]]", "[0, 450]]")
    )
    sentence = told(write(tmp_path, text))
    assert f"{ON_FRONT}, fold: the piece reaches across its own fold line at (-30, 600)" in sentence


def test_a_size_without_a_drawing_is_named(tmp_path):
    sentence = told(
        write(tmp_path, changed(('sizes = ["S", "M"]', 'sizes = ["S", "M", "L"]'), ("{ S = 6, M = 7 }", "6")))
    )
    assert 'piece 1 "Front", drawing: there is no drawing for size L; add one' in sentence


def test_a_misspelt_piece_table_is_named(tmp_path):
    text = PATTERN.replace("[[piece]]", "[[peace]]").replace("[piece.", "[peace.")
    assert '"peace" is not a field here; did you mean "piece"?' in told(write(tmp_path, text))


def test_a_file_without_pieces_misses_them(tmp_path):
    assert '"piece" is missing' in told(write(tmp_path, 'name = "a"\nunit = "mm"\n'))


def test_fabric_files_are_told_the_same_way(tmp_path):
    good = '[fabric.fabric]\nwidth = "57 in"\n'
    assert "linen" in load_fabrics(write(tmp_path, good.replace("fabric.fabric", "fabric.linen")))
    assert '"width" is missing' in told(write(tmp_path, "[fabric.fabric]\nnap = true\n"), load_fabrics)
    assert '"witdh"' in told(write(tmp_path, '[fabric.fabric]\nwitdh = "57 in"\n'), load_fabrics)
    assert '"fabric" is missing' in told(write(tmp_path, 'unit = "cm"\n'), load_fabrics)
    assert "this is a pattern file" in told(write(tmp_path, PATTERN), load_fabrics)
    mixed = PATTERN.replace("[[piece]]", "[[peace]]").replace("[piece.", "[peace.")
    assert "not a field here" in told(write(tmp_path, mixed), load_fabrics)


ODD = [
    '""',
    '"x"',
    "-1",
    "0",
    "1e308",
    "nan",
    "inf",
    "true",
    "[]",
    "[[]]",
    "{}",
    "[1, 2]",
    "2026-01-01",
    "9" * 400,
]


def test_odd_values_anywhere_give_a_pattern_or_a_sentence_and_never_a_crash(tmp_path):
    lines = PATTERN.splitlines()
    refused = 0
    for number, line in enumerate(lines):
        if " = " not in line:
            continue
        for odd in ODD:
            changed_line = (
                f"{line.split(' = ')[0]} = {odd}" if not line.startswith("  ") else f"  {{ count = {odd} }},"
            )
            text = "\n".join([*lines[:number], changed_line, *lines[number + 1 :]])
            try:
                load_pattern(write(tmp_path, text))
            except InputError as error:
                refused += 1
                assert "\n" not in str(error)
    assert refused > 300
