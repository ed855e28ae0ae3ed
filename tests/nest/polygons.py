"""Hypothesis strategies for the polygons that the placing engine works on, and shapely as their judge."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from hypothesis import assume
from hypothesis import strategies as st
from numpy.typing import NDArray
from shapely.affinity import translate
from shapely.geometry import Polygon, box
from shapely.ops import unary_union

Points = NDArray[np.int64]


def polygon(*points: tuple[int, int]) -> Points:
    return np.array(points, dtype=np.int64)


def rectangle(width: int, height: int, x: int = 0, y: int = 0) -> Points:
    return polygon((x, y), (x + width, y), (x + width, y + height), (x, y + height))


def overlap(a: Points, b: Points, at: tuple[int, int] = (0, 0)) -> bool:
    """Whether the interiors of a and of b moved by ``at`` have a point in common (shapely's answer)."""
    return bool(Polygon(a).relate_pattern(translate(Polygon(b), *at), "T********"))


def _ccw(points: Points) -> Points:
    return points if Polygon(points).exterior.is_ccw else points[::-1].copy()


@st.composite
def tangled(draw: Any, scale: int = 24, size: int = 8, corners: int = 9) -> Points:
    """Few corners on a coarse grid, in an order without crossings: many parallel edges and sharp notches."""
    points: list[tuple[int, int]] = draw(
        st.lists(
            st.tuples(st.integers(0, size), st.integers(0, size)), min_size=3, max_size=corners, unique=True
        )
    )
    for _ in range(60):
        crossing = _first_crossing(points)
        if crossing is None:
            break
        i, j = crossing
        points[i + 1 : j + 1] = points[i + 1 : j + 1][::-1]
    outline = Polygon(points)
    assume(outline.is_valid and outline.area > 0)
    return _ccw(np.array(points, dtype=np.int64) * scale)


def _first_crossing(points: list[tuple[int, int]]) -> tuple[int, int] | None:
    n = len(points)
    for i in range(n):
        for j in range(i + 2, n - (i == 0)):
            a, b, c, d = points[i], points[i + 1], points[j], points[(j + 1) % n]
            if _side(a, b, c) * _side(a, b, d) < 0 and _side(c, d, a) * _side(c, d, b) < 0:
                return i, j
    return None


def _side(a: tuple[int, int], b: tuple[int, int], c: tuple[int, int]) -> int:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


@st.composite
def stars(draw: Any, radius: int = 1000, corners: int = 24) -> Points:
    """A star-shaped outline with deep random notches, somewhere near the origin."""
    n = draw(st.integers(5, corners))
    radii = draw(st.lists(st.integers(radius // 10, radius), min_size=n, max_size=n))
    x, y = draw(st.integers(-radius, radius)), draw(st.integers(-radius, radius))
    turn = draw(st.floats(0, 1))
    angles = [2 * math.pi * (k + turn) / n for k in range(n)]
    points = [
        (x + round(r * math.cos(t)), y + round(r * math.sin(t))) for r, t in zip(radii, angles, strict=True)
    ]
    outline = Polygon(points)
    assume(outline.is_valid and outline.area > 0)
    return _ccw(np.array(points, dtype=np.int64))


@st.composite
def combs(draw: Any) -> Points:
    """A bar with rectangular teeth of several widths and lengths, upright or lying."""
    teeth = draw(st.lists(st.tuples(*[st.integers(1, 4)] * 3), min_size=1, max_size=3))
    base = draw(st.integers(1, 3))
    points = comb(teeth, base) * 20
    if draw(st.booleans()):
        points = points[:, ::-1].copy()
    if draw(st.booleans()):
        points = -points
    return _ccw(points)


def grid_outline(cells: Any) -> Points:
    """The outline of a shapely polygon on a grid, counter-clockwise, without needless corners."""
    points = np.array(cells.exterior.normalize().coords, dtype=np.int64)[:-1]
    before, after = points - np.roll(points, 1, axis=0), np.roll(points, -1, axis=0) - points
    return _ccw(points[before[:, 0] * after[:, 1] != before[:, 1] * after[:, 0]])


@st.composite
def rectilinear(draw: Any, cells: int = 9) -> Points:
    """Squares of a grid joined edge to edge, without a hole and without touching itself at a corner."""
    shape = {(0, 0)}
    for way in draw(st.lists(st.tuples(st.integers(0, 99), st.integers(0, 3)), max_size=cells)):
        x, y = sorted(shape)[way[0] % len(shape)]
        u, v = ((1, 0), (0, 1), (-1, 0), (0, -1))[way[1]]
        shape.add((x + u, y + v))
    joined = unary_union([box(x, y, x + 1, y + 1) for x, y in shape])
    assume(joined.geom_type == "Polygon" and joined.is_valid and not joined.interiors)
    return grid_outline(joined)


@st.composite
def letters(draw: Any) -> Points:
    """An L, a T, a U or an H of bars of several widths."""
    a, b, c, d, e = (draw(st.integers(1, 3)) for _ in range(5))
    x, y, top = a + b, a + b + c, d + e
    drawn = {
        "L": polygon((0, 0), (x, 0), (x, c), (a, c), (a, top), (0, top)),
        "T": polygon((a, 0), (x, 0), (x, d), (y, d), (y, top), (0, top), (0, d), (a, d)),
        "U": polygon((0, 0), (y, 0), (y, top), (x, top), (x, d), (a, d), (a, d + c), (0, d + c)),
        "H": polygon(
            (0, 0), (a, 0), (a, d), (x, d), (x, 0), (y, 0),
            (y, top + a), (x, top + a), (x, top), (a, top), (a, top + b), (0, top + b),
        ),
    }  # fmt: skip
    return drawn[draw(st.sampled_from("LTUH"))]


@st.composite
def jigsaws(draw: Any) -> tuple[Points, Points]:
    """A rectangle cut in two by a line with tabs, some wider at the tip: the parts fit as they lie."""
    cut = [(8, 0)]
    y = 0
    for _ in range(draw(st.integers(1, 2))):
        y += draw(st.integers(1, 2))
        out, neck, flare = draw(st.integers(-3, 3)), draw(st.integers(1, 3)), draw(st.integers(-1, 1))
        if out == 0:
            continue
        flare = flare if y + flare > cut[-1][1] and 2 * flare + neck > 0 else 0
        cut += [(8, y + 1), (8 + out, y + 1 - flare), (8 + out, y + 1 + neck + flare), (8, y + 1 + neck)]
        y += 1 + neck + abs(flare)
    top = y + 2
    cut.append((8, top))
    left = np.array([(0, 0), *cut, (0, top)], dtype=np.int64)
    right = np.array([(16, top), *cut[::-1], (16, 0)], dtype=np.int64)
    assume(Polygon(left).is_valid and Polygon(right).is_valid)
    return _ccw(left), _ccw(right)


def comb(teeth: list[tuple[int, int, int]], base: int) -> Points:
    """A bar ``base`` high with teeth (width, gap after it, height)."""
    x = 0
    top: list[tuple[int, int]] = []
    for tooth, gap, height in teeth:
        top += [(x, base + height), (x + tooth, base + height), (x + tooth, base), (x + tooth + gap, base)]
        x += tooth + gap
    return _ccw(np.array([(0, 0), *top, (x, 0)], dtype=np.int64))


def outlines() -> st.SearchStrategy[Points]:
    return st.one_of(tangled(), stars(), combs())
