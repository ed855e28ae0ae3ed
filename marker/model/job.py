"""What is to be cut: one size and view of a pattern, so many garments, on the cloths chosen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from marker.model.fabric import Fabric
from marker.model.piece import Piece


@dataclass(frozen=True)
class Job:
    """The pieces chosen (guides too), the garments wanted, and a fabric for each material that is cut.

    ``notions`` are (name, detail, count) for all garments together. Counts in ``pieces`` are per garment.
    """

    pattern: str
    size: str
    view: str
    pieces: tuple[Piece, ...]
    fabrics: Mapping[str, Fabric]
    quantity: int = 1
    notions: tuple[tuple[str, str, int], ...] = ()
