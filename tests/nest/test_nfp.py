from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.affinity import translate
from shapely.geometry import Point, Polygon
from shapely.ops import unary_union

from marker.nest.nfp import no_fit_polygon, reversed_no_fit_polygon
from marker.nest.problem import LIMIT
from tests.nest.polygons import Points, outlines, overlap, polygon, rectangle, stars, tangled

Rings = tuple[Points, ...]


def region(rings: Rings) -> Any:
    """The area that rings enclose, as shapely sees it: what lies left of every ring."""
    outer = unary_union([Polygon(r).buffer(0) for r in rings if Polygon(r).exterior.is_ccw])
    holes = unary_union([Polygon(r).buffer(0) for r in rings if not Polygon(r).exterior.is_ccw])
    return outer.difference(holes)


def swept(a: Points, b: Points) -> Any:
    """The Minkowski sum of a and -b from its definition: all pairs of edges, and both ends."""
    turned = -b
    parts = [Polygon(a + turned[0]), Polygon(turned + a[0])]
    for p, p2 in zip(a, np.roll(a, -1, axis=0), strict=True):
        for q, q2 in zip(turned, np.roll(turned, -1, axis=0), strict=True):
            quad = Polygon([p + q, p2 + q, p2 + q2, p + q2])
            if quad.area > 0:
                parts.append(quad)
    return unary_union(parts)


def test_of_two_rectangles_is_the_rectangle_of_summed_sides() -> None:
    (ring,) = no_fit_polygon(rectangle(30, 20), rectangle(10, 5))
    assert {tuple(p) for p in ring.tolist()} == {(-10, -5), (30, -5), (30, 20), (-10, 20)}
    assert Polygon(ring).exterior.is_ccw


def test_parallel_edges_on_both_polygons_leave_no_needless_corners() -> None:
    hexagon = polygon((0, 0), (40, 0), (60, 30), (40, 60), (0, 60), (-20, 30))
    (ring,) = no_fit_polygon(hexagon, hexagon)
    assert len(ring) == 6
    assert Polygon(ring).area == 4 * Polygon(hexagon).area


def test_a_room_with_a_door_too_narrow_is_a_hole() -> None:
    room = polygon(
        (0, 0),
        (100, 0),
        (100, 45),
        (90, 45),
        (90, 10),
        (10, 10),
        (10, 90),
        (90, 90),
        (90, 55),
        (100, 55),
        (100, 100),
        (0, 100),
    )
    rings = no_fit_polygon(room, rectangle(30, 30))
    holes = [r for r in rings if not Polygon(r).exterior.is_ccw]
    assert len(rings) == 2 and len(holes) == 1
    assert Polygon(holes[0]).equals(Polygon(rectangle(50, 50, 10, 10)))


SLOT = polygon((0, 0), (100, 0), (100, 80), (80, 80), (80, 20), (20, 20), (20, 80), (0, 80))


def test_a_tab_with_a_unit_of_play_enters_its_slot() -> None:
    rings = region(no_fit_polygon(SLOT, rectangle(59, 60)))
    assert not rings.contains(Point(20, 20)) and not rings.contains(Point(21, 20))
    assert rings.contains(Point(19, 20)) and rings.contains(Point(22, 20))


def test_a_tab_that_fits_exactly_enters_its_slot_through_a_slit_of_one_unit() -> None:
    rings = region(no_fit_polygon(SLOT, rectangle(60, 60)))
    assert not any(rings.contains(Point(20, y)) for y in range(20, 81))
    assert all(rings.contains(Point(x, y)) for x in (19, 22) for y in range(20, 80))
    assert rings.contains(Point(20, 19))


def test_a_tab_that_is_a_unit_too_wide_stays_out() -> None:
    rings = region(no_fit_polygon(SLOT, rectangle(61, 60)))
    assert all(rings.contains(Point(x, 20)) for x in range(10, 30))


def test_an_exact_fit_through_two_slots_at_once() -> None:
    # A fork with two prongs of 20 for two slots of 20 in a block.
    block = polygon(
        (0, 0),
        (100, 0),
        (100, 60),
        (80, 60),
        (80, 20),
        (60, 20),
        (60, 60),
        (40, 60),
        (40, 20),
        (20, 20),
        (20, 60),
        (0, 60),
    )
    fork = polygon((0, 40), (0, 0), (20, 0), (20, 40), (40, 40), (40, 0), (60, 0), (60, 60), (0, 60))
    rings = region(no_fit_polygon(block, fork))
    assert not overlap(block, fork, (20, 20))
    assert not any(rings.contains(Point(20, y)) for y in range(20, 60))
    assert rings.contains(Point(18, 30)) and rings.contains(Point(23, 30))


@given(
    along=st.tuples(st.integers(-40, 40), st.integers(-40, 40)).filter(lambda d: d != (0, 0)),
    slot=st.integers(1, 4),
    depth=st.integers(2, 5),
    tab=st.integers(1, 5),
)
@settings(max_examples=80, deadline=None)
def test_slots_in_any_direction_let_a_tab_of_their_width_in(
    along: tuple[int, int], slot: int, depth: int, tab: int
) -> None:
    u, v = along
    grid = np.array([[u, v], [-v, u]])  # one step along the slot, one across
    block = (
        polygon((0, 0), (depth, 0), (depth, 2), (1, 2), (1, 2 + slot), (depth, 2 + slot), (depth, 9), (0, 9))
        @ grid
    )
    bar = polygon((0, 0), (tab, 0), (tab, slot), (0, slot)) @ grid
    rings = region(no_fit_polygon(block, bar))
    for step in range(1, depth + 1):
        place = (step * u - 2 * v, step * v + 2 * u)
        assert not overlap(block, bar, place)
        assert not rings.contains(Point(place))
    beside = Point(1.5 * u - 2.3 * v, 1.5 * v + 2.3 * u)
    if np.hypot(u, v) > 10:
        assert rings.contains(beside)


@given(a=outlines(), b=outlines())
@settings(max_examples=40, deadline=None)
def test_slack_allows_only_overlaps_thinner_than_a_few_units(a: Points, b: Points) -> None:
    exact, loose = region(no_fit_polygon(a, b)), region(no_fit_polygon(a, b, slack=1))
    assert loose.within(exact.buffer(2))
    for ring in no_fit_polygon(a, b, slack=1):
        for x, y in ring[:: max(1, len(ring) // 4)].tolist():
            common = Polygon(a).intersection(translate(Polygon(b), x, y))
            assert common.buffer(-2).is_empty


@given(a=outlines(), b=outlines(), data=st.data())
@settings(max_examples=120, deadline=None)
def test_tells_overlap_as_a_direct_test_does(a: Points, b: Points, data: st.DataObject) -> None:
    inside = region(no_fit_polygon(a, b))
    lowest, highest = a.min(axis=0) - b.max(axis=0), a.max(axis=0) - b.min(axis=0)
    for _ in range(12):
        at = tuple(
            data.draw(st.integers(int(lo) - 3, int(hi) + 3)) for lo, hi in zip(lowest, highest, strict=True)
        )
        # Crossings of edges are rounded to the lattice: within a unit of the outline either answer is right.
        if inside.boundary.distance(Point(at)) > 1.5:
            assert inside.contains(Point(at)) == overlap(a, b, at)  # type: ignore[arg-type]


@given(a=tangled(scale=840, size=6), b=tangled(scale=840, size=6), data=st.data())
@settings(max_examples=100, deadline=None)
def test_places_where_corners_and_edges_meet_are_free_unless_nothing_can_move(
    a: Points, b: Points, data: st.DataObject
) -> None:
    inside = region(no_fit_polygon(a, b))
    for _ in range(12):
        # Multiples of the grid bring corners onto corners and edges onto edges.
        x, y = (840 * data.draw(st.integers(-6, 6)) for _ in "xy")
        if inside.boundary.distance(Point(x, y)) < 2:
            continue
        if overlap(a, b, (x, y)):
            assert inside.contains(Point(x, y))
        elif inside.contains(Point(x, y)):
            # A single free place: a step in any direction, b is in a's way.
            ways = [(10, 0), (7, 7), (0, 10), (-7, 7), (-10, 0), (-7, -7), (0, -10), (7, -7)]
            assert all(overlap(a, b, (x + u, y + v)) for u, v in ways)


@given(a=st.one_of(tangled(corners=7), stars(corners=9)), b=st.one_of(tangled(corners=7), stars(corners=9)))
@settings(max_examples=100, deadline=None)
def test_equals_the_union_of_all_swept_edges(a: Points, b: Points) -> None:
    expected, found = swept(a, b), region(no_fit_polygon(a, b))
    difference = expected.symmetric_difference(found)
    assert difference.area <= expected.length
    assert difference.buffer(-1).is_empty


@given(a=outlines(), b=outlines())
@settings(max_examples=40, deadline=None)
def test_swapping_the_polygons_turns_it_by_180_degrees(a: Points, b: Points) -> None:
    there, back = region(no_fit_polygon(a, b)), region(reversed_no_fit_polygon(no_fit_polygon(b, a)))
    assert there.symmetric_difference(back).buffer(-1).is_empty


@given(a=outlines(), b=outlines(), x=st.integers(-9999, 9999), y=st.integers(-9999, 9999))
@settings(max_examples=40, deadline=None)
def test_moving_the_first_moves_it_along(a: Points, b: Points, x: int, y: int) -> None:
    moved = no_fit_polygon(a + np.array([x, y]), b)
    assert region(moved).equals(region(tuple(r + np.array([x, y]) for r in no_fit_polygon(a, b))))


@given(a=outlines(), b=outlines())
@settings(max_examples=40, deadline=None)
def test_mirroring_both_mirrors_it(a: Points, b: Points) -> None:
    mirror = np.array([1, -1])
    mirrored = no_fit_polygon((a * mirror)[::-1], (b * mirror)[::-1])
    expected = region(tuple((r * mirror)[::-1] for r in no_fit_polygon(a, b)))
    assert region(mirrored).symmetric_difference(expected).buffer(-1).is_empty


@given(a=outlines(), b=outlines())
@settings(max_examples=40, deadline=None)
def test_is_one_island_without_slivers(a: Points, b: Points) -> None:
    # The Minkowski sum of two connected sets is connected.
    rings = [Polygon(r) for r in no_fit_polygon(a, b)]
    assert sum(r.exterior.is_ccw for r in rings) == 1
    assert all(r.area >= 0.3 * r.length for r in rings)


def test_repeated_and_straight_points_change_nothing() -> None:
    plain = no_fit_polygon(SLOT, rectangle(30, 30))
    padded = np.insert(np.insert(SLOT, 1, [50, 0], axis=0), 1, [50, 0], axis=0)
    assert region(no_fit_polygon(padded, rectangle(30, 30))).equals(region(plain))


def test_refuses_coordinates_beyond_the_limit() -> None:
    big = rectangle(LIMIT // 2, LIMIT // 2)
    with pytest.raises(ValueError, match="below"):
        no_fit_polygon(big, big)
    with pytest.raises(ValueError, match="below"):
        no_fit_polygon(rectangle(10, 10), rectangle(1 << 40, 10), slack=1)


@pytest.mark.parametrize(
    "flat", [polygon((0, 0), (5, 5)), polygon((0, 0), (5, 5), (9, 9)), polygon((1, 1), (1, 1), (1, 1))]
)
def test_refuses_polygons_without_area(flat: Points) -> None:
    with pytest.raises(ValueError):
        no_fit_polygon(flat, rectangle(10, 10))
