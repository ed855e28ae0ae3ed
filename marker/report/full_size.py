"""Paper in true size: a lay on one long sheet for a plotter, or on sheets that are stuck together."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, get_args

import shapely

from marker.model.job import Job
from marker.model.layout import MaterialLayout
from marker.report.marks import areas_of
from marker.report.measure import length
from marker.report.page import breaks
from marker.report.plane import Plane, lay_plane
from marker.report.sheet_canvas import Item, Pages, Point, Stroke, Words, box_points, cross, wrapped
from marker.report.tiles import (
    A4,
    FOOT,
    LARGEST_PAGE,
    LETTER,
    PAPERS,
    Grid,
    Paper,
    PaperName,
    Tile,
    even_joins,
    grid_for,
    needed,
)

LEADER = 126.0
"""Millimetres before the lay on a plotter's sheet: what it is, and the test square."""

ROLL_MARGIN = 10.0
ROLL_OVERLAP = 20.0
ROLL_SPILL = 1.0
ROLL_ROOM = (
    LARGEST_PAGE - 2 * ROLL_MARGIN - LEADER - ROLL_OVERLAP,
    LARGEST_PAGE - 2 * ROLL_MARGIN - FOOT - ROLL_OVERLAP,
)
"""Millimetres of a plane that one page for a plotter can show, along and across."""

PALE = 0.5
"""Grey of everything that only helps to put the sheets together."""

CROSS = 4.0


@dataclass(frozen=True)
class FullSize:
    """A PDF file in true size, its number of pages, and what has to be said about it (sentences)."""

    pdf: bytes
    pages: int
    notes: tuple[str, ...]


def full_size(material: MaterialLayout, job: Job, paper: PaperName) -> FullSize:
    """The lay of one material in true size.

    ``paper`` "roll": one sheet as wide as the spread cloth and as long as the lay, split where a page
    would pass 5.08 m. "a4", "letter", "a0": sheets with an overlap to stick together, only those with
    a piece on them, after a page that says how. The same layout gives the same bytes. Raises
    ValueError for another paper.
    """
    if paper not in get_args(PaperName):
        raise ValueError(f"no such paper: {paper}")
    plane = lay_plane(material, job)
    if paper == "roll":
        grid, notes = _roll_grid(plane, material)
        return rolled(plane, (grid,), notes)
    papers = (PAPERS[paper], PAPERS[paper].turned)
    return tiled(min((sheets_of(plane, p, (grid_for(plane.extent, p),)) for p in papers), key=len))


def _roll_grid(plane: Plane, material: MaterialLayout) -> tuple[Grid, tuple[str, ...]]:
    """One page if a PDF file can hold it, else joins where the fewest pieces lie, and a note that says so."""
    left, bottom, right, top = plane.extent
    count = max(1, math.ceil((right - left) / ROLL_ROOM[0]))
    while True:
        xs = breaks(material, count) if count > 1 else [left, right]
        if max(b - a for a, b in pairwise(xs)) <= ROLL_ROOM[0]:
            break
        count += 1
    ys = [-y for y in even_joins(-top, -bottom, ROLL_ROOM[1])]
    if len(xs) == 2 and len(ys) == 2:
        return Grid(tuple(xs), tuple(ys), ROLL_SPILL), ()
    grid = Grid(tuple(xs), tuple(ys), ROLL_OVERLAP / 2)
    long, count = length(right - left, plane.system), len(needed(grid, [s.shape for s in plane.shown]))
    return grid, (
        f"The lay is {long} long and a page of a PDF file ends at 5.08 m (200 in), so it is split into "
        f"{count} sheets that overlap; put them together at the crosses.",
    )


def rolled(plane: Plane, grids: Sequence[Grid], notes: Sequence[str]) -> FullSize:
    """Pages for a plotter: one for each part of each grid, of the size it takes. Grids are not joined."""
    parts = [
        needed(grid, [s.shape for s in plane.shown]) if grid.rows * grid.columns > 1 else grid.tiles()
        for grid in grids
    ]
    count = sum(map(len, parts))
    pages = Pages(plane.title)
    for tiles in parts:
        for tile in tiles:
            first = pages.count == 0
            lead = LEADER if first else 0.0
            x0, y0, x1, y1 = tile.shown
            wide = x1 - x0 + lead + 2 * ROLL_MARGIN
            # A short sheet still has to hold the test square.
            tall = max(y1 - y0, LEADER if first else 0.0) + 2 * ROLL_MARGIN + FOOT
            pages.begin(wide, tall)
            at = (ROLL_MARGIN + lead - x0, tall - ROLL_MARGIN - y1)
            _sheet(pages, plane, tile, tiles, at, several=count > 1)
            _foot(pages, plane, tile, count, (ROLL_MARGIN, ROLL_MARGIN), wide - 2 * ROLL_MARGIN)
            if first:
                _leader(pages, plane, notes, tall)
    return FullSize(pages.finish(), pages.count, tuple(notes))


def _leader(pages: Pages, plane: Plane, notes: Sequence[str], tall: float) -> None:
    """What stands before the cut end: the test square at the foot, words above as far as they fit."""
    x, y = ROLL_MARGIN, ROLL_MARGIN + FOOT + 4.0
    _square(pages, plane.system, (x, y))
    side = _side(plane.system)[0]
    texts = [(plane.title, 13.0, True), *((text, 9.0, False) for text in plane.about)]
    texts += [(text, 9.0, True) for text in notes]
    at = tall - ROLL_MARGIN - 5.0
    for text, size, bold in texts:
        for line in wrapped(text, LEADER - 14.0, size, bold):
            if at < y + side + 8.0:
                return
            pages.draw(Words((x, at), line, size, bold, across="left"))
            at -= size * 0.48
        at -= 1.5


@dataclass(frozen=True)
class Sheets:
    """A plane on sheets of one paper. ``parts`` are the sheets of each grid; those of one are joined."""

    plane: Plane
    paper: Paper
    grids: tuple[Grid, ...]
    parts: tuple[tuple[Tile, ...], ...]

    @property
    def tiles(self) -> tuple[Tile, ...]:
        return tuple(tile for part in self.parts for tile in part)

    @property
    def joined(self) -> bool:
        return any(len(part) > 1 for part in self.parts)

    def __len__(self) -> int:
        return sum(map(len, self.parts))


def sheets_of(plane: Plane, paper: Paper, grids: Sequence[Grid]) -> Sheets:
    """The sheets of these grids that show anything."""
    shapes = [s.shape for s in plane.shown]
    return Sheets(plane, paper, tuple(grids), tuple(tuple(needed(grid, shapes)) for grid in grids))


def tiled(sheets: Sheets) -> FullSize:
    """Sheets to stick together, after a page that says how."""
    paper, plane = sheets.paper, sheets.plane
    pages = Pages(plane.title)
    _overview(pages, sheets)
    for part in sheets.parts:
        for tile in part:
            pages.begin(paper.width, paper.height)
            left, _, _, top = tile.shown
            at = (paper.margin - left, paper.height - paper.margin - top)
            _sheet(pages, plane, tile, part, at, several=len(sheets) > 1)
            foot = (paper.margin, paper.margin)
            _foot(pages, plane, tile, len(sheets), foot, paper.width - 2 * paper.margin)
    return FullSize(pages.finish(), pages.count, (_how_many(sheets),))


def _how_many(sheets: Sheets) -> str:
    count, name = len(sheets), sheets.paper.name
    if count == 1:
        return f"1 sheet of {name}, after a page with the test square."
    if not sheets.joined:
        return f"{count} sheets of {name}, none to be joined, after a page with the test square."
    return f"{count} sheets of {name} to put together, after a page that shows how."


def _sheet(
    pages: Pages, plane: Plane, tile: Tile, printed: Sequence[Tile], at: Point, *, several: bool
) -> None:
    """What a sheet shows of the plane, and the marks to join it to its neighbours."""
    left, bottom, right, top = tile.shown
    box = (left + at[0], bottom + at[1], right + at[0], top + at[1])
    items: list[Item] = []
    if several:
        wide, high = tile.right - tile.left, tile.top - tile.bottom
        size = min(96.0, 0.8 * wide / Words(at, tile.label, 1.0, bold=True).width, 2.0 * high)
        middle = ((tile.left + tile.right) / 2, (tile.bottom + tile.top) / 2 - size / 8)
        items.append(Words(middle, tile.label, size, bold=True, grey=0.9))
    items += plane.items_in(tile.shown)
    items += _names(plane, tile)
    items += _joins(plane, tile, {other.label for other in printed})
    pages.clipped(box, items, at)


def _names(plane: Plane, tile: Tile) -> list[Item]:
    """Small names for the parts of pieces whose label stands on another sheet."""
    here = shapely.box(*tile.shown)
    lines = [shapely.LineString(i.points) for i in plane.items if isinstance(i, Stroke) and len(i.points) > 1]
    own = shapely.box(tile.left, tile.bottom, tile.right, tile.top)
    items: list[Item] = []
    for shown in plane.shown_in(own):
        if shown.label is not None and here.covers(shown.label.box()):
            continue
        part = shown.shape.intersection(own)
        if shown.label is not None:
            part = part.difference(shown.label.box(3.0))
        areas = areas_of(part)
        if not areas or areas[0].area < 400.0:
            continue
        # A word is not struck through by a line where there is room beside it.
        crossed = shapely.union_all([line for line in lines if line.intersects(areas[0])]).buffer(2.0)
        clear = areas_of(areas[0].difference(crossed))
        if clear and clear[0].area >= 400.0:
            areas = clear
        circle = shapely.maximum_inscribed_circle(areas[0], tolerance=2.0)
        x, y = circle.coords[0]
        word = Words((x, y - 1.2), shown.name, 9.0, grey=PALE)
        if circle.length < 4.0:
            continue
        if word.width > 2 * circle.length:
            word = Words((x, y - 1.2), shown.number, 9.0, grey=PALE)
        items.append(word)
    return items


def _joins(plane: Plane, tile: Tile, printed: set[str]) -> list[Item]:
    """Lines, crosses and words at the sides where another sheet is stuck on."""
    items: list[Item] = []
    x0, y0, x1, y1 = tile.shown
    before = {
        "left": Tile(tile.row, tile.column - 1, 0, 0, 0, 0, 0),
        "right": Tile(tile.row, tile.column + 1, 0, 0, 0, 0, 0),
        "top": Tile(tile.row - 1, tile.column, 0, 0, 0, 0, 0),
        "bottom": Tile(tile.row + 1, tile.column, 0, 0, 0, 0, 0),
    }
    crosses: set[Point] = set()
    for side, other in before.items():
        if other.row < 0 or other.column < 0 or other.label not in printed:
            continue
        upright = side in ("left", "right")
        at: float = getattr(tile, side)
        ends = (y0, y1) if upright else (x0, x1)
        own = (tile.bottom, tile.top) if upright else (tile.left, tile.right)
        line = ((at, ends[0]), (at, ends[1])) if upright else ((ends[0], at), (ends[1], at))
        trimmed = side in ("left", "top")
        items.append(Stroke(line, 0.25, PALE, () if trimmed else (3.0, 2.0)))
        parts = max(2, round((own[1] - own[0]) / 300.0) * 2)
        for k in range(parts + 1):
            along = own[0] + k / parts * (own[1] - own[0])
            crosses.add((at, along) if upright else (along, at))
        text = f"cut here, then lay on {other.label}" if trimmed else f"{other.label} goes over this edge"
        # Trimmed sides carry their words inside the line, glued sides outside: there they get covered.
        for k in range(parts // 2):
            place = own[0] + (2 * k + 0.5) / parts * (own[1] - own[0])
            if upright:
                items.append(Words((at + 3.2, place), text, 6.5, angle=90.0, grey=PALE))
            else:
                items.append(Words((place, at - 3.2), text, 6.5, grey=PALE))
    for point in sorted(crosses):
        items += cross(point, min(CROSS, tile.spill - 0.5), 0.25)
    return items


def _foot(pages: Pages, plane: Plane, tile: Tile, count: int, at: Point, wide: float) -> None:
    """The sheet's name, how to print it, and a line to check its scale with."""
    x, y = at
    bar, word, ticks = _bar(plane.system)
    right = x + wide
    base = y + 2.0
    pages.draw(Stroke(((right - bar, base), (right, base)), 0.3))
    for k in range(ticks + 1):
        tick = right - bar + k * bar / ticks
        pages.draw(Stroke(((tick, base), (tick, base + 1.6)), 0.2))
    pages.draw(Words((right - bar - 2.0, base), word, 6.5, across="right"))
    room = wide - bar - 14.0
    label = Words((x, base), tile.label, 12.0, bold=True, across="left")
    if count > 1:
        pages.draw(label)
        x, room = x + label.width + 3.0, room - label.width - 3.0
    text = f"{plane.title}. Print at 100 %, not fitted to the page."
    size = min(7.5, 7.5 * room / Words(at, text, 7.5).width)
    pages.draw(Words((x, base), text, size, across="left"))


def _bar(system: str) -> tuple[float, str, int]:
    return (50.8, "2 in", 8) if system == "imperial" else (50.0, "50 mm", 5)


def _side(system: str) -> tuple[float, str]:
    return (101.6, "4 in") if system == "imperial" else (100.0, "100 mm")


def _square(pages: Pages, system: str, at: Point) -> None:
    """The test square, ``at`` its lower left corner, with a ruler along two sides."""
    side, word = _side(system)
    x, y = at
    pages.draw(Stroke(box_points(x, y, x + side, y + side), 0.25, closed=True))
    ticks = 16 if system == "imperial" else 20
    for k in range(1, ticks):
        d = k * side / ticks
        strong = k % (4 if system == "imperial" else 2) == 0
        reach = 3.0 if strong else 1.6
        pages.draw(
            Stroke(((x + d, y), (x + d, y + reach)), 0.18), Stroke(((x, y + d), (x + reach, y + d)), 0.18)
        )
    middle = x + side / 2
    pages.draw(
        Words((middle, y + side / 2 + 8.0), f"Test square: {word}", 14, bold=True),
        Words((middle, y + side / 2), "Measure both ways before you cut.", 9),
        Words((middle, y + side / 2 - 6.0), "Print at 100 % (actual size),", 9),
        Words((middle, y + side / 2 - 11.0), "not fitted to the page.", 9),
    )


def _overview(pages: Pages, sheets: Sheets) -> None:
    """The first page: how to print, how the sheets go together, and the test square."""
    plane, paper = sheets.plane, sheets.paper
    base = LETTER if paper.name == "Letter" else A4
    pages.begin(base.width, base.height)
    left, wide = base.margin, base.width - 2 * base.margin
    y = base.height - base.margin - 6.0
    for line in wrapped(plane.title, wide, 15, bold=True):
        pages.draw(Words((left, y), line, 15, bold=True, across="left"))
        y -= 7.0
    for text in plane.about:
        for line in wrapped(text, wide, 9):
            pages.draw(Words((left, y), line, 9, across="left"))
            y -= 4.4
    y -= 2.5
    steps = _steps(sheets)
    for number, text in enumerate(steps, start=1):
        pages.draw(Words((left, y), f"{number}.", 9, bold=True, across="left"))
        for line in wrapped(text, wide - 7.0, 9):
            pages.draw(Words((left + 6.0, y), line, 9, across="left"))
            y -= 4.4
        y -= 0.8
    side = _side(plane.system)[0]
    foot = base.margin
    _square(pages, plane.system, (left, foot))
    x = left + side + 8.0
    note = foot + side - 4.0
    for text in _beside(sheets):
        for line in wrapped(text, base.width - base.margin - x, 9):
            pages.draw(Words((x, note), line, 9, across="left"))
            note -= 4.6
        note -= 2.0
    _map(pages, sheets, (left, foot + side + 8.0, left + wide, y - 1.0))


def _steps(sheets: Sheets) -> list[str]:
    paper = sheets.paper
    lying = " landscape" if paper.width > paper.height else ""
    steps = [
        f"Print on {paper.name}{lying} at 100 % (actual size), not fitted to the page. "
        "Print this page first and measure the test square; print the others when it is right."
    ]
    if not sheets.joined:
        return steps
    joined = (
        "On every sheet cut along the solid pale line at the left and at the top, where there is one. "
        "Lay that edge on the dashed line of the sheet it names, so that the crosses meet, and tape it down."
    )
    order = "Join the sheets of a row first (A1, A2, ...), then the rows."
    both = any(grid.rows > 1 and grid.columns > 1 for grid in sheets.grids)
    return [*steps, joined, order] if both else [*steps, joined]


def _beside(sheets: Sheets) -> list[str]:
    tiles = sheets.tiles
    printed = {t.label for t in tiles}
    blank = [t.label for grid in sheets.grids for t in grid.tiles() if t.label not in printed]
    count = f"{len(tiles)} sheet{'s' if len(tiles) > 1 else ''} of {sheets.paper.name}"
    if len(tiles) == 1:
        texts = [f"{count} follows."]
    elif len(sheets.grids) == 1:
        (grid,) = sheets.grids
        rows = f"{grid.rows} row{'s' if grid.rows > 1 else ''}"
        texts = [f"{count} follow, in {rows} of up to {grid.columns}."]
    else:
        texts = [f"{count} follow."]
        if sheets.joined:
            texts.append("Those that touch on the map are joined; the others hold whole pieces.")
    if blank:
        texts.append(f"Blank ones are left out: {', '.join(blank)}.")
    texts.append("Each sheet has its name and a line to check its scale at its foot.")
    return texts


def _map(pages: Pages, sheets: Sheets, box: tuple[float, float, float, float]) -> None:
    """The whole plane small, with the sheets drawn over it."""
    plane, tiles = sheets.plane, sheets.tiles
    every = [tile for grid in sheets.grids for tile in grid.tiles()]
    x0, y0, x1, y1 = plane.extent
    scale = min((box[2] - box[0]) / (x1 - x0), (box[3] - box[1]) / (y1 - y0), 0.5)
    left = (box[0] + box[2] - (x1 - x0) * scale) / 2
    top = box[3]

    def there(x: float, y: float) -> Point:
        return left + (x - x0) * scale, top - (y1 - y) * scale

    printed = {tile.label for tile in tiles}
    for tile in every:
        corners = box_points(*there(tile.left, tile.bottom), *there(tile.right, tile.top))
        blank = tile.label not in printed
        size = min(11.0, (tile.right - tile.left) * scale, 1.4 * (tile.top - tile.bottom) * scale)
        if not blank:
            x, y = corners[3][0] + 1.0, corners[3][1] - 0.8 - 0.73 * size * 25.4 / 72
            pages.draw(Words((x, y), tile.label, size, bold=True, grey=0.6, across="left"))
    for shown in plane.shown:
        points = tuple(there(x, y) for x, y in shown.shape.exterior.coords[:-1])
        pages.draw(Stroke(points, 0.3, closed=True))
    for tile in every:
        corners = box_points(*there(tile.left, tile.bottom), *there(tile.right, tile.top))
        blank = tile.label not in printed
        pages.draw(Stroke(corners, 0.2, 0.4, (1.2, 1.2) if blank else (), closed=True))
    boxes = [shapely.box(tile.left, tile.bottom, tile.right, tile.top) for tile in every]
    names = [
        shapely.box(tile.left, tile.top - 6.0 / scale, tile.left + 8.0 / scale, tile.top) for tile in tiles
    ]
    taken = shapely.union_all([*(sheet.boundary.buffer(2.0 / scale) for sheet in boxes), *names])
    for shown in plane.shown:
        _small_number(pages, shown, taken, there, scale)


def _small_number(pages: Pages, shown: Any, taken: Any, there: Any, scale: float) -> None:
    """The number of a piece on the map, clear of the sheets' names and edges where it has room there."""
    free = areas_of(shown.shape.difference(taken))
    roomy = free and free[0].area >= (2.5 / scale) ** 2
    circle = shapely.maximum_inscribed_circle(free[0] if roomy else shown.shape, tolerance=5.0)
    x, y = there(*circle.coords[0])
    size = min(8.0, max(5.0, 2.6 * circle.length * scale))
    pages.draw(Words((x, y - 0.36 * size * 25.4 / 72), shown.number, size, bold=True))
