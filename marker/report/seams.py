"""Seams on a printed cloth: the edges of two pieces side by side as they will be sewn, print and all.

One figure for a material: a small window round every pair of notches that meet, all at one scale. What is
drawn is each piece up to its stitching line, turned so that the seam stands upright.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, zip_longest
from typing import Any

import shapely
from shapely import affinity

from marker.model.fabric import Fabric, Print
from marker.model.job import Job
from marker.model.layout import MaterialLayout
from marker.model.match import Match
from marker.model.piece import Point
from marker.plain import counted
from marker.report.chart import in_laying_order, title
from marker.report.cloths import cloth_title
from marker.report.compose import tint_of
from marker.report.console import capital, size_words
from marker.report.design import design_words, printed
from marker.report.flat import Copy, asked, copies
from marker.report.labels import text_width
from marker.report.marks import areas_of, lines_of
from marker.report.picture import (
    HATCH,
    INK,
    LEVEL,
    PRINT,
    PRINT_SHARE,
    TINTS,
    Format,
    Pen,
    blank_page,
    figure_bytes,
)

MOST = 12
"""Joins on the page."""
PAGE = (297.0, 210.0)
"""A4 landscape, ISO 216."""
EDGE = 8.0
TOP = 22.0
CAPTION = 13.0
GAP = 5.0
SMALLEST, LARGEST = 45.0, 170.0
"""Millimetres of cloth from the notch to the edge of its window, at least and at most."""
REACH = 2.0
"""Millimetres either way along the seam by which its direction at the notch is read."""


@dataclass(frozen=True)
class Side:
    """One piece at a join. ``at`` is the place on the flat cloth, ``seam`` the direction of the stitching
    line there, upwards in the figure: the piece lies to the left of it if ``left``, else to the right."""

    copy: Copy
    order: int
    at: Point
    seam: Point
    left: bool

    @property
    def in_piece(self) -> Point:
        """The direction of the seam as (along the grain, to the left of it)."""
        (u, v), (a, b) = self.copy.up, self.seam
        return a * u + b * v, b * u - a * v


@dataclass(frozen=True)
class Join:
    """Two places of one name, side by side. Misses are in millimetres, None where that way is not asked."""

    name: str
    left: Side
    right: Side
    crosswise: float | None
    lengthwise: float | None
    laid_on: bool


def seams_bytes(laid: MaterialLayout, job: Job, kind: Format) -> bytes:
    """The figure of one material's seams as a PNG, SVG or PDF file; the same layout gives the same bytes.

    A cloth on which nothing has to meet gives a page that says so (``joins`` is empty then). Raises
    ValueError for any other format.
    """
    if kind not in ("png", "svg", "pdf"):
        raise ValueError(f"no such picture format: {kind}")
    return figure_bytes(lambda: draw_seams(laid, job), kind)


def joins(laid: MaterialLayout, job: Job) -> list[Join]:
    """The pairs of places that meet in sewing, every name in turn."""
    design = job.fabrics[laid.material].print
    if design is None:
        return []
    orders = {id(placement): order for order, placement in enumerate(in_laying_order(laid), start=1)}
    cut = copies(laid, job)
    groups = [_pairs(match, cut, orders, design) for match in asked(laid, job) if match.what == "meet"]
    return [join for turn in zip_longest(*groups) for join in turn if join is not None]


def _pairs(match: Match, cut: Sequence[Copy], orders: dict[int, int], design: Print) -> list[Join]:
    """The joins of one name, best first: places are joined to those whose seam runs the same way."""
    places = [
        (copy, at, number)
        for copy in cut
        for number, at in enumerate(at for name, at in copy.points if name == match.name)
    ]
    if any(_inside(copy, at) for copy, at, _ in places):
        return _laid_on(match, places, orders, design)
    lefts: list[Side] = []
    rights: list[Side] = []
    for copy, at, _ in places:
        run = _run(copy, at)
        order = orders[id(copy.placement)]
        lefts.append(Side(copy, order, at, run, True))
        rights.append(Side(copy, order, at, (-run[0], -run[1]), False))
    numbers = list(dict.fromkeys(side.copy.piece.number for side in lefts))
    found = []
    for one, other in [*combinations(numbers, 2), *([(numbers[0], numbers[0])] if len(numbers) == 1 else [])]:
        choices = []
        for i, left in enumerate(lefts):
            for k, right in enumerate(rights):
                if i == k or (left.copy.piece.number, right.copy.piece.number) not in (
                    (one, other),
                    (other, one),
                ):
                    continue
                (a, b), (c, d) = left.in_piece, right.in_piece
                # Of the two ways to draw a seam the one with the heads of the grain arrows up.
                choices.append((-round(a * c + b * d, 3), a < -0.1, i, k))
        used: set[int] = set()
        for _, _, i, k in sorted(choices):
            if i not in used and k not in used:
                used |= {i, k}
                found.append(_join(match, lefts[i], rights[k], design))
    return found


def _laid_on(
    match: Match, places: Sequence[tuple[Copy, Point, int]], orders: dict[int, int], design: Print
) -> list[Join]:
    """Pieces that are laid on others where those have a mark: both with the grain upright, corner on mark."""
    marked = [place for place in places if _inside(place[0], place[1])]
    found = []
    for copy, at, _ in (place for place in places if place not in marked):
        # What is drawn on the left half of a whole piece belongs to the copy that is laid as drawn.
        hand = int(copy.hand < 0) if len(marked) > 1 else 0
        under = [place for place in marked if place[2] == hand] or marked
        below, spot, _ = under[0]
        one = Side(below, orders[id(below.placement)], spot, below.up, True)
        other = Side(copy, orders[id(copy.placement)], at, copy.up, False)
        found.append(_join(match, one, other, design, laid_on=True))
    return found


def _inside(copy: Copy, at: Point) -> bool:
    """Whether a place is a mark inside its piece and no notch at a seam."""
    return bool(shapely.LinearRing(copy.stitching).distance(shapely.Point(at)) > REACH)


def _run(copy: Copy, at: Point) -> Point:
    """The direction of a stitching line at a place, counter-clockwise: the piece lies on its left."""
    ring = shapely.LinearRing(copy.stitching)
    where = ring.project(shapely.Point(at))
    before = ring.interpolate((where - REACH) % ring.length)
    after = ring.interpolate((where + REACH) % ring.length)
    long = math.dist((before.x, before.y), (after.x, after.y)) or 1.0
    return (after.x - before.x) / long, (after.y - before.y) / long


def _join(match: Match, left: Side, right: Side, design: Print, laid_on: bool = False) -> Join:
    crosswise = lengthwise = None
    if match.crosswise and design.along is not None:
        crosswise = _miss(_along(left, design) - _along(right, design), design.along)
    if match.lengthwise and design.across is not None:
        (_, y), (_, z) = left.at, right.at
        lengthwise = _miss(y - z, design.across)
        if design.even_across:
            # Mirrored in a bar's middle it looks the same, so only the distance from a middle counts.
            start = design.start[1]
            lengthwise = abs(_miss(y - start, design.across)) - abs(_miss(z - start, design.across))
    return Join(match.name, left, right, crosswise, lengthwise, laid_on)


def _along(side: Side, design: Print) -> float:
    """Where in the repeat a place is, counted the way the piece's grain arrow points."""
    facing = 1.0 if side.copy.up[0] >= 0 else -1.0
    return facing * (side.at[0] - design.start[0])


def _miss(off: float, repeat: float) -> float:
    """What is left of a distance when whole repeats are taken off: from minus half a repeat to half a one."""
    return off - repeat * round(off / repeat)


def draw_seams(laid: MaterialLayout, job: Job) -> Any:
    """A matplotlib Figure of the seams."""
    every = joins(laid, job)
    found = every[:MOST]
    fabric = job.fabrics[laid.material]
    figure, pen = blank_page(*PAGE)
    view = f", view {job.view}" if job.view else ""
    name = f"{capital(cloth_title(laid))}: seams of {job.pattern}, {size_words(job.size)}{view}"
    _fitted(pen, EDGE, PAGE[1] - EDGE - 3.2, name, 13.0, PAGE[0] - 2 * EDGE - 25.0, bold=True)
    if not found or fabric.print is None:
        pen.level(EDGE, PAGE[1] - EDGE - 10.0, "No seam of this cloth has to match.", 9, across="left")
        return figure
    columns, rows = _grid(len(found))
    wide = (PAGE[0] - 2 * EDGE - (columns - 1) * GAP) / columns
    high = (PAGE[1] - 2 * EDGE - TOP - (rows - 1) * GAP) / rows - CAPTION
    reach = _reach(fabric.print)
    scale = min(wide, high) / 2 / reach
    half = (wide / 2 / scale, high / 2 / scale)
    words = capital(design_words(fabric.print, fabric.system, bool(laid.cloth)))
    _fitted(pen, EDGE, PAGE[1] - EDGE - 9.6, f"{words}.", 8.0, PAGE[0] - 2 * EDGE)
    how = (
        "Each piece up to its stitching line, as one sees it from the right side with the seam upright; "
        "notches meet at the diamond. A piece that is sewn onto another is drawn on it."
    )
    if len(every) > MOST:
        how += f" {counted(len(every) - MOST, 'more is', 'more are')} not drawn."
    _fitted(pen, EDGE, PAGE[1] - EDGE - 14.2, how, 8.0, PAGE[0] - 2 * EDGE)
    pen.level(PAGE[0] - EDGE, PAGE[1] - EDGE - 3.2, f"scale 1:{1 / scale:.1f}", 8, across="right")
    for index, join in enumerate(found):
        column, row = index % columns, index // columns
        x = EDGE + column * (wide + GAP) + wide / 2
        y = PAGE[1] - EDGE - TOP - row * (high + CAPTION + GAP) - high / 2
        _window(pen, join, fabric, (x, y), half, scale)
        _captions(pen, join, fabric, x, y - high / 2, wide)
    return figure


def _grid(count: int) -> tuple[int, int]:
    columns = min(count, 4) if count != 6 else 3
    return columns, -(-count // columns)


def _reach(design: Print) -> float:
    """Cloth shown from the notch outwards: more than a repeat, so that one can see where it goes on."""
    longest = max(repeat for repeat in (design.along, design.across) if repeat is not None)
    return min(max(1.2 * longest, SMALLEST), LARGEST)


def _window(
    pen: Pen,
    join: Join,
    fabric: Fabric,
    at: Point,
    half: tuple[float, float],
    scale: float,
) -> None:
    frame = window = shapely.box(-half[0], -half[1], half[0], half[1])
    to_paper = [scale, 0.0, 0.0, scale, at[0], at[1]]
    for z, side in ((3.0, join.left), (3.2 if join.laid_on else 3.0, join.right)):
        move = _upright(side)
        if not join.laid_on:
            frame = shapely.box(-half[0], -half[1], 0.0, half[1])
            frame = frame if side.left else affinity.scale(frame, -1.0, 1.0, origin=(0.0, 0.0))
        shape = affinity.affine_transform(shapely.Polygon(side.copy.stitching), move)
        number = side.copy.piece.number
        tint = TINTS[tint_of(number) % len(TINTS)]
        for part in areas_of(shape.buffer(0).intersection(frame)):
            on_paper = affinity.affine_transform(part, to_paper)
            gid = f"seam-{join.name}-{side.order}-{side.copy.layer}-{'left' if side.left else 'right'}"
            pen.shape(on_paper, tint, z, gid=gid.replace(" ", "-"))
            _print(pen, part, move, fabric, to_paper, z)
            pen.lines(
                [list(ring.coords) for ring in (on_paper.exterior, *on_paper.interiors)], 0.5, HATCH, z + 0.6
            )
    x, y = at
    w, h = half[0] * scale, half[1] * scale
    pen.line([(x - w, y - h), (x + w, y - h), (x + w, y + h), (x - w, y + h), (x - w, y - h)], 0.4, HATCH)
    if not join.laid_on:
        pen.line([(x, y - h), (x, y + h)], 0.9, INK, (5, 2), z=4.0)
    for side in () if join.laid_on else (join.left, join.right):
        # Square to the grain: the level at which crosswise lines have to meet.
        u, v = _turned(side.copy.up, side)
        end = (x - w if side.left else x + w) - x
        if abs(u) < abs(v) and join.crosswise is not None:
            level = shapely.LineString([(x, y), (x + end, y - end * u / v)])
            piece = affinity.affine_transform(shapely.Polygon(side.copy.stitching), _upright(side))
            seen = affinity.affine_transform(piece.buffer(0).intersection(window), to_paper)
            for line in lines_of(level.intersection(seen)):
                pen.line(line, 0.6, style=LEVEL, z=4.0)
    r = 1.0
    pen.area([(x - r, y), (x, y - r), (x + r, y), (x, y + r)], INK, 4.2)


def _upright(side: Side) -> list[float]:
    """The motion (as shapely has it) that takes the notch to 0, 0 and the seam upright."""
    a, b = side.seam
    x, y = side.at
    # Turned so that (a, b) comes to lie on (0, 1).
    return [b, -a, a, b, -(b * x - a * y), -(a * x + b * y)]


def _turned(direction: Point, side: Side) -> Point:
    a, b = side.seam
    return b * direction[0] - a * direction[1], a * direction[0] + b * direction[1]


def _print(
    pen: Pen, part: Any, move: Sequence[float], fabric: Fabric, to_paper: Sequence[float], z: float
) -> None:
    """The print within a part of a piece, carried along with it from the flat cloth."""
    if fabric.print is None:
        return
    a, b, d, e, x, y = move
    # A turn is undone by its transpose.
    back = [a, d, b, e, -(a * x + d * y), -(b * x + e * y)]
    left, low, right, high = affinity.affine_transform(part, back).bounds
    for one in printed(fabric.print, (left, low, right, high)):
        there = affinity.affine_transform(one.shape, list(move)).intersection(part)
        for share in areas_of(there):
            pen.shape(affinity.affine_transform(share, list(to_paper)), PRINT, z + 0.05, 1.6 * PRINT_SHARE)


def _captions(pen: Pen, join: Join, fabric: Fabric, x: float, y: float, wide: float) -> None:
    for side, across in ((join.left, "left"), (join.right, "right")):
        piece = side.copy.piece
        words = title(piece.number, piece.name)
        at = x - wide / 2 if side.left else x + wide / 2
        text, size = _shrunk(words, 7.5, wide / 2 - 1.5, True)
        pen.level(at, y - 2.6, text, size, bold=True, across=across)
        facts = [f"line {side.order}"]
        if side.copy.layer == 2:
            facts.append("second layer")
        elif side.copy.placement.mirrored:
            facts.append("face down")
        text, size = _shrunk(", ".join(facts), 6.5, wide / 2 - 1.5, False)
        pen.level(at, y - 6.2, text, size, across=across)
    text, size = _shrunk(f"{join.name}: {miss_words(join)}", 6.8, wide, False)
    pen.level(x, y - 10.0, text, size)


def miss_words(join: Join) -> str:
    """By how much the lines miss each other at the notch, to a tenth of a millimetre."""
    told = [
        f"{way} {abs(miss):.1f} mm"
        for way, miss in (("crosswise lines", join.crosswise), ("lengthwise lines", join.lengthwise))
        if miss is not None
    ]
    return f"{', '.join(told)} apart"


def _shrunk(text: str, size: float, room: float, bold: bool) -> tuple[str, float]:
    takes = text_width(text, size, bold) * 1.03
    return text, size if takes <= room else size * room / takes


def _fitted(pen: Pen, x: float, y: float, text: str, size: float, room: float, bold: bool = False) -> None:
    words, points = _shrunk(text, size, room, bold)
    pen.level(x, y, words, points, bold=bold, across="left")
