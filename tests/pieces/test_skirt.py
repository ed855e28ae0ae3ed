"""The gored skirt: seams equal, waistband as long as the waist, hem and waist square to the seams.

A seam may differ by 1 mm (Vilumsone-Nemes, Industrial Cutting of Textile Materials, Table 13.1, what the
cutting itself may be off).
"""

from __future__ import annotations

import re
from itertools import pairwise

import pytest
from shapely import LineString

from tests.pieces.drawn import along, drawn, read

FILE = "gored-skirt.toml"
SIZES = ("S", "M", "L", "XL")
SEAM = 1.0
UNDERLAP = 30.0

pytestmark = pytest.mark.parametrize("size", SIZES)


def middle_gore(number: str, size: str) -> tuple[LineString, LineString, LineString]:
    """Half waist, seam, half hem of a gore on the fold."""
    waist, seam, hem, fold = drawn(FILE, number, size).edges
    assert fold.length == pytest.approx(drawn(FILE, number, size).fold().length)
    return waist, seam, hem


def seams(size: str) -> dict[str, tuple[tuple[str, LineString], ...]]:
    """For each seam the pieces that meet in it, with their edges."""
    _, front_side, _, front_front = drawn(FILE, "2", size).edges
    _, back_back, _, back_side = drawn(FILE, "3", size).edges
    return {
        "front": (("1", middle_gore("1", size)[1]), ("2", front_front)),
        "side": (("2", front_side), ("3", back_side)),
        "back": (("3", back_back), ("4", middle_gore("4", size)[1])),
    }


def test_seams_that_meet_are_equal(size: str) -> None:
    for (_, mine), (_, theirs) in seams(size).values():
        assert mine.length == pytest.approx(theirs.length, abs=SEAM)


def test_notches_that_meet_are_equally_far_from_the_hem(size: str) -> None:
    """Otherwise a check that meets at one notch would not meet along the seam."""
    for name, ((one, mine), (other, theirs)) in seams(size).items():
        for place in ("hip", "knee"):
            heights = []
            for number, edge in ((one, mine), (other, theirs)):
                notch = drawn(FILE, number, size).notch(f"{name} {place}")
                lower_end = edge.coords[-1][1] > edge.coords[0][1]
                heights.append(along(edge, notch, from_end=lower_end))
            assert heights[0] == pytest.approx(heights[1], abs=0.5)


def test_every_gore_is_as_long_in_its_middle_as_at_its_seams(size: str) -> None:
    for number in ("1", "4"):
        assert drawn(FILE, number, size).fold().length == pytest.approx(
            middle_gore(number, size)[1].length, abs=SEAM
        )


def test_waistband_is_the_six_gores_and_the_underlap(size: str) -> None:
    halves = 2 * (middle_gore("1", size)[0].length + middle_gore("4", size)[0].length)
    sides = 2 * (drawn(FILE, "2", size).edges[0].length + drawn(FILE, "3", size).edges[0].length)
    band = drawn(FILE, "6", size).edges[0]
    assert band.length - UNDERLAP == pytest.approx(halves + sides, abs=2 * SEAM)


def test_waist_and_hips_have_ease(size: str) -> None:
    """10 to 40 mm at the waist, 30 to 100 mm at the hips of a skirt (common practice, no source)."""
    waist, hips = (
        10 * float(re.search(rf"{part} of .*?\b{size} ([\d.]+)", read(FILE)["about"])[1])  # type: ignore[index]
        for part in ("waist", "hips")
    )
    band = drawn(FILE, "6", size).edges[0].length - UNDERLAP
    assert 10 <= band - waist <= 40
    assert 30 <= _round_at(size, 200.0) - hips <= 100


def _round_at(size: str, depth: float) -> float:
    """The whole skirt measured level at ``depth`` below the top of the seams."""
    across = LineString([(-1000, depth), (1000, depth)])
    widths = [drawn(FILE, number, size).polygon.intersection(across).length for number in "1234"]
    return 2 * float(sum(widths))


def test_hem_and_waist_meet_the_seams_squarely(size: str) -> None:
    """So that neither waist nor hem has a corner at a seam: 90 degrees, give or take 3."""
    for number in ("1", "4"):
        for edge, following in pairwise(middle_gore(number, size)):
            (ax, ay), (bx, by) = edge.coords[-2], edge.coords[-1]
            (cx, cy), (dx, dy) = following.coords[0], following.coords[1]
            dot = (bx - ax) * (dx - cx) + (by - ay) * (dy - cy)
            cosine = dot / (LineString(edge.coords[-2:]).length * LineString(following.coords[:2]).length)
            assert abs(cosine) < 0.053


def test_pocket_bag_opens_as_far_as_its_seam(size: str) -> None:
    bag = drawn(FILE, "5", size)
    edge = min(bag.edges, key=lambda edge: edge.centroid.x)
    opening = abs(along(edge, bag.notch("pocket foot")) - along(edge, bag.notch("pocket top")))
    for number, seam in seams(size)["front"]:
        gore = drawn(FILE, number, size)
        ends = [along(seam, gore.notch(name)) for name in ("pocket top", "pocket foot")]
        assert abs(ends[1] - ends[0]) == pytest.approx(opening, abs=0.5)
