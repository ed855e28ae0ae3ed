"""Pieces that are their own mirror image, and pieces that are not."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from marker.model.symmetry import is_symmetric

UP = ((0.0, 0.0), (0.0, 100.0))
ACROSS = ((0.0, 0.0), (100.0, 0.0))
RECTANGLE = ((0.0, 0.0), (60.0, 0.0), (60.0, 90.0), (0.0, 90.0))
POCKET = ((0.0, 0.0), (30.0, -20.0), (60.0, 0.0), (60.0, 90.0), (0.0, 90.0))
RIGHT_TRIANGLE = ((0.0, 0.0), (60.0, 0.0), (0.0, 90.0))
PARALLELOGRAM = ((0.0, 0.0), (60.0, 0.0), (90.0, 50.0), (30.0, 50.0))
ARROW_ASIDE = ((0.0, 0.0), (60.0, 0.0), (90.0, 45.0), (60.0, 90.0), (0.0, 90.0))


@pytest.mark.parametrize("nap", [True, False])
@pytest.mark.parametrize(
    ("ring", "grain", "same"),
    [
        (RECTANGLE, UP, True),
        (RECTANGLE, ACROSS, True),
        (POCKET, UP, True),
        (RIGHT_TRIANGLE, UP, False),
        (PARALLELOGRAM, UP, False),
    ],
)
def test_shapes_where_nap_makes_no_difference(ring, grain, same, nap):
    assert is_symmetric(ring, grain, nap) is same


def test_top_and_bottom_alike_but_not_left_and_right_is_symmetric_only_without_nap():
    assert not is_symmetric(ARROW_ASIDE, UP, nap=True)
    assert is_symmetric(ARROW_ASIDE, UP, nap=False)


def test_the_mirror_line_follows_the_grain():
    diagonal = ((0.0, 0.0), (60.0, 90.0))
    assert not is_symmetric(RECTANGLE, diagonal, nap=True)
    assert is_symmetric(
        ((0.0, 0.0), (60.0, 0.0), (60.0, 60.0), (0.0, 60.0)), ((0.0, 0.0), (9.0, 9.0)), nap=True
    )


def test_half_a_millimetre_is_forgiven_and_two_are_not():
    assert is_symmetric(((0.0, 0.0), (60.4, 0.0), (60.0, 90.0), (0.0, 90.0)), UP, nap=True)
    assert not is_symmetric(((0.0, 0.0), (64.0, 0.0), (60.0, 90.0), (0.0, 90.0)), UP, nap=True)


@settings(deadline=None)
@given(
    st.sampled_from([RECTANGLE, POCKET, RIGHT_TRIANGLE, PARALLELOGRAM, ARROW_ASIDE]),
    st.floats(0, 2 * math.pi),
    st.floats(-500, 500),
    st.booleans(),
)
def test_moving_and_turning_the_drawing_with_its_grain_changes_nothing(ring, angle, shift, nap):
    def moved(point):
        x, y = point
        return (
            x * math.cos(angle) - y * math.sin(angle) + shift,
            x * math.sin(angle) + y * math.cos(angle) - shift,
        )

    turned = tuple(moved(point) for point in ring)
    grain = (moved(UP[0]), moved(UP[1]))
    assert is_symmetric(turned, grain, nap) is is_symmetric(ring, UP, nap)


@settings(deadline=None)
@given(st.sampled_from([RECTANGLE, POCKET, RIGHT_TRIANGLE, PARALLELOGRAM, ARROW_ASIDE]), st.booleans())
def test_the_mirror_image_of_a_piece_is_symmetric_if_the_piece_is(ring, nap):
    mirrored = tuple((-x, y) for x, y in reversed(ring))
    assert is_symmetric(mirrored, UP, nap) is is_symmetric(ring, UP, nap)
