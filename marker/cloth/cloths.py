"""Several cloths of one material, the copies to be cut from them, and any of those laid on any of these."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from marker.cloth.choose import Clock, Entered, NothingFits, enter_needs, race
from marker.cloth.demand import Need, needs
from marker.cloth.place import cloth_length, waste_percent
from marker.cloth.remnant import area_of, edges_of, remnant_cloth, size_of
from marker.errors import InputError
from marker.model.fabric import Fabric, Remnant
from marker.model.job import Job
from marker.model.layout import MaterialLayout, Placement
from marker.model.piece import Ring

UNTOLD = ("crosswise fold", "mixed")
"""Spreads not for remnants: where their edges come to lie depends on the length that is used."""

ENDS = 0.01
"""Millimetres a copy may reach beyond a remnant's end: rounding."""


@dataclass(frozen=True)
class Copy:
    """One copy of a need: "drawn", "turned" or "whole"."""

    need: int
    hand: str


Copies = tuple[Copy, ...]


@dataclass(frozen=True, eq=False)
class Cloth:
    """One cloth of the material: the roll (``remnant`` is None) or a remnant ``along`` millimetres long."""

    fabric: Fabric
    remnant: Remnant | None = None
    along: float = float("inf")
    area: float = float("inf")
    edges: tuple[Ring, ...] = ()

    @property
    def name(self) -> str:
        return self.remnant.name if self.remnant else ""

    @property
    def across(self) -> float:
        """Millimetres between its selvages."""
        return self.fabric.flat_width - 2.0 * self.fabric.selvage

    @property
    def usable(self) -> float:
        """Square millimetres of cloth, of its box between the selvages at most."""
        return min(self.area, self.along * self.across)


@dataclass(frozen=True, eq=False)
class Filled:
    """A cloth with the copies that lie on it."""

    cloth: Cloth
    copies: Copies
    layout: MaterialLayout


class Cloths:
    """The cloths of one material and the copies to be cut from them.

    Raises InputError when nothing at all can be cut, or when a print would have to match across cloths.
    """

    def __init__(self, job: Job, material: str, fold: str) -> None:
        self.job, self.material, self.fold = job, material, fold
        self.fabric = job.fabrics[material]
        self.needs = needs(job, material)
        self.remnants = [
            Cloth(
                remnant_cloth(self.fabric, remnant),
                remnant,
                size_of(remnant)[0],
                area_of(remnant),
                edges_of(remnant),
            )
            for remnant in self.fabric.remnants
        ]
        self.roll = Cloth(replace(self.fabric, remnants=())) if self.fabric.roll else None
        self.matches = job.asked_of(material)
        if self.matches and len(self.remnants) + bool(self.roll) > 1:
            raise InputError(
                f"Material '{material}' on {self.fabric.name}: a print cannot be matched across several "
                "pieces of cloth; lay it on one of them, or choose --match none."
            )
        self.every = tuple(
            Copy(k, hand)
            for k, need in enumerate(self.needs)
            for hand, count in (("drawn", need.drawn), ("turned", need.turned), ("whole", need.whole))
            for _ in range(count)
        )
        self._fitting: dict[tuple[str, float, Copy], bool] = {}
        for copy in dict.fromkeys(self.every):
            if not any(self.fits(cloth, copy) for cloth in self.remnants) and self.roll:
                self.entered(self.roll, (copy,))

    @property
    def placed(self) -> int:
        """Outlines to lay, for sharing out the time."""
        return len(self.every)

    def fits(self, cloth: Cloth, copy: Copy) -> bool:
        """Whether the box of a cloth has room for a copy at all."""
        key = (cloth.name, cloth.along, copy)
        if key not in self._fitting:
            try:
                entered = self.entered(cloth, (copy,))
            except NothingFits:
                self._fitting[key] = False
            else:
                self._fitting[key] = any(
                    cloth_length(runner.plan, runner.bounds, cloth.fabric) <= cloth.along + ENDS
                    for runner in entered.runners
                )
        return self._fitting[key]

    def rest(self, copies: Copies) -> Copies:
        """All copies but these."""
        return tuple((Counter(self.every) - Counter(copies)).elements())

    def area(self, copy: Copy) -> float:
        """Square millimetres of one copy."""
        need = self.needs[copy.need]
        return need.area / need.copies

    def least_bought(self, copies: Copies) -> float:
        """Millimetres of the roll below which these copies cannot be laid; 0 without a roll."""
        if self.roll is None or not copies:
            return 0.0
        runners = self.entered(self.roll, copies).runners
        return min(cloth_length(runner.plan, runner.bounds, self.roll.fabric) for runner in runners)

    def bound(self, cloth: Cloth, copies: Copies) -> float:
        """Millimetres below which no layout of these copies on the open cloth exists, as far as is known."""
        runners = self.entered(cloth, copies).runners
        return min(
            (
                cloth_length(runner.plan, runner.bounds, cloth.fabric)
                for runner in runners
                if runner.plan.spread.family == "open"
            ),
            default=0.0,
        )

    def wanted(self, copies: Copies) -> list[Need]:
        """The needs cut down to these copies."""
        counts = Counter(copies)
        found = []
        for k, need in enumerate(self.needs):
            drawn, turned, whole = (counts[Copy(k, hand)] for hand in ("drawn", "turned", "whole"))
            if drawn or turned or whole:
                found.append(replace(need, drawn=drawn, turned=turned, whole=whole))
        return found

    def entered(self, cloth: Cloth, copies: Copies) -> Entered:
        entered = enter_needs(
            self.material,
            cloth.fabric,
            self.wanted(copies),
            self.fold,
            matches=self.matches,
            matched=self.job.matching if self.matches else "none",
            edges=cloth.edges,
            size=self.job.size,
            whole_repeats=cloth.remnant is None,
        )
        if cloth.remnant is None:
            return entered
        told = [runner for runner in entered.runners if runner.plan.spread.family not in UNTOLD]
        if not told:
            raise NothingFits(f"A remnant cannot be laid with the spread '{self.fold}'; try --fold best.")
        return replace(entered, runners=told)

    def lay(
        self, cloth: Cloth, copies: Copies, clock: Clock, holds: Callable[[Filled], bool] | None = None
    ) -> Filled:
        """Copies laid on a cloth as long as it takes; ends early when it fits, without spares.

        ``holds``, if given, checks what of them lies before the end of a remnant. Raises NoneHolds if it
        never does.
        """
        enough = False

        def better(laid: MaterialLayout) -> None:
            nonlocal enough
            # Spare copies take cloth that may be wanted later: a spread without them may still be found.
            spare = any(placement.spare for placement in laid.placements)
            enough = enough or (laid.length <= cloth.along + ENDS and not spare)

        stop = clock.stop
        clock = replace(clock, stop=lambda: stop() or (cloth.remnant is not None and enough))

        def right(laid: MaterialLayout) -> bool:
            return holds is None or holds(
                self.cut_off(Filled(cloth, copies, replace(laid, cloth=cloth.name)))
            )

        laid = race(
            self.entered(cloth, copies),
            clock,
            0.0,
            1.0,
            better,
            proving=cloth.remnant is None,
            holds=right if holds else None,
        )
        return Filled(cloth, copies, replace(laid, cloth=cloth.name))

    def cut_off(self, filled: Filled) -> Filled:
        """What of a layout lies before the end of its remnant; the copies that do."""
        if filled.layout.length <= filled.cloth.along + ENDS:
            return filled
        end = filled.cloth.along + ENDS
        kept = [p for p in filled.layout.placements if max(x for x, _ in p.outline) <= end]
        copies = self._copies(kept, filled.copies)
        length = max((x for placement in kept for x, _ in placement.outline), default=0.0)
        return with_placements(filled, self.wanted(copies), tuple(kept), copies, length)

    def _copies(self, placements: Sequence[Placement], offered: Copies) -> Copies:
        """The copies, of those offered, that some placements yield."""
        numbers = {(need.piece.number, need.region): k for k, need in enumerate(self.needs)}
        room = Counter(offered)
        found: Counter[Copy] = Counter()
        for placement in placements:
            k = numbers[placement.piece, placement.region]
            need = self.needs[k]
            if placement.on_fold or placement.opened:
                hands = ["whole"] * placement.copies
            elif need.symmetric:
                hands = ["drawn"] * placement.copies
            elif placement.copies == 2:
                hands = ["drawn", "turned"]
            else:
                hands = ["turned" if placement.mirrored else "drawn"]
            found.update(Copy(k, hand) for hand in hands)
        return tuple((found & room).elements())


def with_placements(
    filled: Filled, wanted: Sequence[Need], kept: tuple[Placement, ...], copies: Copies, length: float
) -> Filled:
    """The layout with other placements, its figures put right."""
    counts = {(need.piece.number, need.region): need.copies for need in wanted}
    placements: list[Placement] = []
    for placement in reversed(kept):
        key = (placement.piece, placement.region)
        spare = max(0, sum(p.copies for p in kept if (p.piece, p.region) == key) - counts.get(key, 0))
        spared = sum(p.spare for p in placements if (p.piece, p.region) == key)
        mine = 1 if placement.copies == 2 and spared < spare else 0
        placements.append(replace(placement, spare=mine))
    laid = filled.layout
    bands = tuple(replace(band, x=(band.x[0], length)) for band in laid.bands)
    layout = replace(
        laid,
        placements=tuple(reversed(placements)),
        length=length,
        bands=bands,
        # What it says of more, or other, pieces need not hold for these.
        lower_bound=0.0,
        waste_percent=waste_percent(wanted, length, filled.cloth.fabric) if length else 0.0,
        proven=False,
    )
    return replace(filled, copies=copies, layout=layout)
