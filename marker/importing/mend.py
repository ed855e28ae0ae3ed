"""Outlines that touch themselves: slits drawn out and back, parts and holes that meet in a point.

Nothing is guessed: where a line runs back on itself it encloses nothing, and where an outline touches itself
without crossing there is one way only to tell inside from outside. One that crosses itself is not mended.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from marker.files.outline import MOST_POINTS
from marker.importing.found import FoundNotch, Point
from marker.importing.stroke import Stroke, ring_stroke
from marker.model.ring import nearest_on_ring, off_line, signed_area

WIDTH = 0.02
"""Millimetres that the two ways of a slit, or two places that touch, may lie apart."""
SHORTEST = 1.0
"""Millimetres of a slit that is not quite closed, so that the outline is sound as it is."""
LONGEST_NOTCH = 15.0
"""Millimetres of a straight slit that is a notch; a longer one is there to be slashed or sewn."""
MOST_LOOPS = 50
"""Parts and holes of one line beyond which it is a scribble."""

Edge = tuple[Point, tuple[Point, ...]]
"""Where a segment begins, and the segment (see ``Stroke``)."""


@dataclass(frozen=True)
class Mended:
    """Closed outlines that lie apart, closed lines inside them, and slits as open lines."""

    parts: tuple[Stroke, ...]
    holes: tuple[Stroke, ...] = ()
    slits: tuple[tuple[Point, ...], ...] = ()


def mended(stroke: Stroke) -> Mended:
    """The outlines that a closed stroke draws. One that is sound, or crosses itself, comes back as it is."""
    bare, slits = _without_slits(stroke)
    if _is_sound(stroke) and not any(math.dist(slit[0], slit[-1]) >= SHORTEST for slit in slits):
        # Jitter of a digitized edge is no slit.
        return Mended((stroke,))
    if _is_sound(bare) or not bare.segments:
        # A line that runs back on itself all the way encloses nothing.
        return Mended((bare,) if bare.segments else (), slits=_merged(slits))
    loops = _loops(bare.points())
    pieces = [_without_slits(ring_stroke(loop)) for loop in loops if len(loop) > 2]
    slits += [tuple(loop) for loop in loops if len(loop) == 2]
    slits += [slit for _, more in pieces for slit in more]
    rings = sorted((ring for ring, _ in pieces if len(ring.segments) > 1), key=lambda ring: -_area(ring))
    if not 0 < len(rings) <= MOST_LOOPS or not all(_is_sound(ring) for ring in rings):
        return Mended((stroke,))
    from shapely import Polygon

    parts: list[Stroke] = []
    holes: list[Stroke] = []
    areas = [Polygon(ring.points()) for ring in rings]
    turn = signed_area(rings[0].points()) > 0
    for i, ring in enumerate(rings):
        if any(areas[k].buffer(WIDTH).contains(areas[i]) for k in range(i)):
            holes.append(ring)
        elif (signed_area(ring.points()) > 0) == turn:
            parts.append(ring)
        else:
            # Lobes that turn opposite ways are the two halves of a figure of eight.
            return Mended((stroke,))
    return Mended(tuple(parts), tuple(holes), _merged(slits))


def notch_of(slit: Sequence[Point], outline: Sequence[Point]) -> FoundNotch | None:
    """The notch that a short straight slit from the edge is, None if it is something else."""
    if len(slit) != 2 or math.dist(*slit) > LONGEST_NOTCH:
        return None
    ends = sorted((nearest_on_ring(end, outline) for end in slit), key=lambda near: near[0])
    return FoundNotch(ends[0][2]) if ends[0][0] <= 2 * WIDTH else None


def slit_note(slit: Sequence[Point], is_notch: bool, is_inside: bool = True) -> str:
    """What became of a slit, for the person who imports."""
    from shapely import LineString

    kept = (
        "a notch" if is_notch else "a line to mark, not to cut" if is_inside else "nothing: it stands outside"
    )
    return f"A slit of {LineString(slit).length:.0f} mm, drawn out and back, is taken for {kept}."


def _is_sound(stroke: Stroke) -> bool:
    from shapely import Polygon

    points = stroke.points()
    return len(points) > 2 and len(points) <= MOST_POINTS and bool(Polygon(points).is_valid)


def _area(stroke: Stroke) -> float:
    return abs(signed_area(stroke.points()))


def _edges(stroke: Stroke) -> list[Edge]:
    starts = [stroke.start, *(segment[-1] for segment in stroke.segments)]
    edges = list(zip(starts, stroke.segments, strict=False))
    if math.dist(starts[-1], stroke.start) > WIDTH / 10:
        edges.append((starts[-1], (stroke.start,)))
    return edges


def _without_slits(stroke: Stroke) -> tuple[Stroke, list[tuple[Point, ...]]]:
    """The stroke without the ways that lead out and back, curves kept, and those ways."""
    slits: list[tuple[Point, ...]] = []
    kept: list[Edge] = []

    def put(edge: Edge) -> None:
        kept.append(edge)
        while len(kept) > 1 and (turned := _turns_back(kept[-2], kept[-1])) is not None:
            rest, slit = turned
            slits.append(slit)
            kept[-2:] = [rest] if rest is not None else []

    for edge in _edges(stroke):
        put(edge)
    # The stroke may begin on a slit: its first edge is put behind its last as long as they turn back.
    while len(kept) > 2 and _turns_back(kept[-1], kept[0]) is not None:
        put(kept.pop(0))
    if not slits:
        return stroke, []
    if all(len(segment) == 1 for _, segment in kept) and len(kept) < 2:
        return Stroke(stroke.start, (), False), slits
    return replace(stroke, start=kept[0][0], segments=tuple(segment for _, segment in kept)), slits


def _turns_back(one: Edge, other: Edge) -> tuple[Edge | None, tuple[Point, ...]] | None:
    """What is left of two edges of which the second runs back on the first, and the way out and back."""
    (a, out), (b, back) = one, other
    c = back[-1]
    if len(out) > 1 or len(back) > 1:
        there, here = (a, *out), (b, *back)
        if len(there) != len(here) or any(
            math.dist(p, q) > WIDTH for p, q in zip(there, reversed(here), strict=True)
        ):
            return None
        return None, tuple(Stroke(a, (out,), False).points())
    if min(math.dist(a, b), math.dist(b, c)) < WIDTH / 10:
        return None
    along = (b[0] - a[0]) * (c[0] - b[0]) + (b[1] - a[1]) * (c[1] - b[1])
    if along >= 0:
        return None
    if math.dist(a, c) <= WIDTH:
        return None, (a, b)
    if math.dist(b, c) < math.dist(a, b):
        return ((a, (c,)), (c, b)) if abs(off_line(c, (a, b))) <= WIDTH else None
    return ((a, (c,)), (a, b)) if abs(off_line(a, (b, c))) <= WIDTH else None


def _loops(points: Sequence[Point]) -> list[list[Point]]:
    """The ring cut apart wherever it comes to a place it has been at before."""
    if len(points) > MOST_POINTS:
        return []
    path: list[Point] = []
    been: dict[int, int] = {}
    found: list[list[Point]] = []
    for point, place in _places(points):
        if place in been:
            begin = been[place]
            found.append(path[begin:])
            del path[begin:]
            been = {key: at for key, at in been.items() if at < begin}
        been[place] = len(path)
        path.append(point)
    found.append(path)
    return [loop for loop in found if len(loop) > 1]


def _places(points: Sequence[Point]) -> list[tuple[Point, int]]:
    """The corners in order, with the corners that edges pass through put into those; one number a place."""
    from shapely import STRtree, linestrings
    from shapely import points as dots

    n = len(points)
    spots = dots(points)
    tree = STRtree(spots)
    number = list(range(n))
    for i, k in sorted(tree.query(spots, "dwithin", WIDTH).T.tolist()):
        if k < i:
            number[i] = min(number[i], number[k])
    edges = linestrings([[points[i], points[(i + 1) % n]] for i in range(n)])
    touching: dict[int, list[tuple[float, int]]] = {}
    for edge, spot in tree.query(edges, "dwithin", WIDTH).T.tolist():
        if number[spot] not in (number[edge], number[(edge + 1) % n]):
            touching.setdefault(edge, []).append((math.dist(points[edge], points[spot]), spot))
    found = []
    for i in range(n):
        found.append((points[i], number[i]))
        seen = {number[i]}
        for _, spot in sorted(touching.get(i, [])):
            if number[spot] not in seen:
                seen.add(number[spot])
                found.append((points[spot], number[spot]))
    return found


def _merged(slits: Sequence[tuple[Point, ...]]) -> tuple[tuple[Point, ...], ...]:
    """Slits whose parts follow one another as one line each, straight ones with no corner between."""
    from shapely import MultiLineString, line_merge

    if not slits:
        return ()
    # What follows differs by rounding of the places it was read from.
    merged = line_merge(MultiLineString([[(round(x, 4), round(y, 4)) for x, y in slit] for slit in slits]))
    lines = [merged] if merged.geom_type == "LineString" else list(merged.geoms)
    return tuple(tuple((float(x), float(y)) for x, y in line.simplify(WIDTH).coords) for line in lines)
