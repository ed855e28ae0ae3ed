"""Bounds of the check against layouts whose shortest length is known, and against published ones."""

from __future__ import annotations

import json
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon
from shapely.affinity import rotate

from marker.check import limited, verify
from marker.check.bounds import Body, Bounded
from marker.check.proof import Item, none_below
from marker.model.layout import Layout
from marker.model.piece import Ring
from tests.check.scenes import CLOTH, TRIANGLE, changed, half_piece, only, piece, place, scene, with_placement

INSTANCES = Path(__file__).parents[2] / "benchmarks" / "instances"
# Best densities known, in percent: Gardeyn, Vanden Berghe & Wauters 2025, Tables 2 and 3; DIGHE1 and 2 are
# jigsaws of length 100. What has been found since is at most half a point denser.
BEST = {
    "albano": 89.82,
    "dagli": 90.17,
    "mao": 86.87,
    "marques": 92.02,
    "shirts": 90.92,
    "swim": 79.83,
    "trousers": 92.62,
    "fu": 92.41,
    "shapes0": 69.98,
    "shapes1": 76.73,
    "shapes2": 86.23,
    "dighe1": 100.0,
    "dighe2": 100.0,
}


def rectangle(long: float, wide: float) -> Ring:
    return ((0.0, 0.0), (long, 0.0), (long, wide), (0.0, wide))


def body(ring: Ring, *turns: float) -> Body:
    forms = [rotate(Polygon(ring), turn, origin=(0, 0)) for turn in turns or (0.0,)]
    shortest = min(form.bounds[2] - form.bounds[0] for form in forms)
    return Body(tuple(form.wkb for form in forms), 1, forms[0].area, shortest)


def claimed(layout: Layout, bound: float) -> Layout:
    return changed(layout, lower_bound=bound)


@pytest.mark.parametrize("name", BEST)
def test_no_bound_is_above_the_best_layout_known(name: str) -> None:
    """Nor under the area over the width."""
    data = json.loads((INSTANCES / f"{name}.json").read_text())
    bodies = []
    for kind in data["pieces"]:
        ring = tuple((float(x), float(y)) for x, y in kind["outline"])
        bodies += [body(ring, *map(float, kind["rotations"]))] * kind["quantity"]
    width = float(data["strip_width"])
    by_area = sum(each.area for each in bodies) / width
    bound = Bounded({1: (width,)}, tuple(bodies), 0.0).length
    assert by_area - 1e-6 <= bound <= by_area * 100.0 / BEST[name] + 1e-6


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(20, 300), st.lists(st.integers(50, 950), max_size=3, unique=True)),
        min_size=1,
        max_size=4,
    )
)
def test_strips_cut_into_rectangles_are_as_short_as_they_can_be(columns: list[tuple[int, list[int]]]) -> None:
    """Without waste the area is the bound, and no bound may be above it."""
    bodies = []
    for long, cuts in columns:
        edges = [0, *sorted(cuts), 1000]
        bodies += [body(rectangle(long, b - a)) for a, b in pairwise(edges)]
    length = float(sum(long for long, _ in columns))
    assert Bounded({1: (1000.0,)}, tuple(bodies), 0.0).length == pytest.approx(length, abs=1e-3)


def test_what_has_no_room_side_by_side_lies_one_after_the_other() -> None:
    """Three over half the width of 1000 mm, and four of over a third of it, of which two go side by side."""
    wide = [body(rectangle(200, 510)), body(rectangle(150, 600)), body(rectangle(100, 900))]
    assert Bounded({1: (1000.0,)}, tuple(wide), 0.0).length == pytest.approx(450.0)
    thirds = [body(rectangle(100, 340))] * 4
    assert Bounded({1: (1000.0,)}, tuple(thirds), 0.0).length == pytest.approx(200.0)
    # Four of 333 mm with 3 mm between them: two go side by side, as three would take 1005 mm.
    gapped = [body(((-1.5, -1.5), (101.5, -1.5), (101.5, 334.5), (-1.5, 334.5)))] * 4
    least = Bounded({1: (1000.0,)}, tuple(replace(each, shortest=100.0) for each in gapped), 3.0)
    assert least.length == pytest.approx(203.0)


def test_halves_on_one_fold_lie_one_after_the_other() -> None:
    """300 mm of fold edge each, whatever room there is beside them."""
    back = half_piece(2)
    laid = (
        place(back, (0, 400), mirrored=True, on_fold=True),
        place(back, (300, 400), mirrored=True, on_fold=True),
    )
    layout, job = scene(back, laid, lay="lengthwise fold", length=600, waste=80.0)
    assert verify(claimed(layout, 600.0), job) == []
    assert verify(changed(layout, lower_bound=600.0, proven=True), job) == []
    # From both folds of a cloth with its selvages in the middle they may come side by side.
    both = (place(back, (0, 0), on_fold=True), place(back, (300, 400), band=1, mirrored=True, on_fold=True))
    layout, job = scene(back, both, lay="selvages to the middle", length=600, waste=80.0)
    assert "no more than 300.00 mm can be shown" in only(claimed(layout, 600.0), job).message
    assert verify(claimed(layout, 300.0), job) == []


def test_claims_beyond_what_can_be_shown() -> None:
    """One triangle of 200 by 100 mm on open cloth takes its 200 mm and no more."""
    one = piece(TRIANGLE, 1)
    layout, job = scene(one, (place(one, (50, 0)),), length=250, waste=96.0, buy=300.0)
    fault = only(claimed(layout, 200.5), job)
    assert fault.message == (
        "no layout of this spread is said to be under 200.50 mm, and no more than 200.00 mm can be shown"
    )
    fault = only(changed(layout, lower_bound=200.0, proven=True), job)
    assert fault.message == "the length is said to be proven shortest, and the bound is 200.00 mm"
    # Claiming less is no fault, nor what the search says of itself.
    assert verify(changed(layout, lower_bound=10.0, searched=240.0), job) == []
    assert "the search is said to know" in only(changed(layout, searched=251.0), job).message
    (least,) = limited(changed(layout, lower_bound=250.0, proven=True).materials, job)
    assert (least.lower_bound, least.proven, least.searched) == (pytest.approx(200.0), False, 250.0)
    (kept,) = limited(changed(layout, lower_bound=150.0).materials, job)
    assert (kept.lower_bound, kept.searched) == (150.0, 0.0)


def test_nothing_is_shown_of_what_is_not_the_piece_asked_for() -> None:
    one = piece(TRIANGLE, 1)
    layout, job = scene(one, (place(one, (0, 0)),), length=200, waste=95.0)
    flat = with_placement(claimed(layout, 200.0), 0, outline=((0.0, 0.0), (100.0, 0.0), (200.0, 0.0)))
    assert any("encloses nothing" in fault.message for fault in verify(flat, job))
    (least,) = limited(flat.materials, job)
    assert least.lower_bound == 0.0 and not least.proven


def test_a_piece_that_may_lie_any_way_is_as_short_as_it_is_narrow() -> None:
    one = piece(TRIANGLE, 1)
    felt = replace(CLOTH, grain="any")
    layout, job = scene(one, (place(one, (0, 0)),), length=200, waste=95.0, fabric=felt)
    assert "no more than 100.00 mm can be shown" in only(claimed(layout, 150.0), job).message
    assert verify(claimed(layout, 100.0), job) == []


def test_tilting_within_the_tolerance_makes_a_piece_shorter() -> None:
    """A strip 200 mm long whose sides lean by atan(1/10): tilted by up to 3 degrees it is shorter."""
    strip = piece(((0, 0), (200, 20), (200, 30), (0, 10)), 1)
    straight, job = scene(strip, (place(strip, (0, 0)),), length=200, waste=99.0)
    assert verify(claimed(straight, 200.0), job) == []
    loose = replace(job, fabrics={"fabric": replace(CLOTH, grain_tolerance=3.0)})
    corners = Polygon(strip.outline)
    extents = [rotate(corners, 3.0 * k / 100).bounds for k in range(-100, 101)]
    least = min(right - left for left, _, right, _ in extents)
    assert least < 199.99
    assert "can be shown" in only(claimed(straight, 200.0), loose).message
    assert verify(claimed(straight, least - 0.02), loose) == []


def test_cases_gone_through() -> None:
    """Two squares of 60 mm in a strip 100 mm high lie one after the other; three of 50 two and one."""
    sixty = Item((Polygon(rectangle(60, 60)).wkb,))
    assert none_below((sixty, sixty), 100.0, 119.9) and not none_below((sixty, sixty), 100.0, 120.1)
    fifty = Item((Polygon(rectangle(50, 50)).wkb,))
    assert none_below((fifty,) * 3, 100.0, 99.5) and not none_below((fifty,) * 3, 100.5, 101.0)
    # Both at the lower edge they have to lie one after the other, though there is room above.
    held = replace(fifty, edge=-1)
    assert none_below((held, held), 200.0, 99.5) and not none_below((held, held), 200.0, 100.5)
