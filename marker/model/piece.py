"""One pattern piece in one size."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

Point = tuple[float, float]
Ring = tuple[Point, ...]
"""A closed outline without a repeated last point, counter-clockwise, millimetres, y upwards."""
Line = tuple[Point, ...]
"""An open polyline, millimetres, y upwards."""

How = Literal["mirrored", "alike", "on fold"]
"""How the copies of a cut relate: left and right hands, all the same hand, or whole pieces unfolded."""


@dataclass(frozen=True)
class Notch:
    """A mark on the edge; notches of one name meet in sewing.

    ``at`` lies on the cutting line, ``sewn`` where the seam is stitched (None: the pattern does not tell,
    take ``at``).
    """

    name: str
    at: Point
    sewn: Point | None = None


@dataclass(frozen=True)
class Cut:
    """How many copies of a piece, or of a region of it, are cut from one material.

    ``region`` is the outline to cut in place of the piece's own (``None``: the whole piece) and
    ``region_name`` what the pattern calls it. An "on fold" cut counts whole, unfolded pieces.
    """

    material: str
    count: int
    how: How
    region: Ring | None = None
    region_name: str = ""


@dataclass(frozen=True)
class Piece:
    """A piece as it is cut in one size, seen from the right side of the cloth.

    ``outline`` is the cutting line (seam allowances included); ``stitching`` the line sewn on, where
    the pattern tells it; ``included`` if the outline was drawn and the stitching line runs inside it.
    ``fold_edge`` is the straight stretch of ``outline`` that lies on the fold.
    ``grain`` points from the tail to the head of the arrow: the head is the top of the garment.
    A piece with no cuts is a guide: listed, never cut. ``marks`` are named points inside the piece (where
    a pocket's corner comes to lie). ``hem`` is the straight stretch of ``outline`` that goes along a border.
    ``bias`` pieces lie with the grain line at 45 degrees to the length of the cloth.
    """

    number: str
    name: str
    outline: Ring
    grain: tuple[Point, Point]
    cuts: tuple[Cut, ...] = ()
    stitching: Ring | None = None
    fold_edge: tuple[Point, Point] | None = None
    notches: tuple[Notch, ...] = ()
    drills: tuple[Point, ...] = ()
    lines: tuple[Line, ...] = field(default=())
    marks: tuple[Notch, ...] = ()
    hem: tuple[Point, Point] | None = None
    bias: bool = False
    included: bool = False

    @property
    def added(self) -> bool:
        """Whether the stitching line was drawn and the allowance added to it."""
        return self.stitching is not None and not self.included

    @property
    def is_guide(self) -> bool:
        return not self.cuts
