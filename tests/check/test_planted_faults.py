"""Every fault planted by hand in a good layout is found, and nothing else is said."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from marker.check import verify
from marker.model.job import Job
from marker.model.layout import Band, Layout, Placement
from marker.model.piece import Cut, Notch
from tests.check.scenes import (
    CLOTH,
    FOLD,
    HALF,
    SQUARE,
    TRIANGLE,
    WHOLE,
    bands_of,
    changed,
    half_piece,
    only,
    piece,
    place,
    scene,
    untold,
    with_moved,
    with_placement,
)

# A strip 500 mm along and 100 mm across, with one slanting end so that it has a top, a bottom and a hand.
STRIP = ((0.0, 0.0), (500.0, 0.0), (450.0, 100.0), (0.0, 100.0))
STRIP_AREA = 47500.0


def strips(count: int = 2, **cloth: object) -> tuple[Layout, Job]:
    """Strips above one another on open cloth, touching, each the same way round."""
    strip = piece(STRIP, count)
    laid = tuple(place(strip, (0, 100 * k)) for k in range(count))
    fabric = replace(CLOTH, **cloth)  # type: ignore[arg-type]
    return scene(strip, laid, length=500, waste=100 * (1 - count * STRIP_AREA / 500_000), fabric=fabric)


def folded_back() -> tuple[Layout, Job]:
    """A half on the fold at 500 mm, and a mirrored pair of triangles beside it."""
    back, pair = half_piece(), piece(TRIANGLE, 2, "mirrored", number="2")
    laid = (
        place(back, (0, 400), mirrored=True, on_fold=True),
        place(pair, (0, 100), copies=2),
    )
    return scene((back, pair), laid, lay="lengthwise fold", length=300, waste=100 * (1 - 80 / 300))


def test_the_unplanted_scenes_hold() -> None:
    assert verify(*strips()) == []
    assert verify(*folded_back()) == []


# Overlap


def test_shifted_piece() -> None:
    layout, job = strips()
    assert "overlap by up to 5.0" in only(with_moved(layout, 1, 0, -5), job).message


def test_long_thin_overlap() -> None:
    """0.05 mm deep and 450 mm long: an area of 22 mm², less than many slivers of rounding elsewhere."""
    layout, job = strips()
    assert "overlap by up to 0.05 mm" in only(with_moved(layout, 1, 0, -0.05), job).message
    assert verify(with_moved(layout, 1, 0, -0.015), job) == []


def test_piece_within_another() -> None:
    big, small = piece(SQUARE), piece(((0, 0), (20, 0), (20, 20), (0, 20)), number="2", name="Patch")
    laid = (place(big, (0, 0)), place(small, (90, 90)))
    fault = only(*scene((big, small), laid, length=200, waste=100 * (1 - 0.0404 / 0.2)))
    assert "Pocket" in fault.message and "Patch" in fault.message and "overlap" in fault.message


def test_piece_exactly_on_another_of_the_same_kind() -> None:
    layout, job = strips()
    assert "overlap" in only(with_moved(layout, 1, 0, -100), job).message


def test_overlap_on_two_layers_is_told_once() -> None:
    layout, job = folded_back()
    fault = only(with_moved(layout, 1, 0, 210), job)
    assert fault.piece == "1" and "overlap" in fault.message


def test_overlap_across_the_border_of_a_mixed_spread() -> None:
    """The second layer of the folded stretch lies beyond the fold once the cloth is opened out.

    The square on the open stretch reaches back over the border at 900 mm across; on the folded cloth
    nothing is drawn there, but the pair's lower copy is.
    """
    pair, square = piece(SQUARE, 2), piece(SQUARE, number="2", name="Patch")
    bands = (Band((0.0, 200.0), (0.0, 500.0), 2, (500.0,)), Band((200.0, 400.0), (0.0, 1000.0), 1))
    laid = (place(pair, (0, 0), copies=2, band=0), place(square, (200, 800), band=1))
    made = scene(
        (pair, square), laid, lay="mixed: lengthwise fold, then open", length=400, waste=70.0, bands=bands
    )
    assert verify(*made) == []
    messages = [fault.message for fault in verify(with_moved(made[0], 1, -30, 0), made[1])]
    assert len(messages) == 2
    assert "reaches 30.00 mm over the end of its cloth at 200.00 mm along" in messages[0]
    assert "overlap by up to 30." in messages[1]


# Gap


def test_gap_too_small() -> None:
    layout, job = strips(gap=3.0)
    assert "0.00 mm apart and 3.00 mm are to be kept" in only(layout, job).message
    assert "2.90 mm apart" in only(with_moved(layout, 1, 0, 2.9), job).message
    assert verify(with_moved(layout, 1, 0, 3.0), job) == []
    overlapping = only(with_moved(layout, 1, 0, -1.0), job)
    assert "overlap" in overlapping.message


def test_gap_is_between_pieces_and_not_between_the_copies_of_one() -> None:
    """A pair that touches the fold touches itself there once the cloth is opened: one snip parts it."""
    pair = piece(TRIANGLE, 2, "mirrored")
    laid = (place(pair, (0, 400), copies=2),)
    cloth = replace(CLOTH, gap=5.0)
    assert verify(*scene(pair, laid, lay="lengthwise fold", length=200, waste=90.0, fabric=cloth)) == []


def test_gap_is_kept_across_the_border_of_a_mixed_spread() -> None:
    pair, square = piece(SQUARE, 2), piece(SQUARE, number="2")
    bands = (Band((0.0, 200.0), (0.0, 500.0), 2, (500.0,)), Band((200.0, 410.0), (0.0, 1000.0), 1))
    laid = (place(pair, (0, 0), copies=2, band=0), place(square, (202, 800), band=1))
    layout, job = scene(
        (pair, square),
        laid,
        lay="mixed: lengthwise fold, then open",
        length=410,
        buy=500.0,
        waste=100 * (1 - 0.12 / 0.41),
        bands=bands,
        fabric=replace(CLOTH, gap=5.0),
    )
    assert "2.00 mm apart" in only(layout, job).message
    assert verify(with_moved(layout, 1, 3, 0), job) == []


# Counts and hands


def test_missing_copy() -> None:
    layout, job = strips(3)
    fault = only(changed(layout, placements=layout.materials[0].placements[:2]), job)
    assert fault.message == "Pocket: 3 asked for and 2 laid out"
    assert (fault.material, fault.piece) == ("fabric", "1")


def test_extra_copy() -> None:
    layout, job = strips(2)
    more = place(job.pieces[0], (0, 200))
    fault = only(changed(layout, placements=(*layout.materials[0].placements, more)), job)
    assert fault.message == "Pocket: 2 asked for and 3 laid out"


def test_extra_copy_called_spare() -> None:
    layout, job = strips(2)
    more = place(job.pieces[0], (0, 200), spare=1)
    fault = only(changed(layout, placements=(*layout.materials[0].placements, more)), job)
    assert "gives 1, so 1 of them cannot be to spare" in fault.message


def test_missing_whole_piece() -> None:
    layout, job = folded_back()
    fault = only(changed(layout, placements=layout.materials[0].placements[1:]), job)
    assert fault.message == "Back: 1 asked for and 0 laid out"


def test_half_laid_off_the_fold_is_no_whole_piece() -> None:
    back = half_piece()
    made = scene(back, (place(back, (0, 0)),), length=300, waste=80.0)
    messages = [fault.message for fault in verify(*made)]
    assert len(messages) == 2
    assert "off the fold, and nothing like it is asked for" in messages[0]
    assert "Back: 1 asked for and 0 laid out" in messages[1]


def test_wrong_hand() -> None:
    """Two right fronts in place of a right and a left."""
    pair = piece(TRIANGLE, 2, "mirrored")
    laid = (place(pair, (0, 0)), place(pair, (0, 100)))
    fault = only(*scene(pair, laid, length=200, waste=90.0))
    assert fault.message == (
        "Pocket: 1 as drawn and 1 mirrored asked for and 2 as drawn and 0 mirrored laid out"
    )


def test_alike_pieces_of_both_hands() -> None:
    alike = piece(TRIANGLE, 2)
    laid = (place(alike, (0, 0)), place(alike, (0, 100), mirrored=True))
    assert "2 as drawn and 0 mirrored asked for" in only(*scene(alike, laid, length=200, waste=90.0)).message


def test_alike_pieces_from_two_layers_need_a_placement_each() -> None:
    """The lower layer gives the other hand, so one placement is one piece and one to spare."""
    alike = piece(TRIANGLE, 2)
    once = (place(alike, (0, 0), copies=2),)
    made = scene(alike, once, lay="lengthwise fold", length=200, waste=90.0)
    assert "1 as drawn and 1 mirrored laid out" in only(*made).message
    twice = (place(alike, (0, 0), copies=2, spare=1), place(alike, (0, 100), copies=2, spare=1))
    assert verify(*scene(alike, twice, lay="lengthwise fold", length=200, waste=90.0)) == []


def test_face_down_entered_as_face_up() -> None:
    layout, job = strips()
    face_down = place(job.pieces[0], (0, 100), mirrored=True)
    layout = with_placement(layout, 1, outline=face_down.outline, grain=face_down.grain)
    assert "wrong hand: it is entered face up and drawn the other way round" in only(layout, job).message
    face_up = place(job.pieces[0], (0, 100))
    layout = with_placement(layout, 1, outline=face_up.outline, grain=face_up.grain, mirrored=True)
    messages = [fault.message for fault in verify(layout, job)]
    assert any("entered face down and drawn the other way round" in message for message in messages)


def test_copies_misstated() -> None:
    layout, job = folded_back()
    assert "said to give 2 and gives 1" in only(with_placement(layout, 0, copies=2), job).message
    assert "said to give 1 and gives 2" in only(with_placement(layout, 1, copies=1), job).message


def test_on_the_fold_and_opened_out_at_once() -> None:
    layout, job = folded_back()
    messages = [fault.message for fault in verify(with_placement(layout, 0, opened=True), job)]
    assert any("cannot be on the fold and opened out at once" in message for message in messages)


def test_spare_misstated() -> None:
    layout, job = folded_back()
    fault = only(with_placement(layout, 1, spare=1), job)
    assert fault.message == "Pocket: 2 asked for and 2 laid out, 1 of them to spare"


def test_piece_that_is_not_in_the_pattern() -> None:
    layout, job = strips()
    messages = [fault.message for fault in verify(with_placement(layout, 1, piece="77"), job)]
    assert len(messages) == 2 and "nothing like it is asked for" in messages[0]


def test_wrong_name() -> None:
    layout, job = strips()
    assert "is called “Pocket” in the pattern" in only(with_placement(layout, 0, name="Sleeve"), job).message


def test_material_left_out_doubled_or_invented() -> None:
    layout, job = strips()
    assert only(replace(layout, materials=()), job).message == "fabric is to be cut and is not laid out"
    twice = replace(layout, materials=layout.materials * 2)
    assert only(twice, job).message == "fabric is to be cut and is laid out more than once"
    lining = replace(layout.materials[0], material="lining")
    invented = replace(layout, materials=(*layout.materials, lining))
    assert only(invented, job).message == "nothing is to be cut from lining"
    assert only(layout, replace(job, fabrics={})).message == "no fabric is chosen for fabric"


def test_layout_of_another_size_view_or_quantity() -> None:
    layout, job = strips()
    assert only(replace(layout, size="L"), job).message == "the layout is for size L and M is asked for"
    assert "view B" in only(replace(layout, view="B"), job).message
    assert "number of garments 4" in only(replace(layout, quantity=4), job).message


# Shape, grain, nap


def test_scaled_outline() -> None:
    """A tenth of a per cent smaller: 0.25 mm at each end of a strip of 500 mm."""
    layout, job = strips()
    small = tuple((x * 0.999, y * 0.999) for x, y in layout.materials[0].placements[0].outline)
    fault = only(with_placement(layout, 0, outline=small), job)
    assert "does not have the shape" in fault.message and "0.25 mm off" in fault.message


def test_distorted_outline() -> None:
    """One corner 0.1 mm out of place; 0.01 mm is the lattice's rounding."""
    layout, job = strips()
    outline = layout.materials[0].placements[1].outline
    for off, holds in ((0.01, True), (0.1, False)):
        corners = tuple((x, y + off) if (x, y) == (450.0, 200.0) else (x, y) for x, y in outline)
        assert corners != outline
        assert (verify(with_placement(layout, 1, outline=corners), job) == []) is holds


def test_outline_with_its_corners_in_another_order() -> None:
    """All corners in place, yet the outline crosses itself."""
    layout, job = strips(1)
    a, b, c, d = layout.materials[0].placements[0].outline
    assert "does not have the shape" in only(with_placement(layout, 0, outline=(a, c, b, d)), job).message


def test_outline_with_a_hole_the_piece_does_not_have() -> None:
    layout, job = strips(1)
    hole = ((100.0, 40.0), (100.0, 60.0), (120.0, 60.0), (120.0, 40.0))
    assert "does not have the shape" in only(with_placement(layout, 0, holes=(hole,)), job).message


def test_outline_that_is_none() -> None:
    layout, job = strips(1)
    for outline in ((), ((0.0, 0.0), (1.0, 1.0)), ((0.0, 0.0), (1.0, math.nan), (0.0, 1.0))):
        messages = [fault.message for fault in verify(with_placement(layout, 0, outline=outline), job)]
        assert messages[0] == "Pocket has an outline of less than three proper points"
    flat = ((0.0, 0.0), (100.0, 0.0), (200.0, 0.0))
    fault = only(with_placement(layout, 0, outline=flat), job)
    assert fault.message == "Pocket has an outline that encloses nothing"


def test_off_grain() -> None:
    """Two degrees off, where one is granted; a hundredth more is rounding."""
    strip = piece(STRIP)
    for turn, holds in ((1.0, True), (1.009, True), (2.0, False), (-2.0, False), (181.0, True)):
        laid = place(strip, (0, 0), rotation=turn)
        length = max(x for x, _ in laid.outline)
        layout, job = scene(
            strip,
            (laid,),
            length=length,
            buy=100.0 * math.ceil(length / 100),
            waste=100 * (1 - STRIP_AREA / (length * 1000)),
            fabric=replace(CLOTH, grain_tolerance=1.0),
        )
        if holds:
            assert verify(layout, job) == []
        else:
            assert "lies 2.00° off the grain, 1° are allowed" in only(layout, job).message


def test_outline_turned_and_not_entered() -> None:
    """Half a degree makes 4 mm over half a metre."""
    strip = piece(STRIP)
    laid = replace(place(strip, (0, 0), rotation=0.5), rotation=0.0)
    length = max(x for x, _ in laid.outline)
    waste = 100 * (1 - STRIP_AREA / (length * 1000))
    messages = [f.message for f in verify(*scene(strip, (laid,), length=length, buy=600.0, waste=waste))]
    assert len(messages) == 2
    assert "does not have the shape of the pattern piece turned by 0.00°" in messages[0]
    assert "grain arrow drawn 0.50° off" in messages[1]


def test_turned_end_for_end_and_not_entered() -> None:
    layout, job = strips()
    other = place(job.pieces[0], (0, 100), rotation=180)
    layout = with_placement(layout, 1, outline=other.outline)
    assert "end for end against the 0.00° it is entered with" in only(layout, job).message


def test_grain_line_off_its_place_on_the_piece() -> None:
    layout, job = strips()
    (x0, y0), (x1, y1) = layout.materials[0].placements[0].grain
    up = with_placement(layout, 0, grain=((x0, y0 + 1), (x1, y1 + 1)))
    assert "grain line 1.00 mm off its place" in only(up, job).message
    none = with_placement(layout, 0, grain=((x0, y0), (x0, y0)))
    assert any("no grain direction" in fault.message for fault in verify(none, job))


def test_notch_and_drill_point_off_their_place() -> None:
    strip = replace(piece(STRIP), notches=(Notch("top", (450.0, 100.0)),), drills=((100.0, 50.0),))
    layout, job = scene(strip, (place(strip, (0, 0)),), length=500, waste=90.5)
    assert verify(layout, job) == []
    off = with_placement(layout, 0, notches=(Notch("top", (452.0, 100.0)),))
    assert "notch “top” 2.00 mm off its place" in only(off, job).message
    assert verify(with_placement(layout, 0, drills=((100.0, 50.0),)), job) == []
    off = with_placement(layout, 0, drills=((100.0, 51.0),))
    assert "drill point 1.00 mm off its place" in only(off, job).message


def test_marks_of_a_piece_opened_out_lie_on_either_half() -> None:
    """A notch at (300, 40) on the half is at (300, -40) on the other, and nowhere else."""
    back = replace(half_piece(), notches=(Notch("hem", (300.0, 40.0)),), drills=((50.0, 60.0),))
    layout, job = scene(back, (place(back, (0, 0), ring=WHOLE, opened=True),), length=300, waste=80.0)
    both = (Notch("hem", (300.0, 140.0)), Notch("hem", (300.0, 60.0)))
    layout = with_placement(layout, 0, notches=both, drills=((50.0, 160.0), (50.0, 40.0)))
    assert verify(layout, job) == []
    off = with_placement(layout, 0, notches=(*both, Notch("hem", (300.0, 100.0))))
    assert "notch “hem” 40.00 mm off" in only(off, job).message
    off = with_placement(layout, 0, drills=((50.0, 160.0), (50.0, 100.0)))
    assert "drill point 60.00 mm off" in only(off, job).message
    # On the half itself the mirrored mark would be wrong.
    half, job = scene(
        back,
        (place(back, (0, 400), mirrored=True, on_fold=True),),
        lay="lengthwise fold",
        length=300,
        waste=80.0,
    )
    assert verify(half, job) == []
    off = with_placement(half, 0, notches=(Notch("hem", (300.0, 540.0)),))
    assert "notch “hem” 80.00 mm off" in only(off, job).message


def test_grain_line_of_a_region_or_a_piece_opened_out_is_the_pieces_own() -> None:
    """In its place too, though that may lie off the region."""
    back = half_piece()
    opened = place(back, (0, 0), ring=WHOLE, opened=True)
    strip = ((0.0, 0.0), (200.0, 0.0), (200.0, 40.0), (0.0, 40.0))
    placket = piece(SQUARE, cuts=(Cut("fabric", 1, "alike", strip, "strip"),))
    region = place(placket, (0, 0), ring=strip, region="strip")
    for what, laid, length, waste in ((back, opened, 300, 80.0), (placket, region, 200, 96.0)):
        assert verify(*scene(what, (laid,), length=length, waste=waste)) == []
        (x0, y0), (x1, y1) = laid.grain
        aside = replace(laid, grain=((x0, y0 + 7), (x1, y1 + 7)))
        fault = only(*scene(what, (aside,), length=length, waste=waste))
        assert "has its grain line 7.00 mm off its place on the piece" in fault.message
        turned = replace(laid, grain=((x0, y0), (x1, y1 + 7)))
        faults = [fault.message for fault in verify(*scene(what, (turned,), length=length, waste=waste))]
        assert any("has its grain arrow drawn 4.00° off" in message for message in faults)


def test_flipped_nap() -> None:
    """Of three strips with a nap one lies end for end: that one is named."""
    layout, job = strips(3, nap=True)
    assert verify(layout, job) == []
    placements = list(layout.materials[0].placements)
    placements[1] = place(job.pieces[0], (0, 100), rotation=180)
    turned = changed(layout, placements=tuple(placements))
    fault = only(turned, job)
    assert "against the nap" in fault.message and "150 mm across" in fault.message
    assert verify(turned, replace(job, fabrics={"fabric": CLOTH})) == []


def test_all_turned_the_same_way_keeps_the_nap() -> None:
    strip = piece(STRIP, 2)
    laid = (place(strip, (0, 0), rotation=180), place(strip, (0, 100), rotation=180))
    assert verify(*scene(strip, laid, length=500, waste=81.0, fabric=replace(CLOTH, nap=True))) == []


# Fold, selvage, band


def test_off_fold() -> None:
    layout, job = folded_back()
    assert "fold edge 3.00 mm off the fold" in only(with_moved(layout, 0, 0, -3), job).message
    assert verify(with_moved(layout, 0, 0, -0.015), job) == []
    assert "fold edge 0.03 mm off the fold" in only(with_moved(layout, 0, 0, -0.03), job).message


def test_fold_edge_away_from_the_fold() -> None:
    """The half lies at the fold, turned so that its other edge is there."""
    back = half_piece()
    laid = (place(back, (0, 400), on_fold=True),)
    fault = only(*scene(back, laid, lay="lengthwise fold", length=300, waste=80.0))
    assert "fold edge 100.00 mm off the fold" in fault.message


def test_on_fold_where_there_is_none() -> None:
    """On open cloth; and in a crosswise spread that has no fold along its length."""
    back = half_piece()
    laid = (place(back, (0, 0), on_fold=True),)
    messages = [fault.message for fault in verify(*scene(back, laid, length=300, waste=80.0))]
    assert len(messages) == 2
    assert "is to lie on a fold, and its band has none" in messages[0]
    assert "where the cloth is single" in messages[1]
    made = scene(back, laid, lay="crosswise fold", length=600, waste=90.0)
    assert "fold edge 300.00 mm off the fold" in only(*made).message


def test_over_the_fold() -> None:
    layout, job = folded_back()
    pair = place(job.pieces[1], (50, 330), copies=2)
    back = place(job.pieces[0], (0, 300), ring=WHOLE, opened=True)
    moved = changed(
        layout, placements=(layout.materials[0].placements[0], replace(pair, outline=pair.outline))
    )
    assert any("overlap" in fault.message for fault in verify(moved, job))
    lone = scene(
        job.pieces[1],
        (place(job.pieces[1], (0, 430), copies=2),),
        lay="lengthwise fold",
        length=200,
        waste=90.0,
    )
    assert "reaches 30.00 mm over the fold at 500.00 mm across" in only(*lone).message
    over = scene(job.pieces[0], (replace(back, copies=2),), lay="lengthwise fold", length=300, waste=80.0)
    assert any("1 asked for and 2 laid out" in fault.message for fault in verify(*over))


def test_over_the_selvage() -> None:
    strip = piece(STRIP)
    cloth = replace(CLOTH, selvage=10.0)
    layout, job = scene(strip, (place(strip, (0, 10)),), length=500, waste=90.5, fabric=cloth)
    assert verify(layout, job) == []
    below = "reaches 4.00 mm over the edge of the cloth to be used at 10.00 mm across"
    assert below in only(with_moved(layout, 0, 0, -4), job).message
    above = "reaches 7.00 mm over the edge of the cloth to be used at 990.00 mm across"
    assert above in only(with_moved(layout, 0, 0, 887), job).message


def test_over_the_cut_end() -> None:
    layout, job = strips(1)
    assert "over the end of its cloth at 0.00 mm along" in only(with_moved(layout, 0, -2, 0), job).message


def test_over_a_crosswise_fold() -> None:
    pair = piece(TRIANGLE, 2, "mirrored")
    layout, job = scene(pair, (place(pair, (0, 0), copies=2),), lay="crosswise fold", length=400, waste=95.0)
    assert verify(layout, job) == []
    assert "2.00 mm over the fold at 0.00 mm along" in only(with_moved(layout, 0, -2, 0), job).message


def test_in_no_band() -> None:
    """Named wrongly, or lying on the single cloth while entered on the folded."""
    layout, job = strips(1)
    messages = [fault.message for fault in verify(with_placement(layout, 0, band=3), job)]
    assert messages[0] == "Pocket lies on no band of the cloth"
    pair = piece(TRIANGLE, 2, "mirrored")
    made = scene(pair, (place(pair, (0, 0), copies=2, band=1),), lay="partial fold", length=200, waste=90.0)
    assert "reaches 400.00 mm over the edge" in only(*made).message


def test_what_is_laid_and_not_asked_for_is_described() -> None:
    square = piece(SQUARE)
    for laid, told in (
        (place(square, (0, 300), region="strip"), "off the fold, region “strip”"),
        (place(square, (0, 300), opened=True), "opened out"),
    ):
        (fault,) = verify(*scene(square, (place(square, (0, 0)), laid), length=200, waste=80.0))
        assert fault.message.endswith(f"is laid {told}, and nothing like it is asked for")
    halves = (place(square, (0, 0), copies=2, spare=1), place(square, (0, 300), mirrored=True, on_fold=True))
    (fault,) = verify(*scene(square, halves, lay="lengthwise fold", length=200, waste=80.0))
    assert fault.message.endswith("is laid on the fold, and nothing like it is asked for")


def test_piece_on_the_fold_of_a_band_that_cannot_be() -> None:
    """While the bands are in doubt nothing is said about the fold."""
    layout, job = folded_back()
    wrong = changed(layout, bands=(Band((0, 300), (0, 510), 2, (510,)),))
    assert "is no part of a cloth" in verify(wrong, job)[0].message
    assert not any("off the fold" in fault.message for fault in verify(wrong, job))


@pytest.mark.parametrize(
    ("lay", "band"),
    [
        ("open", Band((0, 500), (-20, 1020), 1)),
        ("open", Band((0, 500), (0, 1000), 2)),
        ("lengthwise fold", Band((0, 500), (0, 600), 2, (600,))),
        ("lengthwise fold", Band((0, 500), (0, 500), 2)),
        ("lengthwise fold", Band((0, 500), (0, 1000), 2, (1000,))),
        ("crosswise fold", Band((0, 250), (0, 1000), 2, (1000,))),
        ("crosswise fold", Band((0, 250), (0, 1000), 2, (0,))),
        ("crosswise fold", Band((0, 250), (0, 1000), 2)),
        ("crosswise fold", Band((0, 250), (0, 1000), 2, (), 100.0)),
        ("partial fold", Band((0, 500), (400, 700), 2, (700,))),
    ],
)
def test_bands_that_cloth_cannot_have(lay: str, band: Band) -> None:
    strip = piece(((0, 0), (100, 0), (100, 50), (0, 50)), 2)
    laid = tuple(place(strip, (0, 450 + 60 * k)) for k in range(2))
    layout, job = scene(strip, laid, lay=lay, length=500, waste=98.0, bands=(band,))
    messages = [fault.message for fault in verify(layout, job)]
    assert any("is no part of a cloth 1000.00 mm wide laid" in m or "lacks its band" in m for m in messages)


def test_the_same_band_twice() -> None:
    layout, job = strips(1)
    twice = changed(layout, bands=layout.materials[0].bands * 2)
    assert "is no part of a cloth" in only(twice, job).message


def test_partial_fold_deeper_than_the_cloth() -> None:
    """600 mm cannot be turned over on 1000 mm of cloth: the layer would hang over the other selvage."""
    pair = piece(TRIANGLE, 2, "mirrored")
    bands = (Band((0, 200), (0, -200), 1), Band((0, 200), (-200, 400), 2, (400,)))
    laid = (place(pair, (0, 0), copies=2, band=1),)
    messages = [
        f.message for f in verify(*scene(pair, laid, lay="partial fold", length=200, waste=90.0, bands=bands))
    ]
    assert len(messages) == 2 and all("is no part of a cloth" in message for message in messages)


def test_fold_turned_over_by_less_than_its_selvage() -> None:
    """5 mm turned over, of which 10 mm are selvage: nothing is left to cut from two layers."""
    strip = piece(STRIP)
    bands = (Band((0, 500), (10, 990), 1), Band((0, 500), (1000, 995), 2, (995,)))
    laid = (place(strip, (0, 10)),)
    cloth = replace(CLOTH, selvage=10.0)
    made = scene(strip, laid, lay="partial fold", length=500, waste=90.5, fabric=cloth, bands=bands)
    assert all("is no part of a cloth" in fault.message for fault in verify(*made)) and verify(*made)


@pytest.mark.parametrize(
    "lay",
    [
        "in a heap",
        "",
        "mixed: open",
        "open, then open",
        "mixed: crosswise fold, then open",
        "mixed: open, then",
    ],
)
def test_lay_that_means_nothing(lay: str) -> None:
    layout, job = strips(1)
    assert (
        only(changed(layout, lay=lay), job).message
        == f"“{lay}” is no way of spreading cloth that can be checked"
    )


def test_stretches_that_do_not_follow_one_another() -> None:
    layout, job = strips(1)
    lay = "mixed: open, then lengthwise fold"
    assert "has 2 stretches and 1 are listed" in only(changed(layout, lay=lay), job).message
    for apart, ends in (((600, 700), 700.0), ((400, 700), 700.0)):
        bands = (Band((0, 500), (0, 1000), 1), Band(apart, (0, 500), 2, (500,)))
        gone = changed(
            layout, lay=lay, bands=bands, length=ends, buy=ends, waste_percent=100 * (1 - 47.5 / ends)
        )
        assert "must begin at 500.00 mm" in only(gone, job).message
    bands = (Band((0, 600), (0, 1000), 1), Band((600, 500), (0, 500), 2, (500,)))
    assert "runs from 600.00 to 500.00 mm" in only(changed(layout, lay=lay, bands=bands), job).message


def test_spread_longer_than_the_length() -> None:
    layout, job = strips(1)
    longer = changed(layout, bands=bands_of("open", 700.0))
    assert (
        "the spread ends at 700.00 mm where the length stated makes it 500.00 mm" in only(longer, job).message
    )


def test_crosswise_fold_with_nap() -> None:
    pair = piece(TRIANGLE, 2, "mirrored")
    laid = (place(pair, (0, 0), copies=2),)
    made = scene(pair, laid, lay="crosswise fold", length=400, waste=95.0, fabric=replace(CLOTH, nap=True))
    assert "turns one layer end for end" in only(*made).message


def test_tube_laid_as_cloth_and_cloth_as_a_tube() -> None:
    pair = piece(TRIANGLE, 2, "mirrored")
    laid = (place(pair, (0, 0), copies=2),)
    tube = replace(CLOTH, width=500.0, tube=True)
    for lay, fabric in (("lengthwise fold", tube), ("tubular", CLOTH)):
        made = scene(pair, laid, lay=lay, length=200, waste=90.0, fabric=fabric)
        assert only(*made).message == "a tube is laid as a tube, and only a tube is"


# Flaws


def spot(x: float, y: float) -> tuple[tuple[float, float], ...]:
    return ((x - 5, y - 5), (x + 5, y - 5), (x + 5, y + 5), (x - 5, y + 5))


FLAW_SCENES = {
    # lay: (place of a square of 200 mm on the spread, its band, the length, its places on the flat cloth),
    # places by the square's lower left corner
    "open": ((100.0, 300.0), 0, 300.0, [(100, 300)]),
    "lengthwise fold": ((100.0, 250.0), 0, 300.0, [(100, 250), (100, 550)]),
    "selvages to the middle": ((100.0, 20.0), 0, 300.0, [(100, 270), (100, 30)]),
    "selvages to the middle, upper": ((100.0, 280.0), 1, 300.0, [(100, 530), (100, 770)]),
    "partial fold": ((100.0, 450.0), 1, 300.0, [(100, 450), (100, 750)]),
    "partial fold, single": ((100.0, 150.0), 0, 300.0, [(100, 150)]),
    "crosswise fold": ((10.0, 150.0), 0, 600.0, [(310, 150), (90, 150)]),
    "crosswise fold, at the far end": ((10.0, 150.0), 0, 600.0, [(10, 150), (390, 150)]),
    "tubular": ((100.0, 250.0), 0, 300.0, [(100, 250), (100, 550)]),
}


@pytest.mark.parametrize("name", FLAW_SCENES)
def test_piece_over_a_flaw_in_either_layer(name: str) -> None:
    """A spot in the middle of each flat place is a fault; just outside each corner it is none."""
    at, band, length, flat = FLAW_SCENES[name]
    lay = name.split(",")[0]
    square = piece(SQUARE, len(flat))
    laid = (place(square, at, copies=len(flat), band=band),)
    tube = lay == "tubular"
    cloth = replace(CLOTH, width=500.0 if tube else 1000.0, tube=tube)
    waste = 100 * (1 - len(flat) * 0.04 / (length / 1000))
    bands = (Band((0.0, 300.0), (0.0, 1000.0), 2, (), 300.0),) if "far end" in name else None
    layout, job = scene(square, laid, lay=lay, length=length, waste=waste, fabric=cloth, bands=bands)
    assert verify(layout, job) == []
    for x, y in flat:
        for dx, dy in ((100, 100), (2, 2), (198, 2), (2, 198), (198, 198)):
            flawed = replace(job, fabrics={"fabric": replace(cloth, flaws=(spot(x + dx, y + dy),))})
            assert "is cut over a flaw" in only(layout, flawed, flaws_told=False).message
        beside = tuple(spot(x + dx, y + dy) for dx in (-5.1, 205.1) for dy in (-5.1, 100, 205.1))
        assert untold(layout, replace(job, fabrics={"fabric": replace(cloth, flaws=beside)})) == []


def test_half_on_the_fold_over_a_flaw_of_the_lower_layer() -> None:
    layout, job = folded_back()
    flaws = (spot(250.0, 550.0),)
    fault = only(layout, replace(job, fabrics={"fabric": replace(CLOTH, flaws=flaws)}), flaws_told=False)
    assert fault.piece == "1" and "flaw" in fault.message


def test_flaws_are_not_looked_for_while_the_bands_are_in_doubt() -> None:
    """Where the spread does not fold back to flat cloth nobody can tell what lies over the flaw."""
    layout, job = folded_back()
    wrong = changed(layout, bands=(Band((0, 300), (0, 510), 2, (510,)),))
    flawed = replace(job, fabrics={"fabric": replace(CLOTH, flaws=(spot(250.0, 450.0),))})
    assert "flaw" in only(layout, flawed, flaws_told=False).message
    faults = verify(wrong, flawed)
    assert faults and not any("flaw" in fault.message for fault in faults)


# Lengths and the rest of what is stated


def test_wrong_length() -> None:
    layout, job = strips(1)
    short = changed(
        layout, length=490.0, buy=500.0, waste_percent=100 * (1 - 47.5 / 490), bands=bands_of("open", 490.0)
    )
    messages = [fault.message for fault in verify(short, job)]
    assert len(messages) == 2
    assert "reaches 10.00 mm over the end of its cloth at 490.00 mm" in messages[0]
    assert messages[1] == "the pieces reach to 500.00 mm along and the length stated ends at 490.00 mm"


def test_wrong_length_of_a_crosswise_fold() -> None:
    """Twice the spread: a piece that reaches to 200 mm takes 400 mm of cloth."""
    pair = piece(TRIANGLE, 2, "mirrored")
    laid = (place(pair, (0, 0), copies=2),)
    made = scene(pair, laid, lay="crosswise fold", length=390, buy=400.0, waste=100 * (1 - 20 / 390))
    messages = [fault.message for fault in verify(*made)]
    assert len(messages) == 2
    assert "reaches 5.00 mm over the end of its cloth at 195.00 mm along" in messages[0]
    assert messages[1] == "the pieces reach to 200.00 mm along and the length stated ends at 195.00 mm"


def test_wrong_waste() -> None:
    layout, job = strips(1)
    assert (
        "90.50 % of the cloth is waste and 90.40 % is stated"
        in only(changed(layout, waste_percent=90.4), job).message
    )


def test_wrong_length_to_buy() -> None:
    """500 mm in steps of 100 mm is 500 mm; after 3 % shrinkage it takes 515.46 mm, so 600 mm."""
    layout, job = strips(1)
    for stated in (400.0, 600.0, 510.0):
        assert "500.00 mm to buy" in only(changed(layout, buy=stated), job).message
    shrinking = replace(job, fabrics={"fabric": replace(CLOTH, shrink_along=0.03)})
    assert (
        "515.46 mm are needed, so 600.00 mm to buy, and 500.00 mm are stated"
        in only(layout, shrinking).message
    )
    assert verify(changed(layout, buy=600.0), shrinking) == []


def test_bound_above_the_length() -> None:
    layout, job = strips(1)
    assert "no layout is said to be under 510.00 mm" in only(changed(layout, lower_bound=510.0), job).message


def test_wrong_width_and_usable_cloth() -> None:
    layout, job = strips(1)
    assert "1000.00 mm wide and 1010.00 mm is stated" in only(changed(layout, width=1010.0), job).message
    assert "can be used from 0.00 to 1000.00 mm" in only(changed(layout, usable=(0.0, 990.0)), job).message


@pytest.mark.parametrize("name", ["width", "length", "buy", "waste_percent", "lower_bound"])
def test_numbers_that_are_none(name: str) -> None:
    layout, job = strips(1)
    assert "no proper number" in only(changed(layout, **{name: math.nan}), job).message
    assert "no proper number" in only(changed(layout, length=0.0), job).message


def test_pieces_that_cannot_be_cut() -> None:
    """A region that does not reach its fold, a half without one, and an outline that encloses nothing."""
    island = ((50.0, 50.0), (100.0, 50.0), (100.0, 90.0), (50.0, 90.0))
    back = piece(HALF, cuts=(Cut("fabric", 1, "on fold", island, "island"),), fold_edge=FOLD)
    no_fold = piece(HALF, 1, "on fold")
    flat = piece(((0.0, 0.0), (50.0, 0.0), (100.0, 0.0)))
    for what in (back, no_fold, flat, piece(())):
        nothing: tuple[Placement, ...] = ()
        fault = only(*scene(what, nothing, length=100, waste=100.0))
        assert "has no outline or no fold edge that it could be cut by" in fault.message
