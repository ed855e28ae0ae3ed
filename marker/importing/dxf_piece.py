"""From the shapes of one DXF piece to a found piece: what the layers of the standard mean.

Inside, shapes are in millimetres with y upwards; a found piece has y downwards.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from marker.files.outline import MOST_POINTS
from marker.importing.dxf_curve import smooth_path
from marker.importing.dxf_layers import CURVE, CUT_OUT, DRILL, GRAIN, INNER, MIRROR, NOTCHES, SEW
from marker.importing.dxf_shapes import Mark, Shapes, Stroke, Unreadable, Words
from marker.importing.dxf_words import Fields, quantity_of
from marker.importing.found import FoundCut, FoundNotch, FoundPiece, How, Point, path_data
from marker.importing.phrases import read_words, united
from marker.model.fold import fold_edge_of, reaches_across, straight_stretch
from marker.model.ring import counter_clockwise, nearest_on_ring
from marker.model.symmetry import is_symmetric

TOUCHES = 1.0
"""Millimetres a mark may lie off the outline and still be on it (as in pattern files)."""
NEAR = 5.0
"""Millimetres a notch may lie off the outline and is moved onto it, with a note."""
SAME = 0.05
"""Millimetres between two marks that are in one place."""
SYMBOL = 15.0
"""Millimetres that the symbol of one notch may be wide."""
SHORTEST_GRAIN = 1.0
MOST_MARKS = 200
"""Notches, and drill holes, of one piece."""
MOST_LINES = 2_000
"""Inner lines of one piece."""
MOST_MIRRORS = 10
"""Mirror lines of one piece that are looked at."""
_TOLD = 5
_NOTCH_NAME = re.compile(r"notch\s*:\s*(.+)", re.IGNORECASE)


@dataclass(frozen=True)
class Raw:
    """One piece before its layers are read. ``shapes`` are in millimetres; ``meaning`` numbers a layer."""

    name: str | None
    size: str | None
    outline: tuple[Point, ...]
    shapes: Shapes
    fields: Fields
    meaning: Callable[[str], int | None]
    inner: tuple[tuple[Point, ...], ...] = ()
    """Other closed outlines inside this one."""
    plain: bool = False
    """Not by the standard: lines of no known layer are inner lines."""
    notes: tuple[str, ...] = ()
    """What was done to the outline, in sentences."""


@dataclass(frozen=True)
class Asked:
    """What nothing in the file settles, for notes on the whole file: names of the pieces concerned."""

    hand: tuple[str, ...] = ()
    head: tuple[str, ...] = ()


@dataclass
class _Notes:
    said: list[str] = field(default_factory=list)

    def add(self, words: str) -> None:
        if words not in self.said:
            self.said.append(words)


def scaled(shapes: Shapes, unit: float) -> Shapes:
    """The same shapes in millimetres, ``unit`` millimetres to a unit of the file."""
    return moved(shapes, lambda point: (point[0] * unit, point[1] * unit))


def moved(shapes: Shapes, to: Callable[[Point], Point]) -> Shapes:
    """The same shapes with every point mapped."""
    return replace(
        shapes,
        strokes=[replace(stroke, points=tuple(to(p) for p in stroke.points)) for stroke in shapes.strokes],
        marks=[replace(mark, at=to(mark.at)) for mark in shapes.marks],
        words=[replace(words, at=to(words.at)) for words in shapes.words],
    )


def called(name: str | None, size: str | None) -> str:
    """A piece as sentences call it."""
    return f"{f'piece {name}' if name else 'a piece without a name'}{f', size {size}' if size else ''}"


def piece_of(raw: Raw, right_hand: bool | None) -> tuple[FoundPiece, Asked]:
    """The found piece, and what has to be asked about it.

    ``right_hand`` tells which hand the drawn piece is, None if nobody did. Raises Unreadable
    beyond the limits.
    """
    notes = _Notes(list(raw.notes))
    name = raw.name or "a piece without a name"
    ring = counter_clockwise(raw.outline)
    if len(ring) > MOST_POINTS:
        ring = _thinned(ring, notes)
    strokes, marks = _by_layer(raw)
    _refuse_crowds(raw, strokes, marks)
    fold, lines = _fold(ring, strokes.get(MIRROR, []), notes)
    grain, unsure = _grain(strokes.get(GRAIN, []), marks.get(GRAIN, []))
    lines += [(stroke.points, stroke.closed) for stroke in strokes.get(INNER, [])]
    lines += [(stroke.points, stroke.closed) for stroke in strokes.get(SEW, [])]
    cut_outs = [(stroke.points, stroke.closed) for stroke in strokes.get(CUT_OUT, [])]
    if cut_outs:
        notes.add(
            f"It has {_many(len(cut_outs), 'inner cut-out')} (layer 11), kept as inner lines: the layout "
            "does not use the cloth inside, and you cut them out yourself."
        )
        lines += cut_outs
    if raw.inner:
        notes.add(f"{_many(len(raw.inner), 'closed outline')} inside it kept as inner lines, not cut.")
        lines += [(points, True) for points in raw.inner]
    notches = _notches(ring, strokes, marks, raw.fields.other, notes)
    drills = _drills(ring, strokes.get(DRILL, []), marks.get(DRILL, []), notes)
    cuts, needed = _cuts(raw.fields, fold is not None, notes)
    said = [read_words(word.text) for word in raw.fields.other]
    if raw.fields.get("quantity") is None:
        cuts = united(said) or cuts
        for one in said:
            for note in one.notes if one.cuts or one.asked else ():
                notes.add(note)
    allowance = next((one.allowance for one in said if one.allowance), None) if raw.plain else None
    _tell(raw, strokes, notes)
    asked = Asked(head=(name,) if unsure else ())
    across = 1.0
    if needed is not None and not (grain and is_symmetric(ring, grain, nap=True)):
        if right_hand is None:
            asked = replace(asked, hand=(name,))
        elif right_hand != (needed == "right"):
            across = -1.0
            notes.add(
                f"Drawn as the {'right' if right_hand else 'left'} hand and cut as the {needed} one: "
                "the drawing is turned over here."
            )

    left, top = min(across * x for x, _ in ring), max(y for _, y in ring)

    def out(point: Point) -> Point:
        return across * point[0] - left, top - point[1]

    corners = [mark.at for mark in marks.get(CURVE, [])]
    outline = smooth_path(ring, corners, out, notes.add) or path_data(out(p) for p in ring)
    return (
        FoundPiece(
            outline=outline,
            name=raw.name,
            size=raw.size,
            grain=(out(grain[0]), out(grain[1])) if grain else None,
            fold=(out(fold[0]), out(fold[1])) if fold else None,
            notches=tuple(FoundNotch(out(notch.at), notch.name) for notch in notches),
            drills=tuple(out(point) for point in drills),
            lines=tuple(path_data((out(p) for p in points), closed) for points, closed in lines),
            cuts=cuts,
            asked=next((one.asked for one in said if one.asked), None),
            number=next((one.number for one in said if one.number), None),
            seam_allowance=allowance,
            notes=tuple(notes.said),
        ),
        asked,
    )


def _by_layer(raw: Raw) -> tuple[dict[int, list[Stroke]], dict[int, list[Mark]]]:
    strokes: dict[int, list[Stroke]] = {}
    marks: dict[int, list[Mark]] = {}
    for stroke in raw.shapes.strokes:
        number = raw.meaning(stroke.layer)
        if number is None and raw.plain:
            number = INNER
        if number is not None:
            strokes.setdefault(number, []).append(stroke)
    for mark in raw.shapes.marks:
        number = raw.meaning(mark.layer)
        if number is not None:
            marks.setdefault(number, []).append(mark)
    return strokes, marks


def _refuse_crowds(
    raw: Raw, strokes: Mapping[int, Sequence[Stroke]], marks: Mapping[int, Sequence[Mark]]
) -> None:
    for numbers, what in ((NOTCHES, "notches"), ((DRILL,), "drill holes")):
        points = sum(len(stroke.points) for number in numbers for stroke in strokes.get(number, ()))
        if max(points / 4, sum(len(marks.get(number, ())) for number in numbers)) > MOST_MARKS:
            raise Unreadable(f"has more than {MOST_MARKS} {what}; draw fewer, each as a point")
    inner = sum(len(strokes.get(number, ())) for number in (MIRROR, INNER, CUT_OUT, SEW)) + len(raw.inner)
    if inner > MOST_LINES:
        raise Unreadable(f"has more than {MOST_LINES:,} inner lines; leave hatchings out")


def _thinned(ring: tuple[Point, ...], notes: _Notes) -> tuple[Point, ...]:
    """The outline with no more points than pattern files allow, at a loss that nobody can cut."""
    from shapely import Polygon

    for tolerance in (0.002, 0.01, 0.05):
        kept = Polygon(ring).simplify(tolerance).exterior.coords[:-1]
        if 3 <= len(kept) <= MOST_POINTS:
            notes.add(
                f"The outline has {len(ring)} points; {len(kept)} within {tolerance:g} mm of it are kept."
            )
            return counter_clockwise([(float(x), float(y)) for x, y in kept])
    raise Unreadable(f"has an outline of {len(ring):,} points that cannot be thinned; draw it with fewer")


def _fold(
    ring: tuple[Point, ...], mirrors: Sequence[Stroke], notes: _Notes
) -> tuple[tuple[Point, Point] | None, list[tuple[tuple[Point, ...], bool]]]:
    """The fold edge, if a mirror line lies on the edge; mirror lines elsewhere come back as inner lines."""
    fold: tuple[Point, Point] | None = None
    elsewhere: list[tuple[tuple[Point, ...], bool]] = []
    for i, stroke in enumerate(mirrors):
        line = (stroke.points[0], stroke.points[-1])
        edge = _fold_edge(ring, line) if i < MOST_MIRRORS and math.dist(*line) > TOUCHES else None
        if edge is not None and fold is None:
            fold = edge
        elif edge is None or edge != fold:
            elsewhere.append((stroke.points, stroke.closed))
    if elsewhere:
        notes.add(
            "A mirror line (layer 6) runs inside the piece and not along its edge: the piece is taken as "
            "drawn whole, and the line kept as an inner line."
        )
    return fold, elsewhere


def _fold_edge(ring: tuple[Point, ...], line: tuple[Point, Point]) -> tuple[Point, Point] | None:
    edge = fold_edge_of(ring, line, TOUCHES / 2)
    if edge is None or math.dist(*edge) < 0.5 * math.dist(*line):
        return None
    straight = straight_stretch(ring, *edge)
    return straight if straight is not None and reaches_across(ring, straight) is None else None


def _grain(strokes: Sequence[Stroke], marks: Sequence[Mark]) -> tuple[tuple[Point, Point] | None, bool]:
    """Tail and head of the longest line; and whether no arrow head at one end tells which is which."""
    if not strokes:
        return None, False
    main = max(strokes, key=lambda stroke: math.dist(stroke.points[0], stroke.points[-1]))
    tail, head = main.points[0], main.points[-1]
    length = math.dist(tail, head)
    if length < SHORTEST_GRAIN:
        return None, False
    ends = [point for stroke in strokes if stroke is not main for point in stroke.points]
    ends += [mark.at for mark in marks]
    at_tail, at_head = (sum(math.dist(point, end) < 0.25 * length for point in ends) for end in (tail, head))
    if at_tail and not at_head:
        return (head, tail), False
    return (tail, head), not (at_head and not at_tail)


def _notches(
    ring: tuple[Point, ...],
    strokes: Mapping[int, Sequence[Stroke]],
    marks: Mapping[int, Sequence[Mark]],
    words: Sequence[Words],
    notes: _Notes,
) -> list[FoundNotch]:
    places = [mark.at for number in NOTCHES for mark in marks.get(number, ())]
    for number in NOTCHES:
        for points in _symbols(strokes.get(number, ())):
            if not any(math.dist(point, place) <= SYMBOL / 2 for point in points for place in places):
                places.append(_foot(ring, points))
    found: list[FoundNotch] = []
    names = _names(words)
    moved = lost = 0
    for place in places:
        distance, _, foot = nearest_on_ring(place, ring)
        if distance > NEAR:
            lost += 1
            continue
        # Two notches may stand in one place, if they have two names; a name is used once.
        i = next((i for i, (_, at) in enumerate(names) if math.dist(at, place) <= SAME), None)
        name = None if i is None else names.pop(i)[0]
        if name is not None or not any(math.dist(foot, other.at) <= SAME for other in found):
            moved += distance > TOUCHES
            found.append(FoundNotch(foot, name))
    if moved:
        notes.add(f"{_many(moved, 'notch', 'notches')} up to {NEAR:g} mm off the edge moved onto it.")
    if lost:
        notes.add(f"{_many(lost, 'notch', 'notches')} more than {NEAR:g} mm off the edge left out.")
    return found


def _symbols(strokes: Iterable[Stroke]) -> list[list[Point]]:
    """Points of the strokes that make one symbol: strokes that have a point within 0.1 mm in common."""
    groups: list[list[Point]] = []
    for stroke in strokes:
        touching = [
            group for group in groups if any(math.dist(p, q) <= 0.1 for p in stroke.points for q in group)
        ]
        merged = [*stroke.points, *(point for group in touching for point in group)]
        groups = [group for group in groups if group not in touching]
        groups.append(merged)
    return groups


def _foot(ring: tuple[Point, ...], points: Sequence[Point]) -> Point:
    """Where a symbol stands on the edge: the middle of its points there, or else its nearest point."""
    on = [point for point in points if nearest_on_ring(point, ring)[0] <= TOUCHES]
    if on and all(math.dist(on[0], other) <= SYMBOL for other in on):
        return sum(x for x, _ in on) / len(on), sum(y for _, y in on) / len(on)
    return min(points, key=lambda point: nearest_on_ring(point, ring)[0])


def _names(words: Sequence[Words]) -> list[tuple[str, Point]]:
    """Names of notches, and where they are written."""
    found = ((_NOTCH_NAME.fullmatch(word.text), word.at) for word in words)
    return [(match[1].strip(), at) for match, at in found if match][:MOST_MARKS]


def _drills(
    ring: tuple[Point, ...], strokes: Sequence[Stroke], marks: Sequence[Mark], notes: _Notes
) -> list[Point]:
    from shapely import Point as Spot
    from shapely import Polygon

    places = [mark.at for mark in marks]
    for points in _symbols(strokes):
        middle = (
            (min(x for x, _ in points) + max(x for x, _ in points)) / 2,
            (min(y for _, y in points) + max(y for _, y in points)) / 2,
        )
        if not any(math.dist(middle, place) <= SYMBOL / 2 for place in places):
            places.append(middle)
    found: list[Point] = []
    lost = 0
    piece = Polygon(ring)
    for place in places:
        if piece.distance(Spot(place)) > 0.9 * TOUCHES:
            lost += 1
        elif place not in found:
            found.append(place)
    if lost:
        notes.add(f"{_many(lost, 'drill hole')} outside the piece left out.")
    return found


def _cuts(fields: Fields, folded: bool, notes: _Notes) -> tuple[tuple[FoundCut, ...] | None, str | None]:
    """The cuts, None if the file does not say; and the hand of which more is cut, None if of both alike."""
    material = fields.get("material")
    if material is not None and material.isupper():
        material = material.lower()
    text = fields.get("quantity")
    if text is None:
        return ((FoundCut(material),) if material else None), None
    quantity = quantity_of(text)
    if quantity is None:
        notes.add(f'"Quantity: {text}" is no count of right and left pieces, so the count is left blank.')
        return (FoundCut(material),), None
    if quantity.total == 0:
        notes.add("Its quantity is 0: it is taken as a guide that is never cut.")
        return (), None
    if folded:
        return (FoundCut(material, quantity.total, "on fold"),), None
    if quantity.left is None:
        if quantity.right > 1:
            notes.add(
                f"Quantity {quantity.right} does not say how many of them are left and right hands; write "
                'how = "mirrored" or how = "alike".'
            )
        return (FoundCut(material, quantity.right, "alike" if quantity.right == 1 else None),), None
    pairs, more = min(quantity.right, quantity.left), abs(quantity.right - quantity.left)
    parts: list[tuple[int, How]] = [(2 * pairs, "mirrored"), (more, "alike")]
    needed = None if not more else "right" if quantity.right > quantity.left else "left"
    return tuple(FoundCut(material, count, how) for count, how in parts if count), needed


def _tell(raw: Raw, strokes: Mapping[int, Sequence[Stroke]], notes: _Notes) -> None:
    """Sentences on what the drawing says beyond what a pattern file holds."""
    for key in ("annotation", "category", "rotation", "flip", "tilt", "fold"):
        value = raw.fields.get(key)
        if value is not None and value.lower() not in ("none", "n", "no", "0"):
            notes.add(f"{key.capitalize()}: {value}")
    other = [word.text for word in raw.fields.other if not _NOTCH_NAME.fullmatch(word.text)]
    for text in other[:_TOLD]:
        notes.add(f'Text on the piece: "{text[:200]}"')
    if len(other) > _TOLD:
        notes.add(f"{len(other) - _TOLD} more texts on the piece.")
    if SEW in strokes:
        notes.add("Sew lines (layer 14) kept as inner lines; the boundary is the cutting line.")


def _many(count: int, one: str, more: str | None = None) -> str:
    return f"{count} {one if count == 1 else more or one + 's'}"
