"""Several lays of one material below each other on one page, at one scale and from one line on."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from marker.model.job import Job
from marker.model.layout import MaterialLayout
from marker.report.ground import span, stretches
from marker.report.labels import text_width
from marker.report.page import (
    EDGE,
    LARGEST_SCALE,
    LEFT,
    PAGES,
    RIGHT,
    RULER,
    SMALLEST_SCALE,
    WORDS,
    Row,
    Sheet,
)

HEADING = 5.5
LINE = 4.6
TITLE = 11.0
GAP = 4.0
"""Millimetres on A4 for the name of each lay, each line about it, the page's title, and between lays."""

ENOUGH = 1 / 10
"""The next larger page is taken when the lays would be drawn smaller than this."""

TITLE_SIZE, ABOUT_SIZE = 10.0, 8.5
"""Points, on A4, of the words above each lay."""

TALLEST = 1.5
"""Height of a page over its width, at most, as long as that leaves the lays large enough."""


MOST = 12
"""Lays that one page can hold and still be looked at."""


@dataclass(frozen=True)
class Panel:
    """A lay, with a line in bold that names it and lines about it."""

    material: MaterialLayout
    job: Job
    title: str
    about: tuple[str, ...]


def side_by_side(panels: Sequence[Panel], title: str) -> Any:
    """A matplotlib Figure: each lay in one row, the cut ends one below the other. From one panel to MOST."""
    from marker.report.compose import compose_on, inner_words
    from marker.report.picture import blank_page, ink

    beside = max(
        (4.0 + text_width(word, 6.5) for panel in panels for _, word in inner_words(panel.material)),
        default=RIGHT,
    )
    width, height, grow, scale = _page(panels, beside)
    figure, pen = blank_page(width, height, grow)
    left, top = (EDGE + LEFT) * grow, height - EDGE * grow
    room = width - 2 * EDGE * grow
    scale_words = f"scale 1:{1 / scale:.1f}"
    pen.level(width - EDGE * grow, top - 3.0 * grow, scale_words, 8, across="right")
    _fitted(pen, EDGE * grow, top - 3.0 * grow, title, 13, room - text_width(scale_words, 12 * grow), True)
    top -= TITLE * grow
    for panel in panels:
        _fitted(pen, EDGE * grow, top - 2.0 * grow, panel.title, TITLE_SIZE, room, True)
        for number, line in enumerate(panel.about, start=1):
            _fitted(pen, EDGE * grow, top - (2.2 + number * LINE) * grow, line, ABOUT_SIZE, room, False)
        bottom = top - (_heading(panel) + WORDS) * grow - _across(panel) * scale
        start, end = span(panel.material)
        row = Row(start, end, _across(panel), left, bottom, scale)
        sheet = Sheet(width, height, scale, grow, (row,), (0.0, 0.0, width, 0.0), False)
        ink(pen, replace(compose_on(sheet, panel.material, panel.job), key=()), panel.material, panel.job)
        top = bottom - (WORDS + RULER + GAP) * grow
    return figure


def side_by_side_files(
    panels: Sequence[Panel], title: str, formats: Sequence[str] = ("png", "svg", "pdf")
) -> dict[str, bytes]:
    """The figure as files by format. The same lays give the same bytes."""
    import matplotlib

    from marker.report.labels import unknown_glyphs_untold
    from marker.report.picture import _STYLE, DPI

    metadata: dict[str, dict[str, Any]] = {
        "png": {"Software": None},
        "svg": {"Date": None, "Creator": None},
        "pdf": {"CreationDate": None, "Creator": None, "Producer": None},
    }
    files = {}
    with matplotlib.rc_context(_STYLE), unknown_glyphs_untold():
        figure = side_by_side(panels, title)
        for fmt in formats:
            out = io.BytesIO()
            figure.savefig(out, format=fmt, dpi=DPI, metadata=metadata[fmt])
            files[fmt] = out.getvalue()
    return files


def _heading(panel: Panel) -> float:
    return HEADING + len(panel.about) * LINE + 1.0


def _across(panel: Panel) -> float:
    return max(stretch.high.y for stretch in stretches(panel.material))


def _along(panel: Panel) -> float:
    start, end = span(panel.material)
    return end - start


def _page(panels: Sequence[Panel], beside: float) -> tuple[float, float, float, float]:
    """Width, height, growth of type, and scale: the smallest page that shows the lays large enough."""
    longest = max(map(_along, panels))
    tall = sum(map(_across, panels))
    for width, _ in PAGES:
        grow = (width / PAGES[0][0]) ** 0.5
        left_and_right = (2 * EDGE + LEFT + max(RIGHT, beside)) * grow
        around = 2 * EDGE + TITLE - GAP + len(panels) * (2 * WORDS + RULER + GAP)
        around = (around + sum(map(_heading, panels))) * grow
        scale = min((width - left_and_right) / longest, LARGEST_SCALE)
        if around + tall * scale > TALLEST * width:
            high = (TALLEST * width - around) / tall
            scale = min(scale, max(high, SMALLEST_SCALE))
        if scale >= ENOUGH:
            break
    words = [text_width(panel.title, TITLE_SIZE * grow, True) for panel in panels]
    words += [text_width(line, ABOUT_SIZE * grow) for panel in panels for line in panel.about]
    needed = max(left_and_right + longest * scale, 2 * EDGE * grow + max(words))
    return min(width, needed), around + tall * scale, grow, scale


def _fitted(pen: Any, x: float, y: float, text: str, size: float, room: float, bold: bool) -> None:
    """Words from ``x`` on, smaller where they would take more than ``room``."""
    takes = text_width(text, size * pen.grow, bold)
    pen.level(x, y, text, size if takes <= room else size * room / takes, bold=bold, across="left")
