"""Where on the repeat of a print each piece has to lie, so that what should match does.

A copy lies with its grain arrow along the cloth (s_u = 1) or against it (-1); s_v is s_u, times -1 face down.
In the piece's frame (u along the arrow, v counter-clockwise of it) a point (u, v) of a copy shows the place
``s_u (x - start)`` of the repeat along and ``s_v (y - start)`` of the repeat across, if mirror images of the
print are the print again. The phase of a piece is what its frame's origin shows: all copies of a piece share
it. A second layer shows the same as the first, as long as the fold lies on a line of symmetry of the print.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from marker.cloth.demand import Need
from marker.cloth.orient import SCALE, Pose, Shape
from marker.cloth.seams import in_frame
from marker.cloth.spread import Lines
from marker.cloth.ties import Node, Phase
from marker.model.fabric import Print
from marker.nest.problem import Lattice


@dataclass(frozen=True)
class Ties:
    """The phases of all pieces that have to match, by piece number and, where they differ, by hand.

    A node is (piece number, face down); on a print that is even across both hands are at (number, False).
    """

    design: Print
    crosswise: Mapping[Node, Phase]
    lengthwise: Mapping[Node, Phase]
    on_middles: bool
    notes: tuple[str, ...] = ()

    @property
    def repeat(self) -> float | None:
        """The repeat of which a marker has to have a whole number, if lines along it are to match."""
        return self.design.along if self.crosswise else None

    def holds(self, need: Need) -> bool:
        """Whether a need is tied to the print. Regions never are."""
        return not need.region and any(
            number == need.piece.number for number, _ in (*self.crosswise, *self.lengthwise)
        )

    @property
    def lines(self) -> Lines:
        """Where cloth may be folded so that both layers show the same."""
        mirrored = self.design.across is None or self.design.even_across
        if not (mirrored and self.lengthwise and self.design.across):
            return Lines(self.design.start[1], None, mirrored)
        # A piece on the fold has its centre line there, and shows a middle along it.
        return Lines(self.design.start[1], self.design.across / (1 if self.on_middles else 2))

    @property
    def turnable(self) -> bool:
        """Whether tied pieces may lie top to bottom."""
        return self.design.even_along and self.design.even_across

    def fits(self, pose: Pose) -> bool:
        """Whether a tied piece may lie so: straight, and not the other way if the print has a way."""
        return pose.rotation == 0.0 or (pose.rotation == 180.0 and self.turnable)

    def on_line(self, y: int, lattice: Lattice | None) -> bool:
        """Whether a piece held at ``y`` (lattice units) lies on its lattice across, if that is fixed."""
        if lattice is None or lattice.group >= 0:
            return True
        off = math.remainder(y - lattice.offset, lattice.period)
        return abs(off) <= self.design.tolerance * SCALE

    def lattices(self, need: Need, shape: Shape, pose: Pose) -> tuple[Lattice | None, Lattice | None]:
        """The places along and across that show the right part of the print (lattice units)."""
        turn = 1 if pose.rotation == 0.0 else -1
        face = -turn if pose.mirrored else turn
        u, v = in_frame(need.piece, shape.origin)
        start = self.design.start
        x = y = None
        phase = self.crosswise.get((need.piece.number, False))
        if phase is not None:
            assert self.design.along is not None
            x = _lattice(self.design.along, start[0] + turn * (u + phase.offset), turn * phase.sign, phase)
        hand = pose.mirrored and not self.design.even_across
        phase = self.lengthwise.get((need.piece.number, hand))
        if phase is not None:
            assert self.design.across is not None
            if self.design.even_across:
                at, sign = start[1] + face * (v + phase.offset), face * phase.sign
            else:
                at, sign = start[1] + face * v + phase.offset, phase.sign
            y = _lattice(self.design.across, at, sign, phase)
        return x, y


def _lattice(period: float, at: float, sign: int, phase: Phase) -> Lattice:
    # Equal places have to be equal numbers, so that a shape that is the same turned is laid once.
    offset = round((at % period) * SCALE, 3)
    period = period * SCALE
    return Lattice(period, 0.0 if offset >= period - 5e-4 else offset, sign, phase.group)
