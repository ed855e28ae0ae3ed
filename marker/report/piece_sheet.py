"""Every piece drawn with its measurements, so that an error in a pattern file catches the eye."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from shapely import affinity

from marker.errors import InputError
from marker.model.job import Job
from marker.model.pattern import Pattern
from marker.model.piece import Piece, Point
from marker.report import marks
from marker.report.chart import title
from marker.report.console import size_words
from marker.report.labels import POINT, text_width
from marker.report.measure import System, position, position_unit, position_word
from marker.report.measured import SAME, EdgeMeasure, Measured, measure
from marker.report.picture import HATCH, INK, TINTS, Pen, blank_page, pages_pdf
from marker.report.pieces import in_words
from marker.report.sheet_canvas import wrapped

MARGIN = 10.0
GAP = 6.0
HEAD = 17.0
TALL, WIDE, FAMILY = 124.0, 70.0, 110.0
"""Heights of a row of two pieces, of a row for one wide piece, and of all pieces at one scale."""
ASPECT = 2.0
"""A piece this many times as wide as it is high has a row to itself."""

BORDER = 13.0
"""Millimetres of paper round a piece for what is written beside it."""
NUMBER, SMALL = 7.5, 6.5
MOST_NAMED = 40
"""Corners, edges and notches of a piece that are told each by itself."""
SCALES = (1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50, 60, 80, 100, 150, 200)


def piece_sheet_pdf(source: Job | Pattern, size: str | None = None) -> bytes:
    """All pieces of a job, or of one size of a pattern, as a PDF file (A4, Letter for inches).

    ``size`` is needed for a pattern with several. The same pieces give the same bytes. Raises
    InputError for a size the pattern does not have.
    """
    figures = piece_sheets(source, size)
    return pages_pdf(figures, source.name if isinstance(source, Pattern) else source.pattern)


def piece_sheets(source: Job | Pattern, size: str | None = None) -> list[Any]:
    """The pages as matplotlib figures."""
    pieces, name, size = chosen(source, size)
    fabric = next(iter(source.fabrics.values()), None)
    system: System = fabric.system if fabric else "metric"
    width, height = (215.9, 279.4) if system == "imperial" else (210.0, 297.0)
    measured = [measure(piece) for piece in pieces]
    rows = _rows(measured)
    figures: list[Any] = []
    pen: Pen | None = None
    y = 0.0
    for row in rows:
        high = _row_height(row)
        if pen is None or y - high < MARGIN:
            figure, pen = blank_page(width, height)
            figures.append(figure)
            y = height - MARGIN
            pen.level(MARGIN, y - 3.0, f"{name}, {size_words(size)}", 14, bold=True, across="left")
            about = f"pieces with their measurements in {position_word(system)}"
            pen.level(width - MARGIN, y - 3.0, about, 8, across="right")
            pen.line([(MARGIN, y - 7.0), (width - MARGIN, y - 7.0)], 0.8)
            y -= 10.0
            if len(figures) == 1:
                y -= _legend(pen, MARGIN, y, width - 2 * MARGIN, measured, system)
                room = (MARGIN, y - FAMILY, width - 2 * MARGIN, FAMILY)
                _family(pen, measured, room)
                y -= FAMILY + GAP
        wide = (width - 2 * MARGIN - GAP) / 2 if len(row) == 2 or high == TALL else width - 2 * MARGIN
        for k, one in enumerate(row):
            _cell(pen, one, (MARGIN + k * (wide + GAP), y - high, wide, high), system)
        y -= high + GAP
    return figures


def chosen(source: Job | Pattern, size: str | None) -> tuple[Sequence[Piece], str, str]:
    """The pieces, what the pattern is called, and the size. Raises InputError."""
    if isinstance(source, Job):
        return source.pieces, source.pattern, source.size
    if size is None:
        if len(source.sizes) > 1:
            raise InputError(f"{source.path}: which size? Choose one of {', '.join(source.sizes)}.")
        size = source.sizes[0]
    if size not in source.pieces:
        raise InputError(f"{source.path}: there is no size {size}; choose one of {', '.join(source.sizes)}.")
    return source.pieces[size], source.name, size


def _rows(measured: Sequence[Measured]) -> list[list[Measured]]:
    """Pieces two to a row, wide ones alone; in the pattern's order but for the one that waits for a pair."""
    rows: list[list[Measured]] = []
    waiting: list[Measured] | None = None
    for one in measured:
        if _is_wide(one):
            rows.append([one])
        elif waiting is None:
            waiting = [one]
            rows.append(waiting)
        else:
            waiting.append(one)
            waiting = None
    return rows


def _is_wide(one: Measured) -> bool:
    x0, y0, x1, y1 = one.box
    return (x1 - x0) > ASPECT * (y1 - y0)


def _row_height(row: Sequence[Measured]) -> float:
    return WIDE if _is_wide(row[0]) else TALL


def _legend(
    pen: Pen, left: float, top: float, wide: float, measured: Sequence[Measured], system: System
) -> float:
    """How to read the drawings; returns the height it takes."""
    text = (
        f"Numbers beside the edges are their lengths from corner to corner in {position_word(system)}, "
        "~ those of curves; small figures count the corners. "
    )
    if any(one.piece.added for one in measured):
        text += (
            "The heavy line is the stitching line as drawn, the fine line round it the cutting line; "
            "+ is the allowance between them where it is not the one named below the piece. "
        )
    if any(one.piece.included and one.piece.stitching for one in measured):
        text += "Where the cutting line was drawn, the fine line inside it is the stitching line. "
    text += "Compare every number with the paper: one that was mistyped shows here."
    lines = wrapped(text, wide, SMALL)
    for k, line in enumerate(lines):
        pen.level(left, top - 1.6 - 3.1 * k, line, SMALL, across="left")
    return 3.1 * len(lines) + 2.0


def _family(pen: Pen, measured: Sequence[Measured], room: tuple[float, float, float, float]) -> None:
    """All pieces at one scale, in rows: a piece ten times too large is seen at once."""
    left, bottom, wide, high = room
    boxes = [shapely.Polygon(one.piece.outline).bounds for one in measured]
    low_scale, scale = 0.0, 1.0
    for _ in range(40):
        middle = (low_scale + scale) / 2 if low_scale else scale / 2
        if _shelves(boxes, middle, wide, high) is None:
            scale = middle
        else:
            low_scale = middle
    places = _shelves(boxes, low_scale, wide, high)
    assert places is not None
    for one, box, (x, y) in zip(measured, boxes, places, strict=True):
        k = low_scale
        ring = [
            (left + x + (px - box[0]) * k, bottom + y + (py - box[1]) * k) for px, py in one.piece.outline
        ]
        pen.area(ring, TINTS[1], 2.0)
        pen.line([*ring, ring[0]], 0.5)
        shape = shapely.Polygon(ring)
        spot = shape.centroid
        if not shape.buffer(-1.0).contains(spot):
            spot = shapely.Point(shapely.maximum_inscribed_circle(shape, tolerance=0.5).coords[0])
        pen.level(spot.x, spot.y, one.piece.number, 6.0, bold=True)
    words = f"All pieces at one scale, 1:{1 / low_scale:.0f}"
    pen.level(left + wide, bottom + 1.5, words, SMALL, across="right")


def _shelves(
    boxes: Sequence[tuple[float, float, float, float]], scale: float, wide: float, high: float
) -> list[Point] | None:
    places: list[Point] = []
    x, y, tall = 0.0, high, 0.0
    for x0, y0, x1, y1 in boxes:
        w, h = (x1 - x0) * scale, (y1 - y0) * scale
        if x > 0 and x + w > wide:
            x, y, tall = 0.0, y - tall - 2.0, 0.0
        if w > wide or y - h < 4.0:
            return None
        places.append((x, y - h))
        x += w + 3.0
        tall = max(tall, h)
    return places


@dataclass(frozen=True)
class View:
    """From the piece's millimetres to the page's."""

    scale: float
    dx: float
    dy: float

    def at(self, point: Point) -> Point:
        return self.dx + point[0] * self.scale, self.dy + point[1] * self.scale

    def all(self, points: Sequence[Point]) -> list[Point]:
        return [self.at(p) for p in points]


def _cell(pen: Pen, one: Measured, box: tuple[float, float, float, float], system: System) -> None:
    left, bottom, wide, high = box
    piece = one.piece
    pen.line([(left, bottom), (left + wide, bottom)], 0.4, HATCH)
    below: list[str] = []
    for text in _notes(one, system):
        below += wrapped(text, wide - 2.0, SMALL)
    foot = bottom + 2.5 + 3.1 * len(below)
    top = bottom + high
    heading = title(piece.number, piece.name)
    pen.level(left, top - 2.6, heading, 10, bold=True, across="left")
    cuts = "; ".join(f"{in_words(cut, 1)} in {cut.material}" for cut in piece.cuts) or "guide, not cut"
    lines = wrapped(f"Cut {cuts}." if piece.cuts else "Guide, never cut.", wide, SMALL)
    for k, line in enumerate(lines):
        pen.level(left, top - 7.0 - 3.1 * k, line, SMALL, across="left")
    roof = top - 7.0 - 3.1 * len(lines)
    x0, y0, x1, y1 = shapely.Polygon(piece.outline).bounds
    room_x, room_y = wide - 2 * BORDER, max(roof - foot - 2 * BORDER + 4.0, 10.0)
    fits = min(room_x / (x1 - x0), room_y / (y1 - y0))
    scale = 1 / next((s for s in SCALES if 1 / s <= fits), 1 / fits)
    pen.level(left + wide, top - 2.6, f"1:{1 / scale:g}", SMALL, across="right")
    middle_x, middle_y = left + wide / 2 + 2.0, (roof + foot) / 2 + 1.0
    view = View(scale, middle_x - scale * (x0 + x1) / 2, middle_y - scale * (y0 + y1) / 2)
    for k, line in enumerate(below):
        pen.level(left, foot - 2.0 - 3.1 * k, line, SMALL, across="left")
    _drawing(pen, one, view, (left, foot, left + wide, roof), system)


def usual_allowance(one: Measured) -> float | None:
    """The allowance that most of the outline has, ``None`` where none is added."""
    lengths: dict[float, float] = {}
    for edge in one.edges:
        if edge.allowance is not None and edge.allowance[1] - edge.allowance[0] <= SAME:
            width = round(edge.allowance[1], 1)
            lengths[width] = lengths.get(width, 0.0) + edge.length
    return max(lengths, key=lambda width: lengths[width]) if lengths else None


def edge_text(edge: EdgeMeasure, usual: float | None, system: System) -> str:
    """What is written at an edge: its length, and its allowance if that is not the usual one."""
    text = ("" if edge.straight else "~") + position(edge.length, system)
    if edge.fold:
        return f"{text} fold"
    if edge.allowance is None:
        return text
    low, high = edge.allowance
    if usual is None or abs(low - usual) > SAME or abs(high - usual) > SAME:
        text += f" +{position(low, system)}"
        if high - low > SAME:
            text += f" to {position(high, system)}"
    return text


def _notes(one: Measured, system: System) -> list[str]:
    """Facts in words below the drawing."""
    unit = position_unit(system)
    x0, y0, x1, y1 = one.box
    drawn = f"{position(x1 - x0, system)} wide and {position(y1 - y0, system)} high as drawn"
    usual = usual_allowance(one)
    if not one.piece.added:
        found = [f"{drawn}: this is the cutting line."]
    else:
        cx0, cy0, cx1, cy1 = shapely.Polygon(one.piece.outline).bounds
        all_round = f"allowance {position(usual, system)}" if usual is not None else "allowances as written"
        found = [f"{drawn}, {all_round}; {position(cx1 - cx0, system)} × {position(cy1 - cy0, system)} cut."]
    texts = []
    for notch in one.notches[:MOST_NAMED]:
        edge = one.edges[notch.edge]
        name = notch.name or "notch"
        if min(notch.after_start, notch.before_end) < 0.5:
            corner = edge.start if notch.after_start < notch.before_end else edge.end
            texts.append(f"{name} at corner {corner + 1}")
        else:
            texts.append(
                f"{name} {position(notch.after_start, system)} after {edge.start + 1}, "
                f"{position(notch.before_end, system)} before {edge.end + 1}"
            )
    if texts:
        more = len(one.notches) - MOST_NAMED
        found.append(f"Notches: {'; '.join(texts)}{f'; and {more} more' if more > 0 else ''}.")
    if one.piece.drills:
        spots = [f"{position(x - x0, system)} | {position(y1 - y, system)}" for x, y in one.piece.drills]
        more = len(spots) - MOST_NAMED
        told = f"{'; '.join(spots[:MOST_NAMED])}{f'; and {more} more' if more > 0 else ''}"
        found.append(f"Drill points from the left | from the top: {told}.")
    for cut in one.piece.cuts:
        if cut.region:
            rx0, ry0, rx1, ry1 = shapely.Polygon(cut.region).bounds
            size = f"{position(rx1 - rx0, system)} × {position(ry1 - ry0, system)} {unit}"
            text = f"Region {cut.region_name}: {size}."
            if text not in found:
                found.append(text)
    off = grain_off(one.piece)
    if off > 0.05:
        found.append(f"The grain arrow points {off:.1f}° off upright.")
    return found


def grain_off(piece: Piece) -> float:
    """Degrees the grain arrow leans from pointing straight up."""
    (ax, ay), (bx, by) = piece.grain
    return abs(math.degrees(math.atan2(bx - ax, by - ay)))


@dataclass
class Words:
    """Text set beside something on the page: the middle of its box, its angle; ``foot`` is where a
    line leads that joins it to what it tells about."""

    text: str
    at: Point
    angle: float
    size: float
    bold: bool = False
    foot: Point | None = None

    def box(self, margin: float = 0.25) -> Any:
        """The turned box as a polygon, ``margin`` wider on every side."""
        half_x = text_width(self.text, self.size, self.bold) / 2 + margin
        half_y = 0.40 * self.size * POINT + margin
        x, y = self.at
        return affinity.rotate(
            shapely.box(x - half_x, y - half_y, x + half_x, y + half_y), self.angle, origin=self.at
        )


class Taken:
    """Boxes of words that are set already, looked through only where they are near."""

    def __init__(self) -> None:
        self._boxes: list[Any] = []
        self._bounds = np.empty((0, 4))

    def add(self, box: Any) -> None:
        self._boxes.append(box)
        self._bounds = np.vstack([self._bounds, box.bounds])

    def covered(self, box: Any) -> float:
        """Square millimetres of ``box`` that lie on them, those where several lie counted for each."""
        near = self._near(box)
        return float(shapely.area(shapely.intersection(near, box)).sum()) if near else 0.0

    def crossed(self, line: Any) -> int:
        """How many of them a line runs through."""
        near = self._near(line)
        return int(np.count_nonzero(shapely.intersects(near, line))) if near else 0

    def _near(self, shape: Any) -> list[Any]:
        x0, y0, x1, y1 = shape.bounds
        left, bottom, right, top = self._bounds.T
        near = np.flatnonzero((left < x1) & (right > x0) & (bottom < y1) & (top > y0))
        return [self._boxes[k] for k in near]


def place_words(
    one: Measured, view: View, frame: tuple[float, float, float, float], system: System
) -> list[Words]:
    """The words on a drawing, none on another nor across a line as far as there is room.

    Of corners, edges and notches ``MOST_NAMED`` each at most: where there are more, nobody could read them.
    """
    shape = shapely.Polygon(view.all(one.ring))
    cutting = shapely.Polygon(view.all(one.piece.outline))
    usual = usual_allowance(one)
    inside_frame = shapely.box(*frame)
    ink: list[Any] = [cutting.exterior.buffer(0.15), shape.exterior.buffer(0.25)]
    for line in one.piece.lines:
        if len(line) > 1:
            ink.append(shapely.LineString(view.all(line)).buffer(0.15))
    for point in one.piece.drills:
        ink.append(shapely.Point(view.at(point)).buffer(1.4))
    arrow = marks.arrow_line((view.at(one.piece.grain[0]), view.at(one.piece.grain[1])), shape)
    if arrow is not None:
        ink.append(shapely.LineString(arrow).buffer(1.0))
    for notch in one.notches:
        ink.append(shapely.Point(view.at(notch.at)).buffer(1.2))
    bracket = _bracket(one, view, shape)
    if bracket is not None:
        ink.append(shapely.LineString(bracket[0]).buffer(0.3))
    ink += [shapely.LineString(line).buffer(1.2) for line, _, _ in _dimensions(one, view, system)]
    drawn = shapely.union_all(ink)
    shapely.prepare(drawn)
    placed: list[Words] = []
    taken = Taken()

    def put(choices: Sequence[Words]) -> None:
        best: tuple[float, Words] | None = None
        for choice in choices:
            box = choice.box()
            cost = 10.0 * taken.covered(box)
            if drawn.intersects(box):
                cost += box.intersection(drawn).area
            if not inside_frame.contains(box):
                cost += box.difference(inside_frame).area * 10
            if choice.foot is not None:
                leader = shapely.LineString([choice.foot, choice.at])
                cost += 5.0 * taken.crossed(leader)
                cost += 0.02 * leader.length
            if best is None or cost < best[0] - 1e-9:
                best = cost, choice
            if cost == 0.0:
                break
        if best is not None:
            placed.append(best[1])
            taken.add(best[1].box())

    if len(one.corners) > 1:
        for k, corner in enumerate(one.corners[:MOST_NAMED]):
            put(_corner_choices(str(k + 1), view.at(corner), shape))
    by_length = sorted(one.edges, key=lambda edge: -edge.length)
    for edge in by_length[:MOST_NAMED]:
        reach = (edge.allowance[1] if edge.allowance else 0.0) * view.scale
        put(_edge_choices(edge_text(edge, usual, system), view.all(edge.points), shape, reach))
    for notch in one.notches[:MOST_NAMED]:
        if notch.name:
            put(_around(notch.name, view.at(notch.at), shape))
    for cut in {cut.region_name: cut for cut in one.piece.cuts if cut.region}.values():
        assert cut.region is not None
        x0, y0, x1, y1 = shapely.Polygon(view.all(cut.region)).bounds
        spots = [(x0 + s * (x1 - x0), y0 + t * (y1 - y0)) for t in (0.5, 0.25, 0.75) for s in (0.5, 0.3, 0.7)]
        put([Words(cut.region_name, spot, 0.0, SMALL) for spot in spots])
    return placed


def _corner_choices(text: str, at: Point, shape: Any) -> list[Words]:
    choices = []
    for reach in (2.2, 3.2):
        spots = [
            (at[0] + reach * math.cos(k * math.tau / 16), at[1] + reach * math.sin(k * math.tau / 16))
            for k in range(16)
        ]
        # Deep inside first: there nothing but the piece itself is in the way.
        spots.sort(key=lambda s: (not shape.contains(shapely.Point(s)), -_depth(s, shape)))
        choices += [Words(text, spot, 0.0, 5.5) for spot in spots]
    return choices


def _depth(spot: Point, shape: Any) -> float:
    return round(float(shape.exterior.distance(shapely.Point(spot))), 2)


def _edge_choices(text: str, points: list[Point], shape: Any, reach: float) -> list[Words]:
    line = shapely.LineString(points)
    choices = []
    for away in (2.2, 3.2, 4.6, 6.5, 9.0, 12.0):
        for share in (0.5, 0.42, 0.58, 0.34, 0.66, 0.25, 0.75):
            foot = line.interpolate(share, normalized=True)
            step = min(1.0, line.length / 8)
            where = line.project(foot)
            one, two = line.interpolate(where - step), line.interpolate(where + step)
            if (one.x, one.y) == (two.x, two.y):
                continue
            nx, ny = marks.inward(((one.x, one.y), (two.x, two.y)), shape)
            angle = math.degrees(math.atan2(two.y - one.y, two.x - one.x))
            angle = (angle + 90.0) % 180.0 - 90.0
            if angle < -89.0:
                angle += 180.0
            for side, distance in ((1.0, away), (-1.0, away + reach)):
                at = (foot.x + side * distance * nx, foot.y + side * distance * ny)
                far = (foot.x, foot.y) if away > 4.0 else None
                choices.append(Words(text, at, angle, NUMBER, True, far))
                if away > 4.0:
                    choices.append(Words(text, at, 0.0, NUMBER, True, far))
    return choices


def _around(text: str, at: Point, shape: Any) -> list[Words]:
    half = text_width(text, SMALL) / 2
    choices = []
    for reach in (1.8, 3.0, 5.0, 8.0):
        spots = []
        for k in range(16):
            turn = k * math.tau / 16
            x = at[0] + (reach + half * abs(math.cos(turn))) * math.cos(turn)
            y = at[1] + reach * math.sin(turn)
            spots.append((x, y))
        spots.sort(key=lambda s: not shape.contains(shapely.Point(s)))
        choices += [Words(text, spot, 0.0, SMALL, False, at if reach > 4.0 else None) for spot in spots]
    return choices


def _drawing(
    pen: Pen, one: Measured, view: View, frame: tuple[float, float, float, float], system: System
) -> None:
    piece = one.piece
    shape = shapely.Polygon(view.all(one.ring))
    cutting = view.all(piece.outline)
    pen.area(cutting, "#f3f3f3", 1.0)
    if piece.stitching is not None:
        fine = cutting if piece.added else view.all(piece.stitching)
        pen.line([*fine, fine[0]], 0.4, HATCH, z=3.6)
    ring = view.all(one.ring)
    pen.area(ring, "#ffffff", 1.5)
    pen.line([*ring, ring[0]], 1.2, z=3.7)
    for line in piece.lines:
        if len(line) > 1:
            pen.line(view.all(line), 0.5, style=(3, 1.6), z=2.5)
    for cut in {cut.region_name: cut for cut in piece.cuts if cut.region}.values():
        region = view.all(cut.region or ())
        pen.line([*region, region[0]], 0.6, style=(6, 1.6, 1.2, 1.6), z=2.6)
    for x, y in view.all(piece.drills):
        pen.line([(x - 1.2, y), (x + 1.2, y)], 0.6)
        pen.line([(x, y - 1.2), (x, y + 1.2)], 0.6)
    for notch in one.notches:
        tick = marks.notch_mark(view.at(notch.at), shape, 1.8)
        if tick is not None:
            pen.line(tick, 1.2)
    grain = marks.arrow_line((view.at(piece.grain[0]), view.at(piece.grain[1])), shape)
    if grain is not None:
        long = math.dist(*grain)
        head = min(2.4, 0.45 * long)
        pen.line(marks.stretch(grain, 0.0, 1.0 - 0.8 * head / long), 0.7)
        pen.area(marks.arrow_head(grain, head), INK, 4.2)
    bracket = _bracket(one, view, shape)
    if bracket is not None:
        pen.line(bracket[0], 0.7)
        for head_points in bracket[1]:
            pen.area(head_points, INK, 4.2)
    _overall(pen, one, view, system)
    for words in place_words(one, view, frame, system):
        if words.foot is not None:
            pen.line([words.foot, words.at], 0.3, HATCH, z=3.2)
        knock = list(words.box(0.1).exterior.coords)
        if words.size > 6.0:
            pen.area(knock, "#ffffff", 3.5)
        _set(pen, words)


def _set(pen: Pen, words: Words) -> None:
    turn = math.radians(words.angle)
    down = 0.36 * words.size * POINT
    x, y = words.at[0] + down * math.sin(turn), words.at[1] - down * math.cos(turn)
    colour = HATCH if words.size < 6.0 else INK
    pen.words(x, y, words.text, words.size, bold=words.bold, angle=words.angle, up="baseline", colour=colour)


def _bracket(one: Measured, view: View, shape: Any) -> tuple[list[Point], list[list[Point]]] | None:
    edge = one.piece.fold_edge
    return marks.fold_bracket((view.at(edge[0]), view.at(edge[1])), shape) if edge is not None else None


def _dimensions(one: Measured, view: View, system: System) -> list[tuple[tuple[Point, Point], str, float]]:
    """The dimension lines below and left of a piece, what each says, and at which angle."""
    x0, y0, x1, y1 = one.box
    (left, bottom), (right, top) = view.at((x0, y0)), view.at((x1, y1))
    cx0, cy0, _, _ = shapely.Polygon(one.piece.outline).bounds
    x, y = view.at((cx0, cy0))
    x, y = x - BORDER + 4.0, y - BORDER + 5.5
    return [
        (((left, y), (right, y)), position(x1 - x0, system), 0.0),
        (((x, bottom), (x, top)), position(y1 - y0, system), 90.0),
    ]


def _overall(pen: Pen, one: Measured, view: View, system: System) -> None:
    """Ink for the dimension lines."""
    x0, y0, x1, y1 = one.box
    (left, bottom), (right, top) = view.at((x0, y0)), view.at((x1, y1))
    lines = _dimensions(one, view, system)
    for (start, end), text, angle in lines:
        pen.line([start, end], 0.4)
        size = min(1.6, 0.3 * math.dist(start, end))
        pen.area(marks.arrow_head((start, end), size), INK, 4.0)
        pen.area(marks.arrow_head((end, start), size), INK, 4.0)
        middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
        words = Words(text, middle, angle, NUMBER)
        if text_width(text, NUMBER) + 4.0 > math.dist(start, end):
            words.at = (middle[0], middle[1] - 2.4) if angle == 0.0 else (middle[0] - 2.4, middle[1])
        pen.area(list(words.box(0.6).exterior.coords), "#ffffff", 4.5)
        _set(pen, words)
    y, x = lines[0][0][0][1] - 1.0, lines[1][0][0][0] - 1.0
    for a, b in (((left, bottom), (left, y)), ((right, bottom), (right, y))):
        pen.line([a, b], 0.25, HATCH, z=1.6)
    for a, b in (((left, bottom), (x, bottom)), ((left, top), (x, top))):
        pen.line([a, b], 0.25, HATCH, z=1.6)
