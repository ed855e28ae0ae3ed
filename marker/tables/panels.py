"""The lays of a comparison as a figure tells them."""

from __future__ import annotations

from marker.report.console import capital
from marker.report.measure import bought, length, width_text
from marker.report.shopping import money
from marker.report.side_by_side import Panel
from marker.tables.compare import Comparison, Result, extra_text, match_word, of_material, ranges


def panels(table: Comparison, material: str) -> list[Panel]:
    """A panel for each cloth of each alternative that has a layout; alternatives that are alike share one."""
    found = []
    for numbers, _, result in of_material(table, material):
        for cloth in result.outcome.cloths:
            fabric = result.entry.fabric
            from_ = f", {cloth.cloth}" if cloth.cloth else ""
            wide = width_text(fabric.width, fabric.system)
            name = f"No. {ranges(numbers)}  {capital(fabric.name)}, {wide} wide{from_}"
            found.append(Panel(cloth, result.entry.task.job, name, _about(result)))
    return found


def _about(result: Result) -> str:
    fabric, outcome = result.entry.fabric, result.outcome
    words = [
        f"Buy {bought(outcome.buy, fabric.system)}",
        f"{length(outcome.used, fabric.system)} used",
        f"waste {outcome.waste_percent:.1f} %",
        outcome.lay,
    ]
    match = match_word(result.entry)
    if match:
        words.append(f"matched: {match}")
    cost = outcome.cost(fabric)
    if cost is not None:
        words.insert(1, money(cost, fabric.currency))
    more = extra_text(result)
    if more:
        words.append(more)
    return "; ".join(words) + "."
