"""The straight edge beside a drawn one, where a seam allowance has been added."""

import math

from hypothesis import given
from hypothesis import strategies as st

from marker.model.fold import edge_beside
from marker.model.seam import MITRE_LIMIT, add_allowance, move_in

SQUARE = ((0.0, 0.0), (100.0, 0.0), (100.0, 80.0), (0.0, 80.0))
# Two legs on one line, the right one longer.
LEGS = (
    (0.0, 0.0),
    (30.0, 0.0),
    (30.0, 40.0),
    (50.0, 40.0),
    (50.0, 0.0),
    (120.0, 0.0),
    (120.0, 90.0),
    (0.0, 90.0),
)


def test_each_edge_of_a_square_has_its_own_beside_it():
    widths = [10.0, 20.0, 30.0, 40.0]
    cutting = add_allowance(SQUARE, widths)
    corners = [(-40.0, -10.0), (120.0, -10.0), (120.0, 110.0), (-40.0, 110.0)]
    for i, width in enumerate(widths):
        edge = (SQUARE[i], SQUARE[(i + 1) % 4])
        found = edge_beside(cutting, edge, width)
        assert found is not None
        for end, corner in zip(found, (corners[i], corners[(i + 1) % 4]), strict=True):
            assert math.dist(end, corner) < 1e-6


def test_of_two_edges_on_one_line_it_is_the_one_alongside():
    for start, end in ((0, 1), (4, 5)):
        assert edge_beside(LEGS, (LEGS[start], LEGS[end]), 0.0) == (LEGS[start], LEGS[end])


def test_there_may_be_none():
    assert edge_beside(SQUARE, (SQUARE[0], SQUARE[1]), 5.0) is None
    # The line of the feet is met, but between them.
    assert edge_beside(LEGS, ((35.0, 0.0), (45.0, 0.0)), 0.0) is None


@given(st.floats(0.5, 60), st.floats(0.5, 60), st.floats(0.2, math.pi - 0.2))
def test_at_a_corner_a_notch_comes_to_lie_on_both_seams(before, after, angle):
    """Distances from the two edges of the corner are the two allowances, unless the corner is too sharp."""
    corner = (0.0, 0.0)
    ring = (corner, (500.0, 0.0), (500.0 * math.cos(angle), 500.0 * math.sin(angle)))
    x, y = move_in(corner, ring, [after, 0.0, before])
    far = math.hypot(x, y)
    if far < MITRE_LIMIT * max(before, after) - 1e-6:
        assert math.isclose(y, after, abs_tol=1e-6)
        assert math.isclose(x * math.sin(angle) - y * math.cos(angle), before, abs_tol=1e-6)
    else:
        assert far <= MITRE_LIMIT * max(before, after) + 1e-6
