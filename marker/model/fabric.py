"""A cloth as it is sold and the rules it lays down for cutting."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from marker.model.piece import Ring
from marker.units import YARD


@dataclass(frozen=True)
class Print:
    """What repeats on a cloth, millimetres, as it is laid (after it has shrunk).

    ``along`` and ``across`` are the repeats (None: nothing changes that way). The middle of a bar or motif
    lies at ``start``: x from the cut end, y from the lower edge of the flat cloth. ``even_along``: it looks
    the same turned end for end; ``even_across``: mirrored across the cloth. ``tolerance``: how far lines
    that should meet may miss each other. ``kind`` says how to draw it.
    """

    kind: Literal["stripes along", "stripes across", "check", "motifs"]
    along: float | None
    across: float | None
    start: tuple[float, float] = (0.0, 0.0)
    even_along: bool = True
    even_across: bool = True
    tolerance: float = 1.0


@dataclass(frozen=True)
class Border:
    """A border printed along one edge, ``width`` millimetres from the selvage inwards."""

    side: Literal["lower", "upper"]
    width: float


@dataclass(frozen=True)
class Remnant:
    """A piece of cloth in hand: outline and holes once washed, x along the grain from 0, y across from 0.

    ``washed`` false: it is still to be washed, and what it loses in the wash has been taken off already.
    ``selvage`` is kept clear at both edges of one that is as wide as the cloth came off the roll.
    """

    name: str
    outline: Ring
    holes: tuple[Ring, ...] = ()
    washed: bool = True
    selvage: float = 0.0


@dataclass(frozen=True)
class Fabric:
    """One material's cloth. Lengths in millimetres, shrinkage as a fraction (0.03 is 3 %).

    ``width`` is the flat cloth as sold, selvage to selvage; for a tube, the width of the tube lying
    flat. ``nap`` true: all pieces face one way. ``grain`` "any": the cloth has no grain (non-woven),
    pieces may lie in any direction. ``grain_tolerance`` in degrees either way. ``gap`` is kept
    between pieces. ``step`` is the length the shop sells in. ``flaws`` are places not to cut over:
    polygons with x along the length from the cut end and y across from the lower selvage.
    ``system`` is the unit family the user speaks for this cloth. ``print`` that is not even makes ``nap``
    true as well. ``remnants`` are used up first, then the roll, if there is one (``roll``).
    """

    name: str
    width: float
    selvage: float = 0.0
    nap: bool = False
    grain: Literal["lengthwise", "any"] = "lengthwise"
    grain_tolerance: float = 0.0
    gap: float = 0.0
    shrink_along: float = 0.0
    shrink_across: float = 0.0
    tube: bool = False
    step: float = 100.0
    price: float | None = None
    price_per: float = 1000.0
    currency: str = ""
    flaws: tuple[Ring, ...] = ()
    system: Literal["metric", "imperial"] = "metric"
    print: Print | None = None
    border: Border | None = None
    remnants: tuple[Remnant, ...] = ()
    roll: bool = True

    @property
    def flat_width(self) -> float:
        """Millimetres across the whole cloth opened flat, after it has shrunk."""
        return self.width * (2.0 if self.tube else 1.0) * (1.0 - self.shrink_across)


def plain_cloth(name: str, width: float, unit: str) -> Fabric:
    """A cloth of which nobody has said more than how wide it is, sold as where people count in ``unit``."""
    if unit != "in":
        return Fabric(name, width)
    return Fabric(name, width, step=float(YARD / 8), price_per=float(YARD), system="imperial")
