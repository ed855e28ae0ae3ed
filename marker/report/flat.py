"""From the spread cloth back to the cloth lying flat, right side up: where a print runs as it was printed.

Millimetres. Every cut copy, from either layer, is a shape on the flat cloth, and seen from its right side.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

from marker.model.fabric import Fabric, Remnant
from marker.model.job import Job
from marker.model.layout import Band, MaterialLayout, Placement
from marker.model.match import Match
from marker.model.piece import Notch, Piece, Point, Ring
from marker.model.ring import mirrored
from marker.report.ground import Stretch, stretches

Move = tuple[float, float, float, float, float, float]
"""a, b, d, e, x, y: a point (px, py) goes to (a px + b py + x, d px + e py + y)."""


def moved(move: Move, point: Point) -> Point:
    a, b, d, e, x, y = move
    return a * point[0] + b * point[1] + x, d * point[0] + e * point[1] + y


def after(first: Move, second: Move) -> Move:
    """One move after another as one."""
    a, b, d, e, x, y = first
    f, g, h, i, _, _ = second
    there = moved(second, (x, y))
    return f * a + g * d, f * b + g * e, h * a + i * d, h * b + i * e, *there


def shift(material: MaterialLayout, band: int) -> Point:
    """What to add to a place on the spread cloth for its place on the flat cloth (the layer drawn up)."""
    along = 0.0
    for stretch in stretches(material):
        across = next(
            (fold for i in stretch.bands if (fold := material.bands[i].fold_across) is not None), None
        )
        # Folded at its start the first layer is the later half of the cloth.
        back = (
            stretch.end - stretch.start if across is not None and abs(across - stretch.start) < 0.01 else 0.0
        )
        if band in stretch.bands:
            return along + back, _turned_in(material, stretch)
        along += stretch.end - stretch.start if across is not None else 0.0
    return 0.0, 0.0


def _turned_in(material: MaterialLayout, stretch: Stretch) -> float:
    """How much of the lower side is turned in where both selvages lie in the middle; 0 for other spreads."""
    low, high = material.bands[stretch.bands[0]], material.bands[stretch.bands[-1]]
    if low is high or not _folds_at(low, low.y[0]) or not _folds_at(high, high.y[1]):
        return 0.0
    return (material.width - (stretch.high.y - stretch.low.y)) / 2


def _folds_at(band: Band, y: float) -> bool:
    return any(abs(fold - y) < 0.01 for fold in band.folds)


def second_layer(band: Band) -> Move | None:
    """From the first layer of a band to the second, both on the spread cloth; None for one layer."""
    if band.layers < 2:
        return None
    if band.fold_across is not None:
        return -1.0, 0.0, 0.0, 1.0, 2 * band.fold_across, 0.0
    if not band.folds:
        return None
    return 1.0, 0.0, 0.0, -1.0, 0.0, 2 * max(band.folds)


def from_drawing(piece: Piece, placement: Placement) -> Move:
    """From the piece as it is drawn to where it lies, read off the two grain lines."""
    hand = -1.0 if placement.mirrored else 1.0
    (px, py), (pu, pv) = piece.grain[0], _direction(*piece.grain)
    (qx, qy), (qu, qv) = placement.grain[0], _direction(*placement.grain)
    # Along the arrow stays along the arrow; left of it stays left, or turns right when it lies face down.
    a, b = qu * pu + hand * qv * pv, qu * pv - hand * qv * pu
    d, e = qv * pu - hand * qu * pv, qv * pv + hand * qu * pu
    return a, b, d, e, qx - a * px - b * py, qy - d * px - e * py


def _direction(start: Point, end: Point) -> Point:
    length = math.dist(start, end)
    return (end[0] - start[0]) / length, (end[1] - start[1]) / length


@dataclass(frozen=True)
class Copy:
    """A cut piece on the flat cloth, all millimetres.

    ``stitching`` is the line it is sewn on, opened out if it was cut on a fold, counter-clockwise as seen;
    ``points`` its notches and marks where they are sewn; ``up`` the direction of its grain arrow. ``hand``
    is -1 for a copy that is the mirror image of the drawing. ``layer`` counts from 1.
    """

    piece: Piece
    placement: Placement
    layer: int
    stitching: Ring
    points: tuple[tuple[str, Point], ...]
    up: Point
    hand: int


def copies(material: MaterialLayout, job: Job) -> list[Copy]:
    """Every copy cut of whole pieces (regions cut out of a piece left out), in the layout's order."""
    pieces = {piece.number: piece for piece in job.pieces}
    found = []
    for placement in material.placements:
        piece = pieces.get(placement.piece)
        if piece is None or placement.region:
            continue
        band = material.bands[placement.band]
        dx, dy = shift(material, placement.band)
        flat = (1.0, 0.0, 0.0, 1.0, dx, dy)
        other = second_layer(band)
        ways = [flat] if other is None or placement.on_fold else [flat, after(other, flat)]
        for layer, way in enumerate(ways, start=1):
            found.append(_copy(piece, placement, layer, after(from_drawing(piece, placement), way)))
    return found


def _copy(piece: Piece, placement: Placement, layer: int, move: Move) -> Copy:
    ring = _sewn_on(piece)
    spots = [(notch.name, notch.sewn or notch.at) for notch in (*piece.notches, *piece.marks)]
    if piece.fold_edge is not None and (placement.on_fold or placement.opened):
        edge = piece.fold_edge
        ring = _with_mirror_image(ring, edge)
        spots += [(name, mirrored(point, edge)) for name, point in spots]
    hand = 1 if move[0] * move[3] - move[1] * move[2] > 0 else -1
    there = tuple(moved(move, point) for point in ring)
    tail, head = moved(move, piece.grain[0]), moved(move, piece.grain[1])
    return Copy(
        piece,
        placement,
        layer,
        there if hand > 0 else there[::-1],
        tuple((name, moved(move, point)) for name, point in spots),
        _direction(tail, head),
        hand,
    )


def _with_mirror_image(ring: Ring, edge: tuple[Point, Point]) -> Ring:
    """A half and its mirror image as one ring, the seam between them closed."""
    import shapely
    from shapely.geometry.polygon import orient

    both = [shapely.Polygon(ring), shapely.Polygon([mirrored(point, edge) for point in ring])]
    whole = shapely.union_all([half.buffer(0.05, join_style="mitre") for half in both])
    whole = whole.buffer(-0.05, join_style="mitre")
    if whole.geom_type != "Polygon":
        return ring
    return tuple((float(x), float(y)) for x, y in orient(whole).exterior.coords[:-1])


def _sewn_on(piece: Piece) -> Ring:
    """The stitching line, where the pattern tells it, or the outline."""
    return piece.stitching or piece.outline


@dataclass(frozen=True)
class Spot:
    """A place of a print on a piece as it lies: ``lines`` of which way meet there, and what it is called."""

    name: str
    at: Point
    crosswise: bool
    lengthwise: bool
    centre: bool = False


def asked(material: MaterialLayout, job: Job) -> tuple[Match, ...]:
    """What the layout was matched by: the pattern's matches at the level the layout tells."""
    level: Any = material.matched
    return replace(job, matching=level).asked_of(material.material)


def spots(placement: Placement, job: Job, matches: Iterable[Match]) -> list[Spot]:
    """Where the print has to meet on a placed piece (its first layer), on the spread cloth."""
    piece = next((p for p in job.pieces if p.number == placement.piece), None)
    if piece is None or placement.region:
        return []
    move = from_drawing(piece, placement)
    found = []
    for match in matches:
        points: list[Point] = []
        if match.what == "meet":
            points = _named(piece, match.name)
            if placement.opened and piece.fold_edge is not None:
                points += [mirrored(point, piece.fold_edge) for point in points]
        elif match.what == "centre" and match.name == piece.number:
            points = [centre_of(piece, match.at)]
        for point in points:
            name = match.name if match.what == "meet" else "centre"
            there = moved(move, point)
            found.append(Spot(name, there, match.crosswise, match.lengthwise, match.what == "centre"))
    return found


def _named(piece: Piece, name: str) -> list[Point]:
    marks: tuple[Notch, ...] = (*piece.notches, *piece.marks)
    return [mark.sewn or mark.at for mark in marks if mark.name == name]


def centre_of(piece: Piece, at: str) -> Point:
    """The middle of a piece in its drawing: a notch or mark, the fold edge, or half way across the grain."""
    named = _named(piece, at) if at else []
    if named:
        return named[0]
    if piece.fold_edge is not None:
        (ax, ay), (bx, by) = piece.fold_edge
        return (ax + bx) / 2, (ay + by) / 2
    (px, py), (u, v) = piece.grain[0], _direction(*piece.grain)
    along = [(x - px) * u + (y - py) * v for x, y in piece.outline]
    left = [(y - py) * u - (x - px) * v for x, y in piece.outline]
    s, t = (min(along) + max(along)) / 2, (min(left) + max(left)) / 2
    return px + s * u - t * v, py + s * v + t * u


def remnant_of(material: MaterialLayout, fabric: Fabric) -> Remnant | None:
    """The remnant that a layout lies on, None on cloth from the roll."""
    return next((each for each in fabric.remnants if material.cloth and each.name == material.cloth), None)


def whole_cloth(material: MaterialLayout, fabric: Fabric) -> MaterialLayout:
    """The layout with its cloth as long as the remnant is, so that all of it is drawn; rolls as they are."""
    remnant = remnant_of(material, fabric)
    if remnant is None:
        return material
    last = max(band.x[1] for band in material.bands)
    end = max(last, *(x for x, _ in remnant.outline))
    bands = tuple(
        replace(band, x=(band.x[0], end)) if band.x[1] == last and band.fold_across is None else band
        for band in material.bands
    )
    return replace(material, bands=bands)


def remnant_areas(material: MaterialLayout, remnant: Remnant) -> tuple[Any, Any]:
    """Where a spread remnant has cloth at all, and where in both layers (shapely areas, spread cloth)."""
    import shapely
    from shapely import affinity

    cloth = shapely.Polygon(remnant.outline, remnant.holes)
    once, twice = [], []
    for index, band in enumerate(material.bands):
        dx, dy = shift(material, index)
        reach = 2.0 * material.width
        low, high = band.y[0] - reach, band.y[1] + reach
        if len(material.bands) > 1:
            low, high = band.y
        if band.folds:
            low, high = (low, band.y[1]) if _folds_at(band, band.y[1]) else (band.y[0], high)
        box = shapely.box(band.x[0], low, band.x[1], high)
        here = affinity.translate(cloth, -dx, -dy)
        first = here.intersection(box)
        once.append(first)
        other = second_layer(band)
        if other is not None:
            second = affinity.affine_transform(here, list(other)).intersection(box)
            once.append(second)
            twice.append(first.intersection(second))
    return shapely.union_all(once), shapely.union_all(twice)
