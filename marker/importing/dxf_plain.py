"""Plain DXF drawings: every closed outline that lies in no other one is a piece."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from marker.errors import InputError
from marker.importing.dxf_layers import BOUNDARY, IGNORED, meaning
from marker.importing.dxf_piece import NEAR, Raw, scaled
from marker.importing.dxf_rings import (
    MEETS,
    MOST_OUTLINES,
    gap_in_words,
    inside,
    rings_of,
    slit_strokes,
    untangled,
    wrong_with,
)
from marker.importing.dxf_shapes import Shapes, Stroke, Words
from marker.importing.dxf_words import fields_of
from marker.importing.found import Point
from marker.importing.phrases import name_of, quoted, read_words
from marker.model.ring import signed_area


def plain(path: str | Path, shapes: Shapes, mm: float) -> tuple[list[Raw], list[str], str | None]:
    """Pieces of a drawing without blocks of pieces, notes, and the seam allowance told beside the pieces."""
    from shapely import LineString, Polygon, STRtree, prepare
    from shapely import Point as Spot

    shapes = scaled(shapes, mm)
    kept = [stroke for stroke in shapes.strokes if meaning(stroke.layer) != IGNORED]
    named = any(meaning(stroke.layer) == BOUNDARY for stroke in kept)
    edges = [s for s in kept if meaning(s.layer) == BOUNDARY or (not named and meaning(s.layer) is None)]
    notes: list[str] = []
    # Lines of one layer are chained first: an inner line that meets a corner is often on another.
    closed: list[tuple[Point, ...]] = []
    loose: list[Stroke] = []
    for layer in dict.fromkeys(stroke.layer for stroke in edges):
        found = rings_of([stroke for stroke in edges if stroke.layer == layer], MEETS)
        closed += found.closed
        loose += found.open
    chained = rings_of(loose, MEETS)
    closed += chained.closed
    if len(closed) > MOST_OUTLINES:
        raise InputError(
            f"{path}: has {len(closed):,} closed outlines, and {MOST_OUTLINES:,} are the limit; "
            "leave hatchings and frames out."
        )
    if not closed:
        why = gap_in_words(chained.open, mm)
        raise InputError(
            f"{path}: has no closed outline, so there is no piece{why}; "
            f"draw every piece as a closed polyline{_unseen(shapes.hidden)}."
        )
    rings = _without_doubles(closed)
    if len(rings) < len(closed):
        notes.append(f"{len(closed) - len(rings)} outlines drawn twice are read once.")
    told: list[tuple[tuple[Point, ...], str | None]] = []
    slits: list[tuple[Point, ...]] = []
    for ring in rings:
        found_in = untangled(ring)
        slits += found_in.slits
        told += [(part, wrong_with(part, mm)) for part in (*found_in.outer, *found_in.inner)]
    order = sorted((ring for ring, wrong in told if not wrong), key=lambda ring: -abs(signed_area(ring)))
    areas = [Polygon(ring) for ring in order]
    if not order:
        raise InputError(f"{path}: the drawing {told[0][1]}.")
    prepare(areas)
    # A ring belongs to the largest one around it, which lies in no other.
    homes: dict[int, int] = {}
    held = STRtree(areas).query([area.representative_point() for area in areas], predicate="within")
    for i, k in sorted(zip(*held.tolist(), strict=True)):
        if k < i and k not in homes and i not in homes and inside(order[i], areas[k]):
            homes[i] = k
    kept_rings = [i for i in range(len(order)) if i not in homes]
    outer = [order[i] for i in kept_rings]
    inner: dict[int, list[tuple[Point, ...]]] = {}
    for i, k in homes.items():
        inner.setdefault(kept_rings.index(k), []).append(order[i])
    tree = STRtree([areas[i] for i in kept_rings])

    def home_of(points: Sequence[Point]) -> int | None:
        # A mark on the edge may lie a little outside.
        middle = Spot(points[len(points) // 2])
        around = [int(i) for i in tree.query(middle, predicate="intersects")]
        if around:
            return min(around)
        near = tree.query_nearest(middle, max_distance=NEAR)
        return int(near[0]) if len(near) else None

    own = [Shapes() for _ in outer]
    remarks: list[list[str]] = [[] for _ in outer]
    for ring, wrong in told:
        if wrong:
            # A symbol inside a piece may cross itself, an edge may not.
            home = next((i for i, area in enumerate(outer) if inside(ring, Polygon(area))), None)
            if home is None:
                raise InputError(f"{path}: the drawing {wrong}.")
            own[home].strokes.append(Stroke("", ring, True))
            remarks[home].append("A closed line in it that crosses itself is kept as an inner line.")
    for slit in slits:
        drawn = LineString(slit)
        distances = [areas[i].exterior.distance(drawn) for i in kept_rings]
        near = distances.index(min(distances))
        made, said_of = slit_strokes([slit], outer[near])
        own[near].strokes += made
        remarks[near] += said_of
    outside = 0
    used = {id(stroke) for stroke in edges} - {id(stroke) for stroke in chained.open}
    for stroke in kept:
        if id(stroke) not in used and meaning(stroke.layer) != BOUNDARY:
            home = home_of(stroke.points)
            outside += home is None
            if home is not None:
                own[home].strokes.append(stroke)
    for mark in shapes.marks:
        home = home_of([mark.at])
        if home is not None:
            own[home].marks.append(mark)
    loose_words: list[Words] = []
    for word in shapes.words:
        home = home_of([word.at])
        if home is not None:
            own[home].words.append(word)
        else:
            loose_words.append(word)
    if outside:
        notes.append(f"{outside} lines that close no outline and lie in no piece left out.")
    if shapes.other:
        notes.append(shapes.unread())
    drafts = []
    for i, ring in enumerate(outer):
        fields = fields_of(own[i].words)
        said = [read_words(word.text) for word in fields.other]
        name = fields.get("piece name") or name_of([], said)
        fields = replace(fields, other=tuple(word for word in fields.other if word.text != name))
        size = fields.get("size") or next((one.size for one in said if one.size), None)
        drafts.append(
            Raw(
                name,
                size,
                ring,
                own[i],
                fields,
                meaning,
                tuple(inner.get(i, ())),
                plain=True,
                notes=tuple(remarks[i]),
            )
        )
    # From left to right and top to bottom people find them again; areas decided the order so far.
    drafts.sort(key=lambda draft: (min(x for x, _ in draft.outline), -max(y for _, y in draft.outline)))
    beside = [(word.text, read_words(word.text)) for word in fields_of(loose_words).other]
    notes += [note for _, said in beside for note in said.notes if said.allowance]
    lost = [text for text, said in beside if not said.allowance]
    if lost:
        notes.append(f"{len(lost)} text{'s' if len(lost) > 1 else ''} on no piece left out: {quoted(lost)}.")
    return drafts, notes, next((said.allowance for _, said in beside if said.allowance), None)


def _unseen(hidden: int) -> str:
    many = "objects are" if hidden > 1 else "object is"
    return f" (and {hidden} {many} hidden, and not read)" if hidden else ""


def _without_doubles(rings: Sequence[tuple[Point, ...]]) -> list[tuple[Point, ...]]:
    found: dict[frozenset[tuple[float, float]], tuple[Point, ...]] = {}
    for ring in rings:
        found.setdefault(frozenset((round(x, 2), round(y, 2)) for x, y in ring), ring)
    return list(found.values())
