"""How each way of spreading divides the cloth, and where a place on the spread lies on the flat cloth.

The flat cloth has its lower selvage at y = 0 and its upper one at y = ``width``. A layer of a band is a
sheet: the motion that takes the spread to the flat cloth. Folding is common practice, no source; what
each rule says can be counted: the sheets of a spread cover the usable cloth once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from marker.check.form import IDENTITY, Affine
from marker.model.layout import Band

EDGE_TOLERANCE = 0.02
"""Millimetres within which edges of bands, folds and fold edges count as in place."""

SINGLE_LAYS = (
    "open",
    "lengthwise fold",
    "selvages to the middle",
    "partial fold",
    "crosswise fold",
    "tubular",
)


@dataclass(frozen=True)
class Ground:
    """A band as it must be, with the sheet of each of its layers.

    ``panel`` is how far the cloth of those sheets reaches across, what is not to be used included.
    """

    y: tuple[float, float]
    panel: tuple[float, float]
    sheets: tuple[Affine, ...]
    folds: tuple[float, ...] = ()
    fold_across: float | None = None
    x: tuple[float, float] = (0.0, 0.0)


def stretches_of(lay: str) -> tuple[str, ...]:
    """The spreads that follow one another along the cloth; empty if the name means nothing."""
    if lay in SINGLE_LAYS:
        return (lay,)
    names = tuple(lay.removeprefix("mixed: ").split(", then ")) if lay.startswith("mixed: ") else ()
    known = len(names) > 1 and all(name in SINGLE_LAYS[:4] for name in names)
    return names if known else ()


def row_of(
    lay: str,
    width: float,
    selvage: float,
    length: float,
    folds: Sequence[float],
    across: float | None,
    off_middle: bool = False,
) -> list[Ground]:
    """The bands of one spread, from the lower side up.

    ``folds`` and ``across`` are those the layout names: a partial fold may be made at any depth, and a
    crosswise fold may lie at either end. ``off_middle``: so may a lengthwise fold below the middle, the
    rest of the cloth then lies idle. No bands come back for a depth that cloth cannot have.
    """
    half, low, high = width / 2, selvage, width - selvage
    match lay:
        case "open":
            return [Ground((low, high), (0.0, width), (IDENTITY,))]
        case "lengthwise fold":
            lower = off_middle and len(folds) == 1 and low < folds[0] < half - EDGE_TOLERANCE
            fold = folds[0] if lower else half
            return [Ground((low, fold), (0.0, fold), (IDENTITY, _over(fold)), (fold,))]
        case "tubular":
            return [Ground((0.0, half), (0.0, half), (IDENTITY, _over(half)), (0.0, half))]
        case "crosswise fold":
            far = across is not None and abs(across - length / 2) <= EDGE_TOLERANCE
            out = (1.0, 0.0, 0.0, 1.0, 0.0 if far else length / 2, 0.0)
            back = (-1.0, 0.0, 0.0, 1.0, length if far else length / 2, 0.0)
            return [Ground((low, high), (0.0, width), (out, back), (), length / 2 if far else 0.0)]
        case "selvages to the middle":
            quarter = width / 4
            under = (1.0, 0.0, 0.0, 1.0, 0.0, quarter)
            beneath = (1.0, 0.0, 0.0, -1.0, 0.0, quarter)
            above = (1.0, 0.0, 0.0, -1.0, 0.0, width + quarter)
            return [
                Ground((0.0, quarter - selvage), (0.0, quarter), (under, beneath), (0.0,)),
                Ground((quarter + selvage, half), (quarter, half), (under, above), (half,)),
            ]
        case "partial fold":
            fold = max(folds, default=width)
            depth = width - fold
            if depth <= selvage or width - 2 * depth <= low:
                return []
            edge = width - 2 * depth
            return [
                Ground((low, edge), (0.0, edge), (IDENTITY,)),
                Ground((edge + selvage, fold), (edge, fold), (IDENTITY, _over(fold)), (fold,)),
            ]
    return []


def grounds_of(
    lay: str, bands: Sequence[Band], width: float, selvage: float, length: float, off_middle: bool = False
) -> tuple[list[Ground], list[str]]:
    """What the bands of a layout must be, one for one; or, with no grounds, what is wrong with them."""
    names = stretches_of(lay)
    if not names:
        return [], [f"“{lay}” is no way of spreading cloth that can be checked"]
    end = length / 2 if lay == "crosswise fold" else length
    found = stretches(bands)
    if len(found) != len(names):
        due = _counted(len(names), "stretch", "stretches")
        return [], [f"the lay “{lay}” has {due} and {len(found)} are listed"]
    wrong = []
    grounds: dict[int, Ground] = {}
    start = 0.0
    for name, (x, members) in zip(names, found, strict=True):
        if abs(x[0] - start) > EDGE_TOLERANCE or x[1] < x[0]:
            wrong.append(
                f"the stretch “{name}” runs from {x[0]:.2f} to {x[1]:.2f} mm and must begin at {start:.2f} mm"
            )
        start = x[1]
        folds = [fold for index in members for fold in bands[index].folds]
        row = row_of(name, width, selvage, length, folds, bands[members[0]].fold_across, off_middle)
        for index in members:
            match = next((ground for ground in row if _is(bands[index], ground)), None)
            if match is None:
                wrong.append(f"{_told(bands[index])} is no part of a cloth {width:.2f} mm wide laid “{name}”")
            else:
                row.remove(match)
                grounds[index] = replace(match, x=x)
        wrong += [f"the lay “{name}” lacks its band from y {g.y[0]:.2f} to {g.y[1]:.2f} mm" for g in row]
    if abs(start - end) > EDGE_TOLERANCE:
        wrong.append(f"the spread ends at {start:.2f} mm where the length stated makes it {end:.2f} mm")
    return ([] if wrong else [grounds[index] for index in range(len(bands))]), wrong


def _over(fold: float) -> Affine:
    """The upper layer of cloth folded lengthwise at ``fold``."""
    return 1.0, 0.0, 0.0, -1.0, 0.0, 2 * fold


def stretches(bands: Sequence[Band]) -> list[tuple[tuple[float, float], list[int]]]:
    """Bands by their extent along the cloth, from the cut end on."""
    found: list[tuple[tuple[float, float], list[int]]] = []
    for index, band in sorted(enumerate(bands), key=lambda item: item[1].x):
        if found and all(abs(p - q) <= EDGE_TOLERANCE for p, q in zip(found[-1][0], band.x, strict=True)):
            found[-1][1].append(index)
        else:
            found.append((band.x, [index]))
    return found


def _is(band: Band, ground: Ground) -> bool:
    across = (band.fold_across, ground.fold_across)
    ours = [*band.y, *sorted(band.folds), *(value for value in across[:1] if value is not None)]
    theirs = [*ground.y, *ground.folds, *(value for value in across[1:] if value is not None)]
    return (
        band.layers == len(ground.sheets)
        and len(band.folds) == len(ground.folds)
        and len(ours) == len(theirs)
        and all(abs(p - q) <= EDGE_TOLERANCE for p, q in zip(ours, theirs, strict=True))
    )


def _told(band: Band) -> str:
    folds = [f"y {fold:.2f}" for fold in band.folds]
    if band.fold_across is not None:
        folds.append(f"x {band.fold_across:.2f}")
    at = f", folded at {' and '.join(folds)} mm" if folds else ""
    layers = _counted(band.layers, "layer", "layers")
    return f"the band from y {band.y[0]:.2f} to {band.y[1]:.2f} mm ({layers}{at})"


def _counted(count: int, one: str, more: str) -> str:
    return f"{count} {one if count == 1 else more}"
