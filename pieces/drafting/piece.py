"""What a draft hands to the writer: pieces, their drawings by size, and the head of the pattern file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from drafting.curves import Edge, Point, line


@dataclass(frozen=True)
class Cut:
    """``count`` copies from ``material``; ``how`` is "mirrored", "alike" or "on fold"."""

    material: str
    count: int
    how: str
    region: str = ""


@dataclass(frozen=True)
class Drawing:
    """One piece in one size. ``edges`` run clockwise on the page and close by themselves."""

    edges: tuple[Edge, ...]
    grain: tuple[Point, Point]
    fold: tuple[Point, Point] | None = None
    notches: tuple[tuple[str, Point], ...] = ()
    marks: tuple[tuple[str, Point], ...] = ()
    hem: Edge | None = None
    drills: tuple[Point, ...] = ()
    lines: tuple[Edge, ...] = ()
    allowances: tuple[tuple[Edge, float], ...] = ()
    regions: Mapping[str, tuple[Edge, ...]] = field(default_factory=dict)


@dataclass(frozen=True)
class Piece:
    """A piece in all sizes; ``drawings`` has one entry "every" if the sizes do not differ.

    ``seam_allowance`` in millimetres, ``"included"``, or ``None`` for the pattern's own.
    """

    number: str
    name: str
    cuts: tuple[Cut, ...]
    drawings: Mapping[str, Drawing]
    seam_allowance: float | str | None = None
    bias: bool = False


def rectangle(width: float, height: float) -> tuple[Edge, Edge, Edge, Edge]:
    """Top, right, bottom and left edge of a rectangle with its top left corner at the origin."""
    a, b, c, d = (0.0, 0.0), (width, 0.0), (width, height), (0.0, height)
    return line(a, b), line(b, c), line(c, d), line(d, a)


def upright(x: float, top: float, bottom: float) -> tuple[Point, Point]:
    """A grain arrow that points to the top of the garment, a little short of the heights given."""
    spare = (bottom - top) / 8.0
    return (x, bottom - spare), (x, top + spare)


def level(y: float, left: float, right: float) -> tuple[Point, Point]:
    """A grain arrow along a piece that is cut lengthwise, a little short of the ends given."""
    spare = (right - left) / 8.0
    return (left + spare, y), (right - spare, y)
