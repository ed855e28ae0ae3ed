"""What stays true whatever the piece, the turn and the cloth."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely.affinity import affine_transform
from shapely.geometry import Point, Polygon, box

from marker.check import verify
from marker.check.form import has_no_hand, unfolded
from marker.check.spread import SINGLE_LAYS, row_of
from marker.model.piece import Ring
from tests.check.scenes import CLOTH, GRAIN, HALF, TRIANGLE, WHOLE, bands_of, changed, piece, place, scene

SIZES = st.floats(20.0, 300.0)


@st.composite
def handed(draw: st.DrawFn) -> Ring:
    """Quadrangles with two right angles, one long side and two unequal ones."""
    length, low, more = draw(SIZES), draw(SIZES), draw(st.floats(10.0, 200.0))
    return ((0.0, 0.0), (length, 0.0), (length, low), (0.0, low + more))


@settings(max_examples=40, deadline=None)
@given(handed(), st.floats(0, 360), st.floats(0, 360), st.booleans(), st.booleans())
def test_any_rigid_motion_keeps_the_piece_and_mirroring_does_not(
    ring: Ring, turn: float, drawn: float, mirrored: bool, rounded: bool
) -> None:
    """On cloth without a grain a piece may lie at any angle; rounded to 0.01 mm it is still the same."""
    way = math.radians(drawn)
    what = piece(ring, 2, "mirrored", grain=((0.0, 0.0), (50 * math.cos(way), 50 * math.sin(way))))
    laid = [place(what, (0, 0), rotation=turn, mirrored=mirrored)]
    reach = max(x for x, _ in laid[0].outline)
    laid.append(place(what, (reach + 1, 0), rotation=turn, mirrored=not mirrored))
    if rounded:
        laid = [replace(p, outline=tuple((round(x, 2), round(y, 2)) for x, y in p.outline)) for p in laid]
    length = 100.0 * math.ceil(max(x for x, _ in laid[1].outline) / 100)
    waste = 100 * (1 - 2 * Polygon(ring).area / (length * 1000))
    layout, job = scene(what, tuple(laid), length=length, waste=waste, fabric=replace(CLOTH, grain="any"))
    assert verify(layout, job) == []
    other_hand = tuple(replace(p, mirrored=not p.mirrored) for p in laid)
    faults = verify(changed(layout, placements=other_hand), job)
    assert len(faults) == 2
    # A mirror image may also be some other turn of the piece; then only the turn is wrong.
    assert all(
        "wrong hand" in f.message or "shape" in f.message or "end for end" in f.message for f in faults
    )


@settings(max_examples=40, deadline=None)
@given(handed(), SIZES, st.floats(0.03, 10))
def test_a_pair_pushed_together_is_caught_and_touching_is_not(ring: Ring, gap: float, closer: float) -> None:
    what = piece(ring, 2)
    low = max(y for _, y in ring)
    assume(closer < min(ring[1][0], ring[2][1]) / 4)
    laid = (place(what, (0, 0), rotation=180), place(what, (0, low)))
    waste = 100 * (1 - 2 * Polygon(ring).area / (ring[1][0] * 1200))
    wide = replace(CLOTH, width=1200.0)
    made = scene(
        what,
        laid,
        length=ring[1][0],
        waste=waste,
        fabric=wide,
        buy=100.0 * math.ceil(ring[1][0] / 100 - 1e-8),
    )
    assert verify(*made) == []
    pushed = changed(made[0], placements=(laid[0], place(what, (0, low - closer))))
    (fault,) = verify(pushed, made[1])
    assert "overlap" in fault.message


LOST = {"partial fold": 1, "selvages to the middle": 2}
"""Selvages that lie on usable cloth of the other layer and make it useless."""


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(SINGLE_LAYS), st.floats(400, 2000), st.floats(0, 20), st.floats(0.1, 0.45))
def test_the_layers_of_every_spread_unfold_to_the_flat_cloth_once(
    lay: str, width: float, selvage: float, deep: float
) -> None:
    """No layer lies on another's cloth, none off the cloth, and no cloth is lost but selvages."""
    selvage = 0.0 if lay == "tubular" else selvage
    row = row_of(lay, width, selvage, 600.0, [width * (1 - deep)], None)
    end = 300.0 if lay == "crosswise fold" else 600.0
    flat = [
        affine_transform(box(0.0, ground.y[0], end, ground.y[1]), sheet)
        for ground in row
        for sheet in ground.sheets
    ]
    cloth = box(0.0, selvage, 600.0, width - selvage)
    assert sum(sheet.area for sheet in flat) == pytest.approx(
        600 * (width - (2 + LOST.get(lay, 0)) * selvage)
    )
    for index, sheet in enumerate(flat):
        assert sheet.difference(cloth).area < 1e-6
        assert all(sheet.intersection(other).area < 1e-6 for other in flat[:index])
    for ground in row:
        for fold in ground.folds:
            assert fold in ground.y
            one, two = (affine_transform(Point(0.0, fold), sheet).y for sheet in ground.sheets)
            # A tube comes round: its fold at 0 joins the two edges of the cloth it unrolls to.
            assert abs(one - two) in (pytest.approx(0.0, abs=1e-9), width if lay == "tubular" else 0.0)
        if ground.fold_across is not None:
            one, two = (affine_transform(Point(ground.fold_across, 0.0), sheet).x for sheet in ground.sheets)
            assert one == two


@settings(deadline=None)
@given(SIZES, SIZES, st.floats(0, 360))
def test_unfolding_doubles_the_area_however_it_is_drawn(length: float, height: float, turn: float) -> None:
    cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))

    def turned(ring: Ring) -> Ring:
        return tuple((x * cos - y * sin, x * sin + y * cos) for x, y in ring)

    half = turned(((0.0, 0.0), (length, 0.0), (length * 0.8, height), (0.0, height)))
    fold = turned(((0.0, 0.0), (length, 0.0)))
    whole = unfolded(half, (fold[0], fold[1]))
    assert whole is not None and not whole.interiors
    assert whole.area == pytest.approx(2 * Polygon(half).area)
    assert unfolded(WHOLE, ((0.0, 150.0), (300.0, 150.0))) is None


def test_which_pieces_have_no_hand() -> None:
    """Mirrored in the grain: a half on its own is, a triangle is not; end for end only without nap."""
    assert has_no_hand(Polygon(HALF), GRAIN, nap=True)
    assert not has_no_hand(Polygon(TRIANGLE), GRAIN, nap=False)
    trapezium = Polygon(((0, 0), (200, 0), (150, 100), (50, 100)))
    assert has_no_hand(trapezium, GRAIN, nap=False)
    assert not has_no_hand(trapezium, GRAIN, nap=True)
    assert has_no_hand(trapezium, ((0.0, 0.0), (0.0, 50.0)), nap=True)
    # A parallelogram turns into itself and yet has a left and a right.
    assert not has_no_hand(Polygon(((0, 0), (200, 0), (250, 100), (50, 100))), GRAIN, nap=False)


@settings(max_examples=25, deadline=None)
@given(st.floats(-200, 200), st.sampled_from(["open", "lengthwise fold"]))
def test_sliding_the_whole_job_along_the_cloth_changes_nothing_but_the_length(shift: float, lay: str) -> None:
    pair = piece(TRIANGLE, 2, "mirrored")
    copies = 2 if lay == "lengthwise fold" else 1
    laid = [place(pair, (200, 0), copies=copies)]
    if copies == 1:
        laid.append(place(pair, (200, 100), mirrored=True))
    moved = tuple(
        replace(
            p,
            outline=tuple((x + shift, y) for x, y in p.outline),
            grain=((p.grain[0][0] + shift, p.grain[0][1]), (p.grain[1][0] + shift, p.grain[1][1])),
        )
        for p in laid
    )
    length = 400.0 + shift
    assume(length > 100)
    layout, job = scene(
        pair,
        moved,
        lay=lay,
        length=length,
        buy=100.0 * math.ceil(length / 100 - 1e-8),
        waste=100 * (1 - 20000 / (length * 1000)),
        bands=bands_of(lay, length),
    )
    assert verify(layout, job) == []
