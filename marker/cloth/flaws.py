"""Flaws of the cloth as they come to lie when it is spread."""

from __future__ import annotations

from collections.abc import Callable, Iterable

import numpy as np
from numpy.typing import NDArray

from marker.cloth.orient import collision
from marker.cloth.spread import Spread
from marker.model.fabric import Fabric
from marker.model.piece import Ring

Lattice = NDArray[np.int64]


def folded_y(fabric: Fabric, spread: Spread) -> list[tuple[float, float, Callable[[float], float]]]:
    """The flat cloth cut at its folds: (from y, to y, flat y to spread y) for each panel."""
    width = fabric.flat_width
    if spread.name in ("lengthwise fold", "tubular"):
        (at,) = {max(strip.folds) for strip in spread.sections[0].strips}
        # Past twice the fold's distance from the lower edge the cloth hangs over, in nobody's way.
        return [(0.0, at, lambda y: y), (at, min(2 * at, width), lambda y: 2 * at - y)]
    if spread.name == "selvages to the middle":
        quarter = width / 4
        return [
            (0.0, quarter, lambda y: quarter - y),
            (quarter, 3 * quarter, lambda y: y - quarter),
            (3 * quarter, width, lambda y: 5 * quarter - y),
        ]
    if spread.name == "partial fold":
        fold = width - spread.fold_depth
        return [(0.0, fold, lambda y: y), (fold, width, lambda y: 2 * fold - y)]
    return [(0.0, width, lambda y: y)]


def spread_out(places: Iterable[Ring], fabric: Fabric, spread: Spread) -> list[Ring]:
    """Places of the flat cloth as polygons on the spread cloth, millimetres; over a fold, on both panels."""
    from shapely import Polygon, box, get_parts, intersection

    found: list[Ring] = []
    for flaw in places:
        shape = Polygon(flaw)
        left, _, right, _ = shape.bounds
        for low, high, spread_y in folded_y(fabric, spread):
            for part in get_parts(intersection(shape, box(left, low, right, high))):
                if isinstance(part, Polygon) and part.area > 0:
                    found.append(tuple((x, spread_y(y)) for x, y in part.exterior.coords[:-1]))
    return found


def flaws_on(fabric: Fabric, spread: Spread, edges: Iterable[Ring] = ()) -> tuple[Lattice, ...]:
    """The flaws as obstacles for the engine, counter-clockwise on its lattice, grown by half the gap.

    ``edges`` are places of the flat cloth where there is none: pieces keep half the gap from them.
    """
    grown = [(ring, fabric.gap) for ring in spread_out(fabric.flaws, fabric, spread)]
    plain = [(ring, 0.0) for ring in spread_out(edges, fabric, spread)]
    return tuple(collision(_counter_clockwise(ring), gap) for ring, gap in grown + plain)


def _counter_clockwise(ring: Ring) -> NDArray[np.float64]:
    points = np.asarray(ring, dtype=float)
    x, y = points[:, 0], points[:, 1]
    return points[::-1] if np.dot(x, np.roll(y, -1)) < np.dot(y, np.roll(x, -1)) else points
