"""Pictures for approval: the outline drawn over the photograph, or the place where none could be made out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from marker.trace import opencv
from marker.trace.find import Array, View
from marker.trace.photo import Picture
from marker.trace.smooth import Smoothed

LONGEST_SIDE = 2000
LINE = (225, 0, 150)
CORNER = (0, 60, 255)
SHEET = (0, 150, 70)
TROUBLE = (255, 30, 0)


@dataclass(frozen=True)
class Traced:
    """A piece in a photograph: what the pattern file calls it, and its outline on the floor."""

    number: str
    outline: Smoothed


def proof(view: View, pieces: Sequence[Traced]) -> bytes:
    """A PNG of the photograph with outlines, joints, numbers and extents, and the sheets."""
    canvas = _Canvas(view.photo.pixels)
    _sheets(canvas, view)
    for piece in pieces:
        canvas.line(view.to_pixels(_dense(piece.outline.ring)), LINE, closed=True)
        ends = np.array([piece.outline.start, *(segment.end for segment in piece.outline.segments)])
        for pixel in view.to_pixels(ends):
            canvas.ring(pixel, 5, CORNER)
        ring = piece.outline.ring
        wide, high = ring.max(axis=0) - ring.min(axis=0)
        middle = view.to_pixels((ring.max(axis=0) + ring.min(axis=0))[None] / 2)[0]
        canvas.text(middle, f"{piece.number}: {wide / 10:.1f} cm x {high / 10:.1f} cm", LINE)
    return canvas.png()


def trouble(view: View, pixels: Array) -> bytes:
    """A PNG of the photograph with a ring around ``pixels`` (shape (n, 2)), where the outline was refused."""
    canvas = _Canvas(view.photo.pixels)
    _sheets(canvas, view)
    for pixel in pixels[:: max(1, len(pixels) // 400)]:
        canvas.ring(pixel, 2, TROUBLE)
    middle = (pixels.max(axis=0) + pixels.min(axis=0)) / 2
    reach = float(np.linalg.norm(pixels - middle, axis=1).max()) * canvas.scale
    canvas.ring(middle, max(30, round(reach) + 15), TROUBLE)
    return canvas.png()


def _sheets(canvas: _Canvas, view: View) -> None:
    for i, seen in enumerate(view.seen):
        paper = view.paper(i)
        canvas.line(view.to_pixels(_dense(paper)), SHEET, closed=True)
        canvas.text(view.to_pixels(paper.mean(axis=0)[None])[0], f"sheet {seen.sheet.number}", SHEET)


def _dense(ring: Array, step: float = 5.0) -> Array:
    """Points every few millimetres, as a straight line on the floor may be bent in the photograph."""
    parts = []
    for a, b in zip(ring, np.roll(ring, -1, axis=0), strict=True):
        count = max(1, int(np.linalg.norm(b - a) / step))
        parts.append(a + (b - a) * np.linspace(0, 1, count, endpoint=False)[:, None])
    return np.concatenate(parts)


class _Canvas:
    """A reduced copy of a photograph to draw on; coordinates are pixels of the photograph."""

    def __init__(self, picture: Picture) -> None:
        self.cv2: Any = opencv()
        height, width = picture.shape[:2]
        self.scale = min(1.0, LONGEST_SIDE / max(width, height))
        size = round(width * self.scale), round(height * self.scale)
        self.picture = np.ascontiguousarray(
            self.cv2.resize(picture, size, interpolation=self.cv2.INTER_AREA)
            if self.scale < 1
            else picture.copy()
        )

    def _at(self, pixel: Array) -> Array:
        return (np.asarray(pixel) + 0.5) * self.scale - 0.5

    def line(self, pixels: Array, colour: tuple[int, int, int], closed: bool) -> None:
        at = np.round(self._at(pixels) * 16).astype(np.int32)
        self.cv2.polylines(self.picture, [at], closed, colour, 2, self.cv2.LINE_AA, 4)

    def ring(self, pixel: Array, radius: int, colour: tuple[int, int, int]) -> None:
        x, y = np.round(self._at(pixel) * 16).astype(int)
        self.cv2.circle(self.picture, (int(x), int(y)), radius * 16, colour, 2, self.cv2.LINE_AA, 4)

    def text(self, pixel: Array, words: str, colour: tuple[int, int, int]) -> None:
        cv2 = self.cv2
        size = max(0.5, max(self.picture.shape) / 1800.0)
        (wide, high), below = cv2.getTextSize(words, cv2.FONT_HERSHEY_SIMPLEX, size, 2)
        x, y = self._at(pixel)
        left = round(float(np.clip(x - wide / 2, 2, max(2, self.picture.shape[1] - wide - 2))))
        foot = round(float(np.clip(y + high / 2, high + 4, self.picture.shape[0] - below - 4)))
        box = (left - 5, foot - high - 5), (left + wide + 5, foot + below + 3)
        cv2.rectangle(self.picture, *box, (255, 255, 255), -1)
        cv2.putText(self.picture, words, (left, foot), cv2.FONT_HERSHEY_SIMPLEX, size, colour, 2, cv2.LINE_AA)

    def png(self) -> bytes:
        done, data = self.cv2.imencode(".png", self.cv2.cvtColor(self.picture, self.cv2.COLOR_RGB2BGR))
        assert done
        return bytes(data)
