"""What is to be cut: one size and view of a pattern, so many garments, on the cloths chosen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from marker.model.fabric import Fabric
from marker.model.piece import Piece


@dataclass(frozen=True)
class Job:
    """The pieces chosen (guides too), the garments wanted, and a fabric for each material that is cut.

    ``notions`` are (name, detail, count) for all garments together. Counts in ``pieces`` are per garment.
    ``asked`` is what the user named (files, widths, extras): enough to load the same job again.
    """

    pattern: str
    size: str
    view: str
    pieces: tuple[Piece, ...]
    fabrics: Mapping[str, Fabric]
    quantity: int = 1
    notions: tuple[tuple[str, str, int], ...] = ()
    asked: Mapping[str, Any] = field(default_factory=dict)

    def only(self, material: str) -> Job:
        """The same job with the cuts of one material and nothing else."""
        pieces = tuple(
            replace(piece, cuts=tuple(cut for cut in piece.cuts if cut.material == material))
            for piece in self.pieces
        )
        return replace(
            self,
            pieces=tuple(piece for piece in pieces if piece.cuts),
            fabrics={material: self.fabrics[material]},
        )

    @property
    def materials(self) -> tuple[str, ...]:
        """The materials that are cut, in the order the pieces first ask for them."""
        return tuple(dict.fromkeys(cut.material for piece in self.pieces for cut in piece.cuts))
