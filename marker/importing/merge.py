"""Several drawings as one pattern, and the answers of the person who imports them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

from marker.files.blanks import hint_of
from marker.importing.found import Found, Point
from marker.importing.stroke import strokes_of


def merged(parts: Sequence[tuple[str, Found]]) -> Found:
    """What was found in files of the given names, as one; notes say which file they are about.

    A seam allowance that only one of several files tells is said by each of its pieces.
    """
    (first_name, first), *others = parts
    if not others:
        return replace(first, notes=(f"Read from {first_name}.", *first.notes))
    shared = first.seam_allowance if len({part.seam_allowance for _, part in parts}) == 1 else None
    pieces = tuple(
        piece
        if shared is not None or piece.seam_allowance is not None
        else replace(piece, seam_allowance=part.seam_allowance)
        for _, part in parts
        for piece in part.pieces
    )
    return Found(
        name=next((part.name for _, part in parts if part.name), None),
        unit=first.unit,
        sizes=tuple(dict.fromkeys(size for _, part in parts for size in part.sizes)),
        pieces=pieces,
        notes=tuple(f"{name}: {note}" for name, part in parts for note in (part.notes or ("read.",))),
        seam_allowance=shared,
    )


def with_answers(
    found: Found,
    name: str | None = None,
    seam_allowance: str | None = None,
    grain: Literal["up", "down", "left", "right"] | None = None,
) -> Found:
    """The same with what the person said. What pieces say themselves stays.

    ``grain`` is the way the tops of pieces without a grain line point in the drawing: they get one through
    their middle.
    """
    pieces = found.pieces
    if seam_allowance is not None:
        # An answer fills blanks; what a piece says for certain stays.
        pieces = tuple(
            piece if hint_of(piece.seam_allowance) is None else replace(piece, seam_allowance=None)
            for piece in pieces
        )
    if grain is not None:
        pieces = tuple(
            piece if piece.grain is not None else replace(piece, grain=_grain(piece.outline, grain))
            for piece in pieces
        )
    return replace(
        found, name=name or found.name, seam_allowance=seam_allowance or found.seam_allowance, pieces=pieces
    )


def _grain(outline: str, way: Literal["up", "down", "left", "right"]) -> tuple[Point, Point]:
    """A line through the middle of an outline's bounding box, over three fifths of it."""
    points = [point for stroke in strokes_of(outline) for point in stroke.points()]
    xs, ys = [x for x, _ in points], [y for _, y in points]
    across, along = (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2
    if way in ("up", "down"):
        reach = 0.3 * (max(ys) - min(ys))
        ends = ((across, along + reach), (across, along - reach))
    else:
        reach = 0.3 * (max(xs) - min(xs))
        ends = ((across + reach, along), (across - reach, along))
    return ends if way in ("up", "left") else (ends[1], ends[0])
