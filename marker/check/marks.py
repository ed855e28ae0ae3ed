"""The grain line and every mark on a piece: all that the pattern has, in their places, and no others."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from typing import TypeVar

from marker.check.demand import Wanted
from marker.check.form import ON_THE_LINE, Affine, across, after, apply
from marker.model.layout import Placement
from marker.model.piece import Line, Notch, Point

MARK_TOLERANCE = 0.05
"""Millimetres that a mark on a piece may be off."""

T = TypeVar("T")


def mark_faults(placement: Placement, wanted: Wanted, motion: Affine) -> Iterator[str]:
    """What is wrong with the marks of a piece that ``motion`` takes from the drawing to its place.

    On a region the piece's marks may be shown or not; what a layout leaves unsaid is not looked at.
    """
    piece, region = wanted.piece, bool(placement.region)
    ends = [apply(motion, end) for end in piece.grain]
    off = max(math.dist(a, b) for a, b in zip(ends, placement.grain, strict=True))
    if off > MARK_TOLERANCE:
        yield f"has its grain line {off:.2f} mm off its place on the piece"
    halves = [motion]
    if placement.opened and piece.fold_edge:
        halves.append(after(motion, across(piece.fold_edge)))
    notches = [_moved(half, notch) for half in halves for notch in piece.notches]
    for name in dict.fromkeys(notch.name for notch in (*notches, *placement.notches)):
        due = [notch for notch in notches if notch.name == name]
        shown = [notch for notch in placement.notches if notch.name == name]
        yield from _compared(due, shown, _notch_off, f"notch “{name}”", needed=not region)
    if "drills" not in placement.unsaid:
        points = [apply(half, drill) for half in halves for drill in piece.drills]
        yield from _compared(points, placement.drills, math.dist, "a drill point", needed=not region)
    if "lines" not in placement.unsaid:
        lines = [tuple(apply(half, point) for point in line) for half in halves for line in piece.lines]
        yield from _compared(lines, placement.lines, _line_off, "an inner line", needed=not region)
    if "fold_edge" not in placement.unsaid:
        edge = fold_edge_of(wanted) if placement.on_fold else None
        due_edges = [tuple(apply(motion, end) for end in edge)] if edge else []
        shown_edges = [placement.fold_edge] if placement.fold_edge else []
        yield from _compared(due_edges, shown_edges, _ends_off, "its fold edge", needed=True)


def fold_edge_of(wanted: Wanted) -> tuple[Point, Point] | None:
    """What of the outline that is laid lies on the fold: of a region its longest stretch on it."""
    line = wanted.piece.fold_edge
    if line is None or wanted.ring == wanted.piece.outline:
        return line
    (px, py), (qx, qy) = line
    long = math.dist(*line)
    ring = wanted.ring
    on = [abs((x - px) * (qy - py) - (y - py) * (qx - px)) / long <= MARK_TOLERANCE for x, y in ring]
    if all(on) or not any(on):
        return None
    first = on.index(False)
    best: tuple[Point, Point] | None = None
    start: Point | None = None
    for k in range(first, first + len(ring) + 1):
        point, lies = ring[k % len(ring)], on[k % len(ring)]
        if lies and start is None:
            start = point
        if lies and start is not None and (best is None or math.dist(start, point) > math.dist(*best)):
            best = (start, point)
        if not lies:
            start = None
    return best if best is not None and math.dist(*best) > ON_THE_LINE else None


def _moved(motion: Affine, notch: Notch) -> Notch:
    sewn = None if notch.sewn is None else apply(motion, notch.sewn)
    return Notch(notch.name, apply(motion, notch.at), sewn)


def _notch_off(due: Notch, shown: Notch) -> float:
    """A layout may leave untold where a notch is sewn."""
    sewn = 0.0 if shown.sewn is None else math.dist(due.sewn or due.at, shown.sewn)
    return max(math.dist(due.at, shown.at), sewn)


def _line_off(due: Line, shown: Line) -> float:
    if len(due) != len(shown):
        return math.inf
    return max((math.dist(a, b) for a, b in zip(due, shown, strict=True)), default=0.0)


def _ends_off(due: Line, shown: Line) -> float:
    """Either way round."""
    return min(_line_off(due, shown), _line_off(due, shown[::-1]))


def _compared(
    due: Sequence[T], shown: Sequence[T], off: Callable[[T, T], float], what: str, *, needed: bool
) -> Iterator[str]:
    """Each that is due shown once: what misses its place, what is made up, what is left out."""
    left, wrong = list(due), []
    for mark in shown:
        place = min(left, key=lambda each: off(each, mark), default=None)
        if place is not None and off(place, mark) <= MARK_TOLERANCE:
            left.remove(place)
        else:
            wrong.append(mark)
    for mark in wrong:
        nearest = min((off(place, mark) for place in due), default=math.inf)
        if nearest <= MARK_TOLERANCE:
            yield f"has {what} twice"
        elif nearest < math.inf:
            yield f"has {what} {nearest:.2f} mm off its place"
        else:
            yield f"has {what} where the pattern has none"
        if left:
            left.remove(min(left, key=lambda each: off(each, mark)))
    if needed:
        for _ in left:
            yield f"lacks its {what.removeprefix('a ').removeprefix('an ').removeprefix('its ')}"
