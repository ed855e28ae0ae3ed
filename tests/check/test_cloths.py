"""Remnants and a roll of one material: what lies on which, what is missing, and what may not be."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon

from marker.check import missing, verify
from marker.model.fabric import Fabric, Remnant
from marker.model.job import Job
from marker.model.layout import Band, Layout, MaterialLayout, Missing, Placement
from marker.model.match import Match
from marker.model.piece import Cut, Ring
from marker.units import format_buy
from tests.check.scenes import (
    CHECK,
    CLOTH,
    SQUARE,
    TRIANGLE,
    half_piece,
    moved,
    only,
    piece,
    place,
    untold,
    with_moved,
)

# 700 mm along and 400 mm across, with the upper right corner gone from 500 mm along and 200 mm across on.
CORNER = Remnant("sail bags", ((0, 0), (700, 0), (700, 200), (500, 200), (500, 400), (0, 400)))
# 400 by 400 mm with a hole of 40 by 40 mm in the lower left part.
HOLED = Remnant(
    "mending box",
    ((0, 0), (400, 0), (400, 400), (0, 400)),
    (((80, 80), (120, 80), (120, 120), (80, 120)),),
)
# What of their boxes is no cloth.
NO_CLOTH = {"sail bags": (((500, 200), (700, 200), (700, 400), (500, 400)),), "mending box": HOLED.holes}
LEFT = replace(CLOTH, remnants=(CORNER, HOLED), roll=False)


def entry(
    placements: tuple[Placement, ...], name: str, width: float, length: float, area: float, **more: Any
) -> MaterialLayout:
    """One cloth laid open; ``area`` in mm² of what is cut from it."""
    fields: dict[str, Any] = {
        "lay": "open",
        "bands": (Band((0, length), (0, width), 1),),
        "buy": 0.0 if name else 100.0 * math.ceil(length / 100),
        "waste_percent": 100 * (1 - area / (length * width)),
        "obstacles": NO_CLOTH.get(name, ()),
        **more,
    }
    fields.setdefault("buy_text", "nothing" if name else format_buy(fields["buy"], "metric"))
    return MaterialLayout(
        material="fabric",
        width=width,
        usable=(0, width),
        length=length,
        lower_bound=0.0,
        placements=placements,
        cloth=name,
        **fields,
    )


def cut_from(
    *entries: MaterialLayout, count: int, fabric: Fabric = LEFT, ring: Ring = SQUARE, how: str = "alike"
) -> tuple[Layout, Job]:
    what = piece(ring, count, how)
    job = Job("smock", "M", "A", (what,), {"fabric": fabric})
    return Layout("smock", "M", "A", 1, entries), job


POCKET = piece(SQUARE)


def three_on_the_corner() -> tuple[Layout, Job]:
    """Squares of 200 mm: two below, one above the left of them; 0.12 of 0.28 m²."""
    laid = (place(POCKET, (0, 0)), place(POCKET, (500, 0)), place(POCKET, (300, 200)))
    return cut_from(entry(laid, "sail bags", 400, 700, 120_000), count=3)


def everywhere() -> tuple[Layout, Job]:
    """One square on each remnant, and one from the roll."""
    return cut_from(
        entry((place(POCKET, (0, 0)),), "sail bags", 400, 200, 40_000),
        entry((place(POCKET, (150, 150)),), "mending box", 400, 350, 40_000),
        entry((place(POCKET, (0, 800)),), "", 1000, 200, 40_000),
        count=3,
        fabric=replace(LEFT, roll=True),
    )


def with_entry(layout: Layout, index: int, **fields: Any) -> Layout:
    entries = list(layout.materials)
    entries[index] = replace(entries[index], **fields)
    return replace(layout, materials=tuple(entries))


def test_pieces_on_a_remnant_and_on_several_cloths() -> None:
    for made in (three_on_the_corner(), everywhere()):
        assert verify(*made) == [] and missing(made[0]) == []


def test_over_the_edge_of_a_remnant() -> None:
    """The corner that is gone begins at 500 mm along and 200 mm across."""
    layout, job = three_on_the_corner()
    message = only(with_moved(layout, 1, 0, 2), job).message
    assert message.startswith("Pocket (middle at 600 mm along, 102 mm across) reaches 2.0")
    assert message.endswith(" mm over the edge of the remnant “sail bags”")
    assert "reaches 2.0" in only(with_moved(layout, 2, 2, 0), job).message
    assert verify(with_moved(layout, 2, 0.015, 0), job) == []
    assert "0.10 mm over the edge" in only(with_moved(layout, 2, 0.1, 0), job).message


def test_over_the_end_of_a_remnant() -> None:
    """Past its far end it leaves the remnant, the spread and the length that is stated."""
    layout, job = three_on_the_corner()
    messages = [fault.message for fault in verify(with_moved(layout, 1, 3, 0), job)]
    assert len(messages) == 3
    assert any("over the edge of the remnant" in message for message in messages)
    longer = with_entry(
        layout, 0, length=720.0, waste_percent=100 * (1 - 12 / 28.8), bands=(Band((0, 720), (0, 400), 1),)
    )
    assert (
        only(longer, job).message == "the remnant is 700.00 mm long and 720.00 mm of it are said to be used"
    )


def test_over_a_hole_of_a_remnant() -> None:
    """Also when the hole lies wholly within the piece, far from its edges."""
    layout, job = everywhere()
    laid = layout.materials[1].placements[0]
    for at, depth in (((118, 118), "2.0"), ((0, 0), "20.")):
        dx, dy = at[0] - 150, at[1] - 150
        there = moved(laid, dx, dy)
        length = max(x for x, _ in there.outline)
        made = with_entry(
            layout,
            1,
            placements=(there,),
            length=length,
            waste_percent=100 * (1 - 40_000 / (400 * length)),
            bands=(Band((0, length), (0, 400), 1),),
        )
        message = only(made, job).message
        assert "over a hole of the remnant “mending box”" in message and f"reaches {depth}" in message
    beside = with_entry(layout, 1, placements=(moved(laid, -30, 0),))
    assert verify(beside, job) == []


def test_the_gap_is_kept_between_pieces_and_not_to_the_edge() -> None:
    layout, job = three_on_the_corner()
    gapped = replace(job, fabrics={"fabric": replace(LEFT, gap=3.0)})
    assert "0.00 mm apart" in only(layout, gapped).message
    laid = (place(POCKET, (0, 0)), place(POCKET, (500, 0)), place(POCKET, (297, 0)))
    layout, job = cut_from(
        entry(laid, "sail bags", 400, 700, 120_000), count=3, fabric=replace(LEFT, gap=3.0)
    )
    assert verify(layout, job) == []
    assert "2.00 mm apart" in only(with_moved(layout, 2, 1, 0), job).message


def test_second_layer_of_a_folded_remnant() -> None:
    """Folded at half its box: what is laid at the lower edge comes off the upper one as well."""
    pair = piece(TRIANGLE, 2, "mirrored")

    def folded(at: tuple[float, float]) -> tuple[Layout, Job]:
        laid = (place(pair, at, copies=2),)
        bands = (Band((0, 700), (0, 200), 2, (200,)),)
        # The corner that is gone lies in the upper layer.
        gone = (((500, 0), (700, 0), (700, 200), (500, 200)),)
        one = entry(laid, "sail bags", 400, 700, 20_000, lay="lengthwise fold", bands=bands, obstacles=gone)
        return cut_from(one, count=2, ring=TRIANGLE, how="mirrored")

    assert verify(*folded((0, 100))) == []
    assert verify(*folded((300, 0))) == []
    # As drawn from 400 to 600 mm it lies on cloth; its other layer lies where the corner is gone.
    fault = only(*folded((400, 50)))
    assert "over the edge of the remnant “sail bags”" in fault.message
    back = half_piece()
    laid = (place(back, (0, 100), mirrored=True, on_fold=True),)
    bands = (Band((0, 300), (0, 200), 2, (200,)),)
    one = entry(laid, "mending box", 400, 300, 60_000, lay="lengthwise fold", bands=bands)
    layout = Layout("smock", "M", "A", 1, (one,))
    # The hole lies below the half, between 80 and 120 mm across: 20 mm into it.
    fault = only(layout, Job("smock", "M", "A", (back,), {"fabric": LEFT}))
    assert fault.piece == "1" and "over a hole" in fault.message


def test_a_remnant_used_twice_and_cloth_that_is_not_there() -> None:
    layout, job = everywhere()
    twice = with_entry(layout, 1, **vars_of(layout.materials[0]))
    assert only(twice, job).message == "remnant “sail bags” of fabric is used more than once"
    unknown = with_entry(layout, 0, cloth="the loft")
    assert only(unknown, job).message == "there is no remnant “the loft” of canvas"
    no_roll = replace(job, fabrics={"fabric": LEFT})
    assert only(layout, no_roll).message == "there is no roll of canvas, only what is left of it"
    rolls = replace(layout, materials=(*layout.materials, layout.materials[2]))
    assert only(rolls, job).message == "fabric is to be cut and is laid out more than once"


def vars_of(laid: MaterialLayout) -> dict[str, Any]:
    return dict(vars(laid))


def test_copies_are_counted_over_all_cloths() -> None:
    layout, job = everywhere()
    less = replace(layout, materials=layout.materials[:2])
    assert only(less, job).message == "Pocket: 3 asked for and 2 laid out"
    more = replace(job, pieces=(piece(SQUARE, 2),))
    assert only(layout, more).message == "Pocket: 2 asked for and 3 laid out"


def test_hands_are_counted_over_all_cloths() -> None:
    pair = piece(TRIANGLE, 2, "mirrored")

    def on(*faces: bool) -> tuple[Layout, Job]:
        names = ("sail bags", "mending box")
        entries = [
            entry((place(pair, (0, 150), mirrored=face),), name, 400, 200, 10_000)
            for name, face in zip(names, faces, strict=True)
        ]
        return cut_from(*entries, count=2, ring=TRIANGLE, how="mirrored")

    assert verify(*on(False, True)) == []
    message = only(*on(False, False)).message
    assert message == "Pocket: 1 as drawn and 1 mirrored asked for and 2 as drawn and 0 mirrored laid out"


def lacking(count: int = 2, said: int = 1, **more: Any) -> tuple[Layout, Job]:
    """One square laid on a remnant, ``count`` asked for, ``said`` said to be missing."""
    gone = (Missing("1", "Pocket", said, **more),) if said else ()
    one = entry((place(POCKET, (0, 0)),), "sail bags", 400, 200, 40_000, missing=gone)
    return cut_from(one, count=count)


def test_what_is_said_to_be_missing_is_no_fault() -> None:
    layout, job = lacking()
    assert verify(layout, job) == []
    (lack,) = missing(layout)
    assert (lack.material, lack.piece) == ("fabric", "1")
    assert lack.message == "Pocket: 1 had no place on the cloth"
    assert verify(with_entry(layout, 0, short=150.0), job) == []
    assert len(missing(replace(layout, materials=layout.materials * 2))) == 2


def test_what_is_missing_and_not_said_is_a_fault() -> None:
    assert only(*lacking(2, 0)).message == "Pocket: 2 asked for and 1 laid out"
    assert only(*lacking(3, 1)).message == "Pocket: 3 asked for and 1 laid out and 1 said to be missing"


def test_what_is_said_to_be_missing_and_is_not() -> None:
    assert only(*lacking(1, 1)).message == "piece 1: 1 more are said to be missing than are"
    assert only(*lacking(2, 3)).message == "piece 1: 2 more are said to be missing than are"
    messages = [fault.message for fault in verify(*lacking(2, -1))]
    assert "Pocket: -1 are said to be missing, which means nothing" in messages
    assert any("strip" in f.message or "more are said" in f.message for f in verify(*lacking(region="strip")))


def test_missing_called_by_another_name_or_with_a_roll_at_hand() -> None:
    layout, job = lacking()
    other = with_entry(layout, 0, missing=(Missing("1", "Sleeve", 1),))
    assert "called “Pocket” in the pattern" in only(other, job).message
    rolled = replace(job, fabrics={"fabric": replace(LEFT, roll=True)})
    assert only(layout, rolled).message == (
        "pieces are said to have no place, and there is a roll to cut them from"
    )


def test_short_of_nothing() -> None:
    layout, job = everywhere()
    assert "20.00 mm short, and nothing is missing" in only(with_entry(layout, 1, short=20.0), job).message
    assert "no proper number" in verify(with_entry(layout, 1, short=math.nan), job)[0].message


def test_missing_hands() -> None:
    """Two of a hand and one said to be missing are not a pair short of one."""
    pair = piece(TRIANGLE, 4, "mirrored")

    def laid(*faces: bool) -> tuple[Layout, Job]:
        placements = tuple(place(pair, (0, 100 * k), mirrored=face) for k, face in enumerate(faces))
        gone = (Missing("1", "Pocket", 4 - len(faces)),)
        one = entry(placements, "sail bags", 400, 200, 10_000 * len(faces), missing=gone)
        return cut_from(one, count=4, ring=TRIANGLE, how="mirrored")

    assert verify(*laid(False, True, False)) == []
    assert verify(*laid(True, True)) == []
    assert (
        "3 as drawn and 0 mirrored laid out and 1 said to be missing"
        in only(*laid(False, False, False)).message
    )


def test_whole_and_half_cuts_of_one_piece_share_what_is_missing() -> None:
    """A piece cut once on the fold and once as its half: either may be the one without a place."""
    back = half_piece(cuts=(Cut("fabric", 1, "on fold"), Cut("fabric", 1, "alike")))
    laid = (place(back, (0, 0)),)
    one = entry(laid, "sail bags", 400, 300, 30_000, missing=(Missing("1", "Back", 1),))
    layout = Layout("smock", "M", "A", 1, (one,))
    job = Job("smock", "M", "A", (back,), {"fabric": LEFT})
    assert verify(layout, job) == []
    assert only(with_entry(layout, 0, missing=()), job).message.startswith("Back: 1 asked for and 0 laid")


def test_what_a_remnant_costs_and_how_wide_it_is() -> None:
    layout, job = three_on_the_corner()
    bought = only(with_entry(layout, 0, buy=700.0), job).message
    assert bought == "a remnant is in hand, and 700.00 mm to buy are stated"
    assert "400.00 mm wide and 390.00 mm is stated" in only(with_entry(layout, 0, width=390.0), job).message
    assert "can be used from 0.00" in only(with_entry(layout, 0, usable=(10.0, 390.0)), job).message
    assert "% of the cloth is waste" in only(with_entry(layout, 0, waste_percent=50.0), job).message


def test_a_remnant_has_no_selvage_does_not_shrink_and_is_not_tubular() -> None:
    layout, job = three_on_the_corner()
    cloth = replace(LEFT, selvage=15.0, shrink_along=0.05, shrink_across=0.05, tube=True)
    assert verify(layout, replace(job, fabrics={"fabric": cloth})) == []


def test_flaws_are_those_of_the_roll() -> None:
    layout, job = everywhere()
    flaws = (((90, 90), (110, 90), (110, 110), (90, 110)),)
    assert untold(layout, replace(job, fabrics={"fabric": replace(LEFT, roll=True, flaws=flaws)})) == []
    flaws = (((90, 890), (110, 890), (110, 910), (90, 910)),)
    flawed = replace(job, fabrics={"fabric": replace(LEFT, roll=True, flaws=flaws)})
    assert "cut over a flaw" in only(layout, flawed, flaws_told=False).message


def test_waste_of_each_cloth_is_its_own() -> None:
    layout, job = everywhere()
    assert (
        "50.00 % of the cloth is waste and 60.00 %"
        in only(with_entry(layout, 0, waste_percent=60.0), job).message
    )


def test_a_print_on_several_cloths() -> None:
    layout, job = everywhere()
    cloth = replace(LEFT, roll=True, print=CHECK)
    job = replace(job, fabrics={"fabric": cloth}, matches=(Match("centre", "1", False, True),))
    layout = replace(layout, materials=tuple(replace(m, matched="main") for m in layout.materials))
    messages = [fault.message for fault in verify(layout, job)]
    assert "a print cannot be made to match across several pieces of cloth" in messages


def test_a_print_on_one_remnant_need_not_use_whole_repeats_of_it() -> None:
    """The square's middle at 130 mm along and 140 across, on a middle each way."""
    one = entry((place(POCKET, (30, 40)),), "sail bags", 400, 230, 40_000, matched="main")
    layout, job = cut_from(one, count=1, fabric=replace(LEFT, print=CHECK))
    job = replace(job, matches=(Match("centre", "1", True, True),))
    assert verify(layout, job) == []
    assert "its centre 3.00 mm across" in only(with_moved(layout, 0, 0, 3), job).message


def test_a_cloth_with_nothing_on_it() -> None:
    """All of it is missing: nothing is used, nothing is wasted, and that is said."""
    none = entry((), "sail bags", 400, 1, 0, missing=(Missing("1", "Pocket", 1),))
    none = replace(none, length=0.0, waste_percent=0.0, bands=(Band((0, 0), (0, 400), 1),))
    layout, job = cut_from(none, count=1)
    assert verify(layout, job) == [] and len(missing(layout)) == 1
    laid = with_entry(layout, 0, placements=(place(POCKET, (0, 0)),), missing=())
    assert "no proper number" in verify(laid, job)[0].message


@settings(max_examples=60, deadline=None)
@given(st.floats(0, 640), st.floats(0, 340), st.floats(10, 60), st.floats(10, 60))
def test_a_rectangle_is_on_the_cloth_or_over_its_edge(x: float, y: float, w: float, h: float) -> None:
    """Counted by area with shapely: what of the rectangle is not on an L with a hole in it."""
    hole = ((200, 100), (300, 100), (300, 250), (200, 250))
    holed = Remnant("sail bags", CORNER.outline, (hole,))
    ring = ((0, 0), (w, 0), (w, h), (0, h))
    what = piece(ring)
    no_cloth = (*NO_CLOTH["sail bags"], hole)
    one = entry((place(what, (x, y)),), "sail bags", 400, 700, w * h, obstacles=no_cloth)
    layout, job = cut_from(one, count=1, ring=ring, fabric=replace(LEFT, remnants=(holed,)))
    off = Polygon([(x, y), (x + w, y), (x + w, y + h), (x, y + h)]).difference(Polygon(holed.outline, [hole]))
    faults = verify(layout, job)
    if off.area == 0:
        assert faults == []
    elif not off.buffer(-0.03).is_empty:
        assert faults and all("of the remnant “sail bags”" in fault.message for fault in faults)


@pytest.mark.parametrize("gap", [0.0, 5.0])
def test_crossing_outline_of_a_remnant_is_not_taken_for_cloth_it_is_not(gap: float) -> None:
    """A piece that lies in the box and not in the outline, with or without a gap asked for."""
    triangle = Remnant("sail bags", ((0, 0), (400, 0), (0, 400)))
    gone = (((400, 0), (400, 400), (0, 400)),)
    one = entry((place(POCKET, (200, 200)),), "sail bags", 400, 400, 40_000, obstacles=gone)
    made = cut_from(one, count=1, fabric=replace(LEFT, remnants=(triangle,), gap=gap))
    assert "over the edge of the remnant" in only(*made).message
    one = entry((place(POCKET, (0, 0)),), "sail bags", 400, 200, 40_000, obstacles=gone)
    assert verify(*cut_from(one, count=1, fabric=replace(LEFT, remnants=(triangle,), gap=gap))) == []
