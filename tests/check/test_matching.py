"""Prints that match and prints that do not, with every phase countable by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from marker.check import verify
from marker.model.amount import Amount
from marker.model.fabric import Print
from marker.model.job import Job
from marker.model.layout import Band, Layout
from marker.model.match import Match
from marker.model.piece import Cut, Notch
from tests.check.scenes import (
    CHECK,
    CLOTH,
    HALF,
    PANEL,
    WHOLE,
    both_halves,
    bought,
    changed,
    half_piece,
    matched,
    meet,
    only,
    piece,
    place,
    with_moved,
    with_placement,
)

# Notches 50 and 70 mm up from the foot of a panel, both on its straight edge.
FRONT = piece(PANEL, number="1", name="Front", notches=(Notch("hip", (50.0, 0.0)),))
BACK = piece(PANEL, number="2", name="Back", notches=(Notch("hip", (70.0, 0.0)),))


UNEVEN = replace(CHECK, even_across=False)


def hips(back: tuple[float, float] = (80.0, 300.0), **more: Any) -> tuple[Layout, Job]:
    """Front from x 0: its notch at 50, 20 mm past a bar. Back from 80: at 150, 20 mm past the next."""
    laid = (place(FRONT, (0, 0)), place(BACK, back))
    return matched((FRONT, BACK), laid, meet("hip"), length=300, **more)


def messages(made: tuple[Layout, Job]) -> list[str]:
    return [fault.message for fault in verify(*made)]


def first_of(layout: Layout, job: Job) -> str:
    return verify(layout, job)[0].message


# Lines across the cloth


def test_notches_at_the_same_place_of_the_repeat_meet() -> None:
    assert verify(*hips()) == []


def test_two_millimetres_along() -> None:
    layout, job = hips()
    fault = only(with_moved(layout, 1, 2, 0), job)
    assert fault.message == (
        "Front (middle at 100 mm along, 50 mm across) and Back (middle at 182 mm along, 350 mm across)"
        " miss each other at notch “hip” by 2.00 mm along the cloth"
    )
    assert (fault.material, fault.piece) == ("fabric", "2")
    assert "by 50.00 mm along" in only(with_moved(layout, 1, -50, 0), job).message


def test_a_whole_repeat_along_and_any_way_across() -> None:
    layout, job = hips((80.0, 300.0))
    assert verify(with_moved(layout, 1, 0, 17.3), job) == []
    back = with_moved(with_moved(layout, 1, -80, 0), 0, 20, 0)
    assert verify(with_moved(back, 1, 100, 0), job) == []


def test_the_tolerance_is_the_prints() -> None:
    layout, job = hips()
    assert verify(with_moved(layout, 1, 1.0, 0), job) == []
    assert "by 1.10 mm" in only(with_moved(layout, 1, 1.1, 0), job).message
    fine = replace(job, fabrics={"fabric": replace(CLOTH, print=replace(CHECK, tolerance=0.2))})
    assert "by 1.00 mm" in only(with_moved(layout, 1, 1.0, 0), fine).message


def test_where_the_cloth_begins_on_the_print_does_not_matter_to_pieces_laid_alike() -> None:
    layout, job = hips()
    for start in (0.0, 55.0, -12.0):
        moved = replace(CLOTH, print=replace(CHECK, start=(start, 0.0)))
        assert verify(layout, replace(job, fabrics={"fabric": moved})) == []


def test_turned_end_for_end_the_phase_is_counted_the_other_way() -> None:
    """The front's notch is 20 mm past a bar towards its top; turned, the back's must lie at x 110 or 210.

    Turned, the back's notch is at 130 mm from its lower end: from x 80 it lies at 210, 20 mm before a bar.
    """
    laid = (place(FRONT, (0, 0)), place(BACK, (80, 300), rotation=180))
    layout, job = matched((FRONT, BACK), laid, meet("hip"), length=300)
    assert verify(layout, job) == []
    assert "by 40.00 mm along" in only(with_moved(layout, 1, -40, 0), job).message
    # At the same place of the cloth both, but seen from the pieces on either side of a bar.
    one_way = replace(CLOTH, print=replace(CHECK, even_along=False))
    assert any(
        "against the nap" in fault.message
        for fault in verify(layout, replace(job, fabrics={"fabric": one_way}))
    )


def test_they_meet_at_the_stitching_line() -> None:
    """Cut notches 20 mm apart on the repeat, sewn ones at the same place of it; and the other way round."""
    sewn = replace(BACK, notches=(Notch("hip", (90.0, 0.0), (70.0, 15.0)),))
    laid = (place(FRONT, (0, 0)), place(sewn, (80, 300)))
    assert verify(*matched((FRONT, sewn), laid, meet("hip"), length=300)) == []
    only_cut = replace(BACK, notches=(Notch("hip", (70.0, 0.0), (90.0, 15.0)),))
    laid = (place(FRONT, (0, 0)), place(only_cut, (80, 300)))
    fault = only(*matched((FRONT, only_cut), laid, meet("hip"), length=300))
    assert "by 20.00 mm along" in fault.message


def test_the_one_that_misses_is_named_and_not_those_that_agree() -> None:
    many = replace(FRONT, cuts=(Cut("fabric", 3, "alike"),))
    laid = (place(many, (0, 0)), place(many, (0, 100)), place(many, (6, 200)), place(BACK, (80, 300)))
    fault = only(*matched((many, BACK), laid, meet("hip"), length=300))
    assert fault.piece == "1" and "250 mm across" in fault.message and "by 6.00 mm" in fault.message
    laid = (place(many, (6, 0)), place(many, (0, 100)), place(many, (0, 200)), place(BACK, (80, 300)))
    fault = only(*matched((many, BACK), laid, meet("hip"), length=300))
    assert "Front (middle at 106 mm along, 50 mm across) miss each other" in fault.message


def test_pieces_that_each_miss_a_third_by_less_than_the_tolerance_and_each_other_by_more() -> None:
    """At 0, 0.8 and 1.6 mm: the middle one agrees with both, the outer two miss each other."""
    many = replace(FRONT, cuts=(Cut("fabric", 3, "alike"),))
    laid = (place(many, (0.8, 0)), place(many, (0, 100)), place(many, (1.6, 200)))
    fault = only(*matched(many, laid, meet("hip"), length=300))
    assert "by 1.60 mm along" in fault.message


def test_marks_inside_a_piece_meet_as_notches_do() -> None:
    """A pocket on a front: its notch lies where the front has the mark."""
    front = piece(PANEL, number="1", name="Front", marks=(Notch("corner", (120.0, 40.0)),))
    pocket = piece(
        ((0, 0), (60, 0), (60, 50), (0, 40)),
        number="2",
        name="Pocket",
        notches=(Notch("corner", (60.0, 0.0)),),
    )
    # The mark at (120, 40); the pocket's corner at (220, 160): a repeat along, two across.
    laid = (place(front, (0, 0)), place(pocket, (160, 160)))
    layout, job = matched((front, pocket), laid, meet("corner", True, True), length=300)
    assert verify(layout, job) == []
    assert "at notch “corner” by 3.00 mm along" in only(with_moved(layout, 1, 3, 0), job).message
    assert "at notch “corner” by 3.00 mm across" in only(with_moved(layout, 1, 0, 3), job).message


def test_nothing_is_asked_of_regions_and_of_other_materials() -> None:
    strip = ((0.0, 0.0), (60.0, 0.0), (60.0, 40.0), (0.0, 40.0))
    front = replace(FRONT, cuts=(Cut("fabric", 1, "alike"), Cut("fabric", 1, "alike", strip, "strip")))
    laid = (
        place(front, (0, 0)),
        place(BACK, (80, 300)),
        replace(place(front, (13, 500), ring=strip, region="strip"), notches=()),
    )
    layout, job = matched((front, BACK), laid, meet("hip"), length=300)
    layout = changed(layout, waste_percent=100 * (1 - (36000 + 2400) / 300_000))
    assert verify(layout, job) == []


# How much is asked, and what is stated


def test_levels() -> None:
    """What is only for "everything" is not asked at "main"; at "none" nothing is, not even a whole repeat."""
    layout, job = hips((93.0, 300.0))
    fine = replace(job, matches=(meet("hip", level="everything"),))
    plain = bought(layout, 300.0)
    assert verify(changed(plain, matched="none"), fine) == []
    assert verify(plain, fine) == []
    every = replace(fine, matching="everything")
    assert "by 13.00 mm" in only(changed(layout, matched="everything"), every).message
    nothing = replace(job, matching="none")
    assert verify(changed(plain, matched="none"), nothing) == []


def test_the_level_stated_is_the_one_asked_for() -> None:
    layout, job = hips()
    for stated in ("none", "everything", ""):
        fault = only(changed(layout, matched=stated), job)
        assert fault.message == (f"the print is said to match at level “{stated}”, and “main” is asked for")
    plain = bought(layout, 300.0)
    assert "level “main”, and “none” is asked for" in only(plain, replace(job, matching="none")).message


def test_a_repeat_to_begin_on_is_bought_where_lines_across_the_cloth_must_match() -> None:
    """300 mm of lay and a repeat of 100, washed; as sold 400 / 0.8 = 500. The stated parts are those."""
    layout, job = hips()
    assert verify(bought(layout, 400.0), job) == []
    assert "400.00 mm are needed, so 400.00 mm to buy" in only(bought(layout, 300.0), job).message
    shrinking = replace(job, fabrics={"fabric": replace(job.fabrics["fabric"], shrink_along=0.2)})
    assert verify(bought(layout, 500.0), shrinking) == []
    right = Amount(300.0, 100.0, 100.0, 0.0)
    assert verify(changed(bought(layout, 500.0), parts=right), shrinking) == []
    for part in ("lay", "begin_on", "shrinkage", "rounding"):
        wrong = replace(right, **{part: getattr(right, part) + 0.5})
        fault = only(changed(bought(layout, 500.0), parts=wrong), shrinking)
        assert "of what is to buy are for" in fault.message
    # Nothing is lost at the beginning where only lines along the cloth must match, or there are no others.
    lengthwise = replace(job, matches=(meet("hip", False, True),))
    assert verify(bought(hips((80.0, 300.0))[0], 300.0), replace(lengthwise, matches=())) == []
    assert "300.00 mm are needed" in only(layout, replace(job, matches=())).message


def test_the_length_is_whole_repeats_when_lines_across_match() -> None:
    """The pieces end at 280 mm: 300 mm with a repeat of 100, so that every ply starts alike."""
    laid = (place(FRONT, (0, 0)), place(BACK, (80, 300)))
    made = matched((FRONT, BACK), laid, meet("hip"), length=280)
    assert only(*made).message == (
        "the length is 280.00 mm, 20.00 mm off a whole number of repeats of 100.00 mm"
    )
    made = matched((FRONT, BACK), laid, meet("hip", False, True), length=280)
    assert not any("whole number" in message for message in messages(made))


def test_spreads_that_say_nothing_about_the_print() -> None:
    panel = replace(FRONT, cuts=(Cut("fabric", 2, "mirrored"),))
    for lay, length in (("selvages to the middle", 300.0), ("crosswise fold", 600.0)):
        laid = (place(panel, (0, 20), copies=2),)
        made = matched(panel, laid, meet("hip"), length=length, lay=lay)
        assert f"nothing can be made to match on cloth laid “{lay}”" in messages(made)
        plain = matched(panel, laid, (), length=length, lay=lay, matching="none")
        assert verify(*plain) == []
    bands = (Band((0, 200), (0, 500), 2, (500,)), Band((200, 300), (0, 1000), 1))
    lay = "mixed: lengthwise fold, then open"
    made = matched(panel, (place(panel, (0, 0), copies=2),), meet("hip"), length=300, lay=lay, bands=bands)
    assert only(*made).message == f"nothing can be made to match on cloth laid “{lay}”"


def test_a_piece_that_has_to_match_does_not_tilt() -> None:
    cloth = replace(CLOTH, grain_tolerance=1.0)
    laid = (place(FRONT, (0, 0)), place(BACK, (80, 300), rotation=0.5))
    made = matched((FRONT, BACK), laid, meet("hip"), length=300, fabric=cloth)
    assert "lies 0.50° off the grain, and where the print must match nothing may tilt" in only(*made).message
    loose = replace(made[1], matching="none")
    assert verify(changed(bought(made[0], 300.0), matched="none"), loose) == []
    # Nor does it lie across a cloth that has no grain but a print.
    felt = replace(CLOTH, grain="any")
    laid = (place(FRONT, (0, 0)), place(BACK, (80, 300), rotation=90))
    assert "90.00° off" in only(*matched((FRONT, BACK), laid, meet("hip"), length=300, fabric=felt)).message


def test_the_notch_that_matches_is_shown_in_its_place() -> None:
    layout, job = hips()
    assert "lacks its notch “hip”" in only(with_placement(layout, 1, notches=()), job).message
    ((x, y),) = (notch.at for notch in layout.materials[0].placements[1].notches)
    wrong = with_placement(layout, 1, notches=(Notch("hip", (x + 2, y)),))
    assert "has notch “hip” 2.00 mm off its place" in only(wrong, job).message
    plain = with_placement(bought(layout, 300.0), 1, notches=())
    assert "lacks its notch “hip”" in only(plain, replace(job, matches=())).message


def test_a_piece_of_the_wrong_shape_is_told_as_that_and_not_as_a_print_that_misses() -> None:
    layout, job = hips()
    turned = place(BACK, (80, 300), rotation=180)
    assert "end for end" in only(with_placement(layout, 1, outline=turned.outline), job).message


# Lines along the cloth, on a print that is its own mirror image


def test_lengthwise_lines_meet_on_either_side_of_a_bar() -> None:
    """Bars at 20, 80, 140 ... mm across. The front's notch at 30: 10 mm off one, as at 70, 90, 310, 330."""
    laid = (place(FRONT, (0, 30)), place(BACK, (0, 310)))
    layout, job = matched((FRONT, BACK), laid, meet("hip", False, True), length=300)
    assert verify(layout, job) == []
    assert verify(with_moved(layout, 1, 33, 20), job) == []
    fault = only(with_moved(layout, 1, 0, 2), job)
    assert "miss each other at notch “hip” by 2.00 mm across the cloth" in fault.message
    assert "by 10.00 mm across" in only(with_moved(layout, 1, 0, 10), job).message


def test_left_and_right_show_the_same_part_of_the_print() -> None:
    """As drawn the straight edge is at 100, 20 mm above a bar; face down at 360, 20 mm below one."""
    pair = replace(FRONT, cuts=(Cut("fabric", 2, "mirrored"),))
    laid = (place(pair, (0, 100)), place(pair, (0, 260), mirrored=True))
    layout, job = matched(pair, laid, Match("pair", "1", True, True), length=300)
    assert verify(layout, job) == []
    for dx, dy, off in ((2, 0, "2.00 mm apart along"), (0, -2, "2.00 mm apart across")):
        message = only(with_moved(layout, 1, dx, dy), job).message
        assert "should show the same part of the print and are " + off in message
    # Mirrored about the wrong line its notch is as far from a bar, and everything else is not.
    wrong = with_moved(layout, 1, 0, 40)
    assert "20.00 mm apart across" in only(wrong, job).message
    assert verify(bought(wrong, 300.0), replace(job, matches=(meet("hip", False, True),))) == []


def test_a_pair_on_the_wrong_hand_is_no_pair() -> None:
    pair = replace(FRONT, cuts=(Cut("fabric", 2, "mirrored"),))
    laid = (place(pair, (0, 100)), place(pair, (0, 280)))
    made = matched(pair, laid, Match("pair", "1", True, True), length=200)
    assert "1 as drawn and 1 mirrored asked for" in only(*made).message


def folded(fold: float, **more: Any) -> tuple[Layout, Job]:
    """A mirrored pair in two layers, folded at ``fold``."""
    pair = replace(FRONT, cuts=(Cut("fabric", 2, "mirrored"),))
    laid = (place(pair, (0, 100), copies=2),)
    bands = (Band((0, 200), (0, fold), 2, (fold,)),)
    return matched(
        pair, laid, Match("pair", "1", True, True), length=200, lay="lengthwise fold", bands=bands, **more
    )


def test_two_layers_match_when_the_fold_lies_on_a_line_of_symmetry() -> None:
    """500 = 20 + 8 × 60 is the middle of a bar, 470 is half-way between two."""
    assert verify(*folded(500.0)) == []
    assert verify(*folded(470.0)) == []
    assert verify(*folded(410.0)) == []


def test_fold_off_the_line() -> None:
    """Off by 7 mm the second layer misses by 14."""
    first, second = messages(folded(477.0))
    assert first == (
        "the fold at 477.00 mm across lies 7.00 mm off the nearest line about which the print is its own"
        " mirror image"
    )
    assert second == (
        "the two layers of Front (middle at 100 mm along, 150 mm across) should show the same part of"
        " the print and are 14.00 mm apart across the cloth"
    )
    # The layers of a cloth folded 0.4 mm off miss each other by less than the tolerance.
    assert verify(*folded(470.4)) == []
    first, second = messages(folded(470.7))
    assert "lies 0.70 mm off" in first and "1.40 mm apart across" in second


def test_fold_in_the_middle_of_a_print_that_is_not_symmetrical_there() -> None:
    found = messages(folded(500.0, design=replace(CHECK, start=(30.0, 5.0))))
    assert len(found) == 2 and "lies 15.00 mm off" in found[0] and "30.00 mm apart across" in found[1]


def test_fold_off_the_middle_only_for_a_print_that_is_matched_lengthwise() -> None:
    layout, job = folded(470.0)
    plain = replace(job, matching="none")
    assert "is no part of a cloth" in first_of(changed(layout, matched="none"), plain)
    crosswise = replace(job, matches=(Match("pair", "1", True, False),))
    assert "is no part of a cloth" in first_of(layout, crosswise)
    above = changed(layout, bands=(Band((0, 200), (0, 530), 2, (530,)),))
    assert "is no part of a cloth" in first_of(above, job)


def test_piece_on_the_cloth_beyond_a_fold_below_the_middle() -> None:
    """With the fold at 410 mm the second layer ends at 820 mm: nothing may lie above the fold."""
    layout, job = folded(410.0)
    assert "2.00 mm over the fold at 410.00" in only(with_moved(layout, 0, 0, 212), job).message


def test_partial_fold_on_a_line_of_symmetry() -> None:
    """Turned over at 800 mm, which is 20 + 13 × 60; from 600 mm on the cloth is double."""
    pair = replace(FRONT, cuts=(Cut("fabric", 2, "mirrored"),))
    laid = (place(pair, (0, 650), copies=2, band=1),)
    more: dict[str, Any] = {"length": 200, "lay": "partial fold"}
    bands = (Band((0, 200), (0, 600), 1), Band((0, 200), (600, 800), 2, (800,)))
    match = Match("pair", "1", False, True)
    assert verify(*matched(pair, laid, match, bands=bands, **more)) == []
    bands = (Band((0, 200), (0, 608), 1), Band((0, 200), (608, 804), 2, (804,)))
    found = messages(matched(pair, laid, match, bands=bands, **more))
    assert len(found) == 2 and "lies 4.00 mm off" in found[0] and "8.00 mm apart" in found[1]


def test_tube_whose_folds_are_lines_of_symmetry() -> None:
    """A tube 500 mm wide with bars from its fold on and a repeat of 50 mm; with 60 mm its far fold is off."""
    tube = replace(CLOTH, width=500.0, tube=True)
    pair = replace(FRONT, cuts=(Cut("fabric", 2, "mirrored"),))
    laid = (place(pair, (0, 100), copies=2),)
    for across, start, faults in ((50.0, 0.0, 0), (60.0, 20.0, 1)):
        design = replace(CHECK, across=across, start=(0.0, start))
        layout, job = matched(
            pair,
            laid,
            Match("pair", "1", False, True),
            length=200,
            lay="tubular",
            fabric=tube,
            design=design,
        )
        layout = changed(layout, waste_percent=100 * (1 - 36000 / 200_000))
        found = [fault.message for fault in verify(layout, job)]
        assert len(found) == faults and all("the fold at 0.00 mm across lies 10.00" in f for f in found)


# Whole pieces


def test_a_whole_piece_opened_out_has_its_centre_on_a_middle() -> None:
    """300 by 200 mm, its centre at 200 = 20 + 3 × 60; its side seams at 100 and 300, 20 mm off bars."""
    back = half_piece(number="2", notches=(Notch("hip", (70.0, 100.0)),))
    opened = both_halves(place(back, (80, 100), ring=WHOLE, opened=True), 200.0)
    front = replace(FRONT, cuts=(Cut("fabric", 2, "mirrored"),))
    laid = (place(front, (0, 340)), place(front, (200, 480), mirrored=True), opened)
    layout, job = matched((front, back), laid, meet("hip", True, True), length=400)
    assert verify(layout, job) == []
    found = [fault.message for fault in verify(with_moved(layout, 2, 0, 2), job)]
    assert any("its centre line 2.00 mm across the cloth off the middle" in message for message in found)
    # Where only the lines across it match it may lie anywhere across.
    crosswise = replace(job, matches=(meet("hip", True, False),))
    assert verify(with_moved(layout, 2, 0, 2), crosswise) == []
    # Between two bars its sides agree with each other and with nothing that should be there.
    between = [fault.message for fault in verify(with_moved(layout, 2, 0, -30), job)]
    assert any("its centre line 30.00 mm across the cloth off" in message for message in between)


def test_an_opened_piece_without_the_notch_of_its_other_half() -> None:
    back = half_piece(number="2", notches=(Notch("hip", (70.0, 100.0)),))
    laid = (place(back, (80, 100), ring=WHOLE, opened=True),)
    layout, job = matched(back, laid, meet("hip", True, True), length=400)
    assert "lacks its notch “hip”" in only(layout, job).message
    whole = with_placement(layout, 0, notches=both_halves(laid[0], 200.0).notches)
    assert verify(whole, job) == []


def test_a_centre_line_that_leans_from_the_grain() -> None:
    """Half a degree over 300 mm: with the grain along the cloth the ends of the fold are 1.3 mm off."""
    way = math.radians(0.5)
    grain = ((0.0, 0.0), (100 * math.cos(way), 100 * math.sin(way)))
    back = half_piece(number="2", grain=grain, marks=(Notch("hip", (70.0, 100.0)),))
    opened = place(back, (0, 100), ring=WHOLE, opened=True)
    middle = (min(y for _, y in opened.outline) + max(y for _, y in opened.outline)) / 2
    layout, job = matched(back, (opened,), Match("pair", "2", False, True), length=400)
    fault = only(with_moved(layout, 0, 0, 200 - middle), job)
    assert "has its centre line 1.31 mm across the cloth off" in fault.message


def test_a_whole_piece_on_the_fold_has_the_fold_on_a_middle() -> None:
    """500 mm is a middle, and 470 mm, a line of symmetry too, is not."""
    back = half_piece(number="2", notches=(Notch("hip", (70.0, 100.0)),))
    match = meet("hip", False, True)
    for fold, holds in ((500.0, True), (470.0, False)):
        laid = (place(back, (0, fold - 100), mirrored=True, on_fold=True),)
        bands = (Band((0, 300), (0, fold), 2, (fold,)),)
        made = matched(back, laid, match, length=300, lay="lengthwise fold", bands=bands)
        if holds:
            assert verify(*made) == []
        else:
            assert "has its centre line 30.00 mm across the cloth off" in only(*made).message


GORE = ((0, 0), (200, 20), (200, 80), (0, 100))
SEAMS = (Notch("hip", (100.0, 10.0)), Notch("hip", (100.0, 90.0)))


def test_a_piece_that_is_its_own_mirror_image_has_its_centre_on_a_middle() -> None:
    """Two gores, outline and notches the same on both sides: middles at 140 and 260 mm, face up or down."""
    gore = piece(GORE, 2, "mirrored", notches=SEAMS)
    laid = (place(gore, (0, 90)), place(gore, (0, 210)))
    layout, job = matched(gore, laid, meet("hip", False, True), length=200)
    assert verify(layout, job) == []
    face_down = changed(layout, placements=(laid[0], place(gore, (0, 210), mirrored=True)))
    assert verify(face_down, job) == []
    both = with_moved(with_moved(layout, 0, 0, 7), 1, 0, 7)
    found = [fault.message for fault in verify(both, job)]
    assert sum("its centre line 7.00 mm across the cloth off" in message for message in found) == 2


def test_a_piece_with_notches_on_one_side_has_a_hand_where_the_print_must_match() -> None:
    """The outline alone would serve left and right: but two of a hand have their seams on the same side."""
    gore = piece(GORE, 2, "mirrored", notches=SEAMS[:1])
    laid = (place(gore, (0, 100)), place(gore, (0, 220)))
    made = matched(gore, laid, meet("hip", False, True), length=200)
    message = "Pocket: 1 as drawn and 1 mirrored asked for and 2 as drawn and 0 mirrored laid out"
    assert only(*made).message == message
    plain = replace(made[1], matching="none")
    assert verify(changed(made[0], matched="none"), plain) == []
    # As have those with another seam on the other side.
    seams = (Notch("hip", (100.0, 10.0)), Notch("side", (100.0, 90.0)))
    gore = piece(GORE, 2, "mirrored", notches=seams)
    laid = (place(gore, (0, 100)), place(gore, (0, 220)))
    assert only(*matched(gore, laid, meet("hip", False, True), length=200)).message == message
    # Notches at 110 and, face down, at 410: both half-way between two bars.
    laid = (place(gore, (0, 100)), place(gore, (0, 320), mirrored=True))
    layout, job = matched(gore, laid, meet("hip", False, True), length=200)
    assert (
        "miss each other at notch “hip” by 10.00 mm across"
        in only(with_moved(layout, 1, 0, -10), job).message
    )
    assert verify(with_moved(layout, 1, 0, 0), job) == []


def test_a_piece_that_is_the_same_end_for_end_has_a_hand_where_the_print_must_match() -> None:
    trapezium = piece(((0, 0), (200, 0), (150, 100), (50, 100)), 2, "mirrored")
    laid = (place(trapezium, (0, 100)), place(trapezium, (0, 220)))
    layout, job = matched(trapezium, laid, Match("pair", "1", True, False), length=200)
    assert "1 as drawn and 1 mirrored asked for" in only(layout, job).message
    assert verify(changed(bought(layout, 200.0), matched="none"), replace(job, matching="none")) == []


def test_an_own_mirror_image_on_an_uneven_print_offers_either_side() -> None:
    """Notches 10 and 90 mm up: at 110 and 190, 30 and 50 mm past bars; the panel's at 310 or 330."""
    gore = piece(GORE, notches=SEAMS, number="3")
    laid = (place(gore, (0, 100)), place(FRONT, (0, 290)))
    layout, job = matched((gore, FRONT), laid, meet("hip", False, True), length=300, design=UNEVEN)
    assert verify(layout, job) == []
    assert verify(with_moved(layout, 1, 0, 20), job) == []
    assert "by 10.00 mm across" in only(with_moved(layout, 1, 0, 30), job).message


# Centred pieces


def test_centre_of_a_piece_on_a_middle() -> None:
    """Without a place named: the middle of the outline. 200 by 100 mm from (30, 30): middle at 130 and 80."""
    panel = piece(PANEL, number="1", name="Front")
    layout, job = matched(panel, (place(panel, (30, 30)),), Match("centre", "1", True, True), length=300)
    assert verify(layout, job) == []
    told = "has its centre 2.00 mm {} the cloth off the middle of a bar or motif"
    assert told.format("along") in only(with_moved(layout, 0, 2, 0), job).message
    assert told.format("across") in only(with_moved(layout, 0, 0, 2), job).message
    lengthwise = replace(job, matches=(Match("centre", "1", False, True),))
    assert verify(bought(with_moved(layout, 0, 2, 0), 300.0), lengthwise) == []
    assert verify(with_moved(layout, 0, 0, 60), job) == []
    assert "30.00 mm across" in only(with_moved(layout, 0, 0, 30), job).message


def test_centre_at_a_notch_is_its_place_on_the_stitching_line() -> None:
    collar = piece(PANEL, number="1", notches=(Notch("centre back", (90.0, 0.0), (90.0, 15.0)),))
    layout, job = matched(
        collar, (place(collar, (0, 65)),), Match("centre", "1", False, True, at="centre back"), length=300
    )
    assert verify(layout, job) == []
    assert (
        "has “centre back” 15.00 mm across the cloth off" in only(with_moved(layout, 0, 0, 15), job).message
    )
    nowhere = replace(job, matches=(Match("centre", "1", False, True, at="top"),))
    assert "has nothing called “top” to be centred" in only(layout, nowhere).message


def test_centre_of_a_whole_piece_is_its_fold_edge() -> None:
    back = half_piece(number="2")
    laid = (place(back, (0, 100), ring=WHOLE, opened=True),)
    layout, job = matched(back, laid, Match("centre", "2", False, True), length=300)
    assert verify(layout, job) == []
    assert "has its centre 4.00 mm across" in only(with_moved(layout, 0, 0, 4), job).message
    # Laid the other way round, and on the fold, as well.
    turned = changed(layout, placements=(place(back, (0, 100), ring=WHOLE, opened=True, rotation=180),))
    assert verify(turned, job) == []
    laid = (place(back, (0, 400), mirrored=True, on_fold=True),)
    folded_there = matched(back, laid, Match("centre", "2", False, True), length=300, lay="lengthwise fold")
    assert verify(*folded_there) == []


# Prints that are not even


def test_a_print_with_a_way_has_all_pieces_one_way() -> None:
    """Also when the file of the fabric says nothing of a nap, and when nothing has to match."""
    for design in (replace(CHECK, even_along=False), replace(CHECK, even_across=False)):
        laid = (place(FRONT, (0, 0)), place(BACK, (80, 300), rotation=180))
        made = matched((FRONT, BACK), laid, (), length=300, design=design, matching="none")
        assert "against the nap" in only(*made).message
        same = (place(FRONT, (0, 0)), place(BACK, (80, 300)))
        assert verify(*matched((FRONT, BACK), same, (), length=300, design=design, matching="none")) == []


def test_an_uneven_print_is_not_cut_in_two_layers() -> None:
    pair = replace(FRONT, cuts=(Cut("fabric", 2, "mirrored"),))
    laid = (place(pair, (0, 100), copies=2),)
    more: dict[str, Any] = {"length": 200, "lay": "lengthwise fold", "design": UNEVEN}
    fault = only(*matched(pair, laid, meet("hip", False, True), **more))
    assert "cannot be cut in two layers: the second would run the other way" in fault.message
    assert verify(*matched(pair, laid, meet("hip", True, False), **more)) == []


def test_copies_all_alike_show_the_same_of_an_uneven_print() -> None:
    """Straight edges at 100 and 280, three repeats of 60 apart."""
    alike = replace(FRONT, cuts=(Cut("fabric", 2, "alike"),))
    laid = (place(alike, (0, 100)), place(alike, (0, 280)))
    layout, job = matched(alike, laid, Match("pair", "1", True, True), length=200, design=UNEVEN)
    assert verify(layout, job) == []
    assert "2.00 mm apart across" in only(with_moved(layout, 1, 0, 2), job).message
    assert verify(with_moved(layout, 1, 0, 60), job) == []


def test_on_an_uneven_print_bars_run_on_hand_by_hand() -> None:
    """Drawn pieces agree at the same place of the repeat, not at its mirror image; face-down ones too."""
    front, back = (replace(each, cuts=(Cut("fabric", 2, "mirrored"),)) for each in (FRONT, BACK))
    laid = (
        place(front, (0, 30)),
        place(back, (0, 150)),
        # Face down the straight edge is the upper one: at 407 and 527.
        place(front, (0, 307), mirrored=True),
        place(back, (0, 427), mirrored=True),
    )
    layout, job = matched((front, back), laid, meet("hip", False, True), length=200, design=UNEVEN)
    assert verify(layout, job) == []
    for index in range(4):
        assert "by 2.00 mm across" in only(with_moved(layout, index, 0, 2), job).message
    # Where it would agree as a mirror image: 50 mm instead of 10 mm past a bar.
    assert "by 20.00 mm across" in only(with_moved(layout, 1, 0, 40), job).message
    # Left and right need not agree: nothing about a bar is the same on either side.
    assert verify(layout, replace(job, matches=(*job.matches, Match("pair", "1", False, True)))) == []


def test_a_whole_piece_offers_either_side_of_an_uneven_print() -> None:
    """Sides at 100 and 300 mm: 20 and 40 mm past bars. Partners at either place agree, others do not."""
    back = half_piece(number="2", notches=(Notch("hip", (70.0, 100.0)),))
    opened = both_halves(place(back, (0, 100), ring=WHOLE, opened=True), 200.0)
    front = replace(FRONT, cuts=(Cut("fabric", 2, "mirrored"),))
    laid = (
        opened,
        # The straight edge at 340, 20 mm past a bar; and, face down, at 600, 40 mm past one.
        place(front, (0, 340)),
        place(front, (0, 500), mirrored=True),
    )
    match = meet("hip", False, True)
    layout, job = matched((front, back), laid, match, length=300, design=UNEVEN)
    assert verify(layout, job) == []
    assert verify(with_moved(layout, 2, 0, 40), job) == []
    assert "by 10.00 mm across" in only(with_moved(layout, 2, 0, 10), job).message
    assert "by 10.00 mm across" in only(with_moved(layout, 1, 0, -10), job).message


def test_two_whole_pieces_on_an_uneven_print_meet_on_one_side_at_least() -> None:
    """Sides at 100 and 300, and at 420 and 620 (20 and 0 mm past bars); moved by 10 mm no two agree."""
    back = half_piece(number="2", notches=(Notch("hip", (70.0, 100.0)),))
    front = half_piece(number="3", notches=(Notch("hip", (70.0, 100.0)),))
    laid = (
        both_halves(place(back, (0, 100), ring=WHOLE, opened=True), 200.0),
        both_halves(place(front, (0, 340), ring=WHOLE, opened=True), 440.0),
    )
    layout, job = matched((back, front), laid, meet("hip", False, True), length=300, design=UNEVEN)
    assert verify(layout, job) == []
    assert "by 10.00 mm across" in only(with_moved(layout, 1, 0, 10), job).message


# Any piece, any print


SHIFT = st.floats(-400.0, 400.0)


@settings(max_examples=60, deadline=None)
@given(
    repeat=st.floats(20.0, 150.0),
    start=st.floats(-100.0, 100.0),
    first=st.floats(0.0, 150.0),
    shift=SHIFT,
    turned=st.booleans(),
    times=st.integers(-3, 3),
)
def test_a_shift_along_is_caught_unless_it_is_whole_repeats(
    repeat: float, start: float, first: float, shift: float, turned: bool, times: int
) -> None:
    """Beside the check stands the print itself: a wave as long as the repeat, seen from both sides."""
    design = Print("stripes across", along=repeat, across=None, start=(start, 0.0))
    length = repeat * math.ceil(2400.0 / repeat)
    front = place(FRONT, (first, 0))
    # Brought to the front's phase by hand: notches 50 and 70 mm up, or 130 mm from the lower end when turned.
    at = first + 50.0
    wanted = 2 * start - at if turned else at
    left = wanted - (130.0 if turned else 70.0)
    left += repeat * math.ceil((900.0 - left) / repeat)
    back = place(BACK, (left, 300), rotation=180.0 if turned else 0.0)
    layout, job = matched(
        (FRONT, BACK),
        (front, back),
        meet("hip"),
        length=length,
        design=design,
        buy=100.0 * math.ceil(length / 100.0 - 1e-8),
    )
    assert verify(layout, job) == []
    assert verify(with_moved(layout, 1, times * repeat, 0), job) == []
    assert looks_the_same(layout, design) and looks_the_same(with_moved(layout, 1, times * repeat, 0), design)
    off = abs((shift + repeat / 2) % repeat - repeat / 2)
    assume(abs(off - design.tolerance) > 0.02)
    moved = with_moved(layout, 1, shift, 0)
    if off < design.tolerance:
        assert verify(moved, job) == []
    else:
        assert f"by {off:.2f} mm along" in only(moved, job).message
        assert not looks_the_same(moved, design)


def looks_the_same(layout: Layout, design: Print) -> bool:
    """The shade a step up and a step down either side of the notch, the top of each piece being up."""
    assert design.along is not None
    shades = []
    for placement in layout.materials[0].placements:
        x = placement.notches[0].at[0]
        up = 1.0 if placement.rotation == 0 else -1.0
        shades.append(
            [
                math.cos(2 * math.pi * (x + up * step - design.start[0]) / design.along)
                for step in (-design.along / 8, 0.0, design.along / 8)
            ]
        )
    return all(abs(a - b) < 1e-4 for a, b in zip(*shades, strict=True))


@settings(max_examples=60, deadline=None)
@given(
    repeat=st.floats(20.0, 150.0),
    start=st.floats(-100.0, 100.0),
    first=st.floats(0.0, 100.0),
    shift=SHIFT,
    mirrored=st.booleans(),
    times=st.integers(-3, 3),
)
def test_a_shift_across_of_one_of_a_pair_is_caught_unless_it_is_whole_repeats(
    repeat: float, start: float, first: float, shift: float, mirrored: bool, times: int
) -> None:
    pair = replace(FRONT, cuts=(Cut("fabric", 2, "mirrored" if mirrored else "alike"),))
    design = Print("stripes along", along=None, across=repeat, start=(0.0, start))
    wide = replace(CLOTH, width=3000.0)
    # The straight edge, 0 mm up as drawn and 100 mm up face down, mirrored about a bar if it is face down.
    low = (2 * start - first - 100.0) if mirrored else first
    low += repeat * math.ceil((1200.0 - low) / repeat)
    laid = (place(pair, (0, first)), place(pair, (0, low), mirrored=mirrored))
    match = Match("pair", "1", False, True)
    layout, job = matched(pair, laid, match, length=200, design=design, fabric=wide)
    assert verify(layout, job) == []
    assert verify(with_moved(layout, 1, 0, times * repeat), job) == []
    off = abs((shift + repeat / 2) % repeat - repeat / 2)
    assume(abs(off - design.tolerance) > 0.02)
    moved = with_moved(layout, 1, 0, shift)
    if off < design.tolerance:
        assert verify(moved, job) == []
    else:
        assert f"{off:.2f} mm apart across" in only(moved, job).message


@pytest.mark.parametrize("turn", [30.0, 90.0, 200.0])
def test_how_the_pattern_was_drawn_on_its_sheet_does_not_matter_to_the_print(turn: float) -> None:
    """Outline, grain, notches and where they are sewn turned together on the sheet: the same on the cloth."""
    from shapely.affinity import rotate
    from shapely.geometry import MultiPoint, Polygon

    ring = tuple(rotate(Polygon(HALF), turn, origin=(0, 0)).exterior.coords[:-1])
    points = MultiPoint([(20.0, 30.0), (120.0, 30.0), (70.0, 100.0), (60.0, 90.0), (0.0, 0.0), (300.0, 0.0)])
    tail, head, notch, sewn, foot, top = ((p.x, p.y) for p in rotate(points, turn, origin=(0, 0)).geoms)
    back = piece(
        ring,
        1,
        "on fold",
        number="2",
        grain=(tail, head),
        fold_edge=(foot, top),
        notches=(Notch("hip", notch, sewn),),
    )
    # Sewn 60 mm up: at 30 mm from x 80 on 140, 10 past a bar; the front's, 50 mm up, from x 90 on 140 too.
    whole = tuple(rotate(Polygon(WHOLE), turn, origin=(0, 0)).exterior.coords[:-1])
    laid = (
        both_halves(place(back, (80, 100), ring=whole, opened=True), 200.0),
        place(FRONT, (90, 410)),
    )
    layout, job = matched((FRONT, back), laid, meet("hip", True, True), length=400)
    # Sewn at 110 and 290 mm across, 30 mm off bars, as is the front's at 410.
    assert verify(layout, job) == []
    assert "by 5.00 mm along" in only(with_moved(layout, 1, 5, 0), job).message
    assert "by 5.00 mm across" in only(with_moved(layout, 1, 0, 5), job).message
