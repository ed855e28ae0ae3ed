"""Each piece of a pattern once, in true size: on sheets of paper to stick together, or on a plotter's roll.

A piece that fits a sheet is never divided; several small ones share one. Larger pieces have sheets of their
own, turned where that takes fewer. Drawn and cut into sheets like a lay in true size.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import get_args

import shapely

from marker.model.pattern import Pattern
from marker.model.piece import Piece
from marker.report.chart import title
from marker.report.console import size_words
from marker.report.full_size import ROLL_MARGIN, FullSize, rolled, sheets_of, tiled
from marker.report.measure import System, position, position_unit
from marker.report.measured import measure
from marker.report.piece_places import ROLL, around, grid_box, on_roll, on_sheets
from marker.report.piece_sheet import chosen, usual_allowance
from marker.report.pieces import in_words
from marker.report.plane import Plane, Shown, draw_piece, wordings
from marker.report.sheet_canvas import Item
from marker.report.tiles import FOOT, PAPERS, Grid, PaperName

MOST_TOLD = 12
"""Pieces of which the first page tells what they are too small to say themselves."""


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
    blocks = on_roll(pieces) if paper == "roll" else on_sheets(pieces, PAPERS[paper])
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
        around([tuple(boxes), *map(grid_box, grids)]),
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
    x0, y0, x1, y1 = grid_box(grid)
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
