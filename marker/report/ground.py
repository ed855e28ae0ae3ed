"""The spread cloth as one sees it lying there: stretches of length, and where its edges are.

Read off the bands of a layout, so that the chart and the pictures name the same edges.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from marker.model.layout import Band, MaterialLayout
from marker.report.measure import System, width_text

EdgeName = Literal["fold", "selvage", "edge"]
"""A remnant has no selvage: its "edge" is the line along the grain that touches it from outside."""

WORDS = {
    "open": "opened flat, one layer, right side up",
    "lengthwise fold": "folded in half along its length, right sides together, selvage on selvage",
    "selvages to the middle": "both selvages folded in to meet in the middle, right sides together",
    "partial fold": "one side folded over just far enough, right sides together; the rest in one layer",
    "crosswise fold": "folded across its length, right sides together, cut end on cut end",
    "tubular": "the tube lying flat, a fold at either side",
    "mixed": "first a stretch folded in half along its length, right sides together, "
    "then a stretch opened flat",
}
"""What to do with the cloth, for each way of spreading it (common practice, no source)."""

LAYERS = {1: "one layer", 2: "two layers"}


@dataclass(frozen=True)
class Edge:
    """A line along the length of the cloth that one can measure from, at ``y`` millimetres."""

    name: EdgeName
    y: float


@dataclass(frozen=True)
class Stretch:
    """A piece of the length, from ``start`` to ``end`` millimetres, spread in one way.

    ``low`` and ``high`` are the outer edges of the cloth there; ``bands`` index the layout's bands,
    lowest first.
    """

    start: float
    end: float
    low: Edge
    high: Edge
    bands: tuple[int, ...]


def spread_in_words(lay: str) -> str:
    """How to spread the cloth, in a sentence without a full stop; an unknown name is left as it is.

    What follows a colon in the name ("mixed: lengthwise fold, then open") does not matter.
    """
    return WORDS.get(lay.partition(":")[0], lay)


def overhang(material: MaterialLayout) -> float:
    """How far the second layer's selvage lies beyond the first's, where a lengthwise fold is not in the
    middle of the cloth (a print has put it on one of its lines); 0 for other spreads, negative if short."""
    if material.lay.partition(":")[0] != "lengthwise fold" or not material.bands[0].folds:
        return 0.0
    beyond = material.width - 2 * material.bands[0].folds[0]
    return beyond if abs(beyond) > 0.5 else 0.0


def spread_of(material: MaterialLayout, system: System) -> str:
    """How to spread this cloth, in a sentence without a full stop, with the fold's place if it matters."""
    beyond = overhang(material)
    if not beyond:
        words = spread_in_words(material.lay)
        return words.replace("selvage", "edge") if material.cloth else words
    edge = "edge" if material.cloth else "selvage"
    fold = width_text(material.bands[0].folds[0], system)
    other = width_text(abs(beyond), system)
    return (
        f"folded along its length on a line of the print {fold} from the lower {edge}, right sides together; "
        f"the other {edge} lies {other} {'beyond' if beyond > 0 else 'short of'} the lower one"
    )


def span(material: MaterialLayout) -> tuple[float, float]:
    """First and last x of the cloth as it lies (a crosswise fold: of the folded spread)."""
    return min(b.x[0] for b in material.bands), max(b.x[1] for b in material.bands)


def fold_across(material: MaterialLayout) -> float | None:
    """The x of a crosswise fold, ``None`` without one."""
    return next((b.fold_across for b in material.bands if b.fold_across is not None), None)


def stretches(material: MaterialLayout) -> list[Stretch]:
    """The stretches of the length, from the cut end on."""
    found: dict[tuple[float, float], list[int]] = {}
    for index, band in enumerate(material.bands):
        found.setdefault(band.x, []).append(index)
    result = []
    for (start, end), indices in sorted(found.items()):
        indices.sort(key=lambda i: material.bands[i].y)
        low, high = material.bands[indices[0]], material.bands[indices[-1]]
        result.append(
            Stretch(start, end, _bottom(low, material), _top(high, material), tuple(indices)),
        )
    return result


def edges(material: MaterialLayout, band: int) -> list[Edge]:
    """The selvages and folds of one band, lowest first.

    A one-layer band beside the turned-in part of a partial fold has no edge of its own on that side.
    """
    here = next(s for s in stretches(material) if band in s.bands)
    at = here.bands.index(band)
    this = material.bands[band]
    found = []
    if at == 0 or this.layers >= 2:
        found.append(_bottom(this, material))
    if at == len(here.bands) - 1 or this.layers >= 2:
        found.append(_top(this, material))
    return found


def inner_edges(material: MaterialLayout, stretch: Stretch) -> list[Edge]:
    """Selvages that lie inside the spread cloth: turned in on top of a layer, or meeting in the middle."""
    found = {edge for band in stretch.bands for edge in edges(material, band)}
    return sorted(found - {stretch.low, stretch.high}, key=lambda edge: edge.y)


def _folded(band: Band, y: float) -> bool:
    return any(abs(fold - y) < 0.01 for fold in band.folds)


def _bottom(band: Band, material: MaterialLayout) -> Edge:
    if _folded(band, band.y[0]):
        return Edge("fold", band.y[0])
    return Edge("edge" if material.cloth else "selvage", band.y[0] - material.usable[0])


def _top(band: Band, material: MaterialLayout) -> Edge:
    if _folded(band, band.y[1]):
        return Edge("fold", band.y[1])
    return Edge("edge" if material.cloth else "selvage", band.y[1] + (material.width - material.usable[1]))
