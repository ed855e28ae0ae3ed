"""Whole jobs on a print from the file to a verified layout, and what matching costs."""

from dataclasses import replace
from pathlib import Path

import pytest
from shapely import LineString, Polygon

from marker.api import lay, load_job
from marker.check import verify
from marker.errors import InputError
from tests.cloth.jobs import cut, fold_half, piece, rectangle, wedge
from tests.cloth.test_match import ACROSS, ALONG, CHECK, TWO, centre, meet, notched, pair, printed

PIECES = Path(__file__).parents[2] / "pieces"


def laid(the_job, **options):
    answer = lay(the_job, **{"effort": 0.05, "cores": 1, **options})
    assert verify(answer.layout, the_job) == []
    return answer.layout.materials[0]


@pytest.mark.parametrize(
    ("matching", "even", "length"), [("none", True, 430.0), ("main", True, 500.0), ("main", False, 600.0)]
)
def test_two_rectangles_one_behind_the_other_take_what_arithmetic_says(matching, even, length):
    # Notches 70 into the 250 of the one and 40 into the 180 of the other, repeat 100, on cloth too narrow
    # for both side by side. One way: the second begins at 30 modulo 100, so at 330, and ends at 510: six
    # repeats; the other order ends at 270 + 250. Turned, the second's notch lies 140 in and its phase runs
    # back: it begins at 290 and ends at 470: five repeats, as many as without matching.
    design = replace(ACROSS, even_along=even)
    the_job = printed(*TWO, matches=[meet("side")], design=design, level=matching, nap=not even, width=320.0)
    answer = laid(the_job, fold="open")
    assert answer.length == pytest.approx(length, abs=0.01)
    assert answer.matched == matching


@pytest.mark.parametrize("fold", ["open", "lengthwise fold", "partial fold"])
@pytest.mark.parametrize("design", [ACROSS, ALONG, CHECK])
def test_a_small_garment_matches_on_every_spread_and_print(fold, design):
    parts = (
        notched(fold_half("1", 400, 150, cut(1, "on fold")), side=(200.0, 150.0)),
        notched(piece("2", wedge(), cut(2, "mirrored")), side=(200.0, 0.0)),
        piece("3", rectangle(120, 80), cut(1)),
    )
    matches = [meet("side", "both"), pair("2"), centre("3", "both")]
    answer = laid(printed(*parts, matches=matches, design=design), fold=fold)
    assert answer.lay == fold and answer.matched == "main"
    if design.along:
        assert answer.length % 100.0 == pytest.approx(0.0, abs=1e-6)


def test_several_garments_share_the_phases():
    parts = (notched(piece("1", wedge(), cut(2, "mirrored")), side=(200.0, 0.0)), TWO[1])
    the_job = replace(printed(*parts, matches=[meet("side")], design=CHECK), quantity=3)
    assert len(laid(the_job, fold="open").placements) == 9


def test_pieces_that_have_no_place_together_are_named():
    # Both 990 of 1000 mm across: neither can move by more than 10, and their bars are 30 of 60 apart.
    parts = (
        notched(piece("1", rectangle(300, 990), cut(1)), side=(100.0, 990.0)),
        notched(piece("2", rectangle(200, 990), cut(1)), side=(100.0, 990.0 - 30.0)),
    )
    parts = (parts[0], replace(parts[1], marks=parts[1].notches, notches=()))
    the_job = printed(
        *parts, matches=[meet("side", "lengthwise")], design=replace(ALONG, even_across=False), nap=True
    )
    with pytest.raises(InputError, match=r"Part 1\).*and.*Part 2\).*no place across the cloth"):
        lay(the_job, effort=0.05, cores=1)


def skirt(matching):
    the_job = load_job(PIECES / "gored-skirt.toml", size="M").only("fabric")
    return replace(the_job, matching=matching)


def rows(material, numbers):
    """The most pieces of these numbers that lie one behind another on any line along the cloth."""
    shapes = [Polygon(p.outline) for p in material.placements if p.piece in numbers]
    lines = [LineString([(0, y), (material.length, y)]) for y in range(20, int(material.width), 20)]
    return max(sum(shape.intersects(line) for shape in shapes) for line in lines)


@pytest.mark.parametrize("fold", ["open", "lengthwise fold"])
def test_matching_the_skirt_costs_at_most_a_repeat_for_each_row_of_pieces(fold):
    # Common practice, no source: extra length is about one repeat for each piece stacked along the length.
    plain = laid(skirt("none"), fold=fold, effort=0.3)
    matched = laid(skirt("main"), fold=fold, effort=0.3)
    repeat = skirt("main").fabrics["fabric"].print.along
    assert matched.length <= plain.length + repeat * rows(plain, {"1", "2", "3", "4"})
    # And it saves nothing, beyond the noise of a short search.
    assert matched.length >= 0.99 * plain.length


def test_the_skirt_in_an_uneven_plaid_is_cut_from_one_layer_and_matches():
    the_job = skirt("everything")
    uneven = replace(the_job.fabrics["fabric"].print, even_across=False, even_along=False)
    fabric = replace(the_job.fabrics["fabric"], print=uneven, nap=True)
    the_job = replace(the_job, fabrics={"fabric": fabric})
    answer = laid(the_job, effort=0.1)
    assert answer.lay == "open" and {p.rotation for p in answer.placements if p.piece in "1234"} == {0.0}
    assert any("uneven print" in tried.why for tried in answer.tried)


def test_the_same_seed_and_effort_give_the_same_matched_layout():
    assert laid(skirt("main"), fold="open", seed=3) == laid(skirt("main"), fold="open", seed=3)


def test_what_an_uneven_print_cannot_do_is_noted_on_the_layout():
    design = replace(CHECK, even_across=False)
    the_job = printed(piece("1", wedge(), cut(2, "mirrored")), matches=[pair("1")], design=design, nap=True)
    (note,) = laid(the_job).notes
    assert "left and right of piece 1 (Part 1) show different parts" in note
