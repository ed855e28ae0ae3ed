"""The market apron: five pieces in one size and a binding, for the first five minutes."""

from __future__ import annotations

from drafting.curves import Edge, curve, end, length, line, point_at, solve, split, start
from drafting.piece import Cut, Drawing, Piece, level, rectangle, upright
from drafting.write import pattern_text

_BIB_HALF, _BIB = 112.0, 290.0
_HALF, _LENGTH = 295.0, 800.0
"""Half width below the waist; length from the top of the bib to the hem."""
_FACING = 70.0
_POCKET_WIDTH, _POCKET_HEIGHT = 160.0, 190.0
_POCKET_FROM_MIDDLE, _POCKET_TOP = 35.0, 350.0
_HEM, _SIDE_HEM, _POCKET_HEM = 40.0, 20.0, 30.0
_STRIP = 90.0
_BINDING, _BINDING_SPARE = 40.0, 20.0
"""Width of the strip that binds an arm edge, and what it is longer at each end."""


def text() -> str:
    return pattern_text(_HEAD, pieces(), unit="cm")


def pieces() -> tuple[Piece, ...]:
    on_fold = (Cut("fabric", 1, "on fold"),)
    return (
        Piece("1", "Body", on_fold, {"every": _body()}),
        Piece("2", "Bib facing", on_fold, {"every": _facing()}),
        Piece("3", "Pocket", (Cut("fabric", 2, "mirrored"),), {"every": _pocket()}),
        Piece("4", "Neck strap", (Cut("fabric", 1, "alike"),), {"every": _strip(600.0)}, "included"),
        Piece("5", "Tie", (Cut("fabric", 2, "alike"),), {"every": _strip(850.0)}, "included"),
        Piece(
            "6", "Arm binding", (Cut("fabric", 2, "mirrored"),), {"every": _binding()}, "included", bias=True
        ),
    )


def _arm_edge() -> Edge:
    """From the corner of the bib down and out to the waist."""
    return curve((_BIB_HALF, 0.0), (_BIB_HALF + 8.0, 130.0), (_HALF - 105.0, _BIB - 15.0), (_HALF, _BIB))


def _body() -> Drawing:
    arm = _arm_edge()
    top = line((0.0, 0.0), start(arm))
    side = line(end(arm), (_HALF, _LENGTH))
    hem = line(end(side), (0.0, _LENGTH))
    return Drawing(
        edges=(top, arm, side, hem, line(end(hem), start(top))),
        grain=upright(0.5 * _BIB_HALF, 60.0, _LENGTH),
        fold=((0.0, 0.0), (0.0, _LENGTH)),
        notches=(("neck strap", (_BIB_HALF - 25.0, 0.0)),),
        hem=hem,
        marks=(("pocket corner", (_POCKET_FROM_MIDDLE, _POCKET_TOP)),),
        drills=(
            (_POCKET_FROM_MIDDLE, _POCKET_TOP),
            (_POCKET_FROM_MIDDLE + _POCKET_WIDTH, _POCKET_TOP),
        ),
        allowances=((hem, _HEM), (side, _SIDE_HEM)),
    )


def _facing_depth(arm: Edge) -> float:
    """How far down the arm edge the facing reaches."""
    return solve(lambda d: point_at(arm, d)[1] - _FACING, 1.0, 2.0 * _FACING)


def _facing() -> Drawing:
    """Cut to the top of the bib, so that the straps are caught between the two."""
    arm, _ = split(_arm_edge(), _facing_depth(_arm_edge()))
    top = line((0.0, 0.0), start(arm))
    foot = line(end(arm), (0.0, end(arm)[1]))
    return Drawing(
        edges=(top, arm, foot, line(end(foot), start(top))),
        grain=upright(0.5 * _BIB_HALF, 0.0, _FACING),
        fold=((0.0, 0.0), end(foot)),
        notches=(("neck strap", (_BIB_HALF - 25.0, 0.0)),),
    )


def _pocket() -> Drawing:
    top, right, foot, left = rectangle(_POCKET_WIDTH, _POCKET_HEIGHT)
    return Drawing(
        edges=(top, right, foot, left),
        grain=upright(0.5 * _POCKET_WIDTH, 0.0, _POCKET_HEIGHT),
        notches=(("pocket corner", start(top)),),
        allowances=((top, _POCKET_HEM),),
    )


def _strip(length: float) -> Drawing:
    """Folded in four lengthwise and stitched."""
    lines = tuple(line((0.0, part * _STRIP), (length, part * _STRIP)) for part in (0.25, 0.5, 0.75))
    return Drawing(edges=rectangle(length, _STRIP), grain=level(0.375 * _STRIP, 0.0, length), lines=lines)


def _binding() -> Drawing:
    """On the bias, so that it goes round the curve of the arm edge without a pucker; folded in four."""
    long = length(_arm_edge()) + 2.0 * _BINDING_SPARE
    lines = tuple(line((0.0, part * _BINDING), (long, part * _BINDING)) for part in (0.25, 0.5, 0.75))
    return Drawing(edges=rectangle(long, _BINDING), grain=level(0.375 * _BINDING, 0.0, long), lines=lines)


_HEAD = '''
name = "Market apron"
unit = "cm"
sizes = ["one size"]
seam_allowance = "15 mm"
about = """
A bib apron for the club's stall: faced bib, two pockets, tied behind. The arm edges are hemmed, or bound
with strips on the bias (6), for which their allowance is trimmed off.
"""

[views.A]
title = "With pockets"
pieces = ["1", "2", "3", "4", "5"]
optional = ["6"]

[fabric.fabric]
name = "Cotton ticking, undyed"
width = "115 cm"
selvage = "10 mm"
gap = "3 mm"
shrink_along = "4 %"
shrink_across = "2 %"
step = "10 cm"
price = 9.9
price_per = "1 m"
currency = "EUR"

# On a cloth with a print the pockets show what they lie on.
[[match]]
centre = "1"

[[match]]
meet = "pocket corner"
lines = "both"

[[notion]]
name = "Sewing thread"
detail = "cotton, 100 m reel"
count = 1
enough_for = 2
'''
