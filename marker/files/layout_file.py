"""The layout file: a verified layout as JSON, version 1, for this program and anyone else's."""

from __future__ import annotations

import contextlib
import json
import tomllib
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from marker.errors import InputError
from marker.files.atomic import write_text
from marker.files.kinds import refuse_other
from marker.files.toml import read_text
from marker.model.amount import Amount
from marker.model.fabric import Fabric
from marker.model.job import Job
from marker.model.layout import Layout, MaterialLayout, Placement
from marker.model.piece import Notch, Point

VERSION = 1
_DECIMALS = 6


def write_layout(layout: Layout, path: str | Path, job: Job | None = None) -> None:
    """Write the layout file, whole or not at all. Raises InputError if it cannot be written."""
    write_text(path, to_json(layout, job))


def to_json(layout: Layout, job: Job | None = None) -> str:
    """The text of the layout file."""
    text = json.dumps(to_dict(layout, job), ensure_ascii=False, allow_nan=False) + "\n"
    # A file name that is no text holds characters that UTF-8 lacks and JSON has escapes for.
    return text.encode("utf-8", "backslashreplace").decode()


def to_dict(layout: Layout, job: Job | None = None) -> dict[str, Any]:
    """The layout as JSON holds it: lengths in millimetres, rounded to a millionth.

    With ``job``, each cloth's print, border and remnant are told too: a reader without the fabric file
    can then see what has to meet and where there is cloth. Read back, they are what the file says of it.
    """
    fabrics = {} if job is None else job.fabrics
    return {
        "marker_layout": VERSION,
        "pattern": layout.pattern,
        "size": layout.size,
        "view": layout.view,
        "seed": layout.seed,
        "quantity": layout.quantity,
        "asked": dict(layout.asked),
        "materials": [
            {**_material(material), **_cloth(material, fabrics.get(material.material))}
            for material in layout.materials
        ],
    }


def _material(material: MaterialLayout) -> dict[str, Any]:
    return {
        "material": material.material,
        "width": _number(material.width),
        "usable": _numbers(material.usable),
        "lay": material.lay,
        "length": _number(material.length),
        "buy": {
            "length": _number(material.buy),
            "text": material.buy_text,
            **({} if material.parts is None else {"parts": _parts(material.parts)}),
        },
        "waste_percent": _number(material.waste_percent),
        "lower_bound": _number(material.lower_bound),
        "proven": material.proven,
        "searched": _number(material.searched),
        "bands": [
            {
                "x": _numbers(band.x),
                "y": _numbers(band.y),
                "layers": band.layers,
                "fold_at": _number(band.folds[0]) if band.folds else None,
                "folds": _numbers(band.folds),
                "fold_across": None if band.fold_across is None else _number(band.fold_across),
            }
            for band in material.bands
        ],
        "obstacles": [_points(ring) for ring in material.obstacles],
        "placements": [_placement(placement) for placement in material.placements],
        "tried": [
            {
                "lay": tried.lay,
                "length": None if tried.length is None else _number(tried.length),
                "buy": None if tried.buy is None else _number(tried.buy),
                "outlines": tried.outlines,
                "why": tried.why,
            }
            for tried in material.tried
        ],
        "cloth": material.cloth,
        "missing": [
            {"piece": lost.piece, "name": lost.name, "region": lost.region, "count": lost.count}
            for lost in material.missing
        ],
        "short": _number(material.short),
        "short_least": _number(material.short_least),
        "matched": material.matched,
        "notes": list(material.notes),
    }


def _parts(parts: Amount) -> dict[str, float]:
    return {name: _number(value) for name, value in asdict(parts).items()}


def _cloth(material: MaterialLayout, fabric: Fabric | None) -> dict[str, Any]:
    """What is known of the cloth itself; nothing for what it does not have."""
    found: dict[str, Any] = {}
    if fabric is None:
        return found
    if fabric.print is not None:
        design = fabric.print
        found["print"] = {
            "kind": design.kind,
            "along": None if design.along is None else _number(design.along),
            "across": None if design.across is None else _number(design.across),
            "start": _numbers(design.start),
            "even_along": design.even_along,
            "even_across": design.even_across,
            "tolerance": _number(design.tolerance),
        }
    if fabric.border is not None and not material.cloth:
        found["border"] = {"side": fabric.border.side, "width": _number(fabric.border.width)}
    remnant = next((each for each in fabric.remnants if material.cloth and each.name == material.cloth), None)
    if remnant is not None:
        found["cloth_outline"] = _points(remnant.outline)
        found["cloth_holes"] = [_points(hole) for hole in remnant.holes]
    return found


def _placement(placement: Placement) -> dict[str, Any]:
    return {
        "piece": placement.piece,
        "name": placement.name,
        "region": placement.region,
        "copies": placement.copies,
        "spare": placement.spare,
        "mirrored": placement.mirrored,
        "rotation": _number(placement.rotation),
        "on_fold": placement.on_fold,
        "opened": placement.opened,
        "band": placement.band,
        "outline": _points(placement.outline),
        "holes": [_points(hole) for hole in placement.holes],
        "grain": _points(placement.grain),
        "fold_edge": None if placement.fold_edge is None else _points(placement.fold_edge),
        "notches": [_notch(notch) for notch in placement.notches],
        "drills": _points(placement.drills),
        "lines": [_points(line) for line in placement.lines],
    }


def _notch(notch: Notch) -> dict[str, Any]:
    found = {"name": notch.name, "at": _numbers(notch.at)}
    return found if notch.sewn is None else {**found, "sewn": _numbers(notch.sewn)}


def _number(value: float) -> float:
    # Adding 0 turns -0.0 into 0.0.
    return round(float(value), _DECIMALS) + 0.0


def _numbers(values: Sequence[float]) -> list[float]:
    return [_number(value) for value in values]


def _points(points: Sequence[Point]) -> list[list[float]]:
    return [_numbers(point) for point in points]


def read_layout(path: str | Path) -> Layout:
    """The layout in a layout file, this program's or another's that keeps to the same form.

    Fields beyond the published form may be missing, and unknown ones are passed over. Only the form is
    checked, not whether the layout is right. Raises InputError with one sentence.
    """
    text = read_text(path)
    try:
        data = json.loads(text, parse_constant=_refuse)
    except RecursionError:
        raise InputError(f"{path}: is not JSON that can be read: brackets are nested too deeply.") from None
    except json.JSONDecodeError as error:
        with contextlib.suppress(ValueError, RecursionError):
            refuse_other(path, tomllib.loads(text), "layout")
        raise InputError(
            f"{path}: is not a layout file: not valid JSON at line {error.lineno}, column {error.colno}."
        ) from None
    except ValueError as error:
        raise InputError(f"{path}: is not a layout file: {error}.") from None
    if not isinstance(data, dict) or "marker_layout" not in data:
        raise InputError(
            f'{path}: is not a layout file: it has no "marker_layout"; name one written by marker lay.'
        )
    if data["marker_layout"] != VERSION or isinstance(data["marker_layout"], bool):
        raise InputError(
            f"{path}: marker_layout is {str(data['marker_layout'])[:20]}, "
            f"and this program reads version {VERSION}; use the version of the program that wrote it."
        )
    return _read(path, data)


def _refuse(word: str) -> float:
    raise ValueError(f"{word} is not a number in JSON")


def _read(path: str | Path, data: dict[str, Any]) -> Layout:
    from pydantic import ValidationError

    from marker.files.layout_schema import LayoutTable
    from marker.files.messages import from_validation, sentence

    try:
        table = LayoutTable.model_validate(data)
    except ValidationError as error:
        raise from_validation(path, error, data, LayoutTable) from None
    for i, material in enumerate(table.materials):
        for j, band in enumerate(material.bands):
            first = next(iter(band.folds or ()), None)
            if band.folds is not None and "fold_at" in band.model_fields_set and band.fold_at != first:
                raise sentence(
                    path,
                    [f"material {i + 1} ({material.material})", f"band {j + 1}", "fold_at"],
                    f"is {band.fold_at}, and the first of its folds is {first}",
                )
        for j, placed in enumerate(material.placements):
            if placed.band >= len(material.bands):
                raise sentence(
                    path,
                    [f"material {i + 1} ({material.material})", f"placement {j + 1}", "band"],
                    f"is {placed.band}, but there are {len(material.bands)} bands, counted from 0",
                )
    return table.model()
