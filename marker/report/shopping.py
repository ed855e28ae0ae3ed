"""What to buy: each material on a line of its own, then the notions."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from typing import Any

from marker.model.fabric import Fabric
from marker.model.job import Job
from marker.model.layout import Layout, MaterialLayout
from marker.report.measure import width_text

NOTHING = "Nothing is bought: the cloth is in hand."


@dataclass(frozen=True)
class Item:
    """A line of the list. ``cost`` in ``currency``, ``None`` where no price is known."""

    what: str
    detail: str
    amount: str
    cost: float | None = None
    currency: str = ""


def cost(material: MaterialLayout, fabric: Fabric) -> float | None:
    """Price of the length to buy, ``None`` without a price."""
    if fabric.price is None:
        return None
    return fabric.price * material.buy / fabric.price_per


def money(amount: float, currency: str) -> str:
    """An amount of money to two decimals: a sign goes before it ($26.98), a word behind (26.98 EUR)."""
    if currency and unicodedata.category(currency[-1]) == "Sc":
        return f"{currency}{amount:.2f}"
    return f"{amount:.2f} {currency}".strip()


def to_buy(layout: Layout) -> list[MaterialLayout]:
    """What of a layout lies on cloth that has to be bought."""
    return [material for material in layout.materials if not material.cloth]


def shopping_list(layout: Layout, job: Job) -> list[Item]:
    """Materials to buy in the layout's order (no remnants: they are in hand), then the notions of all
    garments together."""
    items = []
    for material in to_buy(layout):
        fabric = job.fabrics[material.material]
        items.append(
            Item(
                what=material.material,
                detail=f"{fabric.name}, {width_text(fabric.width, fabric.system)} wide"
                + (" (a tube, as it lies)" if fabric.tube else ""),
                amount=material.buy_text,
                cost=cost(material, fabric),
                currency=fabric.currency,
            )
        )
    return items + [Item(name, detail, str(count)) for name, detail, count in job.notions if count]


def shopping_table(layout: Layout, job: Job, width: int) -> Any:
    """The list as a rich table, with the costs that are known and their sum in each currency."""
    from marker.report.console import table

    items = shopping_list(layout, job)
    if not items:
        return NOTHING
    priced = [item for item in items if item.cost is not None]
    rows = [(item.amount, item.what, item.detail) for item in items]
    if not priced:
        return table(("Amount", "What", "Which"), rows, right=(0,), width=width)
    with_cost = [
        (*row, "" if item.cost is None else money(item.cost, item.currency))
        for row, item in zip(rows, items, strict=True)
    ]
    by_currency: dict[str, list[float]] = {}
    for item in priced:
        by_currency.setdefault(item.currency, []).append(item.cost or 0.0)
    sums = [
        ("", "", "materials together", money(sum(costs), currency))
        for currency, costs in by_currency.items()
        if len(costs) > 1
    ]
    bought = len(to_buy(layout))
    with_cost[bought:bought] = sums
    return table(("Amount", "What", "Which", "Cost"), with_cost, right=(0, 3), width=width)
