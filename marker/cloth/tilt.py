"""Pieces tilted within the grain tolerance, once it is known how they lie best along the grain.

Each tilt is one more polygon, and every two polygons need a table: all tilts of all pieces from the start
would cost more than they bring. So a layout is found without, and then the largest pieces get tilts, as many
as can be afforded. The new variants come after the old ones of their kind: what has been found stays valid.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from marker.cloth.orient import SCALE, Pose, posed, shortest, window
from marker.cloth.plan import Laid, Spot, Stretch
from marker.nest.bounds import lower_bound
from marker.nest.problem import Kind, Problem, Variant

EACH = 1e-4
CORNERS = 2.2e-6
"""Seconds that tables take: EACH times the square of the number of polygons, CORNERS times that of the number
of all their corners (measured)."""

MOST = 80
"""Polygons after which no more tilts are offered, whatever the time: every move looks at all of them."""

PARTS = (1.0, 0.5)
"""Parts of the grain tolerance that pieces are tilted by, either way, the first ones first."""

ALIKE = 0.05
"""Degrees within which two tilts count as one."""


def bound(stretch: Stretch) -> int:
    """A length (lattice units) below which nothing is laid, whatever the tilts within the tolerance.

    Without a tolerance that of the placing problem; otherwise the larger of what the areas take of the bands
    that they may lie on and of the longest piece at its shortest tilt.
    """
    if not any(laid.leeway for laid in stretch.laid):
        return lower_bound(stretch.problem)
    strips = stretch.section.strips
    on: list[tuple[frozenset[int], float]] = []
    best = 0.0
    for laid, kind in zip(stretch.laid, stretch.problem.kinds, strict=True):
        if laid.leeway:
            bands = frozenset(k for k, strip in enumerate(strips) if strip.layers == laid.copies)
            length = shortest(laid.shape, laid.leeway, 0)[0] * SCALE
        else:
            bands = frozenset(spot.strip for spot in laid.spots)
            length = min(v.x_lo + v.x_back for v in kind.variants)
        on.append((bands, kind.area * kind.count))
        best = max(best, length)
    for bands, _ in on:
        height = sum(strips[k].height for k in bands) * SCALE
        best = max(best, sum(area for other, area in on if other <= bands) / height)
    best = max(best, stretch.problem.area / stretch.problem.width)
    return math.ceil(best - 0.01)


def tilts(laid: Laid) -> list[tuple[float, ...]]:
    """Tilts worth trying for a piece, degrees in its drawing, in groups: what it gains most by first."""
    least = [shortest(laid.shape, laid.leeway, axis)[1] for axis in (0, 1)]
    wanted = [(tilt,) for tilt in least] + [(part * laid.leeway, -part * laid.leeway) for part in PARTS]
    seen = [0.0]
    found = []
    for group in wanted:
        new = tuple(tilt for tilt in group if all(abs(tilt - other) > ALIKE for other in seen))
        seen += new
        if new:
            found.append(new)
    return found


def leant(stretch: Stretch, gap: float, seconds: float) -> Stretch:
    """The stretch with tilts for its largest pieces, as many as make tables in about ``seconds``.

    ``gap`` is the fabric's.
    """
    laid, kinds = list(stretch.laid), list(stretch.problem.kinds)
    polygons = _polygons(kinds)
    most = _cost(polygons) + seconds
    groups = {k: tilts(each) for k, each in enumerate(laid) if each.leeway}
    order = sorted(groups, key=lambda k: (-kinds[k].area, k))
    for turn in range(max(map(len, groups.values()), default=0)):
        for k in order:
            if turn >= len(groups[k]):
                continue
            meaning, kind = _with(stretch, gap, laid[k], kinds[k], groups[k][turn])
            more = polygons | _polygons([kind])
            if len(more) <= MOST and _cost(more) <= most:
                laid[k], kinds[k], polygons = meaning, kind, more
    if tuple(kinds) == stretch.problem.kinds:
        return stretch
    return replace(stretch, laid=tuple(laid), problem=replace(stretch.problem, kinds=tuple(kinds)))


def cost(problem: Problem) -> float:
    """Seconds that the tables of a problem take on an idle machine, roughly."""
    return _cost(_polygons(problem.kinds))


def _polygons(kinds: Sequence[Kind]) -> dict[bytes, int]:
    """The different polygons of some kinds, and their numbers of corners."""
    return {v.polygon.tobytes(): len(v.polygon) for kind in kinds for v in kind.variants}


def _cost(polygons: dict[bytes, int]) -> float:
    return EACH * len(polygons) ** 2 + CORNERS * sum(polygons.values()) ** 2


def _with(
    stretch: Stretch, gap: float, laid: Laid, kind: Kind, group: tuple[float, ...]
) -> tuple[Laid, Kind]:
    """A kind with the straight ways it lies tilted as well."""
    spots: list[Spot] = list(laid.spots)
    variants: list[Variant] = list(kind.variants)
    seen = {(v.polygon.tobytes(), spot.strip) for v, spot in zip(variants, spots, strict=True)}
    for spot in laid.spots:
        if spot.pose.rotation % 90.0:
            continue
        for tilt in group:
            turn = -tilt if spot.pose.mirrored else tilt
            pose = Pose(spot.pose.mirrored, (spot.pose.rotation + turn) % 360.0)
            polygon, outline = posed(laid.shape, pose, gap)
            variant = window(polygon, outline, stretch.section.strips[spot.strip])
            if variant is None or (polygon.tobytes(), spot.strip) in seen:
                continue
            seen.add((polygon.tobytes(), spot.strip))
            spots.append(Spot(spot.strip, pose))
            variants.append(variant)
    return replace(laid, spots=tuple(spots)), replace(kind, variants=tuple(variants))
