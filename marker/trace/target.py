"""The target sheet: what is printed, laid beside the paper pieces and found again in the photograph.

A sheet carries a ChArUco board (a chessboard with a square marker in each white square; Garrido-Jurado et
al. 2014 for the markers), the same 180 mm x 240 mm board on A4 and on US Letter. The markers differ by
paper and by number, so a sheet found in a picture says which one it is, and several can lie in one picture.
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from marker.errors import InputError
from marker.trace import opencv

Paper = Literal["a4", "letter"]
Array = npt.NDArray[np.float64]

PAPERS: dict[Paper, tuple[float, float]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""Width and height in millimetres (ISO 216; ANSI/ASME Y14.1)."""
MOST_SHEETS = 4
"""Different sheets of one paper."""
COLUMNS, ROWS = 6, 8
SQUARE = 30.0
MARKER = 22.0
BOARD = (COLUMNS * SQUARE, ROWS * SQUARE)
"""Width and height of the chequered board in millimetres."""
TOP = 10.0
"""Millimetres from the upper edge of the paper to the board."""
MARKERS_A_SHEET = COLUMNS * ROWS // 2
CELLS = 6
"""Cells along a marker: four of code in a black rim of one."""


@dataclass(frozen=True)
class Sheet:
    """One of the printed sheets. ``number`` counts from 1."""

    paper: Paper
    number: int

    @property
    def ids(self) -> range:
        """The numbers of its markers in the dictionary."""
        first = (list(PAPERS).index(self.paper) * MOST_SHEETS + self.number - 1) * MARKERS_A_SHEET
        return range(first, first + MARKERS_A_SHEET)

    @property
    def edges(self) -> Array:
        """Corners of the paper, shape (4, 2): millimetres from the upper left corner of the board, y down."""
        width, height = PAPERS[self.paper]
        left = -(width - BOARD[0]) / 2
        return np.array(
            [
                (left, -TOP),
                (left + width, -TOP),
                (left + width, height - TOP),
                (left, height - TOP),
            ]
        )


def all_sheets() -> list[Sheet]:
    """Every sheet that can be printed."""
    return [Sheet(paper, number) for paper in PAPERS for number in range(1, MOST_SHEETS + 1)]


def dictionary() -> Any:
    """The OpenCV marker dictionary of all sheets."""
    cv2 = opencv()
    return cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_250)


def board(sheet: Sheet) -> Any:
    """The OpenCV board of a sheet, in millimetres."""
    cv2 = opencv()
    return cv2.aruco.CharucoBoard((COLUMNS, ROWS), SQUARE, MARKER, dictionary(), np.array(sheet.ids))


def black_boxes(sheet: Sheet) -> list[tuple[float, float, float, float]]:
    """The black parts as (left, top, width, height) in millimetres from the upper left of the board, y down.

    Cells beside each other in a row are one box, so that no hairlines show between them.
    """
    grid = board(sheet)
    corners = [np.asarray(points, dtype=float)[:, :2] for points in grid.getObjPoints()]
    whites = {(int(points[0, 0] // SQUARE), int(points[0, 1] // SQUARE)) for points in corners}
    boxes = [
        (column * SQUARE, row * SQUARE, SQUARE, SQUARE)
        for row in range(ROWS)
        for column in range(COLUMNS)
        if (column, row) not in whites
    ]
    cell = MARKER / CELLS
    for number, points in zip(sheet.ids, corners, strict=True):
        left, top = points.min(axis=0)
        bits = dictionary().generateImageMarker(number, CELLS, borderBits=1) < 128
        for row in range(CELLS):
            column = 0
            while column < CELLS:
                end = column
                while end < CELLS and bits[row, end]:
                    end += 1
                if end > column:
                    boxes.append((left + column * cell, top + row * cell, (end - column) * cell, cell))
                column = end + 1
    return boxes


def target_pdf(paper: Paper, sheets: int = 1) -> bytes:
    """The target sheets as a vector PDF, one page each, true to size when printed at 100 %.

    Raises InputError for more sheets than there are.
    """
    if not 1 <= sheets <= MOST_SHEETS:
        raise InputError(f"--sheets {sheets}: there are sheets 1 to {MOST_SHEETS}; ask for as many or fewer.")
    import matplotlib
    from matplotlib.backends.backend_pdf import FigureCanvasPdf, PdfPages

    out = io.BytesIO()
    # Type 42 keeps words searchable; no creation date, so that the same sheet is the same file.
    with (
        matplotlib.rc_context({"pdf.fonttype": 42, "font.family": "DejaVu Sans"}),
        PdfPages(out, metadata={"CreationDate": None, "Title": "Target sheet"}) as pages,
    ):
        for number in range(1, sheets + 1):
            figure = _page(Sheet(paper, number), sheets)
            FigureCanvasPdf(figure)
            pages.savefig(figure)
    return out.getvalue()


def _page(sheet: Sheet, sheets: int) -> Any:
    """One page as a matplotlib figure whose axes count millimetres from the upper left corner, y down."""
    from matplotlib.figure import Figure
    from matplotlib.patches import Rectangle

    width, height = PAPERS[sheet.paper]
    figure = Figure(figsize=(width / 25.4, height / 25.4))
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set_xlim(0, width)
    axes.set_ylim(height, 0)
    axes.set_axis_off()
    left = (width - BOARD[0]) / 2
    for x, y, wide, high in black_boxes(sheet):
        axes.add_patch(Rectangle((left + x, TOP + y), wide, high, facecolor="black", linewidth=0))
    _rulers(axes, left, TOP + BOARD[1] + 5.0)
    words_left = left + 112
    top = TOP + BOARD[1] + 3.5
    of = f" of {sheets}" if sheets > 1 else ""
    name = {"a4": "A4", "letter": "Letter"}[sheet.paper]
    axes.text(
        words_left,
        top,
        f"Target sheet {sheet.number}{of} ({name}): print at 100 %",
        fontsize=7,
        va="top",
        weight="bold",
    )
    axes.text(
        words_left,
        top + 4,
        "no “fit to page”. Check the rulers; the chequered\n"
        "board measures 180 mm × 240 mm. Lay it flat beside\n"
        "the paper piece on a plain floor, not on or under it,\n"
        "and photograph both from straight above.",
        fontsize=6,
        va="top",
        linespacing=1.15,
    )
    return figure


def _rulers(axes: Any, left: float, top: float) -> None:
    """A ruler of 100 mm and one of 4 in below it, both from ``left``."""
    for y, length, step, long_every, label in (
        (top, 100.0, 1.0, 10, "100 mm"),
        (top + 8.5, 101.6, 25.4 / 8, 8, "4 in"),
    ):
        axes.plot([left, left + length], [y, y], color="black", linewidth=0.5, solid_capstyle="butt")
        for i in range(round(length / step) + 1):
            tick = 3.5 if i % long_every == 0 else 2.2 if i % (long_every // 2) == 0 else 1.3
            x = left + i * step
            axes.plot([x, x], [y, y + tick], color="black", linewidth=0.3, solid_capstyle="butt")
        axes.text(left + length + 1.2, y + 0.2, label, fontsize=6.5, va="top")
