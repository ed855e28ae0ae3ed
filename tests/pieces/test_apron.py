"""The market apron: the facing fits the bib, the pocket fits its marks."""

from __future__ import annotations

import pytest
from shapely import Point, box

from tests.pieces.drawn import drawn

FILE = "market-apron.toml"
SIZE = "one size"


def test_facing_has_the_shape_of_the_top_of_the_bib() -> None:
    body, facing = drawn(FILE, "1", SIZE), drawn(FILE, "2", SIZE)
    assert facing.edges[0].length == pytest.approx(body.edges[0].length, abs=0.2)
    assert body.edges[1].hausdorff_distance(facing.edges[1]) > 100
    assert all(body.edges[1].distance(Point(p)) < 0.2 for p in facing.edges[1].coords)
    assert facing.polygon.difference(body.polygon.buffer(0.2)).is_empty


def test_pockets_fit_their_drill_marks_and_the_apron() -> None:
    (x0, y0), (x1, y1) = drawn(FILE, "1", SIZE).raw["drills"]
    width, height = (side.length for side in drawn(FILE, "3", SIZE).edges[:2])
    assert y0 == y1
    assert 10 * (x1 - x0) == pytest.approx(width, abs=0.2)
    body = drawn(FILE, "1", SIZE).polygon
    assert body.contains(box(10 * x0, 10 * y0, 10 * x1, 10 * y0 + height))


def test_ties_reach_round_the_waist() -> None:
    """Round a waist of 1.2 m, with 30 cm a side for the bow (common practice, no source)."""
    tie = drawn(FILE, "5", SIZE).polygon.bounds[2]
    across = 2 * drawn(FILE, "1", SIZE).polygon.bounds[2]
    assert across + 2 * tie >= 1200 + 2 * 300
