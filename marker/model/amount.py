"""How much cloth to buy, and what it is made up of."""

from __future__ import annotations

from dataclasses import dataclass

from marker.model.fabric import Fabric
from marker.units import round_up_to_step


@dataclass(frozen=True)
class Amount:
    """The parts of a length to buy, millimetres, in the order they are added.

    ``lay`` is the length used. ``begin_on`` is what may have to be cut away before it, so that a print
    begins where the layout has it: the shop's cut falls anywhere in the repeat, so one repeat. Both are of
    the washed cloth; ``shrinkage`` is what the two lose in the wash, ``rounding`` what is left over because
    cloth is sold in steps.
    """

    lay: float
    begin_on: float
    shrinkage: float
    rounding: float

    @property
    def bought(self) -> float:
        """The length to buy."""
        return round(self.lay + self.begin_on + self.shrinkage + self.rounding, 6)


def amount(length: float, fabric: Fabric, begin_on: float = 0.0) -> Amount:
    """What to buy for a lay: before shrinking (L / (1 - s)), rounded up to the step sold."""
    need = (length + begin_on) / (1.0 - fabric.shrink_along)
    bought = round_up_to_step(need, fabric.step)
    return Amount(length, begin_on, need - length - begin_on, bought - need)
