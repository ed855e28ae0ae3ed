"""Placket, pocket, flap, vent facing, buttonhole guide and hanging loop."""

from __future__ import annotations

from drafting.curves import Point, line
from drafting.piece import Drawing, level, rectangle, upright
from drafting.smock.body import SLIT_WIDTH, VENT
from drafting.smock.measures import Measures

POCKET_HEM = 30.0
_TOWER = 45.0
_FACING_ABOVE_VENT = 25.0
_FLAP = 50.0
_FLAP_SLANT = 12.0


def placket(m: Measures) -> Drawing:
    """Underlap, the box that is cut open, overlap: each lap two slit widths, to be folded double.

    The outer half of the overlap is the one seen: it runs on below the slit into a point, and is interfaced.
    """
    w, foot = SLIT_WIDTH, m.slit
    over = foot + _TOWER
    tower = line((4 * w, over), (3.5 * w, over + w / 2.0), (3 * w, over))
    edges = (
        line((0.0, 0.0), (5 * w, 0.0), (5 * w, foot), (4 * w, foot), (4 * w, over)),
        tower,
        line((3 * w, over), (3 * w, foot), (0.0, foot), (0.0, 0.0)),
    )
    overlap = line((3 * w, 0.0), (4 * w, 0.0), (4 * w, over)), tower, line((3 * w, over), (3 * w, 0.0))
    return Drawing(
        edges=edges,
        grain=upright(2.5 * w, 0.0, foot),
        drills=((2 * w, foot), (3 * w, foot)),
        lines=tuple(line((n * w, 0.0), (n * w, foot)) for n in (1, 2, 3, 4)),
        regions={"overlap": overlap},
    )


def pocket_width(m: Measures) -> float:
    return m.chest / 8.0


def pocket_corners(m: Measures) -> tuple[Point, Point]:
    """Where the upper corners of the pocket are drilled on the front."""
    inner, height = 62.0, m.chest / 8.0 + 95.0
    return (inner, height), (inner + pocket_width(m), height)


def pocket(m: Measures) -> Drawing:
    """A patch pocket with a pointed foot."""
    width = pocket_width(m)
    height = 1.1 * width
    a, b = (0.0, 0.0), (width, 0.0)
    c, tip, d = (width, height), (width / 2.0, height + 20.0), (0.0, height)
    top = line(a, b)
    return Drawing(
        edges=(top, line(b, c, tip, d, a)),
        grain=upright(width / 2.0, 0.0, height),
        notches=(("pocket corner", a),),
        allowances=((top, POCKET_HEM),),
    )


def flap(m: Measures) -> Drawing:
    """Slanted, deeper towards the side seam, and a little wider than the pocket it covers."""
    width = pocket_width(m) + 4.0
    a, b, c, d = (0.0, 0.0), (width, 0.0), (width, _FLAP + _FLAP_SLANT), (0.0, _FLAP)
    return Drawing(edges=(line(a, b, c, d, a),), grain=upright(width / 2.0, 0.0, _FLAP))


def vent_facing() -> Drawing:
    """The long straight edge is sewn to the side vent; the foot is caught by the hem."""
    foot = _FACING_ABOVE_VENT + VENT
    a, b, c, d = (0.0, 0.0), (45.0, 25.0), (45.0, foot), (0.0, foot)
    return Drawing(
        edges=(line(a, b, c, d, a),),
        grain=upright(20.0, 10.0, foot),
        notches=(("vent", (0.0, _FACING_ABOVE_VENT)),),
    )


def guide(m: Measures) -> Drawing:
    """Laid on the finished overlap: a drill hole for each buttonhole."""
    first, last = 40.0, m.slit - 25.0
    step = (last - first) / (m.slit_buttons - 1)
    middle = SLIT_WIDTH / 2.0
    return Drawing(
        edges=rectangle(SLIT_WIDTH, m.slit),
        grain=upright(middle, 0.0, m.slit),
        drills=tuple((middle, first + n * step) for n in range(m.slit_buttons)),
    )


def loop() -> Drawing:
    """Folded in four lengthwise and stitched; allowances in it."""
    return Drawing(edges=rectangle(100.0, 32.0), grain=level(16.0, 0.0, 100.0))
