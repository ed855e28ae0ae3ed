"""What is to be drawn, where: every piece, mark and word of a picture as plain shapes on paper.

Nothing here knows of matplotlib's artists; ``picture`` puts ink to it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Literal

import shapely
from shapely import affinity

from marker.model.fabric import Fabric
from marker.model.job import Job
from marker.model.layout import MaterialLayout, Placement
from marker.plain import enumerated
from marker.report import marks
from marker.report.chart import in_laying_order, title
from marker.report.console import size_words
from marker.report.design import border_box, design_words, printed, smallest_repeat
from marker.report.flat import (
    Spot,
    asked,
    from_drawing,
    moved,
    remnant_areas,
    remnant_of,
    shift,
    spots,
    whole_cloth,
)
from marker.report.ground import inner_edges, stretches
from marker.report.labels import POINT, SIZES, Label, Line, Room, Space, text_width, wrappings
from marker.report.marks import Point, Segment
from marker.report.measure import width_text
from marker.report.oneway import one_way_by, tops_point
from marker.report.page import Row, Sheet, plan_sheet

HATCH_SPACING = 2.0
HATCH_ANGLE = 45.0
KEY_SIZE = 7.0
KEY_SYMBOL = 10.0
KEY_GAP = 5.0
KEY_STEP = KEY_SIZE * POINT * 1.5
SMALLEST = {"full": 5.5, "short": 5.0, "number": 4.2}
"""Points below which a wording is not set any more."""
FINEST = 0.8
"""Millimetres of paper that a repeat has to take to be drawn."""


@dataclass(frozen=True)
class Part:
    """What one row shows of one placement, in paper millimetres.

    ``order`` is its line in the cutting chart, ``tint`` the index of its fill. ``main`` is false for
    the smaller share of a piece that runs on into another row. ``leader`` joins the piece to a label
    that had to go outside. ``levels`` are the lines through the places where the print has to meet,
    ``meets`` those places and ``names`` what they are called, where there is room.
    """

    placement: Placement
    order: int
    tint: int
    main: bool
    shape: Any
    border: tuple[list[Point], ...]
    arrow: Segment | None
    bracket: tuple[list[Point], list[list[Point]]] | None
    centre_line: Segment | None
    notches: tuple[Segment, ...]
    drills: tuple[Point, ...]
    lines: tuple[list[Point], ...]
    label: Label | None
    hatch: tuple[list[Point], ...]
    leader: Segment | None = None
    levels: tuple[list[Point], ...] = ()
    meets: tuple[Point, ...] = ()
    names: tuple[Label, ...] = ()


@dataclass(frozen=True)
class Cover:
    """A shape on the cloth, on paper: "cloth" and "doubled" (a remnant, and where it lies in two layers),
    "border", or what is printed on it. ``name`` is unique on the page."""

    kind: Literal["cloth", "doubled", "border", "print"]
    name: str
    shape: Any


@dataclass(frozen=True)
class KeyEntry:
    """A line of the key: a symbol's name, or a piece number in bold; and what it stands for."""

    symbol: str
    text: str
    number: bool = False


@dataclass(frozen=True)
class Composition:
    """A page of cloth, ready to be inked. ``material`` is the layout as drawn: on the whole of a remnant."""

    sheet: Sheet
    parts: tuple[Part, ...]
    key: tuple[KeyEntry, ...]
    material: MaterialLayout
    flaws: tuple[Any, ...] = field(default=())
    flaw_words: tuple[Label, ...] = ()
    covers: tuple[Cover, ...] = ()


def compose(material: MaterialLayout, job: Job) -> Composition:
    """Lay out the page: scale and rows, then the labels, then again if the key needs more room."""
    material = whole_cloth(material, job.fabrics[material.material])
    words = inner_words(material)
    beside_room = 4.0 + max((text_width(w, 6.5) for _, w in words), default=0.0) if words else 0.0
    symbols = symbols_used(material, job)
    entries: list[KeyEntry] = symbols
    for _ in range(4):
        sheet = plan_sheet(
            material, beside_room, key_height(entries, 281.0), key_height(entries, 58.0, column=True)
        )
        parts = _parts(material, job, sheet)
        needed = _drawn(symbols, parts, material, job, sheet) + _key_of(parts, job)
        if len(needed) <= len(entries):
            break
        entries = needed
    return _composition(sheet, parts, needed, material, job)


def compose_on(sheet: Sheet, material: MaterialLayout, job: Job) -> Composition:
    """The same on a sheet planned elsewhere; its key may turn out larger than the sheet has room for."""
    whole = whole_cloth(material, job.fabrics[material.material])
    if sheet.rows[-1].end > max(band.x[1] for band in material.bands):
        material = whole
    parts = _parts(material, job, sheet)
    symbols = symbols_used(material, job)
    key = _drawn(symbols, parts, material, job, sheet) + _key_of(parts, job)
    return _composition(sheet, parts, key, material, job)


def _composition(
    sheet: Sheet, parts: list[Part], key: list[KeyEntry], material: MaterialLayout, job: Job
) -> Composition:
    fabric = job.fabrics[material.material]
    flaws = _flaws(material, fabric, sheet)
    return Composition(
        sheet,
        tuple(parts),
        tuple(key),
        material,
        flaws,
        _flaw_words(flaws, parts, sheet),
        _covers(material, fabric, sheet),
    )


def flaws_of(material: MaterialLayout, fabric: Fabric) -> list[Any]:
    """The flaws on the spread cloth; where a remnant has no cloth in one of its layers is none."""
    found = [shapely.Polygon(ring) for ring in material.obstacles]
    remnant = remnant_of(material, fabric)
    if remnant is None:
        return found
    once, twice = remnant_areas(material, remnant)
    cloth = once if twice.is_empty else twice
    return [part for shape in found for part in marks.areas_of(shape.intersection(cloth)) if part.area > 1.0]


def _flaws(material: MaterialLayout, fabric: Fabric, sheet: Sheet) -> tuple[Any, ...]:
    return tuple(
        shape
        for row in sheet.rows
        for flaw in flaws_of(material, fabric)
        for shape in marks.areas_of(_on_paper(flaw, row).intersection(_frame(row)))
    )


def _flaw_words(flaws: Sequence[Any], parts: Sequence[Part], sheet: Sheet) -> tuple[Label, ...]:
    """The word in each flaw, or beside it on bare cloth; none where neither has room."""
    found: list[Label] = []
    line = [Line("flaw", bold=True)]
    for flaw in flaws:
        inside = flaw.buffer(-0.6)
        label = None
        for size in _sizes(5.0, 7.0, sheet.grow):
            label = label or (None if inside.is_empty else Room(inside).place(line, size))
        if label is None:
            rows = [shapely.box(r.left, r.bottom, r.right, r.top) for r in sheet.rows]
            near = next((box for box in rows if box.intersects(flaw)), shapely.Polygon())
            taken = [part.shape.buffer(0.4) for part in parts]
            taken += [part.label.box(0.4) for part in parts if part.label is not None]
            taken += [
                shapely.LineString(part.leader).buffer(0.4) for part in parts if part.leader is not None
            ]
            taken += [other.buffer(0.5) for other in flaws] + [other.box(0.4) for other in found]
            bare = near.intersection(flaw.buffer(9.0 * sheet.grow)).difference(shapely.union_all(taken))
            if not bare.is_empty:
                label = Room(bare).place(line, 5.5 * sheet.grow, (flaw.centroid.x, flaw.centroid.y))
        if label is not None:
            found.append(label)
    return tuple(found)


def _covers(material: MaterialLayout, fabric: Fabric, sheet: Sheet) -> tuple[Cover, ...]:
    """The remnant's own shape, the border and the print, row by row, as far as there is cloth."""
    remnant = remnant_of(material, fabric)
    design = fabric.print
    if design is not None and smallest_repeat(design) * sheet.scale < FINEST:
        design = None
    found = []
    areas = None if remnant is None else remnant_areas(material, remnant)
    for r, row in enumerate(sheet.rows):
        if areas is not None:
            strip = shapely.box(row.start, -material.width, row.end, 2 * material.width)
            kinds: tuple[Literal["cloth", "doubled"], ...] = ("cloth", "doubled")
            for kind, area in zip(kinds, areas, strict=True):
                for n, shape in enumerate(marks.areas_of(area.intersection(strip))):
                    found.append(Cover(kind, f"{kind}-{r}-{n}", _on_paper(shape, row)))
        for s, stretch in enumerate(stretches(material)):
            x0, x1 = max(stretch.start, row.start), min(stretch.end, row.end)
            if x1 - x0 < 1e-6:
                continue
            dx, dy = shift(material, stretch.bands[0])
            y0, y1 = stretch.low.y, stretch.high.y
            place = f"row-{r}-{s}"
            if fabric.border is not None and remnant is None:
                low, high = (y - dy for y in border_box(fabric.border, material.width))
                if min(high, y1) > max(low, y0):
                    box = shapely.box(x0, max(low, y0), x1, min(high, y1))
                    found.append(Cover("border", f"border-{place}", _on_paper(box, row)))
            if design is None:
                continue
            cloth = None if areas is None else areas[0]
            for one in printed(design, (x0 + dx, y0 + dy, x1 + dx, y1 + dy)):
                shape = affinity.translate(one.shape, -dx, -dy)
                shares = [shape] if cloth is None else marks.areas_of(shape.intersection(cloth))
                for n, share in enumerate(shares):
                    name = f"print-{place}-{one.name}" + (f"-part-{n}" if n else "")
                    found.append(Cover("print", name, _on_paper(share, row)))
    return tuple(found)


def inner_words(material: MaterialLayout) -> list[tuple[float, str]]:
    """Words for the edges inside the spread cloth, with their y."""
    found: dict[float, str] = {}
    for stretch in stretches(material):
        for edge in inner_edges(material, stretch):
            both = sum(band.layers == 2 for band in (material.bands[i] for i in stretch.bands)) > 1
            found[edge.y] = "selvages meet" if both and edge.name == "selvage" else edge.name
    return sorted(found.items())


def symbols_used(material: MaterialLayout, job: Job | None = None) -> list[KeyEntry]:
    """The part of the key that explains the marks, only those that occur; with ``job``, the print's too."""
    placements = material.placements
    entries = [KeyEntry("arrow", "grain, head at the top of the garment")]
    entries.append(KeyEntry("word", "its line in the cutting chart"))
    if any(p.mirrored for p in placements):
        entries.append(KeyEntry("hatched", "paper piece face down"))
        if not all(p.mirrored for p in placements):
            entries.append(KeyEntry("plain", "face up"))
    if any(p.on_fold for p in placements):
        entries.append(KeyEntry("bracket", "this edge on the fold"))
    if any(p.opened for p in placements):
        entries.append(KeyEntry("centre", "middle of an opened-out piece"))
    if any(p.notches for p in placements):
        entries.append(KeyEntry("notch", "notch"))
    if any(p.drills for p in placements):
        entries.append(KeyEntry("drill", "drill point"))
    if any(p.lines for p in placements):
        entries.append(KeyEntry("line", "inner line, not cut"))
    fabric = None if job is None else job.fabrics[material.material]
    if material.obstacles if fabric is None else flaws_of(material, fabric):
        entries.append(KeyEntry("flaw", "flaw, not cut over"))
    if job is not None and fabric is not None:
        entries += _cloth_symbols(material, fabric, job)
    if any(b.layers == 2 for b in material.bands) and any(b.layers == 1 for b in material.bands):
        entries += [KeyEntry("one layer", "one layer of cloth"), KeyEntry("two layers", "two layers")]
    if material.usable[0] > 0 and any(edge.name == "selvage" for edge in _all_edges(material)):
        entries.append(KeyEntry("selvage", "selvage, kept clear"))
    return entries


def _drawn(
    symbols: Sequence[KeyEntry], parts: Sequence[Part], material: MaterialLayout, job: Job, sheet: Sheet
) -> list[KeyEntry]:
    """The entries whose symbols came to be drawn: not everything finds room or is large enough."""
    design = job.fabrics[material.material].print
    seen = {
        "arrow": any(part.arrow is not None for part in parts),
        "word": any(f"line {part.order}" in line.text for part in parts for line in _lines_of(part)),
        "hatched": any(part.hatch for part in parts),
        "plain": any(part.hatch for part in parts),
        "bracket": any(part.bracket is not None for part in parts),
        "centre": any(part.centre_line is not None for part in parts),
        "notch": any(part.notches for part in parts),
        "drill": any(part.drills for part in parts),
        "line": any(part.lines for part in parts),
        "level": any(part.levels for part in parts),
        "print": design is not None and smallest_repeat(design) * sheet.scale >= FINEST,
    }
    return [entry for entry in symbols if seen.get(entry.symbol, True)]


def _lines_of(part: Part) -> tuple[Line, ...]:
    return part.label.lines if part.label is not None else ()


def _cloth_symbols(material: MaterialLayout, fabric: Fabric, job: Job) -> list[KeyEntry]:
    """The key to what is on the cloth itself."""
    entries = []
    if material.cloth:
        entries.append(KeyEntry("remnant", "edge of the remnant; no cloth where it is white"))
        if any(band.layers == 2 for band in material.bands):
            entries += [KeyEntry("two layers", "two layers"), KeyEntry("one layer", "not in both layers")]
    if fabric.border is not None and not material.cloth:
        wide = width_text(fabric.border.width, fabric.system)
        entries.append(KeyEntry("border", f"border, {wide} from the {fabric.border.side} selvage"))
    way = tops_point(material, fabric)
    if way is not None:
        what = "print stands upright" if one_way_by(fabric) == "print" else "pile runs"
        entries.append(KeyEntry(f"one way {way}", f"{what} this way: tops of all pieces point so"))
    if fabric.print is not None:
        words = design_words(fabric.print, fabric.system, bool(material.cloth))
        entries.append(KeyEntry("print", f"{words} (triangles on the rulers)"))
    matches = asked(material, job)
    if any(spots(placement, job, matches) for placement in material.placements):
        entries.append(KeyEntry("level", "the print meets at this level, at the stitching line"))
    return entries


def _all_edges(material: MaterialLayout) -> list[Any]:
    return [edge for s in stretches(material) for edge in (s.low, s.high, *inner_edges(material, s))]


def key_height(entries: Sequence[KeyEntry], width: float, *, column: bool = False) -> float:
    """Millimetres of height the key takes in a box of that width (both as on A4)."""
    lines = key_lines(entries, width, column=column)
    return lines[-1][1] + KEY_STEP + 1.0 if lines else 0.0


def key_lines(
    entries: Sequence[KeyEntry], width: float, *, column: bool = False
) -> list[tuple[float, float, KeyEntry, str]]:
    """Where each entry of the key goes: x, depth below the top of the box, the entry, its text.

    Text too long for the box runs on in further lines, whose entry has an empty symbol.
    """
    placed = []
    x, depth, numbered = 0.0, 0.0, False
    for entry in entries:
        lead = KEY_SYMBOL if not entry.number else max(5.0, text_width(entry.symbol, KEY_SIZE, True) + 1.5)
        takes = lead + text_width(entry.text, KEY_SIZE)
        begins = entry.number and entry.symbol and not numbered
        numbered = numbered or bool(begins)
        if x > 0 and (column or begins or x + takes > width):
            x, depth = 0.0, depth + KEY_STEP
        first = True
        for text in _wrapped(entry.text, width - lead):
            if not first:
                depth += KEY_STEP
            placed.append((x, depth, entry if first else KeyEntry("", "", entry.number), text))
            first = False
        # Long texts come out up to a few per cent wider than measured, so nothing stands beside them.
        if not first and takes > 0.55 * width:
            x = width
        else:
            x += takes + KEY_GAP
    return placed


def key_lead(entry: KeyEntry) -> float:
    """Millimetres from the symbol's left to the text of a key entry (as on A4)."""
    return KEY_SYMBOL if not entry.number else max(5.0, text_width(entry.symbol, KEY_SIZE, True) + 1.5)


def _wrapped(text: str, width: float) -> list[str]:
    lines: list[str] = []
    for word in text.split():
        if lines and text_width(f"{lines[-1]} {word}", KEY_SIZE) <= width:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines


def _key_of(parts: Sequence[Part], job: Job) -> list[KeyEntry]:
    """Pieces whose label tells less than everything, one entry for each kind."""
    found: dict[tuple[str, str], list[Part]] = {}
    for part in parts:
        if part.main and not _complete(part):
            found.setdefault((part.placement.piece, part.placement.region), []).append(part)
    entries = []
    order = {piece.number: place for place, piece in enumerate(job.pieces)}
    for (number, region), group in sorted(found.items(), key=lambda each: (order[each[0][0]], each[0][1])):
        placement = group[0].placement
        name = f"{placement.name} ({region})" if region else placement.name
        counts = sorted({count_words(part.placement) for part in group})
        text = f"{name}, {size_words(job.size)}, {' or '.join(counts)}"
        if len(group) > 1:
            text += f" each, laid {len(group)} times"
        unlabelled = [part for part in group if part.label is None or part.leader is not None]
        if unlabelled:
            word = "line" if len(unlabelled) == 1 else "lines"
            text += f", {word} {enumerated([str(part.order) for part in unlabelled])} of the chart"
        entries.append(KeyEntry(number, text, number=True))
    return entries


def _complete(part: Part) -> bool:
    words = " ".join(line.text for line in part.label.lines) if part.label else ""
    return words.startswith(title(part.placement.piece, part.placement.name, part.placement.region))


def count_words(placement: Placement) -> str:
    """How many cut pieces an outline yields, in a few words."""
    if placement.on_fold:
        text = f"{placement.copies} on fold"
    elif placement.opened:
        text = f"{placement.copies} opened out"
    else:
        text = "1 copy" if placement.copies == 1 else f"{placement.copies} copies"
    return f"{text}, {placement.spare} spare" if placement.spare else text


def _short_count(placement: Placement) -> str:
    extra = " fold" if placement.on_fold else " whole" if placement.opened else ""
    return f"×{placement.copies}{extra}"


def tint_of(number: str) -> int:
    """The fill of a piece, the same in every view, size and picture: by its number alone."""
    return int(number) - 1 if number.isascii() and number.isdigit() else sum(number.encode())


def _parts(material: MaterialLayout, job: Job, sheet: Sheet) -> list[Part]:
    known: Known = {}
    parts = []
    matches = asked(material, job)
    for order, placement in enumerate(in_laying_order(material), start=1):
        whole = shapely.Polygon(placement.outline, placement.holes)
        shares = []
        for row in sheet.rows:
            for shape in marks.areas_of(_on_paper(whole, row).intersection(_frame(row))):
                if shape.area > 0.05:
                    shares.append((row, shape))
        if not shares:
            continue
        largest = max(range(len(shares)), key=lambda i: shares[i][1].area)
        tint = tint_of(placement.piece)
        meeting = spots(placement, job, matches)
        for index, (row, shape) in enumerate(shares):
            parts.append(
                _part(placement, order, tint, index == largest, row, shape, job, sheet.grow, known, meeting)
            )
    return _called_out(parts, material, job.fabrics[material.material], sheet)


CALLED_FROM, CALLED_IN_A_CROWD, CROWD = 45.0, 10.0, 250
"""Millimetres from a piece at which its number may stand; with more than so many pieces, which are small
then, each has many neighbours, and to look as far would take minutes."""


def _called_out(parts: list[Part], material: MaterialLayout, fabric: Fabric, sheet: Sheet) -> list[Part]:
    """Numbers that fit into no piece go onto bare cloth near by, or the margin, with a line to the piece."""
    done = list(parts)
    flaws = flaws_of(material, fabric)
    reach = (CALLED_FROM if len(parts) <= CROWD else CALLED_IN_A_CROWD) * sheet.grow
    rims = [part.shape.buffer(0.4) for part in parts]
    words = [part.label.box(0.4) for part in parts if part.label is not None]
    shapes, boxes = shapely.STRtree(rims), shapely.STRtree(words)
    called: list[Any] = []
    for index, part in enumerate(parts):
        if part.label is not None or not part.main:
            continue
        row = next(r for r in sheet.rows if _frame(r).intersects(part.shape))
        cloth = shapely.box(row.left, row.bottom, row.right, row.top)
        # What is further away cannot be in the way.
        near_by = shapely.box(*part.shape.bounds).buffer(reach)
        others = [rims[k] for k in sorted(shapes.query(near_by)) if k != index]
        others += [words[k] for k in sorted(boxes.query(near_by))]
        others += [each for each in called if each.intersects(near_by)]
        others += [_on_paper(flaw, row) for flaw in flaws]
        taken = shapely.union_all([*others, part.shape.buffer(1.2)])
        bare = cloth.intersection(part.shape.buffer(reach)).difference(taken)
        if bare.is_empty:
            continue
        room, line = Room(bare), [Line(part.placement.piece, bold=True)]
        edge = part.shape.exterior
        found: list[tuple[bool, float, Label, Segment]] = []
        for k in range(16):
            near = edge.interpolate(k / 16, normalized=True)
            label = room.place(line, 6.0 * sheet.grow, (near.x, near.y))
            if label is None:
                break
            join = shapely.shortest_line(shapely.Point(label.at), part.shape).difference(label.box(0.1))
            crosses = any(join.intersects(other) for other in others)
            foot, tip = join.coords[0], join.coords[-1]
            found.append((crosses, round(join.length, 3), label, (foot, tip)))
        if found:
            # A line that crosses no other piece before a short one.
            _, _, label, leader = min(found, key=lambda f: f[:2])
            done[index] = replace(part, label=label, leader=leader)
            called += [label.box(0.4), shapely.LineString(leader).buffer(0.4)]
    return done


def _on_paper(shape: Any, row: Row) -> Any:
    return affinity.affine_transform(
        shape, [row.scale, 0, 0, row.scale, row.left - row.start * row.scale, row.bottom]
    )


def _frame(row: Row) -> Any:
    return shapely.box(row.left, row.bottom - 5.0, row.right, row.top + 5.0)


def _part(
    placement: Placement,
    order: int,
    tint: int,
    main: bool,
    row: Row,
    shape: Any,
    job: Job,
    grow: float,
    known: Known,
    meeting: Sequence[Spot],
) -> Part:
    frame = _frame(row)
    whole = _on_paper(shapely.Polygon(placement.outline, placement.holes), row)
    border = tuple(marks.lines_of(whole.boundary.intersection(frame)))
    lines = tuple(
        line
        for points in placement.lines
        if len(points) > 1
        for line in marks.lines_of(shapely.LineString([row.at(p) for p in points]).intersection(shape))
    )
    notches = tuple(
        tick
        for notch in placement.notches
        if frame.covers(shapely.Point(row.at(notch.at)))
        and (tick := marks.notch_mark(row.at(notch.at), whole, 1.3 * grow)) is not None
    )
    drills = tuple(p for p in map(row.at, placement.drills) if shape.contains(shapely.Point(p)))
    levels = _levels(meeting, row, shape, frame)
    meets = tuple(
        point
        for spot in meeting
        if shape.buffer(0.2).covers(shapely.Point(point := row.at(spot.at))) and not spot.centre
    )
    bracket = centre = None
    fold_edge = placement.fold_edge or (middle_of(placement, job) if placement.opened else None)
    if fold_edge is not None:
        edge = shapely.LineString([row.at(p) for p in fold_edge])
        seen = marks.longest(edge.intersection(frame))
        if seen is not None and placement.on_fold:
            bracket = marks.fold_bracket(seen, shape)
        elif placement.opened:
            centre = marks.longest(edge.intersection(shape))
    busy = [shapely.LineString(tick).buffer(0.5) for tick in notches]
    drawn = [shapely.LineString(line).buffer(0.8) for line in (*lines, *levels)]
    busy += [shapely.Point(p).buffer(0.9 * grow) for p in meets]
    busy += [shapely.Point(p).buffer(1.4 * grow) for p in drills]
    if bracket is not None:
        busy.append(shapely.LineString(bracket[0]).buffer(0.7))
    if centre is not None:
        busy.append(shapely.LineString(centre).buffer(0.5))
    tight = shape.buffer(-0.35 * grow).difference(shapely.union_all(busy))
    free = shape.buffer(-0.7 * grow).intersection(tight)
    clear = free.difference(shapely.union_all(drawn))
    grain = (row.at(placement.grain[0]), row.at(placement.grain[1]))
    line = marks.arrow_line(grain, shape) if main else None
    if main:
        like = _likeness(placement, order, shape)
        if like not in known:
            known[like] = (
                *_arrow_and_label((clear, free, tight), line, wordings(placement, job.size, order), grow),
                order,
                shape.exterior.coords[0],
            )
        arrow, label = _moved(known[like], order, shape.exterior.coords[0])
    else:
        arrow, label = None, Space(clear).fit([[Line(f"{placement.piece} (cont.)")]], _sizes(4.2, 7.0, grow))
    if label is not None and drawn:
        gap = label.box(0.35)
        lines = tuple(
            rest for line in lines for rest in marks.lines_of(shapely.LineString(line).difference(gap))
        )
        levels = tuple(
            rest for line in levels for rest in marks.lines_of(shapely.LineString(line).difference(gap))
        )
    names = _names(meeting, row, tight, (*lines, *levels), label, arrow, grow)
    hatch: tuple[list[Point], ...] = ()
    if placement.mirrored:
        keep = [shape.buffer(-0.15)]
        if label is not None:
            keep.append(label.box(0.5))
        if arrow is not None:
            keep.append(shapely.LineString(arrow).buffer(0.5))
        keep += [name.box(0.3) for name in names]
        hatched = keep[0]
        for other in keep[1:]:
            hatched = hatched.difference(other)
        hatch = tuple(marks.hatching(hatched, HATCH_SPACING, HATCH_ANGLE))
    return Part(
        placement,
        order,
        tint,
        main,
        shape,
        border,
        arrow,
        bracket,
        centre,
        notches,
        drills,
        lines,
        label,
        hatch,
        levels=levels,
        meets=meets,
        names=names,
    )


def _levels(meeting: Sequence[Spot], row: Row, shape: Any, frame: Any) -> tuple[list[Point], ...]:
    """Lines across the piece through where its print has to meet, those that coincide only once."""
    found: dict[tuple[str, int], list[list[Point]]] = {}
    for spot in meeting:
        x, y = row.at(spot.at)
        if not frame.covers(shapely.Point(x, y)):
            continue
        x0, y0, x1, y1 = shape.bounds
        if spot.crosswise:
            line = shapely.LineString([(x, y0 - 1), (x, y1 + 1)])
            found.setdefault(("crosswise", round(x / 0.3)), marks.lines_of(line.intersection(shape)))
        if spot.lengthwise:
            line = shapely.LineString([(x0 - 1, y), (x1 + 1, y)])
            found.setdefault(("lengthwise", round(y / 0.3)), marks.lines_of(line.intersection(shape)))
    return tuple(line for lines in found.values() for line in lines)


def _names(
    meeting: Sequence[Spot],
    row: Row,
    room: Any,
    lines: Sequence[list[Point]],
    label: Label | None,
    arrow: Segment | None,
    grow: float,
) -> tuple[Label, ...]:
    """What the places that meet are called, each close to its place."""
    taken = [shapely.LineString(line).buffer(0.35) for line in lines]
    taken += [label.box(0.4)] if label is not None else []
    taken += [shapely.LineString(arrow).buffer(1.15 * grow)] if arrow is not None else []
    found: list[Label] = []
    for spot in meeting:
        x, y = row.at(spot.at)
        near = room.intersection(shapely.Point(x, y).buffer(11.0 * grow))
        near = near.difference(shapely.union_all([*taken, *(name.box(0.3) for name in found)]))
        if near.is_empty or spot.centre:
            continue
        space, name = Room(near), None
        for size in _sizes(4.2, 5.5, grow):
            for lines_ in wrappings(spot.name.split(), 2):
                name = name or space.place([Line(text) for text in lines_], size, (x, y))
        if name is not None:
            found.append(name)
    return tuple(found)


def middle_of(placement: Placement, job: Job) -> Segment | None:
    """The fold edge of an opened-out piece, carried from the pattern to the cloth by its grain line."""
    piece = next((p for p in job.pieces if p.number == placement.piece), None)
    if piece is None or piece.fold_edge is None:
        return None
    move = from_drawing(piece, placement)
    return moved(move, piece.fold_edge[0]), moved(move, piece.fold_edge[1])


def wordings(placement: Placement, size: str, order: int) -> dict[str, list[list[Line]]]:
    """All ways to word a piece's label, by how much they tell."""
    words = title(placement.piece, placement.name, placement.region).split()
    down = ["face down"] if placement.mirrored else []
    facts = [size_words(size)] if size else []
    facts.append(count_words(placement))
    short = f"{size} {_short_count(placement)}".strip()
    full, brief = [], []
    for heading in wrappings(words, 4):
        top = [Line(text, bold=True) for text in heading]
        rest = [*facts, *down, f"line {order}"]
        for count in range(1, len(rest) + 1):
            full.append(top + [Line(text) for text in _joined(rest, count)])
        brief.append(top + [Line(text) for text in [short, *down]])
        brief.append(top + [Line(", ".join([short, *down]))])
        if len(heading) == 1:
            brief.append([Line(f"{heading[0]}, {', '.join([short, *down])}", bold=True)])
    return {"full": full, "short": brief, "number": [[Line(placement.piece, bold=True)]]}


def _joined(facts: Sequence[str], count: int) -> list[str]:
    """Facts in ``count`` lines, the first lines taking one more where it doesn't come out even."""
    least, more = divmod(len(facts), count)
    lines, at = [], 0
    for index in range(count):
        take = least + (index < more)
        lines.append(", ".join(facts[at : at + take]))
        at += take
    return lines


def _sizes(smallest: float, largest: float, grow: float) -> list[float]:
    return [size * grow for size in SIZES if smallest <= size <= largest]


Known = dict[tuple[object, ...], tuple[Segment | None, Label | None, int, Point]]
"""Arrow and label found for a shape, with the chart line and the corner they were found for."""


def _likeness(placement: Placement, order: int, shape: Any) -> tuple[object, ...]:
    """Equal for placements that take the same label at the same place on the piece."""
    p = placement
    x0, y0 = shape.exterior.coords[0]
    corners = tuple((round(x - x0, 2), round(y - y0, 2)) for x, y in shape.exterior.coords)
    # The figures of the typeface are all of one width, so only their number matters.
    return (p.piece, p.region, p.mirrored, p.rotation, p.copies, p.spare, p.on_fold, len(str(order)), corners)


def _moved(
    found: tuple[Segment | None, Label | None, int, Point], order: int, corner: Point
) -> tuple[Segment | None, Label | None]:
    arrow, label, old, (x0, y0) = found
    dx, dy = corner[0] - x0, corner[1] - y0
    if arrow is not None:
        (ax, ay), (bx, by) = arrow
        arrow = (ax + dx, ay + dy), (bx + dx, by + dy)
    if label is not None:
        lines = tuple(
            line if line.bold else replace(line, text=line.text.replace(f"line {old}", f"line {order}"))
            for line in label.lines
        )
        label = replace(label, lines=lines, at=(label.at[0] + dx, label.at[1] + dy))
    return arrow, label


def _arrow_and_label(
    rooms: tuple[Any, Any, Any], line: Segment | None, words: dict[str, list[list[Line]]], grow: float
) -> tuple[Segment | None, Label | None]:
    """The grain arrow, as long as the label leaves room for, and the label.

    ``rooms`` are where nothing is drawn, where at most inner lines are (which then make way), and the
    same closer to the edge, for a mere number.
    """
    shares = [(0.0, 1.0), (0.0, 0.6), (0.4, 1.0), (0.2, 0.8), (0.0, 0.35), (0.65, 1.0)]
    if line is None:
        shares = [(0.0, 0.0)]
    best: tuple[float, Segment | None, Label | None] = (-math.inf, line, None)
    for start, end in shares:
        arrow = marks.stretch(line, start, end) if line is not None else None
        worth, label = _best_label(rooms, arrow, words, grow)
        worth += 1.5 * (end - start)
        if worth > best[0] + 1e-9:
            best = (worth, arrow, label)
        # A well readable label beside the whole arrow cannot be bettered by much.
        if worth >= 13.0:
            break
    if best[2] is None and line is not None:
        # A name matters more than an arrow: the chart tells the grain too.
        label = _best_label(rooms, None, words, grow)[1]
        if label is not None:
            return None, label
    return best[1], best[2]


def _best_label(
    rooms: tuple[Any, Any, Any], arrow: Segment | None, words: dict[str, list[list[Line]]], grow: float
) -> tuple[float, Label | None]:
    """The label that tells most, and what it is worth: completeness first, then size and being level."""
    taken = shapely.LineString(arrow).buffer(1.15 * grow) if arrow is not None else shapely.Polygon()
    clear, free, tight = (Space(room.difference(taken)) for room in rooms)
    for level, base in (("full", 8.0), ("short", 4.0), ("number", 0.0)):
        sizes = _sizes(SMALLEST[level], 8.0 if level == "number" else 10.0, grow)
        best: tuple[float, Label | None] = (-math.inf, None)
        for price, space in ((0.0, clear), (1.0, free if level != "number" else tight)):
            label = space.fit(words[level], sizes, level_if_possible=level == "number")
            if label is not None:
                worth = base - price - (1.0 if label.angle else 0.0) + 0.5 * label.size / grow
                best = max(best, (worth, label), key=lambda found: found[0])
        if best[1] is not None:
            return best
    return -5.0, None
