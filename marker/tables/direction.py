"""What the direction of a cloth costs: the same job laid plain, and how much more nap or print takes."""

from __future__ import annotations

from dataclasses import dataclass, replace

from marker.model.amount import amount
from marker.model.fabric import Fabric
from marker.model.job import Job
from marker.model.layout import MaterialLayout
from marker.tables.outcome import Outcome, layout_of, of_cloths
from marker.tables.task import Task
from marker.units import format_buy


@dataclass(frozen=True)
class Extra:
    """What nap or print takes over the same cloth laid plain: millimetres used and to buy, and money.

    Both layouts are solved. ``cost`` is None where no price is known; ``of`` says what takes it.
    """

    of: str
    used: float
    buy: float
    cost: float | None


def direction_of(job: Job, material: str) -> str:
    """What keeps pieces from lying freely: "nap", "print", "nap and print", or "" for nothing."""
    words = ["nap"] if job.fabrics[material].nap else []
    if job.asked_of(material):
        words.append("print")
    return " and ".join(words)


def laid_plain(job: Job, material: str) -> Job:
    """The same job on the same cloth without nap and without print."""
    fabric = replace(job.fabrics[material], nap=False, print=None)
    return replace(job, fabrics={**job.fabrics, material: fabric}, matching="none")


def no_worse(plain: Outcome, directed: Outcome, plainly: Task) -> Outcome:
    """The better answer to ``plainly``: the one solved for it, or the one for the same cloth with nap.

    Where all pieces face one way they do no wrong on a plain cloth, so if a short search found less
    with nap than without, that layout (verified for the plain cloth) is the answer to both.
    """
    from marker.check import limited, verify

    if not directed.solved or (plain.solved and (plain.buy, plain.used) <= (directed.buy, directed.used)):
        return plain
    fabric = plainly.job.fabrics[plainly.material]
    cloths = []
    for index, cloth in enumerate(directed.cloths):
        same = plain.cloths[index] if index < len(plain.cloths) else None
        # A bound holds for one spread; the area of the pieces is one for all.
        area = cloth.length * (1.0 - cloth.waste_percent / 100.0)
        bound = same.lower_bound if same is not None and same.lay == cloth.lay else area
        plainly_laid = replace(cloth, matched="none", proven=False, lower_bound=min(bound, cloth.length))
        cloths.append(plainly_laid if cloth.cloth else _bought_plain(plainly_laid, fabric))
    borrowed = limited(tuple(cloths), plainly.job)
    if verify(layout_of(plainly, borrowed), plainly.job):
        return plain
    return of_cloths(borrowed)


def _bought_plain(laid: MaterialLayout, fabric: Fabric) -> MaterialLayout:
    """The same lay with no repeat to begin on, in the amounts to buy."""
    parts = amount(laid.length, fabric)
    tried = tuple(
        each if each.length is None else replace(each, buy=amount(each.length, fabric).bought)
        for each in laid.tried
    )
    text = format_buy(parts.bought, fabric.system)
    return replace(laid, buy=parts.bought, buy_text=text, parts=parts, tried=tried)


def extra(of: str, directed: Outcome, plain: Outcome, fabric: Fabric) -> Extra | None:
    """What direction takes, None if one of the two could not be laid."""
    if not directed.solved or not plain.solved:
        return None
    paid, without = directed.cost(fabric), plain.cost(fabric)
    cost = None if paid is None or without is None else paid - without
    return Extra(of, directed.used - plain.used, directed.buy - plain.buy, cost)
