"""One drawing of a pattern file on its way to a piece: outline, fold, allowances, marks, regions, cuts."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise
from pathlib import Path

from marker.errors import InputError, StillMissing
from marker.files.copied import named_places
from marker.files.messages import listed, nearest, sentence
from marker.files.outline import Drawn, Frame, Wrong, parse_lines, parse_ring
from marker.files.schema import CutTable, DrawingTable, Included, Measure, NotchTable, PieceTable
from marker.files.typed import WrongCorner, corners_path
from marker.model.fold import ON_LINE, edge_beside, fold_edge_of, reaches_across, straight_stretch
from marker.model.piece import Cut, How, Line, Notch, Piece, Point, Ring
from marker.model.ring import along, chain, nearest_on_ring, way_between, with_vertex
from marker.model.seam import add_allowance, move_in, move_out, take_allowance
from marker.model.symmetry import is_symmetric

SNAP = 1.0
"""Millimetres a point that belongs on the outline may lie off it in the file."""
REGION_SLACK = 0.5
"""Millimetres a region may reach out of its piece."""
SHORTEST_GRAIN = 1.0
"""Millimetres a grain line must measure at least."""
LONGEST_GRAIN = 20_000.0
"""Millimetres a grain line may measure at most."""

Stretch = tuple[Point, Point, float]
"""Vertices between which, in the order of the ring, an allowance is so many millimetres wide."""


@dataclass(frozen=True)
class Draft:
    """A drawing on its way to a piece; knows where it is in the file, for messages."""

    path: str | Path
    where: Sequence[str]
    frame: Frame
    drawing: DrawingTable
    odd: list[str] = field(default_factory=list)
    """Sentences about what is possible and looks like a slip."""

    def piece(self, table: PieceTable, allowance: Measure | Included) -> Piece:
        drawing = self.drawing
        drawn = self._ring(*self._outline())
        grain = self._grain()
        if not isinstance(allowance, Included):
            drawn = self._finer(drawn, allowance.mm)
        ring, fold = self._folded(drawn)
        hem = None
        if drawing.hem is not None:
            ring, hem = self._straight(ring, drawn, drawing.hem, "hem")
        ring, stretches = self._stretches(ring, drawn)
        self.odd.extend(self._reversed(ring, stretches))
        notches = []
        for i, notch in enumerate(drawing.notches):
            ring, at = self._notch(ring, drawn, notch, f'notch {i + 1} "{notch.name}"')
            notches.append(Notch(notch.name, at))

        cutting, stitching, width = ring, None, 0.0
        included = isinstance(allowance, Included)
        if isinstance(allowance, Included):
            if allowance.mm is not None or stretches:
                inside = self._inside_widths(ring, fold, allowance.mm, stretches)
                stitching, notches = self._sew_inside(ring, fold, inside, notches)
        else:
            stitching = ring
            widths = _widths(ring, fold, allowance.mm, stretches)
            if hem is not None:
                width = self._hem_width(ring, hem, widths)
            cutting, notches = self._add_allowance(ring, fold, widths, notches)
        fold_edge = fold_edge_of(cutting, fold) if fold is not None else None
        if hem is not None:
            hem = self._hem(cutting, hem, width, fold)
        regions = {name: self._region(name, text, cutting) for name, text in drawing.regions.items()}
        cuts = tuple(
            self._cut(i, cut, cutting, grain, fold_edge, regions) for i, cut in enumerate(table.cuts)
        )
        if table.bias and any(cut.how == "on fold" for cut in cuts):
            raise self.wrong(
                [],
                "is cut on the bias and on fold, which cannot both be; draw the whole piece, without a fold",
            )
        return Piece(
            number=table.number,
            name=table.name,
            outline=cutting,
            grain=grain,
            cuts=cuts,
            stitching=stitching,
            fold_edge=fold_edge,
            notches=tuple(notches),
            drills=tuple(
                self._inside(f"drill {i + 1}", point, cutting) for i, point in enumerate(drawing.drills)
            ),
            lines=tuple(line for i, text in enumerate(drawing.lines) for line in self._lines(i, text)),
            marks=tuple(
                Notch(mark.name, self._inside(f'mark {i + 1} "{mark.name}"', mark.at, cutting))
                for i, mark in enumerate(drawing.marks)
            ),
            hem=hem,
            bias=table.bias,
            included=included,
        )

    def wrong(self, field: Sequence[str], what: str) -> InputError:
        return sentence(self.path, [*self.where, *field], what)

    def _outline(self) -> tuple[str, str]:
        """The field that tells the outline, and its path data."""
        drawing = self.drawing
        if drawing.corners is None:
            if drawing.outline is None:
                told = '"outline" is missing; add it, or "corners"'
                raise sentence(self.path, self.where, told, StillMissing)
            return "outline", drawing.outline
        if drawing.outline is not None:
            raise self.wrong([], 'has both "outline" and "corners"; leave one of them out')
        if drawing.named_corners:
            raise self.wrong(
                ["named_corners"],
                'is for outlines; write each name into its corner, like { at = [0, 0], name = "neck" }',
            )
        try:
            return "corners", corners_path(drawing.corners, self.frame)
        except WrongCorner as wrong:
            raise self.wrong([f"corner {wrong.number}"], str(wrong)) from None

    def _ring(self, field: str, text: str) -> Drawn:
        try:
            return parse_ring(text, self.frame)
        except Wrong as wrong:
            raise self.wrong([field], str(wrong)) from None

    def _lines(self, index: int, text: str) -> list[Line]:
        try:
            return parse_lines(text, self.frame)
        except Wrong as wrong:
            raise self.wrong([f"line {index + 1}"], str(wrong)) from None

    @cached_property
    def _named(self) -> dict[str, Point]:
        """The named corners, where they lie in the file."""
        return named_places(self.drawing, self.frame)

    def _spot(self, spot: list[float] | str, field: Sequence[str]) -> Sequence[float]:
        """The place of a spot in the file, be it a point or the name of a corner."""
        if not isinstance(spot, str):
            return spot
        if not self._named:
            raise self.wrong(
                field,
                f'there is no corner {spot}; give a corner that name, with name = "{spot}" in "corners", '
                'or in "named_corners" beside an outline',
            )
        if spot not in self._named:
            like = nearest(spot, self._named)
            raise self.wrong(
                field,
                f"there is no corner {spot}; "
                + (f'did you mean "{like}"? ' if like else "")
                + f"the named corners are {listed(self._named)}",
            )
        return self._named[spot]

    def _notch(self, ring: Ring, drawn: Drawn, notch: NotchTable, field: str) -> tuple[Ring, Point]:
        """The ring with a vertex where the notch is, and that vertex."""
        ways = {"from": notch.from_, "towards": notch.towards, "distance": notch.distance}
        given = [name for name, value in ways.items() if value is not None]
        if notch.at is not None:
            if given:
                raise self.wrong([field], f'says its place twice, by "at" and "{given[0]}"; leave one out')
            return self._on_outline(ring, drawn, notch.at, [field, "at"])
        if notch.from_ is None or notch.towards is None or notch.distance is None:
            missing = next((name for name in ways if name not in given), "at") if given else "at"
            raise self.wrong(
                [field],
                f'"{missing}" is missing; write at = [x, y], or from and towards (names of corners) and '
                "distance",
            )
        ring, start = self._on_outline(ring, drawn, notch.from_, [field, "from"])
        ring, end = self._on_outline(ring, drawn, notch.towards, [field, "towards"])
        if start == end:
            raise self.wrong([field], f"{notch.from_} and {notch.towards} are one place; name another corner")
        way = way_between(ring, start, end)
        at = along(way, notch.distance.mm)
        if at is None:
            unit, size = self.frame.unit, self.frame.size
            long = sum(math.dist(a, b) for a, b in pairwise(way))
            raise self.wrong(
                [field, "distance"],
                f"it is only {long / size:.4g} {unit} from {notch.from_} to {notch.towards} and not "
                f"{notch.distance.mm / size:.4g} {unit}; measure it again, or name a corner farther on",
            )
        return with_vertex(ring, at)

    def _grain(self) -> tuple[Point, Point]:
        assert self.drawing.grain is not None
        tail, head = (self.frame.inside(point) for point in self.drawing.grain)
        length = math.dist(tail, head)
        if length < SHORTEST_GRAIN:
            raise self.wrong(
                ["grain"], "has no length; write two different points, the tail and the head of the arrow"
            )
        if not length <= LONGEST_GRAIN:
            raise self.wrong(["grain"], f"is {length / 1000:.4g} m long, which is absurd; check its points")
        return tail, head

    def _finer(self, drawn: Drawn, width: float) -> Drawn:
        """The outline with chords for the allowances that are added to it."""
        ring, fold = self._folded(drawn)
        ring, stretches = self._stretches(ring, drawn)
        widths = _widths(ring, fold, width, stretches)
        reaches = []
        for segment in drawn.segments:
            edges = chain(ring, ring.index(segment[0]), ring.index(segment[-1]))
            reaches.append(max((widths[i] for i in edges), default=0.0))
        try:
            return drawn.beside(reaches)
        except Wrong as wrong:
            raise self.wrong([self._outline()[0]], str(wrong)) from None

    def _folded(self, drawn: Drawn) -> tuple[Ring, tuple[Point, Point] | None]:
        if self.drawing.fold is None:
            return drawn.ring, None
        return self._fold(drawn, self.drawing.fold)

    def _stretches(self, ring: Ring, drawn: Drawn) -> tuple[Ring, list[Stretch]]:
        """The ring with vertices where allowances of their own begin and end, and those stretches."""
        found = []
        for i, stretch in enumerate(self.drawing.allowances):
            field = f"allowance {i + 1}"
            ring, start = self._on_outline(ring, drawn, stretch.from_, [field, "from"])
            ring, end = self._on_outline(ring, drawn, stretch.to, [field, "to"])
            if start == end:
                raise self.wrong([field], "begins and ends at the same point; write where it ends")
            found.append((*((end, start) if drawn.turned else (start, end)), stretch.width.mm))
        return ring, found

    def _reversed(self, ring: Ring, stretches: Sequence[Stretch]) -> Iterator[str]:
        """Stretches that go the long way round corners, where the other way is one edge without any.

        A hem written against the way of the drawing is an allowance on everything but the hem.
        """
        for i, (start, end, _) in enumerate(stretches):
            way, back = (
                [ring[k] for k in chain(ring, ring.index(a), ring.index(b))] + [b]
                for a, b in ((start, end), (end, start))
            )
            long, short = (sum(math.dist(a, b) for a, b in pairwise(line)) for line in (way, back))
            if long > short and _corners(way) >= 2 and not _corners(back):
                given, frame = self.drawing.allowances[i], self.frame
                one, other = (frame.say(frame.inside(self._spot(at, []))) for at in (given.from_, given.to))
                where = ", ".join([*self.where, f"allowance {i + 1}"])
                yield (
                    f"{where}: from {one} to {other}, going the way it is drawn, is {long / frame.size:.4g} "
                    f"{frame.unit} round the piece; if the edge between them is meant, "
                    f"{short / frame.size:.4g} {frame.unit} long, exchange from and to"
                )

    def _on_outline(
        self, ring: Ring, drawn: Drawn, spot: list[float] | str, field: Sequence[str]
    ) -> tuple[Ring, Point]:
        """The ring with a vertex where ``spot`` snaps to it; a drawn corner nearby is preferred."""
        inside = self.frame.inside(self._spot(spot, field))
        corner = min(drawn.corners & set(ring), key=lambda other: math.dist(other, inside))
        if math.dist(corner, inside) <= SNAP:
            return ring, corner
        distance, _, foot = nearest_on_ring(inside, ring)
        if not distance <= SNAP:
            raise self.wrong(
                field,
                f"{self.frame.say(inside)} is not on the outline; the nearest point of the outline is "
                f"{self.frame.say(foot)}",
            )
        return with_vertex(ring, foot)

    def _straight(
        self, ring: Ring, drawn: Drawn, given: Sequence[list[float] | str], field: str
    ) -> tuple[Ring, tuple[Point, Point]]:
        """The ring with vertices at both ends of a straight stretch of it, and that stretch."""
        ring, one = self._on_outline(ring, drawn, given[0], [field])
        ring, other = self._on_outline(ring, drawn, given[1], [field])
        if one == other:
            raise self.wrong([field], f"has no length; write both ends of the {field} edge")
        edge = straight_stretch(ring, one, other)
        if edge is None:
            raise self.wrong(
                [field],
                f"the outline is not straight from {self.frame.say(one)} to {self.frame.say(other)}; "
                "write both ends of a straight stretch of it",
            )
        return ring, edge

    def _fold(self, drawn: Drawn, given: Sequence[list[float] | str]) -> tuple[Ring, tuple[Point, Point]]:
        ring, edge = self._straight(drawn.ring, drawn, given, "fold")
        over = reaches_across(ring, edge)
        if over is not None:
            raise self.wrong(
                ["fold"],
                f"the piece reaches across its own fold line at {self.frame.say(over)}; "
                "all of it must lie on one side",
            )
        whole = fold_edge_of(ring, edge)
        beyond = {*(whole or edge)} - {*edge}
        if beyond and max(min(math.dist(end, given_end) for given_end in edge) for end in beyond) > SNAP:
            raise self.wrong(
                ["fold"],
                "the outline runs straight on along the fold line, from "
                f"{self.frame.say((whole or edge)[0])} to {self.frame.say((whole or edge)[1])}; "
                "write the fold edge in its whole length",
            )
        return ring, edge

    def _hem_width(
        self,
        ring: Ring,
        hem: tuple[Point, Point],
        widths: Sequence[float],
    ) -> float:
        """The allowance of the hem edge, which must have one."""
        own = {widths[i] for i in chain(ring, ring.index(hem[0]), ring.index(hem[1]))}
        if len(own) > 1:
            raise self.wrong(
                ["hem"],
                f"its allowance changes on the way, from {min(own):g} to {max(own):g} mm; "
                "write a hem edge with one allowance",
            )
        return own.pop()

    def _hem(
        self, cutting: Ring, hem: tuple[Point, Point], width: float, fold: tuple[Point, Point] | None
    ) -> tuple[Point, Point]:
        """The stretch of the cutting line along the hem, ready to lie along a selvage."""
        if fold is not None:
            long = math.dist(*fold)
            square = ((fold[1][0] - fold[0][0]) / long, (fold[1][1] - fold[0][1]) / long)
            drop = (hem[1][0] - hem[0][0]) * square[0] + (hem[1][1] - hem[0][1]) * square[1]
            if abs(drop) > SNAP:
                raise self.wrong(
                    ["hem"],
                    "is not square to the fold edge, so that it would not be straight when the piece is "
                    "opened out; write an edge that is",
                )
        edge = edge_beside(cutting, hem, width)
        if edge is None:
            raise self.wrong(
                ["hem"],
                "has no straight cutting line beside it; write a longer straight stretch of the outline",
            )
        over = reaches_across(cutting, edge)
        if over is not None:
            raise self.wrong(
                ["hem"],
                f"the piece reaches across its own hem line at {self.frame.say(over)}; "
                "all of it must lie on one side",
            )
        return edge

    def _inside_widths(
        self,
        ring: Ring,
        fold: tuple[Point, Point] | None,
        width: float | None,
        stretches: Sequence[Stretch],
    ) -> list[float]:
        """How far inside every edge of a cutting line the stitching line runs."""
        widths = _widths(ring, fold, -1.0 if width is None else width, stretches)
        if min(widths) < 0:
            untold = ring[widths.index(-1.0)]
            raise self.wrong(
                ["allowances"],
                "tell how wide the included allowance is on some of the outline and not on the rest, as at "
                f'{self.frame.say(untold)}; write that of the rest, like seam_allowance = "included 15 mm"',
            )
        return widths

    def _sew_inside(
        self,
        ring: Ring,
        fold: tuple[Point, Point] | None,
        widths: Sequence[float],
        notches: list[Notch],
    ) -> tuple[Ring | None, list[Notch]]:
        """The stitching line ``widths`` inside a cutting line, and the notches with their place on it."""
        found = []
        for i, notch in enumerate(notches):
            sewn = move_in(notch.at, ring, widths)
            if _inside_by(sewn, ring) < -ON_LINE:
                k = ring.index(notch.at)
                raise self.wrong(
                    [f'notch {i + 1} "{notch.name}"'],
                    f"{max(widths[k - 1], widths[k]):g} mm inside the outline it would lie outside the piece "
                    "again; check the allowance that is included",
                )
            found.append(Notch(notch.name, notch.at, sewn))
        return take_allowance(ring, widths, fold), found

    def _add_allowance(
        self,
        ring: Ring,
        fold: tuple[Point, Point] | None,
        widths: list[float],
        notches: list[Notch],
    ) -> tuple[Ring, list[Notch]]:
        """The cutting line, and the notches moved out onto it."""
        on_fold = [False] * len(ring)
        if fold is not None:
            for i in chain(ring, ring.index(fold[0]), ring.index(fold[1])):
                on_fold[i] = True
        try:
            cutting = add_allowance(ring, widths, on_fold)
        except ValueError as error:
            raise self.wrong(
                ["outline"], f"{error}; make the allowance smaller, or draw the piece apart"
            ) from None
        moved = []
        ends = fold_edge_of(cutting, fold) if fold is not None else None
        for notch in notches:
            if fold is not None and ends is not None and notch.at in fold:
                at = ends[fold.index(notch.at)]
            else:
                at = move_out(notch.at, ring, widths, cutting)
            cutting, at = with_vertex(cutting, at)
            moved.append(Notch(notch.name, at, notch.at))
        return cutting, moved

    def _region(self, name: str, text: str, cutting: Ring) -> Ring:
        from shapely import Polygon

        region = self._ring(f"region {name}", text).ring
        outside = Polygon(region).difference(Polygon(cutting).buffer(REGION_SLACK, join_style="mitre"))
        if not outside.is_empty and outside.area > 1e-6:
            # The far corner of what sticks out tells best where.
            far = max(
                (point for point in region),
                key=lambda point: -_inside_by(point, cutting),
            )
            raise self.wrong(
                [f"region {name}"],
                f"reaches out of its piece at {self.frame.say(far)}; keep it inside the cutting line",
            )
        return region

    def _inside(self, field: str, point: list[float], cutting: Ring) -> Point:
        inside = self.frame.inside(point)
        if not _inside_by(inside, cutting) >= -SNAP:
            raise self.wrong([field], f"{self.frame.say(inside)} is outside the piece; move it inside")
        return inside

    def _cut(
        self,
        index: int,
        cut: CutTable,
        cutting: Ring,
        grain: tuple[Point, Point],
        fold_edge: tuple[Point, Point] | None,
        regions: dict[str, Ring],
    ) -> Cut:
        field = f"cut {index + 1} ({cut.material})"
        region: Ring | None = None
        if cut.region is not None:
            region = regions.get(cut.region)
            if region is None:
                raise self.wrong(
                    [field, "region"],
                    f"there is no region {cut.region}; the regions are {listed(regions)}",
                )
        edge = fold_edge
        if region is not None and fold_edge is not None:
            edge = fold_edge_of(region, fold_edge)
        how: How
        if cut.how is not None:
            how = cut.how
        elif edge is not None:
            how = "on fold"
        elif cut.count == 1:
            how = "alike"
        elif cut.count % 2 == 0:
            how = "mirrored"
        elif is_symmetric(region or cutting, grain, nap=True):
            how = "alike"
        else:
            how = "mirrored"
        if how == "on fold" and edge is None:
            raise self.wrong(
                [field],
                "is cut on fold, but "
                + (
                    "the drawing has no fold edge"
                    if fold_edge is None
                    else "the region has no edge on the fold line"
                )
                + '; add "fold" to the drawing, or write another "how"',
            )
        if how == "mirrored" and cut.count % 2:
            raise self.wrong(
                [field, "count"],
                f'{cut.count} does not make mirrored pairs; write an even count, or how = "alike"',
            )
        return Cut(cut.material, cut.count, how, region, cut.region or "")


def _corners(line: Sequence[Point]) -> int:
    """How many times a line turns by more than 30 degrees at one place."""
    turns = 0
    for a, b, c in zip(line, line[1:], line[2:], strict=False):
        (ux, uy), (vx, vy) = (b[0] - a[0], b[1] - a[1]), (c[0] - b[0], c[1] - b[1])
        turns += abs(math.atan2(ux * vy - uy * vx, ux * vx + uy * vy)) > math.radians(30)
    return turns


def _widths(
    ring: Ring,
    fold: tuple[Point, Point] | None,
    width: float,
    stretches: Sequence[Stretch],
) -> list[float]:
    """The allowance of every edge of ``ring``: ``width``, a stretch's own, or none on the fold."""
    widths = [width] * len(ring)
    for start, end, own in stretches:
        for i in chain(ring, ring.index(start), ring.index(end)):
            widths[i] = own
    if fold is not None:
        for i in chain(ring, ring.index(fold[0]), ring.index(fold[1])):
            widths[i] = 0.0
    return widths


def _inside_by(point: Point, ring: Ring) -> float:
    """Distance from the edge of ``ring``, positive inside and negative outside."""
    px, py = point
    inside = False
    for (ax, ay), (bx, by) in zip(ring, (*ring[1:], ring[0]), strict=True):
        if (ay > py) != (by > py) and px < ax + (py - ay) * (bx - ax) / (by - ay):
            inside = not inside
    distance = nearest_on_ring(point, ring)[0]
    return distance if inside else -distance
