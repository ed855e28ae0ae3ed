"""The ways to spread a cloth, each as rows of bands one or two layers thick.

Across the width a spread cloth is a row of bands; along the length it is one section or several. The
names are the trade's (common practice, no source).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from marker.errors import InputError
from marker.model.fabric import Fabric

NAMES = (
    "lengthwise fold",
    "tubular",
    "selvages to the middle",
    "partial fold",
    "crosswise fold",
    "mixed",
    "open",
)
"""Every spread, those with the least to cut first: that order settles ties."""


UNEVEN = "an uneven print cannot be cut in two layers: the second would run the other way"


@dataclass(frozen=True)
class Strip:
    """A band across the cloth: usable from y ``low`` to ``high`` (mm), how thick, where folded."""

    low: float
    high: float
    layers: int
    folds: tuple[float, ...] = ()

    @property
    def height(self) -> float:
        return self.high - self.low


@dataclass(frozen=True)
class Section:
    """A stretch of length with one row of bands. ``crosswise``: its second layer is the cloth turned back."""

    strips: tuple[Strip, ...]
    crosswise: bool = False


@dataclass(frozen=True)
class Spread:
    """A named way to spread the cloth. ``fold_depth`` is how much is folded over, for a partial fold.

    A mixed spread's name goes on to say how: "mixed: lengthwise fold, then open".
    """

    name: str
    sections: tuple[Section, ...]
    fold_depth: float = 0.0

    @property
    def family(self) -> str:
        """The name without the details: one of NAMES."""
        return self.name.partition(":")[0]


@dataclass(frozen=True)
class Lines:
    """What a print that has to match asks of a spread: folds only on lines a ``step`` apart from ``start``.

    ``step`` None: anywhere. ``mirrored`` false: the print is not the same mirrored, so nothing can lie in two
    layers.
    """

    start: float
    step: float | None
    mirrored: bool = True

    def below(self, y: float) -> float:
        """The place for a fold nearest below ``y``, or there."""
        if self.step is None:
            return y
        return self.start + math.floor((y - self.start) / self.step + 1e-9) * self.step

    def has(self, y: float, tolerance: float = 0.01) -> bool:
        """Whether a fold may lie at ``y``."""
        return self.step is None or abs(math.remainder(y - self.start, self.step)) <= tolerance


def flat(fabric: Fabric) -> Section:
    """The whole cloth in one layer."""
    return Section((Strip(fabric.selvage, fabric.flat_width - fabric.selvage, 1),))


def halved(fabric: Fabric, fold: float | None = None) -> Section:
    """Folded along the length, in half, selvage on selvage, if ``fold`` (below the middle) is not given.

    Past the fold the cloth lies double as far as the lower selvage; what is left hangs over.
    """
    at = fabric.flat_width / 2 if fold is None else fold
    return Section((Strip(fabric.selvage, at, 2, (at,)),))


def to_middle(fabric: Fabric) -> Section:
    """Both selvages brought to the middle: a fold at either side."""
    half, quarter = fabric.flat_width / 2, fabric.flat_width / 4
    return Section(
        (
            Strip(0.0, quarter - fabric.selvage, 2, (0.0,)),
            Strip(quarter + fabric.selvage, half, 2, (half,)),
        )
    )


def partly_folded(fabric: Fabric, depth: float) -> Section:
    """One selvage turned in by ``depth`` from the fold; the rest lies in one layer."""
    width = fabric.flat_width
    return Section(
        (
            Strip(fabric.selvage, width - 2 * depth, 1),
            Strip(width - 2 * depth + fabric.selvage, width - depth, 2, (width - depth,)),
        )
    )


def tube(fabric: Fabric) -> Section:
    """A tubular knit as it lies: a fold at either side, no selvages."""
    half = fabric.flat_width / 2
    return Section((Strip(0.0, half, 2, (0.0, half)),))


def spreads(
    fabric: Fabric, depths: Iterable[float], lines: Lines | None = None, *, hems: bool = False
) -> tuple[list[Spread], dict[str, str]]:
    """Every spread the fabric allows, and why the others are refused (name to reason).

    ``depths`` are the fold depths worth trying for a partial fold, in millimetres; ``lines`` what a print
    asks that has to match. ``hems``: some pieces go with their hem along a border.
    """
    refused: dict[str, str] = {}
    if fabric.tube:
        if hems:
            why = "a border is cut from open cloth"
        elif lines and not lines.mirrored:
            why = UNEVEN
        elif lines and not all(lines.has(fold) for strip in tube(fabric).strips for fold in strip.folds):
            why = "the folds of the tube do not lie on lines about which the print is the same on both sides"
        else:
            only = {name: "the cloth is a tube" for name in NAMES if name != "tubular"}
            return [Spread("tubular", (tube(fabric),))], only
        return [], {name: why if name == "tubular" else "the cloth is a tube" for name in NAMES}
    refused["tubular"] = "the cloth is not a tube"
    single = [Spread("open", (flat(fabric),))]
    if hems or (lines and not lines.mirrored):
        why = "hems along a border are cut from open cloth" if hems else UNEVEN
        return single, {**{name: why for name in NAMES if name != "open"}, **refused}
    found: list[Spread] = []
    if lines is None or lines.step is None:
        found.append(Spread("lengthwise fold", (halved(fabric),)))
    elif (fold := lines.below(fabric.flat_width / 2)) > fabric.selvage:
        found.append(Spread("lengthwise fold", (halved(fabric, fold),)))
    else:
        refused["lengthwise fold"] = "the print has no line below the middle to fold it on"
    if lines:
        refused["selvages to the middle"] = "the print would not match across the two folds"
    elif fabric.flat_width / 4 - fabric.selvage > 0:
        found.append(Spread("selvages to the middle", (to_middle(fabric),)))
    if lines:
        depths = dict.fromkeys(fabric.flat_width - lines.below(fabric.flat_width - depth) for depth in depths)
    for depth in depths:
        if fabric.selvage < depth and 2 * depth + fabric.selvage < fabric.flat_width:
            found.append(Spread("partial fold", (partly_folded(fabric, depth),), depth))
    if not any(spread.name == "partial fold" for spread in found):
        refused["partial fold"] = "nothing to lie on a fold that would leave a single layer beside it"
    if fabric.nap:
        refused["crosswise fold"] = "the nap of the second layer would run the other way"
    elif lines:
        refused["crosswise fold"] = "where the print of the second layer lies depends on the length"
    elif fabric.flaws:
        refused["crosswise fold"] = "where the flaws come to lie depends on the length"
    else:
        found.append(Spread("crosswise fold", (Section(flat_in_two(fabric), crosswise=True),)))
    if lines:
        refused["mixed"] = "where the print of the second stretch lies depends on the length of the first"
    elif fabric.flaws:
        refused["mixed"] = "where the flaws come to lie depends on the length of the first stretch"
    else:
        found.append(Spread("mixed: lengthwise fold, then open", (halved(fabric), flat(fabric))))
    return found + single, refused


def flat_in_two(fabric: Fabric) -> tuple[Strip, ...]:
    """Full width, two layers: the cloth turned back on itself across the grain."""
    return (Strip(fabric.selvage, fabric.flat_width - fabric.selvage, 2),)


def known(name: str) -> str:
    """Return ``name`` if it is "best" or a spread; raises InputError that lists them."""
    if name == "best" or name in NAMES:
        return name
    raise InputError(f"There is no fold called '{name}'; choose best, {', '.join(NAMES)}.")
