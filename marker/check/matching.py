"""Does the print match? Phases of the repeat where pieces meet, read off the flat cloth.

Every copy is brought back to where it was cut from the flat cloth. There a place of a piece has a phase
along its grain arrow, positive towards the head, and one across, positive to the left of it, counted
from the middle of a bar or motif. A line of the print runs on from piece to piece where the phases agree
modulo the repeat, on an even print also where one is the mirror image of the other. Matching at the
stitching line: common practice (Vilumsone-Nemes, Industrial Cutting of Textile Materials, p. 228).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from shapely.affinity import affine_transform

from marker.check.demand import sewn_at, ties_of
from marker.check.direction import ANGLE_TOLERANCE
from marker.check.form import Affine, across, after, apply, shifted, turned
from marker.check.placed import Laid
from marker.check.spread import Ground, stretches_of
from marker.model.fabric import Print
from marker.model.layout import MaterialLayout
from marker.model.match import Match
from marker.model.piece import Piece, Point

ROUNDING = 0.01
"""Millimetres granted over the tolerance of the print: the precision of the layout file."""
MATCHABLE = ("open", "lengthwise fold", "partial fold", "tubular")
"""Spreads on which it can be said where the print lies."""

Finding = tuple[str, str]


@dataclass(frozen=True)
class Copy:
    """One layer of a placement on the flat cloth.

    ``motion`` takes the drawing to the cloth, counted from the middle of a bar or motif; ``way`` is +1
    if the grain arrow points along the cloth and -1 if it points back, ``face`` +1 up and -1 down.
    """

    laid: Laid
    piece: Piece
    whole: bool
    motion: Affine
    way: float
    face: float

    def place(self, drawn: Point) -> Place:
        return Place(self, *apply(self.motion, drawn))


@dataclass(frozen=True)
class Place:
    """A point of a copy on the cloth, counted from the middle of a bar or motif."""

    copy: Copy
    x: float
    y: float

    @property
    def u(self) -> float:
        """The phase along the grain arrow."""
        return self.copy.way * self.x

    @property
    def v(self) -> float:
        """The phase to the left of the grain arrow."""
        return self.copy.way * self.copy.face * self.y


def spread_faults(
    layout: MaterialLayout, grounds: Sequence[Ground], asked: Sequence[Match], design: Print
) -> Iterator[str]:
    """The spread is one that the print can match on; two layers lie mirrored about a line of symmetry."""
    if layout.lay not in MATCHABLE and stretches_of(layout.lay):
        yield f"nothing can be made to match on cloth laid “{layout.lay}”"
        return
    if not any(match.lengthwise for match in asked) or design.across is None:
        return
    if not design.even_across and any(band.layers == 2 for band in layout.bands):
        yield (
            "a print that is not even across the cloth cannot be cut in two layers:"
            " the second would run the other way"
        )
        return
    for fold in sorted({fold for ground in grounds for fold in ground.folds}):
        # The layers miss each other by twice as much as the fold lies off.
        off = _to_multiple(fold - design.start[1], design.across / 2)
        if 2 * off > design.tolerance + ROUNDING:
            yield (
                f"the fold at {fold:.2f} mm across lies {off:.2f} mm off the nearest line"
                " about which the print is its own mirror image"
            )


def match_faults(pieces: Sequence[Laid], asked: Sequence[Match], design: Print) -> Iterator[Finding]:
    """Every pair of pieces, or piece, whose print misses by more than the tolerance."""
    copies = [copy for laid in pieces if laid.tied for copy in _copies(laid, design)]
    for match in asked:
        mine = [copy for copy in copies if match in ties_of(copy.piece, asked)]
        if match.what == "meet":
            yield from _meet(mine, match, design)
        elif match.what == "pair":
            yield from _pair(mine, match, design)
        else:
            yield from _centre(mine, match, design)
    yield from _centre_lines(copies, asked, design)


def _copies(laid: Laid, design: Print) -> Iterator[Copy]:
    """One copy a layer; none of a placement that is not the piece, tilts or lies on doubtful ground."""
    tilt = (laid.placement.rotation + 90.0) % 180.0 - 90.0
    if laid.motion is None or laid.ground is None or laid.wanted is None or abs(tilt) > ANGLE_TOLERANCE:
        return
    for sheet in laid.ground.sheets:
        motion = shifted(after(sheet, laid.motion), (-design.start[0], -design.start[1]))
        tail, head = (apply(motion, end) for end in laid.wanted.piece.grain)
        a, b, d, e, _, _ = motion
        way, face = math.copysign(1.0, head[0] - tail[0]), math.copysign(1.0, a * e - b * d)
        yield Copy(laid, laid.wanted.piece, laid.wanted.whole, motion, way, face)


def _named(piece: Piece, name: str) -> list[Point]:
    """Where the notches and marks of a name come to be sewn, in the drawing."""
    return [sewn_at(mark) for mark in (*piece.notches, *piece.marks) if mark.name == name]


def _places(copy: Copy, name: str) -> list[Place]:
    """Those of a name on a copy; on a piece opened out the other half has them as well."""
    points = _named(copy.piece, name)
    if copy.laid.placement.opened and copy.piece.fold_edge:
        mirror = across(copy.piece.fold_edge)
        points += [apply(mirror, point) for point in points]
    return [copy.place(point) for point in points]


def _meet(copies: Sequence[Copy], match: Match, design: Print) -> Iterator[Finding]:
    places = [place for copy in copies for place in _places(copy, match.name)]
    at = f"at {_kind(copies, match.name)} “{match.name}” by"
    if match.crosswise and design.along is not None:
        along = design.along
        misses = _misses(places, lambda a, b: _to_multiple(a.u - b.u, along), design)
        yield from (_told(one, other, f"{at} {off:.2f} mm along the cloth") for one, other, off in misses)
    if match.lengthwise and design.across is not None:
        if design.even_across:
            misses = _misses(places, lambda a, b: abs(_depth(a, design) - _depth(b, design)), design)
        else:
            misses = _uneven(copies, match.name, design)
        yield from (_told(one, other, f"{at} {off:.2f} mm across the cloth") for one, other, off in misses)


def _kind(copies: Sequence[Copy], name: str) -> str:
    notched = any(notch.name == name for copy in copies for notch in copy.piece.notches)
    return "notch" if notched or not copies else "mark"


def _uneven(copies: Sequence[Copy], name: str, design: Print) -> Iterator[tuple[Place, Place, float]]:
    """On a print that cannot be mirrored the bars run on round the garment.

    Pieces as drawn meet pieces as drawn, mirrored ones mirrored ones; a whole piece offers the place on
    either side, and each of its partners takes one of them.
    """
    assert design.across is not None
    repeat = design.across

    def apart(a: Place, b: Place) -> float:
        return _to_multiple(a.y - b.y, repeat)

    handed = [copy for copy in copies if not copy.whole]
    for face in (1.0, -1.0):
        mine = [place for copy in handed if copy.face == face for place in _places(copy, name)]
        yield from _misses(mine, apart, design)
    sides = [_both_sides(copy, name) for copy in copies if copy.whole]
    singles = [_places(copy, name) for copy in handed]
    for index, whole in enumerate(sides):
        for partner in (*singles, *sides[:index]):
            closest = min(
                ((a, b, apart(a, b)) for a in whole for b in partner), key=lambda pair: pair[2], default=None
            )
            if closest and closest[2] > design.tolerance + ROUNDING:
                yield closest
                break


def _both_sides(copy: Copy, name: str) -> list[Place]:
    """The places of a name on a whole piece and their mirror images in its centre line."""
    if copy.laid.placement.opened:
        return _places(copy, name)
    wanted = copy.laid.wanted
    assert wanted is not None
    points = _named(copy.piece, name)
    mirror = across(_centre_line(copy))
    return [copy.place(point) for point in (*points, *(apply(mirror, p) for p in points))]


def _pair(copies: Sequence[Copy], match: Match, design: Print) -> Iterator[Finding]:
    """Any point that moves with the piece will do: the first corner of its outline."""
    places = [copy.place(copy.piece.outline[0]) for copy in copies]
    alike = len({copy.face for copy in copies}) == 1
    for asked, repeat, way, mine in (
        (match.crosswise, design.along, "along", places),
        # What has two equal sides is held by its centre line; an uneven print cannot be mirrored at all,
        # but copies that all lie on the same face can show the same.
        (
            match.lengthwise and (design.even_across or alike),
            design.across,
            "across",
            [place for place in places if not (design.even_across and place.copy.whole)],
        ),
    ):
        if not asked or repeat is None:
            continue
        misses = _misses(mine, _shift(way, repeat), design)
        for one, other, off in misses:
            text = f"should show the same part of the print and are {off:.2f} mm apart {way} the cloth"
            yield _told(one, other, text, verb="")


def _shift(way: str, repeat: float) -> Callable[[Place, Place], float]:
    if way == "along":
        return lambda a, b: _to_multiple(a.u - b.u, repeat)
    return lambda a, b: _to_multiple(a.v - b.v, repeat)


def _centre(copies: Sequence[Copy], match: Match, design: Print) -> Iterator[Finding]:
    worst: dict[tuple[int, str], tuple[Copy, float]] = {}
    for copy in copies:
        points = _named(copy.piece, match.at) if match.at else [_middle(copy)]
        if not points:
            yield copy.piece.number, f"{copy.piece.name} has nothing called “{match.at}” to be centred"
        for place in (copy.place(point) for point in points):
            for asked, phase, repeat, way in (
                (match.crosswise, place.x, design.along, "along"),
                (match.lengthwise, place.y, design.across, "across"),
            ):
                if asked and repeat is not None:
                    off = _to_multiple(phase, repeat)
                    key = (id(copy.laid), way)
                    if off > design.tolerance + ROUNDING and off > worst.get(key, (copy, 0.0))[1]:
                        worst[key] = (copy, off)
    for (_, way), (copy, off) in worst.items():
        what = f"“{match.at}”" if match.at else "its centre"
        yield (
            copy.piece.number,
            f"{copy.laid.at} has {what} {off:.2f} mm {way} the cloth off the middle of a bar or motif",
        )


def _centre_lines(copies: Sequence[Copy], asked: Sequence[Match], design: Print) -> Iterator[Finding]:
    """A whole piece shows the same on both its sides: on an even print its centre line is on a middle."""
    if design.across is None or not design.even_across:
        return
    seen = set()
    for copy in copies:
        ties = [match for match in ties_of(copy.piece, asked) if match.lengthwise and match.what != "centre"]
        if not (copy.whole and ties) or id(copy.laid) in seen:
            continue
        off = max(_to_multiple(copy.place(end).y, design.across) for end in _centre_line(copy))
        if off > design.tolerance + ROUNDING:
            seen.add(id(copy.laid))
            yield (
                copy.piece.number,
                f"{copy.laid.at} is the same on both sides and has its centre line {off:.2f} mm"
                " across the cloth off the middle of a bar or motif",
            )


def _centre_line(copy: Copy) -> tuple[Point, Point]:
    """The fold edge, or else the line along the grain through the middle of the outline."""
    piece, wanted = copy.piece, copy.laid.wanted
    assert wanted is not None
    if wanted.on_fold and piece.fold_edge:
        return piece.fold_edge
    middle = _box_middle(copy)
    (x0, y0), (x1, y1) = piece.grain
    return middle, (middle[0] + x1 - x0, middle[1] + y1 - y0)


def _middle(copy: Copy) -> Point:
    """Across the grain the centre line, along it the middle of the outline."""
    middle, (one, other) = _box_middle(copy), _centre_line(copy)
    mirror = apply(across((one, other)), middle)
    return (middle[0] + mirror[0]) / 2, (middle[1] + mirror[1]) / 2


def _box_middle(copy: Copy) -> Point:
    """The middle of the box round the drawn outline, with sides along and across the grain."""
    wanted = copy.laid.wanted
    assert wanted is not None
    upright = turned(copy.piece.grain, 0.0, False)
    left, bottom, right, top = affine_transform(wanted.shape, upright).bounds
    x, y = (left + right) / 2, (bottom + top) / 2
    a, b, d, e, _, _ = upright
    return a * x + d * y, b * x + e * y


def _misses(
    places: Sequence[Place], apart: Callable[[Place, Place], float], design: Print
) -> Iterator[tuple[Place, Place, float]]:
    """Who misses the place that most agree with, each placement once; or the worst two of those left."""
    if len(places) < 2:
        return
    allowed = design.tolerance + ROUNDING
    near = [sum(apart(place, other) <= allowed for other in places) for place in places]
    most = places[near.index(max(near))]
    found: dict[int, tuple[Place, Place, float]] = {}
    for place in places:
        off = apart(most, place)
        if off > allowed and off > found.get(id(place.copy.laid), (most, place, 0.0))[2]:
            found[id(place.copy.laid)] = (most, place, off)
    yield from found.values()
    if not found:
        pairs = ((a, b, apart(a, b)) for k, a in enumerate(places) for b in places[:k])
        worst = max(pairs, key=lambda pair: pair[2])
        if worst[2] > allowed:
            yield worst


def _told(one: Place, other: Place, text: str, verb: str = "miss each other ") -> Finding:
    if one.copy.laid is not other.copy.laid:
        both = f"{one.copy.laid.at} and {other.copy.laid.at}"
    elif one.copy is not other.copy:
        both = f"the two layers of {one.copy.laid.at}"
    else:
        both = f"two places of {one.copy.laid.at}"
    return other.copy.piece.number, f"{both} {verb}{text}"


def _depth(place: Place, design: Print) -> float:
    """How far from the nearest middle across the cloth, on either side of it."""
    assert design.across is not None
    return _to_multiple(place.y, design.across)


def _to_multiple(value: float, repeat: float) -> float:
    """Distance to the nearest multiple, 0 to half a repeat."""
    return abs((value + repeat / 2) % repeat - repeat / 2)
