"""Fewer points and wider outlines, always on the safe side: the result contains what it stands for."""

from __future__ import annotations

import heapq
from itertools import pairwise
from math import ceil, floor, hypot, inf

import numpy as np
import pyclipper
from numpy.typing import NDArray

from marker.nest.problem import LIMIT

ROUNDING = 2
"""Lattice units by which an inflated outline is wider than asked, lest rounding make it narrower."""

_Point = tuple[int, int]


def inflate(polygon: NDArray[np.int64], by: int) -> NDArray[np.int64]:
    """The outline that keeps a distance of at least ``by`` from the polygon everywhere.

    ``polygon`` is int64[n, 2], simple, counter-clockwise; so is the result. Corners stay corners as long as
    they reach out no further than twice ``by``, sharper ones are cut square, so few points are added. Rooms
    that close up are filled. Two polygons inflated by half a gap each may touch: they are then a gap apart.
    Simplify afterwards, not before: inflating closes narrow notches, whose points then go.

    Raises ValueError if ``by`` is negative or the result could reach ``LIMIT``.
    """
    if by < 0:
        raise ValueError(f"cannot inflate by {by}; use a positive distance")
    if int(np.abs(polygon).max()) + 2 * (by + ROUNDING) >= LIMIT:
        raise ValueError(f"the inflated polygon would reach {LIMIT}")
    if by == 0:
        return np.asarray(polygon, dtype=np.int64)
    offset = pyclipper.PyclipperOffset(2.0)
    offset.AddPath(polygon.tolist(), pyclipper.JT_MITER, pyclipper.ET_CLOSEDPOLYGON)
    # Clipper rounds every corner to the lattice, some of them twice: two more units make up for that.
    outer = max(offset.Execute(by + ROUNDING), key=pyclipper.Area)
    return np.array(outer, dtype=np.int64)


def simplify_outwards(polygon: NDArray[np.int64], tolerance: int) -> NDArray[np.int64]:
    """An outline of fewer points that contains the polygon and stays within ``tolerance`` of it.

    ``polygon`` is int64[n, 2], simple, counter-clockwise; so is the result. Two moves, cheapest first:
    a reflex corner is cut off, and an edge between two convex corners gives way to the crossing of its
    neighbours, rounded outwards. No point of the new outline is further than ``tolerance`` from the old
    one, nor the other way round. Straight edges that meet at a corner stay where they are.
    """
    outline = _Outline(np.asarray(polygon, dtype=np.int64))
    if tolerance > 0:
        outline.reduce(float(tolerance))
    return outline.points()


class _Outline:
    """A ring of corners that shrinks; each remembers which place on the original outline it stands for.

    An edge stands for the stretch of the original between the places of its ends. If all of that stretch
    is within the tolerance of the edge, and each end within the tolerance of its place, then no point of
    the edge is further than that from the stretch either.
    """

    def __init__(self, original: NDArray[np.int64]) -> None:
        n = len(original)
        self.original: list[tuple[float, float]] = [(float(x), float(y)) for x, y in original]
        self.at: list[_Point] = [(int(x), int(y)) for x, y in original]
        self.place: list[float] = [float(k) for k in range(n)]
        self.before = [(k - 1) % n for k in range(n)]
        self.after = [(k + 1) % n for k in range(n)]
        self.alive = [True] * n
        self.version = [0] * n
        self.count = n

    def points(self) -> NDArray[np.int64]:
        return np.array([self.at[k] for k in range(len(self.at)) if self.alive[k]], dtype=np.int64)

    def reduce(self, tolerance: float) -> None:
        queue: list[tuple[float, int, bool, tuple[int, ...]]] = []
        for k in range(len(self.at)):
            self._offer(queue, k, tolerance)
        while queue and self.count > 3:
            _, k, extend, versions = heapq.heappop(queue)
            involved = self._involved(k)
            stale = not self.alive[k] or versions != tuple(self.version[i] for i in involved)
            if stale or not self._is_free(k, extend):
                continue
            if extend:
                self._extend(k)
            else:
                self._cut_off(k)
            touched = {i for i in involved if self.alive[i]}
            for i in touched:
                self.version[i] += 1
            around = touched | {self.after[i] for i in touched} | {self.before[i] for i in touched}
            for i in around | {self.before[i] for i in around}:
                self._offer(queue, i, tolerance)

    def _involved(self, k: int) -> tuple[int, ...]:
        """The corners whose moving would change what can be done at k."""
        a, c = self.before[k], self.after[k]
        return a, k, c, self.after[c]

    def _offer(self, queue: list[tuple[float, int, bool, tuple[int, ...]]], k: int, tolerance: float) -> None:
        for extend, cost in (
            (False, self._cost_of_cutting(k)),
            (True, self._cost_of_extending(k, tolerance)),
        ):
            if cost <= tolerance:
                heapq.heappush(queue, (cost, k, extend, tuple(self.version[i] for i in self._involved(k))))

    def _cost_of_cutting(self, k: int) -> float:
        a, c = self.before[k], self.after[k]
        if _side(self.at[a], self.at[k], self.at[c]) > 0:
            return inf
        return self._deviation(self.place[a], self.place[c], self.at[a], self.at[c])

    def _cut_off(self, k: int) -> None:
        self.after[self.before[k]], self.before[self.after[k]] = self.after[k], self.before[k]
        self.alive[k] = False
        self.count -= 1

    def _cost_of_extending(self, k: int, tolerance: float) -> float:
        found = self._extension(k, tolerance)
        if found is None:
            return inf
        tip, place, away = found
        a, d = self.before[k], self.after[self.after[k]]
        return max(
            away,
            self._deviation(self.place[a], place, self.at[a], tip),
            self._deviation(place, self.place[d], tip, self.at[d]),
        )

    def _extend(self, k: int) -> None:
        found = self._extension(k, inf)
        assert found is not None
        self.at[k], self.place[k], _ = found
        self._cut_off(self.after[k])

    def _extension(self, k: int, tolerance: float) -> tuple[_Point, float, float] | None:
        """Where the edges next to edge k meet, the place it stands for, and how far apart those are."""
        a, c = self.before[k], self.after[k]
        d = self.after[c]
        if self.count <= 3:
            return None
        before, here, there, after = (self.at[i] for i in (a, k, c, d))
        if _side(before, here, there) <= 0 or _side(here, there, after) <= 0:
            return None
        ux, uy = here[0] - before[0], here[1] - before[1]
        vx, vy = after[0] - there[0], after[1] - there[1]
        turn = ux * vy - uy * vx
        if turn <= 0:
            return None
        t = ((there[0] - here[0]) * vy - (there[1] - here[1]) * vx) / turn
        x, y = here[0] + t * ux, here[1] + t * uy
        if not abs(x - here[0]) + abs(y - here[1]) < LIMIT:
            return None
        tip = _round_outwards(x, y, before, here, there, after)
        if tip is None:
            return None
        place, away = self._nearest(self.place[k], self.place[c], tip)
        return (tip, place, away) if away <= tolerance else None

    def _stretch(self, start: float, end: float) -> list[tuple[float, float, float]]:
        """(place, x, y) along the original outline from one place to another, both included."""
        n = len(self.original)
        if end <= start:
            end += n
        inner = [(float(k), *self.original[k % n]) for k in range(floor(start) + 1, ceil(end))]
        return [self._on_original(start), *inner, self._on_original(end)]

    def _on_original(self, place: float) -> tuple[float, float, float]:
        n = len(self.original)
        whole = floor(place)
        part = place - whole
        (x, y), (x2, y2) = self.original[whole % n], self.original[(whole + 1) % n]
        return place, x + part * (x2 - x), y + part * (y2 - y)

    def _deviation(self, start: float, end: float, a: _Point, b: _Point) -> float:
        """How far the stretch of the original between two places strays from the segment ab."""
        ux, uy = b[0] - a[0], b[1] - a[1]
        return max(_from_segment(x - a[0], y - a[1], ux, uy)[0] for _, x, y in self._stretch(start, end))

    def _nearest(self, start: float, end: float, tip: _Point) -> tuple[float, float]:
        """The place between two places that is nearest to a point, and its distance."""
        best = (inf, 0.0)
        for (here, x, y), (there, x2, y2) in pairwise(self._stretch(start, end)):
            distance, part = _from_segment(tip[0] - x, tip[1] - y, x2 - x, y2 - y)
            best = min(best, (distance, here + part * (there - here)))
        return best[1] % len(self.original), best[0]

    def _is_free(self, k: int, extend: bool) -> bool:
        """Whether the new edges would meet the rest of the outline only where they join it."""
        a, c = self.before[k], self.after[k]
        gone = {a, k}
        if extend:
            found = self._extension(k, inf)
            assert found is not None
            gone.add(c)
            c = self.after[c]
            way = [self.at[a], found[0], self.at[c]]
        else:
            way = [self.at[a], self.at[c]]
        rest = [i for i in range(len(self.at)) if self.alive[i] and i not in gone]
        starts = np.array([self.at[i] for i in rest], dtype=np.int64).reshape(-1, 2)
        stops = np.array([self.at[self.after[i]] for i in rest], dtype=np.int64).reshape(-1, 2)
        for p, q in pairwise(np.array(way, dtype=np.int64)):
            meets = _meets(p, q, starts, stops)
            # The edges that lead to it and on from it share an end with it, but must not fold back.
            meets &= ~((stops == p).all(axis=1) & _leads_on(starts, p, q))
            meets &= ~((starts == q).all(axis=1) & _leads_on(p, q, stops))
            if meets.any():
                return False
        return True


def _from_segment(x: float, y: float, ux: float, uy: float) -> tuple[float, float]:
    """Distance of (x, y) from the segment from the origin to (ux, uy), and how far along that is."""
    square = ux * ux + uy * uy
    part = min(1.0, max(0.0, (x * ux + y * uy) / square)) if square else 0.0
    return hypot(x - part * ux, y - part * uy), part


def _side(a: _Point, b: _Point, c: _Point) -> int:
    """Positive if a, b, c turn left, negative if they turn right, 0 if they are in line."""
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _round_outwards(
    x: float, y: float, before: _Point, here: _Point, there: _Point, after: _Point
) -> _Point | None:
    """The lattice point nearest to (x, y) from which, exactly, the edge from here to there lies inside."""
    near = [(round(x) + i, round(y) + j) for i in range(-2, 3) for j in range(-2, 3)]
    near.sort(key=lambda p: (p[0] - x) ** 2 + (p[1] - y) ** 2)
    for tip in near:
        beyond = _side(here, there, tip) < 0
        if beyond and _side(before, tip, here) >= 0 and _side(tip, after, there) >= 0:
            return tip
    return None


def _leads_on(p: NDArray[np.int64], q: NDArray[np.int64], r: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Whether the way from p over q to r does not turn back on itself (for every p or every r)."""
    u, v = q - p, r - q
    turns = u[..., 0] * v[..., 1] != u[..., 1] * v[..., 0]
    return np.asarray(turns | ((u * v).sum(axis=-1) > 0))


def _meets(
    p: NDArray[np.int64], q: NDArray[np.int64], starts: NDArray[np.int64], stops: NDArray[np.int64]
) -> NDArray[np.bool_]:
    """Which of the segments have a point in common with pq, ends included."""

    def side(a: NDArray[np.int64], b: NDArray[np.int64], c: NDArray[np.int64]) -> NDArray[np.int64]:
        u, v = b - a, c - a
        return np.sign(u[..., 0] * v[..., 1] - u[..., 1] * v[..., 0])

    s1, s2 = side(p, q, starts), side(p, q, stops)
    s3, s4 = side(starts, stops, p), side(starts, stops, q)
    boxes = (np.maximum(starts, stops) >= np.minimum(p, q)).all(axis=1)
    boxes &= (np.minimum(starts, stops) <= np.maximum(p, q)).all(axis=1)
    return np.asarray((s1 * s2 <= 0) & (s3 * s4 <= 0) & boxes)
