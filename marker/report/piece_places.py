"""Where pieces lie on paper: which share a sheet, which have sheets of their own, what is on a roll.

A piece that fits a sheet is never divided. Pieces may lie on their sides: paper has no grain.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import shapely

from marker.model.piece import Notch, Piece, Point
from marker.model.ring import extent
from marker.report.full_size import ROLL_MARGIN, ROLL_OVERLAP, ROLL_ROOM, ROLL_SPILL
from marker.report.tiles import FOOT, Grid, Paper, even_joins, needed

PAD = 1.0
"""Millimetres round a piece that its sheet must show, so that no line is cut."""
GAP = 8.0
"""Millimetres between pieces that share a sheet."""
APART = 60.0
"""Millimetres between the sheets of different pieces, on the plane that the map shows."""
ROLL = 914.4
"""Millimetres a roll of plotter paper is wide: 36 in. Common practice, no source."""

Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class Block:
    """Pieces and the grid of the sheets they are on, somewhere on a plane."""

    pieces: Sequence[Piece]
    grid: Grid

    def moved(self, dx: float, dy: float, first_row: int) -> Block:
        xs, ys = tuple(x + dx for x in self.grid.xs), tuple(y + dy for y in self.grid.ys)
        grid = replace(self.grid, xs=xs, ys=ys, first_row=first_row)
        return Block([_shifted(piece, dx, dy) for piece in self.pieces], grid)


def on_sheets(pieces: Sequence[Piece], paper: Paper) -> list[Block]:
    """A block for each piece that needs several sheets, for strips side by side, for each shared sheet."""
    spill = paper.overlap / 2
    room = (paper.room[0] - 2 * PAD, paper.room[1] - 2 * PAD)
    blocks: list[Block] = []
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
        blocks.append(Block(_hung(page), Grid((spill, right), (-spill, foot), spill)))
    return _arranged(blocks)


def _fits(piece: Piece, room: tuple[float, float]) -> bool:
    w, h = _extent(piece)
    return w <= room[0] and h <= room[1]


def _hung(page: Sequence[tuple[Piece, Point]]) -> list[Piece]:
    """The pieces of a page in their places below and right of the origin, a little way off."""
    return [_moved_to(piece, (x + PAD, -y - PAD - _extent(piece)[1])) for piece, (x, y) in page]


def on_roll(pieces: Sequence[Piece]) -> list[Block]:
    """The pieces in columns across a roll, a block for each page; a piece too long for one has its own."""
    room = ROLL - 2 * ROLL_MARGIN - FOOT - 2 * PAD
    blocks: list[Block] = []
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
        x0, y0, x1, y1 = around([_box(piece) for piece in inside])
        grid = Grid((x0 - PAD, x1 + PAD), (y1 + PAD, y0 - PAD), ROLL_SPILL)
        blocks.append(Block(inside, grid))
    return _arranged(blocks)


def _long(piece: Piece, w: float, h: float) -> Block:
    xs, ys = even_joins(0.0, w, ROLL_ROOM[0]), even_joins(0.0, h, ROLL_ROOM[1])
    several = len(xs) > 2 or len(ys) > 2
    grid = Grid(tuple(xs), tuple(-y for y in ys), ROLL_OVERLAP / 2 if several else ROLL_SPILL)
    return Block([_moved_to(piece, (0.0, -h))], grid)


def _own_sheets(pieces: Sequence[Piece], paper: Paper) -> Block:
    """Sheets for pieces that one does not hold, as they lie to each other.

    The outermost show a strip beyond their joins, which the pieces may reach into.
    """
    left, bottom, right, top = around([_box(piece) for piece in pieces])
    spill = paper.overlap / 2
    xs = even_joins(left - PAD + spill, max(right + PAD - spill, left + spill), paper.step[0])
    ys = even_joins(spill - PAD - top, max(PAD - spill - bottom, spill - top), paper.step[1])
    return Block(pieces, Grid(tuple(xs), tuple(-y for y in ys), spill))


def _sheet_count(block: Block) -> int:
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


def _arranged(blocks: Sequence[Block]) -> list[Block]:
    """The blocks side by side in rows, well apart, their sheets named one after the other."""
    boxes = [grid_box(block.grid) for block in blocks]
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


def grid_box(grid: Grid) -> Box:
    return grid.xs[0], grid.ys[-1], grid.xs[-1], grid.ys[0]


def _box(piece: Piece) -> Box:
    xs, ys = [x for x, _ in piece.outline], [y for _, y in piece.outline]
    return min(xs), min(ys), max(xs), max(ys)


def _extent(piece: Piece) -> tuple[float, float]:
    return extent(piece.outline)


def around(boxes: Sequence[Box]) -> Box:
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
