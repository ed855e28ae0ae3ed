"""From the objects of a drawing to pieces: who is an outline, whose mark is what, and what is not said.

The convention is told in ``marker/importing/svg.py``. Whatever is decided here that the drawing does not say
in so many words is told in a note.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from marker.errors import InputError
from marker.files.messages import sentence
from marker.importing.drawn import Drawing, Group, Object, Text
from marker.importing.found import Found, FoundNotch, FoundPiece, Point
from marker.importing.mend import mended, notch_of, slit_note
from marker.importing.phrases import Said, name_of, quoted, united
from marker.importing.squares import check_squares, is_test_square, sides, stated
from marker.importing.stroke import Stroke

CLOSES = 0.1
"""Millimetres between the ends of a path that is closed all the same."""
REACH = 3.0
"""Millimetres a notch or the end of a fold line may be drawn off the edge."""
STRAIGHT = 0.2
"""Millimetres the edge may stray from the line of the fold."""
FARTHEST = 1e6
"""Millimetres from the origin beyond which nothing that is drawn makes sense."""
SMALLEST = 5.0
"""Millimetres the longer side of a piece must measure at least."""
TEST_SIDES = (100.0, 101.6)
"""Millimetres of the sides that test squares have: 100 mm and 4 in."""
FRAMED = 0.3
"""Share of a rectangle that the outlines inside it fill at least if it is a frame round them."""
MOST_PIECES = 500


@dataclass(eq=False)
class Piece:
    """An outline on its way to a piece, in the millimetres of the whole drawing."""

    source: Object
    stroke: Stroke
    points: list[Point]
    shape: Any
    """The outline as a shapely polygon."""
    grains: list[tuple[Point, Point]] = field(default_factory=list)
    folds: list[tuple[Point, Point]] = field(default_factory=list)
    notches: list[FoundNotch] = field(default_factory=list)
    drills: list[Point] = field(default_factory=list)
    lines: list[Stroke] = field(default_factory=list)
    regions: dict[str, Stroke] = field(default_factory=dict)
    texts: list[Said] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    @property
    def groups(self) -> tuple[Group, ...]:
        return self.source.groups


def assemble(path: str | Path, drawing: Drawing, nested_are_lines: bool = False) -> Found:
    """The pieces of a drawing. ``nested_are_lines``: an outline inside another is a line of it (for kinds of
    files in which objects cannot say what they are). Raises InputError if there is no piece at all or
    an outline is none.
    """
    texts = tuple(text for text in drawing.texts if max(abs(text.at[0]), abs(text.at[1])) < FARTHEST)
    drawing = replace(drawing, texts=texts)
    work = _Work(path, drawing, nested_are_lines)
    work.outlines()
    work.marks()
    work.words()
    said = drawing.said
    for text in work.loose_texts:
        said = replace(
            said,
            pattern=said.pattern or text.said.pattern,
            allowance=said.allowance or text.said.allowance,
            notes=tuple(dict.fromkeys((*said.notes, *text.said.notes))),
        )
    groups = {group.key: group for thing in drawing.objects for group in thing.groups}
    for group in groups.values():
        said = replace(said, pattern=said.pattern or group.said.pattern)
    shared = [word for key, group in groups.items() if not work.holds_one(key) for word in group.said.stray]
    if shared:
        work.notes.append(f"Words of groups that were taken for nothing: {quoted(shared)}.")
    # Beside the pieces only the words about all of them count.
    work.notes += [note for note in said.notes if said.allowance]
    pieces = tuple(work.piece(piece) for piece in work.pieces)
    allowance = said.allowance
    given = {piece.seam_allowance for piece in pieces}
    if allowance is None and len(given) == 1:
        # Said by every piece alike: said once for the whole file.
        (allowance,) = given
    pieces = tuple(
        replace(piece, seam_allowance=None) if piece.seam_allowance == allowance else piece
        for piece in pieces
    )
    return Found(
        name=said.pattern or said.name,
        unit=drawing.unit,
        sizes=tuple(dict.fromkeys(piece.size for piece in pieces if piece.size is not None)),
        pieces=pieces,
        notes=(*drawing.notes, *work.notes),
        seam_allowance=allowance,
    )


@dataclass
class _Work:
    path: str | Path
    drawing: Drawing
    nested_are_lines: bool
    pieces: list[Piece] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    loose: list[tuple[Object, Stroke]] = field(default_factory=list)
    small: list[tuple[float, float]] = field(default_factory=list)
    """Widths and heights of closed lines that are too small for pieces."""
    loose_texts: list[Text] = field(default_factory=list)
    marked: list[tuple[Object, Said]] = field(default_factory=list)
    used_texts: set[int] = field(default_factory=set)
    tree: tuple[int, Any] = (-1, None)
    """A spatial index of the pieces, and how many there were when it was made (they only get fewer)."""
    members: tuple[int, dict[int, list[Piece]]] = (-1, {})
    """The pieces in each group, and how many there were."""

    def wrong(self, where: str, what: str) -> InputError:
        return sentence(self.path, [where], what)

    # Outlines

    def outlines(self) -> None:
        """Find the pieces; put aside what is marked as something else, and open lines."""
        for thing in self.drawing.objects:
            said = _kind_said(thing)
            strokes = [stroke.tidy(CLOSES) for stroke in thing.strokes]
            strokes = [stroke for stroke in strokes if stroke.segments]
            if not strokes or said.kind == "ignore":
                continue
            if not all(max(abs(x), abs(y)) < FARTHEST for stroke in strokes for x, y in _controls(stroke)):
                raise self.wrong(
                    thing.where,
                    "reaches more than 1 km from the origin, which is absurd; correct or delete it",
                )
            thing = replace(thing, strokes=tuple(strokes))
            if said.kind not in (None, "outline"):
                self.marked.append((thing, said))
                continue
            closed = [stroke for stroke in strokes if stroke.closed and len(stroke.points()) > 2]
            if not closed and said.kind == "outline":
                raise self.wrong(thing.where, "is called an outline and is not closed; close its path")
            self.loose += [(thing, stroke) for stroke in strokes if stroke not in closed]
            if not closed:
                continue
            self._outlines_of(thing, closed)
        self._join_loose()
        if self.small:
            many = "s" if len(self.small) > 1 else ""
            self.notes.append(
                f"{len(self.small)} closed shape{many} smaller than {SMALLEST:g} mm "
                "and not called anything left out."
            )
        self._take_out_squares()
        self._take_out_repeats()
        self._nested()
        if not self.pieces:
            raise sentence(self.path, [], self._why_none())

    def _why_none(self) -> str:
        hidden = self.drawing.hidden
        told = f"; of hidden objects, which are not read, there {'are' if hidden > 1 else 'is'} {hidden}"
        told = told if hidden else ""
        if not self.small:
            return (
                "has no piece in it: there is no closed line that can be seen; "
                f"draw the edge of each piece as one closed path{told}"
            )
        width, height = max(self.small, key=max)
        how = "--scale" if self.drawing.page else "--unit or --scale"
        return (
            f"has no piece in it: its closed lines are smaller than {SMALLEST:g} mm (the largest measures "
            f"{width:.3g} by {height:.3g} mm), too small for a piece; if the drawing is meant larger, "
            f"say so with {how}{told}"
        )

    def _outlines_of(self, thing: Object, closed: Sequence[Stroke]) -> list[Piece]:
        """Make a piece of each closed line of one object that lies outside the others, and lines of those
        inside."""
        found = [mended(stroke) for stroke in closed]
        made: list[Piece] = []
        inner = 0
        for stroke in sorted((part for each in found for part in (*each.parts, *each.holes)), key=_area)[
            ::-1
        ]:
            points = stroke.points()
            around = next((piece for piece in made if _encloses(piece, points)), None)
            if around is not None:
                around.lines.append(stroke)
                inner += 1
            elif max(_extent(points)) < SMALLEST and _kind_said(thing).kind is None:
                self.small.append(_extent(points))
            else:
                made.append(self._piece(thing, stroke, points))
        for piece in made:
            if inner and piece.lines:
                piece.notes.append("Its inner closed lines are written as lines to mark, not to cut.")
            if len(made) > 1:
                piece.notes.append(
                    f"One of {len(made)} parts of a path that lie apart: each is a piece with the same words."
                )
        for slit in (slit for each in found for slit in each.slits):
            self._slit(thing, made, slit)
        return made

    def _slit(self, thing: Object, pieces: Sequence[Piece], slit: Sequence[Point]) -> None:
        """A slit drawn out and back is a notch, or a line, of the piece it touches; of none, an open line."""
        from shapely import LineString

        line = LineString(slit)
        stroke = Stroke(slit[0], tuple((point,) for point in slit[1:]), False)
        owner = min(pieces, key=lambda piece: piece.shape.distance(line), default=None)
        if owner is None:
            self.loose.append((thing, stroke))
            return
        notch = notch_of(slit, owner.points)
        inside = bool(owner.shape.buffer(CLOSES).contains(line))
        owner.notes.append(slit_note(slit, notch is not None, inside))
        if notch is not None:
            owner.notches.append(notch)
        elif inside:
            owner.lines.append(stroke)

    def _piece(self, thing: Object, stroke: Stroke, points: list[Point]) -> Piece:
        from shapely import Polygon

        from marker.files.outline import MOST_POINTS, Frame, Wrong, parse_ring

        name = self._name(thing)
        try:
            if len(stroke.segments) > MOST_POINTS:
                raise Wrong(f"has more than {MOST_POINTS} points; draw it with fewer")
            parse_ring(stroke.data(), Frame("mm"))
        except Wrong as wrong:
            where = f'{thing.where} ("{name}")' if name and name not in thing.where else thing.where
            raise self.wrong(
                f"{where}, outline, millimetres from the top left of the drawing", str(wrong)
            ) from None
        made = Piece(thing, stroke, points, Polygon(points))
        self.pieces.append(made)
        if len(self.pieces) > MOST_PIECES:
            raise sentence(self.path, [], f"has more than {MOST_PIECES} closed shapes, which is no pattern")
        return made

    def _name(self, thing: Object) -> str | None:
        return thing.said.name or next((g.said.name for g in reversed(thing.groups) if g.said.name), None)

    def _join_loose(self) -> None:
        """Open lines that meet end to end and come back to where they began are outlines as well."""
        chains = _chains([stroke for thing, stroke in self.loose if thing.said == Said()])
        used = {id(stroke) for chain in chains for stroke in chain}
        for chain in chains:
            joined = _joined(chain)
            first = next(thing for thing, stroke in self.loose if stroke is chain[0])
            for piece in self._outlines_of(first, [joined]):
                piece.notes.append(
                    f"Its outline was put together from {len(chain)} lines that meet end to end."
                )
        self.loose = [(thing, stroke) for thing, stroke in self.loose if id(stroke) not in used]

    def _take_out_squares(self) -> None:
        squares = [
            (stroke, said.kind_name or "100 mm")
            for thing, said in self.marked
            for stroke in thing.strokes
            if said.kind == "test square"
        ]
        self.marked = [(thing, said) for thing, said in self.marked if said.kind != "test square"]
        for i, text in enumerate(self.drawing.texts):
            outright = text.said.kind == "test square"
            words = text.said.kind_name or "100 mm" if outright else text.words
            if not outright and not stated(words):
                continue
            around = self._around(text.at, REACH) or self._nearest_square(text.at)
            if around is not None and is_test_square(around.stroke, words):
                self.used_texts.add(i)
                self.pieces.remove(around)
                squares.append((around.stroke, words))
            elif outright:
                self.used_texts.add(i)
                self.notes.append(
                    f'Careful: "{text.words[:60]}" is written in or beside no square of about that size, '
                    "so the scale was not checked."
                )
        self.notes += check_squares(squares)
        for piece in self.pieces:
            size = sides(piece.stroke)
            if not squares and size and any(max(abs(s / t - 1) for s in size) < 0.06 for t in TEST_SIDES):
                piece.notes.append(
                    f"It is a rectangle of {size[0]:.2f} by {size[1]:.2f} mm: if it is a test square for the "
                    "scale, delete the piece."
                )

    def _nearest_square(self, at: Point) -> Piece | None:
        from shapely import Point as Dot

        near = [piece for piece in self._near(Dot(at), 25) if len(piece.points) == 4]
        return min(near, key=lambda piece: piece.shape.distance(Dot(at)), default=None)

    def _take_out_repeats(self) -> None:
        """The same outline drawn twice in one place (once filled, once as a line) is one piece."""
        kept: list[Piece] = []
        repeats = 0
        for piece in self.pieces:
            twin = next((other for other in kept if _same_shape(piece, other)), None)
            if twin is None or (piece.source.said.name or piece.source.said.number):
                kept.append(piece)
            else:
                repeats += 1
        if repeats:
            self.notes.append(
                f"{repeats} outline{'s' if repeats > 1 else ''} drawn twice in the same place taken once."
            )
        self.pieces = kept

    def _nested(self) -> None:
        """Outlines inside others: lines of them, or pieces with a note."""
        if self.nested_are_lines:
            self._take_out_frames()
        for piece, other in self._parents():
            if self.nested_are_lines:
                self.pieces.remove(piece)
                self.loose.append((piece.source, piece.stroke))
            elif piece.source.said.kind != "outline":
                piece.notes.append(
                    f"Drawn inside {self._call(other)}: if it is a mark, call it line, region or ignore."
                )

    def _parents(self) -> list[tuple[Piece, Piece]]:
        """Every outline that lies inside another, with the smallest one around it."""
        found = []
        for piece in self.pieces:
            around = [other for other in self.pieces if other is not piece and _holds(other, piece)]
            if around:
                found.append((piece, min(around, key=lambda other: other.shape.area)))
        return found

    def _take_out_frames(self) -> None:
        """A rectangle round the page, or round several outlines that fill much of it, is no piece."""
        page = self.drawing.page
        frames = [p for p in self.pieces if page and sides(p.stroke) and _fills(p.points, page)]
        if len(frames) == len(self.pieces):
            return
        parents = self._parents()
        for piece in self.pieces:
            inside = [child.shape.area for child, parent in parents if parent is piece]
            if sides(piece.stroke) and len(inside) > 1 and sum(inside) > FRAMED * piece.shape.area:
                frames.append(piece)
        frames = list(dict.fromkeys(frames))
        for frame in frames:
            self.pieces.remove(frame)
            width, height = _extent(frame.points)
            self.notes.append(
                f"A rectangle of {width:.0f} by {height:.0f} mm is taken for a frame, no piece."
            )
        if frames:
            self._take_out_frames()

    def _call(self, piece: Piece) -> str:
        name = self._name(piece.source)
        return f'"{name}"' if name else piece.source.where

    # Marks

    def marks(self) -> None:
        for thing, said in self.marked:
            owner = self._owner(thing, said)
            if owner is None:
                self.notes.append(f"{_upper(said.kind)} ({thing.where}) lies on no piece and was left out.")
            else:
                self._mark(owner, thing, said)
        dropped = self._loose_lines()
        if dropped:
            self.notes.append(
                f"{dropped} open line{'s' if dropped > 1 else ''} on no piece left out; "
                "close a path to make a piece of it."
            )

    def _loose_lines(self) -> int:
        """Give each loose line to the smallest outline around its middle; how many lie in none."""
        from shapely import STRtree, points

        strokes = [stroke for _, stroke in self.loose]
        if not strokes:
            return 0
        dots = points([_middle(stroke) for stroke in strokes])
        found = STRtree([piece.shape for piece in self.pieces]).query(dots, "intersects")
        areas = [piece.shape.area for piece in self.pieces]
        owners: dict[int, int] = {}
        for line, piece in found.T.tolist():
            if line not in owners or areas[piece] < areas[owners[line]]:
                owners[line] = piece
        for line, owner in sorted(owners.items()):
            self.pieces[owner].lines.append(strokes[line])
        return len(strokes) - len(owners)

    def _mark(self, owner: Piece, thing: Object, said: Said) -> None:
        kind = said.kind
        stroke = thing.strokes[0]
        if kind == "grain":
            ends = _arrow(thing.strokes)
            if ends is None:
                raise self.wrong(thing.where, "is called grain and is no line; draw it from tail to head")
            owner.grains.append(ends)
        elif kind == "fold":
            owner.folds.append(self._fold(owner, thing))
        elif kind == "notch":
            at = _notch_at(thing.strokes, owner)
            if at is None:
                self.notes.append(
                    f"{_upper(said.kind)} ({thing.where}) is more than {REACH:g} mm from the edge of "
                    f"{self._call(owner)} and was left out."
                )
            else:
                owner.notches.append(FoundNotch(at, said.kind_name))
        elif kind == "drill":
            owner.drills.append(_centre([point for s in thing.strokes for point in s.points()]))
        elif kind == "line":
            owner.lines += thing.strokes
        elif kind == "region":
            if not stroke.closed or len(thing.strokes) > 1:
                raise self.wrong(thing.where, "is called a region and is not one closed path; close it")
            name = said.kind_name or "region"
            if name in owner.regions:
                raise self.wrong(thing.where, f'there are two regions "{name}" of one piece; rename one')
            owner.regions[name] = stroke

    def _fold(self, owner: Piece, thing: Object) -> tuple[Point, Point]:
        ends = _farthest([point for stroke in thing.strokes for point in stroke.points()])
        edge = _straight_edge(owner.points, ends)
        if edge is None:
            raise self.wrong(
                thing.where,
                f"is called fold and does not lie on a straight edge of {self._call(owner)} "
                f"(within {REACH:g} mm); draw it along the edge that lies on the fold",
            )
        if math.dist(*edge) > math.dist(*ends) + 2 * REACH:
            owner.notes.append("Its fold is drawn along part of an edge; the whole straight edge is taken.")
        return edge

    def _owner(self, thing: Object, said: Said) -> Piece | None:
        held = self._held(thing.groups)
        if held is not None:
            return held
        points = [point for stroke in thing.strokes for point in stroke.points()]
        if said.kind in ("notch", "fold"):
            return self._nearest(points)
        return self._around(_centre(points), REACH)

    def _held(self, groups: Sequence[Group]) -> Piece | None:
        """The one outline in the innermost of the groups that holds any."""
        members = self._members()
        for group in reversed(groups):
            inside = members.get(group.key, [])
            if inside:
                return inside[0] if len(inside) == 1 else None
        return self.pieces[0] if len(self.pieces) == 1 else None

    def holds_one(self, key: int) -> bool:
        """Whether a group holds one outline only, so that its words are about that piece."""
        return len(self._members().get(key, [])) == 1

    def _members(self) -> dict[int, list[Piece]]:
        if self.members[0] != len(self.pieces):
            found: dict[int, list[Piece]] = {}
            for piece in self.pieces:
                for group in piece.groups:
                    found.setdefault(group.key, []).append(piece)
            self.members = (len(self.pieces), found)
        return self.members[1]

    def _near(self, shape: Any, reach: float) -> list[Piece]:
        """The pieces whose areas lie within ``reach`` of a shapely geometry, in the order drawn."""
        from shapely import STRtree

        if self.tree[0] != len(self.pieces):
            self.tree = (len(self.pieces), STRtree([piece.shape for piece in self.pieces]))
        return [self.pieces[i] for i in sorted(self.tree[1].query(shape, "dwithin", reach))]

    def _around(self, at: Point, slack: float = 0.0) -> Piece | None:
        """The smallest outline around a point."""
        from shapely import Point as Dot

        around = self._near(Dot(at), slack)
        inside = [piece for piece in around if piece.shape.distance(Dot(at)) == 0] or around
        return min(inside, key=lambda piece: piece.shape.area) if inside else None

    def _nearest(self, points: list[Point]) -> Piece | None:
        """The piece whose edge all of the points, or one of them, lie nearest to."""
        from shapely import MultiPoint

        dots = MultiPoint(points)
        near = [
            (max(0.0, piece.shape.exterior.distance(dots) - REACH), piece.shape.area, i)
            for i, piece in enumerate(self._near(dots, 2 * REACH))
        ]
        best = min(near, default=None)
        return self._near(dots, 2 * REACH)[best[2]] if best and best[0] <= REACH else None

    # Words

    def words(self) -> None:
        outside: list[str] = []
        for i, text in enumerate(self.drawing.texts):
            if i in self.used_texts or any(group.said.kind == "ignore" for group in text.groups):
                continue
            owner = self._around(text.at) or (self._held(text.groups) if text.groups else None)
            if owner is None:
                self.loose_texts.append(text)
                if not (text.said.pattern or text.said.allowance):
                    outside.append(text.words)
            else:
                owner.texts.append(text.said)
        if outside:
            many = "s" if len(outside) > 1 else ""
            self.notes.append(f"{len(outside)} text{many} on no piece left out: {quoted(outside)}.")

    def piece(self, piece: Piece) -> FoundPiece:
        """What is said about a piece, the nearest first: by itself, its groups, the text on it."""
        own = [piece.source.said]
        alone: list[Said] = []
        shared: list[Said] = []
        for group in reversed(piece.groups):
            (alone if self.holds_one(group.key) else shared).append(group.said)
        told = [*own, *alone, *piece.texts]
        everything = [*told, *shared]
        name = name_of([*own, *alone], piece.texts)
        cuts = (
            next((said.cuts for said in [*own, *alone] if said.cuts), None)
            or united(piece.texts)
            or next((said.cuts for said in shared if said.cuts), None)
        )
        guide = any(said.guide for said in told)
        allowances = list(dict.fromkeys(said.allowance for said in everything if said.allowance))
        notes = [*piece.notes, *(note for said in everything for note in said.notes)]
        if len(allowances) > 1:
            notes.append(
                f"Careful: several seam allowances are said of it, {quoted(allowances)}; the first is taken."
            )
        words = [said.name for said in piece.texts if said.name and said.name != name]
        words += [word for said in told for word in said.stray]
        if words:
            notes.append(f"Words that were taken for nothing: {quoted(list(dict.fromkeys(words)))}.")
        if len(piece.grains) > 1:
            notes.append("It has more than one grain line; the first is taken.")
        if len(piece.folds) > 1:
            notes.append("It has more than one fold; the first is taken.")
        drills = [drill for drill in piece.drills if self._is_inside(piece, drill)]
        if len(drills) < len(piece.drills):
            notes.append(f"{len(piece.drills) - len(drills)} of its drill marks lie outside it: left out.")
        left, top = min(x for x, _ in piece.points), min(y for _, y in piece.points)

        def at(point: Point) -> Point:
            return point[0] - left, point[1] - top

        return FoundPiece(
            outline=piece.stroke.moved(at).data(),
            name=name,
            number=next((said.number for said in told if said.number), None),
            size=next((said.size for said in everything if said.size), None),
            grain=(at(piece.grains[0][0]), at(piece.grains[0][1])) if piece.grains else None,
            fold=(at(piece.folds[0][0]), at(piece.folds[0][1])) if piece.folds else None,
            notches=tuple(FoundNotch(at(notch.at), notch.name) for notch in piece.notches),
            drills=tuple(at(drill) for drill in drills),
            lines=tuple(line.moved(at).data() for line in piece.lines),
            cuts=() if guide else cuts,
            asked=next((said.asked for said in everything if said.asked), None),
            seam_allowance=next(iter(allowances), None),
            regions={word: region.moved(at).data() for word, region in piece.regions.items()},
            notes=tuple(notes),
        )

    def _is_inside(self, piece: Piece, at: Point) -> bool:
        from shapely import Point as Dot

        return bool(piece.shape.distance(Dot(at)) <= 0.5)


def _kind_said(thing: Object) -> Said:
    """What an object is: said by itself, or else by the nearest group that says so."""
    if thing.said.kind:
        return thing.said
    return next((group.said for group in reversed(thing.groups) if group.said.kind), Said())


def _controls(stroke: Stroke) -> Iterable[Point]:
    yield stroke.start
    for segment in stroke.segments:
        yield from segment


def _upper(word: str | None) -> str:
    return (word or "mark").capitalize()


def _area(stroke: Stroke) -> float:
    from marker.model.ring import signed_area

    return abs(signed_area(stroke.points()))


def _extent(points: Sequence[Point]) -> tuple[float, float]:
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return max(xs) - min(xs), max(ys) - min(ys)


def _centre(points: Sequence[Point]) -> Point:
    """The middle of the bounding box."""
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2


def _middle(stroke: Stroke) -> Point:
    """A point of the stroke, halfway along it."""
    from shapely import LineString

    points = stroke.points()
    if len(points) == 2:
        return (points[0][0] + points[1][0]) / 2, (points[0][1] + points[1][1]) / 2
    middle = LineString(points).interpolate(0.5, normalized=True)
    return middle.x, middle.y


def _arrow(strokes: Sequence[Stroke]) -> tuple[Point, Point] | None:
    """Start and end of the longest open stroke: arrow heads and feathers are shorter than the shaft."""
    from shapely import LineString

    shafts = [stroke for stroke in strokes if not stroke.closed and math.dist(stroke.start, stroke.end) > 1]
    if not shafts:
        return None
    shaft = max(shafts, key=lambda stroke: LineString(stroke.points()).length)
    return shaft.start, shaft.end


def _notch_at(strokes: Sequence[Stroke], owner: Piece) -> Point | None:
    """Where a notch meets the edge: where its line crosses it, or else the place nearest to it."""
    from shapely import LineString, MultiLineString, shortest_line

    edge = owner.shape.exterior
    drawn = [[*stroke.points(), *([stroke.start] if stroke.closed else [])] for stroke in strokes]
    if all(stroke.closed for stroke in strokes):
        # A dot or triangle: its middle counts, not its rim.
        middle = _centre([point for points in drawn for point in points])
        mark = LineString([middle, middle])
    else:
        mark = MultiLineString(drawn)
        meets = mark.intersection(edge)
        if not meets.is_empty:
            centre = meets.centroid
            at = edge.interpolate(edge.project(centre))
            return at.x, at.y
    way = shortest_line(edge, mark)
    if way is None or way.length > REACH + (5.0 if all(s.closed for s in strokes) else 0.0):
        return None
    x, y = way.coords[0]
    return float(x), float(y)


def _farthest(points: Sequence[Point]) -> tuple[Point, Point]:
    """The two points farthest from each other, in the order drawn."""
    few = points if len(points) <= 200 else points[:: len(points) // 200]
    return max(((a, b) for i, a in enumerate(few) for b in few[i:]), key=lambda pair: math.dist(*pair))


def _straight_edge(points: Sequence[Point], ends: tuple[Point, Point]) -> tuple[Point, Point] | None:
    """The whole straight stretch of the outline along which a line between ``ends`` is drawn."""
    from marker.model.ring import nearest_on_ring, off_line

    snapped = [nearest_on_ring(end, points) for end in ends]
    if max(distance for distance, _, _ in snapped) > REACH or math.dist(*ends) < 1:
        return None
    n = len(points)
    middle = ((ends[0][0] + ends[1][0]) / 2, (ends[0][1] + ends[1][1]) / 2)
    start = nearest_on_ring(middle, points)[1]
    first, last = start, (start + 1) % n
    line = (points[first], points[last])
    while (last + 1) % n != first and abs(off_line(points[(last + 1) % n], line)) <= STRAIGHT:
        last = (last + 1) % n
    while (first - 1) % n != last and abs(off_line(points[first - 1], line)) <= STRAIGHT:
        first = (first - 1) % n
    edge = (points[first], points[last])
    along = [_share(foot, edge) for _, _, foot in snapped]
    apart = max(abs(off_line(foot, edge)) for _, _, foot in snapped)
    if apart > REACH or not all(-0.02 <= share <= 1.02 for share in along):
        return None
    return edge if along[0] <= along[1] else (edge[1], edge[0])


def _share(point: Point, line: tuple[Point, Point]) -> float:
    (ax, ay), (bx, by) = line
    dx, dy = bx - ax, by - ay
    return ((point[0] - ax) * dx + (point[1] - ay) * dy) / (dx * dx + dy * dy)


def _encloses(outer: Piece, points: Sequence[Point]) -> bool:
    """Whether all corners of a closed line, which may cross itself, lie in a piece."""
    from shapely import dwithin
    from shapely import points as dots

    return bool(dwithin(outer.shape, dots(points), CLOSES / 2).all())


def _holds(outer: Piece, inner: Piece) -> bool:
    (a, b, c, d), (e, f, g, h) = outer.shape.bounds, inner.shape.bounds
    return a <= e and b <= f and c >= g and d >= h and bool(outer.shape.contains(inner.shape))


def _same_shape(one: Piece, other: Piece) -> bool:
    if abs(one.shape.area - other.shape.area) > 1 + 0.001 * one.shape.area:
        return False
    if max(abs(a - b) for a, b in zip(one.shape.bounds, other.shape.bounds, strict=True)) > 0.1:
        return False
    from shapely import distance
    from shapely import points as dots

    few = one.points[:: max(1, len(one.points) // 200)]
    return bool((distance(dots(few), other.shape.exterior) < 0.1).all())


def _fills(points: Sequence[Point], page: tuple[float, float]) -> bool:
    width, height = _extent(points)
    return width > 0.9 * page[0] and height > 0.9 * page[1]


def _chains(strokes: list[Stroke]) -> list[list[Stroke]]:
    """Strokes that form rings end to end, where exactly two meet at every end."""

    def cell(point: Point) -> tuple[int, int]:
        return round(point[0] / (2 * CLOSES)), round(point[1] / (2 * CLOSES))

    at_end: dict[tuple[int, int], list[Stroke]] = {}
    for stroke in strokes:
        for end in (stroke.start, stroke.end):
            at_end.setdefault(cell(end), []).append(stroke)

    def partner(point: Point, of: Stroke) -> Stroke | None:
        i, j = cell(point)
        near = [
            other
            for di in (-1, 0, 1)
            for dj in (-1, 0, 1)
            for other in at_end.get((i + di, j + dj), ())
            if min(math.dist(point, other.start), math.dist(point, other.end)) <= CLOSES
        ]
        others = [other for other in near if other is not of]
        return others[0] if len(near) == 2 and len(others) == 1 else None

    chains: list[list[Stroke]] = []
    used: set[int] = set()
    for first in strokes:
        if id(first) in used:
            continue
        chain, at, here = [first], first.end, first
        while True:
            following = partner(at, here)
            if following is None or (following is not first and any(following is s for s in chain)):
                break
            if following is first:
                if len(chain) > 1 and math.dist(at, first.start) <= CLOSES:
                    chains.append(chain)
                    used.update(id(stroke) for stroke in chain)
                break
            chain.append(following)
            at = following.end if math.dist(at, following.start) <= CLOSES else following.start
            here = following
    return chains


def _joined(chain: Sequence[Stroke]) -> Stroke:
    segments: list[tuple[Point, ...]] = list(chain[0].segments)
    at = chain[0].end
    for stroke in chain[1:]:
        way = stroke if math.dist(at, stroke.start) <= CLOSES else stroke.reversed()
        segments += way.segments
        at = way.end
    return Stroke(chain[0].start, tuple(segments), True).tidy(CLOSES)
