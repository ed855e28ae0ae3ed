"""A pattern that somebody tells, on its way to a file: what was said, checked as the file would be."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from marker.files.edges import path_of
from marker.files.outline import Frame, Wrong, parse_ring
from marker.files.schema import CornerTable
from marker.files.typed import corner_edges
from marker.model.pattern import Pattern
from marker.model.piece import Point
from marker.units import unit_size

Unit = Literal["mm", "cm", "in"]
Grain = Literal["up", "down", "left", "right"]
Hands = Literal["mirrored", "alike"]

FOLD_TOP, FOLD_FOOT = "top of the fold", "foot of the fold"
"""What the ends of a fold edge are called in the file."""
HOME = 1.0
"""Millimetres within which a way round is back at its first corner."""


@dataclass(frozen=True)
class NewCut:
    """Copies of a piece from one material; ``hands`` None: nobody said, or it makes no difference."""

    material: str
    count: int
    hands: Hands | None = None


@dataclass(frozen=True)
class NewPiece:
    """A piece by its corners, in order, as a pattern file has them; none of its ``cuts`` makes it a guide.

    ``fold``: the edge from the last corner back to the first lies on the fold. ``grain`` is where the top
    of the garment is. ``allowance`` is text of a pattern file, None for the pattern's.
    """

    name: str
    cuts: tuple[NewCut, ...]
    corners: tuple[CornerTable, ...]
    fold: bool = False
    grain: Grain = "up"
    allowance: str | None = None


@dataclass(frozen=True)
class NewPattern:
    """The whole of it. ``widths`` of the cloth by material, and ``allowance``, are text of a pattern file."""

    name: str
    unit: Unit
    allowance: str
    pieces: tuple[NewPiece, ...]
    widths: Mapping[str, str]


def rectangle(width: float, length: float, unit: Unit) -> tuple[CornerTable, ...]:
    """The corners of a rectangle from its top left, ``width`` and ``length`` in millimetres."""
    wide, long = width / unit_size(unit), length / unit_size(unit)
    # The last one by its place: a step that ends near the first corner is taken for the way home.
    steps: list[dict[str, Any]] = [{"at": [0.0, 0.0]}, {"right": wide}, {"down": long}, {"at": [0.0, long]}]
    return tuple(corner(step, unit) for step in steps)


def corner(fields: Mapping[str, Any], unit: Unit) -> CornerTable:
    """One corner with these fields of a pattern file. Raises pydantic's ValidationError."""
    return CornerTable.model_validate(dict(fields), context={"unit": unit})


def come_home(corners: Sequence[CornerTable], unit: Unit) -> tuple[CornerTable, ...]:
    """The corners without a last one that is the first again; how its edge is curved, the first one says.

    Raises WrongCorner.
    """
    if len(corners) < 4 or corners[-1].through is not None:
        return tuple(corners)
    first, last = corners[0], corners[-1]
    if last.at is None:
        # A last step home is taken for the first corner itself.
        home = len(corner_edges(corners, Frame(unit))) < sum(one.through is None for one in corners)
    else:
        home = first.at is not None and math.dist(first.at, last.at) * unit_size(unit) <= HOME
    if not home:
        return tuple(corners)
    return (first.model_copy(update={"bulge": last.bulge, "hollow": last.hollow}), *corners[1:-1])


@dataclass(frozen=True)
class Shape:
    """What can be measured on an outline told by corners, in its unit and as the file draws it."""

    box: tuple[float, float, float, float]
    edges: tuple[float, ...]
    """Lengths from corner to corner, the last one back to the first."""

    @property
    def size(self) -> tuple[float, float]:
        return self.box[2] - self.box[0], self.box[3] - self.box[1]

    def grain(self, way: Grain) -> tuple[Point, Point]:
        """Tail and head of an arrow through the middle."""
        x0, y0, x1, y1 = self.box
        x, y = (x0 + x1) / 2, (y0 + y1) / 2
        along, high = 0.3 * (x1 - x0), 0.3 * (y1 - y0)
        ends = {
            "up": ((x, y + high), (x, y - high)),
            "down": ((x, y - high), (x, y + high)),
            "left": ((x + along, y), (x - along, y)),
            "right": ((x - along, y), (x + along, y)),
        }
        return ends[way]


def shape_of(corners: Sequence[CornerTable], unit: Unit) -> Shape:
    """Raises WrongCorner for a corner and Wrong for the outline as a whole."""
    if len(corners) < 3:
        raise Wrong("has fewer than three corners; go all the way round the piece")
    frame = Frame(unit)
    edges = corner_edges(corners, frame)
    ring = parse_ring(path_of(edges, frame), frame).ring
    xs, ys = [x / frame.size for x, _ in ring], [-y / frame.size for _, y in ring]
    return Shape((min(xs), min(ys), max(xs), max(ys)), tuple(edge.length / frame.size for edge in edges))


def checked(path: str | Path, text: str) -> Pattern:
    """The pattern that a file with this text is. Raises InputError in the words of a file called ``path``."""
    from marker.files.pattern import pattern_of

    return pattern_of(path, tomllib.loads(text))
