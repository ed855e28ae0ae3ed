"""Sleeve, cuff, slit binding and underarm gusset.

The cap is solved for: the width at the biceps is a measurement, so the height of the cap and the
share of front and back follow from the two halves of the armhole.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from math import sqrt

from drafting.curves import (
    Edge,
    Point,
    curve,
    end,
    joined,
    length,
    line,
    mirrored,
    point_at,
    reverse,
    rounded,
    solve,
    start,
)
from drafting.piece import Drawing, level, rectangle, upright
from drafting.smock.body import DROPPED_SHOULDER, GUSSET_SIDE, Body
from drafting.smock.measures import BICEPS_EASE, CAP_EASE_BACK, CAP_EASE_FRONT, CUFF_EASE, Measures

CUFF_HEIGHT = 60.0
SLIT = 110.0
_PLEAT = 18.0
_PLEATS = 2
_BLOUSE = 20.0
"""What the sleeve is longer than the arm, so that it bags a little over the cuff."""


@dataclass(frozen=True)
class Sleeve:
    """Stitching lines of a left sleeve seen from outside: front at the left, top of the cap at (0, 0)."""

    front_cap: Edge
    back_cap: Edge
    hem_left: Point
    hem_right: Point
    slit: Point
    pleats: tuple[float, ...]
    """x of the two lines of each pleat, in turn, along the hem."""

    @property
    def cuff_seam(self) -> float:
        return self.hem_right[0] - self.hem_left[0] - _PLEATS * _PLEAT


@cache
def sleeve_block(b: Body, m: Measures) -> Sleeve:
    """A sleeve for the armhole of ``b``; ValueError if no cap of that width goes round it."""
    want_front, want_back = b.front_hole + CAP_EASE_FRONT, b.back_hole + CAP_EASE_BACK

    def halves(height: float) -> tuple[float, float]:
        return (
            solve(lambda w: length(_cap_half(w, height, full=0.50)) - want_front, 20.0, want_front),
            solve(lambda w: length(_cap_half(w, height, full=0.58)) - want_back, 20.0, want_back),
        )

    width = m.biceps + BICEPS_EASE
    height = solve(lambda h: sum(halves(h)) - width, 40.0, 0.8 * min(want_front, want_back))
    front, back = halves(height)
    hem = m.wrist + CUFF_EASE + _PLEATS * _PLEAT
    middle = (back - front) / 2.0
    foot = m.sleeve - DROPPED_SHOULDER - CUFF_HEIGHT + _BLOUSE
    left, right = (middle - hem / 2.0, foot), (middle + hem / 2.0, foot)
    slit = (right[0] - 0.25 * hem, foot)
    first = slit[0] - 30.0
    pleats = (first, first - _PLEAT, first - _PLEAT - 16.0, first - 2 * _PLEAT - 16.0)
    front_cap = mirrored(_cap_half(front, height, full=0.50))
    return Sleeve(front_cap, _cap_half(back, height, full=0.58), left, right, slit, pleats)


def _cap_half(width: float, height: float, full: float) -> Edge:
    """From the top of the cap, an S to the underarm, level at both ends; ``full`` rounds the top."""
    return curve((0.0, 0.0), (full * width, 0.0), (0.42 * width, height), (width, height))


def sleeve(s: Sleeve) -> Drawing:
    cap = joined(reverse(s.front_cap), s.back_cap)
    back_seam = line(end(cap), s.hem_right)
    hem = line(s.hem_right, s.hem_left)
    front_seam = line(s.hem_left, start(cap))
    reach, foot = length(cap), s.hem_left[1]
    return Drawing(
        edges=(cap, back_seam, hem, front_seam),
        grain=upright(0.0, 60.0, foot),
        notches=(
            ("armhole front", point_at(cap, 90.0)),
            ("shoulder", (0.0, 0.0)),
            ("armhole back 1", point_at(cap, reach - 100.0)),
            ("armhole back 2", point_at(cap, reach - 90.0)),
            ("gusset sleeve back", point_at(back_seam, GUSSET_SIDE / 2.0)),
            ("sleeve seam", point_at(back_seam, length(back_seam) / 2.0)),
            ("cuff", (s.hem_left[0] + 40.0, foot)),
            ("sleeve seam", point_at(front_seam, length(front_seam) / 2.0)),
            ("gusset sleeve front", point_at(front_seam, length(front_seam) - GUSSET_SIDE / 2.0)),
        ),
        drills=((s.slit[0], foot - SLIT),),
        lines=(
            line(s.slit, (s.slit[0], foot - SLIT)),
            *(line((x, foot), (x, foot - 60.0)) for x in s.pleats),
        ),
    )


def cuff(s: Sleeve) -> Drawing:
    """Cut lengthwise; the long edge at the top is sewn to the sleeve, the corners below are rounded."""
    width, radius = s.cuff_seam, 18.0
    a, b, c, d = (0.0, 0.0), (width, 0.0), (width, CUFF_HEIGHT), (0.0, CUFF_HEIGHT)
    right, left = rounded(b, c, d, radius), rounded(c, d, a, radius)
    seam_at = s.hem_right[0] - s.slit[0]
    return Drawing(
        edges=(line(a, b, start(right)), right, line(end(right), start(left)), left, line(end(left), a)),
        grain=level(CUFF_HEIGHT / 2.0, 0.0, width),
        notches=(("cuff", (seam_at + 40.0, 0.0)),),
        drills=((12.0, CUFF_HEIGHT / 2.0), (width - 12.0, CUFF_HEIGHT / 2.0)),
    )


def binding() -> Drawing:
    """A strip, allowances in it, for both sides of the sleeve slit in one go."""
    width = 2.0 * SLIT + 20.0
    edges = rectangle(width, 36.0)
    return Drawing(edges=edges, grain=level(18.0, 0.0, width), lines=(line((0.0, 18.0), (width, 18.0)),))


def gusset() -> Drawing:
    """A diamond: the lower sides to the side seams, the upper sides to the sleeve seams."""
    half_width = 0.6 * GUSSET_SIDE
    half_height = sqrt(GUSSET_SIDE**2 - half_width**2)
    top, right = (0.0, -half_height), (half_width, 0.0)
    bottom, left = (0.0, half_height), (-half_width, 0.0)
    sides = line(top, right), line(right, bottom), line(bottom, left), line(left, top)
    names = "gusset sleeve back", "gusset back", "gusset front", "gusset sleeve front"
    middles = (point_at(side, GUSSET_SIDE / 2.0) for side in sides)
    return Drawing(
        edges=sides,
        grain=upright(0.0, -half_height, half_height),
        notches=tuple(zip(names, middles, strict=True)),
    )
