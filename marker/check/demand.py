"""What the job asks for of one material: which shapes, how many, and of which hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from marker.check.form import has_no_hand, is_own_mirror_image, unfolded
from marker.check.geometry import Shape, is_ring, solid
from marker.model.job import Job
from marker.model.match import Match
from marker.model.piece import Cut, Notch, Piece, Point, Ring

Key = tuple[str, str, bool]
"""Piece number, name of the region, and whether it is a whole piece drawn as a half."""


@dataclass(frozen=True)
class Wanted:
    """One shape to be cut. ``ring`` is as drawn (a half, for whole pieces), ``shape`` what comes off.

    ``hands`` are the acceptable (as drawn, mirrored) numbers: of an odd number of pairs either hand may
    have one more. ``handless`` pieces are the same from both sides, so only the sum matters; on the bias
    (``by_diagonal``) the diagonal makes the hand. ``tied``: the print has to match on it; then ``whole``
    pieces, cut on the fold or their own mirror image, have a centre line and two equal sides.
    """

    piece: Piece
    ring: Ring
    shape: Shape
    on_fold: bool
    hands: frozenset[tuple[int, int]]
    handless: bool
    by_diagonal: bool
    tied: bool

    @property
    def whole(self) -> bool:
        return self.on_fold or (self.tied and self.handless)

    @property
    def total(self) -> int:
        return sum(next(iter(self.hands)))


def wanted_of(
    job: Job, material: str, nap: bool, asked: Sequence[Match]
) -> tuple[dict[Key, Wanted], list[tuple[str, str]]]:
    """Everything the job cuts from ``material``, and (piece number, sentence) for what cannot be cut.

    Where a print must match a piece may not be turned to pass for its mirror image, and has its notches
    on both sides or is no whole piece.
    """
    wanted: dict[Key, Wanted] = {}
    wrong = []
    for piece in job.pieces:
        for cut in piece.cuts:
            if cut.material != material:
                continue
            key = (piece.number, cut.region_name, cut.how == "on fold")
            ring = piece.outline if cut.region is None else cut.region
            shape = _shape(piece, ring, cut.how == "on fold")
            if shape is None or shape.is_empty:
                wrong.append(
                    (piece.number, f"{piece.name} has no outline or no fold edge that it could be cut by")
                )
                continue
            hands = _hands(cut, job.quantity)
            if key in wanted:
                hands = frozenset((a + c, b + d) for a, b in hands for c, d in wanted[key].hands)
            tied = not cut.region_name and bool(ties_of(piece, asked))
            if tied and cut.how != "on fold":
                marks = [(mark.name, sewn_at(mark)) for mark in (*piece.notches, *piece.marks) if mark.name]
                handless = is_own_mirror_image(shape, piece.grain, marks)
            else:
                handless = has_no_hand(shape, piece.grain, nap)
            on_bias = piece.bias and job.fabrics[material].grain != "any"
            by_diagonal = on_bias and handless and any(mirrored for _, mirrored in hands)
            wanted[key] = Wanted(piece, ring, shape, key[2], hands, handless, by_diagonal, tied)
    return wanted, wrong


def ties_of(piece: Piece, asked: Sequence[Match]) -> list[Match]:
    """What is asked of a piece, cut whole, of all that has to match."""
    names = {mark.name for mark in (*piece.notches, *piece.marks)}
    return [
        match
        for match in asked
        if (match.name in names if match.what == "meet" else match.name == piece.number)
    ]


def sewn_at(mark: Notch) -> Point:
    """Where a notch or mark comes to be stitched, if the pattern tells it."""
    return mark.at if mark.sewn is None else mark.sewn


def _shape(piece: Piece, ring: Ring, whole: bool) -> Shape | None:
    if not is_ring(ring):
        return None
    if not whole:
        return solid(ring)
    return unfolded(ring, piece.fold_edge) if piece.fold_edge else None


def _hands(cut: Cut, quantity: int) -> frozenset[tuple[int, int]]:
    if cut.how != "mirrored":
        return frozenset({(cut.count * quantity, 0)})
    more, fewer = (cut.count + 1) // 2 * quantity, cut.count // 2 * quantity
    return frozenset({(more, fewer), (fewer, more)})
