"""What a reader of drawings found: pieces with whatever the drawing tells, and None for what it does not.

Every reader gives a ``Found``; ``marker.files.pattern_writer`` turns it into a pattern file in which the
unknown is a clearly marked blank. All coordinates are millimetres with x to the right and y **downwards**, as
in pattern files; readers of formats with y upwards turn them over. A piece is seen from the right side.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Literal

Point = tuple[float, float]
Unit = Literal["mm", "cm", "in"]
How = Literal["mirrored", "alike", "on fold"]


@dataclass(frozen=True)
class FoundNotch:
    """A mark on the edge; ``name`` is None if the drawing gives it none (the writer then numbers it)."""

    at: Point
    name: str | None = None


@dataclass(frozen=True)
class FoundCut:
    """Copies cut from one material. None is unknown and becomes a blank, but for ``how`` and ``region``:
    those are then left out, which has a meaning of its own in pattern files. ``said`` are the words of the
    drawing, quoted in its blanks."""

    material: str | None = None
    count: int | None = None
    how: How | None = None
    region: str | None = None
    said: str | None = None


@dataclass(frozen=True)
class FoundPiece:
    """One piece in one size.

    ``outline`` and ``lines`` are SVG path data in millimetres, absolute M L H V C S Q T Z only (no arcs; see
    ``path_data``); the outline is one closed line. ``size`` None: the same in every size. Pieces of one
    number (or, without numbers, one name) are one piece in several sizes. ``cuts`` None: the drawing does
    not say, a blank, in which ``asked`` is quoted: its words about cuts that nobody can be sure of; ``()``:
    never cut, a guide. ``seam_allowance`` is text of a pattern file, like "10 mm" or "included", or a blank.
    ``regions`` are path data by name. ``allowances`` are (from, to, width in millimetres).
    ``notes`` are plain sentences written above the piece in the file.
    """

    outline: str
    name: str | None = None
    number: str | None = None
    size: str | None = None
    grain: tuple[Point, Point] | None = None
    """Tail and head; the head is the top of the garment."""
    fold: tuple[Point, Point] | None = None
    notches: tuple[FoundNotch, ...] = ()
    drills: tuple[Point, ...] = ()
    lines: tuple[str, ...] = ()
    cuts: tuple[FoundCut, ...] | None = None
    asked: str | None = None
    seam_allowance: str | None = None
    regions: Mapping[str, str] = field(default_factory=dict)
    allowances: tuple[tuple[Point, Point, float], ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Found:
    """Everything found in one drawing.

    ``unit`` is the unit the pattern file is to be written in (coordinates here are millimetres all the
    same). ``sizes`` in order; empty: one size. ``seam_allowance`` is for all pieces without one of their
    own. ``notes`` are plain sentences for the person who imports: how the scale was decided, what was
    skipped, what was assumed. They are shown and kept as comments at the top of the file.
    """

    name: str | None
    unit: Unit
    sizes: tuple[str, ...]
    pieces: tuple[FoundPiece, ...]
    notes: tuple[str, ...] = ()
    seam_allowance: str | None = None


@dataclass(frozen=True)
class Options:
    """What the person who imports answers beforehand.

    ``unit`` is what one number of the drawing counts, for files that do not say (any unit that
    ``marker.units.unit_size`` knows); ``right_hand`` says which hand a drawn piece of a pair is, None if not
    answered. ``scale`` is what every length of the drawing is multiplied by, 1 if nothing is to be corrected.
    ``page`` is the page of a file that has several, counted from 1.
    """

    unit: str | None = None
    right_hand: bool | None = None
    scale: float = 1.0
    page: int | None = None


def path_data(points: Iterable[Point], closed: bool = True) -> str:
    """SVG path data of straight lines through ``points`` (millimetres); ``closed`` adds the Z."""
    corners = " L ".join(f"{number(x)} {number(y)}" for x, y in points)
    return f"M {corners}{' Z' if closed else ''}"


def number(value: float, decimals: int = 4) -> str:
    """A number as short as its decimals allow: ``12.5``, ``-3``, ``0``."""
    text = f"{value:.{decimals}f}".rstrip("0").rstrip(".") if decimals else f"{value:.0f}"
    return "0" if text in ("-0", "") else text
