"""Lines, points and words of a DXF block or drawing, inserted blocks included, in the units of the file."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from itertools import islice
from typing import Any

from marker.importing.found import Point
from marker.plain import visible

FARTHEST = 1e7
"""Units of the file that a coordinate or a radius may reach."""
DEEPEST = 8
"""How deep blocks may be inserted in one another."""
MOST_ENTITIES = 100_000
"""Entities that one piece or plain drawing may hold."""
MOST_INSERTED = 20_000
"""Entities that come in by inserted blocks, each as often as its block is inserted."""
MOST_POINTS = 500_000
"""Points of lines that one piece may hold, all together."""
MOST_CONTROLS = 5_000
"""Control points of one spline."""
MOST_TURN = 0.14
"""Radians from one chord of an arc to the next, so that a corner of the line 40 mm outside is 0.1 mm off."""
_KINDS_WITHOUT_LINES = {"ATTDEF", "ATTRIB", "VIEWPORT", "SEQEND", "VERTEX"}


class Unreadable(ValueError):
    """What is wrong with an entity, as the end of a sentence; the caller says in which piece."""


@dataclass(frozen=True)
class Stroke:
    """One line or polyline on one layer. A closed one does not repeat its first point."""

    layer: str
    points: tuple[Point, ...]
    closed: bool


@dataclass(frozen=True)
class Mark:
    """A point on one layer."""

    layer: str
    at: Point


@dataclass(frozen=True)
class Words:
    """One line of text on one layer."""

    layer: str
    text: str
    at: Point


@dataclass
class Shapes:
    """Everything drawn in one block or drawing; ``other`` counts kinds of entities that are not read."""

    strokes: list[Stroke] = field(default_factory=list)
    marks: list[Mark] = field(default_factory=list)
    words: list[Words] = field(default_factory=list)
    other: Counter[str] = field(default_factory=Counter)
    hidden: int = 0
    """Entities that the drawing does not show."""
    entities: int = 0
    inserted: int = 0
    points: int = 0

    def unread(self) -> str:
        """A sentence on the entities that are not read."""
        words = ", ".join(f"{count} {kind}" for kind, count in sorted(self.other.items()))
        return f"Entities of kinds that are not read: {words}."


@dataclass(frozen=True)
class Layers:
    """The layers of a file that are not shown, in lower case. What is inserted on a frozen layer is hidden
    whole; on a layer that is off, only what takes its layer from the insertion (published DXF reference).
    """

    off: frozenset[str] = frozenset()
    frozen: frozenset[str] = frozenset()

    def hide(self, entity: Any, on: str) -> bool:
        """Whether an entity on layer ``on`` is not seen."""
        name = on.casefold()
        off = name in self.off and entity.dxftype() != "INSERT"
        return off or name in self.frozen or bool(entity.dxf.get("invisible", 0))


def layers_of(document: Any) -> Layers:
    """The layers of an ezdxf document that are off or frozen."""
    return Layers(
        frozenset(layer.dxf.name.casefold() for layer in document.layers if layer.is_off()),
        frozenset(layer.dxf.name.casefold() for layer in document.layers if layer.is_frozen()),
    )


def shapes_of(
    entities: Iterable[Any],
    chord: float,
    layers: Layers = Layers(),
    *,
    insert: bool = True,
) -> Shapes:
    """What the entities draw; curves as chords within ``chord`` units of the file.

    With ``insert`` false the blocks they insert are passed over. Raises Unreadable for coordinates that are
    no numbers or too large, blocks inserted in themselves, and more than the limits allow.
    """
    shapes = Shapes()
    _collect(entities, chord, shapes, layers, (), None, insert)
    return shapes


def _collect(
    entities: Iterable[Any],
    chord: float,
    shapes: Shapes,
    layers: Layers,
    inside: tuple[str, ...],
    layer: str | None,
    insert: bool,
) -> None:
    for entity in entities:
        shapes.entities += 1
        if shapes.entities > MOST_ENTITIES:
            raise Unreadable(f"holds more than {MOST_ENTITIES:,} entities; export fewer at a time")
        shapes.inserted += bool(inside)
        if shapes.inserted > MOST_INSERTED:
            raise Unreadable(f"inserts more than {MOST_INSERTED:,} entities by blocks; draw them once each")
        # On layer 0 of a block the layer is that of the insertion, says the published DXF reference.
        own = str(entity.dxf.get("layer", "0")).strip()
        on = layer if layer is not None and own == "0" else own
        kind = entity.dxftype()
        if layers.hide(entity, on):
            shapes.hidden += kind not in _KINDS_WITHOUT_LINES
            continue
        if kind == "INSERT":
            if insert:
                _insert(entity, chord, shapes, layers, inside, on)
        elif kind in ("TEXT", "MTEXT"):
            text = entity.plain_text()
            at = _flat(entity, entity.dxf.insert)
            shapes.words += [Words(on, line, at) for line in _lines(text)]
        elif kind == "POINT":
            shapes.marks.append(Mark(on, _checked(entity.dxf.location)))
        elif kind in _READERS:
            _add(shapes, on, *_READERS[kind](entity, chord))
            if kind == "CIRCLE":
                shapes.marks.append(Mark(on, _flat(entity, entity.dxf.center)))
        elif kind not in _KINDS_WITHOUT_LINES:
            shapes.other[kind] += 1


def _insert(
    entity: Any, chord: float, shapes: Shapes, layers: Layers, inside: tuple[str, ...], on: str
) -> None:
    name = str(entity.dxf.get("name", ""))
    if name in inside:
        raise Unreadable(f"block {name} is inserted in itself; draw it without that")
    if len(inside) >= DEEPEST:
        raise Unreadable(f"blocks are inserted in one another more than {DEEPEST} deep; draw it flatter")
    at = _flat(entity, entity.dxf.insert)
    shapes.marks.append(Mark(on, at))
    copies = max(1, int(entity.dxf.get("row_count", 1))) * max(1, int(entity.dxf.get("column_count", 1)))
    if copies > MOST_INSERTED:
        raise Unreadable(f"block {name} is inserted {copies:,} times; draw it less often")
    for one in entity.multi_insert() if copies > 1 else [entity]:
        _collect(one.virtual_entities(), chord, shapes, layers, (*inside, name), on, True)


def _add(shapes: Shapes, layer: str, points: Iterable[Any], closed: bool) -> None:
    left = MOST_POINTS - shapes.points
    found: list[Point] = []
    for point in islice(points, left + 1):
        at = _checked(point)
        if not found or found[-1] != at:
            found.append(at)
    shapes.points += len(found)
    if shapes.points > MOST_POINTS:
        raise Unreadable(f"is drawn with more than {MOST_POINTS:,} points; export fewer pieces at a time")
    if len(found) > 2 and found[0] == found[-1]:
        found.pop()
        closed = True
    if len(found) > 1:
        shapes.strokes.append(Stroke(layer, tuple(found), closed and len(found) > 2))


def _line(entity: Any, chord: float) -> tuple[Iterable[Any], bool]:
    return (entity.dxf.start, entity.dxf.end), False


def _light_polyline(entity: Any, chord: float) -> tuple[Iterable[Any], bool]:
    rows = [(x, y, bulge) for x, y, bulge in entity.get_points("xyb")]
    return _turned(entity, _bulged(rows, bool(entity.closed), chord)), bool(entity.closed)


def _polyline(entity: Any, chord: float) -> tuple[Iterable[Any], bool]:
    if entity.is_polygon_mesh or entity.is_poly_face_mesh:
        return (), False
    # Flag 16: the control points of a spline, which are not on the line.
    vertices = [vertex for vertex in entity.vertices if not int(vertex.dxf.get("flags", 0)) & 16]
    closed = bool(entity.is_closed)
    rows = [(v.dxf.location.x, v.dxf.location.y, float(v.dxf.get("bulge", 0.0))) for v in vertices]
    if entity.is_3d_polyline:
        return (vertex.dxf.location for vertex in vertices), closed
    return _turned(entity, _bulged(rows, closed, chord)), closed


def _arc(entity: Any, chord: float) -> tuple[Iterable[Any], bool]:
    x, y = entity.dxf.center.x, entity.dxf.center.y
    start, end = (math.radians(float(entity.dxf.get(name, 0.0))) for name in ("start_angle", "end_angle"))
    if not math.isfinite(start) or not math.isfinite(end):
        raise Unreadable("has an arc whose angles are no numbers; draw it once more")
    span = (end - start) % math.tau or math.tau
    return _turned(entity, _round(x, y, _radius(entity), start, span, chord)), False


def _circle(entity: Any, chord: float) -> tuple[Iterable[Any], bool]:
    x, y = entity.dxf.center.x, entity.dxf.center.y
    return _turned(entity, _round(x, y, _radius(entity), 0.0, math.tau, chord)), True


def _radius(entity: Any) -> float:
    radius = abs(float(entity.dxf.get("radius", 0.0)))
    if not radius <= FARTHEST:
        raise Unreadable(f"has a radius of {radius:.4g}, which no piece has; draw it once more")
    return radius


def _spline(entity: Any, chord: float) -> tuple[Iterable[Any], bool]:
    count = len(entity.control_points) + len(entity.fit_points)
    if count > MOST_CONTROLS or int(entity.dxf.get("degree", 3)) > 11:
        raise Unreadable(f"has a spline with more than {MOST_CONTROLS:,} points, or of a degree above 11")
    for point in (*entity.control_points, *entity.fit_points):
        _checked(point)
    try:
        return list(islice(entity.flattening(chord), MOST_POINTS + 1)), bool(entity.closed)
    except Exception:
        # Knots and weights of foreign files fail in many ways.
        raise Unreadable("has a spline that makes no curve; draw it as a polyline") from None


def _ellipse(entity: Any, chord: float) -> tuple[Iterable[Any], bool]:
    _checked(entity.dxf.center)
    _checked(entity.dxf.major_axis)
    try:
        return list(islice(entity.flattening(chord), MOST_POINTS + 1)), False
    except Exception:
        raise Unreadable("has an ellipse that makes no curve; draw it as a polyline") from None


_READERS = {
    "LINE": _line,
    "LWPOLYLINE": _light_polyline,
    "POLYLINE": _polyline,
    "ARC": _arc,
    "CIRCLE": _circle,
    "SPLINE": _spline,
    "ELLIPSE": _ellipse,
}


def _bulged(rows: list[tuple[float, float, float]], closed: bool, chord: float) -> Iterator[Point]:
    """Vertices joined by lines, or by arcs where a vertex has a bulge: the tangent of a quarter of the angle.

    From the published DXF reference (LWPOLYLINE and VERTEX, group 42).
    """
    n = len(rows)
    for i, (ax, ay, bulge) in enumerate(rows):
        yield _checked((ax, ay))
        if bulge == 0 or (i == n - 1 and not closed):
            continue
        bx, by, _ = rows[(i + 1) % n]
        _checked((bx, by))
        length = math.hypot(bx - ax, by - ay)
        if not math.isfinite(bulge) or abs(bulge) > 1e6:
            raise Unreadable("has an arc whose bulge is no sensible number; draw it once more")
        if length == 0 or abs(bulge) < 1e-9:
            continue
        angle = 4 * math.atan(bulge)
        # The centre lies square to the middle of the chord.
        off = length * (1 - bulge * bulge) / (4 * bulge)
        cx, cy = (ax + bx) / 2 - off * (by - ay) / length, (ay + by) / 2 + off * (bx - ax) / length
        radius = math.hypot(ax - cx, ay - cy)
        if radius > FARTHEST:
            continue
        start = math.atan2(ay - cy, ax - cx)
        between = list(_round(cx, cy, radius, start, angle, chord))[1:-1]
        yield from between


def _round(x: float, y: float, radius: float, start: float, span: float, chord: float) -> Iterator[Point]:
    """Points of an arc from ``start`` over ``span`` radians, both ends too; chords within ``chord`` of it."""
    _checked((x, y))
    if radius <= 0:
        return
    step = 2 * math.acos(max(-1.0, 1 - chord / radius)) if chord < radius else MOST_TURN
    steps = max(1, math.ceil(abs(span) / min(step, MOST_TURN)))
    for i in range(steps + 1):
        angle = start + span * i / steps
        yield x + radius * math.cos(angle), y + radius * math.sin(angle)


def _turned(entity: Any, points: Iterable[Point]) -> Iterator[Point]:
    """Points of the entity's own plane as seen from above: an extrusion downwards mirrors them."""
    ocs = entity.ocs()
    if not ocs.transform:
        yield from points
        return
    for x, y in points:
        yield _checked(ocs.to_wcs((x, y, 0.0)))


def _flat(entity: Any, point: Any) -> Point:
    return next(_turned(entity, [_checked(point)]))


def _checked(point: Any) -> Point:
    x, y = float(point[0]), float(point[1])
    if not (abs(x) <= FARTHEST and abs(y) <= FARTHEST):
        raise Unreadable(
            f"has a coordinate of {x if not abs(x) <= FARTHEST else y:.4g}, which is absurd; "
            "draw it near the origin"
        )
    return x, y


def _lines(text: Any) -> list[str]:
    rows = (visible(row, " ") for row in str(text).splitlines())
    return [words for row in rows if (words := _unmixed(" ".join(row.split()))[:500])]


def _unmixed(text: str) -> str:
    """UTF-8 that was read as cp1252, because the file doesn't say what it is written in, put right."""
    try:
        return text if text.isascii() else text.encode("cp1252").decode("utf-8")
    except UnicodeError:
        return text
