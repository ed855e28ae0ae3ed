"""Small jobs and layouts made by hand. Placing goes through shapely's affinities, not through the check."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

from shapely.affinity import rotate, scale, translate
from shapely.geometry import LineString, MultiPoint, Polygon

from marker.check import Fault, verify
from marker.model.fabric import Fabric, Print
from marker.model.job import Job
from marker.model.layout import Band, Layout, MaterialLayout, Placement
from marker.model.match import Match, Matching
from marker.model.piece import Cut, Notch, Piece, Point, Ring
from marker.units import format_buy

CLOTH = Fabric("canvas", width=1000.0)

SQUARE: Ring = ((0, 0), (200, 0), (200, 200), (0, 200))
TRIANGLE: Ring = ((0, 0), (200, 0), (0, 100))
HALF: Ring = ((0, 0), (300, 0), (300, 100), (0, 100))
"""Half of a piece of 300 mm along the grain by 200 mm across, drawn above its fold."""
WHOLE: Ring = ((0, -100), (300, -100), (300, 100), (0, 100))

PANEL: Ring = ((0, 0), (200, 0), (200, 80), (0, 100))
"""A left and a right, a top and a bottom: 18 000 mm²."""

GRAIN: tuple[Point, Point] = ((20.0, 30.0), (120.0, 30.0))
FOLD: tuple[Point, Point] = ((0.0, 0.0), (300.0, 0.0))


def piece(
    ring: Ring, count: int = 1, how: str = "alike", *, number: str = "1", name: str = "Pocket", **more: object
) -> Piece:
    more.setdefault("grain", GRAIN)
    more.setdefault("cuts", (Cut("fabric", count, how),))  # type: ignore[arg-type]
    return Piece(number, name, ring, **more)  # type: ignore[arg-type]


def half_piece(count: int = 1, **more: object) -> Piece:
    return piece(HALF, count, "on fold", name="Back", fold_edge=FOLD, **more)


def place(
    what: Piece,
    at: Point,
    *,
    ring: Ring | None = None,
    rotation: float = 0.0,
    mirrored: bool = False,
    copies: int = 1,
    band: int = 0,
    on_fold: bool = False,
    opened: bool = False,
    spare: int = 0,
    region: str = "",
    name: str = "",
) -> Placement:
    """Lay a piece so that the lower left corner of its box comes to lie ``at`` a place of the cloth."""
    (tx, ty), (hx, hy) = what.grain
    angle = math.degrees(math.atan2(hy - ty, hx - tx))
    outline = Polygon(ring or what.outline)
    fold = what.fold_edge or ((0.0, 0.0), (1.0, 0.0))
    shapes = [
        outline,
        LineString(what.grain),
        MultiPoint([n.at for n in what.notches] or [(0, 0)]),
        MultiPoint(what.drills or [(0, 0)]),
        LineString(fold),
    ]
    shapes = [rotate(shape, -angle, origin=(0, 0)) for shape in shapes]
    if mirrored:
        shapes = [scale(shape, 1, -1, origin=(0, 0)) for shape in shapes]
    shapes = [rotate(shape, rotation, origin=(0, 0)) for shape in shapes]
    left, bottom, _, _ = shapes[0].bounds
    shapes = [translate(shape, at[0] - left, at[1] - bottom) for shape in shapes]
    laid = tuple((x, y) for x, y in shapes[0].exterior.coords[:-1])
    tail, head = shapes[1].coords
    marks = [(point.x, point.y) for point in shapes[2].geoms]
    return Placement(
        piece=what.number,
        name=name or what.name,
        copies=copies,
        mirrored=mirrored,
        rotation=rotation,
        on_fold=on_fold,
        outline=laid[::-1] if mirrored else laid,
        grain=(tail, head),
        band=band,
        notches=tuple(Notch(n.name, at) for n, at in zip(what.notches, marks, strict=False)),
        drills=tuple((point.x, point.y) for point in shapes[3].geoms) if what.drills else (),
        fold_edge=tuple(shapes[4].coords) if on_fold and what.fold_edge else None,  # type: ignore[arg-type]
        region=region,
        opened=opened,
        spare=spare,
    )


def bands_of(lay: str, length: float, width: float = 1000.0, selvage: float = 0.0) -> tuple[Band, ...]:
    """The bands of each lay, written out for cloth of any width; partial folds turn 300 mm over."""
    x, half, quarter = (0.0, length), width / 2, width / 4
    return {
        "open": (Band(x, (selvage, width - selvage), 1),),
        "lengthwise fold": (Band(x, (selvage, half), 2, (half,)),),
        "selvages to the middle": (
            Band(x, (0.0, quarter - selvage), 2, (0.0,)),
            Band(x, (quarter + selvage, half), 2, (half,)),
        ),
        "partial fold": (
            Band(x, (selvage, width - 600), 1),
            Band(x, (width - 600 + selvage, width - 300), 2, (width - 300,)),
        ),
        "crosswise fold": (Band((0.0, length / 2), (selvage, width - selvage), 2, (), 0.0),),
        "tubular": (Band(x, (0.0, half), 2, (0.0, half)),),
    }[lay]


def scene(
    pieces: Piece | tuple[Piece, ...],
    placements: tuple[Placement, ...],
    *,
    lay: str = "open",
    length: float,
    waste: float,
    buy: float | None = None,
    fabric: Fabric = CLOTH,
    bands: tuple[Band, ...] | None = None,
    material: str = "fabric",
    quantity: int = 1,
) -> tuple[Layout, Job]:
    """A job of one material and its layout. ``length``, ``waste`` and ``buy`` are counted by the caller."""
    pieces = pieces if isinstance(pieces, tuple) else (pieces,)
    width = fabric.width * (2 if fabric.tube else 1)
    laid = MaterialLayout(
        material=material,
        width=width,
        usable=(fabric.selvage, width - fabric.selvage),
        lay=lay,
        length=length,
        buy=length if buy is None else buy,
        buy_text=format_buy(length if buy is None else buy, fabric.system),
        waste_percent=waste,
        lower_bound=0.0,
        bands=bands_of(lay, length, width, fabric.selvage) if bands is None else bands,
        placements=placements,
    )
    job = Job("smock", "M", "A", pieces, {material: fabric}, quantity)
    return Layout("smock", "M", "A", 1, (laid,), quantity), job


CHECK = Print("check", along=100.0, across=60.0, start=(30.0, 20.0))
"""Bars across the cloth at 30, 130, 230 ... mm along it, bars along it at 20, 80, 140 ... mm across."""


def matched(
    pieces: Piece | tuple[Piece, ...],
    placements: tuple[Placement, ...],
    matches: Match | tuple[Match, ...],
    *,
    design: Print = CHECK,
    length: float,
    fabric: Fabric = CLOTH,
    matching: Matching = "main",
    **more: Any,
) -> tuple[Layout, Job]:
    """A job on printed cloth, everything laid as it says; the waste is counted from the outlines."""
    pieces = pieces if isinstance(pieces, tuple) else (pieces,)
    fabric = replace(fabric, print=design)
    area = sum(
        cut.count * Polygon(each.outline).area * (2 if cut.how == "on fold" else 1)
        for each in pieces
        for cut in each.cuts
    )
    waste = 100 * (1 - area / (length * fabric.width))
    layout, job = scene(pieces, placements, length=length, waste=waste, fabric=fabric, **more)
    matches = matches if isinstance(matches, tuple) else (matches,)
    job = replace(job, matches=matches, matching=matching)
    crosswise = any(match.crosswise for match in job.asked_of("fabric"))
    # The shop's cut falls anywhere in the repeat.
    need = length + (design.along or 0.0) * crosswise
    return bought(changed(layout, matched=matching), 100.0 * math.ceil(need / 100.0 - 1e-9)), job


def bought(layout: Layout, buy: float) -> Layout:
    """The same layout with another length to buy."""
    return changed(layout, buy=buy)


def meet(name: str, crosswise: bool = True, lengthwise: bool = False, **more: Any) -> Match:
    return Match("meet", name, crosswise, lengthwise, **more)


def both_halves(placement: Placement, fold: float) -> Placement:
    """An opened piece with the notches of its other half, mirrored in the fold that lies at y ``fold``."""
    other = tuple(Notch(n.name, (n.at[0], 2 * fold - n.at[1])) for n in placement.notches)
    return replace(placement, notches=placement.notches + other)


def changed(layout: Layout, **fields: object) -> Layout:
    """The same layout with fields of its first material replaced; what to buy is told in words as well."""
    if "buy" in fields and math.isfinite(float(str(fields["buy"]))):
        fields.setdefault("buy_text", format_buy(float(str(fields["buy"])), "metric"))
    return replace(layout, materials=(replace(layout.materials[0], **fields), *layout.materials[1:]))  # type: ignore[arg-type]


def with_placement(layout: Layout, index: int, **fields: object) -> Layout:
    """The same layout with fields of one placement replaced."""
    placements = list(layout.materials[0].placements)
    placements[index] = replace(placements[index], **fields)  # type: ignore[arg-type]
    return changed(layout, placements=tuple(placements))


def moved(placement: Placement, dx: float, dy: float) -> Placement:
    return replace(
        placement,
        outline=tuple((x + dx, y + dy) for x, y in placement.outline),
        grain=tuple((x + dx, y + dy) for x, y in placement.grain),
        notches=tuple(Notch(n.name, (n.at[0] + dx, n.at[1] + dy)) for n in placement.notches),
        drills=tuple((x + dx, y + dy) for x, y in placement.drills),
        fold_edge=None
        if placement.fold_edge is None
        else tuple((x + dx, y + dy) for x, y in placement.fold_edge),  # type: ignore[arg-type]
    )


def with_moved(layout: Layout, index: int, dx: float, dy: float) -> Layout:
    placements = list(layout.materials[0].placements)
    placements[index] = moved(placements[index], dx, dy)
    return changed(layout, placements=tuple(placements))


def untold(layout: Layout, job: Job) -> list[Fault]:
    """The faults of a layout that tells none of the flaws of its cloth, but for that."""
    return [
        fault
        for fault in verify(layout, job)
        if "place not to cut over" not in fault.message and "obstacle is told" not in fault.message
    ]


def only(layout: Layout, job: Job, *, flaws_told: bool = True) -> Fault:
    """The single fault of a layout: the planted one, and nothing raised beside it."""
    faults = verify(layout, job) if flaws_told else untold(layout, job)
    assert len(faults) == 1, faults
    return faults[0]
