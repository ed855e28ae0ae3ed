"""A whole pattern as its file tells it: every size and view."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from marker.model.fabric import Fabric
from marker.model.match import Match
from marker.model.piece import Piece


@dataclass(frozen=True)
class View:
    """One version of the garment: the pieces it always has and those it may have."""

    name: str
    title: str
    pieces: tuple[str, ...]
    optional: tuple[str, ...] = ()


@dataclass(frozen=True)
class Notion:
    """Something bought that is not cloth. ``counts`` by size, each ``enough_for`` so many garments;
    ``views`` empty means every view."""

    name: str
    detail: str
    counts: Mapping[str, int]
    views: tuple[str, ...] = ()
    with_piece: str | None = None
    enough_for: int = 1


@dataclass(frozen=True)
class Pattern:
    """Pieces by size. Every size lists the same numbers in the same order.

    ``unit`` is what its makers count in, "" if nobody said. ``odd`` are sentences about what its file says
    that is possible and looks like a slip.
    """

    name: str
    path: str
    sizes: tuple[str, ...]
    views: tuple[View, ...]
    pieces: Mapping[str, tuple[Piece, ...]]
    fabrics: Mapping[str, Fabric]
    notions: tuple[Notion, ...] = ()
    about: str = ""
    matches: tuple[Match, ...] = ()
    unit: str = ""
    odd: tuple[str, ...] = ()
