"""Pictures of a lay: the cloth to scale, every piece labelled, readable in grey."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import Any, Literal

from marker.model.job import Job
from marker.model.layout import MaterialLayout
from marker.report.compose import (
    KEY_SIZE,
    Composition,
    KeyEntry,
    Part,
    compose,
    inner_words,
    key_lead,
    key_lines,
)
from marker.report.console import capital, size_words
from marker.report.ground import (
    LAYERS,
    Edge,
    Stretch,
    fold_across,
    inner_edges,
    span,
    spread_in_words,
)
from marker.report.labels import FONT, POINT, text_width
from marker.report.measure import length, width_text
from marker.report.page import EDGE, WORDS, Row, Sheet, shown_stretches

Format = Literal["png", "svg", "pdf"]

INK = "#1a1a1a"
HATCH = "#6a6a6a"
ONE_LAYER = "#d6d2c9"
TWO_LAYERS = "#bfbaaf"
SELVAGE = "#8f897c"
TINTS = ("#fffdf2", "#dcebf7", "#fbe3c8", "#cfe6d8", "#efdcf0", "#f6f0b8", "#cfe0f1", "#f8dacb")
"""Fills apart in lightness as well as in hue; all light enough for dark words."""

DPI = 150
MM = 1 / 25.4

_STYLE: Any = {
    "svg.fonttype": "none",
    "svg.hashsalt": "marker",
    "pdf.fonttype": 42,
    "path.simplify": False,
    "font.sans-serif": [FONT],
}


def picture_bytes(material: MaterialLayout, job: Job, fmt: Format) -> bytes:
    """The picture as the bytes of a PNG (150 dpi), SVG (text as text) or PDF file.

    The same layout gives the same bytes. Raises ValueError for any other format.
    """
    import matplotlib

    if fmt not in ("png", "svg", "pdf"):
        raise ValueError(f"no such picture format: {fmt}")
    metadata: dict[str, dict[str, Any]] = {
        "png": {"Software": None},
        "svg": {"Date": None, "Creator": None},
        "pdf": {"CreationDate": None, "Creator": None, "Producer": None},
    }
    out = io.BytesIO()
    with matplotlib.rc_context(_STYLE):
        draw(material, job).savefig(out, format=fmt, dpi=DPI, metadata=metadata[fmt])
    return out.getvalue()


_latest: tuple[MaterialLayout, Job, Composition] | None = None


def _composed(material: MaterialLayout, job: Job) -> Composition:
    """The composition, kept for the next format of the same picture."""
    global _latest
    held = _latest
    if held is None or held[0] is not material or held[1] is not job:
        held = _latest = (material, job, compose(material, job))
    return held[2]


def draw(material: MaterialLayout, job: Job) -> Any:
    """A matplotlib Figure of one material's lay, not tied to any window or global state."""
    page = _composed(material, job)
    figure, pen = blank_page(page.sheet.width, page.sheet.height, page.sheet.grow)
    _heading(pen, page.sheet, material, job)
    ink(pen, page, material, job)
    return figure


def blank_page(width: float, height: float, grow: float = 1.0) -> tuple[Any, Pen]:
    """An empty page of that many millimetres, and a pen for it."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width * MM, height * MM), dpi=DPI, facecolor="white")
    FigureCanvasAgg(figure)
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set_xlim(0, width)
    axes.set_ylim(0, height)
    axes.axis("off")
    return figure, Pen(axes, grow)


def page_files(figures: Sequence[Any], fmt: Literal["png", "pdf"], title: str = "") -> list[bytes]:
    """Figures as files: one PDF with a page each, or a PNG each. The same figures give the same bytes."""
    import matplotlib
    from matplotlib.backends.backend_pdf import PdfPages

    with matplotlib.rc_context(_STYLE):
        if fmt == "png":
            files = []
            for figure in figures:
                out = io.BytesIO()
                figure.savefig(out, format="png", dpi=DPI, metadata={"Software": None})
                files.append(out.getvalue())
            return files
        out = io.BytesIO()
        known: dict[str, Any] = {"CreationDate": None, "Creator": None, "Producer": None, "Title": title}
        with PdfPages(out, metadata=known) as pages:
            for figure in figures:
                pages.savefig(figure)
        return [out.getvalue()]


def ink(pen: Pen, page: Composition, material: MaterialLayout, job: Job) -> None:
    """Draw a composition: cloth, rulers, pieces and key, all but the heading."""
    sheet = page.sheet
    for index, row in enumerate(sheet.rows):
        _cloth(pen, row, material)
        _rulers(pen, row, job.fabrics[material.material].system)
        _edge_words(pen, sheet, index, material, job)
    for shape in page.flaws:
        _flaw(pen, shape)
    for part in page.parts:
        _piece(pen, part)
    _key(pen, page)


class Pen:
    """Draws on paper millimetres; line widths and type in points, grown with the page."""

    def __init__(self, axes: Any, grow: float) -> None:
        self.axes = axes
        self.grow = grow

    def area(self, points: Sequence[tuple[float, float]], fill: str, z: float) -> None:
        from matplotlib.patches import Polygon

        self.axes.add_artist(Polygon(points, closed=True, facecolor=fill, edgecolor="none", zorder=z))

    def shape(self, shape: Any, fill: str, z: float) -> None:
        """A shapely polygon, holes left open."""
        from matplotlib.patches import PathPatch
        from matplotlib.path import Path

        rings = [shape.exterior, *shape.interiors]
        path = Path.make_compound_path(*(Path(list(ring.coords), closed=True) for ring in rings))
        self.axes.add_artist(PathPatch(path, facecolor=fill, edgecolor="none", zorder=z))

    def line(
        self,
        points: Sequence[tuple[float, float]],
        width: float = 0.6,
        colour: str = INK,
        style: Any = "-",
        z: float = 4.0,
    ) -> None:
        from matplotlib.lines import Line2D

        xs, ys = zip(*points, strict=True)
        dash = (0, tuple(d * self.grow for d in style)) if isinstance(style, tuple) else style
        self.axes.add_artist(
            Line2D(
                xs,
                ys,
                linewidth=width * self.grow,
                color=colour,
                linestyle=dash,
                zorder=z,
                solid_capstyle="butt",
                dash_capstyle="butt",
            )
        )

    def lines(
        self, many: Sequence[Sequence[tuple[float, float]]], width: float, colour: str, z: float
    ) -> None:
        from matplotlib.collections import LineCollection

        if many:
            self.axes.add_artist(LineCollection(many, linewidths=width * self.grow, colors=colour, zorder=z))

    def words(
        self,
        x: float,
        y: float,
        text: str,
        size: float,
        *,
        bold: bool = False,
        angle: float = 0.0,
        across: Literal["left", "center", "right"] = "center",
        up: Literal["baseline", "center_baseline"] = "center_baseline",
        colour: str = INK,
        gid: str | None = None,
    ) -> None:
        """``size`` is in points on the page as it is (already grown)."""
        self.axes.text(
            x,
            y,
            text,
            fontsize=size,
            fontfamily=[FONT, "sans-serif"],
            fontweight="bold" if bold else "normal",
            rotation=angle,
            rotation_mode="anchor",
            ha=across,
            va=up,
            color=colour,
            parse_math=False,
            zorder=8,
            gid=gid,
        )

    def level(self, x: float, y: float, text: str, size: float, **how: Any) -> None:
        """Words centred on ``y`` by their capitals, ``size`` as on A4."""
        size *= self.grow
        self.words(x, y - 0.36 * size * POINT, text, size, up="baseline", **how)

    def upright(self, x: float, y: float, text: str, size: float, **how: Any) -> None:
        """Words that read upwards, centred on ``x`` by their capitals, ``size`` as on A4."""
        size *= self.grow
        self.words(x + 0.36 * size * POINT, y, text, size, up="baseline", angle=90.0, **how)


def _heading(pen: Pen, sheet: Sheet, material: MaterialLayout, job: Job) -> None:
    g = pen.grow
    fabric = job.fabrics[material.material]
    left, right, top = EDGE * g, sheet.width - EDGE * g, sheet.height - EDGE * g
    buy = f"Buy {material.buy_text}"
    pen.level(right, top - 3.2 * g, buy, 17, bold=True, across="right")
    view = f", view {job.view}" if job.view else ""
    many = f", {job.quantity} garments" if job.quantity > 1 else ""
    name = f"{capital(material.material)}: {job.pattern}, {size_words(job.size)}{view}{many}"
    room = right - left - text_width(buy, 17 * g, True) - 8 * g
    pen.level(left, top - 3.2 * g, *_shrunk(name, 13, room, g, True), bold=True, across="left")
    wide = width_text(fabric.width, fabric.system)
    used = length(material.length, fabric.system)
    second = (
        f"{fabric.name}, {wide} wide. {capital(material.lay)}: {used} used, "
        f"waste {material.waste_percent:.1f} %."
    )
    scale = f"scale 1:{1 / sheet.scale:.1f}"
    room = right - left - text_width(scale, 8 * g) - 6 * g
    pen.level(left, top - 9.6 * g, *_shrunk(second, 9, room, g, False), across="left")
    pen.level(right, top - 9.6 * g, scale, 8, across="right")
    words = spread_in_words(material.lay)
    third = f"Spread: {words}." if words != material.lay else ""
    if any(p.mirrored for p in material.placements):
        third += " Hatched pieces lie face down."
    if third:
        pen.level(left, top - 14.4 * g, *_shrunk(third, 8, right - left, g, False), across="left")


def _shrunk(text: str, size: float, room: float, grow: float, bold: bool) -> tuple[str, float]:
    """The text with the largest size up to ``size`` at which it takes no more than ``room``."""
    takes = text_width(text, size * grow, bold)
    return text, size if takes <= room else size * room / takes


def _cloth(pen: Pen, row: Row, material: MaterialLayout) -> None:
    for stretch in shown_stretches(material, row):
        x0, x1 = row.x(max(stretch.start, row.start)), row.x(min(stretch.end, row.end))
        low, high = row.y(stretch.low.y), row.y(stretch.high.y)
        _box(pen, x0, low, x1, high, SELVAGE, 1.0)
        for index in stretch.bands:
            band = material.bands[index]
            fill = TWO_LAYERS if band.layers == 2 else ONE_LAYER
            _box(pen, x0, row.y(band.y[0]), x1, row.y(band.y[1]), fill, 1.1)
        for edge in (stretch.low, stretch.high):
            _edge(pen, edge, row, x0, x1)
        for edge in inner_edges(material, stretch):
            _edge(pen, edge, row, x0, x1)
        begin, end = span(material)
        across = fold_across(material)
        for x, at in ((x0, stretch.start), (x1, stretch.end)):
            if not row.start - 1e-6 <= at <= row.end + 1e-6 or abs(row.x(at) - x) > 1e-6:
                continue
            folded = across is not None and abs(across - at) < 0.01
            inside = begin + 1e-6 < at < end - 1e-6
            if folded:
                pen.line([(x, low), (x, high)], 2.4, z=5.0)
            elif inside:
                tall = max(row.y(s.high.y) for s in shown_stretches(material, row))
                pen.line([(x, row.bottom), (x, tall)], 1.2, style=(6, 2, 1.5, 2), z=2.0)
            else:
                pen.line([(x, low), (x, high)], 0.9, z=2.0)
    # A row that breaks off shows it with a torn-looking, dotted end.
    begin, end = span(material)
    for x, at in ((row.left, row.start), (row.right, row.end)):
        if begin + 1e-6 < at < end - 1e-6:
            pen.line([(x, row.bottom), (x, row.top)], 0.9, HATCH, (1, 2), z=2.0)


def _box(pen: Pen, x0: float, y0: float, x1: float, y1: float, fill: str, z: float) -> None:
    pen.area([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], fill, z)


def _edge(pen: Pen, edge: Edge, row: Row, x0: float, x1: float) -> None:
    width = 2.4 if edge.name == "fold" else 0.9
    # Above the pieces: an outline on the fold must not hide it.
    pen.line([(x0, row.y(edge.y)), (x1, row.y(edge.y))], width, z=5.0)


def _rulers(pen: Pen, row: Row, system: str) -> None:
    g = pen.grow
    unit, word = (25.4, "in") if system == "imperial" else (10.0, "cm")
    y, x = row.bottom - WORDS * g, row.left - 5.2 * g
    pen.line([(row.left, y), (row.right, y)], 0.5)
    pen.line([(x, row.bottom), (x, row.top)], 0.5)
    fine, numbered = _graduation(unit * row.scale / g, system)
    for k, strong in _ticks(row.start, row.end, unit, fine, numbered):
        at = row.x(k * unit)
        pen.line([(at, y), (at, y - (1.8 if strong else 0.9) * g)], 0.5)
        if strong:
            pen.level(at, y - 3.4 * g, str(k), 6)
    pen.level(row.right + 1.5 * g, y - 0.4 * g, word, 6, across="left")
    for k, strong in _ticks(0.0, row.height, unit, fine, numbered):
        at = row.y(k * unit)
        pen.line([(x, at), (x - (1.8 if strong else 0.9) * g, at)], 0.5)
        if strong:
            pen.level(x - 2.4 * g, at, str(k), 6, across="right")
    pen.level(x, row.top + 2.2 * g, word, 6)


def _graduation(paper: float, system: str) -> tuple[int, int]:
    """Units from one small tick, and from one number, to the next; ``paper`` is a unit in mm on A4."""
    steps = (1, 2, 5, 10, 20, 50, 100) if system == "metric" else (1, 2, 4, 6, 12, 24, 36)
    fine = next((s for s in steps if s * paper >= 1.0), steps[-1])
    numbered = next((s for s in steps if s * paper >= 7.0 and s % fine == 0), steps[-1])
    return fine, numbered


def _ticks(start: float, end: float, unit: float, fine: int, numbered: int) -> list[tuple[int, bool]]:
    first = int(-(-(start - 1e-6) // (unit * fine))) * fine
    found = []
    while first * unit <= end + 1e-6:
        found.append((first, first % numbered == 0))
        first += fine
    return found


def _edge_words(pen: Pen, sheet: Sheet, index: int, material: MaterialLayout, job: Job) -> None:
    g = pen.grow
    row = sheet.rows[index]
    system = job.fabrics[material.material].system
    begin, end = span(material)
    across = fold_across(material)
    shown = shown_stretches(material, row)
    for stretch in shown:
        x0, x1 = row.x(max(stretch.start, row.start)), row.x(min(stretch.end, row.end))
        later = stretch.start > row.start + 1e-6
        where = f", {_layers(material, stretch)} from {width_text(stretch.start, system)} on" if later else ""
        for edge, y in ((stretch.high, row.y(stretch.high.y) + 2.2 * g), (stretch.low, row.bottom - 2.2 * g)):
            word = _edge_word(edge, stretch, material)
            choices = [word + where, word] if edge is stretch.high else [word]
            text = next((t for t in choices if text_width(t, 7 * g) <= x1 - x0), None)
            if text is not None:
                pen.level((x0 + x1) / 2, y, text, 7, bold=edge.name == "fold" and text == word)
    left_word = "cut end" if abs(row.start - begin) < 1e-6 else "continued"
    if across is not None and abs(across - row.start) < 0.01:
        left_word = "fold"
    first = shown[0]
    for k, band_index in enumerate(first.bands):
        band = material.bands[band_index]
        layers = LAYERS[band.layers]
        texts = [f"{left_word}, {layers}", layers] if k == _tallest(material, first) else [layers]
        room = (band.y[1] - band.y[0]) * row.scale
        text = next((t for t in texts if text_width(t, 7 * g) <= room), None)
        if text is not None:
            pen.upright(row.left - 2.2 * g, row.y(sum(band.y) / 2), text, 7)
    last = shown[-1]
    right_word = "end of the lay" if abs(row.end - end) < 1e-6 else "continues below"
    if across is not None and abs(across - begin) < 0.01 and abs(row.end - end) < 1e-6:
        right_word = "cut ends"
    if across is not None and abs(across - row.end) < 0.01:
        right_word = "fold"
    band = material.bands[last.bands[_tallest(material, last)]]
    if text_width(right_word, 7 * g) <= (band.y[1] - band.y[0]) * row.scale:
        pen.upright(row.right + 2.4 * g, row.y(sum(band.y) / 2), right_word, 7, bold=right_word == "fold")
    ys = {edge.y for edge in inner_edges(material, last)}
    for y, word in inner_words(material):
        if y in ys:
            pen.line([(row.right, row.y(y)), (row.right + 3.6 * g, row.y(y))], 0.5)
            pen.level(row.right + 4.2 * g, row.y(y), word, 6.5, across="left")


def _tallest(material: MaterialLayout, stretch: Stretch) -> int:
    heights = [material.bands[i].y[1] - material.bands[i].y[0] for i in stretch.bands]
    return heights.index(max(heights))


def _layers(material: MaterialLayout, stretch: Stretch) -> str:
    kinds = {material.bands[i].layers for i in stretch.bands}
    return LAYERS[kinds.pop()] if len(kinds) == 1 else "one and two layers"


def _edge_word(edge: Edge, stretch: Stretch, material: MaterialLayout) -> str:
    if edge.name == "fold":
        return "fold"
    band = material.bands[stretch.bands[0] if edge is stretch.low else stretch.bands[-1]]
    doubled = band.layers == 2 and band.fold_across is None
    return "both selvages" if doubled else "selvage"


def _flaw(pen: Pen, shape: Any) -> None:
    from marker.report.marks import hatching

    pen.shape(shape, "#ffffff", 2.5)
    for angle in (45.0, -45.0):
        pen.lines(hatching(shape, 1.1, angle), 0.6, INK, 2.6)
    pen.line(list(shape.exterior.coords), 0.9, z=2.7)


def _piece(pen: Pen, part: Part) -> None:
    pen.shape(part.shape, TINTS[part.tint % len(TINTS)], 3.0)
    pen.lines(part.hatch, 0.45, HATCH, 3.2)
    pen.lines(part.border, 0.95, INK, 4.0)
    for line in part.lines:
        pen.line(line, 0.5, style=(3, 1.6), z=3.6)
    if part.centre_line is not None:
        pen.line(part.centre_line, 0.6, style=(7, 2, 1.5, 2), z=3.6)
    for notch in part.notches:
        pen.line(notch, 1.3, z=4.1)
    for x, y in part.drills:
        _drill(pen, x, y)
    if part.arrow is not None:
        _arrow(pen, part.arrow)
    if part.bracket is not None:
        line, heads = part.bracket
        pen.line(line, 0.8, z=4.1)
        for head in heads:
            pen.area(head, INK, 4.2)
    if part.leader is not None:
        pen.line(part.leader, 0.4, z=4.0)
    if part.label is not None:
        for number, (line_, x, y) in enumerate(part.label.baselines()):
            share = "" if part.main else f"-on-{part.shape.bounds[0]:.0f}"
            pen.words(
                x,
                y,
                line_.text,
                part.label.size,
                bold=line_.bold,
                angle=part.label.angle,
                up="baseline",
                gid=f"label-{part.order}{share}-{number}",
            )


def _drill(pen: Pen, x: float, y: float) -> None:
    from matplotlib.patches import Circle

    r = 0.7 * pen.grow
    pen.axes.add_artist(Circle((x, y), r, fill=False, edgecolor=INK, linewidth=0.6 * pen.grow, zorder=4.1))
    pen.line([(x - 1.6 * r, y), (x + 1.6 * r, y)], 0.5, z=4.1)
    pen.line([(x, y - 1.6 * r), (x, y + 1.6 * r)], 0.5, z=4.1)


def _arrow(pen: Pen, segment: tuple[tuple[float, float], tuple[float, float]]) -> None:
    import math

    from marker.report.marks import arrow_head, stretch

    long = math.dist(*segment)
    size = min(2.0 * pen.grow, 0.45 * long)
    if long > size:
        pen.line(stretch(segment, 0.0, 1.0 - 0.8 * size / long), 0.8, z=4.1)
    pen.area(arrow_head(segment, size), INK, 4.2)


def _key(pen: Pen, page: Composition) -> None:
    g = pen.grow
    x0, y0, width, height = page.sheet.key
    top = y0 + height
    for x, depth, entry, text in key_lines(page.key, width / g, column=page.sheet.beside):
        at, y = x0 + x * g, top - (depth + KEY_SIZE * POINT * 0.75) * g
        if entry.number and entry.symbol:
            pen.level(at, y, entry.symbol, KEY_SIZE, bold=True, across="left")
        elif entry.symbol:
            _symbol(pen, entry, at, y)
        pen.level(at + key_lead(entry) * g, y, text, KEY_SIZE, across="left")


def _symbol(pen: Pen, entry: KeyEntry, x: float, y: float) -> None:
    import shapely

    from marker.report.marks import fold_bracket, hatching

    g = pen.grow
    box = shapely.box(x, y - 1.2 * g, x + 8 * g, y + 1.2 * g)
    fills = {"one layer": ONE_LAYER, "two layers": TWO_LAYERS, "selvage": SELVAGE}
    ends = [(x, y), (x + 8 * g, y)]
    if entry.symbol == "arrow":
        _arrow(pen, (ends[0], ends[1]))
    elif entry.symbol in ("hatched", "plain"):
        pen.shape(box, TINTS[0], 3.0)
        if entry.symbol == "hatched":
            pen.lines(hatching(box, 2.0, 45.0), 0.45, HATCH, 3.2)
        pen.line(list(box.exterior.coords), 0.95)
    elif entry.symbol in fills:
        pen.shape(box, fills[entry.symbol], 3.0)
    elif entry.symbol == "flaw":
        _flaw(pen, box)
    elif entry.symbol == "bracket":
        found = fold_bracket(((x + 8 * g, y + 1.0 * g), (x, y + 1.0 * g)), box)
        pen.line([(x, y + 1.2 * g), (x + 8 * g, y + 1.2 * g)], 2.0)
        if found is not None:
            pen.line(found[0], 0.8)
            for head in found[1]:
                pen.area(head, INK, 4.2)
    elif entry.symbol == "word":
        pen.level(x, y, "line 1", KEY_SIZE, across="left")
    elif entry.symbol == "centre":
        pen.line(ends, 0.6, style=(7, 2, 1.5, 2))
    elif entry.symbol == "line":
        pen.line(ends, 0.5, style=(3, 1.6))
    elif entry.symbol == "notch":
        pen.line([(x + g, y + 1.2 * g), (x + 7 * g, y + 1.2 * g)], 0.95)
        pen.line([(x + 4 * g, y + 1.2 * g), (x + 4 * g, y - 0.6 * g)], 1.3)
    elif entry.symbol == "drill":
        _drill(pen, x + 4 * g, y)
