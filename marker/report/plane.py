"""A lay drawn in its true size on an endless sheet.

``full_size`` cuts the sheet into pages. Millimetres; x along the length of the cloth, y across.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
import shapely

from marker.model.job import Job
from marker.model.layout import MaterialLayout, Placement
from marker.model.piece import Notch, Point
from marker.report import marks
from marker.report.chart import in_laying_order, title
from marker.report.cloths import answer_words, cloth_title, cloth_words, missing_words
from marker.report.compose import count_words, middle_of
from marker.report.console import capital, size_words
from marker.report.ground import inner_edges, spread_of, stretches
from marker.report.labels import Label, Line, Space, wrappings
from marker.report.measure import System, length
from marker.report.sheet_canvas import Box, Fill, Item, Stroke, Words, cross

CUT = 0.45
FINE = 0.25
SOFT = 0.45
"""Line widths in millimetres, and the grey of what is not cut."""

FOLD_DASH = (20.0, 3.0, 4.0, 3.0)
EDGE_DASH = (14.0, 3.0)
"""Edges of the cloth are dashed, so that nobody takes them for a line to cut paper along."""
STITCH_DASH = (3.0, 1.5)
REGION_DASH = (8.0, 2.0, 1.5, 2.0)

NOTCH = 6.0
ARROW = 9.0
BRACKET = 5.0
"""Depth of a notch mark, length of an arrow head, and how many times as large as in a picture of a
lay the fold bracket is."""

SIZES = {
    "full": (26.0, 22.0, 19.0, 16.0, 14.0, 12.0),
    "medium": (16.0, 14.0, 12.0, 11.0, 10.0, 9.0),
    "short": (14.0, 12.0, 10.0, 9.0, 8.0, 7.0, 6.0),
    "number": (12.0, 10.0, 8.0, 7.0, 6.0, 5.0),
}
"""Points at which a label that tells so much may be set."""


@dataclass(frozen=True)
class Shown:
    """One outline on the sheet: its shape (shapely), its number, its name and where its label stands."""

    shape: Any
    number: str
    name: str
    label: Label | None


@dataclass(frozen=True)
class Plane:
    """The endless sheet. ``extent`` is left, bottom, right, top of what has to be shown."""

    title: str
    about: tuple[str, ...]
    extent: Box
    items: tuple[Item, ...]
    shown: tuple[Shown, ...]
    system: System

    @cached_property
    def _boxes(self) -> Any:
        return np.array([item.bounds for item in self.items]).reshape(-1, 4)

    @cached_property
    def _tree(self) -> Any:
        return shapely.STRtree([one.shape for one in self.shown])

    def items_in(self, box: Box) -> list[Item]:
        """What may leave ink in a box (left, bottom, right, top), in drawing order."""
        b = self._boxes
        hit = (b[:, 0] <= box[2]) & (b[:, 2] >= box[0]) & (b[:, 1] <= box[3]) & (b[:, 3] >= box[1])
        return [self.items[k] for k in np.flatnonzero(hit)]

    def shown_in(self, shape: Any) -> list[Shown]:
        """The outlines that a shapely shape meets, in order."""
        return [self.shown[k] for k in sorted(self._tree.query(shape, predicate="intersects"))]


def lay_plane(material: MaterialLayout, job: Job) -> Plane:
    """The lay of one material as it lies on the cloth (after washing), edges of the cloth and all."""
    fabric = job.fabrics[material.material]
    low = min(s.low.y for s in stretches(material))
    high = max(s.high.y for s in stretches(material))
    begin = min(b.x[0] for b in material.bands)
    end = max(b.x[1] for b in material.bands)
    items: list[Item] = []
    _cloth(items, material)
    shown: list[Shown] = []
    known: dict[object, tuple[Label | None, int, Point]] = {}
    for order, placement in enumerate(in_laying_order(material), start=1):
        shown.append(_placement(items, placement, order, job, known))
    for ring in material.obstacles:
        shape = shapely.Polygon(ring)
        items += [Stroke(tuple(line), FINE, SOFT) for line in marks.hatching(shape, 8.0, 45.0)]
        items.append(Stroke(ring, CUT, SOFT, closed=True))
    view = f", view {job.view}" if job.view else ""
    many = f", {job.quantity} garments" if job.quantity > 1 else ""
    words = spread_of(material, fabric.system)
    answer = answer_words(material, fabric)
    about: tuple[str, ...] = (
        f"{cloth_words(material, fabric)}: {answer[0].lower()}{answer[1:]}.",
        f"{capital(material.lay)}" + (f": {words}." if words != material.lay else "."),
        f"The lay takes {length(material.length, fabric.system)} of the washed cloth.",
    )
    name = f"{job.pattern}, {size_words(job.size)}{view}{many}: {cloth_title(material)}"
    if material.missing:
        about += (f"No room for {missing_words(material)}.",)
    return Plane(name, about, (begin, low, end, high), tuple(items), tuple(shown), fabric.system)


def _cloth(items: list[Item], material: MaterialLayout) -> None:
    """The edges of the cloth: fold lines heavy, selvages and cut ends thin, each with its name."""
    for stretch in stretches(material):
        x0, x1 = stretch.start, stretch.end
        for edge in (stretch.low, stretch.high, *inner_edges(material, stretch)):
            fold = edge.name == "fold"
            dash = FOLD_DASH if fold else EDGE_DASH
            items.append(
                Stroke(((x0, edge.y), (x1, edge.y)), 0.9 if fold else FINE, 0.0 if fold else SOFT, dash)
            )
            y = edge.y + (-5.2 if edge.y > (stretch.low.y + stretch.high.y) / 2 else 2.0)
            count = max(1, int((x1 - x0) // 180))
            for k in range(count):
                x = x0 + (k + 0.5) * (x1 - x0) / count
                items.append(Words((x, y), edge.name, 9, bold=fold, grey=SOFT))
        for x in (x0, x1):
            items.append(Stroke(((x, stretch.low.y), (x, stretch.high.y)), FINE, SOFT, EDGE_DASH))
        for band in (material.bands[i] for i in stretch.bands):
            if band.fold_across is not None:
                x, (low, high) = band.fold_across, band.y
                items.append(Stroke(((x, low), (x, high)), 0.9, 0.0, FOLD_DASH))


def _placement(
    items: list[Item],
    placement: Placement,
    order: int,
    job: Job,
    known: dict[object, tuple[Label | None, int, Point]],
) -> Shown:
    shape = shapely.Polygon(placement.outline, placement.holes)
    facts = [
        count_words(placement),
        *(["face down"] if placement.mirrored else []),
        f"line {order} of the chart",
    ]
    heading = title(placement.piece, placement.name, placement.region)
    edge = placement.fold_edge if placement.on_fold else None
    middle = (placement.fold_edge or middle_of(placement, job)) if placement.opened else None
    corner = placement.outline[0]
    p = placement
    like = (
        *(p.piece, p.region, p.mirrored, p.rotation, p.copies, p.spare, p.on_fold, len(str(order))),
        tuple((round(x - corner[0], 1), round(y - corner[1], 1)) for x, y in placement.outline),
    )
    ready = None
    if like in known:
        ready = _moved(*known[like], order, corner)
    label = draw_piece(
        items,
        shape,
        grain=placement.grain,
        notches=placement.notches,
        drills=placement.drills,
        lines=placement.lines,
        fold=edge,
        middle=middle,
        words=wordings(heading, job.pattern, job.size, facts),
        ready=ready,
    )
    known.setdefault(like, (label, order, corner))
    return Shown(shape, placement.piece, heading, label)


def _moved(label: Label | None, old: int, corner: Point, order: int, now: Point) -> Label | None:
    if label is None:
        return None
    lines = tuple(
        line if line.bold else Line(line.text.replace(f"line {old} of", f"line {order} of"))
        for line in label.lines
    )
    at = (label.at[0] + now[0] - corner[0], label.at[1] + now[1] - corner[1])
    return replace(label, lines=lines, at=at)


def wordings(heading: str, pattern: str, size: str, facts: Sequence[str]) -> dict[str, list[list[Line]]]:
    """What a label may say, from everything to the mere number."""
    size = size_words(size)
    found: dict[str, list[list[Line]]] = {"full": [], "medium": [], "short": []}
    for top in wrappings(heading.split(), 3):
        lines = [Line(text, bold=True) for text in top]
        found["full"].append([*lines, Line(f"{pattern}, {size}"), *map(Line, facts)])
        found["medium"].append([*lines, Line(size), *map(Line, facts)])
        found["medium"].append([*lines, Line(f"{size}, {', '.join(facts)}")])
        found["short"].append([*lines, Line(size)])
        if len(top) == 1:
            found["short"].append([Line(f"{heading}, {size}, {', '.join(facts)}", bold=True)])
            found["short"].append([Line(f"{heading}, {size}", bold=True)])
    found["number"] = [[Line(heading.split()[0], bold=True)]]
    return found


def draw_piece(
    items: list[Item],
    shape: Any,
    *,
    grain: tuple[Point, Point],
    notches: Sequence[Notch],
    drills: Sequence[Point],
    lines: Sequence[Sequence[Point]],
    fold: tuple[Point, Point] | None,
    middle: tuple[Point, Point] | None,
    words: dict[str, list[list[Line]]],
    ready: Label | None = None,
    stitching: Sequence[Point] = (),
    regions: Mapping[str, Sequence[Point]] | None = None,
    places: Sequence[Notch] = (),
    fold_words: str = "on the fold",
    clear_of: Sequence[Any] = (),
) -> Label | None:
    """Draw one piece and its marks; returns the label, set where none of them is.

    ``stitching`` is drawn where it is not the cutting line, each of ``regions`` with its name, and
    ``places`` are named points inside the piece. The label also keeps clear of the shapes ``clear_of`` if
    it can.
    """
    busy: list[Any] = [*clear_of]
    for ring in (shape.exterior, *shape.interiors):
        items.append(Stroke(tuple(ring.coords[:-1]), CUT, closed=True))
    if stitching:
        inner = shapely.LinearRing(stitching).difference(shape.exterior.buffer(0.05))
        for part in marks.lines_of(shapely.line_merge(inner)):
            items.append(Stroke(tuple(part), FINE, 0.2, STITCH_DASH))
        busy.append(inner.buffer(1.5))
    for name, region in (regions or {}).items():
        items.append(Stroke(tuple(region), FINE, 0.2, REGION_DASH, closed=True))
        busy.append(shapely.LinearRing(region).buffer(2.0))
        word = _inside_word(name, shapely.Polygon(region))
        if word is not None:
            items.append(word)
            busy.append(_word_box(word))
    for place in places:
        items += cross(place.at, 2.5)
        busy.append(shapely.Point(place.at).buffer(4.0))
        word = Words((place.at[0], place.at[1] + 4.0), place.name, 8.0, grey=0.2)
        if shape.covers(_word_box(word)):
            items.append(word)
            busy.append(_word_box(word))
    for line in lines:
        if len(line) > 1:
            items.append(Stroke(tuple(line), FINE, 0.2, (5.0, 2.5)))
            busy.append(shapely.LineString(line).buffer(2.0))
    for notch in notches:
        tick = marks.notch_mark(notch.at, shape, NOTCH)
        if tick is None:
            continue
        items.append(Stroke(tick, CUT))
        busy.append(shapely.LineString(tick).buffer(2.0))
        word = _notch_word(notch.name, tick, shape)
        if word is not None:
            items.append(word)
            busy.append(shapely.Point(word.at[0], word.at[1] + 1.0).buffer(word.width / 2 + 2.0))
    for x, y in drills:
        if shape.buffer(1.0).contains(shapely.Point(x, y)):
            items += cross((x, y), 4.0)
            busy.append(shapely.Point(x, y).buffer(6.0))
    if fold is not None:
        bracket = marks.fold_bracket(fold, shape, BRACKET)
        if bracket is not None:
            items.append(Stroke(tuple(bracket[0]), 0.4))
            items += [Fill(tuple(head)) for head in bracket[1]]
            busy.append(shapely.LineString(bracket[0]).buffer(4.0))
            items.append(_along(bracket[0][1], bracket[0][2], fold_words, shape))
            busy.append(shapely.LineString(bracket[0][1:3]).buffer(7.0))
    if middle is not None:
        items.append(Stroke(middle, FINE, 0.2, (12.0, 3.0, 3.0, 3.0)))
        busy.append(shapely.LineString(middle).buffer(2.0))
    arrow = marks.arrow_line(grain, shape)
    if arrow is not None:
        head = min(ARROW, 0.4 * math.dist(*arrow))
        if math.dist(*arrow) > head:
            items.append(Stroke(marks.stretch(arrow, 0.0, 1.0 - 0.8 * head / math.dist(*arrow)), 0.3))
        items.append(Fill(tuple(marks.arrow_head(arrow, head))))
    label = ready
    if label is None:
        label = _label(shape, busy, arrow, words)
    if label is not None:
        items += [
            Words((x, y), line.text, label.size, line.bold, label.angle) for line, x, y in label.baselines()
        ]
    return label


def _label(
    shape: Any, busy: Sequence[Any], arrow: marks.Segment | None, words: dict[str, list[list[Line]]]
) -> Label | None:
    taken = shapely.union_all(list(busy))
    along = shapely.LineString(arrow).buffer(3.5) if arrow is not None else shapely.Polygon()
    choices = [
        shape.buffer(-3.0).difference(taken).difference(along),
        shape.buffer(-1.5).difference(taken).difference(along),
        shape.buffer(-1.0).difference(along),
        shape.buffer(-0.5),
    ]
    for level in ("full", "medium", "short", "number"):
        for room in choices[:2] if level in ("full", "medium") else choices:
            label = Space(room).fit(words[level], SIZES[level], level_if_possible=level == "number")
            if label is not None:
                return label
    return None


def _inside_word(text: str, shape: Any) -> Words | None:
    """A small word in the roomiest place of a shape, if it fits there."""
    circle = shapely.maximum_inscribed_circle(shape, tolerance=1.0)
    x, y = circle.coords[0]
    word = Words((x, y - 1.0), text, 8.0, grey=0.2)
    return word if shape.covers(_word_box(word)) else None


def _word_box(word: Words) -> Any:
    (x, y), half = word.at, word.width / 2
    return shapely.box(x - half - 1.0, y - 1.0, x + half + 1.0, y + 3.0)


def _notch_word(name: str, tick: marks.Segment, shape: Any) -> Words | None:
    """The name of a notch just beyond its mark, if it fits inside the piece."""
    if not name or len(name) > 12:
        return None
    (ax, ay), (bx, by) = tick
    depth = math.dist(*tick) or 1.0
    size = 8.0
    word = Words((0.0, 0.0), name, size, grey=0.2)
    reach = word.width / 2 + 1.8
    x, y = bx + (bx - ax) / depth * reach, by + (by - ay) / depth * reach
    box = shapely.box(x - word.width / 2, y - 1.4, x + word.width / 2, y + 1.4)
    if not shape.buffer(-0.8).covers(box):
        return None
    return replace(word, at=(x, y - 1.0))


def _along(start: Point, end: Point, text: str, shape: Any) -> Words:
    """Small words beside a line, on its inner side and readable from below or from the right."""
    angle = math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))
    nx, ny = marks.inward((start, end), shape)
    if angle > 90.0 + 1e-6:
        angle -= 180.0
    elif angle <= -90.0 + 1e-6:
        angle += 180.0
    turn = math.radians(angle)
    # Above the line as one reads it, or below it, whichever is inside.
    inside = -math.sin(turn) * nx + math.cos(turn) * ny
    up = 1.8 if inside > 0 else -4.6
    x, y = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
    return Words((x - up * math.sin(turn), y + up * math.cos(turn)), text, 9, angle=angle, grey=0.2)
