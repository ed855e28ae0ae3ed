"""Layouts that hold, with every number countable by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from marker.check import verify
from marker.model.layout import Band
from marker.model.piece import Cut, Notch
from tests.check.scenes import CLOTH, HALF, SQUARE, TRIANGLE, WHOLE, bands_of, half_piece, piece, place, scene

# Half a square lies 200 mm along and 100 mm across; opened out it is 200 by 200 mm.
SQUARE_HALF = ((0.0, 0.0), (200.0, 0.0), (200.0, 100.0), (0.0, 100.0))


def test_two_squares_on_the_fold() -> None:
    """Two squares of 200 mm one after the other: 400 mm of cloth, 0.08 of 0.4 m² used, 80 % waste."""
    square = piece(SQUARE_HALF, 2, "on fold", fold_edge=((0.0, 0.0), (200.0, 0.0)))
    laid = (
        place(square, (0, 400), mirrored=True, on_fold=True),
        place(square, (200, 400), rotation=180, on_fold=True),
    )
    assert verify(*scene(square, laid, lay="lengthwise fold", length=400, waste=80.0)) == []


def test_mirrored_pair_on_open_cloth_is_two_pieces_one_of_them_face_down() -> None:
    """Two triangles of 0.01 m² on 0.2 m²: 90 % waste."""
    pair = piece(TRIANGLE, 2, "mirrored")
    laid = (place(pair, (0, 0)), place(pair, (0, 100), mirrored=True))
    assert verify(*scene(pair, laid, length=200, waste=90.0)) == []


def test_mirrored_pair_on_folded_cloth_is_one_placement() -> None:
    pair = piece(TRIANGLE, 2, "mirrored")
    laid = (place(pair, (0, 0), copies=2),)
    assert verify(*scene(pair, laid, lay="lengthwise fold", length=200, waste=90.0)) == []


def test_single_asymmetric_piece_from_two_layers_leaves_one_to_spare() -> None:
    """The one nobody asked for is waste: 0.01 of 0.2 m² used."""
    single = piece(TRIANGLE, 1, "alike")
    laid = (place(single, (0, 0), copies=2, spare=1),)
    assert verify(*scene(single, laid, lay="lengthwise fold", length=200, waste=95.0)) == []


def test_pieces_with_no_hand_are_only_counted() -> None:
    """Four equal squares from two placements on two layers, one of them entered face down."""
    squares = piece(SQUARE, 4, "alike")
    laid = (place(squares, (0, 0), copies=2), place(squares, (0, 200), copies=2, mirrored=True))
    assert verify(*scene(squares, laid, lay="lengthwise fold", length=200, waste=20.0)) == []


def test_half_turn_gives_a_piece_no_hand_only_without_nap() -> None:
    """A trapezium that is its own mirror image end for end: laid face down it needs a half turn."""
    trapezium = piece(((0, 0), (200, 0), (150, 100), (50, 100)), 2, "alike")
    laid = (place(trapezium, (0, 0)), place(trapezium, (0, 100), mirrored=True))
    assert verify(*scene(trapezium, laid, length=200, waste=85.0)) == []
    napped = replace(CLOTH, nap=True)
    faults = verify(*scene(trapezium, laid, length=200, waste=85.0, fabric=napped))
    assert [fault.message for fault in faults] == [
        "Pocket: 2 as drawn and 0 mirrored asked for and 1 as drawn and 1 mirrored laid out"
    ]


def test_on_fold_rectangle_opened_out_on_open_cloth() -> None:
    """300 by 200 mm, 0.06 of 0.3 m²."""
    back = half_piece()
    laid = (place(back, (0, 0), ring=WHOLE, opened=True),)
    assert verify(*scene(back, laid, length=300, waste=80.0)) == []


def test_on_fold_rectangle_on_a_lengthwise_fold() -> None:
    back = half_piece()
    laid = (place(back, (0, 400), mirrored=True, on_fold=True),)
    assert verify(*scene(back, laid, lay="lengthwise fold", length=300, waste=80.0)) == []


def test_on_fold_rectangles_on_both_folds_with_selvages_to_the_middle() -> None:
    """The lower fold takes a half as drawn, the upper one its mirror image: 0.12 of 0.3 m²."""
    back = half_piece(2)
    laid = (
        place(back, (0, 0), on_fold=True, band=0),
        place(back, (0, 400), mirrored=True, on_fold=True, band=1),
    )
    assert verify(*scene(back, laid, lay="selvages to the middle", length=300, waste=60.0)) == []


def test_on_fold_rectangle_on_a_partial_fold_with_a_square_beside() -> None:
    """1000 mm cloth, 300 mm turned over: the fold lies at 700 mm and the single cloth ends at 400 mm."""
    back, square = half_piece(), piece(SQUARE, number="2")
    laid = (
        place(back, (0, 600), mirrored=True, on_fold=True, band=1),
        place(square, (0, 200), band=0),
    )
    made = scene((back, square), laid, lay="partial fold", length=300, waste=100 * (1 - 0.10 / 0.30))
    assert verify(*made) == []


def test_on_fold_rectangles_opened_out_on_a_crosswise_fold() -> None:
    """Two layers of 300 mm each give two whole pieces: 0.12 of 0.6 m²."""
    back = half_piece(2)
    laid = (place(back, (0, 0), ring=WHOLE, opened=True, copies=2),)
    made = scene(back, laid, lay="crosswise fold", length=600, waste=80.0)
    assert verify(*made) == []
    folded_at_the_far_end = (Band((0.0, 300.0), (0.0, 1000.0), 2, (), 300.0),)
    made = scene(back, laid, lay="crosswise fold", length=600, waste=80.0, bands=folded_at_the_far_end)
    assert verify(*made) == []


def test_on_fold_rectangle_against_a_crosswise_fold_when_the_cloth_has_no_grain() -> None:
    """Turned a quarter, the fold edge lies along the crosswise fold at x = 0; 0.06 of 0.2 m²."""
    back = half_piece()
    laid = (place(back, (0, 0), rotation=270, on_fold=True),)
    felt = replace(CLOTH, grain="any")
    assert verify(*scene(back, laid, lay="crosswise fold", length=200, waste=70.0, fabric=felt)) == []


def test_on_fold_rectangles_on_both_folds_of_a_tube() -> None:
    """A tube 500 mm wide lying flat is 1000 mm of cloth; it has no selvage, whatever its file says."""
    back = half_piece(2)
    tube = replace(CLOTH, width=500.0, tube=True)
    laid = (
        place(back, (0, 0), on_fold=True),
        place(back, (0, 400), mirrored=True, on_fold=True),
    )
    layout, job = scene(back, laid, lay="tubular", length=300, waste=60.0, fabric=tube)
    assert verify(layout, job) == []
    assert verify(layout, replace(job, fabrics={"fabric": replace(tube, selvage=10.0)})) == []


def test_mixed_spread_folded_and_then_open() -> None:
    """300 mm folded for the on-fold piece, 200 mm open for a square: 0.10 of 0.5 m²."""
    back, square = half_piece(), piece(SQUARE, number="2")
    bands = (
        *bands_of("lengthwise fold", 300.0),
        Band((300.0, 500.0), (0.0, 1000.0), 1),
    )
    laid = (
        place(back, (0, 400), mirrored=True, on_fold=True, band=0),
        place(square, (300, 0), band=1),
    )
    lay = "mixed: lengthwise fold, then open"
    assert verify(*scene((back, square), laid, lay=lay, length=500, waste=80.0, bands=bands)) == []


def test_selvages_are_kept_clear_in_every_lay() -> None:
    """10 mm along each selvage: pieces begin at 10 mm, or 10 mm off the middle where selvages meet."""
    cloth = replace(CLOTH, selvage=10.0)
    pair = piece(TRIANGLE, 2, "mirrored")
    lowest = {
        "lengthwise fold": (0, 10.0),
        "selvages to the middle": (1, 260.0),
        "partial fold": (1, 410.0),
        "crosswise fold": (0, 10.0),
    }
    for lay, (band, y) in lowest.items():
        laid = (place(pair, (0, y), copies=2, band=band),)
        length, waste = (400.0, 95.0) if lay == "crosswise fold" else (200.0, 90.0)
        assert verify(*scene(pair, laid, lay=lay, length=length, waste=waste, fabric=cloth)) == [], lay
        lower = (place(pair, (0, y - 1), copies=2, band=band),)
        (fault,) = verify(*scene(pair, lower, lay=lay, length=length, waste=waste, fabric=cloth))
        assert "1.00 mm over the edge of the cloth to be used" in fault.message, lay


def test_region_of_interfacing() -> None:
    """Of a placket of 200 by 200 mm a strip of 200 by 40 mm gets interfacing: 0.008 of 0.04 m²."""
    strip = ((0.0, 0.0), (200.0, 0.0), (200.0, 40.0), (0.0, 40.0))
    placket = piece(SQUARE, cuts=(Cut("interfacing", 1, "alike", strip, "strip"),))
    fleece = replace(CLOTH, grain="any")
    laid = (place(placket, (0, 0), ring=strip, rotation=90, region="strip"),)
    made = scene(placket, laid, length=200, waste=96.0, fabric=fleece, material="interfacing")
    assert verify(*made) == []
    whole = (place(placket, (0, 0), rotation=90, region="strip"),)
    made = scene(placket, whole, length=200, waste=96.0, fabric=fleece, material="interfacing")
    (fault,) = verify(*made)
    assert "up to 80.00 mm off" in fault.message
    (fault,) = verify(*scene(placket, (), length=200, waste=96.0, fabric=fleece, material="interfacing"))
    assert fault.message == "Pocket, strip: 1 asked for and 0 laid out"


def test_several_garments_multiply_the_counts() -> None:
    """Three mirrored a garment, two garments: four of one hand, two of the other, whichever."""
    odd = piece(TRIANGLE, 3, "mirrored")
    drawn = [place(odd, (0, 100 * k)) for k in range(2)]
    mirrored = [place(odd, (0, 200 + 100 * k), mirrored=True) for k in range(4)]
    made = scene(odd, (*drawn, *mirrored), length=200, waste=70.0, quantity=2)
    assert verify(*made) == []


def test_bias_piece_has_its_grain_and_not_its_edge_along_the_cloth() -> None:
    """A strip drawn with its grain at 45° lies askew on the cloth, and only so."""
    strip = piece(SQUARE, grain=((50.0, 50.0), (120.0, 120.0)))
    side = 200 * 2**0.5
    laid = (place(strip, (0, 0)),)
    made = scene(strip, laid, length=side, waste=100 * (1 - 40000 / (side * 1000)), buy=300.0)
    assert verify(*made) == []


def test_length_to_buy_counts_shrinkage_and_whole_eighths_of_a_yard() -> None:
    """1 yd = 914.4 mm exactly (international yard and pound agreement, 1959), so an eighth is 114.3 mm.

    200 mm after 4 % shrinkage is 208.33 mm before it: two eighths, 228.6 mm.
    """
    square = piece(SQUARE)
    cloth = replace(CLOTH, shrink_along=0.04, step=114.3)
    made = scene(square, (place(square, (0, 0)),), length=200, waste=80.0, buy=228.6, fabric=cloth)
    assert verify(*made) == []


def test_shrinkage_across_narrows_the_cloth() -> None:
    """1000 mm that shrink 5 % leave 950 mm, folded at 475 mm."""
    back = half_piece()
    cloth = replace(CLOTH, shrink_across=0.05)
    laid = (place(back, (0, 375), mirrored=True, on_fold=True),)
    layout, job = scene(
        back,
        laid,
        lay="lengthwise fold",
        length=300,
        waste=100 * (1 - 60 / 285),
        fabric=cloth,
        bands=bands_of("lengthwise fold", 300.0, 950.0),
    )
    laid_out = replace(layout.materials[0], width=950.0, usable=(0.0, 950.0))
    assert verify(replace(layout, materials=(laid_out,)), job) == []


def test_marks_are_placed_with_the_piece() -> None:
    back = replace(half_piece(), notches=(Notch("hem", (300.0, 40.0)),))
    laid = (place(back, (0, 400), mirrored=True, on_fold=True),)
    assert laid[0].notches == (Notch("hem", (300.0, 460.0)),)
    assert verify(*scene(back, laid, lay="lengthwise fold", length=300, waste=80.0)) == []


def test_guides_are_never_cut() -> None:
    guide = piece(HALF, number="9", cuts=())
    square = piece(SQUARE)
    made = scene((guide, square), (place(square, (0, 0)),), length=200, waste=80.0)
    assert verify(*made) == []
    made = scene(
        (guide, square), (place(square, (0, 0)), place(guide, (0, 300))), length=300, waste=100 * (1 - 4 / 30)
    )
    (fault,) = verify(*made)
    assert fault.piece == "9" and "nothing like it is asked for" in fault.message


@pytest.mark.parametrize("turn", [0.0, 17.0, 90.0, 233.0])
def test_how_the_pattern_was_drawn_on_its_sheet_does_not_matter(turn: float) -> None:
    """Outline and grain turned together on the sheet come out the same on the cloth."""
    from shapely.affinity import rotate
    from shapely.geometry import LineString, Polygon

    ring = tuple(rotate(Polygon(TRIANGLE), turn, origin=(0, 0)).exterior.coords[:-1])
    tail, head = rotate(LineString(((20, 30), (120, 30))), turn, origin=(0, 0)).coords
    pair = piece(ring, 2, "mirrored", grain=(tail, head))
    laid = (place(pair, (0, 0)), place(pair, (0, 100), mirrored=True))
    assert verify(*scene(pair, laid, length=200, waste=90.0)) == []


def test_piece_with_a_slit_that_rounding_makes_touch_itself() -> None:
    """Cut in by 15 mm and 0.01 mm wide at the mouth: drawn it is a valid polygon, rounded it is none."""
    from shapely.geometry import Polygon

    slit = (
        (0.0, 0.0),
        (200.0, 0.0),
        (200.0, 99.996),
        (185.0, 100.0),
        (200.0, 100.004),
        (200.0, 200.0),
        (0.0, 200.0),
    )
    pocket = piece(slit)
    (laid,) = (place(pocket, (0, 0)),)
    laid = replace(laid, outline=tuple((round(x, 2), round(y, 2)) for x, y in laid.outline))
    assert Polygon(slit).is_valid and not Polygon(laid.outline).is_valid
    assert verify(*scene(pocket, (laid,), length=200, waste=80.0)) == []


def test_each_material_is_counted_by_itself() -> None:
    """A collar of 200 by 200 mm: two of fabric, one of interfacing on a cloth of its own."""
    collar = piece(SQUARE, cuts=(Cut("fabric", 2, "alike"), Cut("interfacing", 1, "alike")))
    two, job = scene(collar, (place(collar, (0, 0)), place(collar, (0, 200))), length=200, waste=60.0)
    one, _ = scene(collar, (place(collar, (0, 0)),), length=200, waste=80.0, material="interfacing")
    job = replace(job, fabrics={"fabric": CLOTH, "interfacing": CLOTH})
    assert verify(replace(two, materials=(*two.materials, *one.materials)), job) == []
    swapped = (
        replace(one.materials[0], material="fabric"),
        replace(two.materials[0], material="interfacing"),
    )
    messages = [fault.message for fault in verify(replace(two, materials=swapped), job)]
    assert "Pocket: 2 asked for and 1 laid out" in messages
    assert "Pocket: 1 asked for and 2 laid out" in messages


def test_cuts_of_one_piece_add_up() -> None:
    """A mirrored pair and one more as drawn: two of one hand and one of the other."""
    pocket = piece(TRIANGLE, cuts=(Cut("fabric", 2, "mirrored"), Cut("fabric", 1, "alike")))
    laid = [place(pocket, (0, 0)), place(pocket, (0, 100)), place(pocket, (0, 200), mirrored=True)]
    assert verify(*scene(pocket, tuple(laid), length=200, waste=85.0)) == []
    laid[1] = place(pocket, (0, 100), mirrored=True)
    (fault,) = verify(*scene(pocket, tuple(laid), length=200, waste=85.0))
    assert (
        fault.message == "Pocket: 2 as drawn and 1 mirrored asked for and 1 as drawn and 2 mirrored laid out"
    )


def test_half_on_the_fold_is_the_same_whole_either_way_even_where_the_grain_is_drawn_askew() -> None:
    """The fold, drawn half a degree off the grain, lies on the fold; the grain is off by that."""
    way = math.radians(0.5)
    back = replace(half_piece(2), grain=((0.0, 0.0), (100 * math.cos(way), 100 * math.sin(way))))
    laid = (
        place(back, (0, 400), rotation=180.5, on_fold=True),
        place(back, (300, 400), rotation=-0.5, mirrored=True, on_fold=True),
    )
    cloth = replace(CLOTH, grain_tolerance=0.5)
    assert verify(*scene(back, laid, lay="lengthwise fold", length=600, waste=80.0, fabric=cloth)) == []
