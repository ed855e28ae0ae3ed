"""What came of a task: the cloths laid out, or why there is no answer."""

from __future__ import annotations

from dataclasses import dataclass

from marker.model.fabric import Fabric
from marker.model.layout import Layout, MaterialLayout
from marker.tables.task import Task


@dataclass(frozen=True)
class Outcome:
    """The verified layout of one material, an entry for each of its cloths; or ``why`` there is none."""

    cloths: tuple[MaterialLayout, ...] = ()
    why: str = ""

    @property
    def solved(self) -> bool:
        """Whether all pieces found a place."""
        return bool(self.cloths) and not self.why

    @property
    def used(self) -> float:
        """Millimetres of length taken, all cloths together."""
        return sum(cloth.length for cloth in self.cloths)

    @property
    def buy(self) -> float:
        """Millimetres to buy."""
        return sum(cloth.buy for cloth in self.cloths)

    @property
    def begin_on(self) -> float:
        """Millimetres of that, as the washed cloth lies, that a print may take to begin on."""
        return sum(cloth.parts.begin_on for cloth in self.cloths if cloth.parts is not None)

    @property
    def waste_percent(self) -> float:
        """Share of the cloth used that no piece covers."""
        area = sum(cloth.length * cloth.width for cloth in self.cloths)
        wasted = sum(cloth.length * cloth.width * cloth.waste_percent for cloth in self.cloths)
        return wasted / area if area > 0 else 0.0

    @property
    def lay(self) -> str:
        """How the cloth is spread; several cloths may be spread in several ways."""
        return " and ".join(dict.fromkeys(cloth.lay for cloth in self.cloths))

    def cost(self, fabric: Fabric) -> float | None:
        """Price of what is to buy, None where no price is known."""
        return None if fabric.price is None else fabric.price * self.buy / fabric.price_per


def of_cloths(cloths: tuple[MaterialLayout, ...]) -> Outcome:
    """The outcome of a layout, told as no answer if something found no place."""
    missing = [each for cloth in cloths for each in cloth.missing]
    if not missing:
        return Outcome(cloths)
    what = ", ".join(f"{each.count} of piece {each.piece} {each.name}" for each in missing)
    return Outcome(cloths, f"Not all pieces fit on the cloth there is: no place for {what}.")


def layout_of(one: Task, cloths: tuple[MaterialLayout, ...]) -> Layout:
    """A task's cloths as a layout of its job."""
    job = one.job
    return Layout(job.pattern, job.size, job.view, one.search.seed, cloths, job.quantity, {"fold": one.fold})
