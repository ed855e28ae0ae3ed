"""Vector PDF of one large sheet: closed outlines are pieces, text on them says what they are.

Objects of a PDF have no names, so the words of the convention (``marker/importing/svg.py``) count only as
text drawn on the pieces. A closed line inside another is one of its lines. The reader is PDFium, through its
raw interface; it draws nothing, runs nothing and opens nothing but the file.
"""

from __future__ import annotations

import contextlib
import ctypes
import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from marker.files.messages import sentence
from marker.files.reading import read_bytes
from marker.importing.affine import Affine
from marker.importing.assemble import assemble
from marker.importing.drawn import Drawing, Object, Text
from marker.importing.found import Found, Options, Point
from marker.importing.phrases import Said, read_words
from marker.importing.stroke import Stroke

LARGEST_FILE = 50_000_000
"""Bytes of a file that are read at most."""
MOST_OBJECTS = 50_000
MOST_SEGMENTS = 200_000
MOST_LETTERS = 20_000
"""Letters on a page beyond which its text is not read."""
DEEPEST = 20
"""Levels of forms inside each other."""
_USER_UNIT = re.compile(rb"/UserUnit\s+(\d+\.?\d*|\.\d+)")
POINT = 25.4 / 72
"""Millimetres in a unit of a PDF page (ISO 32000-2, 8.3.2.3)."""


def read_pdf(path: str | Path, options: Options) -> Found:
    """The pieces of one page of a PDF. Raises InputError with one sentence.

    ``options.page`` chooses the page of a file that has several.
    """
    return assemble(path, pdf_drawing(path, options), nested_are_lines=True)


def pdf_drawing(path: str | Path, options: Options) -> Drawing:
    """Everything drawn on the page, in millimetres with y downwards. Raises InputError."""
    import pypdfium2

    data = read_bytes(path, LARGEST_FILE, "; save the sheet without pictures")
    if b"%PDF-" not in data[:1024]:
        raise sentence(path, [], "is no PDF: it does not begin as one; name a PDF file")
    try:
        document = pypdfium2.PdfDocument(data)
    except pypdfium2.PdfiumError as error:
        locked = "password" in str(error).lower() or "security" in str(error).lower()
        what = (
            "is locked with a password; save it without one"
            if locked
            else "is no PDF that can be read; save or download it again"
        )
        raise sentence(path, [], what) from None
    try:
        number = _page_number(path, len(document), options.page)
        try:
            page = document[number - 1]
        except (pypdfium2.PdfiumError, IndexError):
            raise sentence(path, [f"page {number}"], "cannot be read; save the PDF again") from None
        unit = _user_unit(path, data, len(document))
        return _Reader(path, options, unit).drawing(document, page, number)
    finally:
        document.close()


def _page_number(path: str | Path, count: int, asked: int | None) -> int:
    if count == 0:
        raise sentence(path, [], "has no pages; save the PDF again")
    if asked is None and count > 1:
        raise sentence(
            path,
            [],
            f"has {count} pages, and pages are not put together; choose the one large sheet with --page, "
            "or get the pattern as one large sheet",
        )
    number = asked or 1
    if not 1 <= number <= count:
        raise sentence(path, [], f"has no page {number}; it has {count}")
    return number


@dataclass
class _Reader:
    path: str | Path
    options: Options
    unit: float
    """Points in a unit of the page."""
    objects: list[Object] = field(default_factory=list)
    seen: int = 0
    segments: int = 0
    pictures: int = 0

    def drawing(self, document: Any, page: Any, number: int) -> Drawing:
        scale = POINT * self.options.scale
        notes = [f"Page {number} of {len(document)} read; a unit of it is 1/72 in."]
        if self.options.unit is not None:
            raise sentence(
                self.path,
                [],
                "a PDF says how large it is; leave --unit out, or correct a wrong sheet with --scale",
            )
        if self.options.scale != 1:
            notes.append(
                f"Every length is multiplied by {self.options.scale:.6g}, as asked for with --scale."
            )
        left, bottom, right, top = page.get_bbox()
        if self.unit != 1:
            notes.append(f"The page counts in units of {self.unit:g}/72 in (UserUnit).")
            scale *= self.unit
        to_mm = Affine(scale, 0, 0, -scale, -scale * left, scale * top)
        self._objects(_page_objects(page), to_mm, 0)
        texts, told = self._texts(page, to_mm)
        notes += told
        if self.pictures:
            notes.append("Pictures on the page are not read.")
            if not self.objects:
                raise sentence(
                    self.path,
                    [],
                    "holds pictures only and no lines: it is a scan; get the sheet as a vector PDF, or "
                    "photograph the paper pieces and use marker trace",
                )
        size = (scale * (right - left), scale * (top - bottom))
        return Drawing(tuple(self.objects), tuple(texts), Said(), tuple(notes), page=size)

    def _objects(self, found: Iterator[Any], to_mm: Affine, depth: int) -> None:
        import pypdfium2.raw as raw

        for item in found:
            self.seen += 1
            if self.seen > MOST_OBJECTS:
                raise sentence(self.path, [], f"draws more than {MOST_OBJECTS} objects, which is no pattern")
            kind = raw.FPDFPageObj_GetType(item)
            if kind == raw.FPDF_PAGEOBJ_IMAGE:
                self.pictures += 1
            elif kind == raw.FPDF_PAGEOBJ_FORM and depth < DEEPEST:
                inner = to_mm.then_inside(_matrix(item))
                self._objects(_form_objects(item), inner, depth + 1)
            elif kind == raw.FPDF_PAGEOBJ_PATH:
                self._path(item, to_mm.then_inside(_matrix(item)))

    def _path(self, item: Any, to_mm: Affine) -> None:
        import pypdfium2.raw as raw

        fill, stroked = ctypes.c_int(), raw.FPDF_BOOL()
        raw.FPDFPath_GetDrawMode(item, fill, stroked)
        if not fill.value and not stroked.value:
            return
        strokes: list[Stroke] = []
        points: list[Point] = []
        start: Point | None = None
        segments: list[tuple[Point, ...]] = []
        x, y = ctypes.c_float(), ctypes.c_float()

        def put_down(closed: bool) -> None:
            nonlocal segments
            if start is not None and segments:
                strokes.append(Stroke(start, tuple(segments), closed))
            segments = []

        for i in range(raw.FPDFPath_CountSegments(item)):
            self.segments += 1
            if self.segments > MOST_SEGMENTS:
                raise sentence(self.path, [], f"draws more than {MOST_SEGMENTS} lines, which is no pattern")
            segment = raw.FPDFPath_GetPathSegment(item, i)
            raw.FPDFPathSegment_GetPoint(segment, x, y)
            at = to_mm((x.value, y.value))
            if not max(abs(at[0]), abs(at[1])) < 1e7:
                return
            kind = raw.FPDFPathSegment_GetType(segment)
            if kind == raw.FPDF_SEGMENT_MOVETO:
                put_down(False)
                start = at
            elif kind == raw.FPDF_SEGMENT_LINETO:
                segments.append((at,))
            else:
                points.append(at)
                if len(points) == 3:
                    segments.append(tuple(points))
                    points = []
            if raw.FPDFPathSegment_GetClose(segment):
                put_down(True)
        put_down(False)
        if fill.value:
            # Filling closes what is open.
            strokes = [replace(stroke, closed=True) for stroke in strokes]
        for stroke in strokes:
            # Each line is an object of its own: a whole sheet may well be one single path.
            where = f"line {len(self.objects) + 1} of the page"
            self.objects.append(Object((stroke,), Said(), (), where))

    def _texts(self, page: Any, to_mm: Affine) -> tuple[list[Text], list[str]]:
        """The texts of the page, and a note if they are too many to be words on pieces."""
        textpage = page.get_textpage()
        texts: list[Text] = []
        letters = textpage.count_chars()
        if letters > MOST_LETTERS:
            return [], [f"The text on the page was not read: it has {letters} letters."]
        for i in range(textpage.count_rects()):
            left, bottom, right, top = textpage.get_rect(i)
            words = textpage.get_text_bounded(left, bottom, right, top).strip()
            if not words:
                continue
            at = to_mm(((left + right) / 2, (bottom + top) / 2))
            texts.append(Text(at, read_words(words), " ".join(words.split()), ()))
        return texts, []


def _page_objects(page: Any) -> Iterator[Any]:
    import pypdfium2.raw as raw

    for i in range(raw.FPDFPage_CountObjects(page.raw)):
        yield raw.FPDFPage_GetObject(page.raw, i)


def _form_objects(form: Any) -> Iterator[Any]:
    import pypdfium2.raw as raw

    for i in range(raw.FPDFFormObj_CountObjects(form)):
        yield raw.FPDFFormObj_GetObject(form, i)


def _matrix(item: Any) -> Affine:
    import pypdfium2.raw as raw

    found = raw.FS_MATRIX()
    if not raw.FPDFPageObj_GetMatrix(item, found):
        return Affine()
    return Affine(found.a, found.b, found.c, found.d, found.e, found.f)


def _user_unit(path: str | Path, data: bytes, pages: int) -> float:
    """How many points a unit of the page is: 1, unless a large sheet says otherwise (ISO 32000-2, table 31).

    PDFium does not tell, so this looks for the entry itself. It is refused where it cannot be told
    which page it belongs to.
    """
    found = {match for part in (data, *_object_streams(data)) for match in _USER_UNIT.findall(part)}
    units = {float(word) for word in found} - {1.0}
    if not units:
        return 1.0
    (unit, *others) = units
    if others or pages > 1 or not 0.01 <= unit <= 1000:
        raise sentence(
            path,
            [],
            "counts in units of its own (UserUnit); save the one page that is meant as a file by itself",
        )
    return unit


def _object_streams(data: bytes) -> Iterator[bytes]:
    """The compressed parts of a PDF in which dictionaries may stand, up to a few megabytes of each."""
    import zlib

    for match in re.finditer(rb"/ObjStm\b.{0,300}?\bstream\r?\n", data, re.DOTALL):
        with contextlib.suppress(zlib.error):
            yield zlib.decompressobj().decompress(data[match.end() :], 4_000_000)
