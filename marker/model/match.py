"""What must meet when the cloth has a print."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

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
