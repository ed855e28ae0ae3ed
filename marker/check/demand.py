"""What the job asks for of one material: which shapes, how many, and of which hand."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from marker.check.form import has_no_hand, is_own_mirror_image, unfolded
from marker.check.geometry import Shape, is_ring, solid
from marker.model.job import Job
from marker.model.piece import Cut, Piece, Ring

Key = tuple[str, str, bool]
"""Piece number, name of the region, and whether it is a whole piece drawn as a half."""


@dataclass(frozen=True)
class Wanted:
    """One shape to be cut. ``ring`` is as drawn (a half, for whole pieces), ``shape`` what comes off.

    ``hands`` are the acceptable (as drawn, mirrored) numbers: of an odd number of pairs either hand may
    have one more. ``handless`` pieces are the same from both sides, so only the sum matters.
    """

    piece: Piece
    ring: Ring
    shape: Shape
    on_fold: bool
    hands: frozenset[tuple[int, int]]
    handless: bool

    @cached_property
    def whole(self) -> bool:
        """A whole piece, with a centre line and two equal sides: cut on the fold, or its own mirror image."""
        return self.on_fold or is_own_mirror_image(self.shape, self.piece.grain)

    @property
    def by_diagonal(self) -> bool:
        """Only the diagonal it is cut on tells left from right."""
        return self.piece.bias and self.handless and any(turned for _, turned in self.hands)

    @property
    def total(self) -> int:
        return sum(next(iter(self.hands)))


def wanted_of(job: Job, material: str, nap: bool) -> tuple[dict[Key, Wanted], list[tuple[str, str]]]:
    """Everything the job cuts from ``material``, and (piece number, sentence) for what cannot be cut."""
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
            handless = has_no_hand(shape, piece.grain, nap)
            wanted[key] = Wanted(piece, ring, shape, key[2], hands, handless)
    return wanted, wrong


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
