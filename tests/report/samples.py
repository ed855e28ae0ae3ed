"""Lays made by hand, with numbers that can be checked by hand: the report's own test cloth.

Shapes are rough garment pieces of our own; nothing here was packed by the engine.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from marker.model.fabric import Fabric
from marker.model.job import Job
from marker.model.layout import Band, Layout, MaterialLayout, Placement, Tried
from marker.model.piece import Cut, Notch, Piece, Point, Ring


def box(width: float, height: float) -> Ring:
    return ((0.0, 0.0), (width, 0.0), (width, height), (0.0, height))


def arc(a: Point, b: Point, bulge: float, steps: int = 10) -> list[Point]:
    """Points after ``a`` up to ``b`` along a parabola that swings ``bulge`` mm to the left of a-b."""
    (ax, ay), (bx, by) = a, b
    length = math.dist(a, b)
    nx, ny = -(by - ay) / length, (bx - ax) / length
    found = []
    for k in range(1, steps + 1):
        t = k / steps
        off = 4.0 * bulge * t * (1.0 - t)
        found.append((ax + t * (bx - ax) + off * nx, ay + t * (by - ay) + off * ny))
    return found


def half_body(width: float, height: float, neck: float) -> Ring:
    """Half of a front or back: hem at the bottom, centre line (the fold) at x = 0."""
    points: list[Point] = [(0.0, 0.0), (width, 0.0), (width, height * 0.62)]
    points += arc((width, height * 0.62), (width - 65.0, height - 40.0), 25.0)
    points += [(75.0, height)]
    points += arc((75.0, height), (0.0, height - neck), 20.0)
    return tuple(points)


def sleeve(width: float, height: float) -> Ring:
    points: list[Point] = [(60.0, 0.0), (width - 60.0, 0.0), (width, height * 0.72)]
    points += arc((width, height * 0.72), (width / 2, height), -28.0)
    points += arc((width / 2, height), (0.0, height * 0.72), -28.0)
    return tuple(points)


FRONT = Piece(
    "1",
    "Front",
    half_body(290.0, 720.0, 90.0),
    ((120.0, 150.0), (120.0, 550.0)),
    (Cut("fabric", 1, "on fold"),),
    fold_edge=((0.0, 0.0), (0.0, 630.0)),
    notches=(Notch("a", (290.0, 250.0)), Notch("b", (260.0, 520.0))),
    lines=(((0.0, 420.0), (90.0, 420.0)),),
)
BACK = Piece(
    "2",
    "Back",
    half_body(300.0, 730.0, 25.0),
    ((130.0, 150.0), (130.0, 560.0)),
    (Cut("fabric", 1, "on fold"),),
    fold_edge=((0.0, 0.0), (0.0, 705.0)),
    notches=(Notch("a", (300.0, 250.0)),),
)
SLEEVE = Piece(
    "3",
    "Sleeve",
    sleeve(390.0, 540.0),
    ((195.0, 80.0), (195.0, 480.0)),
    (Cut("fabric", 2, "mirrored"),),
    notches=(Notch("c", (195.0, 540.0)), Notch("d", (60.0, 0.0))),
)
CUFF = Piece(
    "4",
    "Cuff",
    box(110.0, 250.0),
    ((55.0, 30.0), (55.0, 220.0)),
    (Cut("fabric", 4, "alike"), Cut("interfacing", 2, "alike")),
)
POCKET = Piece(
    "5",
    "Patch pocket",
    ((0.0, 30.0), (90.0, 0.0), (180.0, 30.0), (180.0, 210.0), (0.0, 210.0)),
    ((90.0, 40.0), (90.0, 150.0)),
    (Cut("fabric", 1, "alike"),),
    drills=((30.0, 170.0), (150.0, 170.0)),
    lines=(((0.0, 180.0), (180.0, 180.0)),),
)
SLIT = ((50.0, 20.0), (110.0, 20.0), (110.0, 300.0), (50.0, 300.0))
PLACKET = Piece(
    "6",
    "Neck placket facing",
    box(160.0, 320.0),
    ((80.0, 40.0), (80.0, 280.0)),
    (
        Cut("fabric", 1, "alike"),
        Cut("interfacing", 1, "alike", SLIT, "slit strip"),
    ),
    lines=(((80.0, 60.0), (80.0, 320.0)),),
)
LOOP = Piece("7", "Hanging loop", box(28.0, 90.0), ((14.0, 10.0), (14.0, 80.0)), (Cut("fabric", 1, "alike"),))
GUIDE = Piece("8", "Buttonhole guide", box(40.0, 200.0), ((20.0, 20.0), (20.0, 180.0)))

BINDING = Piece(
    "9", "Bias binding", box(12.0, 400.0), ((6.0, 50.0), (6.0, 350.0)), (Cut("fabric", 2, "alike"),)
)

PIECES = (FRONT, BACK, SLEEVE, CUFF, POCKET, PLACKET, LOOP, GUIDE)

LINEN = Fabric(
    "Deck linen",
    1400.0,
    selvage=10.0,
    shrink_along=0.04,
    step=100.0,
    price=12.0,
    currency="EUR",
)
FUSIBLE = Fabric("Light fusible", 900.0, grain="any", step=100.0)


def turn(points: tuple[Point, ...], angle: float, mirrored: bool) -> tuple[Point, ...]:
    """Drawn with the grain upwards; laid with the grain at ``angle`` from the length of the cloth."""
    cos, sin = math.cos(math.radians(angle - 90.0)), math.sin(math.radians(angle - 90.0))
    flipped = [(-x, y) if mirrored else (x, y) for x, y in points]
    return tuple((x * cos - y * sin, x * sin + y * cos) for x, y in flipped)


@dataclass(frozen=True)
class Lay:
    """Places pieces on bands. ``at`` is the lower left corner of the placed outline's box."""

    bands: tuple[Band, ...]

    def put(
        self,
        piece: Piece,
        at: Point,
        *,
        angle: float = 0.0,
        mirrored: bool = False,
        band: int = 0,
        copies: int | None = None,
        spare: int = 0,
        on_fold: bool = False,
        opened: bool = False,
        cut: Cut | None = None,
    ) -> Placement:
        ring = cut.region if cut is not None and cut.region else piece.outline
        notches, drills, lines = piece.notches, piece.drills, piece.lines
        if cut is not None and cut.region:
            notches, drills, lines = (), (), ()
        if opened:
            ring = ring + tuple((-x, y) for x, y in reversed(ring) if x > 0.01)
        turned = turn(ring, angle, mirrored)
        dx, dy = at[0] - min(p[0] for p in turned), at[1] - min(p[1] for p in turned)

        def there(points: tuple[Point, ...]) -> tuple[Point, ...]:
            return tuple((x + dx, y + dy) for x, y in turn(points, angle, mirrored))

        outline = there(ring)
        grain = there(piece.grain)
        layers = self.bands[band].layers
        edge = there(piece.fold_edge) if piece.fold_edge and (on_fold or opened) else None
        return Placement(
            piece=piece.number,
            name=piece.name,
            copies=copies if copies is not None else 1 if on_fold else layers,
            mirrored=mirrored,
            rotation=angle,
            on_fold=on_fold,
            outline=tuple(reversed(outline)) if mirrored else outline,
            grain=(grain[0], grain[1]),
            band=band,
            notches=tuple(Notch(n.name, there((n.at,))[0]) for n in notches),
            drills=there(drills),
            lines=tuple(there(line) for line in lines),
            fold_edge=(edge[0], edge[1]) if edge else None,
            region=cut.region_name if cut is not None else "",
            opened=opened,
            spare=spare,
        )


def area(ring: Ring) -> float:
    return abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(ring, ring[1:] + ring[:1], strict=True))) / 2


def finish(
    material: str,
    fabric: Fabric,
    lay: str,
    bands: tuple[Band, ...],
    placements: list[Placement],
    length: float,
    buy: float,
    buy_text: str,
    **more: object,
) -> MaterialLayout:
    """A MaterialLayout with its waste worked out from the outlines."""
    wanted = 0.0
    for p in placements:
        whole = area(p.outline) * (2 if p.on_fold else 1)
        wanted += whole * (p.copies - p.spare)
    waste = 100.0 * (1.0 - wanted / (length * fabric.flat_width))
    made = MaterialLayout(
        material=material,
        width=fabric.flat_width,
        usable=(fabric.selvage, fabric.flat_width - fabric.selvage),
        lay=lay,
        length=length,
        buy=buy,
        buy_text=buy_text,
        waste_percent=waste,
        lower_bound=length * 0.95,
        bands=bands,
        placements=tuple(placements),
    )
    return replace(made, **more)  # type: ignore[arg-type]


TRIED = (
    Tried("lengthwise fold", 1640.0, 1800.0),
    Tried("tubular", None, None, "the cloth is not a tube"),
    Tried("partial fold", 1702.0, 1800.0),
    Tried("crosswise fold", None, None, "the nap of the second layer would run the other way"),
    Tried("open", 1911.0, 2000.0),
)


def folded() -> MaterialLayout:
    """Folded along the length, fold at y = 700; 1640 mm long."""
    bands = (Band((0.0, 1640.0), (10.0, 700.0), 2, (700.0,)),)
    lay = Lay(bands)
    placements = [
        lay.put(FRONT, (2.0, 410.0), on_fold=True),
        lay.put(BACK, (730.0, 400.0), on_fold=True),
        lay.put(SLEEVE, (0.0, 10.0), angle=180.0, mirrored=True),
        lay.put(CUFF, (570.0, 10.0)),
        lay.put(CUFF, (570.0, 125.0)),
        lay.put(POCKET, (830.0, 10.0), spare=1),
        lay.put(PLACKET, (570.0, 238.0), spare=1),
        lay.put(LOOP, (1060.0, 10.0), spare=1),
    ]
    return finish("fabric", LINEN, "lengthwise fold", bands, placements, 1640.0, 1800.0, "1.8 m", tried=TRIED)


def interfacing() -> MaterialLayout:
    """Three small pieces of non-woven in one layer, 340 mm of it; proven."""
    bands = (Band((0.0, 250.0), (0.0, 900.0), 1),)
    lay = Lay(bands)
    placements = [
        lay.put(CUFF, (0.0, 0.0), angle=90.0),
        lay.put(CUFF, (0.0, 255.0), angle=90.0),
        lay.put(PLACKET, (20.0, 520.0), angle=90.0, cut=PLACKET.cuts[1]),
    ]
    return finish(
        "interfacing",
        FUSIBLE,
        "open",
        bands,
        placements,
        250.0,
        300.0,
        "0.3 m",
        proven=True,
        tried=(Tried("open", 250.0, 300.0), Tried("crosswise fold", 500.0, 500.0)),
    )


def opened() -> MaterialLayout:
    """One layer: the body opened out, one sleeve face up and one face down."""
    bands = (Band((0.0, 1960.0), (10.0, 1390.0), 1),)
    lay = Lay(bands)
    placements = [
        lay.put(FRONT, (0.0, 12.0), opened=True),
        lay.put(BACK, (0.0, 640.0), opened=True),
        lay.put(SLEEVE, (740.0, 12.0)),
        lay.put(SLEEVE, (740.0, 640.0), mirrored=True),
        lay.put(CUFF, (740.0, 450.0)),
        lay.put(CUFF, (1000.0, 450.0)),
        lay.put(CUFF, (1310.0, 20.0)),
        lay.put(CUFF, (1310.0, 140.0), mirrored=True, angle=180.0),
        lay.put(POCKET, (1310.0, 640.0), angle=180.0),
        lay.put(PLACKET, (1310.0, 840.0), mirrored=True),
        lay.put(LOOP, (1310.0, 1010.0), mirrored=True),
    ]
    return finish("fabric", LINEN, "open", bands, placements, 1960.0, 2100.0, "2.1 m")


def to_middle() -> MaterialLayout:
    """Both selvages in the middle, a fold at y = 0 and one at y = 700."""
    bands = (
        Band((0.0, 1500.0), (0.0, 340.0), 2, (0.0,)),
        Band((0.0, 1500.0), (360.0, 700.0), 2, (700.0,)),
    )
    lay = Lay(bands)
    placements = [
        lay.put(FRONT, (0.0, 0.0), on_fold=True, angle=180.0),
        lay.put(BACK, (0.0, 400.0), on_fold=True, band=1),
        lay.put(CUFF, (740.0, 5.0)),
        lay.put(CUFF, (740.0, 120.0)),
        lay.put(PLACKET, (1000.0, 20.0), spare=1),
        lay.put(POCKET, (740.0, 400.0), band=1, spare=1),
    ]
    return finish("fabric", LINEN, "selvages to the middle", bands, placements, 1500.0, 1600.0, "1.6 m")


def partial() -> MaterialLayout:
    """One side turned in by 310 mm: a single layer from 10 to 780, two from 790 to 1090."""
    bands = (
        Band((0.0, 1500.0), (10.0, 780.0), 1),
        Band((0.0, 1500.0), (790.0, 1090.0), 2, (1090.0,)),
    )
    lay = Lay(bands)
    placements = [
        lay.put(FRONT, (0.0, 800.0), on_fold=True, band=1),
        lay.put(BACK, (735.0, 790.0), on_fold=True, band=1),
        lay.put(SLEEVE, (0.0, 10.0)),
        lay.put(SLEEVE, (600.0, 10.0), mirrored=True, angle=180.0),
        lay.put(CUFF, (0.0, 460.0)),
        lay.put(CUFF, (0.0, 580.0)),
        lay.put(CUFF, (300.0, 460.0)),
        lay.put(CUFF, (300.0, 580.0)),
        lay.put(POCKET, (600.0, 460.0)),
        lay.put(PLACKET, (900.0, 460.0), mirrored=True),
    ]
    return finish("fabric", LINEN, "partial fold", bands, placements, 1500.0, 1600.0, "1.6 m")


def crosswise() -> MaterialLayout:
    """Folded across its length at x = 800: 1600 mm of cloth."""
    bands = (Band((0.0, 800.0), (10.0, 1390.0), 2, (), 800.0),)
    lay = Lay(bands)
    placements = [
        lay.put(SLEEVE, (0.0, 10.0)),
        lay.put(CUFF, (0.0, 460.0)),
        lay.put(CUFF, (260.0, 460.0)),
        lay.put(PLACKET, (0.0, 580.0), spare=1),
        lay.put(POCKET, (330.0, 580.0), spare=1),
    ]
    return finish("fabric", LINEN, "crosswise fold", bands, placements, 1600.0, 1700.0, "1.7 m")


def crosswise_from_fold() -> MaterialLayout:
    """The same seen from the other end: the fold at x = 0, and a body laid whole over both layers."""
    bands = (Band((0.0, 800.0), (10.0, 1390.0), 2, (), 0.0),)
    lay = Lay(bands)
    placements = [
        lay.put(FRONT, (0.0, 12.0), opened=True, spare=1),
        lay.put(SLEEVE, (0.0, 640.0)),
    ]
    return finish("fabric", LINEN, "crosswise fold", bands, placements, 1600.0, 1700.0, "1.7 m")


def mixed() -> MaterialLayout:
    """740 mm folded, then one layer up to 1840 mm."""
    bands = (
        Band((0.0, 740.0), (10.0, 700.0), 2, (700.0,)),
        Band((740.0, 1840.0), (10.0, 1390.0), 1),
    )
    lay = Lay(bands)
    placements = [
        lay.put(FRONT, (0.0, 410.0), on_fold=True),
        lay.put(CUFF, (0.0, 20.0)),
        lay.put(CUFF, (260.0, 20.0)),
        lay.put(BACK, (742.0, 12.0), opened=True, band=1),
        lay.put(SLEEVE, (742.0, 640.0), band=1),
        lay.put(SLEEVE, (1290.0, 640.0), band=1, mirrored=True, angle=180.0),
        lay.put(POCKET, (742.0, 1150.0), band=1, mirrored=True),
    ]
    return finish("fabric", LINEN, "mixed", bands, placements, 1840.0, 2000.0, "2 m")


def tube() -> MaterialLayout:
    """A tube 700 mm wide as it lies: folds at y = 0 and y = 700, no selvage."""
    bands = (Band((0.0, 800.0), (0.0, 700.0), 2, (0.0, 700.0)),)
    lay = Lay(bands)
    placements = [
        lay.put(FRONT, (0.0, 410.0), on_fold=True),
        lay.put(BACK, (0.0, 0.0), on_fold=True, angle=180.0),
    ]
    return finish("jersey", JERSEY, "tubular", bands, placements, 800.0, 900.0, "0.9 m")


JERSEY = Fabric("Striped jersey", 700.0, tube=True, nap=True)


def long_lay() -> MaterialLayout:
    """Five metres in one layer, for several garments."""
    bands = (Band((0.0, 5000.0), (10.0, 1390.0), 1),)
    lay = Lay(bands)
    placements = []
    for k in range(6):
        x = k * 820.0
        placements += [
            lay.put(FRONT, (x, 12.0), opened=True),
            lay.put(SLEEVE, (x + 20.0, 610.0), mirrored=k % 2 == 1),
            lay.put(POCKET, (x + 590.0, 800.0)),
            lay.put(CUFF, (x, 1060.0)),
            lay.put(CUFF, (x + 260.0, 1060.0)),
            lay.put(LOOP, (x + 560.0, 1070.0)),
            lay.put(PLACKET, (x, 1180.0)),
        ]
    return finish("fabric", LINEN, "open", bands, placements, 5000.0, 5300.0, "5.3 m")


def very_long_lay() -> MaterialLayout:
    """Fourteen metres folded along the length: more than one row of paper can hold."""
    bands = (Band((0.0, 14000.0), (10.0, 700.0), 2, (700.0,)),)
    lay = Lay(bands)
    placements = []
    for k in range(19):
        x = k * 735.0
        placements += [
            lay.put(BACK, (x, 400.0), on_fold=True),
            lay.put(SLEEVE, (x, 10.0), mirrored=k % 2 == 1),
        ]
    return finish("fabric", LINEN, "lengthwise fold", bands, placements, 14000.0, 14600.0, "14.6 m")


def thin() -> MaterialLayout:
    """Strips too narrow for any word, beside one large piece."""
    bands = (Band((0.0, 900.0), (10.0, 1390.0), 1),)
    lay = Lay(bands)
    placements = [
        lay.put(FRONT, (0.0, 100.0), opened=True),
        lay.put(BINDING, (0.0, 700.0)),
        lay.put(BINDING, (0.0, 714.0), mirrored=True),
    ]
    return finish("fabric", LINEN, "open", bands, placements, 900.0, 1000.0, "1 m")


def flawed() -> MaterialLayout:
    """One layer with two flaws to keep clear of."""
    base = opened()
    flaws = (
        ((1600.0, 100.0), (1700.0, 90.0), (1720.0, 180.0), (1610.0, 190.0)),
        ((1650.0, 700.0), (1665.0, 700.0), (1665.0, 712.0), (1650.0, 712.0)),
    )
    return replace(base, obstacles=flaws)


def imperial() -> MaterialLayout:
    """The folded lay, spoken of in inches and yards: 2 yd bought."""
    return replace(folded(), buy=1828.8, buy_text="2 yd")


LINEN_INCHES = replace(
    LINEN,
    name="Deck linen 55 in",
    width=1397.0,
    step=114.3,
    price_per=914.4,
    system="imperial",
)


def job(**more: object) -> Job:
    made = Job(
        pattern="Harbour smock",
        size="M",
        view="B",
        pieces=PIECES,
        fabrics={"fabric": LINEN, "interfacing": FUSIBLE, "jersey": JERSEY},
        notions=(("Button", "15 mm, four holes", 3), ("Thread", "100 m, to match", 1)),
    )
    return replace(made, **more)  # type: ignore[arg-type]


def imperial_job() -> Job:
    return job(fabrics={"fabric": LINEN_INCHES, "interfacing": FUSIBLE})


def layout(*materials: MaterialLayout) -> Layout:
    return Layout("Harbour smock", "M", "B", 1, materials or (folded(), interfacing()))


ALL = {
    "folded": folded,
    "interfacing": interfacing,
    "opened": opened,
    "to_middle": to_middle,
    "partial": partial,
    "crosswise": crosswise,
    "crosswise_from_fold": crosswise_from_fold,
    "mixed": mixed,
    "tube": tube,
    "long_lay": long_lay,
    "flawed": flawed,
    "very_long_lay": very_long_lay,
    "thin": thin,
}
