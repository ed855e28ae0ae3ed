"""Lays on printed cloth made by hand, so that where each line must come to lie is plain arithmetic."""

from __future__ import annotations

from dataclasses import replace

from marker.model.fabric import Border, Fabric, Print, Remnant
from marker.model.job import Job
from marker.model.layout import Band, MaterialLayout, Missing
from marker.model.match import Match
from marker.model.piece import Cut, Notch, Piece
from tests.report.samples import Lay, box, finish

SEAM = 15.0


def panel(number: str, name: str, width: float, height: float, side: float, *, fold: bool = False) -> Piece:
    """A rectangle with 15 mm all round (none on the fold), notch "side" that high on both long edges.

    Drawn with the stitching line's lower left corner at 0, 0 and the grain upwards.
    """
    left = 0.0 if fold else -SEAM
    outline = (
        (left, -SEAM),
        (width + SEAM, -SEAM),
        (width + SEAM, height + SEAM),
        (left, height + SEAM),
    )
    stitching = ((0.0, 0.0), (width, 0.0), (width, height), (0.0, height))
    notches = [Notch("side", (width + SEAM, side), (width, side))]
    if not fold:
        notches.append(Notch("side", (-SEAM, side), (0.0, side)))
    return Piece(
        number,
        name,
        outline,
        ((width / 2, 40.0), (width / 2, height - 40.0)),
        (Cut("fabric", 1, "on fold" if fold else "alike"),),
        stitching=stitching,
        fold_edge=((0.0, -SEAM), (0.0, height + SEAM)) if fold else None,
        notches=tuple(notches),
    )


FRONT = panel("1", "Front panel", 320.0, 500.0, 350.0)
BACK = panel("2", "Back panel", 330.0, 520.0, 350.0)
POCKET = Piece(
    "3",
    "Patch pocket",
    box(150.0, 180.0),
    ((75.0, 30.0), (75.0, 150.0)),
    (Cut("fabric", 1, "alike"),),
)
STRIPED = Fabric(
    "Sail stripe",
    1200.0,
    selvage=10.0,
    step=100.0,
    price=14.0,
    currency="EUR",
    print=Print("stripes across", 100.0, None, (30.0, 0.0)),
)
SIDE = Match("meet", "side", crosswise=True, lengthwise=False)
MIDDLE = Match("centre", "3", crosswise=False, lengthwise=True)


def job(fabric: Fabric, *pieces: Piece, matches: tuple[Match, ...] = (SIDE,)) -> Job:
    return Job(
        pattern="Deck skirt",
        size="M",
        view="A",
        pieces=pieces or (FRONT, BACK, POCKET),
        fabrics={"fabric": fabric},
        matches=matches,
    )


def striped() -> tuple[MaterialLayout, Job]:
    """Repeat 100 from 30: front and back one above the other, their side notches both at x = 380.

    The front begins at x = 15, so its notch, 365 mm from its lower edge, lies at 380; so does the back's.
    Pieces take 15 + 550 = 565 mm, which whole repeats make 600.
    """
    bands = (Band((0.0, 600.0), (10.0, 1190.0), 1),)
    lay = Lay(bands)
    placements = [
        lay.put(FRONT, (15.0, 20.0)),
        lay.put(BACK, (15.0, 400.0)),
        lay.put(POCKET, (40.0, 800.0)),
    ]
    laid = finish("fabric", STRIPED, "open", bands, placements, 600.0, 600.0, "0.6 m", matched="main")
    return laid, job(STRIPED)


CHECK = Print("check", 90.0, 60.0, (30.0, 20.0))
CHECKED = replace(STRIPED, name="Check twill", width=1400.0, print=CHECK)
HALF_FRONT = panel("1", "Front panel", 320.0, 500.0, 350.0, fold=True)
HALF_BACK = panel("2", "Back panel", 340.0, 520.0, 350.0, fold=True)


def checked() -> tuple[MaterialLayout, Job]:
    """An even check, folded on the middle of a bar: 20 + 11 * 60 = 680 mm, 20 below the cloth's own middle.

    Both panels on the fold, one behind the other, the second by 7 * 90 mm further on.
    """
    bands = (Band((0.0, 1260.0), (10.0, 680.0), 2, (680.0,)),)
    lay = Lay(bands)
    placements = [
        lay.put(HALF_FRONT, (10.0, 345.0), on_fold=True),
        lay.put(HALF_BACK, (640.0, 325.0), on_fold=True),
        lay.put(POCKET, (100.0, 65.0), spare=1),
    ]
    both = replace(SIDE, lengthwise=True)
    laid = finish(
        "fabric", CHECKED, "lengthwise fold", bands, placements, 1260.0, 1300.0, "1.3 m", matched="main"
    )
    return laid, job(CHECKED, HALF_FRONT, HALF_BACK, POCKET, matches=(both, MIDDLE))


UNEVEN = replace(
    CHECKED,
    name="Uneven plaid",
    nap=True,
    print=Print("check", 90.0, 60.0, (30.0, 20.0), even_along=False, even_across=False),
)


def uneven() -> tuple[MaterialLayout, Job]:
    """The same panels opened out in one layer of a plaid that is uneven both ways."""
    bands = (Band((0.0, 1260.0), (10.0, 1390.0), 1),)
    lay = Lay(bands)
    placements = [
        lay.put(HALF_FRONT, (10.0, 45.0), opened=True),
        lay.put(HALF_BACK, (640.0, 25.0), opened=True),
        lay.put(POCKET, (100.0, 785.0)),
    ]
    laid = finish("fabric", UNEVEN, "open", bands, placements, 1260.0, 1300.0, "1.3 m", matched="main")
    told = replace(laid, notes=("An uneven print cannot be mirrored: left and right of piece 3 differ.",))
    return told, job(UNEVEN, HALF_FRONT, HALF_BACK, POCKET, matches=(replace(SIDE, lengthwise=True), MIDDLE))


SPACED = replace(
    STRIPED,
    name="Pennant print",
    nap=True,
    print=Print("motifs", 120.0, 80.0, (40.0, 50.0), even_along=False, even_across=False),
)


def motifs() -> tuple[MaterialLayout, Job]:
    laid, _ = striped()
    return replace(laid, length=600.0), job(SPACED)


BORDERED = replace(STRIPED, name="Bordered cotton", print=None, border=Border("lower", 140.0))


def bordered() -> tuple[MaterialLayout, Job]:
    """Both panels with their hems on the lower selvage, grain across the cloth."""
    hemmed = [replace(piece, hem=(piece.outline[0], piece.outline[1])) for piece in (FRONT, BACK)]
    bands = (Band((0.0, 760.0), (10.0, 1190.0), 1),)
    lay = Lay(bands)
    placements = [
        lay.put(hemmed[0], (5.0, 10.0), angle=90.0),
        lay.put(hemmed[1], (370.0, 10.0), angle=90.0),
        lay.put(POCKET, (10.0, 700.0)),
    ]
    laid = finish("fabric", BORDERED, "open", bands, placements, 760.0, 800.0, "0.8 m")
    return laid, job(BORDERED, *hemmed, POCKET)


FLAW = ((620.0, 100.0), (650.0, 95.0), (655.0, 130.0), (622.0, 128.0))
HOLE = ((600.0, 420.0), (680.0, 420.0), (680.0, 480.0), (600.0, 480.0))
REMNANT = Remnant(
    "left from the sail bags",
    ((0.0, 0.0), (900.0, 0.0), (900.0, 560.0), (700.0, 700.0), (0.0, 700.0)),
    (HOLE,),
)
LEFT_OVER = replace(STRIPED, name="Duck", print=None, remnants=(REMNANT,), roll=False)


def remnant() -> tuple[MaterialLayout, Job]:
    """One panel and a pocket on a remnant with a hole; the other panel has no place."""
    bands = (Band((0.0, 600.0), (0.0, 700.0), 1),)
    lay = Lay(bands)
    placements = [lay.put(FRONT, (5.0, 5.0)), lay.put(POCKET, (5.0, 400.0))]
    corner = ((900.0, 560.0), (900.0, 700.0), (700.0, 700.0))
    laid = finish(
        "fabric",
        LEFT_OVER,
        "open",
        bands,
        placements,
        535.0,
        0.0,
        "",
        cloth="left from the sail bags",
        width=700.0,
        usable=(0.0, 700.0),
        missing=(Missing("2", "Back panel", 1),),
        short=215.0,
        obstacles=(corner, HOLE, FLAW),
    )
    return laid, job(LEFT_OVER)


def folded_remnant() -> tuple[MaterialLayout, Job]:
    """The same remnant folded at half its width: the slanting corner and the hole count in either layer."""
    bands = (Band((0.0, 600.0), (0.0, 350.0), 2, (350.0,)),)
    placements = [Lay(bands).put(POCKET, (5.0, 20.0), spare=1)]
    base, _ = remnant()
    mirrored_hole = tuple((x, 700.0 - y) for x, y in HOLE)
    mirrored_corner = ((900.0, 140.0), (900.0, 0.0), (700.0, 0.0))
    laid = replace(
        base,
        lay="lengthwise fold",
        bands=bands,
        placements=tuple(placements),
        missing=(),
        short=0.0,
        obstacles=(mirrored_hole, mirrored_corner),
    )
    return laid, job(LEFT_OVER)


ALL = {
    "striped": striped,
    "checked": checked,
    "uneven": uneven,
    "motifs": motifs,
    "bordered": bordered,
    "remnant": remnant,
    "folded_remnant": folded_remnant,
}
