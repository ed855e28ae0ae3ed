"""Pictures of a lay: the cloth to scale, every piece labelled, readable in grey."""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from typing import Any, Literal

from marker.model.fabric import Print
from marker.model.job import Job
from marker.model.layout import MaterialLayout
from marker.report.cloths import answer_words, cloth_words, missing_words
from marker.report.compose import (
    FINEST,
    KEY_SIZE,
    Composition,
    Cover,
    KeyEntry,
    Part,
    compose,
    inner_words,
    key_lead,
    key_lines,
)
from marker.report.console import capital, size_words
from marker.report.design import middles
from marker.report.flat import shift
from marker.report.ground import (
    LAYERS,
    Edge,
    Stretch,
    fold_across,
    inner_edges,
    overhang,
    span,
    spread_of,
)
from marker.report.labels import FONT, POINT, Label, text_width, unknown_glyphs_untold
from marker.report.measure import length, width_text
from marker.report.oneway import one_way_by, tops_point
from marker.report.page import EDGE, WORDS, Row, Sheet, shown_stretches

Format = Literal["png", "svg", "pdf"]

INK = "#1a1a1a"
HATCH = "#6a6a6a"
ONE_LAYER = "#d6d2c9"
TWO_LAYERS = "#bfbaaf"
SELVAGE = "#8f897c"
TINTS = ("#fffdf2", "#dcebf7", "#fbe3c8", "#cfe6d8", "#efdcf0", "#f6f0b8", "#cfe0f1", "#f8dacb")
"""Fills apart in lightness as well as in hue; all light enough for dark words."""

PRINT = "#1f3d70"
PRINT_SHARE = 0.16
"""The ink of a print, and how much of it lies over cloth and pieces: faint, but plain in grey as well."""
BORDER_SHARE = 0.12

LEVEL = (1.0, 1.2)
"""Dot and gap, in points, of the line at which a print has to meet."""

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
    if fmt not in ("png", "svg", "pdf"):
        raise ValueError(f"no such picture format: {fmt}")
    return figure_bytes(lambda: draw(material, job), fmt)


def figure_bytes(drawn: Callable[[], Any], fmt: Format) -> bytes:
    """A figure as a file; ``drawn`` makes it. The same figure gives the same bytes."""
    import matplotlib

    metadata: dict[str, dict[str, Any]] = {
        "png": {"Software": None},
        "svg": {"Date": None, "Creator": None},
        "pdf": {"CreationDate": None, "Creator": None, "Producer": None},
    }
    out = io.BytesIO()
    with matplotlib.rc_context(_STYLE), unknown_glyphs_untold():
        drawn().savefig(out, format=fmt, dpi=DPI, metadata=metadata[fmt])
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


def pages_pdf(figures: Sequence[Any], title: str) -> bytes:
    """Figures as one PDF file with a page each. The same figures give the same bytes."""
    import matplotlib
    from matplotlib.backends.backend_pdf import PdfPages

    with matplotlib.rc_context(_STYLE), unknown_glyphs_untold():
        out = io.BytesIO()
        known: dict[str, Any] = {"CreationDate": None, "Creator": None, "Producer": None, "Title": title}
        with PdfPages(out, metadata=known) as pages:
            for figure in figures:
                pages.savefig(figure)
        return out.getvalue()


def ink(pen: Pen, page: Composition, material: MaterialLayout, job: Job) -> None:
    """Draw a composition: cloth, rulers, pieces and key, all but the heading."""
    sheet, material = page.sheet, page.material
    design = job.fabrics[material.material].print
    for index, row in enumerate(sheet.rows):
        _cloth(pen, row, material)
        _rulers(pen, row, job.fabrics[material.material].system)
        if design is not None:
            _repeats(pen, row, material, design)
        _edge_words(pen, sheet, index, material, job)
    doubled = any(cover.kind == "doubled" for cover in page.covers)
    for cover in page.covers:
        _cover(pen, cover, doubled)
    for shape in page.flaws:
        _flaw(pen, shape, page.flaw_words)
    for label in page.flaw_words:
        for line, x, y in label.baselines():
            pen.words(x, y, line.text, label.size, bold=line.bold, angle=label.angle, up="baseline")
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

    def shape(self, shape: Any, fill: str, z: float, share: float = 1.0, gid: str | None = None) -> None:
        """A shapely polygon, holes left open; ``share`` of the fill covers what lies below."""
        from matplotlib.patches import PathPatch
        from matplotlib.path import Path

        rings = [shape.exterior, *shape.interiors]
        path = Path.make_compound_path(*(Path(list(ring.coords), closed=True) for ring in rings))
        alpha = share if share < 1.0 else None
        patch = PathPatch(path, facecolor=fill, edgecolor="none", zorder=z, alpha=alpha, gid=gid)
        self.axes.add_artist(patch)

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
    buy = answer_words(material, fabric)
    pen.level(right, top - 3.2 * g, buy, 17, bold=True, across="right")
    view = f", view {job.view}" if job.view else ""
    many = f", {job.quantity} garments" if job.quantity > 1 else ""
    name = f"{capital(material.material)}: {job.pattern}, {size_words(job.size)}{view}{many}"
    room = right - left - text_width(buy, 17 * g, True) - 8 * g
    pen.level(left, top - 3.2 * g, *_shrunk(name, 13, room, g, True), bold=True, across="left")
    used = length(material.length, fabric.system)
    second = (
        f"{cloth_words(material, fabric)}. {capital(material.lay)}: {used} used, "
        f"waste {material.waste_percent:.1f} %."
    )
    scale = f"scale 1:{1 / sheet.scale:.1f}"
    room = right - left - text_width(scale, 8 * g) - 6 * g
    pen.level(left, top - 9.6 * g, *_shrunk(second, 9, room, g, False), across="left")
    pen.level(right, top - 9.6 * g, scale, 8, across="right")
    words = spread_of(material, fabric.system)
    third = f"Spread: {words}." if words != material.lay else ""
    if any(p.mirrored for p in material.placements):
        third += " Hatched pieces lie face down."
    if material.missing:
        third += f" No room for {missing_words(material)}."
    if third:
        pen.level(left, top - 14.4 * g, *_shrunk(third, 8, right - left, g, False), across="left")


def _shrunk(text: str, size: float, room: float, grow: float, bold: bool) -> tuple[str, float]:
    """The text with the largest size up to ``size`` at which it takes no more than ``room``."""
    takes = text_width(text, size * grow, bold)
    return text, size if takes <= room else size * room / takes


def _cover(pen: Pen, cover: Cover, doubled: bool) -> None:
    """A remnant below its pieces, and a print over cloth and pieces, so that it runs on under them."""
    if cover.kind in ("cloth", "doubled"):
        pen.shape(cover.shape, TWO_LAYERS if cover.kind == "doubled" else ONE_LAYER, 1.1, gid=cover.name)
        # Where one layer of a folded remnant ends inside the other is of no matter to the outline.
        style: Any = (3, 1.5) if cover.kind == "doubled" and doubled else "-"
        for ring in (cover.shape.exterior, *cover.shape.interiors):
            pen.line(list(ring.coords), 0.9, style=style, z=2.0)
    elif cover.kind == "border":
        pen.shape(cover.shape, PRINT, 3.05, BORDER_SHARE, cover.name)
        x0, y0, x1, y1 = cover.shape.bounds
        for share in (0.12, 0.88):
            y = y0 + share * (y1 - y0)
            pen.line([(x0, y), (x1, y)], 0.8, PRINT, (4, 1.5), z=3.06)
    else:
        pen.shape(cover.shape, PRINT, 3.05, PRINT_SHARE, cover.name)


def _repeats(pen: Pen, row: Row, material: MaterialLayout, design: Print) -> None:
    """Triangles on the rulers at the middles of bars or motifs, where they are far enough apart."""
    g = pen.grow
    y, x = row.bottom - WORDS * g, row.left - 5.2 * g
    half, high = 0.55 * g, 0.9 * g
    for stretch in shown_stretches(material, row):
        x0, x1 = max(stretch.start, row.start), min(stretch.end, row.end)
        dx, dy = shift(material, stretch.bands[0])
        if design.along is not None and design.along * row.scale >= max(2.0 * g, FINEST):
            for _, at in middles(design.start[0] - dx, design.along, x0, x1):
                tip = row.x(at)
                pen.area([(tip, y), (tip - half, y + high), (tip + half, y + high)], INK, 4.0)
        if stretch.start > row.start + 1e-6:
            continue
        if design.across is not None and design.across * row.scale >= max(2.0 * g, FINEST):
            for _, at in middles(design.start[1] - dy, design.across, 0.0, row.height):
                tip = row.y(at)
                pen.area([(x, tip), (x + high, tip - half), (x + high, tip + half)], INK, 4.0)


def _cloth(pen: Pen, row: Row, material: MaterialLayout) -> None:
    for stretch in shown_stretches(material, row):
        x0, x1 = row.x(max(stretch.start, row.start)), row.x(min(stretch.end, row.end))
        low, high = row.y(stretch.low.y), row.y(stretch.high.y)
        if not material.cloth:
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
            elif not material.cloth:
                pen.line([(x, low), (x, high)], 0.9, z=2.0)
    # A row that breaks off shows it with a torn-looking, dotted end.
    begin, end = span(material)
    for x, at in ((row.left, row.start), (row.right, row.end)):
        if begin + 1e-6 < at < end - 1e-6:
            pen.line([(x, row.bottom), (x, row.top)], 0.9, HATCH, (1, 2), z=2.0)


def _box(pen: Pen, x0: float, y0: float, x1: float, y1: float, fill: str, z: float) -> None:
    pen.area([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], fill, z)


def _edge(pen: Pen, edge: Edge, row: Row, x0: float, x1: float) -> None:
    if edge.name == "edge":
        return
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
            beyond = overhang(material)
            if beyond and edge.name == "selvage":
                other = width_text(abs(beyond), system)
                way = "beyond" if beyond > 0 else "short of"
                choices = [f"selvage; the other layer's lies {other} {way} it", "selvage"]
            if edge.name == "edge":
                choices = [f"remnant: {material.cloth}", ""] if edge is stretch.high else [""]
            text = next((t for t in choices if text_width(t, 7 * g) <= x1 - x0), None)
            if edge is stretch.high and not later:
                _one_way(pen, row, y, (x1 - x0 - text_width(text or "", 7 * g)) / 2, material, job)
            if text:
                pen.level((x0 + x1) / 2, y, text, 7, bold=edge.name == "fold" and text == word)
    left_word = "cut end" if abs(row.start - begin) < 1e-6 else "continued"
    if across is not None and abs(across - row.start) < 0.01:
        left_word = "fold"
    if material.cloth and left_word == "cut end":
        left_word = "left end"
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
    if material.cloth and right_word == "end of the lay":
        right_word = ""
    if across is not None and abs(across - begin) < 0.01 and abs(row.end - end) < 1e-6:
        right_word = "cut ends"
    if across is not None and abs(across - row.end) < 0.01:
        right_word = "fold"
    band = material.bands[last.bands[_tallest(material, last)]]
    if right_word and text_width(right_word, 7 * g) <= (band.y[1] - band.y[0]) * row.scale:
        pen.upright(row.right + 2.4 * g, row.y(sum(band.y) / 2), right_word, 7, bold=right_word == "fold")
    ys = {edge.y for edge in inner_edges(material, last)}
    for y, word in inner_words(material):
        if y in ys:
            pen.line([(row.right, row.y(y)), (row.right + 3.6 * g, row.y(y))], 0.5)
            pen.level(row.right + 4.2 * g, row.y(y), word, 6.5, across="left")


def _one_way(pen: Pen, row: Row, y: float, room: float, material: MaterialLayout, job: Job) -> None:
    """Above the beginning of a row of cloth with a nap, an arrow for the way that all tops point."""
    g = pen.grow
    way = tops_point(material, job.fabrics[material.material])
    word = one_way_by(job.fabrics[material.material])
    takes = text_width(word, 7 * g, True) + 1.2 * g
    if way is None or room < takes + 6.0 * g:
        return
    pen.level(row.left, y, word, 7, bold=True, across="left")
    ends = (row.left + takes, y), (row.left + takes + min(14.0 * g, room - takes - 2.0 * g), y)
    _arrow(pen, ends if way == "right" else ends[::-1])


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


def _flaw(pen: Pen, shape: Any, words: Sequence[Label] = ()) -> None:
    from marker.report.marks import hatching

    # Over the print: what is wrong with the cloth matters more.
    pen.shape(shape, "#ffffff", 3.1)
    free = shape
    for label in words:
        free = free.difference(label.box(0.3))
    for angle in (45.0, -45.0):
        pen.lines(hatching(free, 1.1, angle), 0.6, INK, 3.12)
    pen.line(list(shape.exterior.coords), 0.9, z=3.14)


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
    for level in part.levels:
        pen.line(level, 0.6, style=LEVEL, z=3.7)
    for at in part.meets:
        _meet(pen, at)
    for n, name in enumerate(part.names):
        for number, (word, x, y) in enumerate(name.baselines()):
            gid = f"meet-{part.order}-{part.shape.bounds[0]:.0f}-{n}-{number}"
            pen.words(x, y, word.text, name.size, angle=name.angle, up="baseline", gid=gid)
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


def _meet(pen: Pen, at: tuple[float, float]) -> None:
    """A place where the print has to meet: a diamond, point upon point with the line through it."""
    x, y, r = *at, 0.8 * pen.grow
    pen.area([(x - r, y), (x, y - r), (x + r, y), (x, y + r)], INK, 4.15)


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
    elif entry.symbol.startswith("one way"):
        _arrow(pen, (ends[0], ends[1]) if entry.symbol.endswith("right") else (ends[1], ends[0]))
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
    elif entry.symbol == "remnant":
        pen.shape(shapely.box(x, y - 1.2 * g, x + 5 * g, y + 1.2 * g), ONE_LAYER, 3.0)
        pen.line([(x + 5 * g, y - 1.2 * g), (x + 5 * g, y + 1.2 * g)], 0.9)
    elif entry.symbol in ("border", "print"):
        pen.shape(box, ONE_LAYER, 3.0)
        if entry.symbol == "border":
            pen.shape(box, PRINT, 3.05, BORDER_SHARE)
            pen.line([(x, y - 0.8 * g), (x + 8 * g, y - 0.8 * g)], 0.8, PRINT, (4, 1.5), z=3.06)
            pen.line([(x, y + 0.8 * g), (x + 8 * g, y + 0.8 * g)], 0.8, PRINT, (4, 1.5), z=3.06)
        else:
            for left in (1.0, 5.0):
                bar = shapely.box(x + left * g, y - 1.2 * g, x + (left + 2.0) * g, y + 1.2 * g)
                pen.shape(bar, PRINT, 3.05, PRINT_SHARE)
    elif entry.symbol == "level":
        pen.line(ends, 0.6, style=LEVEL)
        _meet(pen, (x + 4 * g, y))
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
