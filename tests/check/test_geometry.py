"""What counts as overlapping, outside and the same form, against arithmetic and shapely's own relations."""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely.affinity import rotate, translate
from shapely.geometry import LineString, Polygon, box
from shapely.ops import split

from marker.check import DEPTH_TOLERANCE, outside, overlapping_pairs
from marker.check.geometry import form_difference, same_form, shrunk, solid, too_close

Ring = list[tuple[float, float]]


def ring_of(shape: Polygon) -> Ring:
    return [(x, y) for x, y in shape.exterior.coords[:-1]]


def square(x: float, y: float, side: float = 10.0) -> Ring:
    return [(x, y), (x + side, y), (x + side, y + side), (x, y + side)]


@st.composite
def stars(draw: st.DrawFn, largest: float = 100.0) -> Polygon:
    """Simple polygons round the origin, mostly not convex, some with needles."""
    count = draw(st.integers(3, 12))
    radii = draw(st.lists(st.floats(largest / 10, largest), min_size=count, max_size=count))
    start = draw(st.floats(0, 1))
    turns = [2 * math.pi * (start + k) / count for k in range(count)]
    return Polygon([(r * math.cos(t), r * math.sin(t)) for r, t in zip(radii, turns, strict=True)])


def sampled_depth(a: Polygon, b: Polygon) -> float:
    """The depth of an overlap from points of the common part: never more than the true one."""
    common = a.intersection(b)
    if common.area == 0:
        return 0.0
    points = shapely.points(shapely.get_coordinates(shapely.segmentize(common, 2.0)))
    inner = [part.representative_point() for part in getattr(common, "geoms", [common]) if part.area > 0]
    return max(max(p.distance(a.boundary), p.distance(b.boundary)) for p in [*points, *inner])


# Overlap


@settings(deadline=None)
@given(st.floats(0.001, 40), st.floats(0.001, 40), st.floats(100, 900), st.floats(100, 900), st.booleans())
def test_rectangles_overlap_by_the_lesser_of_their_two_common_sides(
    dx: float, dy: float, width: float, height: float, rounded: bool
) -> None:
    depth = min(dx, dy)
    assume(not 0.99 * DEPTH_TOLERANCE < depth < 1.03 * DEPTH_TOLERANCE)
    pairs = overlapping_pairs(
        [ring_of(box(0, 0, width, height)), ring_of(box(width - dx, height - dy, 2 * width, 2 * height))],
        DEPTH_TOLERANCE,
    )
    assert [pair[:2] for pair in pairs] == ([(0, 1)] if depth > DEPTH_TOLERANCE else [])
    for _, _, found in pairs:
        assert found == pytest.approx(depth, rel=0.03)


@settings(max_examples=60, deadline=None)
@given(stars(), stars(), st.floats(-150, 150), st.floats(-150, 150))
def test_random_outlines_overlap_as_deep_as_their_common_points_tell(
    a: Polygon, b: Polygon, dx: float, dy: float
) -> None:
    b = translate(b, dx, dy)
    pairs = overlapping_pairs([ring_of(a), ring_of(b)], DEPTH_TOLERANCE)
    depth = sampled_depth(a, b)
    if depth > 1.03 * DEPTH_TOLERANCE:
        assert len(pairs) == 1 and pairs[0][2] >= 0.97 * depth
    if pairs:
        # DE-9IM (OGC Simple Features): the interiors have a point in common.
        assert shapely.relate_pattern(a, b, "T********")


@settings(max_examples=60, deadline=None)
@given(stars(), st.floats(0, 180), st.floats(-5, 5))
def test_the_two_sides_of_a_cut_touch_and_do_not_overlap_even_rounded(
    whole: Polygon, angle: float, off: float
) -> None:
    """Each side is rounded to the lattice of 0.01 mm by itself, as pieces are."""
    cut = rotate(LineString([(-500, off), (500, off)]), angle, origin=(0, 0))
    sides = [ring_of(part) for part in split(whole, cut).geoms]
    assume(len(sides) > 1)
    assert overlapping_pairs(sides, DEPTH_TOLERANCE) == []
    rounded = [[(round(x, 2), round(y, 2)) for x, y in side] for side in sides]
    assert overlapping_pairs(rounded, DEPTH_TOLERANCE) == []


@settings(max_examples=60, deadline=None)
@given(st.integers(3, 20), st.floats(20, 200), st.floats(0, 180), st.floats(0.022, 5))
def test_moving_touching_sides_closer_is_always_caught(
    corners: int, radius: float, angle: float, closer: float
) -> None:
    """A round piece cut in two along its middle, one half pushed into the other."""
    whole = Polygon(
        [
            (radius * math.cos(2 * math.pi * k / corners), radius * math.sin(2 * math.pi * k / corners))
            for k in range(corners)
        ]
    )
    cut = LineString([(-500, 0), (500, 0)])
    upper, lower = sorted(split(rotate(whole, angle, origin=(0, 0)), cut).geoms, key=lambda p: -p.centroid.y)
    assume(min(upper.area, lower.area) > radius)
    pushed = translate(upper, 0, -closer)
    ((_, _, depth),) = overlapping_pairs([ring_of(pushed), ring_of(lower)], DEPTH_TOLERANCE)
    assert depth <= closer * 1.02
    assert overlapping_pairs([ring_of(upper), ring_of(lower)], DEPTH_TOLERANCE) == []


@settings(max_examples=30, deadline=None)
@given(
    st.lists(st.tuples(stars(30.0), st.floats(0, 200), st.floats(0, 200)), min_size=2, max_size=8),
    st.floats(0, 360),
    st.floats(-1000, 1000),
    st.booleans(),
)
def test_moving_turning_and_mirroring_everything_changes_nothing(
    placed: list[tuple[Polygon, float, float]], angle: float, shift: float, mirror: bool
) -> None:
    shapes = [translate(shape, x, y) for shape, x, y in placed]
    before = overlapping_pairs([ring_of(shape) for shape in shapes], DEPTH_TOLERANCE)
    assume(all(depth > 1.1 * DEPTH_TOLERANCE for *_, depth in before))
    after = [ring_of(translate(rotate(shape, angle, origin=(0, 0)), shift, -shift)) for shape in shapes]
    if mirror:
        after = [[(x, -y) for x, y in ring] for ring in after]
    found = overlapping_pairs(after, DEPTH_TOLERANCE)
    deep = [(a, b) for a, b, depth in found if depth > 1.1 * DEPTH_TOLERANCE]
    assert deep == [(a, b) for a, b, _ in before]


def test_long_thin_overlap_is_found_although_its_area_is_small() -> None:
    strip = ring_of(box(0, 0, 500, 100))
    assert overlapping_pairs([strip, ring_of(box(0, 99.95, 500, 200))], 0.02)[0][2] == pytest.approx(
        0.05, rel=0.02
    )
    assert overlapping_pairs([strip, ring_of(box(0, 99.985, 500, 200))], 0.02) == []


def test_containment_and_identity_are_overlaps() -> None:
    """``overlaps`` of the Simple Features is false for both."""
    big, small = square(0, 0, 100), square(40, 40, 10)
    assert not Polygon(big).overlaps(Polygon(small))
    ((i, j, depth),) = overlapping_pairs([big, small], 0.02)
    assert (i, j) == (0, 1) and depth == pytest.approx(50, rel=0.02)
    assert [pair[:2] for pair in overlapping_pairs([big, big, big], 0.02)] == [(0, 1), (0, 2), (1, 2)]


def test_tab_in_a_slot_of_the_same_width_only_touches() -> None:
    slot = [(0, 0), (100, 0), (100, 80), (80, 80), (80, 20), (20, 20), (20, 80), (0, 80)]
    tab = ring_of(box(20, 20, 80, 120))
    assert overlapping_pairs([slot, tab], 0.02) == []
    assert len(overlapping_pairs([slot, ring_of(box(20, 19.97, 80, 120))], 0.02)) == 1
    assert len(overlapping_pairs([slot, ring_of(box(19.97, 20, 79.97, 120))], 0.02)) == 1


def test_needle_is_caught_by_its_point() -> None:
    """1° wide: the common part is hardly an area, the point is a millimetre inside."""
    needle = [(101.0, 50.0), (0.0, 49.0), (0.0, 51.0)]
    ((_, _, depth),) = overlapping_pairs([needle, ring_of(box(100, 0, 200, 100))], 0.02)
    assert depth == pytest.approx(1.0, rel=0.02)


def test_outline_that_crosses_itself_counts_as_all_it_encloses() -> None:
    """The heart of a pentagram is wound twice; by the even-odd rule it would be a hole."""
    tips = [
        (100 * math.cos(math.pi * (0.5 + 0.8 * k)), 100 * math.sin(math.pi * (0.5 + 0.8 * k)))
        for k in range(5)
    ]
    assert not Polygon(tips).is_valid
    assert len(overlapping_pairs([tips, square(-2, -2, 4)], 0.02)) == 1
    assert len(overlapping_pairs([[(0, 0), (10, 10), (10, 0), (0, 10)], square(8, 4, 2)], 0.02)) == 1
    spike = [(0, 0), (10, 0), (10, 10), (10, 50), (10, 10), (0, 10)]
    assert overlapping_pairs([spike, square(10, 0)], 0.02) == []


def test_outlines_thinner_than_the_tolerance_still_collide() -> None:
    thread = ring_of(box(0, 0, 100, 0.03))
    assert len(overlapping_pairs([thread, thread], 0.02)) == 1
    assert len(overlapping_pairs([thread, square(50, -5)], 0.02)) == 1
    assert overlapping_pairs([thread, ring_of(box(0, 0.03, 100, 0.06))], 0.02) == []


def test_direction_of_the_outline_does_not_matter() -> None:
    assert len(overlapping_pairs([square(0, 0)[::-1], square(5, 5)], 0.02)) == 1


def test_nothing_to_compare() -> None:
    assert overlapping_pairs([], 0.02) == []
    assert overlapping_pairs([square(0, 0)], 0.02) == []
    assert overlapping_pairs([[(0, 0), (5, 0), (9, 0)], square(0, -5)], 0.02) == []


@pytest.mark.parametrize(
    "bad",
    [
        [],
        [(0, 0), (1, 1)],
        [(0, 0), (1, math.nan), (2, 0)],
        [(0, 0), (math.nan, 1), (2, 0)],
        [(0, 0), (1, math.inf), (2, 0)],
    ],
)
def test_what_is_no_outline_is_refused(bad: Ring) -> None:
    with pytest.raises(ValueError, match="three points"):
        overlapping_pairs([square(0, 0), bad], 0.02)


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan])
def test_tolerance_must_be_positive(bad: float) -> None:
    with pytest.raises(ValueError, match="positive"):
        overlapping_pairs([square(0, 0)], bad)


@settings(max_examples=60, deadline=None)
@given(stars(), st.floats(0.01, 8))
def test_shrinking_agrees_with_cutting_the_rim_off(shape: Polygon, by: float) -> None:
    core = shrunk(shape, by)
    other = shape.difference(shape.boundary.buffer(by, quad_segs=64))
    assert core.symmetric_difference(other).area <= 0.02 * by * shape.length
    assert core.is_empty or shape.buffer(1e-9).covers(core)


# Distance, bounds and form


@settings(deadline=None)
@given(st.floats(0, 20), st.floats(0, 20), st.floats(0.1, 20))
def test_gap_between_squares_is_measured_corner_to_corner(dx: float, dy: float, gap: float) -> None:
    apart = math.hypot(dx, dy)
    assume(abs(apart - gap) > 1e-9)
    near = too_close([Polygon(square(0, 0)), Polygon(square(10 + dx, 10 + dy))], gap)
    assert len(near) == (apart < gap)


def test_outside_tells_how_far() -> None:
    rings = [
        square(0, 0),
        square(-0.01, 0),
        square(-3, 95),
        square(0, 0, 101),
        [],
        [(5, math.nan), (1, 2), (3, 4)],
        [(math.nan, 5), (1, 2), (3, 4)],
    ]
    assert outside(rings, (0, 100), (0, 100), 0.02) == [(2, 5.0), (3, 1.0), (5, math.inf), (6, math.inf)]


def test_form_is_compared_between_the_corners_too() -> None:
    """Same corners in another order, or a bay that no corner of the other outline sees."""
    cross = solid([(0, 0), (10, 10), (10, 0), (0, 10)])
    whole = Polygon(square(0, 0))
    assert not same_form(whole, cross, 0.02)
    slotted = Polygon([(0, 0), (4.99, 0), (5, 3), (5.01, 0), (10, 0), (10, 10), (0, 10)])
    assert not same_form(whole, slotted, 0.02)
    assert not same_form(slotted, whole, 0.02)
    assert same_form(whole, Polygon([(0, 0), (5, 0.01), (10, 0), (10, 10), (0, 10)]), 0.02)
    assert form_difference(whole, Polygon(square(0, 0, 12))) == pytest.approx(math.hypot(2, 2))


def test_a_shrinking_that_goes_wrong_is_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    """Should the library's offset lose the shape or leave it as it was, the rim is cut off instead."""
    ten = box(0, 0, 10, 10)
    for wrong in (Polygon(), box(0, 0, 10.5, 10)):
        monkeypatch.setattr(Polygon, "buffer", lambda self, *args, wrong=wrong, **more: wrong)
        assert shrunk(ten, 1.0).area == pytest.approx(64.0, rel=1e-3)
