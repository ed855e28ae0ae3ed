"""What one material has to yield: each cut as an outline and how many of either hand."""

from __future__ import annotations

from dataclasses import dataclass

from marker.cloth.seams import in_frame, marks_are_mirrored
from marker.model.fold import fold_edge_of
from marker.model.job import Job
from marker.model.match import Match
from marker.model.piece import Piece, Point, Ring
from marker.model.ring import signed_area
from marker.model.symmetry import is_symmetric

SAME_HAND = 0.05
"""Millimetres within which an outline must be its own mirror image to count as having no hand.

Stricter than the check, which allows 0.1: what has no hand here has none there.
"""
SAME_MARK = 0.5
"""Millimetres within which the marks of such a piece must be mirror images when a print has to match."""


@dataclass(frozen=True)
class Need:
    """One cut of one piece for all garments.

    ``outline`` is what is laid: the half for a cut on the fold, whose ``fold_edge`` is then given.
    ``drawn`` and ``turned`` count copies as drawn and as its mirror image; a symmetric outline has no
    hands, so all are ``drawn``. ``whole`` counts unfolded pieces of a cut on the fold.
    """

    piece: Piece
    region: str
    outline: Ring
    fold_edge: tuple[Point, Point] | None
    drawn: int
    turned: int
    whole: int
    symmetric: bool

    @property
    def label(self) -> str:
        name = f"piece {self.piece.number} ({self.piece.name})"
        return f"{name}, {self.region}" if self.region else name

    @property
    def copies(self) -> int:
        return self.drawn + self.turned + self.whole

    @property
    def area(self) -> float:
        """Square millimetres wanted of this cut, every copy counted."""
        one = signed_area(self.outline)
        return one * (self.drawn + self.turned + 2 * self.whole)


def needs(job: Job, material: str) -> list[Need]:
    """The cuts of ``material``, in the pattern's order."""
    fabric = job.fabrics[material]
    matches = job.asked_of(material)
    found = []
    for piece in job.pieces:
        for cut in piece.cuts:
            if cut.material != material:
                continue
            outline = cut.region or piece.outline
            total = cut.count * job.quantity
            if cut.how == "on fold":
                edge = fold_edge_of(outline, piece.fold_edge) if piece.fold_edge else None
                found.append(Need(piece, cut.region_name, outline, edge, 0, 0, total, True))
                continue
            tied = not cut.region and any(match_is_for(match, piece) for match in matches)
            symmetric = _has_no_hand(piece, outline, not fabric.nap, tied)
            # Left and right may differ in no more than the diagonal they lie on, or the end that is hemmed.
            on_bias = piece.bias and fabric.grain != "any"
            on_border = piece.hem is not None and fabric.border is not None and not cut.region
            if cut.how == "mirrored" and (on_bias or on_border):
                symmetric = False
            turned = 0
            if cut.how == "mirrored" and not symmetric:
                turned = (cut.count // 2) * job.quantity
            found.append(Need(piece, cut.region_name, outline, None, total - turned, turned, 0, symmetric))
    return found


def match_is_for(match: Match, piece: Piece) -> bool:
    """Whether a match asks something of a piece."""
    if match.what == "meet":
        return any(mark.name == match.name for mark in (*piece.notches, *piece.marks))
    return match.name == piece.number


def _has_no_hand(piece: Piece, outline: Ring, turnable: bool, tied: bool) -> bool:
    """Whether a copy serves left and right alike.

    On a print that has to match it must do so without turning, and with its notches where they are.
    """
    if not is_symmetric(outline, piece.grain, not turnable or tied, SAME_HAND):
        return False
    if not tied:
        return True
    across = [in_frame(piece, point)[1] for point in outline]
    return marks_are_mirrored(piece, (min(across) + max(across)) / 2, SAME_MARK)
