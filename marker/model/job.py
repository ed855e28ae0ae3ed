"""What is to be cut: one size and view of a pattern, so many garments, on the cloths chosen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from marker.model.fabric import Fabric
from marker.model.match import Match, Matching
from marker.model.piece import Piece


@dataclass(frozen=True)
class Job:
    """The pieces chosen (guides too), the garments wanted, and a fabric for each material that is cut.

    ``notions`` are (name, detail, count) for all garments together. Counts in ``pieces`` are per garment.
    ``asked`` is what the user named (files, widths, extras): enough to load the same job again.
    ``meetable`` are names of notches that the pattern could ask to meet, in all of its sizes.
    """

    pattern: str
    size: str
    view: str
    pieces: tuple[Piece, ...]
    fabrics: Mapping[str, Fabric]
    quantity: int = 1
    notions: tuple[tuple[str, str, int], ...] = ()
    asked: Mapping[str, Any] = field(default_factory=dict)
    matches: tuple[Match, ...] = ()
    matching: Matching = "main"
    meetable: tuple[str, ...] = ()

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

    def asked_of(self, material: str) -> tuple[Match, ...]:
        """What has to match on this material: as much as is asked for, of what its print and pieces have."""
        design = self.fabrics[material].print
        if design is None or self.matching == "none":
            return ()
        cut = [
            piece
            for piece in self.pieces
            if any(each.material == material and not each.region_name for each in piece.cuts)
        ]
        numbers = {piece.number for piece in cut}
        names = {mark.name for piece in cut for mark in (*piece.notches, *piece.marks)}
        found = []
        for match in self.matches:
            narrowed = replace(
                match,
                crosswise=match.crosswise and design.along is not None,
                lengthwise=match.lengthwise and design.across is not None,
            )
            if (
                (match.level == "main" or self.matching == "everything")
                and (narrowed.crosswise or narrowed.lengthwise)
                and match.name in (names if match.what == "meet" else numbers)
            ):
                found.append(narrowed)
        return tuple(found)

    @property
    def materials(self) -> tuple[str, ...]:
        """The materials that are cut, in the order the pieces first ask for them."""
        return tuple(dict.fromkeys(cut.material for piece in self.pieces for cut in piece.cuts))
