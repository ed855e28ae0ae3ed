"""Tables for the kernels: no-fit polygons of all pairs, with their rasters of signed distance.

Polygons that are copies, half turns or mirror images of each other share one no-fit polygon: mirroring
both partners mirrors it, and swapping them turns it by 180°.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from marker.nest import kernels
from marker.nest.budget import Stopped
from marker.nest.lattice import Ties, ties_of
from marker.nest.nfp import no_fit_polygon_and_fits
from marker.nest.overlap import Solid
from marker.nest.problem import Problem

NODES = 5000
"""Nodes of a landscape over the whole strip: more are slower and, measured, no better."""

NODES_EACH = 50
"""... but no fewer than this for each shape."""

SIGHT = 5000
"""Nodes that are looked at for a move where there are more shapes: those of a stretch of the strip."""

SPIKE = 3.0
"""Longest tip, in lattice units, that is taken for rounding."""

_FLIPS = ((1, 1), (-1, -1), (1, -1), (-1, 1))


@dataclass(frozen=True, eq=False)
class Tables:
    """A problem as arrays; ``kernels`` tells what is in which column.

    Inside, the reference point of every polygon is the low corner of its box, so nothing depends on where
    the caller's is; ``corner`` int64[v, 2] leads from the caller's to this one. kind int64[n] of each
    shape, first_variant int64[kinds + 1]; window float64[v, 4] (x_lo, x_back, y_lo, y_hi), variant_poly
    int64[v], box float64[v, 2] (sizes of the boxes), turned int64[3, v] (the variant of
    the same kind that is this one turned by 180°, mirrored across the strip, mirrored along it; -1: none);
    size float64[kinds], largest hull area; obstacles:
    fixed_x, fixed_y float64[o], fixed_poly int64[o], begin (where the last one ends); ties: the lattices,
    None if there are none; solids of the distinct polygons, for judging a layout without the pair tables;
    sight, the length of strip that a move looks at; gridded, whether shapes fit each other exactly and nodes
    lie on their grid; then the pair tables.
    """

    kind: NDArray[np.int64]
    first_variant: NDArray[np.int64]
    window: NDArray[np.float64]
    variant_poly: NDArray[np.int64]
    box: NDArray[np.float64]
    corner: NDArray[np.int64]
    turned: NDArray[np.int64]
    size: NDArray[np.float64]
    fixed_x: NDArray[np.float64]
    fixed_y: NDArray[np.float64]
    fixed_poly: NDArray[np.int64]
    begin: float
    ties: Ties | None
    solids: tuple[Solid, ...]
    polys: int
    pitch: float
    cell: float
    sight: float
    gridded: bool
    pf: NDArray[np.float64]
    pi: NDArray[np.int64]
    first: NDArray[np.int64]
    near: NDArray[np.int32]
    edges: NDArray[np.float64]
    raster: NDArray[np.float32]
    group: NDArray[np.int64]
    span: NDArray[np.int64]


_Key = tuple[int, int, int, int]
"""Numbers of two outlines, and how the second is flipped."""


@dataclass(frozen=True, eq=False)
class _Form:
    """A polygon up to mirroring: its outline flipped by ``flip`` and moved by ``shift`` gives it back."""

    key: int
    flip: tuple[int, int]
    shift: tuple[int, int]


class _Shapes:
    """Distinct polygons, and distinct forms of them up to flips of either axis and translation."""

    def __init__(self) -> None:
        self.polygons: list[NDArray[np.int64]] = []
        self.forms: list[_Form] = []
        self.outlines: list[NDArray[np.int64]] = []
        self._seen: dict[bytes, int] = {}
        self._keys: dict[bytes, int] = {}

    def add(self, polygon: NDArray[np.int64]) -> int:
        polygon = np.ascontiguousarray(polygon, dtype=np.int64)
        content = polygon.tobytes()
        if content in self._seen:
            return self._seen[content]
        options = []
        for flip in _FLIPS:
            flipped = polygon * np.array(flip)
            low = flipped.min(axis=0)
            outline = flipped - low
            if flip[0] * flip[1] < 0:
                outline = outline[::-1]
            outline = np.roll(outline, -int(np.lexsort((outline[:, 1], outline[:, 0]))[0]), axis=0)
            options.append((outline.tobytes(), flip, low, np.ascontiguousarray(outline)))
        key_bytes, flip, low, outline = min(options, key=lambda option: option[0])
        if key_bytes not in self._keys:
            self._keys[key_bytes] = len(self.outlines)
            self.outlines.append(outline)
        shift = (flip[0] * int(low[0]), flip[1] * int(low[1]))
        self.forms.append(_Form(self._keys[key_bytes], flip, shift))
        self._seen[content] = len(self.polygons)
        self.polygons.append(polygon)
        return self._seen[content]

    def outlines_of(self, key: _Key) -> tuple[bytes, bytes, tuple[int, int]]:
        return self.outlines[key[0]].tobytes(), self.outlines[key[1]].tobytes(), key[2:]


def _edge_rows(rings: tuple[NDArray[np.int64], ...]) -> NDArray[np.float64]:
    rows = []
    for ring in rings:
        start = _without_spikes(ring).astype(np.float64)
        vector = np.roll(start, -1, axis=0) - start
        keep = (vector != 0).any(axis=1)
        start, vector = start[keep], vector[keep]
        if len(start) < 3:
            continue
        length2 = (vector**2).sum(axis=1)
        per_length = 1.0 / np.sqrt(length2)
        outward = np.column_stack((vector[:, 1], -vector[:, 0])) * per_length[:, None]
        corner = outward + np.roll(outward, 1, axis=0)
        rows.append(
            np.column_stack((start, vector, 1.0 / length2, per_length, corner, np.roll(corner, -1, axis=0)))
        )
    return np.concatenate(rows) if rows else np.empty((0, 10))


def _without_spikes(ring: NDArray[np.int64]) -> NDArray[np.int64]:
    """The ring without tips of a few lattice units, which rounding leaves on nearly straight stretches."""
    while len(ring) > 3:
        arriving = (ring - np.roll(ring, 1, axis=0)).astype(np.float64)
        leaving = np.roll(arriving, -1, axis=0)
        lengths = np.hypot(arriving[:, 0], arriving[:, 1])
        onward = np.roll(lengths, -1)
        turning_back = (arriving * leaving).sum(axis=1) < -0.9 * lengths * onward
        tips = np.flatnonzero(turning_back & (np.minimum(lengths, onward) <= SPIKE))
        if len(tips) == 0:
            break
        ring = np.delete(ring, tips[0], axis=0)
    return ring


def hull_area(polygon: NDArray[np.int64]) -> float:
    """Area of the convex hull."""
    points = sorted({(int(x), int(y)) for x, y in polygon})
    hull: list[tuple[int, int]] = []
    for sweep in (points, points[::-1]):
        base = len(hull)
        for p in sweep:
            while len(hull) - base >= 2 and (
                (hull[-1][0] - hull[-2][0]) * (p[1] - hull[-2][1])
                <= (hull[-1][1] - hull[-2][1]) * (p[0] - hull[-2][0])
            ):
                hull.pop()
            hull.append(p)
        hull.pop()
    return 0.5 * abs(sum(a[0] * b[1] - a[1] * b[0] for a, b in zip(hull, hull[1:] + hull[:1], strict=True)))


def usual_pitch(problem: Problem) -> float:
    """The distance of the nodes of a landscape that suits a problem, lattice units."""
    nodes = max(NODES, NODES_EACH * problem.total)
    return max(4.0, math.sqrt(1.25 * problem.area / nodes))


def on_grid(problem: Problem, pitch: float) -> float | None:
    """A pitch that divides the grid on which all corners lie; ``None`` if that grid is finer than ``pitch``.

    Nodes then lie exactly where edges along the axes meet. It is at most twice as wide as ``pitch``.
    """
    grid = 0
    for kind in problem.kinds:
        for variant in kind.variants:
            corners = variant.polygon - variant.polygon.min(axis=0)
            grid = math.gcd(grid, int(np.gcd.reduce(corners, axis=None)))
    parts = int(grid / pitch + 1e-6)
    return grid / parts if parts else None


def make_tables(
    problem: Problem, pitch: float | None = None, stop: Callable[[], bool] = lambda: False
) -> Tables:
    """Everything that the kernels need to know about a problem.

    ``pitch``: about how far apart nodes are to be; where shapes fit each other exactly, ``on_grid``.
    Raises Stopped if ``stop``, asked before each pair of outlines, says so.
    """
    if pitch is None:
        pitch = usual_pitch(problem)
    shapes = _Shapes()
    kind: list[int] = []
    first_variant = [0]
    windows: list[tuple[int, int, int, int]] = []
    variant_poly: list[int] = []
    boxes: list[tuple[int, int]] = []
    corners: list[tuple[int, int]] = []
    for k, each in enumerate(problem.kinds):
        kind += [k] * each.count
        for variant in each.variants:
            low = variant.polygon.min(axis=0)
            x, y = int(low[0]), int(low[1])
            windows.append((variant.x_lo + x, variant.x_back - x, variant.y_lo + y, variant.y_hi + y))
            polygon = variant.polygon - low
            variant_poly.append(shapes.add(polygon))
            boxes.append((int(polygon[:, 0].max()), int(polygon[:, 1].max())))
            corners.append((x, y))
        first_variant.append(len(windows))
    fixed_x, fixed_y, fixed_poly = [], [], []
    begin = 0
    for obstacle in problem.obstacles:
        low = obstacle.min(axis=0)
        fixed_x.append(int(low[0]))
        fixed_y.append(int(low[1]))
        fixed_poly.append(shapes.add(obstacle - low))
        begin = max(begin, int(obstacle[:, 0].max()))

    window = np.array(windows, dtype=np.float64).reshape(-1, 4)
    corner = np.array(corners, dtype=np.int64).reshape(-1, 2)
    hulls = [hull_area(polygon) for polygon in shapes.polygons]
    grid = on_grid(problem, pitch)
    gridded = grid is not None and _any_fits(shapes, stop)
    if grid is not None and gridded:
        pitch = grid
    pairs = _pair_tables(shapes, hulls, pitch, stop)
    sizes = [
        max(hulls[variant_poly[v]] for v in range(first_variant[k], first_variant[k + 1]))
        if first_variant[k + 1] > first_variant[k]
        else 0.0
        for k in range(len(problem.kinds))
    ]
    return Tables(
        kind=np.array(kind, dtype=np.int64),
        first_variant=np.array(first_variant, dtype=np.int64),
        window=window,
        variant_poly=np.array(variant_poly, dtype=np.int64),
        box=np.array(boxes, dtype=np.float64).reshape(-1, 2),
        corner=corner,
        turned=_turned(problem),
        size=np.array(sizes),
        fixed_x=np.array(fixed_x, dtype=np.float64),
        fixed_y=np.array(fixed_y, dtype=np.float64),
        fixed_poly=np.array(fixed_poly, dtype=np.int64),
        begin=float(begin),
        ties=ties_of(problem, window, corner),
        solids=tuple(Solid(polygon) for polygon in shapes.polygons),
        polys=len(shapes.polygons),
        pitch=pitch,
        cell=pitch,
        sight=math.inf if problem.total <= NODES / NODES_EACH else SIGHT * pitch * pitch / problem.width,
        gridded=gridded,
        **pairs,
    )


def _turned(problem: Problem) -> NDArray[np.int64]:
    """For each of three flips and each variant, the variant of the same kind that looks like it flipped."""
    turned = np.full((3, sum(len(kind.variants) for kind in problem.kinds)), -1, dtype=np.int64)
    first = 0
    for kind in problem.kinds:
        plain = [_content(variant.polygon) for variant in kind.variants]
        for v, variant in enumerate(kind.variants):
            for f, flip in enumerate(_FLIPS[1:]):
                flipped = _content(variant.polygon * np.array(flip))
                turned[f, first + v] = first + plain.index(flipped) if flipped in plain else -1
        first += len(kind.variants)
    return turned


def _content(polygon: NDArray[np.int64]) -> bytes:
    """The same for outlines that are equal up to where they lie, where they start and which way they run."""
    points = polygon - polygon.min(axis=0)
    points = np.roll(points, -int(np.lexsort((points[:, 1], points[:, 0]))[0]), axis=0)
    other = np.roll(points[::-1], 1, axis=0)
    return min(points.tobytes(), other.tobytes())


@dataclass(frozen=True, eq=False)
class _Pair:
    """One pair of outlines: the edges of its no-fit polygon, the edges near each cell, depths at nodes.

    Nothing here may be written to: it is shared by all problems that have the same pair.
    """

    rows: NDArray[np.float64]
    near: NDArray[np.int32]
    count: NDArray[np.int64]
    nx: int
    ny: int
    corner: NDArray[np.float64]
    box: NDArray[np.float64]
    nodes: NDArray[np.float32]
    node_x: float
    node_y: float


@lru_cache(maxsize=4096)
def _rings(fixed: bytes, moving: bytes, flip: tuple[int, int]) -> tuple[tuple[NDArray[np.int64], ...], bool]:
    """The no-fit polygon of two outlines, the moving one flipped, and whether they fit each other exactly."""
    still = np.frombuffer(fixed, dtype=np.int64).reshape(-1, 2)
    mover = np.frombuffer(moving, dtype=np.int64).reshape(-1, 2) * np.array(flip)
    if flip[0] * flip[1] < 0:
        mover = np.ascontiguousarray(mover[::-1])
    return no_fit_polygon_and_fits(still, mover)


@lru_cache(maxsize=4096)
def _pair(fixed: bytes, moving: bytes, flip: tuple[int, int], pitch: float) -> _Pair:
    """The tables of two outlines (int64[n, 2] as bytes), the moving one flipped; kept for next time."""
    rows = _edge_rows(_rings(fixed, moving, flip)[0])
    low, high = rows[:, :2].min(axis=0), rows[:, :2].max(axis=0)
    corner = low - pitch
    rows[:, :2] -= corner
    nx = int((high[0] - low[0] + 2 * pitch) / pitch) + 1
    ny = int((high[1] - low[1] + 2 * pitch) / pitch) + 1
    count = np.empty(nx * ny, dtype=np.int64)
    near = np.empty(1 << 16, dtype=np.int32)
    used = kernels.fill_cells(0, len(rows), rows, pitch, nx, ny, pitch, count, near)
    if used > len(near):
        near = np.empty(used, dtype=np.int32)
        kernels.fill_cells(0, len(rows), rows, pitch, nx, ny, pitch, count, near)
    # Nodes lie symmetrically about the box, so that mirrored rasters fit the same grid.
    mx = max(2, math.ceil((high[0] - low[0]) / pitch) + 1)
    my = max(2, math.ceil((high[1] - low[1]) / pitch) + 1)
    rx = (low[0] + high[0]) / 2 - (mx - 1) / 2 * pitch
    ry = (low[1] + high[1]) / 2 - (my - 1) / 2 * pitch
    depth = np.empty(mx * my)
    kernels.fill_nodes(0, len(rows), rows, rx - corner[0], ry - corner[1], pitch, mx, my, depth)
    return _Pair(
        rows,
        near[:used].copy(),
        count,
        nx,
        ny,
        corner,
        np.array([low[0], high[0], low[1], high[1]]),
        depth.reshape(my, mx).astype(np.float32),
        rx,
        ry,
    )


def _relation(one: _Form, two: _Form) -> tuple[_Key, tuple[int, int]]:
    """Which no-fit polygon serves two polygons, and the flips that bring relative places into its frame."""
    flip = (one.flip[0] * two.flip[0], one.flip[1] * two.flip[1])
    if one.key > two.key:
        return (two.key, one.key, *flip), (-two.flip[0], -two.flip[1])
    return (one.key, two.key, *flip), one.flip


def _any_fits(shapes: _Shapes, stop: Callable[[], bool]) -> bool:
    """Whether any two polygons fit each other so exactly that the places are a line or a point."""
    keys = {_relation(one, two)[0] for one in shapes.forms for two in shapes.forms}
    for key in sorted(keys):
        if stop():
            raise Stopped
        if _rings(*shapes.outlines_of(key))[1]:
            return True
    return False


def _pair_tables(
    shapes: _Shapes, hulls: list[float], pitch: float, stop: Callable[[], bool]
) -> dict[str, Any]:
    polys = len(shapes.polygons)
    pf = np.zeros((polys * polys, 12))
    pi = np.zeros((polys * polys, 6), dtype=np.int64)
    group = np.zeros(polys * polys, dtype=np.int64)
    scale = float(np.mean(np.sqrt(hulls))) if hulls else 1.0

    groups: dict[_Key, int] = {}
    edge_blocks: list[NDArray[np.float64]] = []
    span = [0]
    boxes: list[NDArray[np.float64]] = []
    grids: list[tuple[int, int, int, float, float]] = []
    counts: list[NDArray[np.int64]] = []
    nears: list[NDArray[np.int32]] = []
    cells = 0
    nodes: list[tuple[NDArray[np.float32], float, float]] = []
    rasters: list[NDArray[np.float32]] = []
    raster_at: dict[tuple[int, int, int], int] = {}
    raster_end = 0

    for a in range(polys):
        for b in range(polys):
            one, two = shapes.forms[a], shapes.forms[b]
            key, sign = _relation(one, two)
            if key not in groups:
                if stop():
                    raise Stopped
                groups[key] = len(span) - 1
                pair = _pair(*shapes.outlines_of(key), pitch)
                nears.append(np.where(pair.near < 0, pair.near, pair.near + np.int32(span[-1])))
                counts.append(pair.count)
                grids.append((cells, pair.nx, pair.ny, pair.corner[0], pair.corner[1]))
                cells += pair.nx * pair.ny
                boxes.append(pair.box)
                edge_blocks.append(pair.rows)
                span.append(span[-1] + len(pair.rows))
                nodes.append((pair.nodes, pair.node_x, pair.node_y))
            g = groups[key]
            row = a * polys + b
            group[row] = g
            cell_at, nx, ny, corner_x, corner_y = grids[g]
            shift_x = two.shift[0] - one.shift[0]
            shift_y = two.shift[1] - one.shift[1]
            box = boxes[g]
            x_box = (box[0], box[1]) if sign[0] > 0 else (-box[1], -box[0])
            y_box = (box[2], box[3]) if sign[1] > 0 else (-box[3], -box[2])
            unit = (hulls[a] * hulls[b]) ** 0.25 / scale
            depth_nodes, rx, ry = nodes[g]
            my, mx = depth_nodes.shape
            raster_key = (row, 0, 0)
            if raster_key not in raster_at:
                padded = np.full((my, mx + kernels.BLOCK), -np.float32(1e12))
                padded[:, :mx] = depth_nodes[:: sign[1], :: sign[0]] * np.float32(unit)
                raster_at[raster_key] = raster_end
                rasters.append(padded.ravel())
                raster_end += padded.size
            node_x = rx if sign[0] > 0 else -(rx + (mx - 1) * pitch)
            node_y = ry if sign[1] > 0 else -(ry + (my - 1) * pitch)
            pf[row] = (
                x_box[0] - shift_x, x_box[1] - shift_x, y_box[0] - shift_y, y_box[1] - shift_y,
                sign[0], sign[1], sign[0] * shift_x - corner_x, sign[1] * shift_y - corner_y,
                unit, node_x - shift_x, node_y - shift_y, 0.0,
            )  # fmt: skip
            pi[row] = (cell_at, nx, ny, raster_at[raster_key], mx, my)

    first = np.zeros(cells + 1, dtype=np.int64)
    if counts:
        np.cumsum(np.concatenate(counts), out=first[1:])
    return {
        "pf": pf,
        "pi": pi,
        "group": group,
        "span": np.array(span, dtype=np.int64),
        "first": first,
        "near": np.concatenate(nears) if nears else np.empty(0, dtype=np.int32),
        "edges": np.concatenate(edge_blocks) if edge_blocks else np.empty((0, 10)),
        "raster": np.concatenate((*rasters, np.zeros(kernels.BLOCK, dtype=np.float32))),
    }
