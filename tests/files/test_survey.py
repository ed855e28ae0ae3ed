"""Everything about a file at once: all mistakes, what a half-written one lacks, what looks like a slip."""

import json

import pytest
from click.testing import CliRunner

from marker.cli import main
from marker.errors import InputError
from marker.files.fabric import load_fabrics
from marker.files.layout_file import read_layout
from marker.files.pattern import load_pattern
from marker.files.survey import survey
from tests.files.samples import PATTERN, changed, write


def run(*words):
    return CliRunner().invoke(main, [str(word) for word in words])


def surveyed(folder, *changes):
    return survey(write(folder, changed(*changes)))


def test_a_right_file_has_nothing_to_tell_but_its_cloths(tmp_path):
    found = survey(write(tmp_path, PATTERN))
    assert found.summary.startswith("valid pattern: Oar bag; 4 pieces")
    assert found.read == ("fabric: 140 cm wide", "interfacing: 90 cm wide")
    assert (found.mistakes, found.missing, found.odd) == ((), (), ())


def test_every_mistake_is_told_at_once(tmp_path):
    found = surveyed(
        tmp_path,
        ('step = "10 cm"', 'stepp = "10 cm"'),
        ('width = "90 cm"', 'width = "90 ells"'),
        ("count = 1, how", "count = 0, how"),
        ('optional = ["3"]', 'optional = ["9"]'),
        ('outline = "M 0 0 H 120 V 30 H 0 Z"', 'outline = "M 0 0 H 120 V 30 H 0"'),
        ("drills = [[150, 90]]", "drills = [[400, 90]]"),
    )
    told = "\n".join(found.mistakes)
    for part in [
        'fabric fabric: "stepp"',
        "fabric interfacing, width",
        'piece 1 "Front", cut 1, count: is 0',
        "view A, optional: there is no piece 9",
        'piece 3 "Loop", every size, outline: is open',
        'piece 2 "Flap", every size, drill 1',
    ]:
        assert part in told
    assert len(found.mistakes) == 6 and found.summary == "6 mistakes"


def test_a_wrong_piece_makes_no_mistake_of_the_views_that_name_it(tmp_path):
    found = surveyed(tmp_path, ("count = 1, how", "count = 0, how"))
    assert len(found.mistakes) == 1 and found.missing == ()


def test_both_sizes_of_a_piece_may_be_wrong(tmp_path):
    found = surveyed(
        tmp_path,
        ("fold = [[0, 0], [0, 600]]", "fold = [[-5, 0], [-5, 600]]"),
        ("at = [230, 320]", "at = [100, 320]"),
    )
    assert len(found.mistakes) == 2
    assert "size S, fold" in found.mistakes[0] and "size M, notch 1" in found.mistakes[1]


def test_a_half_written_file_is_right_so_far(tmp_path):
    found = surveyed(
        tmp_path,
        ('seam_allowance = "10 mm"\n', ""),
        ('width = "140 cm"\n', ""),
        ("grain = [[60, 25], [60, 5]]\n", ""),
        ("count = { S = 6, M = 7 }", 'count = "todo: how many"'),
    )
    assert found.mistakes == () and found.summary == "so far right; these are missing"
    told = "\n".join(found.missing)
    for part in [
        'piece 3 "Loop", every size: "grain" is missing',
        'fabric fabric: "width" is missing',
        "seam_allowance: is missing",
        'notion "Button", count: is still blank: how many',
    ]:
        assert part in told, told
    assert len(found.missing) == 4


def test_a_size_that_is_not_drawn_yet_is_missing_and_not_wrong(tmp_path):
    found = surveyed(tmp_path, ('sizes = ["S", "M"]', 'sizes = ["S", "M", "L"]'), ("{ S = 6, M = 7 }", "6"))
    assert found.mistakes == ()
    assert found.missing == (
        'piece 1 "Front", drawing: there is no drawing for size L; add one, or one for every size',
    )


def test_a_misspelt_field_is_not_missing_too(tmp_path):
    found = surveyed(tmp_path, ('unit = "mm"', 'unti = "mm"'))
    assert found.missing == () and len(found.mistakes) == 1 and '"unit"?' in found.mistakes[0]


def test_the_command_tells_them_line_by_line(tmp_path):
    wrong = write(tmp_path, changed(("count = 1, how", "count = 0, how"), ("[210, 300]", "[210]")), "a.toml")
    result = run("check", wrong)
    assert result.exit_code == 1 and result.stdout == ""
    assert [line.split(":")[0] for line in result.stderr.splitlines()] == [str(wrong)] * 2
    half = write(tmp_path, changed(('width = "140 cm"\n', "")), "b.toml")
    result = run("check", half)
    assert result.exit_code == 3
    assert "so far right; this is missing" in result.stdout
    assert '  missing: fabric fabric: "width" is missing' in result.stdout
    both = json.loads(run("check", wrong, half, "--json").stdout)
    assert [(len(each["mistakes"]), len(each["missing"])) for each in both] == [(2, 0), (0, 1)]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('[fabric.fabric]\nwidth = "112 cm"\n', "fabric: 112 cm wide"),
        ('[fabric.fabric]\nwidth = "44 in"\n', "fabric: 44 in wide"),
        ('[fabric.fabric]\nwidth = "1 1/4 yd"\n', "fabric: 45 in wide"),
        ('unit = "mm"\n[fabric.lining]\nwidth = 112\n', "lining: 11.2 cm wide"),
        ('[fabric.rib]\nwidth = "80 cm"\ntube = true\n', "rib: 80 cm wide, lying flat as a tube"),
    ],
)
def test_every_width_is_read_back(tmp_path, text, told):
    assert survey(write(tmp_path, text)).read == (told,)


def test_remnants_are_read_back(tmp_path):
    text = (
        '[fabric.a]\nroll = false\n[[fabric.a.remnant]]\nname = "scrap"\nlength = "90 cm"\nwidth = "60 cm"\n'
    )
    assert survey(write(tmp_path, text)).read == ('a: "scrap" 90 x 60 cm',)
    shrinks = text.replace("roll = false", 'roll = false\nshrink_along = "10 %"')
    assert survey(write(tmp_path, shrinks)).read == ('a: "scrap" 81 x 60 cm once washed',)


# A material, a file of another kind, a stretch the wrong way, seams that do not fit.


def test_a_misspelt_material_is_a_mistake(tmp_path):
    found = surveyed(tmp_path, ('material = "interfacing"', 'material = "interfaceing"'))
    assert len(found.mistakes) == 1
    assert "no cloth is named for interfaceing; did you mean interfacing?" in found.mistakes[0]


def test_a_material_without_a_cloth_is_told(tmp_path):
    found = surveyed(tmp_path, ('material = "fabric", count = 3', 'material = "leather", count = 3'))
    assert found.mistakes == () and found.odd == (
        'piece 3 "Loop", cuts: no cloth is named for leather; add [fabric.leather], or use --fabric',
    )
    numbered = surveyed(tmp_path, ('material = "fabric", count = 3', 'material = "fabric 2", count = 3'))
    assert numbered.mistakes == () and "no cloth is named for fabric 2" in numbered.odd[0]


def test_a_cloth_that_nothing_is_cut_from_is_told(tmp_path):
    found = surveyed(tmp_path, ("[fabric.interfacing]", '[fabric.felt]\nwidth = "1 m"\n[fabric.interfacing]'))
    assert found.odd == ("no piece is cut from felt, though a cloth is named for it",)


LAYOUT = '{"marker_layout": 1, "materials": []}'
CLOTH = '[fabric.fabric]\nwidth = "112 cm"\n'


@pytest.mark.parametrize(
    ("load", "text", "told"),
    [
        (load_pattern, CLOTH, "this is a fabric file.*--fabric"),
        (load_pattern, LAYOUT, "this is a layout file.*pattern file"),
        (load_pattern, '{"a": 1}', "is JSON and not TOML"),
        (load_fabrics, PATTERN, "this is a pattern file"),
        (load_fabrics, LAYOUT, "this is a layout file"),
        (read_layout, PATTERN, "this is a pattern file and no layout"),
        (read_layout, CLOTH, "this is a fabric file and no layout"),
        (survey, LAYOUT, "this is a layout file"),
    ],
)
def test_a_file_of_another_kind_is_called_what_it_is(tmp_path, load, text, told):
    with pytest.raises(InputError, match=told):
        load(write(tmp_path, text))


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("bag.svg", "this is a drawing.*marker import"),
        ("bag.DXF", "this is a drawing.*marker import"),
        ("bag.csv", "this is a spreadsheet.*marker new NAME --from"),
        ("bag.jpg", "this is a picture.*marker trace"),
    ],
)
@pytest.mark.parametrize("load", [load_pattern, load_fabrics, survey])
def test_what_a_pattern_is_made_from_is_no_pattern_yet(tmp_path, name, told, load):
    file = tmp_path / name
    file.write_bytes(b"\x89\r\n<>")
    with pytest.raises(InputError, match=told):
        load(file)
    file.unlink()
    with pytest.raises(InputError, match="there is no such file"):
        load(file)


def test_a_piece_without_a_name_is_told_by_its_number(tmp_path):
    found = surveyed(tmp_path, ('name = "Loop"\n', ""))
    assert found.missing == ('piece 3: "name" is missing; add it',)


def test_a_fabric_file_in_the_place_of_the_pattern_is_told_by_the_commands(tmp_path):
    cloth = write(tmp_path, CLOTH)
    result = run("lay", cloth)
    assert result.exit_code == 1 and "this is a fabric file" in result.stderr


def test_an_allowance_against_the_way_of_the_drawing_is_told(tmp_path):
    swapped = surveyed(tmp_path, ("from = [300, 0], to = [300, 80]", "from = [300, 80], to = [300, 0]"))
    (told,) = swapped.odd
    assert 'piece 2 "Flap", every size, allowance 1: from (300, 80) to (300, 0)' in told
    assert "80 mm long, exchange from and to" in told
    assert survey(write(tmp_path, PATTERN)).odd == ()


def test_allowances_round_several_edges_are_no_slip(tmp_path):
    # Three edges of a rectangle, and the way back has a corner in it.
    found = surveyed(
        tmp_path,
        (
            "grain = [[60, 25], [60, 5]]",
            "grain = [[60, 25], [60, 5]]\nallowances = [{ from = [60, 0], to = [0, 15], width = 5 }]",
        ),
    )
    assert found.odd == ()


SEAM = """
name = "Bag"
unit = "cm"
seam_allowance = "1 cm"
[[piece]]
number = 1
name = "Front"
cuts = [{{ material = "fabric", count = 1 }}]
[piece.drawing.every]
outline = "M 0 0 H 30 V 40 H 0 Z"
grain = [[10, 30], [10, 5]]
notches = [{{ name = "hip", at = [30, 5] }}, {{ name = "knee", at = [30, 35] }}]
[[piece]]
number = 2
name = "Back"
cuts = [{{ material = "fabric", count = 1 }}]
[piece.drawing.every]
outline = "M 0 0 H 30 V 40 H 0 Z"
grain = [[10, 30], [10, 5]]
notches = [{{ name = "knee", at = [0, {knee}] }}, {{ name = "hip", at = [0, 5] }}]
"""


def test_edges_that_are_sewn_together_and_differ_are_told_with_figures(tmp_path):
    assert survey(write(tmp_path, SEAM.format(knee=35.2))).odd == ()
    (told,) = survey(write(tmp_path, SEAM.format(knee=36))).odd
    assert told == (
        'from notch "hip" to notch "knee": piece 1 "Front" 30, piece 2 "Back" 31 cm, 1 cm apart: '
        "eased in, or a slip?"
    )


def test_it_does_not_matter_where_the_outline_begins(tmp_path):
    # The drawing begins in the middle of the seam.
    text = SEAM.format(knee=36).replace("M 0 0 H 30 V 40 H 0 Z", "M 30 20 V 40 H 0 V 0 H 30 Z", 1)
    (told,) = survey(write(tmp_path, text)).odd
    assert 'piece 1 "Front" 30, piece 2 "Back" 31 cm' in told


def test_two_notches_on_a_round_piece_are_no_seam(tmp_path):
    # From one to the other there are two ways round.
    disc = "M 30 20 A 15 15 0 0 1 0 20 A 15 15 0 0 1 30 20 Z"
    text = SEAM.format(knee=35).replace("M 0 0 H 30 V 40 H 0 Z", disc, 1)
    text = text.replace("at = [30, 5]", "at = [15, 5]").replace("at = [30, 35]", "at = [30, 20]")
    assert survey(write(tmp_path, text)).odd == ()


def test_notches_on_two_edges_are_no_seam(tmp_path):
    # On the back the two notches lie round a corner.
    text = SEAM.format(knee=35).replace('{ name = "hip", at = [0, 5] }', '{ name = "hip", at = [5, 0] }')
    assert survey(write(tmp_path, text)).odd == ()


@pytest.mark.parametrize("name", ["market-apron", "harbour-smock", "gored-skirt"])
def test_the_demo_patterns_are_beyond_doubt(name):
    from pathlib import Path

    found = survey(Path(__file__).parents[2] / "pieces" / f"{name}.toml")
    assert (found.mistakes, found.missing, found.odd) == ((), (), ())


def test_it_refuses_what_loading_refuses_and_nothing_else(tmp_path):
    """Every line of the pattern made odd or left out: both ways of reading agree whether it is right."""
    lines = PATTERN.splitlines()
    refused = 0
    for number, line in enumerate(lines):
        if " = " not in line:
            continue
        field = line.split(" = ")[0]
        for odd in ('""', "-1", "[]", '"todo: write it"', None):
            values = (
                [] if odd is None else [f"{field} = {odd}" if line[0] != " " else f"  {{ count = {odd} }},"]
            )
            path = write(tmp_path, "\n".join([*lines[:number], *values, *lines[number + 1 :]]))
            try:
                load_pattern(path)
                right = True
            except InputError as error:
                right = False
                if "not valid TOML" in str(error):
                    continue
            found = survey(path)
            told = [each for each in found.mistakes if "no cloth is named" not in each]
            assert right == (not told and not found.missing), (line, odd, told, found.missing)
            refused += not right
    assert refused > 100


def test_a_notch_beside_a_hem_measures_no_seam(tmp_path):
    # Its place on the stitching line is below the hem's: the seam ends before it.
    text = SEAM.format(knee=36).replace('seam_allowance = "1 cm"', 'seam_allowance = "included 1 cm"')
    hem = "allowances = [{ from = [30, 40], to = [0, 40], width = 6 }]"
    assert len(survey(write(tmp_path, text)).odd) == 1
    assert survey(write(tmp_path, text.replace("grain =", f"{hem}\ngrain ="))).odd == ()
