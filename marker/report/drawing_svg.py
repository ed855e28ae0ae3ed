"""The layout as an SVG drawing 1:1 in millimetres, in the words of our own SVG convention.

The convention is told in ``marker/importing/svg.py``: one group a placed piece, whose title says what it is
called and how it is cut, and in it the outline, fold, grain line, notches, drill holes and inner lines, each
with a title. The cloth and the words for people are called ``ignore``, so that reading the drawing again
gives the pieces and nothing else. The same layout gives the same bytes.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from xml.sax.saxutils import escape

from marker.model.job import Job
from marker.model.layout import MaterialLayout, Placement
from marker.model.piece import Point
from marker.plain import visible
from marker.report.placed_words import names_of, numbers_of

MARGIN = 20.0
"""Millimetres round the cloth."""
SIZES = (60.0, 48.0, 40.0, 32.0, 26.0, 20.0, 16.0, 12.0, 9.0, 7.0)
"""Type sizes of the words on the pieces, in points."""
NOTCH = 2.0
"""Millimetres from the middle of a notch mark to its tips."""
DRILL = 2.0
HEAD = 8.0
"""Millimetres an arrow head is long at most."""
_STYLE = """
path, circle { fill: none; stroke: #1a1a1a; stroke-width: 0.6 }
.cloth { fill: #efece6; stroke: #8f897c }
.fold { stroke-width: 2.4 }
.piece { fill: #ffffff }
.down { fill: #e4e4e4 }
.line { stroke-dasharray: 6 3 }
.flaw { fill: #8f897c }
text { font-family: "DejaVu Sans", sans-serif; text-anchor: middle; fill: #1a1a1a }
"""


def layout_svg(material: MaterialLayout, job: Job) -> bytes:
    """The SVG file of one material's layout, UTF-8."""
    left, right = min(band.x[0] for band in material.bands), max(band.x[1] for band in material.bands)
    low, top = min(band.y[0] for band in material.bands), max(band.y[1] for band in material.bands)
    sheet = _Sheet(top + MARGIN, MARGIN - left)
    wide, high = right - left + 2 * MARGIN, top - low + 2 * MARGIN
    view = f", view {job.view}" if job.view else ""
    title = f"pattern {_phrase(f'{job.pattern}{view}, {material.material}')}; seam allowance included"
    parts = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_n(wide)}mm" height="{_n(high)}mm" '
        f'viewBox="0 0 {_n(wide)} {_n(high)}">',
        f"<title>{_text(title)}</title>",
        f"<style>{_STYLE}</style>",
        *_cloth(sheet, material),
    ]
    for placed, name, number in zip(
        material.placements, names_of(material), numbers_of(material), strict=True
    ):
        parts += _piece(sheet, placed, name, number, material.material, job)
    parts.append("</svg>")
    return ("\n".join(parts) + "\n").encode()


class _Sheet:
    """From the cloth, y upwards, to the page, y downwards."""

    def __init__(self, base: float, left: float) -> None:
        self.base, self.left = base, left

    def at(self, point: Point) -> Point:
        return self.left + point[0], self.base - point[1]

    def path(self, points: Sequence[Point], closed: bool = False) -> str:
        words = " L ".join(f"{_n(x)} {_n(y)}" for x, y in map(self.at, points))
        return f"M {words}{' Z' if closed else ''}"


def _cloth(sheet: _Sheet, material: MaterialLayout) -> list[str]:
    parts = ["<g><title>ignore</title>"]
    for band in material.bands:
        (x0, x1), (y0, y1) = band.x, band.y
        box = sheet.path([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], closed=True)
        parts.append(f'<path class="cloth" d="{box}"/>')
        folds = [((x0, y), (x1, y)) for y in band.folds]
        if band.fold_across is not None:
            folds.append(((band.fold_across, y0), (band.fold_across, y1)))
        parts += [f'<path class="fold" d="{sheet.path(fold)}"/>' for fold in folds]
    parts += [f'<path class="flaw" d="{sheet.path(flaw, closed=True)}"/>' for flaw in material.obstacles]
    return [*parts, "</g>"]


def _piece(sheet: _Sheet, placed: Placement, name: str, number: str, material: str, job: Job) -> list[str]:
    how = "on fold" if placed.on_fold else "mirrored" if placed.copies == 2 else "alike"
    title = (
        f"name {_phrase(name)}; number {_phrase(number)}; size {_phrase(job.size)}; "
        f"cut {placed.copies} of {_phrase(material)} {how}"
    )
    parts = [f"<g><title>{_text(title)}</title>"]
    if placed.mirrored:
        parts.append("<desc>Laid face down, and drawn as it lies.</desc>")
    outline = sheet.path(placed.outline, closed=True)
    parts.append(_path(f"piece{' down' if placed.mirrored else ''}", outline, "outline"))
    if placed.fold_edge is not None:
        parts.append(_path("fold", sheet.path(placed.fold_edge), "fold" if placed.on_fold else "line"))
    parts.append(_path("grain", _arrow(sheet, placed.grain), "grain"))
    parts += [_path("line", sheet.path(hole, closed=True), "line") for hole in placed.holes]
    parts += [_path("line", sheet.path(line), "line") for line in placed.lines if len(line) > 1]
    for notch in placed.notches:
        x, y = notch.at
        tips = [(x - NOTCH, y), (x, y - NOTCH), (x + NOTCH, y), (x, y + NOTCH)]
        parts.append(_path("notch", sheet.path(tips, closed=True), f"notch {_phrase(notch.name)}".strip()))
    for drill in placed.drills:
        x, y = sheet.at(drill)
        parts.append(f'<circle cx="{_n(x)}" cy="{_n(y)}" r="{_n(DRILL)}"><title>drill</title></circle>')
    return [*parts, *_label(sheet, placed, name, job), "</g>"]


def _path(kind: str, data: str, title: str) -> str:
    return f'<path class="{kind}" d="{data}"><title>{_text(title)}</title></path>'


def _arrow(sheet: _Sheet, grain: tuple[Point, Point]) -> str:
    """The shaft, and a head that is always the shorter line of the two."""
    (ax, ay), (bx, by) = grain
    length = math.dist(*grain)
    if length == 0:
        return sheet.path(grain)
    size = min(HEAD, 0.15 * length)
    ux, uy = size * (bx - ax) / length, size * (by - ay) / length
    barbs = [(bx - ux - 0.4 * uy, by - uy + 0.4 * ux), (bx, by), (bx - ux + 0.4 * uy, by - uy - 0.4 * ux)]
    return f"{sheet.path(grain)} {sheet.path(barbs)}"


def _label(sheet: _Sheet, placed: Placement, name: str, job: Job) -> list[str]:
    """Words for people, as large as they fit into the piece; none where none do."""
    from shapely import LineString, Polygon

    from marker.report.labels import Line, Space, block_extent

    free = Polygon(placed.outline).buffer(-3.0).difference(LineString(placed.grain).buffer(2.0))
    if free.is_empty:
        return []
    second = [f"size {job.size}", *(["face down"] if placed.mirrored else [])]
    words = [Line(name, bold=True)], [Line(name, bold=True), Line(", ".join(second))]
    label = Space(free).fit([words[1], words[0]], SIZES)
    if label is None or block_extent(label.lines, label.size)[0] <= 0:
        return []
    parts = ["<g><title>ignore</title>"]
    for line, x, y in label.baselines():
        px, py = sheet.at((x, y))
        weight = ' font-weight="bold"' if line.bold else ""
        parts.append(
            f'<text transform="translate({_n(px)} {_n(py)}) rotate({_n(-label.angle)})" '
            f'font-size="{_n(label.size * 25.4 / 72)}"{weight}>{_text(line.text)}</text>'
        )
    return [*parts, "</g>"]


def _phrase(text: str) -> str:
    """Text that stays within its phrase: phrases end at ``;`` and line breaks."""
    return " ".join(visible(text, " ").replace(";", " ").split())


def _text(text: str) -> str:
    return escape(visible(text, " "))


def _n(value: float) -> str:
    """A number with the six decimals of the layout file, and no more of them than it needs."""
    text = f"{value:.6f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
