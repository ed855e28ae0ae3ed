"""The gored skirt: six gores that share one shaped seam, so that a check can be made to meet in each."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from drafting.curves import (
    Edge,
    Point,
    curve,
    end,
    joined,
    length,
    line,
    mirrored,
    moved,
    off,
    point_at,
    reverse,
    solve,
    square_to,
    start,
)
from drafting.piece import Cut, Drawing, Piece, level, rectangle, upright
from drafting.write import pattern_text

_WAIST_EASE, _HIP_EASE = 20.0, 60.0
_HEM = 30.0
_BAND = 35.0
_UNDERLAP = 30.0
_ZIP = 200.0
_POCKET_FROM_WAIST, _POCKET_OPENING, _POCKET_MARGIN = 45.0, 155.0, 25.0
_HIP_NOTCH, _KNEE_ABOVE_HEM = 140.0, 200.0
_FRONT_SHARE, _BACK_SHARE, _SIDE_SHARE = 0.20, 0.18, 0.155
"""Shares of the waist: one front gore, one back gore, two side fronts and two side backs."""


@dataclass(frozen=True)
class Measures:
    """One size of the club's own table: the body's ``waist`` and ``hips``, millimetres.

    ``hip_depth`` and ``length`` along the seam from the waist; ``sweep`` round the hem.
    """

    waist: float
    hips: float
    hip_depth: float
    length: float
    sweep: float

    @property
    def finished_waist(self) -> float:
        return self.waist + _WAIST_EASE

    @property
    def finished_hips(self) -> float:
        return self.hips + _HIP_EASE


SIZES = {
    "S": Measures(680, 920, 195, 660, 1980),
    "M": Measures(740, 980, 200, 670, 2040),
    "L": Measures(810, 1045, 205, 680, 2105),
    "XL": Measures(890, 1120, 210, 690, 2180),
}


@dataclass(frozen=True)
class Gore:
    """Stitching lines of the right half: ``waist`` and ``hem`` run from the middle out, ``seam`` down."""

    waist: Edge
    seam: Edge
    hem: Edge


def text() -> str:
    return pattern_text(_head(), pieces())


def pieces() -> tuple[Piece, ...]:
    on_fold, pair = (Cut("fabric", 1, "on fold"),), (Cut("fabric", 2, "mirrored"),)
    one, interfaced = Cut("fabric", 1, "alike"), Cut("interfacing", 1, "alike")
    return (
        Piece("1", "Front gore", on_fold, _graded(lambda m: _middle_gore(gore(m, _FRONT_SHARE), "front"))),
        Piece(
            "2", "Side front gore", pair, _graded(lambda m: _side_gore(gore(m, _SIDE_SHARE), "front", "side"))
        ),
        Piece(
            "3", "Side back gore", pair, _graded(lambda m: _side_gore(gore(m, _SIDE_SHARE), "side", "back"))
        ),
        Piece("4", "Back gore", on_fold, _graded(lambda m: _middle_gore(gore(m, _BACK_SHARE), "back"))),
        Piece("5", "Pocket bag", (Cut("fabric", 4, "mirrored"),), {"every": _pocket()}),
        Piece("6", "Waistband", (one, interfaced), _graded(_band)),
        Piece("7", "Zip guard", (one,), {"every": _guard()}),
        Piece("8", "Belt loop strip", (one,), {"every": _loops()}, "included"),
    )


def gore(m: Measures, share: float) -> Gore:
    """A gore that takes ``share`` of the waist; the seam is the same in every gore of the size."""
    half = share * m.finished_waist / 2.0
    seam = moved(_seam(m), lambda p: (p[0] + half, p[1]))
    at_waist, below_waist = seam[0][0], seam[0][1]
    above_hem, at_hem = seam[-1]
    into = square_to(at_waist, below_waist)
    rise = 0.45 * half * into[1]
    waist = curve((0.0, rise), (0.5 * half, rise), off(at_waist, into, 0.4 * half), at_waist)
    into = square_to(above_hem, at_hem)
    foot = rise + m.length
    hem = curve((0.0, foot), (0.5 * at_hem[0], foot), off(at_hem, into, 0.4 * at_hem[0]), at_hem)
    return Gore(waist, seam, hem)


def _seam(m: Measures) -> Edge:
    """From the waist at (0, 0) over the hip to the hem, as long as the skirt."""
    hip = ((m.finished_hips - m.finished_waist) / 12.0, m.hip_depth)
    flare = ((m.sweep - m.finished_waist) / 12.0 - hip[0]) / (m.length - m.hip_depth)
    above = (hip[0] - 0.4 * flare * m.hip_depth, 0.6 * m.hip_depth)
    to_hip = curve((0.0, 0.0), (0.45 * hip[0], 0.3 * m.hip_depth), above, hip)

    def to_foot(drop: float) -> Edge:
        return joined(to_hip, line(hip, (hip[0] + flare * drop, hip[1] + drop)))

    return to_foot(solve(lambda drop: length(to_foot(drop)) - m.length, 1.0, m.length))


def _middle_gore(g: Gore, seam_name: str) -> Drawing:
    """Half of a gore on the centre line, which lies on the fold."""
    top, foot = start(g.waist), start(g.hem)
    return Drawing(
        edges=(g.waist, g.seam, reverse(g.hem), line(foot, top)),
        grain=upright(0.3 * end(g.waist)[0], top[1], foot[1]),
        fold=(top, foot),
        notches=_seam_notches(g.seam, seam_name),
        allowances=((reverse(g.hem), _HEM),),
    )


def _side_gore(g: Gore, left_name: str, right_name: str) -> Drawing:
    waist, hem = joined(reverse(mirrored(g.waist)), g.waist), joined(reverse(g.hem), mirrored(g.hem))
    left = mirrored(g.seam)
    return Drawing(
        edges=(waist, g.seam, hem, reverse(left)),
        grain=upright(0.0, start(g.waist)[1], start(g.hem)[1]),
        notches=(*_seam_notches(g.seam, right_name), *_seam_notches(left, left_name)),
        allowances=((hem, _HEM),),
    )


def _seam_notches(seam: Edge, name: str) -> tuple[tuple[str, Point], ...]:
    """At the hip and at the knee; also the ends of the pocket in the front, of the zip in the side seam."""
    low = length(seam) - _KNEE_ABOVE_HEM
    notches = [(f"{name} hip", point_at(seam, _HIP_NOTCH)), (f"{name} knee", point_at(seam, low))]
    if name == "side":
        notches.append(("zip", point_at(seam, _ZIP)))
    if name == "front":
        ends = (_POCKET_FROM_WAIST, _POCKET_FROM_WAIST + _POCKET_OPENING)
        notches += zip(("pocket top", "pocket foot"), (point_at(seam, at) for at in ends), strict=True)
    return tuple(notches)


def _band(m: Measures) -> Drawing:
    """Straight, folded double along the middle; as long as the six gores at the waist, and an underlap.

    Lines across it mark the underlap, the centre back, the right side seam and the centre front.
    """
    middles = [length(gore(m, share).waist) for share in (_FRONT_SHARE, _BACK_SHARE)]
    side = length(gore(m, _SIDE_SHARE).waist)
    front, back = middles[0] + 2.0 * side, middles[1] + 2.0 * side
    long = 2.0 * (front + back) + _UNDERLAP
    top, right, foot, left = rectangle(long, 2.0 * _BAND)
    seam = 2.0 * _BAND
    marks = (_UNDERLAP, _UNDERLAP + back, _UNDERLAP + 2.0 * back, _UNDERLAP + 2.0 * back + front)
    return Drawing(
        edges=(top, right, foot, left),
        grain=level(_BAND / 2.0, 0.0, long),
        lines=(line((0.0, _BAND), (long, _BAND)), *(line((x, 0.0), (x, seam)) for x in marks)),
    )


def _pocket() -> Drawing:
    """Sewn to the front seam along its straight edge; open between the notches."""
    foot = _POCKET_OPENING + 2.0 * _POCKET_MARGIN
    top, opening = (110.0, 0.0), line((0.0, foot), (0.0, 0.0))
    low = (70.0, 300.0)
    edges = (
        line((0.0, 0.0), top),
        curve(top, (150.0, 90.0), (165.0, 300.0), low),
        curve(low, (30.0, 300.0), (25.0, foot + 25.0), (0.0, foot)),
        opening,
    )
    ends = _POCKET_MARGIN, _POCKET_MARGIN + _POCKET_OPENING
    return Drawing(
        edges=edges,
        grain=upright(50.0, 0.0, low[1]),
        notches=(("pocket top", (0.0, ends[0])), ("pocket foot", (0.0, ends[1]))),
    )


def _guard() -> Drawing:
    """Folded lengthwise, behind the zip."""
    return Drawing(
        edges=rectangle(70.0, _ZIP + 15.0),
        grain=upright(17.5, 0.0, _ZIP),
        lines=(line((35.0, 0.0), (35.0, _ZIP + 15.0)),),
    )


def _loops() -> Drawing:
    """One strip, allowances in it, cut into five loops once it is stitched."""
    return Drawing(edges=rectangle(450.0, 32.0), grain=level(16.0, 0.0, 450.0))


def _graded(draw: Callable[[Measures], Drawing]) -> dict[str, Drawing]:
    return {size: draw(m) for size, m in SIZES.items()}


def _head() -> str:
    sizes = ", ".join(f'"{size}"' for size in SIZES)
    waists = ", ".join(f"{size} {m.waist / 10:g}" for size, m in SIZES.items())
    hips = ", ".join(f"{size} {m.hips / 10:g}" for size, m in SIZES.items())
    return f"""
name = "Gored skirt"
unit = "mm"
sizes = [{sizes}]
seam_allowance = "15 mm"
about = \"\"\"
For a waist of {waists} and hips of {hips} cm.
Six gores that share one shaped seam, pockets in the front seams, zip in the left
side seam, straight waistband. Made for a check that is
even both ways: notches of one name lie on the same line of the check. Seams 15 mm, hem 30 mm.
\"\"\"

[views.A]
title = "Plain waistband"
pieces = ["1", "2", "3", "4", "5", "6", "7"]
optional = ["8"]

# All round the skirt the bars across run on, and both centres lie on the middle of a check. With
# everything matched the lengthwise bars meet at the front and back seams as well, on an even check in
# chevrons all the way down; at the side seams they cannot, for the front gore is wider than the back gore.
[[match]]
meet = ["front hip", "front knee", "side hip", "side knee", "zip", "back hip", "back knee"]

[[match]]
centre = ["1", "4"]

[[match]]
meet = ["front hip", "back hip"]
lines = "lengthwise"
level = "everything"

[fabric.fabric]
name = "Check twill, even both ways"
width = "150 cm"
selvage = "10 mm"
gap = "3 mm"
shrink_along = "2 %"
shrink_across = "1 %"
step = "10 cm"
price = 18.9
price_per = "1 m"
currency = "EUR"

[fabric.fabric.print]
kind = "check"
along = "90 mm"
across = "60 mm"
start = ["45 mm", "30 mm"]

[fabric.interfacing]
name = "Woven waistband interfacing, fusible, on the roll"
width = "12 cm"
step = "10 cm"
price = 2.4
price_per = "1 m"
currency = "EUR"

[[notion]]
name = "Zip"
detail = "concealed, 20 cm, for the left side seam"
count = 1

[[notion]]
name = "Hook and bar"
detail = "for the waistband"
count = 1

[[notion]]
name = "Sewing thread"
detail = "polyester, 200 m reel"
count = 1
enough_for = 2
"""
