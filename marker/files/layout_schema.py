"""The form of a layout file for reading: what must be there, and what may."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from marker.model.amount import Amount
from marker.model.fabric import Border, Print
from marker.model.layout import Band, Layout, MaterialLayout, Missing, Placement, Told, Tried
from marker.model.piece import Notch, Point, Ring

Number = Annotated[float, Field(allow_inf_nan=False, ge=-1e9, le=1e9)]
Pair = Annotated[list[Number], Field(min_length=2, max_length=2)]
Corners = Annotated[list[Pair], Field(min_length=3)]
TwoPoints = Annotated[list[Pair], Field(min_length=2, max_length=2)]


class Part(BaseModel):
    """Fields that are not known are passed over, types are not guessed."""

    model_config = ConfigDict(extra="ignore", strict=True)


class NotchPart(Part):
    name: str
    at: Pair
    sewn: Pair | None = None

    def model(self) -> Notch:
        return Notch(self.name, _pair(self.at), None if self.sewn is None else _pair(self.sewn))


class BandPart(Part):
    x: Pair
    y: Pair
    layers: Annotated[int, Field(ge=1, le=2)]
    fold_at: Number | None = None
    folds: list[Number] | None = None
    fold_across: Number | None = None

    def model(self) -> Band:
        folds = self.folds if self.folds is not None else [] if self.fold_at is None else [self.fold_at]
        return Band(_pair(self.x), _pair(self.y), self.layers, tuple(folds), self.fold_across)


class PlacementPart(Part):
    piece: str
    name: str
    copies: Annotated[int, Field(ge=1)]
    mirrored: bool
    rotation: Number
    on_fold: bool
    outline: Corners
    grain: TwoPoints
    band: Annotated[int, Field(ge=0)] = 0
    holes: list[Corners] = []
    notches: list[NotchPart] = []
    drills: list[Pair] = []
    lines: list[list[Pair]] = []
    fold_edge: TwoPoints | None = None
    region: str = ""
    opened: bool = False
    spare: Annotated[int, Field(ge=0)] = 0

    def model(self) -> Placement:
        return Placement(
            piece=self.piece,
            name=self.name,
            copies=self.copies,
            mirrored=self.mirrored,
            rotation=self.rotation,
            on_fold=self.on_fold,
            outline=_points(self.outline),
            grain=(_pair(self.grain[0]), _pair(self.grain[1])),
            band=self.band,
            holes=tuple(_points(hole) for hole in self.holes),
            notches=tuple(notch.model() for notch in self.notches),
            drills=_points(self.drills),
            lines=tuple(_points(line) for line in self.lines),
            fold_edge=None
            if self.fold_edge is None
            else (_pair(self.fold_edge[0]), _pair(self.fold_edge[1])),
            region=self.region,
            opened=self.opened,
            spare=self.spare,
            unsaid=tuple(sorted({"drills", "lines", "fold_edge"} - self.model_fields_set)),
        )


class PrintPart(Part):
    kind: Literal["stripes along", "stripes across", "check", "motifs"]
    along: Number | None
    across: Number | None
    start: Pair
    even_along: bool
    even_across: bool
    tolerance: Number

    def model(self) -> Print:
        return Print(
            kind=self.kind,
            along=self.along,
            across=self.across,
            start=_pair(self.start),
            even_along=self.even_along,
            even_across=self.even_across,
            tolerance=self.tolerance,
        )


class BorderPart(Part):
    side: Literal["lower", "upper"]
    width: Number

    def model(self) -> Border:
        return Border(self.side, self.width)


class AmountPart(Part):
    lay: Number
    begin_on: Number
    shrinkage: Number
    rounding: Number

    def model(self) -> Amount:
        return Amount(self.lay, self.begin_on, self.shrinkage, self.rounding)


class BuyPart(Part):
    length: Number
    text: str
    parts: AmountPart | None = None


class TriedPart(Part):
    lay: str
    length: Number | None = None
    buy: Number | None = None
    why: str = ""
    outlines: Annotated[int, Field(ge=1)] | None = None


class MissingPart(Part):
    piece: str
    name: str
    count: Annotated[int, Field(ge=1)]
    region: str = ""


class MaterialPart(Part):
    material: str
    width: Number
    usable: Pair
    lay: str
    length: Number
    buy: BuyPart
    waste_percent: Number
    lower_bound: Number
    bands: Annotated[list[BandPart], Field(min_length=1)]
    placements: list[PlacementPart]
    obstacles: list[Corners] = []
    tried: list[TriedPart] = []
    proven: bool = False
    searched: Number = 0.0
    cloth: str = ""
    missing: list[MissingPart] = []
    short: Annotated[Number, Field(ge=0)] = 0.0
    short_least: Annotated[Number, Field(ge=0)] = 0.0
    matched: Literal["none", "main", "everything"] = "none"
    notes: list[str] = []
    print: PrintPart | None = None
    border: BorderPart | None = None
    cloth_outline: Corners | None = None
    cloth_holes: list[Corners] | None = None

    def model(self) -> MaterialLayout:
        return MaterialLayout(
            material=self.material,
            width=self.width,
            usable=_pair(self.usable),
            lay=self.lay,
            length=self.length,
            buy=self.buy.length,
            buy_text=self.buy.text,
            parts=None if self.buy.parts is None else self.buy.parts.model(),
            waste_percent=self.waste_percent,
            lower_bound=self.lower_bound,
            bands=tuple(band.model() for band in self.bands),
            placements=tuple(placement.model() for placement in self.placements),
            obstacles=tuple(_points(ring) for ring in self.obstacles),
            tried=tuple(
                Tried(tried.lay, tried.length, tried.buy, tried.why, tried.outlines) for tried in self.tried
            ),
            proven=self.proven,
            searched=self.searched,
            cloth=self.cloth,
            missing=tuple(Missing(lost.piece, lost.name, lost.count, lost.region) for lost in self.missing),
            short=self.short,
            short_least=self.short_least,
            matched=self.matched,
            notes=tuple(self.notes),
            told=self._told(),
        )

    def _told(self) -> Told | None:
        told = Told(
            print=None if self.print is None else self.print.model(),
            border=None if self.border is None else self.border.model(),
            outline=None if self.cloth_outline is None else _points(self.cloth_outline),
            holes=None if self.cloth_holes is None else tuple(_points(hole) for hole in self.cloth_holes),
        )
        return None if told == Told() else told


class AskedPart(Part):
    """What was asked for; enough to load the job again. Other entries are kept as they are."""

    model_config = ConfigDict(extra="allow", strict=True)

    pattern: str | None = None
    with_: Annotated[list[str], Field(alias="with")] = []
    without: list[str] = []
    widths: dict[str, Number] = {}
    fabrics: list[str] = []
    simpler: Annotated[Number, Field(ge=0)] = 0.0
    have: dict[str, list[str]] = {}
    prints: dict[str, str] = {}
    nap: list[str] = []
    match: Literal["none", "main", "everything"] | None = None


class LayoutTable(Part):
    marker_layout: int
    pattern: str
    size: str
    view: str
    seed: int
    materials: list[MaterialPart]
    quantity: Annotated[int, Field(ge=1)] = 1
    asked: AskedPart = AskedPart()

    def model(self) -> Layout:
        return Layout(
            pattern=self.pattern,
            size=self.size,
            view=self.view,
            seed=self.seed,
            materials=tuple(material.model() for material in self.materials),
            quantity=self.quantity,
            asked=self.asked.model_dump(by_alias=True, exclude_unset=True),
        )


def _pair(numbers: list[float]) -> Point:
    return numbers[0], numbers[1]


def _points(points: list[list[float]]) -> Ring:
    return tuple(_pair(point) for point in points)
