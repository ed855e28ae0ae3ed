"""PDF pages measured in millimetres, and the few kinds of ink that full-size sheets need."""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal

from marker.report.labels import text_width

Point = tuple[float, float]
Box = tuple[float, float, float, float]

UNIT = 72.0 / 25.4
"""PDF units in a millimetre."""


@dataclass(frozen=True)
class Stroke:
    """A line through ``points``; ``width`` in millimetres, ``grey`` from 0 (black) to 1."""

    points: tuple[Point, ...]
    width: float = 0.35
    grey: float = 0.0
    dash: tuple[float, ...] = ()
    closed: bool = False

    @property
    def bounds(self) -> Box:
        return _bounds(self.points, self.width)


@dataclass(frozen=True)
class Fill:
    """A filled polygon."""

    points: tuple[Point, ...]
    grey: float = 0.0

    @property
    def bounds(self) -> Box:
        return _bounds(self.points, 0.0)


@dataclass(frozen=True)
class Words:
    """A line of text on the baseline through ``at``; ``size`` in points, ``angle`` in degrees."""

    at: Point
    text: str
    size: float
    bold: bool = False
    angle: float = 0.0
    grey: float = 0.0
    across: Literal["left", "center", "right"] = "center"

    @property
    def width(self) -> float:
        return text_width(self.text, self.size, self.bold)

    @property
    def bounds(self) -> Box:
        reach = self.width + self.size
        return self.at[0] - reach, self.at[1] - reach, self.at[0] + reach, self.at[1] + reach


Item = Stroke | Fill | Words


def _bounds(points: Sequence[Point], more: float) -> Box:
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs) - more, min(ys) - more, max(xs) + more, max(ys) + more


class Pages:
    """A PDF file in the making. The same calls give the same bytes."""

    def __init__(self, title: str) -> None:
        from reportlab.pdfgen.canvas import Canvas

        self._out = io.BytesIO()
        self._canvas: Any = Canvas(self._out, invariant=1, pageCompression=1)
        self._canvas.setTitle(title)
        self._canvas.setAuthor("")
        self._canvas.setSubject("Print at 100 %, not fitted to the page")
        self._canvas.setCreator("marker")
        # ISO 32000-1, 12.2: asks the print dialogue for no scaling; a person may still override it.
        self._canvas.setViewerPreference("PrintScaling", "None")
        self.count = 0

    def begin(self, width: float, height: float) -> None:
        """A new page of that many millimetres."""
        if self.count:
            self._canvas.showPage()
        self.count += 1
        self._canvas.setPageSize((width * UNIT, height * UNIT))
        self._canvas.setLineJoin(1)

    def clipped(self, box: Box, items: Sequence[Item], shift: Point) -> None:
        """Draw ``items``, moved by ``shift``, as far as they lie in ``box`` (page millimetres)."""
        canvas = self._canvas
        canvas.saveState()
        path = canvas.beginPath()
        path.rect(box[0] * UNIT, box[1] * UNIT, (box[2] - box[0]) * UNIT, (box[3] - box[1]) * UNIT)
        canvas.clipPath(path, stroke=0, fill=0)
        for item in items:
            self._draw(item, shift)
        canvas.restoreState()

    def draw(self, *items: Item) -> None:
        """Draw in page millimetres, anywhere on the page."""
        for item in items:
            self._draw(item, (0.0, 0.0))

    def finish(self) -> bytes:
        self._canvas.save()
        return self._out.getvalue()

    def _draw(self, item: Item, shift: Point) -> None:
        canvas = self._canvas
        dx, dy = shift
        if isinstance(item, Words):
            regular, bold = _fonts()
            canvas.setFillGray(item.grey)
            canvas.saveState()
            canvas.translate((item.at[0] + dx) * UNIT, (item.at[1] + dy) * UNIT)
            if item.angle:
                canvas.rotate(item.angle)
            canvas.setFont(bold if item.bold else regular, item.size)
            back = {"left": 0.0, "center": 0.5, "right": 1.0}[item.across]
            canvas.drawString(-back * item.width * UNIT, 0, item.text)
            canvas.restoreState()
            return
        path = canvas.beginPath()
        (x, y), *rest = item.points
        path.moveTo((x + dx) * UNIT, (y + dy) * UNIT)
        for x, y in rest:
            path.lineTo((x + dx) * UNIT, (y + dy) * UNIT)
        if isinstance(item, Fill):
            path.close()
            canvas.setFillGray(item.grey)
            canvas.drawPath(path, stroke=0, fill=1)
            return
        if item.closed:
            path.close()
        canvas.setStrokeGray(item.grey)
        canvas.setLineWidth(item.width * UNIT)
        canvas.setDash([d * UNIT for d in item.dash] if item.dash else [])
        canvas.drawPath(path, stroke=1, fill=0)


@cache
def _fonts() -> tuple[str, str]:
    """The typeface the labels were measured in, registered to be embedded: regular and bold."""
    from matplotlib.font_manager import FontProperties, findfont
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    from marker.report.labels import FONT

    names = []
    for weight in ("normal", "bold"):
        name = f"{FONT} {weight}".replace(" ", "")
        file = findfont(FontProperties(family=FONT, weight=weight))
        pdfmetrics.registerFont(TTFont(name, file))
        names.append(name)
    return names[0], names[1]


def box_points(left: float, bottom: float, right: float, top: float) -> tuple[Point, ...]:
    return (left, bottom), (right, bottom), (right, top), (left, top)


def cross(at: Point, reach: float, grey: float = 0.0) -> list[Item]:
    """A registration cross: two hair lines and a small circle, to lay one sheet exactly on another."""
    x, y = at
    ring = tuple(
        (x + 0.5 * reach * math.cos(k * math.tau / 24), y + 0.5 * reach * math.sin(k * math.tau / 24))
        for k in range(24)
    )
    return [
        Stroke(((x - reach, y), (x + reach, y)), 0.18, grey),
        Stroke(((x, y - reach), (x, y + reach)), 0.18, grey),
        Stroke(ring, 0.18, grey, closed=True),
    ]


def wrapped(text: str, width: float, size: float, bold: bool = False) -> list[str]:
    """The text in lines no wider than ``width`` millimetres where its words allow."""
    lines: list[str] = []
    for word in text.split():
        if lines and text_width(f"{lines[-1]} {word}", size, bold) <= width:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines
