"""The answer: where every piece lies on each material. The fields of the layout file, version 1."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from marker.model.amount import Amount
from marker.model.fabric import Border, Print
from marker.model.piece import Notch, Point, Ring


@dataclass(frozen=True)
class Band:
    """A rectangle of the spread cloth, one or two layers thick.

    ``folds`` are the y at which the band ends in a lengthwise fold; ``fold_across`` the x of a
    crosswise fold, if the band has one.
    """

    x: tuple[float, float]
    y: tuple[float, float]
    layers: int
    folds: tuple[float, ...] = ()
    fold_across: float | None = None


@dataclass(frozen=True)
class Placement:
    """One outline laid on the cloth.

    ``copies`` is how many cut pieces it yields (a pair from two layers, one from a fold or a single
    layer), ``spare`` how many of those nobody asked for. ``mirrored`` means laid face down.
    ``rotation`` is the direction of the grain arrow in degrees, counter-clockwise from the length of
    the cloth. ``band`` indexes the material's bands. ``region`` names the region of the piece, if only
    that is cut. ``opened`` marks an on-fold piece laid out whole. ``unsaid`` are the fields (of ``drills``,
    ``lines`` and ``fold_edge``) that a layout file by another program does not have.
    """

    piece: str
    name: str
    copies: int
    mirrored: bool
    rotation: float
    on_fold: bool
    outline: Ring
    grain: tuple[Point, Point]
    band: int
    holes: tuple[Ring, ...] = ()
    notches: tuple[Notch, ...] = ()
    drills: tuple[Point, ...] = ()
    lines: tuple[tuple[Point, ...], ...] = ()
    fold_edge: tuple[Point, Point] | None = None
    region: str = ""
    opened: bool = False
    spare: int = 0
    unsaid: tuple[str, ...] = ()


@dataclass(frozen=True)
class Tried:
    """A way of spreading the cloth that was tried, and what it would take.

    ``length``, ``buy`` and ``outlines``, how many there are to cut, are ``None`` when it cannot be done;
    ``why`` then says so in a few words.
    """

    lay: str
    length: float | None
    buy: float | None
    why: str = ""
    outlines: int | None = None


@dataclass(frozen=True)
class Missing:
    """Copies of a cut that found no place on the cloth there is."""

    piece: str
    name: str
    count: int
    region: str = ""


@dataclass(frozen=True)
class Told:
    """What a layout file says of its cloth for readers without the fabric file; None for what it does not."""

    print: Print | None = None
    border: Border | None = None
    outline: Ring | None = None
    holes: tuple[Ring, ...] | None = None


@dataclass(frozen=True)
class MaterialLayout:
    """One material, or one of several cloths of it. Lengths in millimetres along the cloth as it lies.

    ``width`` is the flat cloth, selvage to selvage. ``length`` is the cloth used; on a crosswise fold
    that is twice the length of the folded spread. ``buy`` is the length to buy, as sold (0 for a remnant),
    and ``parts`` what it is made up of (None: not told). ``told`` is what a layout file says of the cloth.
    ``lower_bound`` and ``proven`` (to the millimetre) are what the check can show; ``searched`` is a length
    below which the search has found by going through all cases that there is nothing (0: no more than that).
    ``cloth`` names the remnant ("": from the roll). ``missing`` is what had no place on any cloth of the
    material, told on its last entry, and ``short`` by how much a longer cloth was found to
    be enough, while by less than ``short_least`` none can be.
    ``matched`` is the level of matching that the print was placed by ("none": not at all). ``notes`` are
    sentences about what was asked for and cannot hold.
    """

    material: str
    width: float
    usable: tuple[float, float]
    lay: str
    length: float
    buy: float
    buy_text: str
    waste_percent: float
    lower_bound: float
    bands: tuple[Band, ...]
    placements: tuple[Placement, ...]
    obstacles: tuple[Ring, ...] = ()
    tried: tuple[Tried, ...] = ()
    proven: bool = False
    cloth: str = ""
    missing: tuple[Missing, ...] = ()
    short: float = 0.0
    short_least: float = 0.0
    matched: str = "none"
    notes: tuple[str, ...] = ()
    parts: Amount | None = None
    told: Told | None = None
    searched: float = 0.0


@dataclass(frozen=True)
class Layout:
    """All materials of one job, and what was asked for (enough to load the same job again)."""

    pattern: str
    size: str
    view: str
    seed: int
    materials: tuple[MaterialLayout, ...]
    quantity: int = 1
    asked: dict[str, Any] = field(default_factory=dict)
