"""Fabrics, from pattern files and from files of their own."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from marker.errors import InputError, StillMissing
from marker.files.kinds import refuse_other
from marker.files.messages import Tell, at_once, from_validation, sentence
from marker.files.outline import Frame, Wrong, metric, parse_ring, unit_hint
from marker.files.schema import (
    UNITS,
    BorderTable,
    FabricFile,
    FabricTable,
    FlawTable,
    Measure,
    PrintTable,
    RemnantTable,
)
from marker.files.toml import read_toml
from marker.model.fabric import Border, Fabric, Print, Remnant
from marker.model.piece import Point, Ring
from marker.model.ring import extent, nearest_on_ring
from marker.model.room import no_room
from marker.units import YARD, System, parse_length

WIDEST = 10_000.0
"""Millimetres a cloth may be wide at most."""
NARROWEST = 10.0
"""Millimetres a cloth must be wide at least."""
LONGEST_REPEAT = 5_000.0
"""Millimetres after which a print must repeat along the cloth."""
HOLE_SLACK = 0.5
"""Millimetres a hole may reach out of its remnant."""

_SPOT_SIDES = 16


def load_fabrics(path: str | Path) -> dict[str, Fabric]:
    """The fabrics of a fabric file, by material. Raises InputError with one sentence."""
    data = read_toml(path)
    refuse_other(path, data, "fabric")
    return fabrics_of(path, data)


def fabrics_of(path: str | Path, data: Mapping[str, Any]) -> dict[str, Fabric]:
    """The fabrics in the tables of a fabric file that messages call ``path``. As ``load_fabrics``."""
    unit = data.get("unit")
    try:
        tables = FabricFile.model_validate(
            data, context={"unit": unit if unit is None or unit in UNITS else "mm"}
        )
    except ValidationError as error:
        raise from_validation(path, error, data, FabricFile) from None
    return build_fabrics(path, tables.fabric, tables.unit or "mm")


def build_fabrics(
    path: str | Path, tables: dict[str, FabricTable], unit: str, tell: Tell = at_once
) -> dict[str, Fabric]:
    """Fabrics of the model from tables read from ``path``, those that are right.

    ``tell`` hears of the others; left out, the first raises InputError with one sentence.
    """
    found = {}
    for material, table in tables.items():
        try:
            found[material] = _fabric(path, material, table, unit)
        except InputError as error:
            tell(error)
    return found


def _fabric(path: str | Path, material: str, table: FabricTable, unit: str) -> Fabric:
    where = [f"fabric {material}"]
    remnants = _remnants(path, where, table, unit)
    width, system = _width(path, where, table, remnants, unit)
    if table.roll and 2 * table.selvage.mm >= width:
        raise sentence(
            path,
            [*where, "selvage"],
            f"two selvages of {table.selvage.mm:g} mm leave nothing of a cloth {width:g} mm wide; "
            "write how much to keep clear at each edge",
        )
    if table.gap.mm > 200:
        raise sentence(
            path,
            [*where, "gap"],
            f"{metric(table.gap.mm)} between pieces is absurd; check the number and the unit",
        )
    step = table.step
    if step is not None:
        system = step.system
    step_mm = step.mm if step is not None else float(YARD / 8) if system == "imperial" else 100.0
    if not 1 <= step_mm <= 100_000:
        raise sentence(
            path,
            [*where, "step"],
            f"{metric(step_mm)} is absurd for the steps a cloth is sold in; check the unit",
        )
    whole = parse_length("1 yd" if system == "imperial" else "1 m")
    shrunk = (1.0 - table.shrink_along, 1.0 - table.shrink_across)
    design = None if table.print is None else print_of(path, where, table.print, shrunk)
    fabric = Fabric(
        name=table.name or material,
        width=width,
        selvage=table.selvage.mm,
        nap=table.nap or (design is not None and not (design.even_along and design.even_across)),
        grain=table.grain,
        grain_tolerance=table.grain_tolerance,
        gap=table.gap.mm,
        shrink_along=table.shrink_along,
        shrink_across=table.shrink_across,
        tube=table.tube,
        step=step_mm,
        price=table.price,
        price_per=table.price_per.mm if table.price_per is not None else whole,
        currency=table.currency,
        flaws=tuple(_flaw(path, [*where, f"flaw {i + 1}"], flaw, unit) for i, flaw in enumerate(table.flaws)),
        system=system,
        print=design,
        border=None if table.border is None else _border(path, where, table, table.border),
        remnants=remnants,
        roll=table.roll,
    )
    lacking = no_room(fabric)
    if lacking is not None:
        raise sentence(path, [*where, lacking[0]], lacking[1])
    return fabric


def _width(
    path: str | Path, where: Sequence[str], table: FabricTable, remnants: Sequence[Remnant], unit: str
) -> tuple[float, System]:
    """The width as sold, and the units it speaks; where there is no roll, that of the widest remnant."""
    if not table.roll:
        if not remnants:
            raise sentence(
                path,
                [*where, "roll"],
                "is false, so that there is no cloth at all; add a remnant, or leave roll out",
            )
        if table.flaws:
            raise sentence(
                path,
                [*where, "flaws"],
                "belong to the roll, and roll is false; draw them as holes of the remnant they are in",
            )
    if table.width is None:
        if table.roll:
            raise sentence(
                path,
                where,
                '"width" is missing; add it, or roll = false if there are only remnants',
                StillMissing,
            )
        widest = max(extent(remnant.outline)[1] for remnant in remnants)
        spoken = {given.width.system for given in table.remnant if given.width is not None}
        imperial = spoken == {"imperial"} or (not spoken and unit == "in")
        return widest / (1.0 - table.shrink_across), "imperial" if imperial else "metric"
    width = table.width.mm
    if not NARROWEST <= width <= WIDEST:
        hint = unit_hint(width, unit, 300.0, 3500.0)
        raise sentence(
            path,
            [*where, "width"],
            f"{metric(width)} is absurd for a cloth; " + (hint or "check the number and the unit"),
        )
    return width, table.width.system


def print_of(path: str | Path, where: Sequence[str], given: PrintTable, shrunk: tuple[float, float]) -> Print:
    """The print as the washed cloth has it, which keeps those shares of its length and width.

    Raises InputError with one sentence.
    """
    where = [*where, "print"]
    repeats: dict[str, Measure | None] = {"along": given.along, "across": given.across}
    unchanging = {"stripes along": "along", "stripes across": "across"}.get(given.kind)
    for way, repeat in repeats.items():
        if way == unchanging and repeat is not None:
            raise sentence(
                path,
                [*where, way],
                f'"{given.kind}" has no repeat {way} the cloth; leave it out, or write another kind',
            )
        if way != unchanging and repeat is None:
            raise sentence(
                path,
                where,
                f'"{way}" is missing; "{given.kind}" needs the repeat {way} the cloth',
                StillMissing,
            )
    if given.along is not None and given.along.mm > LONGEST_REPEAT:
        raise sentence(
            path,
            [*where, "along"],
            f"a repeat of {metric(given.along.mm)} is longer than {metric(LONGEST_REPEAT)}; "
            "check the number and the unit",
        )
    for way, repeat in repeats.items():
        if repeat is not None and 2 * given.tolerance.mm >= repeat.mm:
            raise sentence(
                path,
                [*where, "tolerance"],
                f"{given.tolerance.mm:g} mm either way lets everything pass on a repeat of "
                f"{repeat.mm:g} mm {way}; write a smaller tolerance, or leave out a print too small to match",
            )
    for way, offset in zip(("x", "y"), given.start, strict=True):
        if offset.mm > WIDEST:
            raise sentence(
                path, [*where, "start", way], f"{metric(offset.mm)} is absurd; check the number and the unit"
            )
    shrunk_along, shrunk_across = shrunk
    return Print(
        kind=given.kind,
        along=None if given.along is None else given.along.mm * shrunk_along,
        across=None if given.across is None else given.across.mm * shrunk_across,
        start=(given.start[0].mm * shrunk_along, given.start[1].mm * shrunk_across),
        even_along=given.even in ("both", "along"),
        even_across=given.even in ("both", "across"),
        tolerance=given.tolerance.mm,
    )


def _border(path: str | Path, where: Sequence[str], table: FabricTable, given: BorderTable) -> Border:
    """The border as the washed cloth has it."""
    if table.tube:
        raise sentence(
            path,
            [*where, "border"],
            "a tube has no selvage for a border to run along; leave tube or border out",
        )
    if table.remnant:
        raise sentence(
            path,
            [*where, "border"],
            "runs along the selvage of a roll, and nobody knows where on a remnant; leave the remnants or "
            "the border out",
        )
    return Border(given.side, given.width.mm * (1.0 - table.shrink_across))


def _remnants(path: str | Path, where: Sequence[str], table: FabricTable, unit: str) -> tuple[Remnant, ...]:
    found: list[Remnant] = []
    for given in table.remnant:
        here = [*where, f'remnant "{given.name}"']
        if table.tube:
            raise sentence(
                path,
                here,
                "a tube comes on the roll only; cut the remnant open and make it a fabric of its own",
            )
        if any(given.name == other.name for other in found):
            raise sentence(path, [*here, "name"], "is the name of two remnants; give each a name of its own")
        shrunk = (1.0, 1.0) if given.washed else (1.0 - table.shrink_along, 1.0 - table.shrink_across)
        found.append(remnant_of(path, here, given, unit, shrunk))
    return tuple(found)


def remnant_of(
    path: str | Path, where: Sequence[str], given: RemnantTable, unit: str, shrunk: tuple[float, float]
) -> Remnant:
    """The remnant moved so that its box begins at (0, 0), with those shares of its length and width.

    Raises InputError with one sentence.
    """
    from shapely import Polygon, unary_union

    frame = Frame(unit)
    if given.outline is not None and given.length is None and given.width is None:
        outline = _drawn(path, [*where, "outline"], given.outline, frame)
    elif given.outline is None and given.length is not None and given.width is not None:
        a, b = given.length.mm, given.width.mm
        for field, side in (("length", a), ("width", b)):
            if not NARROWEST <= side <= 10 * WIDEST:
                raise sentence(
                    path,
                    [*where, field],
                    f"{metric(side)} is absurd for a remnant; check the number and the unit",
                )
        outline = ((0.0, 0.0), (a, 0.0), (a, b), (0.0, b))
    else:
        raise sentence(path, where, 'write "length" and "width" for a rectangle, or "outline" alone')
    holes = []
    room = Polygon(outline).buffer(HOLE_SLACK, join_style="mitre")
    for i, text in enumerate(given.holes):
        hole = _drawn(path, [*where, f"hole {i + 1}"], text, frame)
        if not room.covers(Polygon(hole)):
            # The corner that lies farthest out tells best where.
            x, y = max(hole, key=lambda point: _outside_by(point, outline))
            raise sentence(
                path,
                [*where, f"hole {i + 1}"],
                f"reaches out of the remnant at {frame.say((x, -y))}; keep it inside, or draw it as part of "
                "the outline",
            )
        holes.append(hole)
    if Polygon(outline).difference(unary_union([Polygon(hole) for hole in holes])).area < 1.0:
        raise sentence(path, [*where, "holes"], "leave nothing of the remnant; leave one out")
    left, low = min(x for x, _ in outline), min(y for _, y in outline)

    def moved(ring: Ring) -> Ring:
        return tuple(((x - left) * shrunk[0], (y - low) * shrunk[1]) for x, y in ring)

    return Remnant(given.name, moved(outline), tuple(moved(hole) for hole in holes), given.washed)


def _drawn(path: str | Path, where: Sequence[str], text: str, frame: Frame) -> Ring:
    """A place on cloth from path data: y runs across from the lower selvage, as written."""
    try:
        drawn = parse_ring(text, frame)
    except Wrong as wrong:
        raise sentence(path, where, str(wrong)) from None
    # Undo the turn that drawings get.
    return tuple((x, -y) for x, y in (drawn.ring[0], *reversed(drawn.ring[1:])))


def _outside_by(point: Point, ring: Ring) -> float:
    """Distance from the edge of ``ring``, positive outside."""
    from shapely import Point as Spot
    from shapely import Polygon

    distance = nearest_on_ring(point, ring)[0]
    return -distance if Polygon(ring).covers(Spot(point)) else distance


def _flaw(path: str | Path, where: Sequence[str], flaw: FlawTable, unit: str) -> Ring:
    """A flaw as a polygon, x along the length and y across; a spot becomes a polygon round it."""
    spot = (flaw.along, flaw.across, flaw.radius)
    if flaw.outline is not None and spot == (None, None, None):
        return _drawn(path, [*where, "outline"], flaw.outline, Frame(unit))
    if flaw.outline is not None or flaw.along is None or flaw.across is None or flaw.radius is None:
        raise sentence(
            path,
            where,
            'write "along", "across" and "radius" for a spot, or "outline" alone for another shape',
        )
    x, y, radius = flaw.along.mm, flaw.across.mm, flaw.radius.mm
    if radius > WIDEST:
        raise sentence(path, [*where, "radius"], f"{metric(radius)} is absurd; check the number and the unit")
    # The polygon goes round the circle, never inside it.
    outer = radius / math.cos(math.pi / _SPOT_SIDES)
    angles = [2 * math.pi * k / _SPOT_SIDES for k in range(_SPOT_SIDES)]
    return tuple((x + outer * math.cos(angle), y + outer * math.sin(angle)) for angle in angles)
