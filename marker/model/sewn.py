"""Edges that are sewn together: those between notches that two pieces share, and how their lengths differ."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

from marker.model.pattern import Pattern
from marker.model.piece import Piece, Point, Ring
from marker.model.ring import nearest_on_ring

APART = 3.0
"""Millimetres by which two edges must differ, and"""
APART_SHARE = 0.01
"""the share of their length, to be told: less is how exactly one draws."""
ON_LINE = 1.0
"""Millimetres a notch may lie off the stitching line."""
BEND = math.radians(40.0)
"""A line that turns by more at one place has a corner there, and what lies beyond is another seam."""


@dataclass(frozen=True)
class Difference:
    """Two edges between the same two notches, millimetres along the stitching line."""

    size: str
    notches: tuple[str, str]
    pieces: tuple[tuple[str, str], tuple[str, str]]
    lengths: tuple[float, float]


def differences(pattern: Pattern) -> list[Difference]:
    """The seams whose edges differ by more than drawing explains, each in the size where they differ most."""
    worst: dict[tuple[object, ...], Difference] = {}
    for size, pieces in pattern.pieces.items():
        edges = [(piece, dict(_edges(piece))) for piece in pieces if piece.cuts]
        for (one, ones), (other, others) in combinations(edges, 2):
            for notches in ones.keys() & others.keys():
                a, b = ones[notches], others[notches]
                if abs(a - b) <= max(APART, APART_SHARE * max(a, b)):
                    continue
                names = ((one.number, one.name), (other.number, other.name))
                ends = sorted(notches)
                key = (names, notches)
                found = Difference(size, (ends[0], ends[1]), names, (a, b))
                if key not in worst or abs(a - b) > abs(worst[key].lengths[0] - worst[key].lengths[1]):
                    worst[key] = found
    return list(worst.values())


def _edges(piece: Piece) -> Iterator[tuple[frozenset[str], float]]:
    """Lengths between notches that follow one another on an edge without a corner.

    A name that the piece has twice is left out, as nobody knows which is meant, and so is a notch that the
    stitching line does not pass, as one beside a hem.
    """
    ring = piece.stitching or piece.outline
    names = [notch.name for notch in piece.notches]
    placed = sorted(
        (at, notch.name)
        for notch in piece.notches
        if names.count(notch.name) == 1 and (at := _along(ring, notch.sewn or notch.at)) is not None
    )
    total = _lengths(ring)
    corners = sorted(_corners(ring, total))
    corners += [corner + total[-1] for corner in corners]
    found: dict[frozenset[str], list[float]] = {}
    for (start, one), (end, other) in pairwise(
        [*placed, *((at + total[-1], name) for at, name in placed[:1])]
    ):
        if not any(start + 0.5 < corner < end - 0.5 for corner in corners):
            found.setdefault(frozenset((one, other)), []).append(end - start)
    # Where two notches are joined both ways round without a corner, nobody knows which way is meant either.
    return ((names, ways[0]) for names, ways in found.items() if len(names) == 2 and len(ways) == 1)


def _lengths(ring: Ring) -> list[float]:
    """How far each vertex lies along the ring, and all round at the end."""
    found = [0.0]
    for a, b in pairwise([*ring, ring[0]]):
        found.append(found[-1] + math.dist(a, b))
    return found


def _along(ring: Ring, point: Point) -> float | None:
    """How far along the ring a point lies, None for one that is not on it."""
    off, edge, foot = nearest_on_ring(point, ring)
    return _lengths(ring)[edge] + math.dist(ring[edge], foot) if off <= ON_LINE else None


def _corners(ring: Ring, at: Sequence[float]) -> Iterator[float]:
    for i, point in enumerate(ring):
        before, after = ring[i - 1], ring[(i + 1) % len(ring)]
        one = math.atan2(point[1] - before[1], point[0] - before[0])
        two = math.atan2(after[1] - point[1], after[0] - point[0])
        if abs((two - one + math.pi) % math.tau - math.pi) > BEND:
            yield at[i]
