"""What must meet when the cloth has a print."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from marker.model.piece import Piece

Matching = Literal["none", "main", "everything"]
"""How much of it is asked for: nothing, the main seams, or all that the pattern names."""


@dataclass(frozen=True)
class Match:
    """One thing that a pattern asks of a printed cloth.

    "meet": notches (or marks) called ``name`` meet at the stitching line, on all pieces that have one.
    "centre": the piece numbered ``name`` has its centre on the middle of a bar or motif; the centre is the
    notch or mark called ``at``, or else the fold edge, or else the middle of the outline across the grain.
    "pair": all copies of the piece ``name`` show the same part of the print, left and right mirrored.
    ``crosswise`` lines (the repeat along the cloth) and ``lengthwise`` lines (the repeat across it) count
    each for itself. ``level`` "main" is asked for always, "everything" only when everything is to match.
    """

    what: Literal["meet", "centre", "pair"]
    name: str
    crosswise: bool
    lengthwise: bool
    level: Literal["main", "everything"] = "main"
    at: str = ""


def meetable(pieces: Mapping[str, Sequence[Piece]]) -> tuple[str, ...]:
    """Names of notches and marks that a pattern may ask to meet: in every size on two pieces that are cut,
    and on none that lies on the bias. ``pieces`` by size.
    """
    by_size = [_carriers(of_size) for of_size in pieces.values()]
    return tuple(
        name
        for name in (by_size[0] if by_size else ())
        if all(
            len(found := carriers.get(name, [])) > 1 and not any(piece.bias for piece in found)
            for carriers in by_size
        )
    )


def _carriers(pieces: Iterable[Piece]) -> dict[str, list[Piece]]:
    """The pieces that are cut and have a notch or mark of each name."""
    found: dict[str, list[Piece]] = {}
    for piece in pieces:
        if piece.cuts:
            for name in dict.fromkeys(mark.name for mark in (*piece.notches, *piece.marks)):
                found.setdefault(name, []).append(piece)
    return found
