"""Each piece of a pattern once, in true size: on sheets of paper to stick together, or on a plotter's roll.

A piece that fits a sheet is never divided; several small ones share one. Larger pieces have sheets of their
own, turned where that takes fewer. Drawn and cut into sheets like a lay in true size.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import get_args

import shapely

from marker.model.pattern import Pattern
from marker.model.piece import Notch, Piece, Point
from marker.model.ring import extent
from marker.report.chart import title
from marker.report.console import size_words
from marker.report.full_size import (
    ROLL_MARGIN,
    ROLL_OVERLAP,
    ROLL_ROOM,
    ROLL_SPILL,
    FullSize,
    rolled,
    sheets_of,
    tiled,
)
from marker.report.measure import System, position, position_unit
from marker.report.measured import measure
from marker.report.piece_sheet import chosen, usual_allowance
from marker.report.pieces import in_words
from marker.report.plane import Plane, Shown, draw_piece, wordings
from marker.report.sheet_canvas import Item
from marker.report.tiles import FOOT, PAPERS, Grid, Paper, PaperName, even_joins, needed

PAD = 1.0
"""Millimetres round a piece that its sheet must show, so that no line is cut."""
GAP = 8.0
"""Millimetres between pieces that share a sheet."""
APART = 60.0
"""Millimetres between the sheets of different pieces, on the plane that the map shows."""
ROLL = 914.4
"""Millimetres a roll of plotter paper is wide: 36 in. Common practice, no source."""

MOST_TOLD = 12
"""Pieces of which the first page tells what they are too small to say themselves."""

Box = tuple[float, float, float, float]


def pieces_full_size(pattern: Pattern, size: str | None, paper: PaperName) -> FullSize:
    """All pieces of one size in true size, guides too; a piece cut on fold as the half it is drawn as.

    ``size`` is needed for a pattern with several. ``paper``: "a4", "letter", "a0" for sheets after a page
    that says how, "roll" for a plotter. The same pieces give the same bytes. Raises InputError for a size
    the pattern does not have and ValueError for another paper.
    """
    if paper not in get_args(PaperName):
        raise ValueError(f"no such paper: {paper}")
    pieces, name, size = chosen(pattern, size)
    fabric = next(iter(pattern.fabrics.values()), None)
    system: System = fabric.system if fabric else "metric"
    blocks = _on_roll(pieces) if paper == "roll" else _on_sheets(pieces, PAPERS[paper])
    grids = [block.grid for block in blocks]
    items: list[Item] = []
    shown = tuple(
        _draw(items, piece, name, size, system, _joins(block.grid))
        for block in blocks
        for piece in block.pieces
    )
    boxes = shapely.bounds(shapely.MultiPolygon([s.shape for s in shown]))
    plane = Plane(
        f"{name}, {size_words(size)}: pattern pieces",
        (*_about(pieces), *_left_out(pieces, shown)),
        _around([tuple(boxes), *map(_grid_box, grids)]),
        tuple(items),
        shown,
        system,
    )
    if paper != "roll":
        return tiled(sheets_of(plane, PAPERS[paper], grids))
    return rolled(plane, grids, _roll_notes(plane, grids))


def _roll_notes(plane: Plane, grids: Sequence[Grid]) -> list[str]:
    notes = []
    if len(grids) > 1:
        notes.append(
            f"A page of a PDF file ends at 5.08 m (200 in), so the pieces are on {len(grids)} pages."
        )
    if any(grid.rows * grid.columns > 1 for grid in grids):
        notes.append("A piece is longer than a page can be; put its sheets together at the crosses.")
    high = max(grid.ys[0] - grid.ys[-1] for grid in grids) + 2 * ROLL_MARGIN + FOOT
    if high > ROLL + 0.5:
        wide = f"{position(high, plane.system)} {position_unit(plane.system)}"
        notes.append(f"A piece needs a roll of {wide}, wider than the usual 36 in (91.4 cm).")
    return notes


def _about(pieces: Sequence[Piece]) -> list[str]:
    """What is on the sheets, and what the lines mean that are on them."""
    count = f"{len(pieces)} pieces, each once" if len(pieces) > 1 else "One piece"
    lines = ["Heavy line: cut here. Arrow: lay it along the grain, its head to the top of the garment."]
    if any(piece.stitching for piece in pieces):
        lines.append("Short dashes: stitching line.")
    if any(piece.fold_edge for piece in pieces):
        lines.append("Bracket: place this edge on the fold; the other half is not drawn.")
    if any(piece.notches for piece in pieces):
        lines.append("Strokes in from the edge: notches.")
    if any(piece.drills for piece in pieces):
        lines.append("Crosses: drill points.")
    if any(piece.marks for piece in pieces):
        lines.append("Crosses with a name: places to mark.")
    if any(cut.region for piece in pieces for cut in piece.cuts):
        lines.append("Dashes and dots: a part that is cut by itself.")
    if any(piece.lines for piece in pieces):
        lines.append("Long dashes: lines to mark and not to cut.")
    return [f"{count}, in true size, as seen from the right side of the cloth.", " ".join(lines)]


def _joins(grid: Grid) -> list[shapely.Geometry]:
    """The strips along the joins of a grid that two sheets show."""
    x0, y0, x1, y1 = _grid_box(grid)
    s = grid.spill
    return [
        *(shapely.box(x - s, y0 - s, x + s, y1 + s) for x in grid.xs[1:-1]),
        *(shapely.box(x0 - s, y - s, x1 + s, y + s) for y in grid.ys[1:-1]),
    ]


def _draw(
    items: list[Item],
    piece: Piece,
    pattern: str,
    size: str,
    system: System,
    joins: Sequence[shapely.Geometry],
) -> Shown:
    shape = shapely.Polygon(piece.outline)
    heading = title(piece.number, piece.name)
    facts = _facts(piece)
    # On the paper it makes no difference which of the two lines was drawn.
    usual = usual_allowance(measure(replace(piece, included=False)))
    if piece.stitching is not None and usual:
        facts.append(f"seam allowance {position(usual, system)} {position_unit(system)} included")
    label = draw_piece(
        items,
        shape,
        grain=piece.grain,
        notches=piece.notches,
        drills=piece.drills,
        lines=piece.lines,
        fold=piece.fold_edge,
        middle=None,
        words=wordings(heading, pattern, size, facts),
        stitching=piece.stitching or (),
        regions={cut.region_name: cut.region for cut in piece.cuts if cut.region},
        places=piece.marks,
        fold_words="place on the fold",
        clear_of=joins,
    )
    return Shown(shape, piece.number, heading, label)


def _facts(piece: Piece) -> list[str]:
    """How often the piece is cut from what, and how it lies."""
    facts = [f"cut {in_words(cut, 1)} in {cut.material}" for cut in piece.cuts] or ["guide, not cut"]
    return [*facts, "on the bias"] if piece.bias else facts


def _left_out(pieces: Sequence[Piece], shown: Sequence[Shown]) -> list[str]:
    """What some pieces are too small to say themselves."""
    told = []
    drawn = {one.number: one for one in shown}
    for piece in pieces:
        one = drawn[piece.number]
        said = ", ".join(line.text for line in one.label.lines) if one.label else ""
        if not all(fact in said for fact in _facts(piece)):
            told.append(f"{one.name}, {', '.join(_facts(piece))}")
    if not told:
        return []
    more = f"; and {len(told) - MOST_TOLD} more" if len(told) > MOST_TOLD else ""
    return [f"Without room for it on the piece: {'; '.join(told[:MOST_TOLD])}{more}."]


def _on_sheets(pieces: Sequence[Piece], paper: Paper) -> list[_Block]:
    """A block for each piece that needs several sheets, for strips side by side, for each shared sheet."""
    spill = paper.overlap / 2
    room = (paper.room[0] - 2 * PAD, paper.room[1] - 2 * PAD)
    blocks: list[_Block] = []
    small: list[Piece] = []
    narrow: list[Piece] = []
    for piece in pieces:
        ways = (piece, _turned(piece))
        one = next((way for way in ways if _fits(way, room)), None)
        strip = next((way for way in ways if _extent(way)[0] <= room[0]), None)
        if one is not None:
            small.append(one)
        elif strip is not None:
            narrow.append(strip)
        else:
            blocks.append(min((_own_sheets([way], paper) for way in ways), key=_sheet_count))
    # Long narrow pieces side by side, one row to a column of sheets.
    for page in _shared(narrow, (room[0], 0.0)):
        blocks.append(_own_sheets(_hung(page), paper))
    for page in _shared(small, room):
        right, foot = paper.room[0] - spill, spill - paper.room[1]
        blocks.append(_Block(_hung(page), Grid((spill, right), (-spill, foot), spill)))
    return _arranged(blocks)


def _fits(piece: Piece, room: tuple[float, float]) -> bool:
    w, h = _extent(piece)
    return w <= room[0] and h <= room[1]


def _hung(page: Sequence[tuple[Piece, Point]]) -> list[Piece]:
    """The pieces of a page in their places below and right of the origin, a little way off."""
    return [_moved_to(piece, (x + PAD, -y - PAD - _extent(piece)[1])) for piece, (x, y) in page]


def _on_roll(pieces: Sequence[Piece]) -> list[_Block]:
    """The pieces in columns across a roll, a block for each page; a piece too long for one has its own."""
    room = ROLL - 2 * ROLL_MARGIN - FOOT - 2 * PAD
    blocks: list[_Block] = []
    small: list[Piece] = []
    for piece in pieces:
        ways = sorted((piece, _turned(piece)), key=lambda way: _extent(way)[1] > room)
        way = ways[0] if _extent(ways[0])[1] <= room else min(ways, key=lambda way: _extent(way)[1])
        w, h = _extent(way)
        if h <= room and w + 2 * PAD <= ROLL_ROOM[0]:
            small.append(way)
        else:
            blocks.append(_long(way, w, h))
    for page in _shared(small, (room, ROLL_ROOM[0] - 2 * PAD), across=lambda p: _extent(p)[::-1]):
        inside = _hung([(piece, (v, u)) for piece, (u, v) in page])
        x0, y0, x1, y1 = _around([_box(piece) for piece in inside])
        grid = Grid((x0 - PAD, x1 + PAD), (y1 + PAD, y0 - PAD), ROLL_SPILL)
        blocks.append(_Block(inside, grid))
    return _arranged(blocks)


def _long(piece: Piece, w: float, h: float) -> _Block:
    xs, ys = even_joins(0.0, w, ROLL_ROOM[0]), even_joins(0.0, h, ROLL_ROOM[1])
    several = len(xs) > 2 or len(ys) > 2
    grid = Grid(tuple(xs), tuple(-y for y in ys), ROLL_OVERLAP / 2 if several else ROLL_SPILL)
    return _Block([_moved_to(piece, (0.0, -h))], grid)


@dataclass(frozen=True)
class _Block:
    """Pieces and the grid of the sheets they are on, somewhere on a plane."""

    pieces: Sequence[Piece]
    grid: Grid

    def moved(self, dx: float, dy: float, first_row: int) -> _Block:
        xs, ys = tuple(x + dx for x in self.grid.xs), tuple(y + dy for y in self.grid.ys)
        grid = replace(self.grid, xs=xs, ys=ys, first_row=first_row)
        return _Block([_shifted(piece, dx, dy) for piece in self.pieces], grid)


def _own_sheets(pieces: Sequence[Piece], paper: Paper) -> _Block:
    """Sheets for pieces that one does not hold, as they lie to each other.

    The outermost show a strip beyond their joins, which the pieces may reach into.
    """
    left, bottom, right, top = _around([_box(piece) for piece in pieces])
    spill = paper.overlap / 2
    xs = even_joins(left - PAD + spill, max(right + PAD - spill, left + spill), paper.step[0])
    ys = even_joins(spill - PAD - top, max(PAD - spill - bottom, spill - top), paper.step[1])
    return _Block(pieces, Grid(tuple(xs), tuple(-y for y in ys), spill))


def _sheet_count(block: _Block) -> int:
    return len(needed(block.grid, [shapely.Polygon(piece.outline) for piece in block.pieces]))


def _shared(
    pieces: Sequence[Piece],
    room: tuple[float, float],
    across: Callable[[Piece], tuple[float, float]] | None = None,
) -> list[list[tuple[Piece, Point]]]:
    """Pieces in rows on as few pages as first fit finds, the deepest first: for each page its pieces, and
    how far along its row and how far down the page each of them begins.

    ``across`` gives a piece's extent along a row and its depth; if not given, its width and height.
    """
    size = across or _extent
    pages: list[list[_Row]] = []
    for piece in sorted(pieces, key=lambda piece: -size(piece)[1]):
        along, deep = size(piece)
        for page in pages:
            row = next((row for row in page if row.used + along <= room[0]), None)
            down = page[-1].down + page[-1].deep + GAP
            if row is None and down + deep <= room[1]:
                row = _Row(down, deep)
                page.append(row)
            if row is not None:
                break
        else:
            row = _Row(0.0, deep)
            pages.append([row])
        row.pieces.append((piece, (row.used, row.down)))
        row.used += along + GAP
    return [[placed for row in page for placed in row.pieces] for page in pages]


@dataclass
class _Row:
    """A row of a page, so far down and so deep; how much of its length is taken, and by which pieces."""

    down: float
    deep: float
    used: float = 0.0
    pieces: list[tuple[Piece, Point]] = field(default_factory=list)


def _arranged(blocks: Sequence[_Block]) -> list[_Block]:
    """The blocks side by side in rows, well apart, their sheets named one after the other."""
    boxes = [_grid_box(block.grid) for block in blocks]
    sizes = [(x1 - x0, y1 - y0) for x0, y0, x1, y1 in boxes]
    area = sum((w + APART) * (h + APART) for w, h in sizes)
    widest = max(1.3 * area**0.5, *(w for w, _ in sizes))
    x = y = tall = 0.0
    first_row = 0
    found = []
    for block, (w, h) in zip(blocks, sizes, strict=True):
        if x > 0 and x + w > widest:
            x, y, tall = 0.0, y - tall - APART, 0.0
        found.append(block.moved(x - block.grid.xs[0], y - block.grid.ys[0], first_row))
        first_row += block.grid.rows
        x, tall = x + w + APART, max(tall, h)
    return found


def _grid_box(grid: Grid) -> Box:
    return grid.xs[0], grid.ys[-1], grid.xs[-1], grid.ys[0]


def _box(piece: Piece) -> Box:
    xs, ys = [x for x, _ in piece.outline], [y for _, y in piece.outline]
    return min(xs), min(ys), max(xs), max(ys)


def _extent(piece: Piece) -> tuple[float, float]:
    return extent(piece.outline)


def _around(boxes: Sequence[Box]) -> Box:
    return (
        min(box[0] for box in boxes),
        min(box[1] for box in boxes),
        max(box[2] for box in boxes),
        max(box[3] for box in boxes),
    )


def _moved_to(piece: Piece, corner: Point) -> Piece:
    """The piece with the lower left corner of the box round it at ``corner``."""
    x, y, _, _ = _box(piece)
    return _shifted(piece, corner[0] - x, corner[1] - y)


def _shifted(piece: Piece, dx: float, dy: float) -> Piece:
    return _mapped(piece, lambda point: (point[0] + dx, point[1] + dy))


def _turned(piece: Piece) -> Piece:
    """A quarter turn to the left."""
    return _mapped(piece, lambda point: (-point[1], point[0]))


def _mapped(piece: Piece, at: Callable[[Point], Point]) -> Piece:
    """The piece under a movement of the plane."""

    def all_(points: Sequence[Point]) -> tuple[Point, ...]:
        return tuple(at(point) for point in points)

    def ends(line: tuple[Point, Point]) -> tuple[Point, Point]:
        return at(line[0]), at(line[1])

    def named(marks: Sequence[Notch]) -> tuple[Notch, ...]:
        return tuple(Notch(m.name, at(m.at), m.sewn and at(m.sewn)) for m in marks)

    return replace(
        piece,
        outline=all_(piece.outline),
        grain=ends(piece.grain),
        cuts=tuple(replace(cut, region=cut.region and all_(cut.region)) for cut in piece.cuts),
        stitching=piece.stitching and all_(piece.stitching),
        fold_edge=piece.fold_edge and ends(piece.fold_edge),
        notches=named(piece.notches),
        drills=all_(piece.drills),
        lines=tuple(all_(line) for line in piece.lines),
        marks=named(piece.marks),
        hem=piece.hem and ends(piece.hem),
    )
