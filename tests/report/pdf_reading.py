"""A PDF file read back with PDFium: page sizes, lines, clip boxes, words and pixels, in millimetres."""

from __future__ import annotations

import ctypes
import math
from contextlib import closing
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
import pypdfium2
import pypdfium2.raw as raw

MM = 25.4 / 72.0
Point = tuple[float, float]


@dataclass(frozen=True)
class Outline:
    """A drawn path: its points, whether it is closed, and the box it is clipped to (or ``None``)."""

    points: tuple[Point, ...]
    closed: bool
    clip: tuple[float, float, float, float] | None

    @property
    def size(self) -> Point:
        xs, ys = [x for x, _ in self.points], [y for _, y in self.points]
        return max(xs) - min(xs), max(ys) - min(ys)


@dataclass(frozen=True)
class Page:
    width: float
    height: float
    paths: tuple[Outline, ...]
    text: str
    number: int
    data: bytes = field(repr=False)

    @property
    def words(self) -> list[tuple[str, tuple[float, float, float, float], float]]:
        """Each run of text with the box round its glyphs (millimetres) and its size (points)."""
        found = []
        with closing(pypdfium2.PdfDocument(self.data)) as document:
            page = document[self.number]
            textpage = page.get_textpage()
            for item in page.get_objects(filter=(raw.FPDF_PAGEOBJ_TEXT,)):
                size = ctypes.c_float()
                raw.FPDFTextObj_GetFontSize(item.raw, size)
                a, b, *_ = item.get_matrix().get()
                long = raw.FPDFTextObj_GetText(item.raw, textpage.raw, None, 0)
                buffer = ctypes.create_string_buffer(long)
                raw.FPDFTextObj_GetText(
                    item.raw, textpage.raw, ctypes.cast(buffer, ctypes.POINTER(raw.FPDF_WCHAR)), long
                )
                text = buffer.raw.decode("utf-16-le").rstrip("\0").strip()
                if text:
                    box = tuple(side * MM for side in item.get_bounds())
                    found.append((text, box, size.value * (a * a + b * b) ** 0.5))
        return found  # type: ignore[return-value]

    def pixels(self, dpi: int) -> Any:
        """The page in grey, rows from the top, 0 black to 255 white."""
        with closing(pypdfium2.PdfDocument(self.data)) as document:
            rendered = document[self.number].render(scale=dpi / 72, grayscale=True)
            return np.array(rendered.to_pil().convert("L"))


def read(data: bytes) -> list[Page]:
    pages = []
    with closing(pypdfium2.PdfDocument(data)) as document:
        for number, page in enumerate(document):
            width, height = page.get_size()
            paths = []
            for item in page.get_objects(filter=(raw.FPDF_PAGEOBJ_PATH,)):
                a, b, c, d, e, f = item.get_matrix().get()
                points, closed = _points(item.raw)
                there = tuple(((a * x + c * y + e) * MM, (b * x + d * y + f) * MM) for x, y in points)
                paths.append(Outline(there, closed, _clip(item.raw)))
            text = page.get_textpage().get_text_bounded()
            pages.append(Page(width * MM, height * MM, tuple(paths), " ".join(text.split()), number, data))
    return pages


def found(page: Page, outline: tuple[Point, ...]) -> list[Outline]:
    """The paths on a page that are this outline, moved."""
    matches = []
    for path in page.paths:
        points = path.points[:-1] if math.dist(path.points[0], path.points[-1]) < 1e-3 else path.points
        if not path.closed or len(points) != len(outline):
            continue
        dx, dy = points[0][0] - outline[0][0], points[0][1] - outline[0][1]
        moved = [(x + dx, y + dy) for x, y in outline]
        if max(math.dist(p, q) for p, q in zip(points, moved, strict=True)) < 0.01:
            matches.append(replace(path, points=tuple(points)))
    return matches


def _points(handle: Any) -> tuple[list[Point], bool]:
    points, closed = [], False
    for k in range(raw.FPDFPath_CountSegments(handle)):
        segment = raw.FPDFPath_GetPathSegment(handle, k)
        x, y = ctypes.c_float(), ctypes.c_float()
        raw.FPDFPathSegment_GetPoint(segment, x, y)
        points.append((x.value, y.value))
        closed = closed or bool(raw.FPDFPathSegment_GetClose(segment))
    return points, closed


def _clip(handle: Any) -> tuple[float, float, float, float] | None:
    """The smallest of the boxes an object is clipped to."""
    clip = raw.FPDFPageObj_GetClipPath(handle)
    if not clip:
        return None
    found = None
    for k in range(max(0, raw.FPDFClipPath_CountPaths(clip))):
        xs, ys = [], []
        for j in range(raw.FPDFClipPath_CountPathSegments(clip, k)):
            segment = raw.FPDFClipPath_GetPathSegment(clip, k, j)
            x, y = ctypes.c_float(), ctypes.c_float()
            raw.FPDFPathSegment_GetPoint(segment, x, y)
            xs.append(x.value * MM)
            ys.append(y.value * MM)
        box = (min(xs), min(ys), max(xs), max(ys))
        if found is None or box[2] - box[0] < found[2] - found[0]:
            found = box
    return found
