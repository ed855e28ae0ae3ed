"""What a layout tells besides the pieces: the cloth, its flaws, the amount in words, the spreads tried."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import shapely
from shapely.affinity import affine_transform
from shapely.geometry import Polygon, box

from marker.check.cloths import Cloth
from marker.check.form import Affine
from marker.check.geometry import Shape, same_form, solid
from marker.check.spread import EDGE_TOLERANCE, SINGLE_LAYS, Ground, stretches_of
from marker.errors import InputError
from marker.model.fabric import Fabric, Print
from marker.model.layout import MaterialLayout
from marker.model.piece import Ring
from marker.units import parse_length_system

FAMILIES = (*SINGLE_LAYS, "mixed")
"""The ways of spreading a cloth, without their details."""
ROUNDED_UP = {"metric": 1.0, "imperial": 25.4 / 16}
"""Millimetres that the amount in words may be more than the length to buy: what a ruler shows."""
FINEST = 1e-3
"""Millimetres that figures told of the cloth may be off."""
SLIVER = 0.01
"""Square millimetres of an obstacle that are rounding."""
FAR = 1e7
"""Millimetres that no cloth is long."""


def family_of(lay: str) -> str:
    """One of FAMILIES; empty if the name means nothing."""
    if lay in FAMILIES:
        return lay
    return "mixed" if stretches_of(lay) else ""


def text_faults(layout: MaterialLayout, fabric: Fabric, remnant: bool) -> Iterator[str]:
    """The amount in words is the length to buy, rounded up to what a ruler shows, in the cloth's units."""
    if remnant:
        if layout.buy_text != "nothing":
            yield f"a remnant is in hand, and “{layout.buy_text}” is told as what to buy"
        return
    try:
        told, system = parse_length_system(layout.buy_text)
    except InputError:
        yield f"“{layout.buy_text}” is told as what to buy, and it is no length"
        return
    if system != fabric.system or not -FINEST <= told - layout.buy <= ROUNDED_UP[fabric.system] + FINEST:
        yield f"{layout.buy:.2f} mm are to buy, and “{layout.buy_text}” is told"


def tried_faults(
    layout: MaterialLayout,
    fold: object,
    simpler: float,
    remnant: bool,
    bought: Sequence[float] | None,
    least: float,
) -> Iterator[str]:
    """Of the spreads tried each is told once, the one that was taken as it is, none that buys less.

    ``fold``: what was asked for, None where that is not known. ``simpler``: how much more the layout may buy
    for fewer outlines to cut. ``bought``: for each spread tried, in order, the length to buy that follows
    from its length. ``least``: no length is below it.
    """
    if not layout.tried:
        if fold is not None and not remnant:
            yield "it is not told which spreads were tried"
        return
    if remnant:
        yield "spreads are told to have been tried, which is not told of remnants"
        return
    families = [family_of(tried.lay) for tried in layout.tried]
    mine = family_of(layout.lay)
    asked = fold in FAMILIES or (fold is None and len(families) == 1)
    due = [mine] if asked else list(FAMILIES)
    if sorted(families) != sorted(due):
        yield f"the spreads told as tried are not each of {', '.join(due)} once"
        return
    copies = sum(placement.copies - placement.spare for placement in layout.placements)
    for tried, family, amount in zip(layout.tried, families, bought or (), strict=True):
        if tried.length is None or tried.buy is None:
            if tried.length is not None or tried.buy is not None or not tried.why:
                yield f"it is told neither what “{tried.lay}” would take nor why it cannot be done"
            elif family == mine:
                yield f"“{tried.lay}” is told to be impossible, and the layout is one"
        elif abs(tried.buy - amount) > FINEST:
            yield f"“{tried.lay}” is told to buy {tried.buy:.2f} mm, and its length makes it {amount:.2f} mm"
        elif family == mine and (tried.lay != layout.lay or abs(tried.length - layout.length) > FINEST):
            yield f"“{layout.lay}” takes {layout.length:.2f} mm, and {tried.length:.2f} mm are told of it"
        elif family == mine and tried.outlines not in (None, len(layout.placements)):
            yield f"“{layout.lay}” has {len(layout.placements)} outlines, and {tried.outlines} are told of it"
        elif tried.outlines is not None and not copies <= 2 * tried.outlines <= 2 * copies:
            yield f"“{tried.lay}” is told to have {tried.outlines} outlines for {copies} pieces"
        elif tried.buy < layout.buy - simpler - FINEST:
            yield f"“{tried.lay}” is told to buy {tried.buy:.2f} mm, less than the layout chosen"
        elif tried.length < least - FINEST:
            yield f"“{tried.lay}” is told to take {tried.length:.2f} mm, less than the area of the pieces"


def cloth_faults(layout: MaterialLayout, fabric: Fabric, cloth: Cloth) -> Iterator[str]:
    """What is told of the cloth for readers without the fabric file is what the fabric has."""
    told = layout.told
    if told is None:
        return
    if told.print is not None and not (fabric.print and _same_print(told.print, fabric.print)):
        yield "the print told is not the print of the cloth"
    border = None if cloth.remnant else fabric.border
    if told.border is not None and not (
        border is not None
        and told.border.side == border.side
        and abs(told.border.width - border.width) <= FINEST
    ):
        yield "the border told is not the border of the cloth"
    outline = cloth.remnant.outline if cloth.remnant else None
    holes = cloth.remnant.holes if cloth.remnant else ()
    if told.outline is not None and not (outline is not None and _same_ring(told.outline, outline)):
        yield "the outline told of the cloth is not that of the remnant"
    if told.holes is not None and not (
        len(told.holes) == len(holes) and all(map(_same_ring, told.holes, holes))
    ):
        yield "the holes told of the cloth are not those of the remnant"


def obstacle_faults(layout: MaterialLayout, grounds: Sequence[Ground], cloth: Cloth) -> Iterator[str]:
    """The places not to cut over, told on the spread cloth: each once, on every layer that has it."""
    due = _obstacles(layout.lay, grounds, cloth)
    shown: list[Shape] = [solid(ring) for ring in layout.obstacles]
    for shape in due:
        match = next((k for k, other in enumerate(shown) if _same_shape(shape, other)), None)
        if match is None:
            x, y = shape.representative_point().coords[0]
            yield f"a place not to cut over, at {x:.0f} mm along and {y:.0f} mm across, is not told"
        else:
            del shown[match]
    for shape in shown:
        x, y = shape.representative_point().coords[0] if not shape.is_empty else (math.nan, math.nan)
        yield f"nothing forbids cutting at {x:.0f} mm along and {y:.0f} mm across, where an obstacle is told"


def _obstacles(lay: str, grounds: Sequence[Ground], cloth: Cloth) -> list[Polygon]:
    """Flaws, holes and what of its box is no remnant, as each layer of the spread shows them."""
    places: list[Shape] = list(cloth.flaws)
    if cloth.remnant:
        across, along = cloth.width, cloth.along or 0.0
        outside = box(0.0, 0.0, along, across).difference(solid(cloth.remnant.outline))
        parts = [*shapely.get_parts(outside), *(solid(hole) for hole in cloth.remnant.holes)]
        places = [solid(part.exterior.coords[:-1]) for part in parts if part.area > SLIVER]
    panels: dict[Affine, list[Polygon]] = {}
    last = max((ground.x[1] for ground in grounds), default=0.0)
    for ground in grounds:
        low, high = ground.x
        if len(stretches_of(lay)) == 1 and lay != "crosswise fold":
            low = -FAR
        # The cloth runs on beyond the spread, but for a fold.
        if high >= last - EDGE_TOLERANCE and lay != "crosswise fold":
            high = FAR
        for sheet in ground.sheets:
            panels.setdefault(sheet, []).append(box(low, ground.panel[0], high, ground.panel[1]))
    found = []
    for sheet, boxes in panels.items():
        region = shapely.union_all(boxes)
        for place in places:
            seen = affine_transform(place, _back(sheet)).intersection(region)
            found += [part for part in shapely.get_parts(seen) if part.geom_type == "Polygon"]
    return [part for part in found if part.area > SLIVER]


def _back(sheet: Affine) -> Affine:
    """From the flat cloth to the spread: sheets keep or turn round each axis, and shift."""
    a, _, _, e, u, v = sheet
    return a, 0.0, 0.0, e, -a * u, -e * v


def _same_shape(a: Shape, b: Shape) -> bool:
    near = all(abs(p - q) <= EDGE_TOLERANCE for p, q in zip(a.bounds, b.bounds, strict=True))
    return near and not b.is_empty and same_form(a, b, EDGE_TOLERANCE)


def _same_ring(told: Ring, ring: Ring) -> bool:
    return len(told) == len(ring) and all(
        math.dist(one, other) <= FINEST for one, other in zip(told, ring, strict=True)
    )


def _same_print(told: Print, design: Print) -> bool:
    numbers = [
        (told.along, design.along),
        (told.across, design.across),
        *zip(told.start, design.start, strict=True),
        (told.tolerance, design.tolerance),
    ]
    return (told.kind, told.even_along, told.even_across) == (
        design.kind,
        design.even_along,
        design.even_across,
    ) and all((a is None) == (b is None) and abs((a or 0.0) - (b or 0.0)) <= FINEST for a, b in numbers)
