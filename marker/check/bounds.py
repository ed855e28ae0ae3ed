"""Lengths below which nothing can be laid, worked out anew: what a layout claims of itself has to follow.

A bound holds for every layout of one spread on which each outline keeps to the stretch it lies on and to
bands of as many layers. It is the largest of these: the longest outline; the area of the outlines over the
width of their bands; the edges on a fold, one after the other; and cuts across, weighed. Whatever the layout,
a cut across a band meets outlines for no more than the height of the band. This stays true of weighed cuts,
if the weights of lengths that have room side by side never come to more than 1 (dual feasible functions:
Fekete & Schepers 2001). So the weights of all cuts through all outlines, added up along them, are no more
than the length. Pieces that may lie in any direction are taken to lie along or across the cloth.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.affinity import affine_transform
from shapely.geometry.polygon import orient

from marker.check.demand import Wanted
from marker.check.form import turned
from marker.check.geometry import Shape
from marker.check.marks import fold_edge_of
from marker.check.placed import Laid
from marker.check.proof import Item, none_below
from marker.check.spread import Ground, stretches
from marker.model.fabric import Fabric
from marker.model.layout import Band

Cuts = NDArray[np.float64]
"""Slabs of an outline between its corners, float64[n, 3]: how wide, the cut at either side."""

JUST = 0.01
"""Millimetres by which a weight that counts from a length on begins before it."""
LIMITS = 24
"""Lengths of cuts, evenly chosen, that are tried as limits of a weight beside the longest of each outline."""
STEPS = 5
"""Weights in so many steps are tried."""


@dataclass(frozen=True)
class Body:
    """One outline to be laid: the forms it may have, along the cloth, each grown by half the gap.

    ``edges`` is at how many edges of bands (folds, a border) it may lie, ``along`` how much of such an edge
    it takes and ``height`` how far it reaches from there; 0 for what may lie anywhere. ``upper``: below that
    edge. ``shortest`` is its least length; ``straight`` false: it may tilt, and of its forms only the area is
    known.
    """

    forms: tuple[bytes, ...]
    layers: int
    area: float
    shortest: float
    edges: int = 0
    along: float = 0.0
    height: float = 0.0
    upper: bool = False
    straight: bool = True


@dataclass(frozen=True)
class Bounded:
    """A stretch: the heights of its bands by layers, and what is laid on it."""

    heights: dict[int, tuple[float, ...]]
    bodies: tuple[Body, ...]
    gap: float

    @cached_property
    def length(self) -> float:
        """Millimetres along the spread below which its outlines cannot be laid."""
        return max([0.0, *(body.shortest for body in self.bodies), *self._by_layers()])

    def _by_layers(self) -> Iterator[float]:
        for layers, heights in self.heights.items():
            mine = [body for body in self.bodies if body.layers == layers]
            if not mine:
                continue
            yield sum(body.area for body in mine) / sum(heights)
            yield self._weighed(mine, max(heights), len(heights))
            for edges in {body.edges for body in mine if body.edges}:
                at_edges = [body for body in mine if body.edges == edges]
                # No two of them lie at the same place of an edge.
                yield sum(body.along + self.gap for body in at_edges) / edges - self.gap
                for height in {body.height for body in at_edges}:
                    yield self._weighed([b for b in at_edges if b.height <= height + JUST], height, edges)

    def none_below(self, length: float) -> bool:
        """Whether it can be shown for one of its bands that less than a length has no room for it."""
        for layers, heights in self.heights.items():
            mine = [body for body in self.bodies if body.layers == layers]
            if len(heights) == 1 and all(body.straight and body.edges <= 1 for body in mine):
                items = [Item(body.forms, 0 if not body.edges else 1 if body.upper else -1) for body in mine]
                room = heights[0] + self.gap, length + self.gap
                if none_below(tuple(sorted(items, key=lambda item: item.forms)), *room):
                    return True
        return False

    def _weighed(self, bodies: Sequence[Body], height: float, bands: int) -> float:
        """The bound by cuts for outlines that lie on so many strips of a height.

        Outlines are grown by half the gap, so the strips are higher and longer by the gap.
        """
        height += self.gap
        kinds = Counter(bodies)
        known = [_cuts(form) for body in kinds for form in body.forms]
        cuts = np.concatenate(known)
        forms = np.cumsum([0, *map(len, known)])[:-1]
        first = np.cumsum([0, *(len(body.forms) for body in kinds)])[:-1]
        counts = np.array([float(count) for count in kinds.values()])
        straight = np.array([body.straight for body in kinds])
        most = 0.0
        for weight in _weights(known, height):
            each = np.add.reduceat(cuts[:, 0] * weight(cuts, height), forms)
            least = np.minimum.reduceat(each, first) * counts
            most = max(most, float(least.sum() if weight is _as_it_is else least[straight].sum()))
        return most / bands - self.gap


def least_length(
    bands: Sequence[Band],
    grounds: Sequence[Ground],
    pieces: Sequence[Laid],
    fabric: Fabric,
    *,
    crosswise: bool,
    at_border: Callable[[Laid], bool],
    claimed: float = 0.0,
) -> float:
    """Millimetres of cloth below which the outlines cannot be laid on this spread.

    ``grounds`` and the pieces' bands must be right. ``crosswise``: the spread is the cloth folded across its
    length. ``at_border`` tells the pieces that lie with their hem along a border. If more is ``claimed`` than
    is seen at once, and there are few pieces, it is tried to show that.
    """
    parts = stretches(bands)
    found = []
    for _, members in parts:
        mine = [laid for laid in pieces if laid.placement.band in members]
        heights: dict[int, tuple[float, ...]] = {}
        for band in members:
            low, high = grounds[band].y
            layers = len(grounds[band].sheets)
            heights[layers] = (*heights.get(layers, ()), high - low)
        folds = sum(len(grounds[band].folds) for band in members)
        bodies = tuple(_body(laid, fabric, folds, at_border(laid)) for laid in mine)
        found.append(Bounded(heights, bodies, fabric.gap))
    layers = 2 if crosswise else 1
    least = layers * sum(stretch.length for stretch in found) + fabric.gap * (len(parts) - 1)
    if claimed > least and len(found) == 1 and found[0].none_below(claimed / layers):
        return claimed
    return least


def least_flat(wanted: Iterable[Wanted], fabric: Fabric, across: float) -> float:
    """Millimetres of flat cloth, so wide between its selvages, from which not all can be cut however it is
    spread: copies of several layers come from places of the flat cloth that lie beside each other."""
    bodies = []
    for want in wanted:
        forms, tilt = _free_forms(want, want.shape, fabric, want.tied)
        grown = tuple(_grown(form.wkb, fabric.gap) for form in forms)
        least = min(_shortest(form, tilt) for form in forms)
        bodies += [Body(grown, 1, want.shape.area, least, straight=not tilt)] * want.total
    return Bounded({1: (across,)}, tuple(bodies), fabric.gap).length


def _free_forms(want: Wanted, drawn: Shape, fabric: Fabric, tied: bool) -> tuple[list[Shape], float]:
    """A piece that lies at no edge in the directions it may have, and by how many degrees it may tilt."""
    angles, tilt = [0.0], 0.0
    if not tied:
        if fabric.grain == "any":
            angles = [0.0, 90.0]
        elif want.piece.bias:
            angles = [45.0, 135.0]
        else:
            tilt = fabric.grain_tolerance
    return [affine_transform(drawn, turned(want.piece.grain, angle, False)) for angle in angles], tilt


def _body(laid: Laid, fabric: Fabric, folds: int, at_border: bool) -> Body:
    """An outline with every form that the cloth lets it have; turned end for end it has the same cuts."""
    wanted, placement = laid.wanted, laid.placement
    fixed = at_border or placement.on_fold
    tilt = 0.0
    if wanted is None:
        shapes: list[Shape] = [laid.shape]
    else:
        drawn = wanted.shape if placement.opened else shapely.Polygon(wanted.ring)
        if fixed:
            motion = turned(wanted.piece.grain, placement.rotation, placement.mirrored)
            shapes = [affine_transform(drawn, motion)]
        else:
            shapes, tilt = _free_forms(wanted, drawn, fabric, laid.tied)
    least = min(_shortest(shape, tilt) for shape in shapes)
    _, low, _, high = shapes[0].bounds
    return Body(
        forms=tuple(_grown(shape.wkb, fabric.gap) for shape in shapes),
        layers=laid.layers,
        area=shapes[0].area,
        shortest=least,
        edges=(1 if at_border else folds) if fixed else 0,
        along=_edge_of(laid, at_border) if fixed else 0.0,
        height=round(high - low, 3) if fixed else 0.0,
        upper=fixed and laid.ground is not None and _from_above(laid),
        straight=not tilt,
    )


def _from_above(laid: Laid) -> bool:
    """Whether a piece at an edge lies below it."""
    assert laid.ground is not None
    _, low, _, high = laid.shape.bounds
    return abs(laid.ground.y[1] - high) < abs(low - laid.ground.y[0])


def _edge_of(laid: Laid, at_border: bool) -> float:
    """How much of the edge that it lies at a piece takes."""
    edge = laid.hem if at_border else None if laid.wanted is None else fold_edge_of(laid.wanted)
    if edge is None:
        return 0.0
    return math.dist(*edge) * (2 if at_border and laid.placement.opened else 1)


def _shortest(shape: Shape, tilt: float) -> float:
    """The least length of a shape tilted by so many degrees either way.

    Between the tilts at which a side of the convex hull stands upright the length is concave.
    """
    left, _, right, _ = shape.bounds
    if not tilt:
        return float(right - left)
    hull = shapely.get_coordinates(shape.convex_hull)
    sides = np.diff(hull, axis=0)
    upright = (90.0 - np.degrees(np.arctan2(sides[:, 1], sides[:, 0])) + 90.0) % 180.0 - 90.0
    turns = np.radians([0.0, -tilt, tilt, *upright[np.abs(upright) <= tilt]])
    along = np.outer(np.cos(turns), hull[:, 0]) - np.outer(np.sin(turns), hull[:, 1])
    return float(np.ptp(along, axis=1).min())


@lru_cache(maxsize=4096)
def _grown(wkb: bytes, gap: float) -> bytes:
    """A shape with half the gap round it, a little less round corners."""
    shape = shapely.from_wkb(wkb)
    return bytes(shape.buffer(gap / 2, quad_segs=2).wkb if gap else wkb)


@lru_cache(maxsize=4096)
def _cuts(wkb: bytes) -> Cuts:
    """How long the cuts across a shape are, all parts of a cut together.

    Along the boundary with the shape on the left, what runs back in x is above what runs on.
    """
    starts, ends = [], []
    for part in shapely.get_parts(shapely.from_wkb(wkb)):
        sided = orient(part)
        for ring in (sided.exterior, *sided.interiors):
            corners = shapely.get_coordinates(ring)
            starts.append(corners[:-1])
            ends.append(corners[1:])
    start, end = np.concatenate(starts), np.concatenate(ends)
    slanting = start[:, 0] != end[:, 0]
    start, end = start[slanting], end[slanting]
    slope = (end[:, 1] - start[:, 1]) / (end[:, 0] - start[:, 0])
    sign = np.sign(start[:, 0] - end[:, 0])
    places = np.unique(np.concatenate((start[:, 0], end[:, 0])))
    left, right = places[:-1], places[1:]
    low, high = np.minimum(start[:, 0], end[:, 0]), np.maximum(start[:, 0], end[:, 0])
    there = ((low <= left[:, None]) & (high >= right[:, None])) * sign
    base = there @ (start[:, 1] - slope * start[:, 0])
    rise = there @ slope
    at = [np.maximum(base + rise * x, 0.0) for x in (left, right)]
    return np.column_stack((right - left, np.minimum(*at), np.maximum(*at)))


Weight = Callable[[Cuts, float], NDArray[np.float64]]
"""The mean weight of the cuts of each slab, for strips of a height."""


def _as_it_is(cuts: Cuts, height: float) -> NDArray[np.float64]:
    return (cuts[:, 1] + cuts[:, 2]) / 2 / height


def _weights(known: Sequence[Cuts], height: float) -> Iterator[Weight]:
    """Weights worth trying: as it is; long ones as the height, short ones as nothing; in whole steps."""
    yield _as_it_is
    every = np.sort(np.concatenate([cuts[:, 1:].ravel() for cuts in known]))
    some = every[np.linspace(0, len(every) - 1, min(len(every), LIMITS)).astype(int)]
    longest = np.array([cuts[:, 2].max() for cuts in known])
    limits = np.concatenate((longest, some))
    limits = np.concatenate((limits, height - limits + JUST))
    for limit in np.unique(np.round(limits[(limits > 0) & (limits <= height / 2)], 3)).tolist():
        yield _from_limit(limit)
    for steps in range(1, STEPS + 1):
        yield _in_steps(steps)


def _from_limit(limit: float) -> Weight:
    def weight(cuts: Cuts, height: float) -> NDArray[np.float64]:
        long = height - limit

        def level(cut: NDArray[np.float64]) -> NDArray[np.float64]:
            return np.where(cut > long, 1.0, np.where(cut >= limit, cut / height, 0.0))

        def up_to(cut: NDArray[np.float64]) -> NDArray[np.float64]:
            middle = np.clip(cut, limit, long)
            return (middle * middle - limit * limit) / (2 * height) + np.maximum(cut - long, 0.0)

        return _mean(cuts, level, up_to)

    return weight


def _in_steps(steps: int) -> Weight:
    def weight(cuts: Cuts, height: float) -> NDArray[np.float64]:
        part = height / (steps + 1)

        def level(cut: NDArray[np.float64]) -> NDArray[np.float64]:
            # A length of just so many parts counts as itself.
            return np.minimum(np.ceil(cut / part - 1e-6) - 1, steps).clip(0) / steps

        def up_to(cut: NDArray[np.float64]) -> NDArray[np.float64]:
            whole = np.floor(cut / part)
            return (part * whole * (whole - 1) / 2 + (cut - whole * part) * whole) / steps

        return _mean(cuts, level, up_to)

    return weight


def _mean(
    cuts: Cuts,
    level: Callable[[NDArray[np.float64]], NDArray[np.float64]],
    up_to: Callable[[NDArray[np.float64]], NDArray[np.float64]],
) -> NDArray[np.float64]:
    """Of a weight over cuts that grow evenly from one length to another; ``up_to`` is its integral."""
    short, long = cuts[:, 1], cuts[:, 2]
    rise = long - short
    grows = rise > 1e-6
    between = (up_to(long) - up_to(short)) / np.where(grows, rise, 1.0)
    return np.where(grows, between, level((short + long) / 2))
