"""Fabrics, from pattern files and from files of their own."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path

from pydantic import ValidationError

from marker.files.messages import from_validation, sentence
from marker.files.outline import Frame, Wrong, metric, parse_ring, unit_hint
from marker.files.schema import FabricFile, FabricTable, FlawTable
from marker.files.toml import read_toml
from marker.model.fabric import Fabric
from marker.model.piece import Ring
from marker.units import YARD, System, parse_length

WIDEST = 10_000.0
"""Millimetres a cloth may be wide at most."""
NARROWEST = 10.0
"""Millimetres a cloth must be wide at least."""

_SPOT_SIDES = 16


def load_fabrics(path: str | Path) -> dict[str, Fabric]:
    """The fabrics of a fabric file, by material. Raises InputError with one sentence."""
    data = read_toml(path)
    unit = data.get("unit", "mm")
    try:
        tables = FabricFile.model_validate(
            data, context={"unit": unit if unit in ("mm", "cm", "in") else "mm"}
        )
    except ValidationError as error:
        raise from_validation(path, error, data, FabricFile) from None
    return build_fabrics(path, tables.fabric, tables.unit)


def build_fabrics(path: str | Path, tables: dict[str, FabricTable], unit: str) -> dict[str, Fabric]:
    """Fabrics of the model from tables read from ``path``. Raises InputError with one sentence."""
    return {material: _fabric(path, material, table, unit) for material, table in tables.items()}


def _fabric(path: str | Path, material: str, table: FabricTable, unit: str) -> Fabric:
    where = [f"fabric {material}"]
    width = table.width.mm
    if not NARROWEST <= width <= WIDEST:
        hint = unit_hint(width, unit, 300.0, 3500.0)
        raise sentence(
            path,
            [*where, "width"],
            f"{metric(width)} is absurd for a cloth; " + (hint or "check the number and the unit"),
        )
    if 2 * table.selvage.mm >= width:
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
    system: System = step.system if step is not None else table.width.system
    step_mm = step.mm if step is not None else float(YARD / 8) if system == "imperial" else 100.0
    if not 1 <= step_mm <= 100_000:
        raise sentence(
            path,
            [*where, "step"],
            f"{metric(step_mm)} is absurd for the steps a cloth is sold in; check the unit",
        )
    whole = parse_length("1 yd" if system == "imperial" else "1 m")
    return Fabric(
        name=table.name or material,
        width=width,
        selvage=table.selvage.mm,
        nap=table.nap,
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
    )


def _flaw(path: str | Path, where: Sequence[str], flaw: FlawTable, unit: str) -> Ring:
    """A flaw as a polygon, x along the length and y across; a spot becomes a polygon round it."""
    spot = (flaw.along, flaw.across, flaw.radius)
    if flaw.outline is not None and spot == (None, None, None):
        frame = Frame(unit)
        try:
            drawn = parse_ring(flaw.outline, frame)
        except Wrong as wrong:
            raise sentence(path, [*where, "outline"], str(wrong)) from None
        # On cloth y runs across from the lower selvage, as written: undo the turn that drawings get.
        return tuple((x, -y) for x, y in (drawn.ring[0], *reversed(drawn.ring[1:])))
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
