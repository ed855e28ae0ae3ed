"""The drafting's own geometry: lengths against fontTools' arc length, and cutting an edge."""

from __future__ import annotations

import math
import sys

import pytest
from fontTools.misc.bezierTools import calcCubicArcLength
from hypothesis import given
from hypothesis import strategies as st

from tests.pieces.drawn import PIECES

sys.path.insert(0, str(PIECES))

from drafting.curves import (
    curve,
    end,
    joined,
    length,
    line,
    point_at,
    reverse,
    rounded,
    solve,
    split,
    start,
)

_lengths, _parts = st.integers(20, 300), st.floats(0.1, 0.9)


@given(
    st.integers(0, 90), st.integers(20, 300), st.integers(20, 300), st.floats(0.1, 0.9), st.floats(0.1, 0.9)
)
def test_lengths_agree_with_another_library(
    angle: int, width: int, height: int, first: float, second: float
) -> None:
    """Curves of the kind pieces have: control points on the two tangents, no cusps."""
    turn = math.radians(angle)
    a, b = (0.0, 0.0), (float(width), float(height))
    c = (first * width * math.cos(turn), first * height * math.sin(turn))
    d = (width - second * width * 0.5, float(height) - second * height * 0.3)
    ours = length(curve(a, c, d, b))
    assert ours == pytest.approx(calcCubicArcLength(a, c, d, b, tolerance=1e-6), abs=0.02)


@given(st.floats(0.01, 0.99))
def test_a_cut_edge_adds_up(part: float) -> None:
    edge = joined(line((0, 0), (100, 0)), curve((100, 0), (160, 0), (200, 40), (200, 100)))
    whole = length(edge)
    first, second = split(edge, part * whole)
    assert length(first) == pytest.approx(part * whole, abs=1e-6)
    assert length(first) + length(second) == pytest.approx(whole, abs=1e-6)
    assert end(first) == start(second) == pytest.approx(point_at(reverse(edge), (1 - part) * whole), abs=1e-6)


def test_a_rounded_corner_is_nearly_a_quarter_circle() -> None:
    edge = rounded((0, 0), (50, 0), (50, 50), 20)
    assert length(edge) == pytest.approx(math.pi / 2 * 20, rel=0.001)


def test_edges_that_do_not_join_are_refused() -> None:
    with pytest.raises(ValueError, match="do not join"):
        joined(line((0, 0), (1, 0)), line((2, 0), (3, 0)))


def test_solving_without_a_change_of_sign_is_refused() -> None:
    with pytest.raises(ValueError, match="no change of sign"):
        solve(lambda x: x * x + 1, -1, 1)
    assert solve(lambda x: x * x - 2, 0, 2) == pytest.approx(math.sqrt(2))
