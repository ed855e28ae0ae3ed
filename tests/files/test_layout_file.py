"""The layout file: what the published form promises, and what becomes of broken ones."""

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from marker.errors import InputError
from marker.files.layout_file import read_layout, to_dict, write_layout
from marker.model.layout import Band, Layout, MaterialLayout, Missing, Placement, Told, Tried
from marker.model.piece import Notch
from tests.files.printed import REMNANT_JOB

PLACEMENT = Placement(
    piece="3",
    name="Back",
    copies=1,
    mirrored=False,
    rotation=180.0,
    on_fold=True,
    outline=((0.0, 400.0), (300.0, 400.0), (300.0, 700.0), (0.0, 700.0)),
    grain=((10.0, 550.0), (290.0, 550.0)),
    band=0,
    holes=(((10.0, 410.0), (20.0, 410.0), (20.0, 420.0)),),
    notches=(Notch("a", (300.0, 500.0)), Notch("b", (0.0, 500.0), (10.0, 500.0))),
    drills=((50.0, 500.0),),
    lines=(((0.0, 450.0), (300.0, 450.0)),),
    fold_edge=((300.0, 700.0), (0.0, 700.0)),
)
LAYOUT = Layout(
    pattern="Oar bag",
    size="M",
    view="B",
    seed=1,
    materials=(
        MaterialLayout(
            material="fabric",
            width=1400.0,
            usable=(10.0, 1390.0),
            lay="lengthwise fold",
            length=1652.3,
            buy=1900.0,
            buy_text="1.9 m",
            waste_percent=14.2,
            lower_bound=1590.1,
            bands=(Band((0.0, 1652.3), (10.0, 700.0), 2, (700.0,)), Band((0.0, 9.0), (700.0, 1390.0), 1)),
            placements=(PLACEMENT,),
            obstacles=(((5.0, 20.0), (9.0, 20.0), (9.0, 29.0)),),
            tried=(Tried("open", 1700.0, 1900.0), Tried("crosswise fold", None, None, "the cloth has a nap")),
            cloth="left from the sail bags",
            missing=(Missing("4", "Strap", 2), Missing("5", "Flap", 1, "corner")),
            short=132.5,
            matched="everything",
            notes=("An uneven print cannot be mirrored.",),
        ),
    ),
    quantity=2,
    asked={"pattern": "pieces/oar-bag.toml", "with": ["5"], "fold": "open"},
)
TOP = {"marker_layout", "pattern", "size", "view", "seed", "materials"}
MATERIAL = {"material", "width", "usable", "lay", "length", "buy", "waste_percent", "lower_bound", "bands"}
MATERIAL |= {"obstacles", "placements"}
BAND = {"x", "y", "layers", "fold_at"}
PLACED = {
    "piece",
    "name",
    "copies",
    "mirrored",
    "rotation",
    "on_fold",
    "outline",
    "holes",
    "grain",
    "notches",
}


def test_a_layout_comes_back_as_it_was_written(tmp_path):
    write_layout(LAYOUT, tmp_path / "layout.json")
    assert read_layout(tmp_path / "layout.json") == LAYOUT


def test_the_fields_of_the_published_form_are_all_there():
    data = to_dict(LAYOUT)
    assert {*data} >= TOP and data["marker_layout"] == 1
    material = data["materials"][0]
    assert {*material} >= MATERIAL
    assert material["buy"] == {"length": 1900.0, "text": "1.9 m"}
    folded, single = material["bands"]
    assert {*folded} >= BAND and folded["fold_at"] == 700.0 and folded["layers"] == 2
    assert single["fold_at"] is None
    placement = material["placements"][0]
    assert {*placement} >= PLACED
    assert placement["notches"] == [
        {"name": "a", "at": [300.0, 500.0]},
        {"name": "b", "at": [0.0, 500.0], "sewn": [10.0, 500.0]},
    ]
    assert placement["outline"][1] == [300.0, 400.0]


def test_what_has_no_place_and_how_the_print_was_matched_is_told():
    material = to_dict(LAYOUT)["materials"][0]
    assert material["cloth"] == "left from the sail bags" and material["matched"] == "everything"
    assert material["missing"] == [
        {"piece": "4", "name": "Strap", "region": "", "count": 2},
        {"piece": "5", "name": "Flap", "region": "corner", "count": 1},
    ]
    assert material["short"] == 132.5 and material["notes"] == ["An uneven print cannot be mirrored."]


def test_print_border_and_remnant_are_told_to_readers_without_the_fabric_file(tmp_path):
    from dataclasses import replace

    assert "print" not in to_dict(LAYOUT)["materials"][0]
    roll = replace(LAYOUT.materials[0], cloth="", missing=(), short=0.0)
    both = replace(LAYOUT, materials=(LAYOUT.materials[0], roll))
    remnant, bought = to_dict(both, REMNANT_JOB)["materials"]
    assert remnant["print"] == {
        "kind": "check",
        "along": 90.0,
        "across": 60.0,
        "start": [30.0, 20.0],
        "even_along": True,
        "even_across": False,
        "tolerance": 1.0,
    }
    # An L of cloth with one hole, as the fabric has it: 900 by 700 less 400 by 300 millimetres.
    assert len(remnant["cloth_outline"]) == 6 and remnant["cloth_outline"][2] == [900.0, 400.0]
    assert remnant["cloth_holes"] == [[[100.0, 100.0], [150.0, 100.0], [150.0, 150.0], [100.0, 150.0]]]
    assert "border" not in remnant and "cloth_outline" not in bought
    assert bought["border"] == {"side": "upper", "width": 120.0}
    write_layout(both, tmp_path / "layout.json", REMNANT_JOB)
    read = read_layout(tmp_path / "layout.json")
    cloth = REMNANT_JOB.fabrics["fabric"]
    (left,) = cloth.remnants
    assert read.materials[0].told == Told(cloth.print, None, left.outline, left.holes)
    assert read.materials[1].told == Told(cloth.print, cloth.border)
    untold = tuple(replace(material, told=None) for material in read.materials)
    assert replace(read, materials=untold) == both


def test_the_first_fold_is_the_one_that_is_told_by_itself(tmp_path):
    data = to_dict(LAYOUT)
    band = data["materials"][0]["bands"][0]
    band["fold_at"] = band["folds"][0] + 0.5
    path = tmp_path / "layout.json"
    path.write_text(json.dumps(data))
    with pytest.raises(InputError, match=r"fold_at: is .*, and the first of its folds is 700"):
        read_layout(path)


def bare(data):
    """Only what the published form has."""
    return {
        **{key: data[key] for key in TOP - {"materials"}},
        "materials": [
            {
                **{key: material[key] for key in MATERIAL - {"bands", "placements"}},
                "bands": [{key: band[key] for key in BAND} for band in material["bands"]],
                "placements": [{key: placed[key] for key in PLACED} for placed in material["placements"]],
            }
            for material in data["materials"]
        ],
    }


def test_a_file_with_nothing_but_the_published_form_can_be_read(tmp_path):
    path = tmp_path / "layout.json"
    path.write_text(json.dumps(bare(to_dict(LAYOUT))))
    found = read_layout(path)
    assert found.materials[0].bands == LAYOUT.materials[0].bands
    assert found.materials[0].placements[0].outline == PLACEMENT.outline
    assert found.quantity == 1 and found.asked == {}


def test_unknown_fields_are_passed_over(tmp_path):
    data = to_dict(LAYOUT)
    data["materials"][0]["placements"][0]["colour"] = "blue"
    (tmp_path / "layout.json").write_text(json.dumps(data))
    assert read_layout(tmp_path / "layout.json") == LAYOUT


@settings(max_examples=30, deadline=None)
@given(st.lists(st.tuples(*[st.floats(-1e5, 1e5)] * 2), min_size=3, max_size=8))
def test_coordinates_are_kept_to_a_millionth_of_a_millimetre(points):
    from dataclasses import replace

    placement = replace(PLACEMENT, outline=tuple(points))
    material = replace(LAYOUT.materials[0], placements=(placement,))
    written = to_dict(replace(LAYOUT, materials=(material,)))["materials"][0]["placements"][0]["outline"]
    for (x, y), (a, b) in zip(points, json.loads(json.dumps(written)), strict=True):
        assert abs(x - a) <= 5.1e-7 and abs(y - b) <= 5.1e-7


def change(data, *steps, value):
    for step in steps[:-1]:
        data = data[step]
    if value is None:
        del data[steps[-1]]
    else:
        data[steps[-1]] = value


BROKEN = {
    "another version": (("marker_layout",), 2, ["marker_layout is 2", "version 1"]),
    "a flag for a version": (("marker_layout",), True, ["version 1"]),
    "no materials": (("materials",), None, ['"materials" is missing']),
    "text for materials": (("materials",), "none", ["materials", "a list"]),
    "no outline": (("materials", 0, "placements", 0, "outline"), None, ["placement", '"outline" is missing']),
    "two corners": (
        ("materials", 0, "placements", 0, "outline"),
        [[0, 0], [1, 1]],
        ["outline", "at least 3"],
    ),
    "a corner in words": (("materials", 0, "placements", 0, "outline", 0), ["a", 0], ["outline", "a number"]),
    "no copies": (("materials", 0, "placements", 0, "copies"), 0, ["copies", "at least 1"]),
    "a band of three layers": (("materials", 0, "bands", 0, "layers"), 3, ["layers", "at most 2"]),
    "no bands": (("materials", 0, "bands"), [], ["bands", "at least 1"]),
    "a band that is not there": (("materials", 0, "placements", 0, "band"), 2, ["band", "is 2", "2 bands"]),
    "a pattern that is no name": (("asked", "pattern"), 5, ["asked, pattern", "a text"]),
    "a list for widths": (("asked", "widths"), [5], ["asked, widths", "a table"]),
    "a level nobody knows": (("materials", 0, "matched"), "most", ["matched", "none"]),
    "nothing missing": (("materials", 0, "missing", 0, "count"), 0, ["missing", "count", "at least 1"]),
    "short by less than nothing": (("materials", 0, "short"), -1, ["short", "at least 0"]),
    "notes in one text": (("materials", 0, "notes"), "none", ["notes", "a list"]),
    "a notch sewn nowhere": (
        ("materials", 0, "placements", 0, "notches", 1, "sewn"),
        [1],
        ["sewn", "at least 2"],
    ),
    "an unknown level asked for": (("asked", "match"), "most", ["asked, match"]),
    "an absurd number": (("materials", 0, "length"), 1e300, ["length", "at most"]),
}


@pytest.mark.parametrize("case", BROKEN)
def test_a_broken_layout_is_told_in_one_sentence(case, tmp_path):
    steps, value, words = BROKEN[case]
    data = to_dict(LAYOUT)
    change(data, *steps, value=value)
    path = tmp_path / "layout.json"
    path.write_text(json.dumps(data))
    with pytest.raises(InputError) as caught:
        read_layout(path)
    sentence = str(caught.value)
    assert sentence.startswith(f"{path}: ") and sentence.endswith(".") and "\n" not in sentence
    for word in words:
        assert word in sentence, sentence


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("", "line 1"),
        ("{", "line 1"),
        ('name = "Oar bag"', "not valid JSON"),
        ("[1, 2]", "marker_layout"),
        ("{}", "marker_layout"),
        ('{"marker_layout": 1, "seed": NaN}', "NaN"),
        ("[" * 20000, "nested too deeply"),
        ("9" * 5000, "not a layout file"),
    ],
)
def test_a_foreign_file_is_told_in_one_sentence(text, word, tmp_path):
    path = tmp_path / "layout.json"
    path.write_text(text)
    with pytest.raises(InputError) as caught:
        read_layout(path)
    assert word in str(caught.value) and "\n" not in str(caught.value)


def test_a_layout_file_that_is_not_there(tmp_path):
    with pytest.raises(InputError, match="no such file"):
        read_layout(tmp_path / "gone.json")
