"""Outlines turned the ways a cloth allows, on the engine's lattice."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from marker.cloth.spread import Strip
from marker.model.fabric import Fabric
from marker.model.piece import Point, Ring
from marker.nest.problem import Variant
from marker.nest.simplify import inflate, simplify_outwards

SCALE = 1000
"""Lattice units a millimetre: rounding moves no point further than 0.0008 mm, far below any tolerance."""
SIMPLIFY = 200
"""Lattice units (0.2 mm) by which an outline may grow to have fewer points."""


@dataclass(frozen=True)
class Pose:
    """An orientation: mirrored in the grain axis or not, then the grain arrow turned to ``rotation``."""

    mirrored: bool
    rotation: float


@dataclass(frozen=True, eq=False)
class Shape:
    """An outline with its grain along +x and its reference point at the origin, millimetres.

    ``polygon`` is its grown and simplified copy on the lattice, int64[n, 2].
    """

    outline: NDArray[np.float64]
    polygon: NDArray[np.int64]
    origin: Point
    grain_angle: float


@lru_cache(maxsize=1024)
def shape(ring: Ring, grain: tuple[Point, Point], origin: Point | None, gap: float) -> Shape:
    """Lay ``ring`` along its grain. ``origin`` is the reference point (default: the middle of its box)."""
    (tx, ty), (hx, hy) = grain
    angle = math.atan2(hy - ty, hx - tx)
    points = turned(np.asarray(ring, dtype=float), -angle)
    if origin is None:
        middle = (points.min(axis=0) + points.max(axis=0)) / 2
        origin = tuple(turned(middle[None, :], angle)[0])
    outline = points - turned(np.asarray([origin]), -angle)[0]
    return Shape(outline, collision(outline, gap), (float(origin[0]), float(origin[1])), angle)


def turned(points: NDArray[np.float64], angle: float) -> NDArray[np.float64]:
    """Points float[n, 2] turned counter-clockwise by ``angle`` radians about the origin."""
    cos, sin = math.cos(angle), math.sin(angle)
    return points @ np.array([[cos, sin], [-sin, cos]])


def collision(outline: NDArray[np.float64], gap: float) -> NDArray[np.int64]:
    """What must not overlap: the outline grown by half the gap, with few points."""
    exact = np.rint(outline * SCALE).astype(np.int64)
    grown = inflate(exact, math.ceil(gap * SCALE / 2))
    return simplify_outwards(grown, SIMPLIFY)


@lru_cache(maxsize=1024)
def tilted(shape: Shape, tilt: float, gap: float) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """The collision polygon and the true outline turned by less than a quarter, degrees."""
    outline = turned(shape.outline, math.radians(tilt))
    return collision(outline, gap), outline


def posed(shape: Shape, pose: Pose, gap: float) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """The collision polygon and the true outline (millimetres) in a pose, both about the reference point.

    Quarter turns and mirror images are exact, so that equal shapes have equal polygons.
    """
    polygon, outline = shape.polygon, shape.outline
    if pose.mirrored:
        polygon, outline = polygon[::-1] * (1, -1), outline[::-1] * (1.0, -1.0)
    quarter = round(pose.rotation / 90.0)
    rest = pose.rotation - 90.0 * quarter
    if abs(rest) > 1e-9:
        # Before mirroring the turn is the other way.
        polygon, outline = tilted(shape, round(-rest if pose.mirrored else rest, 9), gap)
        if pose.mirrored:
            polygon, outline = polygon[::-1] * (1, -1), outline[::-1] * (1.0, -1.0)
    for _ in range(int(quarter) % 4):
        polygon = np.stack([-polygon[:, 1], polygon[:, 0]], axis=1)
        outline = np.stack([-outline[:, 1], outline[:, 0]], axis=1)
    return polygon, outline


def window(
    polygon: NDArray[np.int64], outline: NDArray[np.float64], strip: Strip, at: float | None = None
) -> Variant | None:
    """Where in a strip the outline fits: anywhere, or with its reference point at ``y == at``.

    ``None`` when it is too tall for the strip.
    """
    low, high = outline.min(axis=0), outline.max(axis=0)
    if at is None:
        y_lo = math.ceil((strip.low - low[1]) * SCALE - 1e-6)
        y_hi = math.floor((strip.high - high[1]) * SCALE + 1e-6)
    else:
        slack = 0.02
        if at + low[1] < strip.low - slack or at + high[1] > strip.high + slack:
            return None
        y_lo = y_hi = round(at * SCALE)
    if y_lo > y_hi:
        return None
    return Variant(polygon, math.ceil(-low[0] * SCALE - 1e-6), math.ceil(high[0] * SCALE - 1e-6), y_lo, y_hi)


def tolerance(fabric: Fabric) -> float:
    """Degrees by which a piece may lie off the grain; 0 where it may lie in any direction anyway."""
    return fabric.grain_tolerance if fabric.grain != "any" else 0.0


@lru_cache(maxsize=1024)
def shortest(shape: Shape, tolerance: float, axis: int) -> tuple[float, float]:
    """The least extent of a shape along ``axis`` (0 or 1) when tilted within a tolerance, and the tilt.

    Between the tilts at which a side of the convex hull lies square to the axis the extent is a concave
    function, so the least one is at one of those tilts or at an end (Freeman & Shapira 1975).
    """
    from shapely import MultiPoint

    best = (float(np.ptp(shape.outline[:, axis])), 0.0)
    if not tolerance:
        return best
    hull = np.asarray(MultiPoint(shape.outline).convex_hull.exterior.coords)
    side = np.diff(hull, axis=0)
    angles = np.degrees(np.arctan2(side[:, 1], side[:, 0])) + (90.0 if axis == 0 else 0.0)
    turns = np.remainder(90.0 - angles, 180.0) - 90.0
    flush = turns[np.abs(turns) <= tolerance]
    for tilt in (-tolerance, *flush.tolist(), tolerance):
        extent = float(np.ptp(turned(hull, math.radians(tilt))[:, axis]))
        if extent < best[0] - 1e-6:
            best = (extent, tilt)
    return best


def free_poses(fabric: Fabric, *, faces: tuple[bool, ...], tilts: tuple[float, ...] = (0.0,)) -> list[Pose]:
    """Every orientation the fabric's nap and grain allow, for the given faces (mirrored or not).

    ``tilts`` are degrees off the grain, counted in the drawing: the other way round for a mirrored piece.
    """
    if fabric.nap:
        bases = [0.0]
    elif fabric.grain == "any":
        bases = [0.0, 90.0, 180.0, 270.0]
    else:
        bases = [0.0, 180.0]
    return [
        Pose(face, (base + (-tilt if face else tilt)) % 360.0)
        for face in faces
        for base in bases
        for tilt in tilts
    ]


def bias_poses(fabric: Fabric, *, faces: tuple[bool, ...], either: bool) -> list[Pose]:
    """On the true bias: 45 degrees as drawn and 315 face down, so that left and right are mirror images.

    ``either``: on whichever diagonal. Without nap turned by 180 degrees as well.
    """
    found = []
    for face in faces:
        diagonals = [315.0, 45.0] if face else [45.0, 315.0]
        for base in diagonals if either else diagonals[:1]:
            found += [Pose(face, base)] + ([] if fabric.nap else [Pose(face, (base + 180.0) % 360.0)])
    return found


def fold_poses(fabric: Fabric, shape: Shape, edge: tuple[Point, Point], *, body_below: bool) -> list[Pose]:
    """Orientations that put the fold edge along the cloth with the half piece on the asked side of it."""
    (ax, ay), (bx, by) = edge
    lean = math.degrees(math.atan2(by - ay, bx - ax) - shape.grain_angle)
    found = []
    for mirrored in (False, True):
        for base in (0.0, 180.0):
            rotation = (base + (lean if mirrored else -lean)) % 360.0
            # A fold drawn parallel to the grain but for drawing precision counts as parallel.
            nearest = round(rotation / 180.0) * 180.0
            if abs(rotation - nearest) < 0.05:
                rotation = nearest % 360.0
            else:
                nearest = nearest % 360.0
            off = abs((rotation - nearest + 180.0) % 360.0 - 180.0)
            if fabric.grain != "any" and off > fabric.grain_tolerance:
                continue
            if fabric.nap and abs((rotation + 180.0) % 360.0 - 180.0) > 90.0:
                continue
            pose = Pose(mirrored, rotation)
            _, outline = posed(shape, pose, 0.0)
            below = -outline[:, 1].min() >= outline[:, 1].max()
            if below == body_below:
                found.append(pose)
    return found
