"""No-fit polygons: where may one polygon's reference point not be, so that it does not overlap another.

The no-fit polygon of a (fixed) and b (moving) is the Minkowski sum of a and -b (b turned by 180° about
its reference point): b placed at t overlaps a exactly if t is inside. It is found from the signed
convolution of the two outlines (Guibas, Ramshaw & Stolfi 1983; Wein 2006): about as many edges as the
result has, where edge-by-edge quadrilaterals would be the product of both counts.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pyclipper
from numpy.typing import NDArray

from marker.nest.exact_fits import exact_fits
from marker.nest.overlap import Solid
from marker.nest.problem import LIMIT, Problem

Shape = tuple[int, int]

SLIVER = 0.75
"""A ring whose area is less than this times half its perimeter is thinner than the lattice, on average."""


def no_fit_polygon(
    a: NDArray[np.int64], b: NDArray[np.int64], *, slack: int = 0
) -> tuple[NDArray[np.int64], ...]:
    """Rings round all positions of b, relative to a, at which the interiors of a and b overlap.

    ``a`` and ``b`` are int64[n, 2], simple, counter-clockwise, each relative to its own reference point.
    Returns int64[m, 2] arrays: outer rings counter-clockwise, holes clockwise, so the forbidden interior
    is always on the left; on a ring b just touches a. Corners of a and b meet exactly; where two edges of
    the convolution cross, the crossing is rounded to the lattice.

    Where b just fits into a slot of a, its places are a slit without width, which no outline can show; where
    it cannot move at all, a single place (``exact_fits``). Both are opened to a lattice unit: there, b may
    overlap a by up to one unit. Other holes and islands thinner than the lattice (``SLIVER``) are rounding
    noise and are dropped. With ``slack=n``, b is first
    made smaller by about n units all round, for a fit that is tighter than exact.

    Raises ValueError if a polygon has fewer than three corners or if coordinates of the result could reach
    ``LIMIT`` (Clipper would leave its fast exact range, and abort the process further out).
    """
    return no_fit_polygon_and_fits(a, b, slack=slack)[0]


def no_fit_polygon_and_fits(
    a: NDArray[np.int64], b: NDArray[np.int64], *, slack: int = 0
) -> tuple[tuple[NDArray[np.int64], ...], bool]:
    """As ``no_fit_polygon``, and whether it had to be opened where b just fits a."""
    fixed = _corners(a)
    moving = _corners(b if slack == 0 else _shrunk(b, slack))
    if _reach(fixed) + _reach(moving) >= LIMIT:
        raise ValueError(
            f"polygons reach {_reach(fixed)} and {_reach(moving)}; the sum must be below {LIMIT}"
        )
    walks, turned_back = _convolution(fixed, -moving)
    if len(walks) == 1 and _is_convex(walks[0]):
        return (_corners(walks[0]),), False
    start = np.concatenate(walks)
    along = np.concatenate([_following(walk) - walk for walk in walks])
    slits, places = exact_fits(fixed, moving, start, along, turned_back)
    rings = _opened(_unite(walks), slits)
    single = [np.array((at, at)) for at in places if _is_deep(at, rings)]
    return _opened(rings, single), bool(slits or single)


def reversed_no_fit_polygon(rings: tuple[NDArray[np.int64], ...]) -> tuple[NDArray[np.int64], ...]:
    """The no-fit polygon of (b, a) from that of (a, b), made without slack: each ring turned by 180°."""
    return tuple(-ring for ring in rings)


class NoFitPolygons:
    """No-fit polygons by pairs of variants, each made when it is first asked for.

    A variant is named by (kind, variant), an obstacle by (-1, index); an obstacle never moves.
    """

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self._made: dict[tuple[Shape, Shape], tuple[NDArray[np.int64], ...]] = {}
        self._solids: dict[Shape, Solid] = {}

    def polygon(self, shape: Shape) -> NDArray[np.int64]:
        kind, variant = shape
        if kind < 0:
            return self.problem.obstacles[variant]
        return self.problem.kinds[kind].variants[variant].polygon

    def solid(self, shape: Shape) -> Solid:
        """The polygon made ready for being judged without its no-fit polygons."""
        if shape not in self._solids:
            self._solids[shape] = Solid(self.polygon(shape))
        return self._solids[shape]

    def __call__(self, fixed: Shape, moving: Shape) -> tuple[NDArray[np.int64], ...]:
        """Rings round the positions of ``moving``, relative to ``fixed``, at which the two overlap."""
        made = self._made.get((fixed, moving))
        if made is None:
            reverse = self._made.get((moving, fixed))
            if reverse is not None:
                made = reversed_no_fit_polygon(reverse)
            else:
                made = no_fit_polygon(self.polygon(fixed), self.polygon(moving))
            self._made[fixed, moving] = made
        return made


def _following(rows: NDArray[Any]) -> NDArray[Any]:
    """For each row the next one, round and round (as numpy's roll, but quick for few rows)."""
    return np.concatenate((rows[1:], rows[:1]))


def _preceding(rows: NDArray[Any]) -> NDArray[Any]:
    return np.concatenate((rows[-1:], rows[:-1]))


def _reach(polygon: NDArray[np.int64]) -> int:
    return int(np.abs(polygon).max())


def _shrunk(polygon: NDArray[np.int64], by: int) -> NDArray[np.int64]:
    """The largest part of the polygon that is left when every edge moves inwards; itself if nothing is."""
    if _reach(polygon) >= LIMIT:
        raise ValueError(f"polygon reaches {_reach(polygon)}, which must be below {LIMIT}")
    offset = pyclipper.PyclipperOffset(4.0)
    offset.AddPath(polygon.tolist(), pyclipper.JT_MITER, pyclipper.ET_CLOSEDPOLYGON)
    smaller = offset.Execute(-by)
    if not smaller:
        return polygon
    # Rounding to the lattice can push a sharp tip out of the polygon again.
    clipper = pyclipper.Pyclipper()
    clipper.AddPaths(smaller, pyclipper.PT_SUBJECT, True)
    clipper.AddPath(polygon.tolist(), pyclipper.PT_CLIP, True)
    parts = clipper.Execute(pyclipper.CT_INTERSECTION, pyclipper.PFT_NONZERO, pyclipper.PFT_NONZERO)
    return np.array(max(parts, key=pyclipper.Area), dtype=np.int64)


def _corners(polygon: NDArray[np.int64]) -> NDArray[np.int64]:
    """The polygon without repeated points and without points in the middle of a straight edge."""
    polygon = np.asarray(polygon, dtype=np.int64)
    if polygon.ndim != 2 or polygon.shape[1] != 2 or len(polygon) < 3:
        raise ValueError(f"a polygon is an array [n >= 3, 2], not {polygon.shape}")
    if _reach(polygon) >= LIMIT:
        raise ValueError(f"polygon reaches {_reach(polygon)}, which must be below {LIMIT}")
    while True:
        arriving = polygon - _preceding(polygon)
        leaving = _following(arriving)
        turning = arriving[:, 0] * leaving[:, 1] != arriving[:, 1] * leaving[:, 0]
        if turning.all():
            return polygon
        # Of a point that is there twice, both copies look straight: drop one first.
        repeated = ~arriving.any(axis=1)
        polygon = polygon[~repeated] if repeated.any() else polygon[turning]
        if len(polygon) < 3:
            raise ValueError("a polygon without area has no no-fit polygon")


def _is_convex(polygon: NDArray[np.int64]) -> bool:
    """Whether a closed walk turns left only, and just once round."""
    edges = _following(polygon) - polygon
    following = _following(edges)
    if (edges[:, 0] * following[:, 1] < edges[:, 1] * following[:, 0]).any():
        return False
    upward = (edges[:, 1] > 0) | ((edges[:, 1] == 0) & (edges[:, 0] > 0))
    return int((upward & ~_preceding(upward)).sum()) == 1


def _convolution(
    p: NDArray[np.int64], q: NDArray[np.int64]
) -> tuple[list[NDArray[np.int64]], NDArray[np.bool_]]:
    """Closed walks whose winding number is the number of parts in which p meets a turned q.

    Also tells, for the edges of all walks one after the other, which are walked backwards.

    A node (i, j) is the place p[i] + q[j]. An edge of p is passed at corner j of q if its direction lies
    in the turn of that corner, and backwards if the corner is reflex; and the other way round. Parallel
    edges are told apart as if q were turned counter-clockwise by an infinitely small angle. As many
    edges enter a node as leave it, so any way of linking them gives the same winding numbers.
    """
    n, m = len(p), len(q)
    p_out = _following(p) - p
    q_out = _following(q) - q
    cross = np.multiply.outer(p_out[:, 0], q_out[:, 1]) - np.multiply.outer(p_out[:, 1], q_out[:, 0])
    before_q = cross >= 0  # edge i of p does not lie ahead (counter-clockwise) of edge j of q
    p_reflex, q_reflex = _reflex(p_out), _reflex(q_out)

    # Edge i of p lies in the turn from q's edge j - 1 to its edge j. A turn is below 180°, so two
    # half-planes tell; at a reflex corner the two edges swap roles.
    ahead_in = ~_preceding(before_q.T).T
    passed_p = np.where(q_reflex, ~before_q & ~ahead_in, before_q & ahead_in)
    # Edge j of q lies in the turn from p's edge i - 1 to its edge i.
    ahead_of_in = _preceding(before_q)
    passed_q = np.where(p_reflex[:, None], before_q & ~ahead_of_in, ahead_of_in & ~before_q)

    i, j = np.nonzero(passed_p)
    here, there = i * m + j, (i + 1) % n * m + j
    back = q_reflex[j]
    k, j = np.nonzero(passed_q)
    q_here, q_there = k * m + j, k * m + (j + 1) % m
    q_back = p_reflex[k]
    start = np.concatenate((np.where(back, there, here), np.where(q_back, q_there, q_here)))
    end = np.concatenate((np.where(back, here, there), np.where(q_back, q_here, q_there)))

    follower = np.empty(len(start), dtype=np.int64)
    follower[np.argsort(end, kind="stable")] = np.argsort(start, kind="stable")
    places = p[start // m] + q[start % m]
    turned_back = np.concatenate((back, q_back))
    cycles = _cycles(follower.tolist())
    return [places[walk] for walk in cycles], turned_back[np.concatenate(cycles)]


def _reflex(out: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Which corners turn right, from the edges that leave them."""
    arriving = _preceding(out)
    return arriving[:, 0] * out[:, 1] < arriving[:, 1] * out[:, 0]


def _cycles(follower: list[int]) -> list[list[int]]:
    """The cycles of a permutation."""
    cycles = []
    seen = [False] * len(follower)
    for first in range(len(follower)):
        if seen[first]:
            continue
        cycle = []
        at = first
        while not seen[at]:
            seen[at] = True
            cycle.append(at)
            at = follower[at]
        cycles.append(cycle)
    return cycles


def _unite(walks: list[NDArray[np.int64]]) -> tuple[NDArray[np.int64], ...]:
    """The outline of all that the walks wind round at least once, without slivers."""
    clipper = pyclipper.Pyclipper()
    for walk in walks:
        if len(walk) > 2:
            try:
                clipper.AddPath(walk.tolist(), pyclipper.PT_SUBJECT, True)
            except pyclipper.ClipperException:
                continue  # a walk forth and back encloses nothing
    rings = clipper.Execute(pyclipper.CT_UNION, pyclipper.PFT_NONZERO, pyclipper.PFT_NONZERO)
    arrays = [np.array(ring, dtype=np.int64) for ring in rings]
    return tuple(ring for ring in arrays if not _is_sliver(ring))


def _is_deep(place: NDArray[np.int64], rings: tuple[NDArray[np.int64], ...]) -> bool:
    """Whether all rings are more than a lattice unit away."""
    a = np.concatenate(rings) - place
    along = np.concatenate([_following(ring) - ring for ring in rings])
    part = np.clip(-(a * along).sum(axis=1) / (along * along).sum(axis=1), 0.0, 1.0)
    nearest = a + part[:, None] * along
    return bool(np.hypot(nearest[:, 0], nearest[:, 1]).min() > 1.0)


def _opened(
    rings: tuple[NDArray[np.int64], ...], fits: list[NDArray[np.int64]]
) -> tuple[NDArray[np.int64], ...]:
    """The no-fit polygon less all exact fits (int64[2, 2]: from, to), each a lattice unit wide."""
    if not fits:
        return rings
    clipper = pyclipper.Pyclipper()
    clipper.AddPaths([ring.tolist() for ring in rings], pyclipper.PT_SUBJECT, True)
    for (ax, ay), (bx, by) in (fit.tolist() for fit in fits):
        u, v = (0, 1) if abs(bx - ax) >= abs(by - ay) else (1, 0)
        if (ax, ay) == (bx, by):
            bx += 1
        clipper.AddPath([(ax, ay), (bx, by), (bx + u, by + v), (ax + u, ay + v)], pyclipper.PT_CLIP, True)
    opened = clipper.Execute(pyclipper.CT_DIFFERENCE, pyclipper.PFT_NONZERO, pyclipper.PFT_NONZERO)
    return tuple(np.array(ring, dtype=np.int64) for ring in opened)


def _is_sliver(ring: NDArray[np.int64]) -> bool:
    edges = _following(ring) - ring
    perimeter = float(np.hypot(edges[:, 0], edges[:, 1]).sum())
    x, y = (ring - ring[0])[:, 0].astype(float), (ring - ring[0])[:, 1].astype(float)
    area = 0.5 * abs(float((x[:-1] * y[1:] - x[1:] * y[:-1]).sum()))
    return area < SLIVER * perimeter / 2
