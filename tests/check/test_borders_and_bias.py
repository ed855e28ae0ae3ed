"""Hems along a border, and pieces on the bias."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest
from shapely.geometry import Polygon

from marker.check import verify
from marker.model.fabric import Border, Fabric, Remnant
from marker.model.job import Job
from marker.model.layout import Band, Layout, Placement
from marker.model.piece import Piece, Ring
from tests.check.scenes import (
    CLOTH,
    FOLD,
    HALF,
    PANEL,
    WHOLE,
    changed,
    only,
    piece,
    place,
    scene,
    with_moved,
)


def made(
    pieces: Piece | tuple[Piece, ...], laid: tuple[Placement, ...], fabric: Fabric, **more: Any
) -> tuple[Layout, Job]:
    """As long as its pieces reach, the waste counted from the outlines."""
    pieces = pieces if isinstance(pieces, tuple) else (pieces,)
    length = more.pop("length", max(x for placement in laid for x, _ in placement.outline))
    area = sum(
        cut.count * Polygon(each.outline).area * (2 if cut.how == "on fold" else 1)
        for each in pieces
        for cut in each.cuts
    )
    return scene(
        pieces,
        laid,
        length=length,
        buy=100.0 * math.ceil(length / 100 - 1e-8),
        waste=100 * (1 - area / (length * fabric.width)),
        fabric=fabric,
        **more,
    )


# Borders

LOWER = replace(CLOTH, selvage=10.0, border=Border("lower", 120.0))
UPPER = replace(CLOTH, selvage=10.0, border=Border("upper", 120.0))
# The hem is the foot of the panel: with the grain along the cloth it lies across it.
SKIRT = piece(PANEL, number="1", name="Skirt", hem=((0.0, 100.0), (0.0, 0.0)))
OTHER = piece(PANEL, number="2", name="Yoke")


def test_hem_on_the_border_turns_the_grain() -> None:
    """At a lower border the top of the piece points up, at an upper one down; face down as well as up."""
    for fabric, y, rotation in ((LOWER, 10, 90), (UPPER, 790, 270)):
        for mirrored in (False, True):
            pair = replace(SKIRT, cuts=piece(PANEL, 2, "mirrored").cuts)
            laid = (
                place(pair, (0, y), rotation=rotation, mirrored=mirrored),
                place(pair, (150, y), rotation=rotation, mirrored=not mirrored),
            )
            assert verify(*made(pair, laid, fabric)) == []


def test_a_millimetre_off_the_border() -> None:
    layout, job = made(SKIRT, (place(SKIRT, (0, 10), rotation=90),), LOWER)
    fault = only(with_moved(layout, 0, 0, 1), job)
    assert fault.message.endswith("has its hem 1.00 mm off the lower edge that the border runs along")
    assert fault.piece == "1"
    assert verify(with_moved(layout, 0, 0, 0.09), job) == []
    assert "0.15 mm off" in only(with_moved(layout, 0, 0, 0.15), job).message


def test_hem_on_the_other_side_or_outwards_or_across() -> None:
    layout, job = made(SKIRT, (place(SKIRT, (0, 10), rotation=90),), LOWER)
    upper = replace(job, fabrics={"fabric": UPPER})
    assert "980.00 mm off the upper edge" in only(layout, upper).message
    # The hem on the edge and the piece hanging over it.
    over = changed(layout, placements=(place(SKIRT, (0, -190), rotation=270),))
    assert "reaches 200.00 mm over the edge of the cloth to be used" in only(over, job).message
    along = made(SKIRT, (place(SKIRT, (0, 10)),), LOWER)
    assert "has its hem 100.00 mm off the lower edge" in only(*along).message


def test_other_pieces_keep_to_the_grain() -> None:
    laid = (place(SKIRT, (0, 10), rotation=90), place(OTHER, (200, 10)))
    assert verify(*made((SKIRT, OTHER), laid, LOWER)) == []
    turned = (place(SKIRT, (0, 10), rotation=90), place(OTHER, (200, 10), rotation=90))
    assert "Yoke" in only(*made((SKIRT, OTHER), turned, LOWER)).message
    assert "lies 90.00° off the grain" in only(*made((SKIRT, OTHER), turned, LOWER)).message


def test_without_a_border_a_hem_is_no_reason_to_turn() -> None:
    plain = replace(LOWER, border=None)
    assert (
        "lies 90.00° off the grain"
        in only(*made(SKIRT, (place(SKIRT, (0, 10), rotation=90),), plain)).message
    )
    assert verify(*made(SKIRT, (place(SKIRT, (0, 300)),), plain)) == []


def test_pieces_on_the_border_are_free_of_the_nap_and_the_rest_is_not() -> None:
    napped = replace(UPPER, nap=True)
    laid = (place(SKIRT, (0, 790), rotation=270), place(OTHER, (150, 10), rotation=180))
    assert verify(*made((SKIRT, OTHER), laid, napped)) == []
    two = replace(OTHER, cuts=piece(PANEL, 2).cuts)
    more = (*laid, place(two, (150, 110)))
    assert "against the nap" in only(*made((SKIRT, two), more, napped)).message


def test_askew_as_the_hem_demands() -> None:
    """A hem that slants 1 in 10 to the grain: on the border the grain is off by as much."""
    slant = piece(((0, 0), (200, 0), (200, 100), (10, 100)), hem=((10.0, 100.0), (0.0, 0.0)))
    lean = math.degrees(math.atan2(10, 100))
    layout, job = made(slant, (place(slant, (0, 10), rotation=90 + lean),), LOWER)
    assert verify(layout, job) == []
    straight = made(slant, (place(slant, (0, 10), rotation=90),), LOWER)
    assert "has its hem 10.00 mm off the lower edge" in only(*straight).message


def test_whole_piece_opened_out_on_the_border() -> None:
    """Both halves of the hem on the edge: the fold stands square on it."""
    back = piece(HALF, 1, "on fold", name="Back", fold_edge=FOLD, hem=((0.0, 100.0), (0.0, 0.0)))
    laid = (place(back, (0, 10), ring=WHOLE, rotation=90, opened=True),)
    layout, job = made(back, laid, LOWER)
    assert verify(layout, job) == []
    assert "1.00 mm off the lower edge" in only(with_moved(layout, 0, 0, 1), job).message
    # A hem that comes to a point at the fold lies on the edge with one half only.
    ring = ((0.0, 0.0), (300.0, 0.0), (300.0, 100.0), (10.0, 100.0))
    whole = ((0.0, 0.0), (10.0, -100.0), (300.0, -100.0), (300.0, 100.0), (10.0, 100.0))
    back = piece(ring, 1, "on fold", name="Back", fold_edge=FOLD, hem=((10.0, 100.0), (0.0, 0.0)))
    lean = math.degrees(math.atan2(10, 100))
    laid = (place(back, (0, 10), ring=whole, rotation=90 + lean, opened=True),)
    off = math.hypot(10, 100) * math.sin(math.radians(2 * lean))
    assert f"has its hem {off:.2f} mm off the lower edge" in only(*made(back, laid, LOWER)).message


def test_no_border_on_folded_cloth() -> None:
    pair = replace(SKIRT, cuts=piece(PANEL, 2, "mirrored").cuts)
    laid = (place(pair, (0, 10), rotation=90, copies=2),)
    folded = made(pair, laid, LOWER, lay="lengthwise fold")
    assert only(*folded).message == "hems along a border are cut from open cloth, and from no other"
    # Where no piece has a hem the border asks nothing.
    other = replace(OTHER, cuts=pair.cuts)
    laid = (place(other, (0, 10), copies=2),)
    assert verify(*made(other, laid, LOWER, lay="lengthwise fold")) == []


def test_a_remnant_has_no_border() -> None:
    remnant = Remnant("mending box", ((0, 0), (400, 0), (400, 400), (0, 400)))
    cloth = replace(LOWER, remnants=(remnant,), roll=False)
    layout, job = made(SKIRT, (place(SKIRT, (0, 150)),), LOWER)
    layout = changed(
        layout,
        cloth="mending box",
        width=400.0,
        usable=(0.0, 400.0),
        buy=0.0,
        buy_text="nothing",
        waste_percent=100 * (1 - 18000 / 80_000),
        bands=(Band((0, 200), (0, 400), 1),),
    )
    assert verify(layout, replace(job, fabrics={"fabric": cloth})) == []
    # So it may be folded.
    pair = replace(SKIRT, cuts=piece(PANEL, 2, "mirrored").cuts)
    folded = changed(
        layout,
        lay="lengthwise fold",
        bands=(Band((0, 200), (0, 200), 2, (200,)),),
        placements=(place(pair, (0, 50), copies=2),),
        waste_percent=100 * (1 - 36000 / 80_000),
    )
    assert verify(folded, replace(job, pieces=(pair,), fabrics={"fabric": cloth})) == []


# Bias

STRAP: Ring = ((0, 0), (300, 0), (300, 40), (20, 40))
BINDING: Ring = ((0, 0), (300, 0), (300, 40), (0, 40))


@pytest.mark.parametrize(("mirrored", "rotations"), [(False, (45, 225)), (True, (135, 315))])
def test_each_hand_has_its_diagonal(mirrored: bool, rotations: tuple[int, int]) -> None:
    pair = piece(STRAP, 2, "mirrored", bias=True)
    for rotation in (45, 135, 225, 315):
        laid = (
            place(pair, (0, 0), rotation=rotation, mirrored=mirrored),
            place(pair, (0, 300), rotation=315 if not mirrored else 45, mirrored=not mirrored),
        )
        layout, job = made(pair, laid, CLOTH)
        if rotation in rotations:
            assert verify(layout, job) == []
        else:
            due = " or ".join(f"{each}°" for each in rotations)
            assert only(layout, job).message.endswith(
                f"is cut on the bias and lies at {rotation}.00° where it must lie at {due}"
            )


@pytest.mark.parametrize("rotation", [44.0, 45.02, 46.0, 0.0, 90.0])
def test_not_quite_on_the_bias(rotation: float) -> None:
    """Whatever tolerance the grain has: the true bias is 45°."""
    strap = piece(STRAP, bias=True)
    cloth = replace(CLOTH, grain_tolerance=3.0)
    layout, job = made(strap, (place(strap, (0, 0), rotation=rotation),), cloth)
    assert "must lie at 45° or 225°" in only(layout, job).message
    assert verify(*made(strap, (place(strap, (0, 0), rotation=45.005),), cloth)) == []


def test_bias_that_is_drawn_into_the_grain_line_needs_no_turning() -> None:
    """The grain arrow says it: only pieces marked so lie at 45° to it."""
    strap = piece(STRAP)
    assert "off the grain" in only(*made(strap, (place(strap, (0, 0), rotation=45),), CLOTH)).message


def test_a_single_piece_without_a_hand_lies_on_either_diagonal() -> None:
    binding = piece(BINDING, bias=True)
    for rotation in (45, 135, 225, 315):
        assert verify(*made(binding, (place(binding, (0, 0), rotation=rotation),), CLOTH)) == []
    wrong = made(binding, (place(binding, (0, 0), rotation=180),), CLOTH)
    assert "must lie at 45° or 135° or 225° or 315°" in only(*wrong).message


def test_left_and_right_bindings_without_a_hand_lie_on_opposite_diagonals() -> None:
    """Equal strips, yet one of them pulls the other way if both are cut on one diagonal."""
    pair = piece(BINDING, 2, "mirrored", bias=True)
    for second, holds in ((315, True), (135, True), (45, False), (225, False)):
        laid = (place(pair, (0, 0), rotation=45), place(pair, (0, 300), rotation=second))
        layout, job = made(pair, laid, CLOTH)
        if holds:
            assert verify(layout, job) == []
        else:
            assert only(layout, job).message == (
                "Pocket: left and right are cut on opposite diagonals, and 2 lie on one and 0 on the other"
            )
    alike = piece(BINDING, 2, bias=True)
    laid = (place(alike, (0, 0), rotation=45), place(alike, (0, 300), rotation=45))
    assert verify(*made(alike, laid, CLOTH)) == []


def test_two_layers_give_both_diagonals() -> None:
    for ring in (STRAP, BINDING):
        pair = piece(ring, 2, "mirrored", bias=True)
        laid = (place(pair, (0, 0), rotation=45, copies=2),)
        assert verify(*made(pair, laid, CLOTH, lay="lengthwise fold")) == []


def test_with_a_nap_bias_pieces_point_up_like_the_rest() -> None:
    """45° and 315° agree with 0°, and with each other as far as that; 225° and 135° agree with 180°."""
    napped = replace(CLOTH, nap=True)
    pair = piece(STRAP, 2, "mirrored", bias=True)
    panel = replace(OTHER, cuts=piece(PANEL, 1).cuts)
    for base in (0, 180):
        laid = (
            place(panel, (0, 0), rotation=base),
            place(pair, (0, 150), rotation=base + 45),
            place(pair, (0, 450), rotation=(base + 315) % 360, mirrored=True),
        )
        assert verify(*made((panel, pair), laid, napped)) == []
        assert verify(*made(pair, laid[1:], napped)) == []
        against = (*laid[:2], place(pair, (0, 450), rotation=(base + 135) % 360, mirrored=True))
        assert "against the nap" in only(*made((panel, pair), against, napped)).message


def test_a_cloth_without_a_grain_has_no_bias() -> None:
    strap = piece(STRAP, bias=True)
    felt = replace(CLOTH, grain="any")
    assert verify(*made(strap, (place(strap, (0, 0), rotation=17),), felt)) == []
    pair = piece(BINDING, 2, "mirrored", bias=True)
    laid = (place(pair, (0, 0), rotation=17), place(pair, (0, 200), rotation=20))
    assert verify(*made(pair, laid, felt)) == []


def test_tilts_within_the_tolerance_of_the_grain() -> None:
    cloth = replace(CLOTH, grain_tolerance=1.5)
    for tilt in (0.5, 1.0, 1.5, -1.5, 181.0):
        assert verify(*made(OTHER, (place(OTHER, (0, 0), rotation=tilt),), cloth)) == []
    over = made(OTHER, (place(OTHER, (0, 0), rotation=1.6),), cloth)
    assert "lies 1.60° off the grain, 1.5° are allowed" in only(*over).message
