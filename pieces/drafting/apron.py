"""The market apron: five pieces in one size, for the first five minutes."""

from __future__ import annotations

from drafting.curves import Edge, curve, end, line, point_at, solve, split, start
from drafting.piece import Cut, Drawing, Piece, level, rectangle, upright
from drafting.write import pattern_text

_BIB_HALF, _BIB = 130.0, 290.0
_HALF, _LENGTH = 330.0, 800.0
"""Half width below the waist; length from the top of the bib to the hem."""
_FACING = 70.0
_POCKET_HALF = 170.0
_HEM, _TOP = 40.0, 15.0


def text() -> str:
    return pattern_text(_HEAD, pieces(), unit="cm")


def pieces() -> tuple[Piece, ...]:
    on_fold = (Cut("fabric", 1, "on fold"),)
    return (
        Piece("1", "Body", on_fold, {"every": _body()}),
        Piece("2", "Bib facing", on_fold, {"every": _facing()}),
        Piece("3", "Pocket", on_fold, {"every": _pocket()}),
        Piece("4", "Neck strap", (Cut("fabric", 1, "alike"),), {"every": _strip(600.0)}, "included"),
        Piece("5", "Tie", (Cut("fabric", 2, "alike"),), {"every": _strip(850.0)}, "included"),
    )


def _arm_edge() -> Edge:
    """From the corner of the bib down and out to the waist."""
    return curve((_BIB_HALF, 0.0), (_BIB_HALF + 8.0, 130.0), (_HALF - 115.0, _BIB - 15.0), (_HALF, _BIB))


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
        drills=((_POCKET_HALF, 370.0), (_POCKET_HALF, 570.0)),
        allowances=((hem, _HEM), (side, 20.0)),
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
    height = 200.0
    top, side, hem, fold = rectangle(_POCKET_HALF, height)
    return Drawing(
        edges=(top, side, hem, fold),
        grain=upright(0.5 * _POCKET_HALF, 0.0, height),
        fold=((0.0, 0.0), (0.0, height)),
        lines=(line((60.0, 0.0), (60.0, height)),),
        allowances=((top, 30.0),),
    )


def _strip(length: float) -> Drawing:
    """Folded in four lengthwise and stitched: 25 mm wide when done."""
    width = 100.0
    lines = tuple(line((0.0, y), (length, y)) for y in (25.0, 50.0, 75.0))
    return Drawing(edges=rectangle(length, width), grain=level(37.5, 0.0, length), lines=lines)


_HEAD = """
name = "Market apron"
unit = "cm"
sizes = ["one size"]
seam_allowance = "15 mm"
about = "A bib apron for the club's stall: faced bib, one wide pocket with a pencil slot, tied behind."

[views.A]
title = "With pocket"
pieces = ["1", "2", "3", "4", "5"]

[fabric.fabric]
name = "Striped ticking, undyed"
width = "150 cm"
selvage = "10 mm"
gap = "3 mm"
shrink_along = "4 %"
shrink_across = "2 %"
step = "10 cm"
price = 11.9
price_per = "1 m"
currency = "EUR"

[[notion]]
name = "Sewing thread"
detail = "cotton, 100 m reel"
count = 1
"""
