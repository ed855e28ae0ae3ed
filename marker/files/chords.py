"""Chords that stand for a curve, so close that the line beside the curve is close as well.

A seam allowance makes an outward bend wider: chords that are near enough to a curve of radius r are not near
enough to the line drawn w outside it, whose radius is r + w. So they are chosen for the line that is cut.
Their ends lie a little on the outer side of the curve and their middles on the inner side, so that the area
comes out neither small nor large. For chords that turn by θ from one to the next the ends of the cutting line
lie (r + w)·θ²/12 outside it and its middles (r + w)·θ²/24 inside: plane geometry of the circle that the curve
follows there.

At a corner the cutting line runs on straight past the end of the curve. There the first chord lies on the
curve's tangent, since even a chord a degree off leads a line that runs on by 30 mm half a millimetre astray.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from fontTools.misc.bezierTools import splitCubicAtT

from marker.model.piece import Point

CHORD = 0.1
"""Millimetres between a curve and the chords that stand for it at most, and between the lines beside both."""

_AIM = 0.8 * CHORD
"""What the chords are chosen for; bends that change on the way take up the rest."""
_SURE = 0.97 * CHORD
"""What they may miss by at the places where it is measured, lest they miss by more in between."""
_FLAT = 0.35
"""A curve that would need less than this share of a chord becomes one: its bend is under 0.02 mm."""
_END = math.sqrt(0.5)
"""Share of a full chord that the first and the last span. One of their ends is bound to lie on the curve, so
their area cannot be balanced at that end; at this length the other end does it at its usual distance."""
_TANGENT = math.sqrt(1 / 12)
"""Share of a full chord that a first or last one on the tangent spans: its free end then lies as far outside
the curve as the other ends do."""
_ENOUGH = 0.25
"""Share of a chord between two places at which a curve is looked at."""
_TIGHT = 1.0
"""Millimetres of allowance that are reckoned with at least, so that no chord turns by more than a radian."""
_JUMP = 1.0
"""Radians that a curve turns by between two neighbouring places only where it has a point."""
_NEAR = 0.02
"""Millimetres that two ends of chords are apart at least."""
_TRIES = 6
_GAUSS = np.polynomial.legendre.leggauss(3)


def chords(
    curve: tuple[Point, ...],
    reach: float = 0.0,
    most: int = 5000,
    past: tuple[float, float] = (0.0, 0.0),
) -> list[Point]:
    """The ends of the chords, without the curve's start and with its end, which both stay where they are.

    ``curve`` has three or four control points in millimetres. ``reach`` is the width of the allowance on its
    right-hand side, 0 or more; ``past`` is how far the line beside it runs straight on past its start and
    its end. Raises ValueError if there would be more than ``most`` chords.
    """
    control = _cubic(curve)
    t, cost, jump = _places(control, reach)
    if jump is not None:
        one, other = splitCubicAtT(*control.tolist(), jump)
        found = chords(one, reach, most, (past[0], 0.0))
        return found + chords((found[-1], *other[1:-1], curve[-1]), reach, most - len(found), (0.0, past[1]))
    total = np.concatenate(([0.0], np.cumsum(cost)))
    whole = np.array([0.0, 1.0])
    if total[-1] <= _FLAT and _worst(control, t, whole, control[[0, 3]], reach, past) <= _SURE:
        return [curve[-1]]
    first, last = (_TANGENT if far > 0 else _END for far in past)
    n = max(2 + (past[0] > 0 and past[1] > 0), math.ceil(total[-1] + 2 - first - last - 1e-9))
    for _ in range(_TRIES):
        if n > most:
            raise ValueError("too many chords")
        full = total[-1] / (n - 2 + first + last)
        ends = np.interp([(k + first) * full for k in range(n - 1)], total, t)
        cut = np.concatenate(([0.0], ends, [1.0]))
        found = _balanced(control, cut, reach, past)
        worst = _worst(control, t, cut, found, reach, past)
        if worst <= _SURE:
            break
        n = math.ceil(n * min(math.sqrt(worst / _SURE), 1.5)) + 1
    kept = [(float(x), float(y)) for x, y in found[:1]]
    for x, y in found[1:-1]:
        if min(math.dist(kept[-1], (x, y)), math.dist(curve[-1], (x, y))) > _NEAR:
            kept.append((float(x), float(y)))
    return [*kept[1:], curve[-1]]


def _cubic(curve: tuple[Point, ...]) -> Any:
    points = np.asarray(curve, dtype=float)
    if len(points) == 4:
        return points
    a, b, c = points
    return np.array([a, (a + 2 * b) / 3, (2 * b + c) / 3, c])


def _at(control: Any, t: Any) -> Any:
    """Points of the curve, (n, 2)."""
    u = 1.0 - t
    return np.stack((u**3, 3 * t * u * u, 3 * t * t * u, t**3), axis=-1) @ control


def _speed(control: Any, t: Any) -> Any:
    """The curve's derivative, (n, 2)."""
    u = 1.0 - t
    return 3 * np.stack((u * u, 2 * t * u, t * t), axis=-1) @ np.diff(control, axis=0)


def _headings(control: Any, t: Any, at: Any) -> Any:
    """Directions of the curve, (n, 2) of length 1; where it stands still, that towards the next place."""
    way = _speed(control, t)
    size = np.hypot(way[:, 0], way[:, 1])
    still = size <= 1e-6 * size.max()
    if still.any():
        steps = np.diff(at, axis=0)
        way[still] = np.concatenate((steps, steps[-1:]))[still]
        size = np.hypot(way[:, 0], way[:, 1])
    # A point of the curve at its very end turns what is left of it about.
    for end, beside in ((0, 1), (-1, -2)):
        if abs(t[end] - t[beside]) < 0.002 and (way[end] * way[beside]).sum() < 0:
            way[end], size[end] = way[beside], size[beside]
    return way / np.where(size > 0, size, 1.0)[:, None]


def _turns(way: Any) -> Any:
    """Signed angles from one direction to the next, to the left positive."""
    one, other = way[:-1], way[1:]
    return np.arctan2(one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0], (one * other).sum(axis=1))


def _places(control: Any, reach: float) -> tuple[Any, Any, float | None]:
    """Places along the curve, ends included, and between each two the share of a chord that is needed.

    And where the curve has a point in it, at which its direction jumps.

    A chord of length L on a bend of curvature κ, beside which the line runs w outside, is as long as it may
    be where κ(1 + wκ)L² is twelve times the tolerance.
    """
    t = np.linspace(0.0, 1.0, 17)
    for left in reversed(range(16)):
        at = _at(control, t)
        turn = _turns(_headings(control, t, at))
        step = np.hypot(*np.diff(at, axis=0).T)
        cost = np.sqrt((np.abs(turn) * step + max(reach, _TIGHT) * turn * turn) / (12 * _AIM))
        coarse = (cost > _ENOUGH) | (np.abs(turn) > _JUMP)
        if not left or not coarse.any():
            break
        t = np.sort(np.concatenate((t, (t[:-1] + t[1:])[coarse] / 2)))
    middles = (t[:-1] + t[1:]) / 2
    jumps = middles[(np.abs(turn) > _JUMP) & (np.abs(middles - 0.5) < 0.499)]
    return t, cost, float(jumps[0]) if len(jumps) else None


def _balanced(control: Any, cut: Any, reach: float, past: tuple[float, float]) -> Any:
    """Ends of chords (n + 1, 2) at the parameters ``cut``, moved off the curve where they may be."""
    at = _at(control, cut)
    length = np.hypot(*np.diff(at, axis=0).T)
    # The area between each chord and its part of the curve, exactly: the integrand is of the fifth degree.
    nodes, weights = _GAUSS
    half = np.diff(cut) / 2
    t = (cut[:-1, None] + half[:, None] * (nodes + 1.0)).ravel()
    off = _at(control, t) - np.repeat(at[:-1], len(nodes), axis=0)
    way = _speed(control, t)
    cross = (off[:, 0] * way[:, 1] - off[:, 1] * way[:, 0]).reshape(-1, len(nodes))
    area = (cross @ weights) * half / 2
    # Inner chords leave half of it to either end, the first and the last all of it to the one that is free.
    share = np.full(len(area), 0.5)
    share[[0, -1]] = 1.0
    given = (area * share)[:-1] + (area * share)[1:]
    beside = (length[:-1] + length[1:]) / 2
    turn = _turns(np.diff(at, axis=0))
    # Beside a hollow that is tighter than the allowance is wide there is no line to balance.
    outside = np.where(-turn * reach > beside, 0.0, reach)
    out = given / np.maximum(beside, 1e-9) - outside * turn * turn / 24
    # Moved by more than this a short chord would lean: on a bend far tighter than the allowance is wide.
    most = np.minimum(np.abs(turn) * beside / 6, _AIM)
    out = np.clip(out, -most, most)
    way = _headings(control, cut, at)
    at[1:-1] += out[:, None] * _right(way[1:-1])
    for far, end, free in zip(past, (0, -1), (1, -2), strict=True):
        if far > 0:
            at[free] = at[end] + ((at[free] - at[end]) * way[end]).sum() * way[end]
    return at


def _worst(control: Any, t: Any, cut: Any, found: Any, reach: float, past: tuple[float, float]) -> float:
    """Millimetres that the chords, or the line ``reach`` outside them, miss by at most."""
    t = np.union1d(t, (cut[:-1] + cut[1:]) / 2)
    at = _at(control, t)
    way = _headings(control, t, at)
    steps = np.diff(found, axis=0)
    along = steps / np.maximum(np.hypot(*steps.T), 1e-12)[:, None]
    k = np.clip(np.searchsorted(cut, t, side="right") - 1, 0, len(along) - 1)
    away = at - found[k]
    off = (away * _right(along[k])).sum(axis=1)
    on = np.clip((away * along[k]).sum(axis=1), 0.0, np.hypot(*steps.T)[k])
    apart = np.hypot(*(away - on[:, None] * along[k]).T)
    middle = off + reach * ((way * along[k]).sum(axis=1) - 1)
    bends = np.abs(_turns(np.concatenate((way[:1], along, way[-1:]))))
    astray = np.sin(np.minimum(bends[[0, -1]], 1.5)) * past
    # At the ends the next edge may turn as much again.
    bends[[0, -1]] *= 2
    moved = ((found - _at(control, cut)) * _right(_headings(control, cut, found))).sum(axis=1)
    corner = moved + reach * (1 / np.cos(np.minimum(bends / 2, 1.5)) - 1)
    return float(max(np.abs(each).max() for each in (apart, middle, moved, corner, astray)))


def _right(way: Any) -> Any:
    """Directions turned by a right angle to the right."""
    return np.stack((way[:, 1], -way[:, 0]), axis=-1)
