"""From what a pattern asks to match to the phase of every piece on the repeat (``prints``, ``ties``)."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from marker.cloth.demand import Need
from marker.cloth.prints import Ties
from marker.cloth.seams import edge_at, in_frame, seam_sign, sewn_at
from marker.cloth.ties import Clash, Meet, Node, Phase, Pin, Point, settle
from marker.errors import InputError
from marker.model.fabric import Print
from marker.model.match import Match
from marker.model.piece import Notch, Piece
from marker.plain import enumerated

ROUNDING = 0.002
"""Millimetres granted over the tolerance: what misses by just that much must not fail by rounding."""
STEEP = 60.0
"""Degrees from the grain up to which a seam counts as running along it, so that its side tells the hand."""
SQUARE = 0.05
"""Degrees a fold edge may lean from the grain of a piece that has to match."""


def ties_of(needs: Sequence[Need], matches: Sequence[Match], design: Print, where: str) -> Ties:
    """What ``matches`` ask of the needs on a print. ``where`` begins the sentences of errors.

    Raises InputError for ties that cannot hold together, naming notches, pieces and millimetres, and for
    pieces that cannot lie straight on the print.
    """
    pieces: dict[str, list[Need]] = {}
    for need in needs:
        if not need.region:
            pieces.setdefault(need.piece.number, []).append(need)
    asked = [match for match in matches if match.what == "meet" or match.name in pieces]
    notes: list[str] = []
    crosswise, lengthwise = _Axis(), _Axis()
    for match in asked:
        if match.crosswise:
            _ask_crosswise(match, pieces, crosswise)
        if match.lengthwise and design.even_across:
            _ask_lengthwise(match, pieces, lengthwise)
        elif match.lengthwise:
            _ask_one_way(match, pieces, lengthwise, notes)
    for number in dict.fromkeys(number for number, _ in (*crosswise.nodes, *lengthwise.nodes)):
        for need in pieces[number]:
            _check_straight(need, where)
    if design.even_across:
        for node in lengthwise.both_sides:
            for need in pieces[node[0]]:
                if _is_whole(need):
                    name = f"the middle of {need.label}"
                    lengthwise.pins.append(Pin(name, Point(node, _middle(need)[1])))
                    break
    return Ties(
        design,
        crosswise.settled(design.along, design, "crosswise", where),
        lengthwise.settled(design.across, design, "lengthwise", where),
        any(need.whole for number, _ in lengthwise.nodes for need in pieces[number]),
        tuple(dict.fromkeys(notes)),
    )


class _Axis:
    """What is asked of one direction, in the order of the matches."""

    def __init__(self) -> None:
        self.nodes: dict[Node, None] = {}
        self.both_sides: dict[Node, None] = {}
        self.meets: list[Meet] = []
        self.pins: list[Pin] = []

    def meet(self, name: str, points: Sequence[Point]) -> None:
        self.nodes.update(dict.fromkeys(point.node for point in points))
        self.both_sides.update(dict.fromkeys(point.node for point in points))
        if points:
            self.meets.append(Meet(name, tuple(points)))

    def pin(self, name: str, point: Point) -> None:
        self.nodes[point.node] = None
        self.pins.append(Pin(name, point))

    def settled(self, period: float | None, design: Print, lines: str, where: str) -> dict[Node, Phase]:
        if not self.nodes:
            return {}
        assert period is not None
        allowed = design.tolerance + ROUNDING
        mirrors = lines == "lengthwise" and design.even_across
        try:
            return settle(
                self.nodes, self.meets, self.pins, period=period, tolerance=allowed, mirrors=mirrors
            )
        except Clash as clash:
            raise InputError(_clash(clash, period, design.tolerance, lines, where)) from None


def _clash(clash: Clash, period: float, tolerance: float, lines: str, where: str) -> str:
    *others, last = clash.names
    if not others:
        told = f"{last} does not match on all pieces that have it"
    else:
        told = f"{last} does not match when {enumerated(others)} {'do' if len(others) > 1 else 'does'}"
    return (
        f"{where}: {told}: on a repeat of {round(period, 1):g} mm its {lines} lines would miss each other by "
        f"{clash.off:.1f} mm, and {tolerance:g} mm are allowed; leave one of them out of the match, or move "
        "its notch."
    )


def _is_whole(need: Need) -> bool:
    """Whether a cut piece is its own mirror image: unfolded, or without hands."""
    return bool(need.whole) or need.symmetric


def _middle(need: Need) -> tuple[float, float]:
    """The middle of a cut in the piece's frame: of the outline along, of the whole piece across."""
    points = [in_frame(need.piece, point) for point in need.outline]
    low, high = (tuple(side(axis) for axis in zip(*points, strict=True)) for side in (min, max))
    u, v = (low[0] + high[0]) / 2, (low[1] + high[1]) / 2
    if need.whole and need.fold_edge:
        v = sum(in_frame(need.piece, end)[1] for end in need.fold_edge) / 2
    return u, v


def _marks(piece: Piece, name: str) -> list[Notch]:
    return [mark for mark in (*piece.notches, *piece.marks) if mark.name == name]


def _places(pieces: Mapping[str, Sequence[Need]], name: str) -> list[tuple[str, Need, Notch]]:
    """Every notch or mark of a name: piece number, the first of the piece's needs, the mark."""
    return [
        (number, group[0], mark) for number, group in pieces.items() for mark in _marks(group[0].piece, name)
    ]


def _ask_crosswise(match: Match, pieces: Mapping[str, Sequence[Need]], axis: _Axis) -> None:
    if match.what == "meet":
        axis.meet(
            f"“{match.name}”",
            [
                Point((number, False), in_frame(need.piece, sewn_at(mark))[0])
                for number, need, mark in _places(pieces, match.name)
            ],
        )
        return
    node = (match.name, False)
    axis.nodes[node] = None
    if match.what == "centre":
        need = pieces[match.name][0]
        for name, (u, _) in _centres(match, need):
            axis.pin(name, Point(node, u))


def _centres(match: Match, need: Need) -> list[tuple[str, tuple[float, float]]]:
    """The centres of a piece with what to call them, in the piece's frame."""
    if match.at:
        return [
            (f"“{match.at}” of {need.label}", in_frame(need.piece, sewn_at(mark)))
            for mark in _marks(need.piece, match.at)
        ]
    return [(f"the middle of {need.label}", _middle(need))]


def _ask_lengthwise(match: Match, pieces: Mapping[str, Sequence[Need]], axis: _Axis) -> None:
    """On a print that is even across: both hands of a piece have one phase."""
    if match.what == "meet":
        places = _places(pieces, match.name)
        points: list[Point] = []
        first = edge_at(places[0][1].piece, places[0][2]) if places else None
        for number, need, mark in places:
            sign = seam_sign(first, edge_at(need.piece, mark))
            if points and _is_whole(need) and any(point.node[0] == number for point in points):
                sign = -next(point.sign for point in points if point.node[0] == number)
            points.append(
                Point((number, False), in_frame(need.piece, sewn_at(mark))[1], sign if points else 1)
            )
        axis.meet(f"“{match.name}”", points)
        return
    node = (match.name, False)
    if match.what == "pair":
        axis.nodes[node] = axis.both_sides[node] = None
    else:
        for name, (_, v) in _centres(match, pieces[match.name][0]):
            axis.pin(name, Point(node, v))


def _ask_one_way(match: Match, pieces: Mapping[str, Sequence[Need]], axis: _Axis, notes: list[str]) -> None:
    """On a print that is not even across: each hand has a phase, the place of its frame's origin itself."""
    if match.what == "pair":
        both_hands = [need for need in pieces[match.name] if need.turned]
        if not both_hands:
            # Copies that are all alike can show the same on any print.
            axis.nodes[match.name, False] = None
            return
        notes.append(
            f"An uneven print cannot be mirrored: left and right of {both_hands[0].label} show different "
            "parts of it across the cloth."
        )
        return
    if match.what == "centre":
        for need in pieces[match.name]:
            for name, (_, v) in _centres(match, need):
                for hand in _hands(need):
                    axis.pin(name, Point((match.name, hand), -v if hand else v))
        return
    places = _places(pieces, match.name)
    handed = [(number, need, mark) for number, need, mark in places if not _is_whole(need)]
    whole = [(number, need, mark) for number, need, mark in places if _is_whole(need)]
    leading = (handed or whole)[:1]
    notes += [
        f"“{match.name}” is drawn on the same side of {leading[0][1].label} and {need.label}: on an uneven "
        "print it meets lengthwise between the copies as drawn, which are not sewn together; draw one of the "
        "two pieces the other way round."
        for _, need, mark in handed[1:]
        if _same_side(leading[0][1], leading[0][2], need, mark)
    ]
    for hand in (False, True):
        points = [
            Point((number, hand), (-1 if hand else 1) * in_frame(need.piece, sewn_at(mark))[1])
            for number, need, mark in handed
            if hand in _hands(need)
        ]
        if handed and not points:
            continue
        if not handed and hand:
            continue
        done: set[str] = set()
        for number, need, mark in whole:
            if number in done:
                continue
            done.add(number)
            points.append(Point((number, False), _facing(leading[0], (number, need, mark), hand)))
        axis.meet(f"“{match.name}”", points)
    if len({number for number, _, _ in whole}) > 1 and not handed:
        notes.append(
            f"An uneven print runs on round the garment: “{match.name}” meets lengthwise on one side only."
        )


def _facing(leading: tuple[str, Need, Notch], whole: tuple[str, Need, Notch], hand: bool) -> float:
    """Which of its two places a whole piece has at the seam with the leading piece's copy of a hand."""
    number, need, mark = whole
    middle = _middle(need)[1]
    place = in_frame(need.piece, sewn_at(mark))[1]
    if leading[0] == number:
        return place
    edge, own = edge_at(leading[1].piece, leading[2]), edge_at(need.piece, mark)
    drawn_side = 1 if place > middle else -1
    if edge is None or own is None:
        side = -drawn_side if hand else drawn_side
    else:
        # Face down the leading copy's edge is on its other side; the whole piece lies across the seam.
        side = edge.side if hand else -edge.side
    return place if side == drawn_side else 2 * middle - place


def _same_side(one: Need, at: Notch, other: Need, mark: Notch) -> bool:
    """Whether two seams run along the grain and leave their pieces on the same side."""
    a, b = edge_at(one.piece, at), edge_at(other.piece, mark)
    return a is not None and b is not None and a.side == b.side and max(abs(a.lean), abs(b.lean)) < STEEP


def _hands(need: Need) -> tuple[bool, ...]:
    """The hands cut of a need; whole pieces are all as drawn."""
    if _is_whole(need):
        return (False,)
    return tuple(hand for hand, count in ((False, need.drawn), (True, need.turned)) if count)


def _check_straight(need: Need, where: str) -> None:
    """Raises InputError for a piece that cannot lie straight on the print."""
    if need.piece.bias:
        raise InputError(
            f"{where}: {need.label} is cut on the bias, where lines run at 45° and cannot match; "
            "leave it out of the match."
        )
    if need.whole and need.fold_edge:
        (au, av), (bu, bv) = (in_frame(need.piece, end) for end in need.fold_edge)
        lean = abs(math.degrees(math.atan2(bv - av, bu - au)))
        if min(lean, 180.0 - lean) > SQUARE:
            raise InputError(
                f"{where}: {need.label} has its fold edge {min(lean, 180.0 - lean):.1f}° off its grain "
                "line, so its two halves cannot both match; draw the grain line along the fold, or leave it "
                "out of the match."
            )
