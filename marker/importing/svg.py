"""SVG drawings: every closed path is a piece, and plain words say what everything is.

CONVENTION
==========

A drawing says what it means in *words*, written where the drawing program lets people write them. The
words of an object or of a group are its title (the ``<title>`` inside it), or else its label (an attribute
called ``label`` in any namespace), or else its ``id``. In an id, ``-`` and ``_`` stand for spaces, and a
number that was added at the end to keep ids apart is dropped from marks (``grain-2`` is a grain line,
``notch-a-3`` is a notch a). Automatic ids such as ``path12`` or ``layer1`` say nothing. Words may also be
*text drawn on the piece*, as on a paper pattern. Several phrases are divided by ``;`` or a line break.
Capitals do not matter.

What an object is (said by itself, or else by the nearest group around it that says so):

    outline         the edge of a piece; a closed path that says nothing else is one anyway
    grain           a line from the tail to the head of the grain arrow; the head is the top of the garment
    fold            a straight line on the edge that lies on the fold
    notch NAME      a mark on the edge: where its line meets the edge, or its middle; NAME may be left out
    drill           a mark inside the piece, at the middle of the object
    line            a line inside the piece to mark and not to cut; so are open paths that say nothing
    region NAME     a closed path: a part of the piece that can be cut on its own
    test square 100 mm    a square to check the scale on; any length may stand there, or several
    ignore          not part of the pattern (frames, legends, photographs under the drawing)

About a piece (said by its outline, by a group that holds that one outline only, or by text on the piece):

    Front                       any other words: what the piece is called (or: name Front)
    number 3                    what views call it
    size M                      the size it is drawn in; on a group: of all in it; none: the same in all
    cut 2 of fabric             how often it is cut from what, as often as there are materials
    cut 1 of fabric on fold     or: mirrored, or: alike, as in pattern files
    cut 1 pair of fabric, 1 of lining      and other phrases of printed patterns: see words.py
    cut 1 of interfacing region edge       only that region
    guide                       never cut
    seam allowance 15 mm        to be added all round; on no piece in particular: for all pieces
    seam allowance included     the outline is the cutting line (or: 5/8 in seam allowance included)
    pattern Oar bag             what the whole pattern is called

Marks belong to the outline that is in the same group, if the innermost group around them that holds
outlines holds exactly one; else to the smallest outline around them (notches and folds: the nearest edge).
Path objects of several closed parts: each part that lies outside the others is a piece, those inside are
lines. A slit drawn out and back is a notch, or a line if it is long. Hidden objects are not read: those
hidden by attributes or styles, and those with neither fill nor line that are not called anything. Titles,
labels and ids that programs make up say nothing. A phrase about cuts or allowances that is not understood to
its last word is left as a blank that quotes it.

A drawing that a program writes should say everything: one group a piece with a title such as ``Front;
number 3; size M; cut 2 of fabric mirrored; seam allowance included``, and in it one path with the title
``outline``, and the marks with titles as above. The size of a unit follows from width, height and viewBox;
lengths in mm, cm, in, pt, pc and px (96 to the inch, W3C CSS Values and Units 3, section 6.2).
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from marker.errors import InputError
from marker.files.curves import arc
from marker.files.messages import sentence
from marker.importing.affine import Affine
from marker.importing.assemble import assemble
from marker.importing.drawn import Drawing, Group, Object, Text
from marker.importing.found import Found, Options, Point, Unit
from marker.importing.phrases import Said, quoted, read_words
from marker.importing.stroke import Stroke, Unreadable, ellipse, ring_stroke, strokes_of
from marker.importing.svg_style import (
    CLIPPED,
    MOVED,
    SIZED,
    UNMOVED,
    Look,
    Styles,
    TooMuch,
    style_of,
    styles_of,
    vanishes,
)
from marker.importing.words import is_automatic
from marker.importing.xml_tree import Element, read_xml
from marker.units import unit_size

SVG = "http://www.w3.org/2000/svg"
PX = 25.4 / 96
"""Millimetres in a px: 96 to the inch (W3C CSS Values and Units 3, section 6.2)."""
MOST_OBJECTS = 20_000
"""Objects that a drawing may draw, those used several times counted each time."""
MOST_PATH_DATA = 2_000_000
"""Letters of path data in a file."""

_LENGTH = re.compile(r"\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*([a-zA-Z]*|%)\s*")
_IN_MM = {"": PX, "px": PX, "mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6, "q": 0.25}
_WRITTEN: tuple[tuple[Unit, float], ...] = (("cm", 10.0), ("in", 25.4))
_OUTSIDE = re.compile(r"""url\(\s*['"]?\s*(?!#|data:)([^'")\s]+)""", re.IGNORECASE)
_TRANSFORM = re.compile(r"\s*([a-zA-Z]+)\s*\(([^()]*)\)\s*,?\s*")
_NOT_DRAWN = {
    "defs", "symbol", "clipPath", "mask", "marker", "pattern", "metadata", "style", "filter", "title", "desc",
    "linearGradient", "radialGradient", "cursor", "font", "view", "color-profile",
}  # fmt: skip
_SHAPES = {"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"}
_SEEN = _SHAPES | {"text", "use"}
_TEXT = {"text", "tspan", "textPath", "a", "tref"}


def read_svg(path: str | Path, options: Options) -> Found:
    """The pieces of an SVG drawing, by the convention above. Raises InputError with one sentence.

    ``options.unit`` says what one unit of the drawing's coordinates counts, for drawings that do not say
    or say it wrong.
    """
    return assemble(path, svg_drawing(path, options))


def svg_drawing(path: str | Path, options: Options) -> Drawing:
    """Everything that an SVG file draws, in millimetres. Raises InputError."""
    root = read_xml(path)
    if root.name != "svg" or root.space not in ("", SVG):
        raise sentence(path, [], f"is no SVG drawing: it begins with <{root.name[:40]}>; name an SVG file")
    reader = _Reader(path, root)
    return reader.drawing(options)


@dataclass
class _Reader:
    path: str | Path
    root: Element
    objects: list[Object] = field(default_factory=list)
    texts: list[Text] = field(default_factory=list)
    by_id: dict[str, Element] = field(default_factory=dict)
    visited: int = 0
    keys: int = 0
    path_data: int = 0
    pictures: int = 0
    hidden: int = 0
    unpainted: int = 0
    clipped: int = 0
    links: list[str] = field(default_factory=list)
    styles: Styles = field(default_factory=dict)
    using: list[str] = field(default_factory=list)

    def drawing(self, options: Options) -> Drawing:
        for element in _drawing_parts(self.root):
            self._refuse(element)
            name = element.attributes.get("id")
            if name is not None:
                self.by_id.setdefault(name, element)
        outer, size, notes = self._scale(options)
        if options.scale != 1:
            outer = Affine(options.scale, 0, 0, options.scale).then_inside(outer)
            notes.append(f"Every length is multiplied by {options.scale:.6g}, as asked for with --scale.")
        # The title of the whole drawing is the pattern's name, its id never is.
        words = _title(self.root)
        said = read_words(words) if words is not None else Said()
        try:
            self.styles, told = styles_of(self.root)
        except TooMuch as wrong:
            raise sentence(self.path, [], str(wrong)) from None
        notes += told
        own = style_of(self.root, self.styles)
        for child in self.root.children if not vanishes(own) else ():
            self._visit(child, outer, (), size, Look().inside(own))
        notes += self._passed_over()
        unit: Unit = next((name for name, mm in _WRITTEN if math.isclose(outer.a, mm, rel_tol=1e-6)), "mm")
        hidden = self.hidden + self.unpainted
        return Drawing(tuple(self.objects), tuple(self.texts), said, tuple(notes), unit, hidden=hidden)

    def _passed_over(self) -> list[str]:
        """Sentences on what was not read, and on what is read otherwise than it is shown."""
        notes = []
        if self.links:
            notes.append(f"Links out of the file are not followed: {quoted(self.links)}.")
        if self.pictures:
            notes.append("Pictures in the drawing are not read.")
        if self.hidden:
            notes.append(f"{self.hidden} hidden object{'s were' if self.hidden > 1 else ' was'} not read.")
        if self.unpainted:
            many = "s have" if self.unpainted > 1 else " has"
            notes.append(f"{self.unpainted} object{many} neither fill nor line, so cannot be seen: not read.")
        if self.clipped:
            many = "s are" if self.clipped > 1 else " is"
            notes.append(f"{self.clipped} object{many} clipped or masked in the drawing: read whole.")
        return notes

    def wrong(self, element: Element, what: str) -> InputError:
        name = element.attributes.get("id")
        where = f'{element.name} "{name[:60]}"' if name else f"a {element.name}"
        return sentence(self.path, [where], what)

    def _refuse(self, element: Element) -> None:
        """Raise for what a drawing of pieces has no use for and a stranger's file might."""
        if element.name == "script":
            raise self.wrong(element, "a script is not read; save the drawing as plain SVG")
        for key, value in element.attributes.items():
            if re.fullmatch(r"on[a-z]+", key):
                raise self.wrong(element, f"a script ({key[:40]}) is not read; save the drawing as plain SVG")
            outside = element.name != "a" and key == "href" and not value.strip().startswith(("#", "data:"))
            if outside and element.name == "use":
                raise self.wrong(
                    element,
                    f'refers to "{value.strip()[:60]}" outside the file, which is not read; '
                    "delete it, or put it into the drawing",
                )
            # A picture, a colour or a font from elsewhere draws no piece.
            if outside:
                self.links.append(value.strip())
            elif _OUTSIDE.search(value):
                self.links.append(_OUTSIDE.search(value)[1])  # type: ignore[index]
        if element.name == "style":
            if "@import" in element.text.lower():
                raise self.wrong(
                    element, "refers to something outside the file; save the drawing as plain SVG"
                )
            self.links += [match[1] for match in _OUTSIDE.finditer(element.text)]

    def _scale(self, options: Options) -> tuple[Affine, Point, list[str]]:
        """From user units of the outermost viewport to millimetres, its size in user units, and notes."""
        root = self.root
        width, height = (self._root_length(root.attributes.get(key)) for key in ("width", "height"))
        box = self._view_box(root)
        asked = None
        if options.unit is not None:
            asked = PX if options.unit == "px" else unit_size(options.unit)
        if box is None:
            scale = Affine(PX, d=PX)
            size = ((width[0] if width else 100 * PX) / PX, (height[0] if height else 100 * PX) / PX)
            found = "px (96 to the inch), as the drawing has no viewBox"
        elif width is None and height is None:
            if asked is None:
                raise sentence(
                    self.path,
                    ["svg"],
                    "does not say how large it is (there is a viewBox, but no width and height in mm, cm or "
                    "in); say what one unit of it is, with --unit mm for example",
                )
            scale, size, found = Affine(), (box[2], box[3]), ""
        else:
            wide = width[0] if width else height[0] * box[2] / box[3]  # type: ignore[index]
            high = height[0] if height else width[0] * box[3] / box[2]  # type: ignore[index]
            scale, size = _fit(root, box, (0.0, 0.0, wide, high)), (box[2], box[3])
            unit = " and ".join(dict.fromkeys(side[1] or "px" for side in (width, height) if side))
            found = f"{scale.a:.6g} mm, from its width and height in {unit} and its viewBox"
            if not math.isclose(scale.a, scale.d, rel_tol=1e-6):
                found = (
                    f"{scale.a:.6g} mm across and {scale.d:.6g} mm down, from its width, height and viewBox "
                    "(stretched, as it asks for)"
                )
        if asked is not None:
            told = f"One unit of the drawing is {asked:.6g} mm, as asked for with --unit {options.unit}."
            real = any(side is not None and side[1] not in ("", "px") for side in (width, height))
            if box is not None and real and not math.isclose(scale.a, asked, rel_tol=1e-4):
                raise sentence(
                    self.path,
                    ["svg"],
                    f"says by itself that one unit is {scale.a:.6g} mm; leave --unit {options.unit} out, "
                    "or correct a wrong drawing with --scale",
                )
            left, top = (box[0], box[1]) if box else (0.0, 0.0)
            return Affine(asked, 0, 0, asked, -asked * left, -asked * top), size, [told]
        return scale, size, [f"One unit of the drawing is {found}."]

    def _root_length(self, text: str | None) -> tuple[float, str] | None:
        """Millimetres and the unit as written; None for one that hangs on the window, like 100 %."""
        if text is None or text.strip() in ("", "auto") or "%" in text:
            return None
        match = _LENGTH.fullmatch(text)
        if match is None or match[2].lower() not in _IN_MM:
            raise self.wrong(self.root, f'"{text[:40]}" is no width or height; write it in mm, cm or in')
        mm = float(match[1]) * _IN_MM[match[2].lower()]
        if not 0 < mm < 1e6:
            raise self.wrong(self.root, f'"{text[:40]}" is no width or height; write one greater than 0')
        return mm, match[2]

    def _view_box(self, element: Element) -> tuple[float, float, float, float] | None:
        text = element.attributes.get("viewBox")
        if text is None:
            return None
        numbers = self._numbers(element, text)
        if len(numbers) != 4 or not (0 < numbers[2] < 1e9 and 0 < numbers[3] < 1e9):
            raise self.wrong(
                element, f'"{text[:40]}" is no viewBox; write four numbers, the last two above 0'
            )
        return numbers[0], numbers[1], numbers[2], numbers[3]

    def _numbers(self, element: Element, text: str) -> list[float]:
        try:
            numbers = [float(word) for word in re.split(r"[\s,]+", text.strip()) if word]
        except ValueError:
            # Signs may stand in the place of commas: "10-5".
            numbers = [float(word) for word in re.findall(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?", text)]
            rest = re.sub(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?|[\s,]", "", text)
            if rest:
                raise self.wrong(element, f'"{text[:40]}" are not numbers; correct them') from None
        if not all(math.isfinite(number) for number in numbers):
            raise self.wrong(element, f'"{text[:40]}" are not finite numbers; correct them')
        return numbers

    def _visit(
        self, element: Element, outer: Affine, groups: tuple[Group, ...], size: Point, look: Look
    ) -> None:
        self.visited += 1
        if self.visited > MOST_OBJECTS:
            raise sentence(
                self.path,
                [],
                f"draws more than {MOST_OBJECTS} objects; leave only the pieces in the drawing",
            )
        if element.space not in ("", SVG) or element.name in _NOT_DRAWN:
            return
        style = style_of(element, self.styles)
        if vanishes(style):
            self.hidden += sum(part.name in _SEEN for part in _all(element))
            return
        look = look.inside(style)
        self.clipped += any(style.get(name, "none") != "none" for name in CLIPPED)
        if element.name in ("image", "foreignObject"):
            self.pictures += 1
            return
        here = outer.then_inside(self._transform(element, style))
        if element.name in ("g", "a", "switch"):
            inside = self._inside(element, groups)
            for child in element.children:
                self._visit(child, here, inside, size, look)
        elif element.name == "svg":
            self._nested(element, here, groups, size, look)
        elif element.name == "use":
            self._use(element, here, groups, size, look)
        elif element.name in _SEEN and not look.visible:
            self.hidden += 1
        elif element.name == "text":
            if look.painted:
                self._text(element, here, groups, size)
        elif element.name in _SHAPES:
            if any(name in style for name in SIZED.get(element.name, ())):
                raise self.wrong(
                    element, "is sized by a style, which is not read; save the drawing as plain SVG"
                )
            strokes = tuple(stroke.moved(here) for stroke in self._shape(element, size))
            if strokes and not look.painted and not self._is_called(element, groups):
                # Programs draw frames round texts so; what is called outline or region on purpose counts.
                self.unpainted += 1
            elif strokes:
                name = element.attributes.get("id")
                where = f'{element.name} "{name[:60]}"' if name else f"a {element.name}"
                said = _said(element)
                if name in self.using and _title(element) is None and any(g.said.name for g in groups):
                    # An id that "use" points to may be there for that alone: a name given around it counts.
                    said = replace(said, name=None)
                self.objects.append(Object(strokes, said, groups, where))

    def _is_called(self, element: Element, groups: tuple[Group, ...]) -> bool:
        return _said(element).kind is not None or any(group.said.kind for group in groups)

    def _inside(self, element: Element, groups: tuple[Group, ...]) -> tuple[Group, ...]:
        self.keys += 1
        return (*groups, Group(self.keys, _said(element)))

    def _nested(
        self, element: Element, here: Affine, groups: tuple[Group, ...], size: Point, look: Look
    ) -> None:
        x, y = self._length(element, "x", size[0]), self._length(element, "y", size[1])
        wide = self._length(element, "width", size[0], size[0])
        high = self._length(element, "height", size[1], size[1])
        box = self._view_box(element)
        if wide <= 0 or high <= 0:
            return
        inner = _fit(element, box, (x, y, wide, high)) if box else Affine(e=x, f=y)
        inside = self._inside(element, groups)
        for child in element.children:
            self._visit(
                child, here.then_inside(inner), inside, (box[2], box[3]) if box else (wide, high), look
            )

    def _use(
        self, element: Element, here: Affine, groups: tuple[Group, ...], size: Point, look: Look
    ) -> None:
        name = element.attributes.get("href", "").strip().removeprefix("#")
        target = self.by_id.get(name)
        if target is None:
            raise self.wrong(element, f'uses "{name[:60]}", which is not in the drawing; delete it')
        if name in self.using or len(self.using) > 20:
            raise self.wrong(element, f'uses "{name[:60]}", which uses itself; delete it')
        at = Affine(e=self._length(element, "x", size[0]), f=self._length(element, "y", size[1]))
        here = here.then_inside(at)
        self.using.append(name)
        inside = self._inside(element, groups)
        if target.name in ("symbol", "svg"):
            given: dict[str, str] = {}
            for key in ("width", "height"):
                if key in element.attributes:
                    given[key] = element.attributes[key]
            own = style_of(target, self.styles)
            resized = replace(target, attributes={**target.attributes, **given})
            if not vanishes(own):
                self._nested(resized, here, inside, size, look.inside(own))
        else:
            self._visit(target, here, inside, size, look)
        self.using.pop()

    def _text(self, element: Element, here: Affine, groups: tuple[Group, ...], size: Point) -> None:
        words = _words(element).strip()
        if not words:
            return
        x, y = (self._text_at(element, key, whole) for key, whole in zip("xy", size, strict=True))
        self.texts.append(Text(here((x, y)), read_words(words), " ".join(words.split()), groups))

    def _text_at(self, element: Element, key: str, whole: float) -> float:
        """Where a text begins: its own x or y, or that of the first part that has one."""
        for part in _all(element):
            if key in part.attributes:
                first = re.split(r"[\s,]+", part.attributes[key].strip())[0]
                return self._length(replace(part, attributes={key: first}), key, whole)
        return 0.0

    def _shape(self, element: Element, size: Point) -> list[Stroke]:
        """The strokes of a basic shape or path, in its own units (W3C SVG 2, chapters 9 and 10)."""
        wide, high = size
        diagonal = math.hypot(wide, high) / math.sqrt(2)

        def at(key: str, whole: float) -> float:
            return self._length(element, key, whole)

        if element.name == "path":
            data = element.attributes.get("d", "").strip()
            self.path_data += len(data)
            if not data or data == "none":
                return []
            if self.path_data > MOST_PATH_DATA:
                raise self.wrong(
                    element, "there is far too much path data; draw the pieces with fewer points"
                )
            try:
                return strokes_of(data)
            except Unreadable as wrong:
                raise self.wrong(element, f"its path {wrong}") from None
        if element.name == "circle":
            radius = at("r", diagonal)
            return [ellipse(at("cx", wide), at("cy", high), radius, radius)] if radius > 0 else []
        if element.name == "ellipse":
            rx, ry = self._radii(element, size)
            return [ellipse(at("cx", wide), at("cy", high), rx, ry)] if rx > 0 and ry > 0 else []
        if element.name == "rect":
            return self._rect(element, size)
        if element.name == "line":
            return [Stroke((at("x1", wide), at("y1", high)), (((at("x2", wide), at("y2", high)),),), False)]
        numbers = self._numbers(element, element.attributes.get("points", ""))
        points = list(zip(numbers[::2], numbers[1::2], strict=False))
        if len(points) < 2:
            return []
        stroke = ring_stroke(points)
        return [stroke if element.name == "polygon" else replace(stroke, closed=False)]

    def _rect(self, element: Element, size: Point) -> list[Stroke]:
        x, y = self._length(element, "x", size[0]), self._length(element, "y", size[1])
        w, h = self._length(element, "width", size[0]), self._length(element, "height", size[1])
        if w <= 0 or h <= 0:
            return []
        rx, ry = self._radii(element, size)
        rx, ry = min(rx, w / 2), min(ry, h / 2)
        if rx <= 0 or ry <= 0:
            return [ring_stroke([(x, y), (x + w, y), (x + w, y + h), (x, y + h)])]
        segments: list[tuple[Point, ...]] = []
        at = (x + rx, y)
        for straight, end in (
            ((x + w - rx, y), (x + w, y + ry)),
            ((x + w, y + h - ry), (x + w - rx, y + h)),
            ((x + rx, y + h), (x, y + h - ry)),
            ((x, y + ry), (x + rx, y)),
        ):
            curve = arc(straight, rx, ry, 0, False, True, end)
            segments += [(straight,), *(tuple(curve[i : i + 3]) for i in range(0, len(curve), 3))]
        return [Stroke(at, tuple(segments), True)]

    def _radii(self, element: Element, size: Point) -> tuple[float, float]:
        """rx and ry, each standing for the other where only one is given."""
        given = [
            self._length(element, key, whole)
            if element.attributes.get(key, "auto").strip() not in ("auto", "")
            else None
            for key, whole in zip(("rx", "ry"), size, strict=True)
        ]
        rx = given[0] if given[0] is not None else given[1]
        ry = given[1] if given[1] is not None else given[0]
        return max(rx or 0.0, 0.0), max(ry or 0.0, 0.0)

    def _length(self, element: Element, key: str, whole: float, missing: float = 0.0) -> float:
        """An attribute in user units; ``whole`` is what 100 % is."""
        text = element.attributes.get(key)
        if text is None or text.strip() in ("", "auto"):
            return missing
        match = _LENGTH.fullmatch(text)
        value = math.inf
        if match is not None and match[2] == "%":
            value = float(match[1]) / 100 * whole
        elif match is not None and match[2].lower() in _IN_MM:
            value = float(match[1]) * _IN_MM[match[2].lower()] / PX
        if not math.isfinite(value):
            raise self.wrong(element, f'{key}: "{text[:40]}" is no length that can be read; write a number')
        return value

    def _transform(self, element: Element, style: Mapping[str, str]) -> Affine:
        if any(style.get(name, "none") not in UNMOVED for name in MOVED):
            raise self.wrong(element, "is moved by a style, which is not read; save the drawing as plain SVG")
        text = element.attributes.get("transform", "").strip()
        found, at = Affine(), 0
        while at < len(text):
            match = _TRANSFORM.match(text, at)
            made = _affine(match[1], self._numbers(element, match[2])) if match else None
            if match is None or made is None:
                raise self.wrong(
                    element, f'"{text[at : at + 40]}" is no transform that can be read; correct it'
                )
            found = found.then_inside(made)
            at = match.end()
        if not all(abs(value) < 1e9 for value in (found.a, found.b, found.c, found.d, found.e, found.f)):
            raise self.wrong(element, "its transform is out of all bounds; correct it")
        return found


def _affine(name: str, given: list[float]) -> Affine | None:
    """One transform function (W3C CSS Transforms 1, chapter 8); None if it is none."""
    make: dict[tuple[str, int], Callable[..., Affine]] = {
        ("matrix", 6): Affine,
        ("translate", 1): lambda x: Affine(e=x),
        ("translate", 2): lambda x, y: Affine(e=x, f=y),
        ("scale", 1): lambda s: Affine(a=s, d=s),
        ("scale", 2): lambda x, y: Affine(a=x, d=y),
        ("rotate", 1): _turned,
        ("rotate", 3): lambda angle, x, y: (
            Affine(e=x, f=y).then_inside(_turned(angle)).then_inside(Affine(e=-x, f=-y))
        ),
        ("skewX", 1): lambda angle: Affine(c=math.tan(math.radians(angle))),
        ("skewY", 1): lambda angle: Affine(b=math.tan(math.radians(angle))),
    }
    found = make.get((name, len(given)))
    return found(*given) if found else None


def _turned(angle: float) -> Affine:
    cos, sin = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    return Affine(cos, sin, -sin, cos)


def _fit(
    element: Element, box: tuple[float, float, float, float], port: tuple[float, float, float, float]
) -> Affine:
    """From the units of ``box`` (a viewBox) to those of ``port`` (W3C SVG 2, section 8.2)."""
    words = element.attributes.get("preserveAspectRatio", "").split() or ["xMidYMid"]
    sx, sy = port[2] / box[2], port[3] / box[3]
    x, y = port[0] - sx * box[0], port[1] - sy * box[1]
    if words[0] != "none":
        sx = sy = max(sx, sy) if "slice" in words else min(sx, sy)
        x, y = port[0] - sx * box[0], port[1] - sy * box[1]
        shares = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}
        align = re.fullmatch(r"x(Min|Mid|Max)Y(Min|Mid|Max)", words[0])
        x += (port[2] - sx * box[2]) * (shares[align[1]] if align else 0.5)
        y += (port[3] - sy * box[3]) * (shares[align[2]] if align else 0.5)
    return Affine(sx, 0, 0, sy, x, y)


def _all(element: Element) -> Iterator[Element]:
    stack = [element]
    while stack:
        here = stack.pop()
        yield here
        stack.extend(reversed(here.children))


def _drawing_parts(element: Element) -> Iterator[Element]:
    """Every element that may draw: not what programs keep for themselves in namespaces of their own."""
    stack = [element]
    while stack:
        here = stack.pop()
        if here.space in ("", SVG) and here.name != "metadata":
            yield here
            stack.extend(reversed(here.children))


def _title(element: Element) -> str | None:
    """The words of an object's title or label; None if it has neither. Automatic labels are none."""
    for child in element.children:
        if child.name == "title" and child.space in ("", SVG) and _words(child).strip():
            words = _words(child)
            return None if is_automatic(words, is_id=False) else words
    label = element.attributes.get("label", "")
    return label if label.strip() and read_words(label, is_id=True) != Said() else None


def _said(element: Element) -> Said:
    words = _title(element)
    return (
        read_words(words) if words is not None else read_words(element.attributes.get("id", ""), is_id=True)
    )


def _words(element: Element) -> str:
    """The text in an element, parts that stand on a line of their own divided by line breaks."""
    found = " ".join(element.text.split()) if element.name != "title" else element.text
    for child in element.children:
        if child.name in _TEXT or element.name == "title":
            own_line = {"x", "y", "dy"} & set(child.attributes)
            found += ("\n" if own_line else " ") + _words(child)
            tail = child.tail if element.name == "title" else " ".join(child.tail.split())
            found += f" {tail}" if tail else ""
    return found
